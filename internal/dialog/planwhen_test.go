package dialog

import (
	"testing"
	"time"

	"samelift/internal/care"
)

// A time that the wall shows twice is found in every zone that puts its clocks back, by
// half an hour too, and none is found on a day without a change.
func TestSecondReading(t *testing.T) {
	for _, row := range []struct {
		zone, day, clock string
		apart            time.Duration
	}{
		{"Europe/London", "2026-10-25", "01:30", time.Hour},
		{"Europe/London", "2026-10-25", "01:00", time.Hour},
		{"Europe/London", "2026-10-25", "00:59", 0},
		{"Europe/London", "2026-10-25", "02:00", 0},
		{"Europe/London", "2026-03-29", "02:30", 0},
		{"Europe/Warsaw", "2026-10-25", "02:15", time.Hour},
		{"Australia/Lord_Howe", "2026-04-05", "01:45", 30 * time.Minute},
		{"Asia/Kathmandu", "2026-10-25", "01:30", 0},
	} {
		zone, err := time.LoadLocation(row.zone)
		if err != nil {
			t.Fatal(err)
		}
		day, clock, ok := parseWall(row.day + " " + row.clock)
		if !ok {
			t.Fatal(row)
		}
		first, _ := clock.Wall(day, zone)
		second, twice := secondReading(first, day, clock, zone)
		if twice != (row.apart > 0) || twice && second.Sub(first) != row.apart {
			t.Errorf("%s %s %s: %v and %v", row.zone, row.day, row.clock, first, second)
		}
	}
}

func TestParseWall(t *testing.T) {
	for _, row := range []struct {
		typed string
		day   string
		clock care.Clock
		ok    bool
	}{
		{"2026-11-02 07:00", "2026-11-02", 420, true},
		{" 2026-11-02T07:05 ", "2026-11-02", 425, true},
		{"٢٠٢٦-١١-٠٢ ٠٧:٠٠", "2026-11-02", 420, true},
		{"2026-11-02", "", 0, false},
		{"07:00", "", 0, false},
		{"2026-02-30 07:00", "", 0, false},
		{"2026-11-02 25:00", "", 0, false},
		{"2/11/2026 07:00", "", 0, false},
		{"", "", 0, false},
	} {
		d, c, ok := parseWall(row.typed)
		if ok != row.ok || ok && (d.String() != row.day || c != row.clock) {
			t.Errorf("%q: %v %v %v", row.typed, d, c, ok)
		}
	}
}
