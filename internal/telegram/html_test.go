package telegram

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"samelift/internal/chat"
)

func TestRender(t *testing.T) {
	const rlm, fsi, pdi = "\u200f", "\u2068", "\u2069"
	tests := []struct {
		name string
		out  chat.Outbound
		want string
	}{
		{"styles", chat.Outbound{Body: []chat.Paragraph{
			{Style: chat.Strong, Text: "A"}, {Style: chat.Alert, Text: "B"}, {Text: "C"}, {Style: chat.Quote, Text: "D"}, {Style: chat.Small, Text: "E"}}},
			"<b>A\nB</b>\nC\n<blockquote>D</blockquote>\n<i>E</i>"},
		{"a quote of two paragraphs is one quote", chat.Outbound{Body: []chat.Paragraph{{Style: chat.Quote, Text: "A"}, {Style: chat.Quote, Text: "B"}}},
			"<blockquote>A\nB</blockquote>"},
		{"blank paragraphs have no tags", chat.Outbound{Body: []chat.Paragraph{{Style: chat.Strong, Text: "A"}, {Style: chat.Strong}, {Style: chat.Strong, Text: "B"}}},
			"<b>A</b>\n\n<b>B</b>"},
		{"an unknown style is plain", chat.Outbound{Body: []chat.Paragraph{{Style: "shout", Text: "A"}}}, "A"},
		{"typed markup means itself", chat.Outbound{Body: []chat.Paragraph{{Style: chat.Quote, Text: `</blockquote><a href="x">&amp;'`}}},
			`<blockquote>&lt;/blockquote&gt;&lt;a href="x"&gt;&amp;amp;'</blockquote>`},
		{"controls", chat.Outbound{Body: []chat.Paragraph{{Text: "a\tb\rc\x00d\u202ee\u2028f\ng\xff"}}}, "a bc def\ng\ufffd"},
		{"right to left by itself", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: "שני אנשים"}}}, "שני אנשים"},
		{"starts with a name", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: "Oskar כתב"}}}, rlm + "Oskar כתב"},
		{"starts with a number", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: "2 אנשים"}}}, "2 אנשים"},
		{"a number alone", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: "120"}}}, rlm + "120"},
		{"an isolated name does not count", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: fsi + "Oskar" + pdi + " כתב"}}}, fsi + "Oskar" + pdi + " כתב"},
		{"nor does what is isolated alone", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: fsi + "שלום" + pdi}}}, rlm + fsi + "שלום" + pdi},
		{"each line", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: "א\nB\n"}}}, "א\n" + rlm + "B\n"},
		{"somebody's own words in another language", chat.Outbound{RTL: true, Body: []chat.Paragraph{{Text: "Slowly", Lang: "en", Style: chat.Quote}}}, "<blockquote>Slowly</blockquote>"},
		{"the other way round", chat.Outbound{Body: []chat.Paragraph{{Text: "H-2 מנוף", Lang: "he", RTL: true}}}, rlm + "H-2 מנוף"},
		{"nothing", chat.Outbound{}, ""},
	}
	for _, tt := range tests {
		if got := render(tt.out).html; got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}

// Without markup somebody's own words still stand in marks, so that a note that reads
// like a stop of the bot's is known for a note.
func TestBareWordsAreMarked(t *testing.T) {
	r := render(chat.Outbound{Body: []chat.Paragraph{{Text: "Grace Mensah"}, {Style: chat.Quote, Text: "STOP. Do not lift."}}})
	if want := "Grace Mensah\n“STOP. Do not lift.”"; r.bare != want {
		t.Errorf("got %q, want %q", r.bare, want)
	}
}

// TestRenderAnything: whatever is typed, the platform can read the markup, reads the
// same words out of it, and finds them within its limits.
func TestRenderAnything(t *testing.T) {
	styles := []chat.Style{chat.Plain, chat.Strong, chat.Alert, chat.Quote, chat.Small}
	rapid.Check(t, func(t *rapid.T) {
		var body []chat.Paragraph
		for range rapid.IntRange(0, 30).Draw(t, "paragraphs") {
			body = append(body, chat.Paragraph{
				Style: rapid.SampledFrom(styles).Draw(t, "style"),
				Text:  rapid.OneOf(rapid.String(), rapid.StringMatching(`[<>&"'a-zא-ת;/ \n]{0,40}`)).Draw(t, "text"),
				RTL:   rapid.Bool().Draw(t, "rtl"),
			})
		}
		for _, part := range chat.Split(body, chat.MaxBody) {
			r := render(chat.Outbound{Body: part})
			plain, tags, err := parseHTML(r.html)
			if err != nil {
				t.Fatalf("%q: %v", r.html, err)
			}
			if plain != r.plain {
				t.Fatalf("read as %q, written as %q", plain, r.plain)
			}
			if n := utf8.RuneCountInString(plain); n > maxRunes || len(tags) > 100 {
				t.Fatalf("%d characters, %d pairs of tags", n, len(tags))
			}
			var want []string
			for _, p := range part {
				want = append(want, clean(p.Text))
			}
			unmarked := strings.ReplaceAll(plain, string(rlm), "")
			if unmarked != strings.ReplaceAll(strings.Join(want, "\n"), string(rlm), "") {
				t.Fatalf("%q became %q", want, plain)
			}
		}
	})
}

// A body of nothing but short right-to-left lines is sent without marks rather than
// not at all.
func TestMarksNeverBreakTheLimit(t *testing.T) {
	body := make([]chat.Paragraph, chat.MaxBody/2)
	for i := range body {
		body[i].Text = "1"
	}
	r := render(chat.Outbound{RTL: true, Body: body})
	if n := utf8.RuneCountInString(r.plain); n > maxRunes {
		t.Errorf("%d characters", n)
	}
}

// More markup than the platform takes is left out.
func TestTooMuchMarkup(t *testing.T) {
	body := make([]chat.Paragraph, chat.MaxBody/2)
	for i := range body {
		body[i].Text = "1"
		body[i].Style = []chat.Style{chat.Quote, chat.Strong}[i%2]
	}
	m := letter{text: render(chat.Outbound{Body: body})}
	p := m.params()
	m.setText(p, "text", false)
	if p["parse_mode"] != "" || p["text"] != m.text.plain {
		t.Errorf("sent %d bytes with mode %q", len(p["text"]), p["parse_mode"])
	}
}
