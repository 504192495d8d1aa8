package care_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/care"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func clock(t testing.TB, s string) care.Clock {
	t.Helper()
	c, err := care.ParseClock(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func day(t testing.TB, s string) care.Date {
	t.Helper()
	d, err := care.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Source: IANA tz database. Handbook 13: 01:30 does not exist in London on 29 March
// 2026 and comes twice on 25 October 2026.
func TestClockOn(t *testing.T) {
	for _, c := range []struct {
		says, zone, day, clock, want string
		exists                       bool
	}{
		{"an ordinary winter morning", "Europe/London", "2026-01-05", "07:00", "2026-01-05T07:00:00Z", true},
		{"an ordinary summer morning", "Europe/London", "2026-07-05", "07:00", "2026-07-05T06:00:00Z", true},
		{"skipped, so moved past the gap to 02:30", "Europe/London", "2026-03-29", "01:30", "2026-03-29T01:30:00Z", false},
		{"the first minute that is skipped", "Europe/London", "2026-03-29", "01:00", "2026-03-29T01:00:00Z", false},
		{"the minute before the gap", "Europe/London", "2026-03-29", "00:59", "2026-03-29T00:59:00Z", true},
		{"the first minute after the gap", "Europe/London", "2026-03-29", "02:00", "2026-03-29T01:00:00Z", true},
		{"twice, so the first", "Europe/London", "2026-10-25", "01:30", "2026-10-25T00:30:00Z", true},
		{"the minute before the repeat", "Europe/London", "2026-10-25", "00:59", "2026-10-24T23:59:00Z", true},
		{"the first minute after the repeat", "Europe/London", "2026-10-25", "02:00", "2026-10-25T02:00:00Z", true},
		{"half an hour that comes twice", "Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45:00Z", true},
		{"half an hour that is skipped", "Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:45:00Z", false},
		{"skipped west of Greenwich", "America/New_York", "2026-03-08", "02:30", "2026-03-08T07:30:00Z", false},
		{"midnight itself is skipped", "America/Asuncion", "2023-10-01", "00:00", "2023-10-01T04:00:00Z", false},
	} {
		got, exists := clock(t, c.clock).Wall(day(t, c.day), zone(t, c.zone))
		if s := got.UTC().Format(time.RFC3339); s != c.want || exists != c.exists {
			t.Errorf("%s (%s %s %s): got %s, on the wall %v; want %s, %v", c.says, c.zone, c.day, c.clock, s, exists, c.want, c.exists)
		}
		if on := clock(t, c.clock).On(day(t, c.day), zone(t, c.zone)); !on.Equal(got) {
			t.Errorf("%s: On gives %s and Wall %s", c.says, on, got)
		}
	}
}

// Handbook 13, calculated for Europe/London.
func TestNightShiftAcrossClockChanges(t *testing.T) {
	night := care.Shift{Name: "night", Start: clock(t, "21:30"), End: clock(t, "07:30")}
	for _, c := range []struct {
		says, starts string
		want         time.Duration
	}{
		{"the clock goes forward", "2026-03-28", 9 * time.Hour},
		{"the clock goes back", "2026-10-24", 11 * time.Hour},
		{"an ordinary night", "2026-06-01", 10 * time.Hour},
	} {
		start, end := night.Span(day(t, c.starts), zone(t, "Europe/London"))
		if got := end.Sub(start); got != c.want {
			t.Errorf("%s: the night lasts %s, want %s", c.says, got, c.want)
		}
	}
}

func TestAShiftThatEndsAsItStartsLastsADay(t *testing.T) {
	s := care.Shift{Start: clock(t, "08:00"), End: clock(t, "08:00")}
	if start, end := s.Span(day(t, "2026-06-01"), zone(t, "Europe/London")); end.Sub(start) != 24*time.Hour {
		t.Errorf("from %s to %s", start, end)
	}
}

var zones = []string{"Europe/London", "Europe/Warsaw", "Australia/Lord_Howe", "America/New_York", "Asia/Kathmandu", "Africa/Casablanca", "Pacific/Auckland"}

// The wall shows what was asked, and did not show it in the two hours before.
func TestClockOnIsTheFirstTimeTheWallShowsIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zoneOf(t)
		d := care.Date{Year: 2024, Month: 1, Day: 1}.AddDays(rapid.IntRange(0, 2000).Draw(t, "day"))
		c := care.Clock(rapid.IntRange(0, 1439).Draw(t, "clock"))
		shows := func(at time.Time) bool {
			l := at.In(loc)
			return care.DateOf(l) == d && l.Hour()*60+l.Minute() == int(c)
		}
		got, exists := c.Wall(d, loc)
		if shows(got) != exists {
			t.Fatalf("%s %s: %s shows it %v, but Wall says %v", d, c, got, shows(got), exists)
		}
		for m := 1; m <= 120; m++ {
			if shows(got.Add(-time.Duration(m) * time.Minute)) {
				t.Fatalf("%s %s: the wall showed it %d minutes before %s", d, c, m, got)
			}
			if !exists && shows(got.Add(time.Duration(m)*time.Minute)) {
				t.Fatalf("%s %s: the wall shows it after all", d, c)
			}
		}
	})
}

func zoneOf(t *rapid.T) *time.Location {
	loc, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func TestNextStartIsTheNearestAfter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zoneOf(t)
		s := care.Shift{Start: care.Clock(rapid.IntRange(0, 1439).Draw(t, "start")), End: care.Clock(rapid.IntRange(0, 1439).Draw(t, "end"))}
		now := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(rapid.IntRange(0, 365*24*60).Draw(t, "minute")) * time.Minute)
		next := s.NextStart(now, loc)
		if !next.After(now) || next.Sub(now) > 25*time.Hour {
			t.Fatalf("after %s comes %s", now, next)
		}
		if again := s.NextStart(next.Add(-time.Nanosecond), loc); !again.Equal(next) {
			t.Fatalf("just before %s the next start is %s", next, again)
		}
		start, end := s.Span(care.DateOf(next.In(loc)), loc)
		if !start.Equal(next) && start.Sub(next).Abs() > 25*time.Hour || !end.After(start.Add(-3*time.Hour)) {
			t.Fatalf("span %s to %s", start, end)
		}
	})
}
