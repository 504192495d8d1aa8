package care

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Text is somebody's own words and the language they are in (an ISO 639 code, or
// empty when nobody said). It is shown as it was written, never translated.
type Text struct {
	Lang  string `json:"lang,omitempty"`
	Words string `json:"words,omitempty"`
}

// IsZero reports whether nothing was written.
func (t Text) IsZero() bool { return t.Words == "" }

// Clean makes typed or imported words safe to keep and to show: controls, line
// breaks, bidirectional overrides and isolates, and broken UTF-8 become a space
// or go, runs of white space become one space, and at most limit runes remain.
func Clean(s string, limit int) string {
	var b strings.Builder
	n, gap := 0, false
	for _, r := range s {
		switch {
		case r == utf8.RuneError, unicode.IsSpace(r), unicode.IsControl(r), r == 0x2028, r == 0x2029:
			gap = n > 0
			continue
		case r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0xFEFF, r == 0x200E, r == 0x200F, r == 0x061C:
			continue
		}
		if gap {
			if n+2 > limit {
				break
			}
			b.WriteByte(' ')
			n++
			gap = false
		}
		if n >= limit {
			break
		}
		b.WriteRune(r)
		n++
	}
	return b.String()
}

// Digit gives the value of a decimal digit. Unicode's runs of digits begin with a zero;
// where several sets of ten follow each other, as the mathematical ones do, the run
// holds them all.
func Digit(r rune) int {
	for _, run := range unicode.Nd.R16 {
		if rune(run.Lo) <= r && r <= rune(run.Hi) {
			return int(r-rune(run.Lo)) % 10
		}
	}
	for _, run := range unicode.Nd.R32 {
		if rune(run.Lo) <= r && r <= rune(run.Hi) {
			return int(r-rune(run.Lo)) % 10
		}
	}
	return 0
}
