package rules

import "samelift/internal/care"

// weighedDays is how long a weighing is taken as fresh, and nearShare the share of
// the safe working load that counts as near it. Common practice, no source: no
// published number was found for either.
const (
	weighedDays = 90
	nearShare   = 10 // one tenth
)

// Load finds whether the person's mass when last weighed is within the safe working
// load of every part: the hoist, its bar where that has a mark of its own, and the
// sling. Exactly at the limit is allowed. An unknown mass or limit is never enough.
// Source: FDA, Patient Lifts: neither the lift's nor the sling's limit is exceeded.
func Load(site *care.Site, client care.Client, t care.Transfer, today care.Date) []Finding {
	var out []Finding
	hoist, _ := site.Hoist(t.Hoist)
	g, _ := site.Range(t.Range)
	size, _ := g.Size(t.Size)
	if t.Hoist != "" && hoist.Limit == 0 {
		out = append(out, Finding{"load_limit_unknown", Stop, map[string]any{"part": "hoist", "label": t.Hoist}, sourceFDA})
	}
	if t.Range != "" && t.Size != "" && size.Limit == 0 {
		out = append(out, Finding{"load_limit_unknown", Stop, map[string]any{"part": "sling", "label": t.Label}, sourceFDA})
	}
	if client.Mass == 0 {
		return append(out, Finding{"load_mass_unknown", Stop, nil, sourceFDA})
	}
	if limit, part := SafeLoad(hoist, size); part != "" {
		// In whole grams, so that a tenth is a tenth.
		switch margin := limit - client.Mass; {
		case margin < 0:
			out = append(out, Finding{"load_over", Stop, map[string]any{"mass": client.Mass, "limit": limit, "part": part}, sourceFDA})
		case margin*nearShare <= limit:
			out = append(out, Finding{"load_near", Caution, map[string]any{"mass": client.Mass, "limit": limit, "part": part, "margin": margin}, commonPractice})
		}
	}
	switch {
	case client.Weighed.IsZero(), today.Before(client.Weighed):
		out = append(out, Finding{"mass_date_unknown", Caution, nil, commonPractice})
	case client.Weighed.DaysUntil(today) > weighedDays:
		out = append(out, Finding{"mass_old", Caution, map[string]any{"date": client.Weighed, "days": client.Weighed.DaysUntil(today)}, commonPractice})
	}
	return out
}

// SafeLoad gives the least of the known safe working loads of a hoist, its bar and a
// sling's size, and the part it belongs to: hoist, bar or sling. The part is empty
// where none is known.
func SafeLoad(h care.Hoist, size care.Size) (limit care.Mass, part string) {
	for _, p := range []struct {
		part  string
		limit care.Mass
	}{{"sling", size.Limit}, {"bar", h.BarLimit}, {"hoist", h.Limit}} {
		if p.limit > 0 && (part == "" || p.limit < limit) {
			limit, part = p.limit, p.part
		}
	}
	return limit, part
}

// RoundMassUp gives a person's mass in whole tenths of a kilogram, never less than it is.
func RoundMassUp(m care.Mass) care.Mass { return (m + 99) / 100 * 100 }

// RoundLimitDown gives a safe working load in whole kilograms, never more than it is.
func RoundLimitDown(m care.Mass) care.Mass { return m / care.Kilogram * care.Kilogram }

// microgramsPerPound is exact: the international pound is 0.45359237 kg.
const microgramsPerPound = 453_592_370

// MassFromPounds turns a person's mass in tenths of a pound into grams, rounded up.
func MassFromPounds(tenths int64) care.Mass {
	return care.Mass((tenths*microgramsPerPound + 9_999_999) / 10_000_000)
}

// LimitFromPounds turns a safe working load in tenths of a pound into grams, rounded down.
func LimitFromPounds(tenths int64) care.Mass {
	return care.Mass(tenths * microgramsPerPound / 10_000_000)
}

// PoundsUp gives a person's mass in tenths of a pound, rounded up.
func PoundsUp(m care.Mass) int64 {
	return (int64(m)*10_000_000 + microgramsPerPound - 1) / microgramsPerPound
}

// PoundsDown gives a safe working load in tenths of a pound, rounded down.
func PoundsDown(m care.Mass) int64 { return int64(m) * 10_000_000 / microgramsPerPound }
