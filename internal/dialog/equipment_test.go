package dialog

import (
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// The days on which the coordinators are told, for one sling that falls due on the 30th of
// April and is looked at every day, or after days without the bot.
func TestExaminationsAreTold(t *testing.T) {
	due := care.Date{Year: 2026, Month: 4, Day: 30}
	for _, c := range []struct {
		says     string
		left     int // days until it is due
		since    int // days since the coordinators were told last
		state    care.EquipmentState
		told     bool
		audible  bool
		examined bool
	}{
		{"31 days before: nothing", 31, 1, care.InUse, false, false, true},
		{"30 days before", 30, 1, care.InUse, true, false, true},
		{"29 days before: nothing", 29, 1, care.InUse, false, false, true},
		{"14 days before", 14, 1, care.InUse, true, false, true},
		{"13 days before: nothing", 13, 1, care.InUse, false, false, true},
		{"7 days before", 7, 1, care.InUse, true, false, true},
		{"the day before: nothing", 1, 1, care.InUse, false, false, true},
		{"the day itself, on which it is out of date already", 0, 1, care.InUse, true, true, true},
		{"late: every day", -1, 1, care.InUse, true, true, true},
		{"late for a year: every day", -365, 1, care.InUse, true, true, true},
		{"the bot slept over the 14th day", 12, 4, care.InUse, true, false, true},
		{"the bot slept, and no such day was among them", 12, 2, care.InUse, false, false, true},
		{"a sling in the wash falls due too", 7, 1, care.InWash, true, false, true},
		{"what waits for its examination is late too", -3, 1, care.AwaitingExamination, true, true, true},
		{"a withdrawn one is not spoken of", -3, 1, care.Withdrawn, false, false, true},
		{"a missing one neither", 7, 1, care.Missing, false, false, true},
		{"without any date every card stops", 0, 1, care.InUse, true, false, false},
		{"without any date, waiting for it anyhow", 0, 1, care.AwaitingExamination, false, false, false},
	} {
		x := care.Sling{Label: "S-1", State: c.state}
		if c.examined {
			x.Due = due
		}
		today := due.AddDays(-c.left)
		f := Facts{Now: care.Clock(8*60).On(today, time.UTC), Site: &care.Site{Zone: "UTC", Slings: []care.Sling{x}}}
		got, told := Examinations(f, today.AddDays(-c.since))
		if told != c.told || told && (got.Urgency == Handover) != c.audible {
			t.Errorf("%s: told %t, urgency %v; want %t, audible %t", c.says, told, got.Urgency, c.told, c.audible)
		}
	}
}

// The due day is the earlier of the printed date and six months, as the handbook's
// section 1.2 has it: the reminder counts from that one.
func TestExaminationsCountFromTheEarlierDate(t *testing.T) {
	x := care.Sling{Label: "S-1", State: care.InUse, Examined: care.Examined{Last: care.Date{Year: 2025, Month: 8, Day: 31}, Due: care.Date{Year: 2026, Month: 5, Day: 1}}}
	today := care.Date{Year: 2026, Month: 2, Day: 28}
	f := Facts{Now: care.Clock(8*60).On(today, time.UTC), Site: &care.Site{Zone: "UTC", Slings: []care.Sling{x}}}
	got, told := Examinations(f, today.AddDays(-1))
	if !told || got.Lines[1].Key != "equipment.due.today" {
		t.Errorf("on %s, with %s as the due day, it says %+v", today, rules.Due(x.Examined), got.Lines)
	}
}

// A label inside a sentence, in the spellings of phones; a word or a number is none.
func TestLabelIn(t *testing.T) {
	site := &care.Site{
		Slings: []care.Sling{{Label: "S-014"}, {Label: "S-01"}, {Label: "12"}, {Label: "blue"}},
		Hoists: []care.Hoist{{Label: "H-01"}},
	}
	for _, c := range []struct{ text, want string }{
		{"I have sling S-014", "S-014"}, {"s-014?", "S-014"}, {"S–014", "S-014"}, {"S-014", "S-014"}, {"S-٠١٤", "S-014"}, {"mam nosidło s-01.", "S-01"},
		{"is H-01 all right", "H-01"}, {"عندي حمالة الرفع S-014، هل هي الصحيحة؟", "S-014"},
		{"S-0141", ""}, {"room 12", ""}, {"12", ""}, {"the blue loop", ""}, {"S-014 or S-01", ""}, {"", ""}, {"S 014", ""},
	} {
		got, ok := labelIn(site, c.text)
		if got.Ref != c.want || ok != (c.want != "") {
			t.Errorf("%q: %q, %t; want %q", c.text, got.Ref, ok, c.want)
		}
	}
}
