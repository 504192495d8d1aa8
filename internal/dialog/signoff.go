package dialog

import (
	"samelift/internal/care"
	"samelift/internal/rules"
)

// signOffLimit is how many lines of a list are shown.
const signOffLimit = 30

// signOffs tells a coordinator whose sign-offs are missing, have ended, or end soon.
func signOffs(f Facts) Say {
	out := say(strong("sign_offs.title"))
	due := rules.SignOffsDue(f.Site, f.Now)
	for i, d := range due {
		if i == signOffLimit {
			out.Lines = append(out.Lines, line("sign_offs.more", "Number", len(due)-signOffLimit))
			break
		}
		args := []any{"Name", d.Person.Name, "SignOff", signOffTerm(d.For)}
		switch {
		case d.Until.IsZero():
			out.Lines = append(out.Lines, line("sign_offs.missing", args...))
		case d.Over:
			out.Lines = append(out.Lines, line("sign_offs.ended", append(args, "Until", d.Until)...))
		default:
			out.Lines = append(out.Lines, line("sign_offs.soon", append(args, "Until", d.Until)...))
		}
	}
	if len(due) == 0 {
		out.Lines = append(out.Lines, line("sign_offs.all_well"))
	}
	out.Choices = rows(1, choice("home.team", Action{Do: "team"}))
	return out
}

// signOffLines shows what one person is signed off for, and what is missing.
func signOffLines(f Facts, p care.Person) []Line {
	var out []Line
	today := care.DateOf(f.Now.In(f.Site.Location()))
	for _, kind := range care.SignOffKinds {
		s, ok := p.SignedOff(kind)
		switch {
		case !ok:
		case s.Until.Before(today):
			out = append(out, line("person.sign_off.ended", "SignOff", signOffTerm(kind), "Until", s.Until))
		default:
			out = append(out, line("person.sign_off", "SignOff", signOffTerm(kind), "Until", s.Until))
		}
	}
	for _, d := range rules.SignOffsDue(f.Site, f.Now) {
		if d.Person.Ref == p.Ref && d.Until.IsZero() {
			out = append(out, line("person.sign_off.none", "SignOff", signOffTerm(d.For)))
		}
	}
	return out
}

// signOffTerm names what somebody is signed off for: a hoist, a sling, the refresher.
func signOffTerm(k care.SignOffKind) Term {
	for _, h := range care.HoistKinds {
		if string(h) == string(k) {
			return Term("hoist_kind." + string(h))
		}
	}
	for _, s := range care.SlingKinds {
		if string(s) == string(k) {
			return Term("sling_kind." + string(s))
		}
	}
	return Term("sign_off." + string(k))
}
