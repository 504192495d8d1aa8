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

// clientLine names a client and the second mark that tells two apart.
func clientLine(style Style, s *care.Site, c care.Client) Line {
	key := "client.named"
	if c.Room == "" {
		key = "client.named.only"
	}
	return Line{Style: style, Words: words(key, "Client", called(s, c), "Room", c.Room)}
}

// clientLabel is the same on a button.
func clientLabel(s *care.Site, c care.Client, does Action) Choice {
	if c.Room == "" {
		return as(called(s, c), does)
	}
	return choice("client.button", does, "Client", called(s, c), "Room", c.Room)
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
