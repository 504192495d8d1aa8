package care

import (
	"fmt"
	"time"
)

// Shift is a named stretch of the working day in the site's own wall-clock time.
// An end at or before the start lies on the next day.
type Shift struct {
	// Name is the site's own word, shown as it stands. Where it is early, late or
	// night, each reader gets it in their language.
	Name       string
	Start, End Clock
}

// Clock is a wall-clock time of day in minutes after midnight.
type Clock int

// ParseClock reads HH:MM on the 24-hour clock.
func ParseClock(s string) (Clock, error) {
	t, err := time.Parse("15:04", s)
	if err != nil {
		return 0, fmt.Errorf("%q is no time of day: write it as 07:30", s)
	}
	return Clock(t.Hour()*60 + t.Minute()), nil
}

// String gives HH:MM.
func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", int(c)/60, int(c)%60) }

// On gives the instant at which the clock on the wall shows c on that day. A time
// that a clock change skips is moved past the gap, by as much as the clock is put
// forward; of a time that occurs twice the first is taken.
func (c Clock) On(d Date, zone *time.Location) time.Time {
	t, _ := c.Wall(d, zone)
	return t
}

// Wall is On, and reports whether the clock on the wall shows c on that day at all.
func (c Clock) Wall(d Date, zone *time.Location) (t time.Time, exists bool) {
	// Package time promises one of the two readings of a skipped or repeated time, not
	// which. So both are worked out, from the offsets a day before and a day after.
	wall := time.Date(d.Year, d.Month, d.Day, int(c)/60, int(c)%60, 0, 0, time.UTC)
	offset := func(t time.Time) time.Duration {
		_, s := t.In(zone).Zone()
		return time.Duration(s) * time.Second
	}
	before, after := offset(wall.Add(-24*time.Hour)), offset(wall.Add(24*time.Hour))
	// The larger offset gives the earlier instant.
	for _, o := range []time.Duration{max(before, after), min(before, after)} {
		if t := wall.Add(-o); offset(t) == o {
			return t.In(zone), true
		}
	}
	return wall.Add(-before).In(zone), false
}

// Span gives the start and end of the shift that starts on that day.
func (s Shift) Span(d Date, zone *time.Location) (start, end time.Time) {
	start = s.Start.On(d, zone)
	if s.End <= s.Start {
		d = d.AddDays(1)
	}
	return start, s.End.On(d, zone)
}

// NextStart gives the first start of the shift after t.
func (s Shift) NextStart(t time.Time, zone *time.Location) time.Time {
	d := DateOf(t.In(zone)).AddDays(-1)
	for {
		if start := s.Start.On(d, zone); start.After(t) {
			return start
		}
		d = d.AddDays(1)
	}
}
