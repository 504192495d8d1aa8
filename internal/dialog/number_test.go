package dialog

import (
	"strings"
	"testing"
)

// Pain is typed as a number in whatever digits the keyboard has; what is no number is
// asked again, never guessed.
func TestNumber(t *testing.T) {
	for _, c := range []struct {
		says, typed string
		want        int
		ok          bool
	}{
		{"plain", "7", 7, true},
		{"ten", "10", 10, true},
		{"spaces around", "  4\t", 4, true},
		{"leading zeros", "007", 7, true},
		{"Arabic-Indic", "٧", 7, true},
		{"Arabic-Indic ten", "١٠", 10, true},
		{"Persian", "۴", 4, true},
		{"Devanagari", "९", 9, true},
		{"Bengali", "৫", 5, true},
		{"Thai", "๑๐", 10, true},
		{"full width", "８", 8, true},
		{"double-struck, from a keyboard with styles", "𝟘", 0, true},
		{"monospace", "𝟿", 9, true},
		{"two scripts", "1٠", 10, true},
		{"nothing", "", 0, false},
		{"spaces only", "  ", 0, false},
		{"negative", "-3", 0, false},
		{"a sign", "+3", 0, false},
		{"a fraction", "3.5", 0, false},
		{"a range", "3-4", 0, false},
		{"two numbers", "3 4", 0, false},
		{"with a word", "about 5", 0, false},
		{"a word", "seven", 0, false},
		{"a fraction sign", "½", 0, false},
		{"a raised digit", "³", 0, false},
		{"a Chinese numeral", "七", 0, false},
		{"a Roman numeral", "Ⅶ", 0, false},
		{"too large", strings.Repeat("9", 4000), 0, false},
	} {
		if n, ok := number(c.typed); ok != c.ok || ok && n != c.want {
			t.Errorf("%s: %q is %d, %t; want %d, %t", c.says, c.typed, n, ok, c.want, c.ok)
		}
	}
}
