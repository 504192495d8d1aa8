package locale

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/care"
)

// A day as people type it, in the language they read; whatever could be meant in two
// ways, or is no day, is refused.
func TestReadDate(t *testing.T) {
	c := catalog(t)
	for _, row := range []struct{ lang, typed, want string }{
		{"en", "2026-11-02", "2026-11-02"}, {"en", "2.11.2026", "2026-11-02"}, {"en", " 02/11/2026 ", "2026-11-02"}, {"en", "2-11-2026", "2026-11-02"},
		{"en", "2 Nov 2026", "2026-11-02"}, {"en", "2 November 2026", "2026-11-02"}, {"en", "November 2, 2026", "2026-11-02"}, {"en", "2nov2026", "2026-11-02"},
		{"pl", "2 listopada 2026", "2026-11-02"}, {"pl", "2 lis 2026", "2026-11-02"}, {"pl", "2.11.2026", "2026-11-02"}, {"pl", "5 maja 2026", "2026-05-05"},
		{"es", "2 de noviembre de 2026", "2026-11-02"}, {"es", "2 de noviembre del 2026", "2026-11-02"}, {"es", "9 sep 2026", "2026-09-09"}, {"es", "9 sept. 2026", "2026-09-09"},
		{"ar", "2 نوفمبر 2026", "2026-11-02"}, {"ar", "٢ نوفمبر ٢٠٢٦", "2026-11-02"}, {"ar", "٢/١١/٢٠٢٦", "2026-11-02"}, {"ar", "2 ابريل 2026", "2026-04-02"},
		{"en", "2024-02-29", "2024-02-29"},
		{"en", "2026-02-29", ""}, {"en", "31.4.2026", ""}, {"en", "2.11.26", ""}, {"en", "11/28/2026", ""}, {"en", "2.11", ""}, {"en", "Nov 2026", ""},
		{"en", "tomorrow", ""}, {"en", "", ""}, {"en", "1.1.1926", ""}, {"en", "2 listopada 2026", ""}, {"es", "2 ma 2026", ""}, {"en", "2 Ju 2026", ""},
		{"en", "2026-11-02 or so", ""}, {"en", "0.11.2026", ""}, {"en", "2.13.2026", ""},
	} {
		got, ok := c.Printer(row.lang, time.UTC).ReadDate(row.typed)
		if ok != (row.want != "") || ok && got.String() != row.want {
			t.Errorf("%s: %q reads as %s, %t; want %q", row.lang, row.typed, got, ok, row.want)
		}
	}
}

// What the product writes it can read, in every language.
func TestReadDateReadsItsOwn(t *testing.T) {
	c := catalog(t)
	rapid.Check(t, func(t *rapid.T) {
		d := care.Date{Year: 2000, Month: 1, Day: 1}.AddDays(rapid.IntRange(0, 36_500).Draw(t, "day"))
		for _, l := range c.Languages() {
			p := c.Printer(l.Code, time.UTC)
			said, err := p.Date(d)
			if err != nil {
				t.Fatal(err)
			}
			for _, typed := range []string{said, d.String()} {
				if got, ok := p.ReadDate(typed); !ok || got != d {
					t.Fatalf("%s: %q reads as %s, %t", l.Code, typed, got, ok)
				}
			}
		}
	})
}
