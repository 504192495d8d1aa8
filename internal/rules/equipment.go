package rules

import "samelift/internal/care"

// examinationMonths is the longest time between thorough examinations of equipment
// and accessories that lift persons. Source: LOLER 1998 reg 9(3)(a)(i).
const examinationMonths = 6

// Due gives the day by which the next thorough examination has to be done: the
// printed date or six calendar months after the last one, whichever is earlier, or
// the only one that is known. The zero Date means neither is, and that is never in
// date. Where the month reached has no such day its last day is taken.
//
// The regulation does not say whether the due day itself still counts. Of the two
// conventions in use the stricter is taken: the last day in date is the day before.
func Due(e care.Examined) care.Date {
	if e.Last.IsZero() {
		return e.Due
	}
	computed := e.Last.AddMonths(examinationMonths)
	if e.Due.IsZero() || computed.Before(e.Due) {
		return computed
	}
	return e.Due
}

// Void reports whether an exceptional event has taken the last examination away, and
// with it every date, printed or computed. An examination on the day of the event may
// have come before it, so it does not count.
// Source: LOLER 1998 reg 9(3)(a)(iv).
func Void(e care.Examined) bool {
	return !e.Exceptional.IsZero() && !e.Exceptional.Before(e.Last)
}

// The reasons why a piece of equipment cannot be used, beside the states of care.
const (
	WhyNotKnown           = "not_known"
	WhyExaminationOverdue = "examination_overdue"
	WhyExaminationUnknown = "examination_unknown"
	WhyExaminationVoid    = "examination_void"
)

// Unusable gives the reason why equipment may not be used on a day, or an empty
// string if nothing is known against it: a state of care.EquipmentStates other than
// in_use, or one of the reasons above. There are no days of grace.
// Source: LOLER 1998 reg 9(3)(a)(i) for the dates; Devon County Council, DILIS hoist
// and sling checks, for taking equipment out of use.
func Unusable(state care.EquipmentState, e care.Examined, today care.Date) string {
	switch {
	case state == "":
		return WhyNotKnown
	case state != care.InUse:
		return string(state)
	case Void(e):
		return WhyExaminationVoid
	case Due(e).IsZero(), !e.Last.IsZero() && today.Before(e.Last):
		return WhyExaminationUnknown
	case !today.Before(Due(e)):
		return WhyExaminationOverdue
	}
	return ""
}

func whySource(why string) string {
	switch why {
	case WhyExaminationOverdue, WhyExaminationUnknown, WhyExaminationVoid:
		return sourceLOLER
	}
	return sourceDevon
}

// Equipment finds whether the hoist and the sling of a transfer can be taken today,
// and whether the spare has to be taken in place of the sling.
func Equipment(site *care.Site, t care.Transfer, today care.Date) []Finding {
	var out []Finding
	if t.Hoist != "" {
		h, ok := site.Hoist(t.Hoist)
		if !ok {
			out = append(out, Finding{"hoist_not_known", Stop, map[string]any{"label": t.Hoist}, sourceDevon})
		} else if why := Unusable(h.State, h.Examined, today); why != "" {
			out = append(out, Finding{"hoist_not_usable", Stop, map[string]any{"label": h.Label, "why": why}, whySource(why)})
			out = append(out, Service(h.Label, h.Examined, today)...)
		} else {
			out = append(out, Dates(h.Label, h.Examined, today)...)
		}
	}
	if t.Label == "" {
		return out
	}
	why := slingUnusable(site, t.Label, t, today)
	if why == "" {
		s, _ := site.Sling(t.Label)
		return append(out, Dates(s.Label, s.Examined, today)...)
	}
	if s, ok := site.Sling(t.Label); ok {
		out = append(out, Service(s.Label, s.Examined, today)...)
	}
	// A sling in the wash and a wrong one taken in its place: inquest, event of March
	// 2017. So the spare is the one that is named, or none.
	if t.Spare == "" {
		return append(out, Finding{"sling_not_usable", Stop, map[string]any{"label": t.Label, "why": why}, whySource(why)})
	}
	if spareWhy := slingUnusable(site, t.Spare, t, today); spareWhy != "" {
		return append(out, Finding{"sling_and_spare_not_usable", Stop, map[string]any{"label": t.Label, "why": why, "spare": t.Spare, "spare_why": spareWhy}, whySource(why)})
	}
	out = append(out, Finding{"sling_take_spare", Caution, map[string]any{"label": t.Label, "why": why, "spare": t.Spare}, whySource(why)})
	s, _ := site.Sling(t.Spare)
	return append(out, Dates(s.Label, s.Examined, today)...)
}

// slingUnusable is Unusable for a label, and sees too that the sling is of the range
// and size the transfer is planned with.
func slingUnusable(site *care.Site, label string, t care.Transfer, today care.Date) string {
	s, ok := site.Sling(label)
	if !ok || t.Range != "" && s.Range != t.Range || t.Size != "" && s.Size != t.Size {
		return WhyNotKnown
	}
	return Unusable(s.State, s.Examined, today)
}

// Dates finds an examination that falls due within a week, and a printed date that
// lies later than the law's six months.
func Dates(label string, e care.Examined, today care.Date) []Finding {
	var out []Finding
	if due := Due(e); !due.IsZero() && today.Before(due) && today.DaysUntil(due) <= soon {
		out = append(out, Finding{"examination_soon", Caution, map[string]any{"label": label, "due": due, "days": today.DaysUntil(due)}, commonPractice})
	}
	if !e.Last.IsZero() && !e.Due.IsZero() {
		if computed := e.Last.AddMonths(examinationMonths); computed.Before(e.Due) {
			out = append(out, Finding{"examination_printed_later", Advice, map[string]any{"label": label, "printed": e.Due, "computed": computed}, sourceLOLER})
		}
	}
	return append(out, Service(label, e, today)...)
}

// Service finds a service that somebody may take for the examination that is due: done
// since the last examination, while that runs out within a month.
// Source: L Smith, Oldham Council and University of Salford: most certificates offered
// as evidence of examination were none.
func Service(label string, e care.Examined, today care.Date) []Finding {
	if due := Due(e); !e.Serviced.IsZero() && e.Last.Before(e.Serviced) && (due.IsZero() || today.DaysUntil(due) <= 30) {
		return []Finding{{"service_no_examination", Advice, map[string]any{"label": label, "serviced": e.Serviced}, sourceService}}
	}
	return nil
}

// SlingInHand finds whether the sling with this label, which a carer has in their
// hands, is the one for the transfer. Another sling than the planned one and its
// spare is a stop even where range and size agree: the plan names the label.
// Sources: HSE, HSIS3 (wrong size, wrong type); inquest, event of March 2017.
func SlingInHand(site *care.Site, t care.Transfer, label string, today care.Date) []Finding {
	s, ok := site.Sling(label)
	if !ok {
		return []Finding{{"sling_in_hand_not_usable", Stop, map[string]any{"label": label, "why": WhyNotKnown}, sourceDevon}}
	}
	var out []Finding
	if s.Range != t.Range || s.Size != t.Size {
		out = append(out, Finding{"sling_other_than_plan", Stop, map[string]any{"label": label, "range": rangeName(site, s.Range), "size": s.Size, "plan_range": rangeName(site, t.Range), "plan_size": t.Size}, sourceHSIS3})
	} else if t.Label != "" && label != t.Label && label != t.Spare {
		out = append(out, Finding{"sling_not_in_plan", Stop, map[string]any{"label": label, "plan_label": t.Label}, sourceInquest})
	}
	if why := Unusable(s.State, s.Examined, today); why != "" {
		return append(out, Finding{"sling_in_hand_not_usable", Stop, map[string]any{"label": label, "why": why}, whySource(why)})
	}
	return append(out, Dates(label, s.Examined, today)...)
}

// rangeName gives the maker's name of a range, which a carer knows, for its ref.
func rangeName(site *care.Site, ref string) string {
	if g, ok := site.Range(ref); ok {
		return g.Name
	}
	return ref
}
