package care

import (
	"strings"
	"testing"
	"unicode"
)

// Every decimal digit of Unicode counts up by one from its own zero. Source: The Unicode
// Standard, 4.6: decimal digits form contiguous ranges from zero to nine.
func TestEveryDigit(t *testing.T) {
	seen := 0
	for r := rune(0); r <= unicode.MaxRune; r++ {
		if !unicode.IsDigit(r) {
			continue
		}
		if d := Digit(r); d != seen%10 {
			t.Errorf("%U is %d, want %d", r, d, seen%10)
		}
		seen++
	}
	if seen%10 != 0 || seen < 600 {
		t.Errorf("%d digits were seen", seen)
	}
}

// What is typed can neither hide nor reach out of its place.
func TestCleanLeavesWhatCanBeSeen(t *testing.T) {
	tests := []struct{ says, in, want string }{
		{"a zero-width space", "Ro\u200bsa", "Rosa"},
		{"a soft hyphen", "Ro\u00adsa", "Rosa"},
		{"an override", "\u202easoR", "asoR"},
		{"an isolate that stays open", "\u2067Rosa", "Rosa"},
		{"tags", "Rosa\U000e0041\U000e007f", "Rosa"},
		{"a filler in the place of a name", "\u3164", ""},
		{"only joiners", "\u200d\u200c", ""},
		{"only marks", "\u0301\u0301", ""},
		{"the non-joiner that Persian writes with", "می\u200cخواهم", "می\u200cخواهم"},
		{"two marks on one letter", "Nguye\u0302\u0303n", "Nguye\u0302\u0303n"},
		{"marks that pile up", "a" + strings.Repeat("\u0301", 50) + "b", "a" + strings.Repeat("\u0301", 6) + "b"},
	}
	for _, c := range tests {
		if got := Clean(c.in, 100); got != c.want {
			t.Errorf("%s: %q became %q, want %q", c.says, c.in, got, c.want)
		}
	}
}
