package picture

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"samelift/internal/care"
)

func day(y int, m time.Month, d int) care.Date { return care.Date{Year: y, Month: m, Day: d} }

func quarter() TimeInput {
	in := TimeInput{From: day(2026, 1, 5), To: day(2026, 4, 5)}
	for i, v := range []int{2, 3, 2, 5, 6, 7, 6, 4, 3, 3, 0, 2} {
		in.Pain = append(in.Pain, Pain{in.From.AddDays(7*i + 2), v})
	}
	for i, g := range []care.Mass{64000, 63500, 61800, 61000} {
		in.Mass = append(in.Mass, Weighing{in.From.AddDays(28*i + 1), g})
	}
	in.Plans = []PlanMark{{day(2026, 1, 5), 3}, {day(2026, 2, 16), 4}, {day(2026, 2, 19), 5}}
	return in
}

func someWeeks() []Week {
	start := day(2026, 3, 2)
	var out []Week
	for i := range 12 {
		w := Week{Start: start.AddDays(7 * i), Count: map[care.IncidentKind]int{}}
		if i%3 == 0 {
			w.Count[care.NearMiss] = 1 + i/3
		}
		if i%4 == 1 {
			w.Count[care.SkinTear] = 1
		}
		if i == 7 {
			w.Count[care.Fall] = 12
		}
		out = append(out, w)
	}
	return out
}

func TestTimeChartRefuses(t *testing.T) {
	cases := []struct {
		says string
		with func(*TimeInput)
		want Reason
	}{
		{"no readings at all", func(in *TimeInput) { in.Pain, in.Mass = nil, nil }, NoData},
		{"the span ends before it starts", func(in *TimeInput) { in.To = in.From.AddDays(-1) }, BadData},
		{"no span", func(in *TimeInput) { in.From = care.Date{} }, BadData},
		{"a pain of eleven", func(in *TimeInput) { in.Pain[0].Value = 11 }, BadData},
		{"a pain below nought", func(in *TimeInput) { in.Pain[0].Value = -1 }, BadData},
		{"pain out of order", func(in *TimeInput) { in.Pain[0], in.Pain[5] = in.Pain[5], in.Pain[0] }, BadData},
		{"a weighing after the span", func(in *TimeInput) { in.Mass[3].On = in.To.AddDays(1) }, BadData},
		{"a mass of nothing", func(in *TimeInput) { in.Mass[1].Mass = 0 }, BadData},
		{"a mass of a tonne", func(in *TimeInput) { in.Mass[1].Mass = 1000 * care.Kilogram }, BadData},
		{"a plan without a version", func(in *TimeInput) { in.Plans[0].Version = 0 }, BadData},
		{"more readings than can be seen", func(in *TimeInput) { in.Pain = make([]Pain, 2001) }, TooMany},
	}
	for _, c := range cases {
		in := quarter()
		c.with(&in)
		_, err := TimeChart(in)
		var r *Refusal
		if !errors.As(err, &r) || r.Reason != c.want {
			t.Errorf("%s: got %v, want %s", c.says, err, c.want)
		}
	}
}

func TestWeekBarsRefuses(t *testing.T) {
	one := func(k care.IncidentKind, n int) []Week {
		return []Week{{Start: day(2026, 3, 2), Count: map[care.IncidentKind]int{k: n}}}
	}
	gap := append(one(care.Fall, 1), Week{Start: day(2026, 3, 16)})
	cases := []struct {
		says  string
		weeks []Week
		want  Reason
	}{
		{"no weeks", nil, NoData},
		{"weeks without incidents", []Week{{Start: day(2026, 3, 2)}}, NoData},
		{"a kind nobody knows", one("meteorite", 1), BadData},
		{"a count below nought", one(care.Fall, -1), BadData},
		{"a count of a hundred", one(care.Fall, 100), TooMany},
		{"a week is missing", gap, BadData},
		{"more weeks than there is room for", make([]Week, MostWeeks+1), TooMany},
	}
	for _, c := range cases {
		_, err := WeekBars(c.weeks)
		var r *Refusal
		if !errors.As(err, &r) || r.Reason != c.want {
			t.Errorf("%s: got %v, want %s", c.says, err, c.want)
		}
	}
}

func TestWeekBarsFacts(t *testing.T) {
	d, err := WeekBars([]Week{
		{Start: day(2026, 3, 2), Count: map[care.IncidentKind]int{care.NearMiss: 2}},
		{Start: day(2026, 3, 9), Count: map[care.IncidentKind]int{care.NearMiss: 1, care.Fall: 1}},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := []Fact{
		{Key: FactKind, N: 1, Word: "fall", Value: 1},
		{Key: FactWeek, At: day(2026, 3, 9), N: 1, Word: "fall"},
		{Key: FactKind, N: 2, Word: "near_miss", Value: 3},
		{Key: FactWeek, At: day(2026, 3, 2), N: 2, Word: "near_miss"},
		{Key: FactWeek, At: day(2026, 3, 9), N: 1, Word: "near_miss"},
	}
	if !reflect.DeepEqual(d.Alt, want) {
		t.Errorf("got  %+v\nwant %+v", d.Alt, want)
	}
}

// The lines of the mass axis are whole steps, at least four, and hold every weighing.
func TestMassRange(t *testing.T) {
	for _, c := range []struct{ from, to care.Mass }{
		{1, 1}, {400, 900}, {62000, 62000}, {61800, 64000}, {40000, 95000}, {1000, 500000}, {499900, 500000},
	} {
		lo, hi, step := massRange([]Weighing{{Mass: c.from}, {Mass: c.to}})
		a, b := float64(c.from)/1000, float64(c.to)/1000
		n := (hi - lo) / step
		if lo < 0 || lo > a || hi < b || n < 4 || n > 8.5 || n != float64(int(n)) {
			t.Errorf("%v to %v g: axis from %v to %v by %v", c.from, c.to, lo, hi, step)
		}
	}
}

func TestChartGolden(t *testing.T) {
	d, err := TimeChart(quarter())
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "chart-time", d)
	if d, err = WeekBars(someWeeks()); err != nil {
		t.Fatal(err)
	}
	golden(t, "chart-weeks", d)
}
