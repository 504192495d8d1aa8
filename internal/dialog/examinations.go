package dialog

import (
	"cmp"
	"slices"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// remindDays are how many days before an examination falls due the coordinators are
// told. After the last they are told daily.
var remindDays = []int{30, 14, 7, 0}

// Examinations is what the coordinators are told on a day, given the day on which they
// were told last, so that a day without the bot leaves nothing out. It is nothing where
// no date has come near. What is withdrawn or missing is left out: nobody can take it,
// and it is examined before it comes back.
func Examinations(f Facts, told care.Date) (Say, bool) {
	today := f.today()
	var late, near, unknown []Line
	for _, p := range pieces(f.Site) {
		if p.state == care.Withdrawn || p.state == care.Missing {
			continue
		}
		due := rules.Due(p.Examined)
		if why := p.why(f); due.IsZero() || why == rules.WhyExaminationVoid {
			// Every card stops, unless it waits for its examination anyhow.
			if p.state != care.AwaitingExamination {
				unknown = append(unknown, warn("equipment.no", append(p.named(), "Why", Term("why."+cmp.Or(why, rules.WhyExaminationUnknown)))...))
			}
			continue
		}
		days, before := today.DaysUntil(due), told.DaysUntil(due)
		switch {
		case days < 0:
			late = append(late, warn("equipment.late", append(p.named(), "Date", due, "Days", -days)...))
		case days == 0:
			late = append(late, warn("equipment.due.today", p.named()...))
		case slices.ContainsFunc(remindDays, func(d int) bool { return days <= d && d < before }):
			near = append(near, line("equipment.near", append(p.named(), "Date", due, "Days", days)...))
		}
	}
	if len(late)+len(near)+len(unknown) == 0 {
		return Say{}, false
	}
	out := say(strong("equipment.examinations", "Date", today))
	out.Lines = append(append(append(out.Lines, late...), unknown...), near...)
	out.Choices = rows(1, choice("home.equipment", Action{Do: "equipment"}))
	out.Urgency = Reminder
	if len(late) > 0 {
		out.Urgency = Handover // not without a sound
	}
	return out, true
}
