package care

import (
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
