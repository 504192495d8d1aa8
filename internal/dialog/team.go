package dialog

import (
	"samelift/internal/care"
	"samelift/internal/rules"
)

// The team, for coordinators:
//
//	team -> person -+- invite -> a code, once, for 24 hours
//	     |          +- remove -> sure? -> gone at once
//	     +- sign-offs: who has none, whose have ended or end soon
const teamPage = 8

func team(f Facts, page int, turned bool) Say {
	out := say(strong("team.title", "Site", f.Site.Name))
	var people []care.Person
	for _, p := range f.Site.People {
		if !p.Removed {
			people = append(people, p)
		}
	}
	joined := 0
	for _, p := range people {
		if f.Records.Joined(p.Ref) {
			joined++
		}
	}
	out.Lines = append(out.Lines, line("team.count", "Joined", joined, "All", len(people)))
	for _, ref := range f.Records.Unreachable() {
		out.Lines = append(out.Lines, line("team.unreachable", "Name", nameOf(f.Site, ref)))
	}
	first := min(max(page, 0)*teamPage, len(people))
	last := min(first+teamPage, len(people))
	for _, p := range people[first:last] {
		key := "team.button.joined"
		if !f.Records.Joined(p.Ref) {
			key = "team.button.not_joined"
		}
		out.Choices = append(out.Choices, []Choice{choice(key, Action{Do: "person", Ref: p.Ref}, "Name", p.Name)})
	}
	if page == 0 && rules.UsesSignOffs(f.Site) {
		out.Choices = append(out.Choices, []Choice{choice("team.button.sign_offs", Action{Do: "signoffs"})})
	}
	out.Choices = append(out.Choices, pages("team", page, last < len(people))...)
	out.InPlace = turned
	return out
}

// pages gives the buttons that turn a list.
func pages(do string, page int, more bool) [][]Choice {
	var row []Choice
	if page > 0 {
		row = append(row, choice("page.back", Action{Do: do, Page: page - 1, Value: "page"}))
	}
	if more {
		row = append(row, choice("page.more", Action{Do: do, Page: page + 1, Value: "page"}))
	}
	if row == nil {
		return nil
	}
	return [][]Choice{row}
}

func person(f Facts, ref string) Say {
	p, ok := f.Site.Person(ref)
	if !ok || p.Removed {
		return say(line("person.unknown"))
	}
	out := say(strong("person.named", "Name", p.Name, "Role", Term("role."+string(p.Role)), "Language", Term("language."+p.Lang)))
	if f.Records.Joined(ref) {
		out.Lines = append(out.Lines, line("person.joined"))
	} else {
		out.Lines = append(out.Lines, line("person.not_joined"))
	}
	for _, c := range f.Records.Unconfirmed(ref) {
		if client, ok := f.Site.Client(c.Client); ok {
			out.Lines = append(out.Lines, line("person.unconfirmed", "Client", called(f.Site, client), "Room", client.Room))
		}
	}
	out.Lines = append(out.Lines, signOffLines(f, p)...)
	if n := f.Records.Undelivered()[ref]; n > 0 {
		out.Lines = append(out.Lines, line("person.undelivered", "Count", n))
	}
	out.Choices = rows(1,
		choice("person.invite", Action{Do: "invite", Ref: ref}),
		choice("person.remove", Action{Do: "remove", Ref: ref}))
	return out
}

func invite(f Facts, ref string) []Effect {
	p, ok := f.Site.Person(ref)
	if !ok || p.Removed {
		return []Effect{say(line("person.unknown"))}
	}
	return []Effect{
		Invite{Person: ref},
		say(strong("invite.made", "Name", p.Name), line("invite.how"), Line{Style: Plain, Words: words("invite.code", "Code", Invitation{})}, small("invite.once")),
	}
}

func askRemove(f Facts, ref string) Say {
	p, ok := f.Site.Person(ref)
	if !ok || p.Removed {
		return say(line("person.unknown"))
	}
	if ref == f.Me.Ref {
		return say(line("remove.not_yourself"))
	}
	out := say(line("remove.sure", "Name", p.Name))
	out.Choices = rows(1,
		choice("person.keep", Action{Do: "person", Ref: ref}),
		choice("person.remove", Action{Do: "remove.sure", Ref: ref}))
	return out
}

func remove(f Facts, ref string) []Effect {
	p, ok := f.Site.Person(ref)
	if !ok || p.Removed {
		return []Effect{say(line("person.unknown"))}
	}
	if ref == f.Me.Ref {
		return []Effect{say(line("remove.not_yourself"))}
	}
	return []Effect{RemovePerson{Person: ref}, inPlace(say(line("remove.done", "Name", p.Name)))}
}

// delivery shows whom messages did not surely reach.
func delivery(f Facts) Say {
	out := say(strong("delivery.title"))
	counts := f.Records.Undelivered()
	for _, p := range f.Site.People {
		if n := counts[p.Ref]; n > 0 {
			out.Lines = append(out.Lines, line("delivery.person", "Name", p.Name, "Count", n))
		}
	}
	for _, ref := range f.Records.Unreachable() {
		out.Lines = append(out.Lines, line("team.unreachable", "Name", nameOf(f.Site, ref)))
	}
	if len(out.Lines) == 1 {
		out.Lines = append(out.Lines, line("delivery.all_well"))
	}
	return out
}

// Unreachable tells a coordinator that nothing reaches somebody any more.
func Unreachable(who care.Person) Say {
	out := say(warn("team.unreachable", "Name", who.Name))
	out.Urgency = Alert
	return out
}
