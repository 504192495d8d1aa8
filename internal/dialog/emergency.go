package dialog

import (
	"slices"
	"time"

	"samelift/internal/care"
)

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
		choice("emergency.tell", Action{Do: "tell", Client: about, Value: words, At: f.Now}),
		choice("emergency.report", Action{Do: "incident", Client: about}))
	out.Urgency = Alert
	out.Client = about
	return out
}

// tellCoordinators sends word at once, before any form. The button of an older emergency
// still calls for help, but not for whom it was then.
func tellCoordinators(f Facts, client, words string, at time.Time) []Effect {
	old := f.Now.Sub(at) > FollowUp
	if old {
		client, words = "", ""
	}
	var effects []Effect
	others, reached := otherCoordinators(f)
	for _, p := range others {
		out := say(warn("emergency.alert", "Name", f.Me.Name), line("record.by", "Name", f.Me.Name, "At", f.Now))
		if c, ok := mayAnswer(f, client); ok {
			out.Lines = append(out.Lines, clientLine(Strong, f.Site, c))
			out.Client = c.Ref
		}
		out.Lines = append(out.Lines, own(care.Text{Lang: f.Me.Lang, Words: care.Clean(words, 300)})...)
		out.To, out.Urgency = p.Ref, Alert
		effects = append(effects, out)
	}
	out := say(strong("emergency.told"))
	switch {
	case len(others) == 0:
		out = say(strong("emergency.nobody"))
	case reached == 0:
		out = say(warn("emergency.out_of_reach"))
	case old:
		out.Lines = append(out.Lines, warn("emergency.old", "At", at))
	}
	if c, ok := mayAnswer(f, client); ok && reached > 0 {
		out.Lines = append(out.Lines, clientLine(Plain, f.Site, c))
	}
	out.Lines = append(out.Lines, line("emergency.call", "Number", f.Site.EmergencyNumber))
	out.Lines = append(out.Lines, whomToCall(f.Site)...)
	out.Urgency = Alert
	return append([]Effect{out}, effects...)
}

// otherCoordinators gives the coordinators beside the person who acts, and how many of
// them a message can reach now: that they are being told is said only where it is so.
func otherCoordinators(f Facts) (others []care.Person, reached int) {
	gone := f.Records.Unreachable()
	for _, p := range f.Site.Coordinators() {
		if p.Ref == f.Me.Ref {
			continue
		}
		others = append(others, p)
		if f.Records.Joined(p.Ref) && !slices.Contains(gone, p.Ref) {
			reached++
		}
	}
	return others, reached
}
