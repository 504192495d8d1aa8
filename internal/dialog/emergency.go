package dialog

import "samelift/internal/care"

// emergency is the card for danger now. It comes before anything else, whatever was
// asked, and asks nothing first. The words follow handbook 8.5; the site's own number
// stands in them. What was typed is kept with the button that tells the coordinators.
func emergency(f Facts, client, words string) Say {
	out := say(firstActions(f)...)
	out.Lines = append(out.Lines, whomToCall(f.Site)...)
	about := ""
	if c, ok := mayAnswer(f, client); ok {
		about = c.Ref
		out.Lines = append(out.Lines, clientLine(Plain, f.Site, c))
	}
	out.Lines = append(out.Lines, small("caution.local_rules"))
	out.Choices = rows(1,
		choice("emergency.tell", Action{Do: "tell", Client: about, Value: words}),
		choice("emergency.report", Action{Do: "incident", Client: about}))
	out.Urgency = Alert
	out.Client = about
	return out
}

// tellCoordinators sends word at once, before any form.
func tellCoordinators(f Facts, client, words string) []Effect {
	var effects []Effect
	told := 0
	for _, p := range f.Site.Coordinators() {
		if p.Ref == f.Me.Ref {
			continue
		}
		out := say(warn("emergency.alert", "Name", f.Me.Name), line("record.by", "Name", f.Me.Name, "At", f.Now))
		if c, ok := mayAnswer(f, client); ok {
			out.Lines = append(out.Lines, clientLine(Strong, f.Site, c))
			out.Client = c.Ref
		}
		out.Lines = append(out.Lines, own(care.Text{Lang: f.Me.Lang, Words: care.Clean(words, 300)})...)
		out.To, out.Urgency = p.Ref, Alert
		effects = append(effects, out)
		told++
	}
	out := say(strong("emergency.told"))
	if told == 0 {
		out = say(strong("emergency.nobody"))
	}
	out.Lines = append(out.Lines, line("emergency.call", "Number", f.Site.EmergencyNumber))
	out.Lines = append(out.Lines, whomToCall(f.Site)...)
	out.Urgency = Alert
	return append([]Effect{out}, effects...)
}
