package locale

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"

	"samelift/internal/care"
)

var (
	yearFirst  = regexp.MustCompile(`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$|^(\d{4})年(\d{1,2})月(\d{1,2})日$`)
	dayFirst   = regexp.MustCompile(`^(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})$`)
	dayWord    = regexp.MustCompile(`^(\d{1,2})\.?(?: de | )?([\pL\pM]+)\.?(?: de | del |,? ?)(\d{4})$`)
	monthFirst = regexp.MustCompile(`^([\pL\pM]+)\.? (\d{1,2}),? (\d{4})$`)
)

// ReadDate reads a day as people type it: with the year first, as 2026-11-02; with the
// day first in numbers, as 2.11.2026 or 02/11/2026, which is the order of all our
// languages; or with the name of the month in the printer's language, of which the
// beginning that Date shows is enough. The year has four digits. It reports false for
// everything else and for days that no calendar has; nothing is guessed.
func (p *Printer) ReadDate(s string) (care.Date, bool) {
	s = strings.ToLower(strings.Join(strings.Fields(digits(s)), " "))
	s = strings.Trim(s, ". ")
	if m := yearFirst.FindStringSubmatch(s); m != nil {
		return day(m[1]+m[4], m[2]+m[5], m[3]+m[6])
	}
	if m := dayFirst.FindStringSubmatch(strings.ReplaceAll(s, " ", "")); m != nil {
		return day(m[3], m[2], m[1])
	}
	if m := dayWord.FindStringSubmatch(s); m != nil {
		return day(m[3], p.month(m[2]), m[1])
	}
	if m := monthFirst.FindStringSubmatch(s); m != nil {
		return day(m[3], p.month(m[1]), m[2])
	}
	return care.Date{}, false
}

// hamza makes one letter of those that are often typed without their mark.
var hamza = strings.NewReplacer("أ", "ا", "إ", "ا", "آ", "ا")

// month gives the number of the month whose name begins as the language writes it
// shortly, or nothing where none or two do.
func (p *Printer) month(word string) string {
	found := ""
	for n := 1; n <= 12; n++ {
		name, err := p.Say(fmt.Sprintf("month.%d", n), nil)
		if err != nil {
			return ""
		}
		name = hamza.Replace(strings.Trim(strings.ToLower(name), "."))
		if word := hamza.Replace(word); strings.HasPrefix(word, name) || len([]rune(word)) >= 3 && strings.HasPrefix(name, word) {
			if found != "" {
				return ""
			}
			found = strconv.Itoa(n)
		}
	}
	return found
}

func day(year, month, day string) (care.Date, bool) {
	y, _ := strconv.Atoi(year)
	m, _ := strconv.Atoi(month)
	d, _ := strconv.Atoi(day)
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	is := care.DateOf(t)
	return is, is == care.Date{Year: y, Month: time.Month(m), Day: d} && y >= 2000 && y < 2100
}

// digits puts the digits of every script into those of labels, and drops
// marks that nobody sees.
func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Cf, r) {
			return -1 // a mark of direction, copied along
		}
		if unicode.IsDigit(r) {
			return rune('0' + care.Digit(r))
		}
		return r
	}, s)
}
