package locale

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"

	"samelift/internal/care"
	"samelift/internal/chat"
)

func catalog(t testing.TB) *Catalog {
	t.Helper()
	c, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

var placeholder = regexp.MustCompile(`{{\.[A-Za-z]+}}`)

// forms gives the texts of a message by plural form.
func forms(m *i18n.Message) map[string]string {
	all := map[string]string{"zero": m.Zero, "one": m.One, "two": m.Two, "few": m.Few, "many": m.Many, "other": m.Other}
	maps.DeleteFunc(all, func(_, v string) bool { return v == "" })
	return all
}

// The plural forms that CLDR gives each language for whole numbers and, as other, for
// the rest (unicode-org/cldr, common/supplemental/plurals.xml; handbook 14.1).
var pluralForms = map[string][]string{
	"en": {"one", "other"},
	"es": {"many", "one", "other"},
	"pl": {"few", "many", "one", "other"},
	"ar": {"few", "many", "one", "other", "two", "zero"},
}

// Every language has every message, with the same placeholders in every form, and the
// plural forms that its grammar has.
func TestLanguagesAgree(t *testing.T) {
	c := catalog(t)
	want := c.messages[Default]
	for _, l := range c.languages {
		have := c.messages[l.Code]
		for id := range have {
			if want[id] == nil {
				t.Errorf("%s: %s is not in %s", l.Code, id, Default)
			}
		}
		for id, w := range want {
			m := have[id]
			if m == nil {
				t.Errorf("%s: %s is missing", l.Code, id)
				continue
			}
			wanted := placeholders(w.Other)
			plural := len(forms(w)) > 1
			if plural {
				if got := slices.Sorted(maps.Keys(forms(m))); !slices.Equal(got, pluralForms[l.Code]) {
					t.Errorf("%s: %s has the plural forms %v, the language has %v", l.Code, id, got, pluralForms[l.Code])
				}
			} else if len(forms(m)) != 1 {
				t.Errorf("%s: %s has plural forms, and in %s it has none", l.Code, id, Default)
			}
			for form, text := range forms(m) {
				if got := placeholders(text); !slices.Equal(got, wanted) {
					t.Errorf("%s: %s (%s) has %v, and in %s it has %v", l.Code, id, form, got, Default, wanted)
				}
				if strings.TrimSpace(text) != text || text == "" {
					t.Errorf("%s: %s (%s) begins or ends with white space, or is empty", l.Code, id, form)
				}
				if strings.ContainsAny(text, "\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069") {
					t.Errorf("%s: %s (%s) holds a mark of direction; the program sets them", l.Code, id, form)
				}
			}
		}
		if l.Autonym == "" {
			t.Errorf("%s has no autonym", l.Code)
		}
	}
}

func placeholders(s string) []string {
	all := placeholder.FindAllString(s, -1)
	slices.Sort(all)
	return slices.Compact(all)
}

// go-i18n chooses the plural form that CLDR gives, by the handbook's table 14.1.
func TestPluralsFollowCLDR(t *testing.T) {
	rows := map[string]map[int]plural.Form{
		"en": {0: plural.Other, 1: plural.One, 2: plural.Other, 5: plural.Other, 21: plural.Other, 101: plural.Other},
		"pl": {0: plural.Many, 1: plural.One, 2: plural.Few, 3: plural.Few, 4: plural.Few, 5: plural.Many, 11: plural.Many, 12: plural.Many, 21: plural.Many, 22: plural.Few, 25: plural.Many, 101: plural.Many, 111: plural.Many},
		"ar": {0: plural.Zero, 1: plural.One, 2: plural.Two, 3: plural.Few, 6: plural.Few, 11: plural.Many, 12: plural.Many, 21: plural.Many, 100: plural.Other, 101: plural.Other, 111: plural.Many},
		"es": {0: plural.Other, 1: plural.One, 2: plural.Other, 1000000: plural.Many},
	}
	names := map[plural.Form]string{plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many", plural.Other: "other"}
	for code, row := range rows {
		b := i18n.NewBundle(language.MustParse(code))
		if err := b.AddMessages(language.MustParse(code), &i18n.Message{ID: "n", Zero: "zero", One: "one", Two: "two", Few: "few", Many: "many", Other: "other"}); err != nil {
			t.Fatal(err)
		}
		l := i18n.NewLocalizer(b, code)
		for n, form := range row {
			got, err := l.Localize(&i18n.LocalizeConfig{MessageID: "n", PluralCount: n})
			if err != nil || got != names[form] {
				t.Errorf("%s %d: %q, %v; CLDR says %s", code, n, got, err, names[form])
			}
		}
	}
}

// A label on a button is short enough to be read whole on a phone.
func TestButtonsAreShort(t *testing.T) {
	c := catalog(t)
	prefixes := []string{"home.", "topic.", "card.button.", "note.borne.", "note.skin.", "note.mood.", "note.difference.", "note.outcome.", "incident.kind.", "incident.harm.", "part.", "place.", "side.person.", "fault.", "equipment.button.", "equipment.event.yes"}
	ids := []string{"form.save", "form.change", "form.more", "form.cancel", "form.skip", "form.back", "draft.resume", "draft.discard", "record.correct",
		"emergency.tell", "emergency.report", "person.invite", "person.remove", "person.keep", "join.agree", "change.confirm", "changes.back",
		"note.transfer.other", "note.pain.not_asked", "incident.no_client", "incident.where.other", "incident.equipment.none", "client.neither", "page.more", "page.back"}
	for _, l := range c.languages {
		for id, m := range c.messages[l.Code] {
			is := slices.Contains(ids, id)
			for _, p := range prefixes {
				is = is || strings.HasPrefix(id, p) && id != "home.title"
			}
			if n := len([]rune(m.Other)); is && n > chat.MaxLabel {
				t.Errorf("%s: the button %s has %d letters: %q", l.Code, id, n, m.Other)
			}
		}
	}
}

// A message that is not there, or an argument that is missing, is an error and never
// half a sentence.
func TestMissingWordsAreErrors(t *testing.T) {
	p := catalog(t).Printer("pl", time.UTC)
	if s, err := p.Say("no.such.message", nil); err == nil {
		t.Errorf("no error for a message that is not there: %q", s)
	}
	if s, err := p.Say("client.named", map[string]any{"Client": "A"}); err == nil {
		t.Errorf("no error for a missing argument: %q", s)
	}
	if s, err := p.Say("client.named", map[string]any{"Client": "A", "Room": []int{1}}); err == nil {
		t.Errorf("no error for an argument without words: %q", s)
	}
	if s, err := p.Say("legs", map[string]any{"Legs": Term("legs.nothing")}); err == nil {
		t.Errorf("no error for a term that is not there: %q", s)
	}
}

// Values look as a reader of the language writes them, with the digits of labels.
func TestValues(t *testing.T) {
	c := catalog(t)
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 7, 3, 6, 5, 0, 0, time.UTC)
	for _, row := range []struct{ lang, mass, when string }{
		{"en", "63.5 kg", "3 Jul 2026, 07:05"},
		{"pl", "63,5 kg", ""},
		{"es", "63,5 kg", ""},
	} {
		p := c.Printer(row.lang, london)
		if got, err := p.Mass(63500); err != nil || got != row.mass {
			t.Errorf("%s: mass %q, %v; want %q", row.lang, got, err, row.mass)
		}
		got, err := p.Time(at)
		if err != nil || row.when != "" && got != row.when {
			t.Errorf("%s: time %q, %v; want %q", row.lang, got, err, row.when)
		}
		if !strings.Contains(got, "07:05") || !strings.Contains(got, "2026") {
			t.Errorf("%s: time %q lacks the clock or the year", row.lang, got)
		}
	}
	p := c.Printer("ar", london)
	s, err := p.Say("client.named", map[string]any{"Client": "Tilda", "Room": "3"})
	if err != nil || !strings.Contains(s, "\u2068Tilda\u2069") || !strings.Contains(s, "\u20683\u2069") {
		t.Errorf("ar: values are not kept apart: %q, %v", s, err)
	}
	if d, err := p.Date(care.Date{}); err != nil || d == "" {
		t.Errorf("an unknown date must have words: %q, %v", d, err)
	}
}

// Languages that people write in have their own direction, whether the product speaks
// them or not.
func TestRTL(t *testing.T) {
	for code, want := range map[string]bool{"ar": true, "fa": true, "ur": true, "he": true, "en": false, "pl": false, "hi": false, "": false, "???": false} {
		if RTL(code) != want {
			t.Errorf("RTL(%q) = %v", code, !want)
		}
	}
}
