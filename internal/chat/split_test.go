package chat

import (
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestSplit(t *testing.T) {
	p := func(texts ...string) []Paragraph {
		var out []Paragraph
		for _, s := range texts {
			out = append(out, Paragraph{Text: s})
		}
		return out
	}
	tests := []struct {
		name  string
		body  []Paragraph
		limit int
		want  []string // each part, its paragraphs joined by /
	}{
		{"nothing", nil, 10, nil},
		{"fits to the last unit", p("12345", "7890"), 10, []string{"12345/7890"}},
		{"one unit too many", p("12345", "78901"), 10, []string{"12345", "78901"}},
		{"parted after a sentence", p("One two. Three four"), 12, []string{"One two. ", "Three four"}},
		{"never within a number", p("Load 72.5 kg with"), 14, []string{"Load 72.5 kg ", "with"}},
		{"a sentence without a space after it", p("两人。慢慢来"), 4, []string{"两人。", "慢慢来"}},
		{"parted after a word", p("One two three"), 10, []string{"One two ", "three"}},
		{"parted within a long word", p("abcdefgh"), 5, []string{"abcde", "fgh"}},
		{"never within a character", p("👐👐👐"), 5, []string{"👐👐", "👐"}},
		{"odd bytes", p("a\xff\xff\xff"), 3, []string{"a\xff\xff", "\xff"}},
		{"a blank paragraph stays", p("a", "", "b"), 10, []string{"a//b"}},
	}
	for _, tt := range tests {
		var got []string
		for _, part := range Split(tt.body, tt.limit) {
			var texts []string
			for _, q := range part {
				texts = append(texts, q.Text)
			}
			got = append(got, strings.Join(texts, "/"))
		}
		if strings.Join(got, "|") != strings.Join(tt.want, "|") {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}

// TestSplitAnything: no part is too long, nothing is lost or moved, and every piece
// keeps the style of its paragraph.
func TestSplitAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.IntRange(2, 60).Draw(t, "limit")
		var body []Paragraph
		var want strings.Builder
		for range rapid.IntRange(0, 8).Draw(t, "paragraphs") {
			q := Paragraph{
				Style: rapid.SampledFrom([]Style{Plain, Strong, Quote}).Draw(t, "style"),
				Text:  rapid.OneOf(rapid.StringMatching(`[a-z. ]{0,90}`), rapid.StringN(0, 60, -1)).Draw(t, "text"),
			}
			body = append(body, q)
			for _, r := range q.Text {
				want.WriteString(string(q.Style) + string(r))
			}
		}
		var got strings.Builder
		for _, part := range Split(body, limit) {
			n := -1
			for _, q := range part {
				if n += 1 + len(utf16.Encode([]rune(q.Text))); !utf8.ValidString(q.Text) {
					t.Fatalf("%q is cut within a character", q.Text)
				}
				for _, r := range q.Text {
					got.WriteString(string(q.Style) + string(r))
				}
			}
			if n > limit {
				t.Fatalf("a part of %d units, limit %d", n, limit)
			}
		}
		if got.String() != want.String() {
			t.Fatalf("got %q, want %q", got.String(), want.String())
		}
	})
}

// What is kept with the line before stays with it: a note never parts from the name of
// whom it is about, unless both are too long for one message.
func TestSplitKeepsTogether(t *testing.T) {
	body := []Paragraph{{Text: strings.Repeat("a", 60)}, {Text: "Tilda, room 3"}, {Text: strings.Repeat("b", 40), Keep: true}, {Text: "c"}}
	got := Split(body, 80)
	if len(got) != 2 || got[1][0].Text != "Tilda, room 3" || len(got[1]) != 3 {
		t.Errorf("parted as %+v", got)
	}
	body[2].Text = strings.Repeat("b", 200)
	var all strings.Builder
	for _, part := range Split(body, 80) {
		for _, p := range part {
			all.WriteString(p.Text)
		}
	}
	if want := strings.Repeat("a", 60) + "Tilda, room 3" + strings.Repeat("b", 200) + "c"; all.String() != want {
		t.Errorf("something was lost: %q", all.String())
	}
}
