package rules

import (
	"cmp"
	"slices"
	"time"

	"samelift/internal/care"
)

// signOffSoon is how many days ahead the end of a sign-off is listed.
// Common practice, no source.
const signOffSoon = 30

// UsesSignOffs reports whether anybody of the site has a sign-off. Where nobody has, the
// site keeps them elsewhere, and nothing is said about them.
func UsesSignOffs(site *care.Site) bool {
	return slices.ContainsFunc(site.People, func(p care.Person) bool { return !p.Removed && len(p.SignOffs) > 0 })
}

// SignOffsFor lists what somebody who does the transfer is signed off for: the moving
// and handling refresher, the kind of hoist and the kind of sling. A special sling has
// no kind of its own.
func SignOffsFor(site *care.Site, t care.Transfer) []care.SignOffKind {
	out := []care.SignOffKind{care.Refresher}
	if h, ok := site.Hoist(t.Hoist); ok {
		out = append(out, care.SignOffKind(h.Kind))
	}
	if g, ok := site.Range(t.Range); ok && g.Kind != care.OtherSling {
		out = append(out, care.SignOffKind(g.Kind))
	}
	return out
}

// SignOffs finds a sign-off that the reader of a card does not have or has no longer.
// The last day still counts. A coordinator without any sign-off is taken not to lift.
// Source: court cases of 2007 and 2015: workers not trained on that sling (handbook 12).
func SignOffs(site *care.Site, person care.Person, t care.Transfer, today care.Date) []Finding {
	if !UsesSignOffs(site) || person.Role == care.Coordinator && len(person.SignOffs) == 0 {
		return nil
	}
	var out []Finding
	for _, kind := range SignOffsFor(site, t) {
		s, ok := person.SignedOff(kind)
		switch {
		case !ok:
			out = append(out, Finding{"sign_off_missing", Caution, map[string]any{"sign_off": string(kind)}, sourceTraining})
		case s.Until.Before(today):
			out = append(out, Finding{"sign_off_expired", Caution, map[string]any{"sign_off": string(kind), "until": s.Until}, sourceTraining})
		}
	}
	return out
}

// SignOffDue is one line of a coordinator's list.
type SignOffDue struct {
	Person care.Person
	For    care.SignOffKind
	// Until is the last day; zero where there is no sign-off at all.
	Until care.Date
	// Over says that it does not hold today.
	Over bool
}

// SignOffsDue lists whose sign-offs are missing, over, or end within thirty days. What a
// person needs comes from the plans of the clients in their care; what they have beside
// that is listed when it ends. The missing come first, then the earliest.
func SignOffsDue(site *care.Site, now time.Time) []SignOffDue {
	if !UsesSignOffs(site) {
		return nil
	}
	today := care.DateOf(now.In(site.Location()))
	var out []SignOffDue
	for _, p := range site.People {
		if !p.Removed {
			out = append(out, signOffsOf(site, p, now, today)...)
		}
	}
	slices.SortStableFunc(out, func(a, b SignOffDue) int {
		return cmp.Or(-cmp.Compare(a.Until.DaysUntil(today), b.Until.DaysUntil(today)))
	})
	return out
}

func signOffsOf(site *care.Site, p care.Person, now time.Time, today care.Date) []SignOffDue {
	needs := map[care.SignOffKind]bool{}
	if p.Role == care.Carer || len(p.SignOffs) > 0 {
		for _, ref := range p.CaresFor {
			plan, _ := site.PlanAt(ref, now)
			for _, t := range plan.Transfers {
				for _, kind := range SignOffsFor(site, t) {
					needs[kind] = true
				}
			}
		}
	}
	var out []SignOffDue
	for _, kind := range care.SignOffKinds {
		s, ok := p.SignedOff(kind)
		switch {
		case !ok && needs[kind]:
			out = append(out, SignOffDue{Person: p, For: kind, Over: true})
		case ok && today.DaysUntil(s.Until) <= signOffSoon:
			out = append(out, SignOffDue{p, kind, s.Until, s.Until.Before(today)})
		}
	}
	return out
}
