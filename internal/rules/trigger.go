package rules

import (
	"slices"
	"time"

	"samelift/internal/care"
)

// Trigger is something that asks for a plan to be reviewed before its day.
type Trigger string

// The triggers of handbook 9.4.
const (
	AfterFall       Trigger = "fall"
	AfterSlip       Trigger = "slip"
	AfterSkinTear   Trigger = "skin_tear"
	AfterIncident   Trigger = "incident"
	AfterSkinDamage Trigger = "skin_damage"
	AfterSkinRed    Trigger = "skin_red"
	AfterRefusal    Trigger = "refusal"
	AfterHospital   Trigger = "hospital"
	AfterEquipment  Trigger = "equipment"
)

// triggers lists every trigger with its weight, the gravest first. A carer has to know
// of what may make the plan wrong today; the rest is for whoever reviews.
var triggers = []struct {
	trigger  Trigger
	severity Severity
	source   string
}{
	{AfterFall, Caution, sourceGlos},
	{AfterSlip, Caution, sourceGlos},
	{AfterSkinTear, Caution, sourceGlos},
	{AfterSkinDamage, Caution, commonPractice},
	{AfterHospital, Caution, commonPractice},
	{AfterEquipment, Advice, commonPractice},
	{AfterIncident, Advice, sourceGlos},
	{AfterSkinRed, Advice, commonPractice},
	{AfterRefusal, Advice, commonPractice},
}

// Triggers finds what has happened since the plan came into force that asks for it to be
// reviewed, each kind once with its last day. What was recorded is handed in.
// Sources: Gloucestershire County Council, Moving and handling policy 7.7-7.8, for
// incidents from handling; the others common practice, no source (handbook 9.4).
func Triggers(site *care.Site, client care.Client, plan care.Plan, since care.Since) []Finding {
	zone := site.Location()
	began := care.DateOf(plan.From.In(zone))
	last := map[Trigger]care.Date{}
	day := func(t Trigger, on care.Date) {
		if have, ok := last[t]; !ok || have.Before(on) {
			last[t] = on
		}
	}
	at := func(t Trigger, when time.Time) {
		if when.After(plan.From) {
			day(t, care.DateOf(when.In(zone)))
		}
	}
	for _, in := range since.Incidents {
		if in.Client != client.Ref {
			continue
		}
		switch in.Kind {
		case care.Fall:
			at(AfterFall, in.At)
		case care.SlipFromSling:
			at(AfterSlip, in.At)
		case care.SkinTear:
			at(AfterSkinTear, in.At)
		default:
			at(AfterIncident, in.At)
		}
	}
	for _, n := range since.Notes {
		if n.Client != client.Ref {
			continue
		}
		switch n.Skin {
		case care.SkinBroken:
			at(AfterSkinDamage, n.At)
		case care.SkinRed:
			at(AfterSkinRed, n.At)
		}
		if n.Outcome == care.Refused {
			at(AfterRefusal, n.At)
		}
	}
	if began.Before(client.FromHospital) {
		day(AfterHospital, client.FromHospital)
	}
	for _, t := range plan.Transfers {
		h, _ := site.Hoist(t.Hoist)
		s, _ := site.Sling(t.Label)
		for _, came := range []care.Date{h.Since, s.Since} {
			if began.Before(came) {
				day(AfterEquipment, came)
			}
		}
	}
	var out []Finding
	for _, t := range triggers {
		if on, ok := last[t.trigger]; ok {
			out = append(out, Finding{"review_wanted", t.severity, map[string]any{"trigger": string(t.trigger), "date": on}, t.source})
		}
	}
	return out
}

// ReviewDue gives the day on which the plan is due to be looked at again: its own day or
// that of the first thing that asks for it, whichever is earlier; zero if neither is.
func ReviewDue(plan care.Plan, found []Finding) care.Date {
	due := plan.NextReview
	for _, f := range found {
		on, ok := f.Args["date"].(care.Date)
		if f.Key == "review_wanted" && ok && (due.IsZero() || on.Before(due)) {
			due = on
		}
	}
	return due
}

// WantsReview lists every trigger, so that each can be given words.
func WantsReview() []Trigger {
	var out []Trigger
	for _, t := range triggers {
		out = append(out, t.trigger)
	}
	return slices.Clip(out)
}
