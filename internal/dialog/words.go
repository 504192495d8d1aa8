package dialog

import (
	"samelift/internal/care"
)

// line is a plain line.
func line(key string, args ...any) Line { return Line{Words: words(key, args...)} }

func strong(key string, args ...any) Line { return Line{Style: Strong, Words: words(key, args...)} }

func warn(key string, args ...any) Line { return Line{Style: Warn, Words: words(key, args...)} }

func small(key string, args ...any) Line { return Line{Style: Small, Words: words(key, args...)} }

// words takes the arguments as name, value, name, value.
func words(key string, args ...any) Words {
	w := Words{Key: key}
	if len(args) > 0 {
		w.Args = Args{}
	}
	for i := 0; i+1 < len(args); i += 2 {
		w.Args[args[i].(string)] = args[i+1]
	}
	return w
}

// own shows somebody's words as they wrote them. The bot names their language to a
// reader of another.
func own(t care.Text) []Line {
	if t.IsZero() {
		return nil
	}
	return []Line{{Style: Quote, Own: t}}
}

func choice(key string, does Action, args ...any) Choice {
	return Choice{Label: words(key, args...), Does: does}
}

func as(label string, does Action) Choice { return Choice{As: label, Does: does} }

// rows lays choices out, so many in a row.
func rows(perRow int, choices ...Choice) [][]Choice {
	var out [][]Choice
	for i := 0; i < len(choices); i += perRow {
		out = append(out, choices[i:min(i+perRow, len(choices))])
	}
	return out
}

func say(lines ...Line) Say { return Say{Lines: lines} }

// called is how a client is named: in full, or by initials where the site wants that.
// The room always stands beside it.
func called(s *care.Site, c care.Client) string {
	if s.InitialsOnly {
		return care.Initials(c.Name)
	}
	return c.Name
}

// Called is how a client is named to the people of a site.
func Called(s *care.Site, c care.Client) string { return called(s, c) }

// Whose names the client of a message, for those of its parts that do not say it.
func Whose(s *care.Site, client string) (Line, bool) {
	c, ok := s.Client(client)
	return clientLine(Small, s, c), ok
}

// clientLine names a client and the second mark that tells two apart.
func clientLine(style Style, s *care.Site, c care.Client) Line {
	key := "client.named"
	if c.Room == "" {
		key = "client.named.only"
	}
	return Line{Style: style, Words: words(key, "Client", called(s, c), "Room", c.Room)}
}

// labelRoom and labelName are how many runes of a room and of a name stand on a button
// that has both, 40 in all with what is between them and what keeps them apart.
const labelRoom, labelName = 12, 20

// clientLabel is the same on a button. A name that is too long is cut and not the room,
// which tells two apart.
func clientLabel(s *care.Site, c care.Client, does Action) Choice {
	if c.Room == "" {
		return as(called(s, c), does)
	}
	name, room := shortened(s, c)
	return choice("client.button", does, "Client", name, "Room", room)
}

func shortened(s *care.Site, c care.Client) (name, room string) {
	room = cut(c.Room, max(labelRoom, labelName+labelRoom-len([]rune(called(s, c)))))
	return cut(called(s, c), labelName+labelRoom-len([]rune(room))), room
}

// cut shortens what has more than so many runes, and shows that.
func cut(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

func colour(word string) any {
	for _, c := range care.Colours {
		if c == word {
			return Term("colour." + c)
		}
	}
	return word
}

func place(p care.Place) Term { return Term("place." + string(p)) }

// move names a transfer.
func move(style Style, from, to care.Place) Line {
	return Line{Style: style, Words: words("transfer.named", "From", place(from), "To", place(to))}
}

// nameOf gives a member's name, or the ref of somebody no longer known.
func nameOf(s *care.Site, ref string) string {
	if p, ok := s.Person(ref); ok {
		return p.Name
	}
	return ref
}

// whomToCall names the coordinators, who decide when the plan does not.
func whomToCall(s *care.Site) []Line {
	var out []Line
	for _, p := range s.Coordinators() {
		if p.Phone != "" {
			out = append(out, line("call.coordinator.phone", "Name", p.Name, "Phone", p.Phone))
		} else {
			out = append(out, line("call.coordinator", "Name", p.Name))
		}
		if len(out) == 3 {
			break
		}
	}
	if len(out) == 0 {
		out = append(out, line("call.lead"))
	}
	return out
}
