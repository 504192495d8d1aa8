package care_test

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"samelift/internal/care"
)

func anyDate(t *rapid.T) care.Date {
	return care.Date{Year: 2000, Month: 1, Day: 1}.AddDays(rapid.IntRange(0, 20_000).Draw(t, "day"))
}

// Handbook 1.2: the last day of a month that has no such day, never a day in the next.
func TestAddMonths(t *testing.T) {
	for _, c := range []struct {
		from   string
		months int
		want   string
	}{
		{"2025-08-31", 6, "2026-02-28"}, {"2023-08-31", 6, "2024-02-29"}, {"2024-02-29", 12, "2025-02-28"}, {"2025-12-31", 6, "2026-06-30"},
		{"2026-03-31", -1, "2026-02-28"}, {"2026-01-15", -13, "2024-12-15"},
	} {
		if got := day(t, c.from).AddMonths(c.months).String(); got != c.want {
			t.Errorf("%s and %d months: got %s, want %s", c.from, c.months, got, c.want)
		}
	}
}

func TestDates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, n := anyDate(t), rapid.IntRange(-2000, 2000).Draw(t, "n")
		if got := d.DaysUntil(d.AddDays(n)); got != n {
			t.Fatalf("%s: %d days on it is %d days until then", d, n, got)
		}
		e := d.AddMonths(n % 400)
		if want := (int(d.Month) - 1 + n%400) % 12; (int(e.Month)-1-want)%12 != 0 || e.Day > d.Day {
			t.Fatalf("%s and %d months is %s", d, n%400, e)
		}
		back, err := care.ParseDate(d.String())
		if err != nil || back != d {
			t.Fatalf("%s reads back as %s, %v", d, back, err)
		}
		if d.Before(e) && e.Before(d) {
			t.Fatalf("%s and %s are both before the other", d, e)
		}
	})
}

func TestParseMass(t *testing.T) {
	for _, c := range []struct {
		wrote string
		want  care.Mass
	}{
		{"63.5", 63500}, {"63.50", 63500}, {"0.001", 1}, {"160", 160000}, {" 62 ", 62000},
	} {
		if got, err := care.ParseMass(c.wrote); err != nil || got != c.want {
			t.Errorf("%q: got %d, %v; want %d", c.wrote, got, err, c.want)
		}
	}
	for _, bad := range []string{"", ".", ".5", "-1", "+1", "1e3", "63,5", "63.5555", "0x10", "NaN", "6 3", "1_0", "63.-5", "63.+5"} {
		if got, err := care.ParseMass(bad); err == nil {
			t.Errorf("%q is taken for %d g", bad, got)
		}
	}
}

func TestMassReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := care.Mass(rapid.Int64Range(0, 1_000_000_000).Draw(t, "grams"))
		if back, err := care.ParseMass(m.Kilograms()); err != nil || back != m {
			t.Fatalf("%d g is written %q and read %d, %v", m, m.Kilograms(), back, err)
		}
	})
}

func TestCleanIsSafeAndDone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.SampledFrom([]rune("a \t\n\r\u0000\u0085\u2028\u202e\u2066\u200f\ufeffé\u0301ب\U0001f600")))).Draw(t, "text")
		if rapid.Bool().Draw(t, "broken") {
			s = s[:len(s)/2] + "\xff" + s[len(s)/2:]
		}
		limit := rapid.IntRange(0, 40).Draw(t, "limit")
		got := care.Clean(s, limit)
		if !utf8.ValidString(got) || utf8.RuneCountInString(got) > limit {
			t.Fatalf("%q became %q", s, got)
		}
		if got != strings.TrimSpace(got) || strings.Contains(got, "  ") {
			t.Fatalf("%q became %q, with spaces to spare", s, got)
		}
		for _, r := range got {
			if unicode.IsControl(r) || r != ' ' && unicode.IsSpace(r) || r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 {
				t.Fatalf("%q became %q, which holds %U", s, got, r)
			}
		}
		if again := care.Clean(got, limit); again != got {
			t.Fatalf("%q cleaned again became %q", got, again)
		}
	})
}
