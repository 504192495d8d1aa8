package care

import (
	"testing"
	"unicode"
	"unicode/utf8"
)

// Whatever is typed, what is kept of it is one line, within its limit, without controls
// or marks of direction, and the same when cleaned again.
func FuzzClean(f *testing.F) {
	for _, s := range []string{"", "Rosa", "a\x00b\r\nc", "\u202eabc", "\u200d", "é\u0301\u0301", "\xff\xfe", "می\u200cخواهم", "🏳️‍🌈 ok", "\u3164"} {
		f.Add(s, 10)
	}
	f.Fuzz(func(t *testing.T, s string, limit int) {
		limit = min(max(limit, 0), 5000)
		got := Clean(s, limit)
		if !utf8.ValidString(got) || utf8.RuneCountInString(got) > limit {
			t.Errorf("%q became %q", s, got)
		}
		for _, r := range got {
			if unicode.IsControl(r) || r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 || r == 0x2028 || r == 0x2029 {
				t.Errorf("%q keeps %U", s, r)
			}
		}
		if again := Clean(got, limit); again != got {
			t.Errorf("%q became %q and then %q", s, got, again)
		}
	})
}
