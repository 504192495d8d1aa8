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
// or go, runs of white space become one space, and at most limit runes remain. What
// cannot be seen goes too, and marks piled upon each other: two names that look alike
// are alike, and no words reach into the lines around them. Words of which nothing can
// be seen are none.
func Clean(s string, limit int) string {
	var b strings.Builder
	n, gap, piled, seen := 0, false, 0, false
	for _, r := range s {
		switch {
		case r == utf8.RuneError, unicode.IsSpace(r), unicode.IsControl(r), r == 0x2028, r == 0x2029:
			gap = n > 0
			continue
		case invisible(r):
			continue
		}
		if unicode.In(r, unicode.Mn, unicode.Me) {
			if piled++; piled > maxPiled {
				continue
			}
		} else {
			piled = 0
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
		seen = seen || piled == 0 && r != zwj && r != zwnj
	}
	if !seen {
		return ""
	}
	return b.String()
}

// maxPiled is how many marks may stand on one letter. No language that we know of needs
// more (from memory, unverified).
const maxPiled = 6

// The joiner and the non-joiner are invisible and belong to the spelling of some scripts.
const zwnj, zwj = 0x200C, 0x200D

// invisible reports what takes no place and is not part of any word's spelling: direction
// marks, soft hyphens, zero-width spaces, tags, and letters that fill a gap.
func invisible(r rune) bool {
	switch {
	case r == zwnj, r == zwj:
		return false
	case r == 0x034F, r == 0x115F, r == 0x1160, r == 0x17B4, r == 0x17B5, r == 0x2800, r == 0x3164, r == 0xFFA0:
		return true
	case r >= 0x0600 && r <= 0x0605, r == 0x06DD, r == 0x070F, r == 0x0890, r == 0x0891, r == 0x08E2, r == 0x110BD, r == 0x110CD:
		return false // signs that are seen above or around digits
	}
	return unicode.Is(unicode.Cf, r)
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
