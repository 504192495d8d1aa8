package ask

import (
	"slices"
	"testing"
	"unicode/utf8"
)

// Whatever is typed, reading it neither fails nor names anybody beside the people there
// are, and a name that is nobody's comes with no client for sure.
func FuzzReading(f *testing.F) {
	for _, s := range []string{"", "Rosa loops bed to chair", "which sling for Mrs Lindqvist, room 12?", "not Rosa, Oskar", "روزا على الأرض", "Розу з ліжка",
		"羅莎", "room ١٢", "ROSA!!!", "castellan", "\xff\x00\u202e", "for for for Mr Mr Nobody", "٣", "🏳️‍🌈"} {
		f.Add(s, "en")
	}
	r := NewReader(testLexicon,
		[]Name{{Ref: "rosa", Name: "Rosa Lindqvist", Also: []string{"Rosie"}, Room: "12"}, {Ref: "oskar", Name: "Oskar Lindqvist", Room: "14"}, {Ref: "hoa", Name: "Nguyễn Thị Hoa"}},
		[]Name{{Ref: "magda", Name: "Magdalena Wójcik"}})
	known := []string{"rosa", "oskar", "hoa"}
	f.Fuzz(func(t *testing.T, text, lang string) {
		got := r.Read(text, lang)
		if got.Client != "" && (!slices.Contains(known, got.Client) || len(got.Candidates) > 0) {
			t.Errorf("%q is about %q and perhaps %q", text, got.Client, got.Candidates)
		}
		for _, c := range got.Candidates {
			if !slices.Contains(known, c) {
				t.Errorf("%q may be about %q", text, c)
			}
		}
		if got.Strange && (got.Client != "" || len(got.Candidates) > 0) {
			t.Errorf("%q names %q and somebody strange", text, got.Client)
		}
		if len(got.Topics) == 0 || len(got.Topics) > 2 {
			t.Errorf("%q has the topics %q", text, got.Topics)
		}
		if utf8.ValidString(text) && !utf8.ValidString(got.UnknownName) {
			t.Errorf("%q: the name %q is cut within a letter", text, got.UnknownName)
		}
	})
}
