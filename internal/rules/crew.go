package rules

import "samelift/internal/care"

// oneCarerMonths is how long the risk assessment for one carer alone is taken as fresh.
// Source: Gloucestershire County Council policy 7.7-7.8: review annually.
const oneCarerMonths = 12

// Crew finds a plan for one carer alone without a dated risk assessment, or with an old
// one. The number itself is the plan's and never a default; Stated speaks where it is
// missing. Source: HSE and MHSWR 1999 (from memory): the number comes from a suitable
// assessment of the one person.
func Crew(t care.Transfer, today care.Date) []Finding {
	if t.Carers != 1 {
		return nil
	}
	on := t.OneCarerAssessed
	switch {
	case on.IsZero(), today.Before(on):
		return []Finding{{"one_carer_not_assessed", Stop, nil, sourceOneCarer}}
	case on.AddMonths(oneCarerMonths).Before(today):
		return []Finding{{"one_carer_assessed_long_ago", Caution, map[string]any{"date": on, "days": on.DaysUntil(today)}, sourceGlos}}
	}
	return nil
}

// CrewPresent finds too few carers: present is how many are there now. Nothing is found
// where the plan does not state a number, which is a stop already.
// Source: FDA: never alone if the lift needs more than one; Yorkshire Back Exchange with
// HSE: follow the plan.
func CrewPresent(t care.Transfer, present int) []Finding {
	if t.Carers == 0 || present >= t.Carers {
		return nil
	}
	return []Finding{{"crew_too_small", Stop, map[string]any{"present": max(present, 0), "carers": t.Carers}, sourceFDACarer}}
}

// CrewRostered finds a shift in which fewer people care for the client than the transfer
// needs, going by the shifts that people usually work.
func CrewRostered(site *care.Site, client string, t care.Transfer, shift string) []Finding {
	rostered := 0
	for _, p := range site.CarersOf(client) {
		if p.Works(shift) {
			rostered++
		}
	}
	if t.Carers == 0 || rostered >= t.Carers {
		return nil
	}
	return []Finding{{"crew_rostered_too_small", Stop, map[string]any{"shift": shift, "rostered": rostered, "carers": t.Carers}, sourceFDACarer}}
}
