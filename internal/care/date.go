package care

import (
	"fmt"
	"time"
)

// Date is a calendar day without a time or a zone, such as the printed due date
// of an examination. The zero Date means "unknown".
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// DateOf returns the day on which t falls in t's own location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

// ParseDate reads the ISO 8601 form YYYY-MM-DD.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, fmt.Errorf("%q is no date: write it as YYYY-MM-DD", s)
	}
	return DateOf(t), nil
}

// IsZero reports whether the date is unknown.
func (d Date) IsZero() bool { return d == Date{} }

// String gives YYYY-MM-DD, or an empty string for an unknown date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, int(d.Month), d.Day)
}

// Before reports whether d is an earlier day than e.
func (d Date) Before(e Date) bool { return d.utc().Before(e.utc()) }

// DaysUntil counts the days from d to e; it is negative when e is earlier.
func (d Date) DaysUntil(e Date) int { return int(e.utc().Sub(d.utc()).Hours() / 24) }

// AddMonths moves by calendar months. Where the month reached has no such day,
// the last day of that month is taken: 31 August and six months is 28 or 29
// February, never a day in March.
func (d Date) AddMonths(n int) Date {
	first := time.Date(d.Year, d.Month+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return Date{first.Year(), first.Month(), min(d.Day, last)}
}

// AddDays moves by days.
func (d Date) AddDays(n int) Date { return DateOf(d.utc().AddDate(0, 0, n)) }

// MarshalText makes a Date a plain string in JSON and YAML.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Date{}
		return nil
	}
	v, err := ParseDate(string(b))
	*d = v
	return err
}

func (d Date) utc() time.Time { return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC) }
