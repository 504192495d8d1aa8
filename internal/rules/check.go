package rules

import (
	"time"

	"samelift/internal/care"
)

// Check answers whether a transfer may be done now as its plan says, with the person
// and the equipment as they are known. The gravest findings come first. Nothing found
// is not a promise: the carers still look at the person and the equipment.
func Check(site *care.Site, client care.Client, plan care.Plan, t care.Transfer, now time.Time) []Finding {
	today := care.DateOf(now.In(site.Location()))
	out := InForce(site, client, plan, now)
	out = append(out, Review(plan, today)...)
	out = append(out, Stated(site, t)...)
	out = append(out, Equipment(site, t, today)...)
	out = append(out, Fit(site, t)...)
	out = append(out, Suits(site, plan, t)...)
	out = append(out, Sized(site, client, plan, t)...)
	out = append(out, Load(site, client, t, today)...)
	out = append(out, Weights(client)...)
	out = append(out, Crew(t, today)...)
	out = append(out, Hands(client, plan, t)...)
	return gravestFirst(Decided(plan, t, out))
}

// soon is how many days ahead a date is spoken of. Common practice, no source.
const soon = 7

// InForce finds whether this version of the plan is the one to follow now.
// Source: Yorkshire Back Exchange with HSE: an up-to-date plan must exist and is followed.
func InForce(site *care.Site, client care.Client, plan care.Plan, now time.Time) []Finding {
	var out []Finding
	if client.Ended {
		out = append(out, Finding{"client_ended", Stop, nil, commonPractice})
	}
	if stop := stopOf(site, plan); stop != nil {
		return append(out, Finding{"plan_" + string(stop.Act), Stop, map[string]any{"version": plan.Version, "since": stop.At}, sourceYBE})
	}
	if plan.From.After(now) {
		return append(out, Finding{"plan_not_yet", Stop, map[string]any{"version": plan.Version, "from": plan.From}, sourceYBE})
	}
	if current, ok := site.PlanAt(plan.Client, now); ok && current.Version > plan.Version {
		return append(out, Finding{"plan_superseded", Stop, map[string]any{"version": plan.Version, "current": current.Version}, sourceYBE})
	}
	for _, next := range site.Plans {
		if next.Client == plan.Client && next.Version > plan.Version && next.From.After(now) && next.From.Sub(now) <= soon*24*time.Hour {
			out = append(out, Finding{"plan_next_soon", Advice, map[string]any{"version": next.Version, "from": next.From}, commonPractice})
		}
	}
	return out
}

// stopOf gives why a plan is suspended or ended, also for a version that was read from
// the record and knows nothing of it.
func stopOf(site *care.Site, plan care.Plan) *care.PlanStop {
	if plan.Stopped != nil {
		return plan.Stopped
	}
	for _, p := range site.Plans {
		if p.Client == plan.Client && p.Stopped != nil && plan.Version <= p.Stopped.UpTo {
			return p.Stopped
		}
	}
	return nil
}

// Review finds a plan past its review. It stays readable and is flagged, not hidden.
// The day of the review itself is not past.
// Source: Gloucestershire County Council policy 7.7-7.8, for reviewing at all.
func Review(plan care.Plan, today care.Date) []Finding {
	switch {
	case plan.NextReview.IsZero():
		return []Finding{{"not_stated", Advice, map[string]any{"field": "next_review"}, sourceGlos}}
	case plan.NextReview.Before(today):
		return []Finding{{"review_overdue", Caution, map[string]any{"date": plan.NextReview, "days": plan.NextReview.DaysUntil(today)}, sourceGlos}}
	}
	return nil
}

// unstatedSeverity weighs what a transfer can be silent about. Without the first ones
// the sling, the hoist or the crew is a guess; the others are asked about and go on
// with training and the maker's instructions.
var unstatedSeverity = []struct {
	field    string
	severity Severity
	source   string
	silent   func(care.Range, care.Hoist, care.Transfer) bool
}{
	{"sling", Stop, sourceInquest, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Range == "" }},
	{"size", Stop, sourceInquest, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Size == "" }},
	{"sling_label", Stop, sourceInquest, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Label == "" }},
	{"hoist", Stop, sourceYBE, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Hoist == "" }},
	// Source: coroner's and court cases of 2007: plans silent about the loops.
	{"loops", Stop, sourceInquest, func(g care.Range, _ care.Hoist, t care.Transfer) bool {
		return len(t.Loops) == 0 && g.Attachment != care.ClipAttachment
	}},
	{"leg_straps", Stop, sourceInquest, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.LegStraps == "" }},
	{"carers", Stop, sourceFDACarer, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Carers == 0 }},
	{"head_support", Caution, commonPractice, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Head == "" }},
	{"arms", Advice, commonPractice, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Arms == "" }},
	{"hoist_brakes", Advice, "sources disagree (handbook 5.1): the plan's word stands", func(_ care.Range, h care.Hoist, t care.Transfer) bool {
		return t.HoistBrakes == "" && h.Kind != care.CeilingHoist
	}},
	{"sling_stays", Advice, "from memory, unverified", func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Stays == "" }},
	{"spare", Advice, commonPractice, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return t.Spare == "" }},
	{"bed", Advice, commonPractice, func(_ care.Range, _ care.Hoist, t care.Transfer) bool {
		return len(t.BedSetUp) == 0 && (t.From == care.Bed || t.To == care.Bed)
	}},
	{"seat", Advice, commonPractice, func(_ care.Range, _ care.Hoist, t care.Transfer) bool {
		return len(t.SeatSetUp) == 0 && (seat(t.From) || seat(t.To))
	}},
	{"steps", Advice, sourceYBE, func(_ care.Range, _ care.Hoist, t care.Transfer) bool { return len(t.Steps) == 0 }},
}

func seat(p care.Place) bool { return p != care.Bed && p != care.Floor && p != care.Bath }

// Unstated lists what a transfer is silent about, the weightiest first. The codes are
// sling, size, sling_label, hoist, loops, leg_straps, carers, head_support, arms,
// hoist_brakes, sling_stays, spare, bed, seat and steps. What the sling or the hoist
// does not have is not missed: loops of a clip sling, brakes of a ceiling hoist.
func Unstated(site *care.Site, t care.Transfer) []string {
	var out []string
	for _, f := range Stated(site, t) {
		out = append(out, f.Args["field"].(string))
	}
	return out
}

// Stated is Unstated as findings.
func Stated(site *care.Site, t care.Transfer) []Finding {
	g, _ := site.Range(t.Range)
	h, _ := site.Hoist(t.Hoist)
	var out []Finding
	for _, u := range unstatedSeverity {
		if u.silent(g, h, t) {
			out = append(out, Finding{"not_stated", u.severity, map[string]any{"field": u.field}, u.source})
		}
	}
	return out
}
