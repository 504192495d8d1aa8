package chattest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"unicode"
	"unicode/utf16"

	"samelift/internal/chat"
)

func bodies(t *testing.T, h *Harness) {
	full := strings.Repeat("Loops go on the same on both sides. 👐 ", chat.MaxBody)
	full = strings.TrimSpace(chat.Split([]chat.Paragraph{{Text: full}}, chat.MaxBody)[0][0].Text)
	full += strings.Repeat("x", chat.MaxBody-len(utf16.Encode([]rune(full))))
	var lines []chat.Paragraph
	for i := range 90 {
		lines = append(lines, chat.Paragraph{
			Style: []chat.Style{chat.Plain, chat.Strong, chat.Alert, chat.Quote, chat.Small}[i%5],
			Text:  fmt.Sprintf("Line %d", i),
		})
	}
	tests := []struct {
		name string
		out  chat.Outbound
	}{
		{"plain", chat.Outbound{Body: []chat.Paragraph{{Text: "Two carers."}}}},
		{"styled", chat.Outbound{Body: []chat.Paragraph{
			{Style: chat.Strong, Text: "Bed to chair"}, {Style: chat.Alert, Text: "Stop."},
			{Text: "Two carers."}, {Style: chat.Quote, Text: "Slowly, please."}, {Style: chat.Quote, Text: "And warm hands."},
			{Style: chat.Small, Text: "Plan 3, 4 May"}}}},
		{"full", chat.Outbound{Body: []chat.Paragraph{{Text: full}}}},
		{"full of markup", chat.Outbound{Body: []chat.Paragraph{{Style: chat.Strong, Text: strings.Repeat(`<&">`, chat.MaxBody/4)}}}},
		{"many styles", chat.Outbound{Body: lines}},
		{"right to left", chat.Outbound{Lang: "ar", RTL: true, Body: []chat.Paragraph{
			{Text: "شخصان", RTL: true}, {Text: "2 carers, 120 kg", RTL: true}, {Style: chat.Quote, Text: "Slowly", Lang: "en"}}}},
		{"isolates", chat.Outbound{Lang: "he", RTL: true, Body: []chat.Paragraph{{Text: "המנוף \u2068H-2\u2069 מוכן", RTL: true}}}},
		{"markup", chat.Outbound{Body: []chat.Paragraph{{Text: `<b>&"' </b><br> &amp; &lt; *_[x](y)` + "`"}, {Style: chat.Quote, Text: "</blockquote><i>"}}}},
		{"quiet and secret", chat.Outbound{Quiet: true, Secret: true, Body: []chat.Paragraph{{Text: "Night note"}}}},
		{"blank line", chat.Outbound{Body: []chat.Paragraph{{Text: "One"}, {}, {Style: chat.Strong}, {Text: "Two"}}}},
		{"several scripts", chat.Outbound{Body: []chat.Paragraph{{Text: "Zażółć, Ärzte, ਪੰਜਾਬੀ, 中文, Tiếng Việt, 👩🏽‍🦽"}}}},
	}
	ann := h.Person()
	for i, tt := range tests {
		tt.out.To, tt.out.Key = ann, tt.name
		sent := send(t, h.Transport, tt.out)
		seen := h.Seen(ann)
		if len(seen) != i+1 {
			t.Fatalf("%s: %d messages are seen, want %d", tt.name, len(seen), i+1)
		}
		got := seen[i]
		if got.Ref != sent.Ref {
			t.Errorf("%s: seen under ref %q, sent as %q", tt.name, got.Ref, sent.Ref)
		}
		if g, w := read(got.Text), read(text(tt.out)); g != w {
			t.Errorf("%s: seen %q, want %q", tt.name, g, w)
		}
		if len(got.Choices) != 0 || got.Picture {
			t.Errorf("%s: seen with %v and picture %v", tt.name, got.Choices, got.Picture)
		}
	}

	odd := chat.Outbound{Key: "odd", To: ann, Body: []chat.Paragraph{{Text: "one\x00two\x07three\tfour\u202efive\x1bsix\rseven\x7feight"}}}
	send(t, h.Transport, odd)
	seen := h.Seen(ann)
	got := seen[len(seen)-1].Text
	at := 0
	for _, w := range []string{"one", "two", "three", "four", "five", "six", "seven", "eight"} {
		i := strings.Index(got[at:], w)
		if i < 0 {
			t.Fatalf("control characters: %q is missing in %q", w, got)
		}
		at += i
	}
}

// text is a body as a person reads it.
func text(out chat.Outbound) string {
	var lines []string
	for _, p := range out.Body {
		lines = append(lines, p.Text)
	}
	return strings.Join(lines, "\n")
}

// read takes away what a transport may add or leave out: direction marks, blank
// lines, white space at the ends of lines.
func read(s string) string {
	var lines []string
	for line := range strings.SplitSeq(s, "\n") {
		line = strings.Map(func(r rune) rune {
			if r == '\u200e' || r == '\u200f' {
				return -1
			}
			return r
		}, line)
		if line = strings.TrimFunc(line, unicode.IsSpace); line != "" {
			lines = append(lines, line)
		}
	}
	return strings.Join(lines, "\n")
}

func choices(t *testing.T, h *Harness) {
	ann := h.Person()
	out := words(ann, "Was the plan followed?")
	out.Choices = [][]chat.Choice{
		{{Label: "Yes & no <b>", Data: "1"}, {Label: "نعم", Data: "2"}},
		{{Label: "Guide", URL: "https://example.org/a?b=c&d=e"}},
	}
	for i := range chat.MaxRows - 2 {
		out.Choices = append(out.Choices, []chat.Choice{{Label: strings.Repeat("ж", chat.MaxLabel), Data: fmt.Sprint("row", i)}})
	}
	sent := send(t, h.Transport, out)
	same := func(step, wantText string, want [][]chat.Choice) {
		t.Helper()
		seen := h.Seen(ann)
		if len(seen) != 1 {
			t.Fatalf("%s: %d messages are seen, want 1", step, len(seen))
		}
		if seen[0].Ref != sent.Ref || read(seen[0].Text) != wantText {
			t.Errorf("%s: seen %q %q", step, seen[0].Ref, seen[0].Text)
		}
		if !slices.EqualFunc(seen[0].Choices, want, slices.Equal) {
			t.Errorf("%s: seen choices %v, want %v", step, seen[0].Choices, want)
		}
	}
	same("sent", "Was the plan followed?", out.Choices)

	edit := func(step, text string, rows [][]chat.Choice) {
		t.Helper()
		out := words(ann, text)
		out.Edit, out.Choices = sent.Ref, rows
		if again := send(t, h.Transport, out); again.Ref != sent.Ref {
			t.Errorf("%s: ref %q became %q", step, sent.Ref, again.Ref)
		}
		same(step, text, rows)
	}
	edit("edited", "Page 2", [][]chat.Choice{{{Label: "Back", Data: "3"}}})
	edit("edited to the same", "Page 2", [][]chat.Choice{{{Label: "Back", Data: "3"}}})
	edit("choices taken away", "Saved.", nil)
	edit("and brought back", "Saved.", [][]chat.Choice{{{Label: "Undo", Data: "4"}}})
}

func editNothing(t *testing.T, h *Harness) {
	ann, ben := h.Person(), h.Person()
	send(t, h.Transport, words(ann, "Old"))
	bens := send(t, h.Transport, words(ben, "Ben's"))
	for i, ref := range []string{"999999", "no such ref"} {
		out := words(ann, "New "+ref)
		out.Edit = ref
		sent := send(t, h.Transport, out)
		seen := h.Seen(ann)
		if len(seen) != i+2 || read(seen[i+1].Text) != "New "+ref || seen[i+1].Ref != sent.Ref {
			t.Errorf("edit of %q: seen %v", ref, seen)
		}
	}
	if seen := h.Seen(ben); len(seen) != 1 || seen[0].Ref != bens.Ref || read(seen[0].Text) != "Ben's" {
		t.Errorf("the other person sees %v", seen)
	}
}

func picture(t *testing.T, h *Harness) {
	for _, size := range []int{10, chat.MaxBody} {
		ann := h.Person()
		out := words(ann, strings.Repeat("a", size))
		out.Picture = &chat.Picture{Name: "loops.png", PNG: OnePixel, Alt: "A sling"}
		out.Choices = [][]chat.Choice{{{Label: "More", Data: "1"}}}
		sent := send(t, h.Transport, out)
		seen := h.Seen(ann)
		pictures, texts := 0, ""
		for _, s := range seen {
			if s.Picture {
				pictures++
			}
			texts += read(s.Text)
		}
		if pictures != 1 || !strings.Contains(texts, text(out)) {
			t.Errorf("%d characters: %d pictures are seen, with %d characters", size, pictures, len(texts))
		}
		last := seen[len(seen)-1]
		if last.Ref != sent.Ref || len(last.Choices) != 1 {
			t.Errorf("%d characters: the last message is %q with choices %v, sent was %q", size, last.Ref, last.Choices, sent.Ref)
		}
		// A message with a picture may be edited in place or followed by a new one.
		edit := words(ann, "Saved.")
		edit.Edit = sent.Ref
		sent = send(t, h.Transport, edit)
		seen = h.Seen(ann)
		if last := seen[len(seen)-1]; last.Ref != sent.Ref || read(last.Text) != "Saved." {
			t.Errorf("%d characters: after an edit the last message is %q", size, last.Text)
		}
	}
}

// OnePixel is the smallest picture: one grey pixel as a PNG.
var OnePixel = []byte("\x89\x50\x4e\x47\x0d\x0a\x1a\x0a\x00\x00\x00\x0d\x49\x48\x44\x52\x00\x00\x00\x01\x00\x00\x00\x01\x08\x00\x00\x00\x00\x3a\x7e\x9b\x55" +
	"\x00\x00\x00\x0a\x49\x44\x41\x54\x78\x9c\x63\x68\x00\x00\x00\x82\x00\x81\x77\xcd\x72\xb6\x00\x00\x00\x00\x49\x45\x4e\x44\xae\x42\x60\x82")

func faults(t *testing.T, h *Harness) {
	if h.Fail == nil {
		t.Skip("sends never fail on this transport")
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	for _, fault := range []Fault{FaultDown, FaultBusy, FaultGone, FaultUncertain, FaultRefused} {
		t.Run(string(fault), func(t *testing.T) {
			if !h.Fail(fault) {
				t.Skip("never ends so on this transport")
			}
			ann := h.Person()
			_, err := h.Transport.Send(ctx, words(ann, "hello"))
			if err == nil {
				t.Fatal("no error")
			}
			if got := class(err); got != fault {
				t.Fatalf("got %v, which is %q", err, got)
			}
			if n := len(h.Seen(ann)); n > 1 || n == 1 && fault != FaultUncertain {
				t.Errorf("%d messages are seen", n)
			}
			before := len(h.Seen(ann))
			send(t, h.Transport, words(ann, "hello"))
			if n := len(h.Seen(ann)); n != before+1 {
				t.Errorf("after the next send %d messages are seen, want %d", n, before+1)
			}
		})
	}
}

// class is the fault of which a send's error tells.
func class(err error) Fault {
	var wait *chat.RetryAfter
	switch {
	case errors.As(err, &wait):
		if wait.Wait <= 0 {
			return "a wait of no time"
		}
		return FaultBusy
	case errors.Is(err, chat.ErrGone):
		return FaultGone
	case errors.Is(err, chat.ErrUncertain):
		return FaultUncertain
	case errors.Is(err, chat.ErrRefused):
		return FaultRefused
	}
	return FaultDown
}

func sendEnded(t *testing.T, h *Harness) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	ann := h.Person()
	_, err := h.Transport.Send(ctx, words(ann, "hello"))
	if err == nil || class(err) != FaultDown {
		t.Errorf("got %v, want a plain error", err)
	}
	if seen := h.Seen(ann); len(seen) != 0 {
		t.Errorf("seen %v", seen)
	}
}

func many(t *testing.T, h *Harness) {
	const people, each = 10, 5
	var wg sync.WaitGroup
	var all []chat.Address
	for range people {
		all = append(all, h.Person())
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	for _, p := range all {
		wg.Go(func() {
			for i := range each {
				if _, err := h.Transport.Send(ctx, words(p, fmt.Sprint("Message ", i))); err != nil {
					t.Errorf("Send: %v", err)
				}
			}
		})
	}
	wg.Wait()
	for _, p := range all {
		seen := h.Seen(p)
		if len(seen) != each {
			t.Errorf("%d messages are seen, want %d", len(seen), each)
			continue
		}
		for i, s := range seen {
			if read(s.Text) != fmt.Sprint("Message ", i) {
				t.Errorf("message %d is %q", i, s.Text)
			}
		}
	}
}
