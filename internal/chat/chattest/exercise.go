package chattest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode"
	"unicode/utf16"

	"samelift/internal/chat"
)

// patience is how long the suite waits for what must come; it is never waited out
// where all is well.
const patience = 20 * time.Second

// Harness is one transport under test, and the hands and eyes of the people at its
// other end. Open makes a new one for each part of the suite.
type Harness struct {
	Transport chat.Transport

	// Person makes one more person and returns their private chat.
	Person func() chat.Address
	// Say types a text in a private chat.
	Say func(from chat.Address, text string)
	// Press presses the choice with that data under the message that ref names.
	Press func(from chat.Address, ref, data string)
	// Other sends what the bot cannot read, such as a sticker. Nil: not possible here.
	Other func(from chat.Address)
	// Group types a text in a group. Nil: there are no groups here.
	Group func(text string)
	// Leave blocks the bot, and Return unblocks it. Nil: not possible here.
	Leave, Return func(from chat.Address)
	// Upload sends a document. Nil: not possible here.
	Upload func(from chat.Address, name string, data []byte)

	// Fail makes the next Send end in that fault. It reports false, and the suite
	// passes over it, where this transport never ends so. Nil: it never ends in any.
	Fail func(Fault) bool
	// Seen is what the person sees in their chat of the bot's, oldest first.
	Seen func(of chat.Address) []Seen
}

// Seen is one message as a person sees it.
type Seen struct {
	// Ref names it for Press and for an edit.
	Ref string
	// Text is what can be read, without markup, a paragraph a line.
	Text string
	// Choices are the buttons beneath it.
	Choices [][]chat.Choice
	// Picture tells whether there is one.
	Picture bool
}

// Fault is a way in which a send fails.
type Fault string

// The faults and what Send returns for each.
const (
	FaultDown      Fault = "down"      // nothing was sent: an error of no class
	FaultBusy      Fault = "busy"      // *chat.RetryAfter
	FaultGone      Fault = "gone"      // chat.ErrGone
	FaultUncertain Fault = "uncertain" // chat.ErrUncertain
	FaultRefused   Fault = "refused"   // chat.ErrRefused
)

// Exercise checks that a transport keeps the promises of chat.Transport. Open is
// called once for each part, and registers its own clean-up with t.
func Exercise(t *testing.T, open func(t *testing.T) *Harness) {
	parts := []struct {
		name string
		run  func(*testing.T, *Harness)
	}{
		{"what is typed arrives in order", typed},
		{"a pressed choice arrives with its message", pressed},
		{"what cannot be read arrives as such", other},
		{"a group is not private", group},
		{"leaving and returning are told", leaving},
		{"a document arrives whole", upload},
		{"a refused message comes again and none is skipped", refused},
		{"a message that was never accepted comes after a restart", restart},
		{"receive ends with its context", ends},
		{"bodies are read as they were written", bodies},
		{"choices are shown and an edit replaces", choices},
		{"an edit of nothing is a new message", editNothing},
		{"a picture stands with its words", picture},
		{"failed sends say what next", faults},
		{"a send with an ended context sends nothing", sendEnded},
		{"many send at once", many},
	}
	for _, p := range parts {
		t.Run(p.name, func(t *testing.T) { p.run(t, open(t)) })
	}
}

// receiving is a transport whose Receive runs until the test ends.
type receiving struct {
	t    *testing.T
	got  chan chat.Inbound
	stop func() error // ends Receive and returns what it returned
}

// receive starts Receive; f, if not nil, decides about each message before it counts
// as received.
func receive(t *testing.T, tr chat.Transport, f func(chat.Inbound) error) *receiving {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	r := &receiving{t: t, got: make(chan chat.Inbound, 1000)}
	done := make(chan error, 1)
	go func() {
		done <- tr.Receive(ctx, func(_ context.Context, in chat.Inbound) error {
			if f != nil {
				if err := f(in); err != nil {
					return err
				}
			}
			r.got <- in
			return nil
		})
	}()
	r.stop = sync.OnceValue(func() error {
		cancel()
		select {
		case err := <-done:
			return err
		case <-time.After(patience):
			return errors.New("chattest: Receive does not end")
		}
	})
	t.Cleanup(func() {
		if err := r.stop(); err != nil && !errors.Is(err, context.Canceled) {
			t.Errorf("Receive ended with %v", err)
		}
	})
	return r
}

func (r *receiving) next() chat.Inbound {
	r.t.Helper()
	select {
	case in := <-r.got:
		return in
	case <-time.After(patience):
		r.t.Fatal("nothing arrives")
		panic("unreachable")
	}
}

func send(t *testing.T, tr chat.Transport, out chat.Outbound) chat.Sent {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	sent, err := tr.Send(ctx, out)
	if err != nil {
		t.Fatalf("Send: %v", err)
	}
	if sent.Ref == "" {
		t.Fatal("Send gave no ref")
	}
	return sent
}

func words(to chat.Address, text string) chat.Outbound {
	return chat.Outbound{Key: text, To: to, Body: []chat.Paragraph{{Text: text}}}
}

func typed(t *testing.T, h *Harness) {
	r := receive(t, h.Transport, nil)
	ann, ben := h.Person(), h.Person()
	if ann == ben || ann.Transport != h.Transport.Name() {
		t.Fatalf("addresses %v and %v", ann, ben)
	}
	texts := []string{"/start abc", "hello", `<b>&"'`, "שלום", "مرحبا", "two\nlines", "👩🏽‍🦽"}
	for _, text := range texts {
		h.Say(ann, text)
		h.Say(ben, text+"!")
	}
	ids := map[string]bool{}
	got := map[chat.Address][]string{}
	for range 2 * len(texts) {
		in := r.next()
		if in.Kind != chat.KindText || !in.Private || in.Choice != "" || in.Message != "" || in.File != nil {
			t.Errorf("got %+v", in)
		}
		if in.At.IsZero() {
			t.Errorf("%q has no time", in.Text)
		}
		if in.ID == "" || ids[in.ID] {
			t.Errorf("id %q is empty or used twice", in.ID)
		}
		ids[in.ID] = true
		got[in.From] = append(got[in.From], in.Text)
	}
	if !slices.Equal(got[ann], texts) {
		t.Errorf("first person: got %q, want %q", got[ann], texts)
	}
	for i := range texts {
		if got[ben][i] != texts[i]+"!" {
			t.Errorf("second person: got %q", got[ben])
			break
		}
	}
}

func pressed(t *testing.T, h *Harness) {
	r := receive(t, h.Transport, nil)
	ann := h.Person()
	out := words(ann, "Which transfer?")
	long := strings.Repeat("x", chat.MaxData)
	out.Choices = [][]chat.Choice{{{Label: "Bed to chair", Data: "v1:a"}}, {{Label: "Bath", Data: long}}}
	sent := send(t, h.Transport, out)
	for _, data := range []string{"v1:a", long} {
		h.Press(ann, sent.Ref, data)
		in := r.next()
		if in.Kind != chat.KindChoice || in.Choice != data || in.Message != sent.Ref ||
			in.From != ann || !in.Private || in.Text != "" || in.ID == "" || in.At.IsZero() {
			t.Errorf("got %+v", in)
		}
	}
}

func other(t *testing.T, h *Harness) {
	if h.Other == nil {
		t.Skip("not possible on this transport")
	}
	r := receive(t, h.Transport, nil)
	ann := h.Person()
	h.Other(ann)
	h.Say(ann, "after")
	if in := r.next(); in.Kind != chat.KindOther || in.From != ann || !in.Private || in.Text != "" {
		t.Errorf("got %+v", in)
	}
	if in := r.next(); in.Kind != chat.KindText {
		t.Errorf("then got %+v", in)
	}
}

func group(t *testing.T, h *Harness) {
	if h.Group == nil {
		t.Skip("no groups on this transport")
	}
	r := receive(t, h.Transport, nil)
	h.Group("hello all")
	if in := r.next(); in.Private || in.Kind != chat.KindText || in.Text != "hello all" {
		t.Errorf("got %+v", in)
	}
}

func leaving(t *testing.T, h *Harness) {
	if h.Leave == nil || h.Return == nil {
		t.Skip("not possible on this transport")
	}
	r := receive(t, h.Transport, nil)
	ann := h.Person()
	h.Leave(ann)
	if in := r.next(); in.Kind != chat.KindLeft || in.From != ann || !in.Private {
		t.Errorf("got %+v", in)
	}
	h.Return(ann)
	if in := r.next(); in.Kind != chat.KindReturns || in.From != ann || !in.Private {
		t.Errorf("got %+v", in)
	}
}

func upload(t *testing.T, h *Harness) {
	if h.Upload == nil {
		t.Skip("not possible on this transport")
	}
	r := receive(t, h.Transport, nil)
	ann := h.Person()
	h.Upload(ann, "site.yaml", []byte("name: Rowan House\n"))
	in := r.next()
	if in.Kind != chat.KindFile || in.From != ann || in.File == nil {
		t.Fatalf("got %+v", in)
	}
	if in.File.Name != "site.yaml" || string(in.File.Data) != "name: Rowan House\n" {
		t.Errorf("got %q: %q", in.File.Name, in.File.Data)
	}
	h.Upload(ann, "big.yaml", make([]byte, chat.MaxFile+1))
	if in := r.next(); in.Kind != chat.KindOther || in.File != nil {
		t.Errorf("a file above the limit: got kind %q", in.Kind)
	}
}

func refused(t *testing.T, h *Harness) {
	var mu sync.Mutex
	tries := map[string][]string{} // text to the ids under which it came
	r := receive(t, h.Transport, func(in chat.Inbound) error {
		mu.Lock()
		defer mu.Unlock()
		tries[in.Text] = append(tries[in.Text], in.ID)
		if in.Text == "second" && len(tries[in.Text]) < 3 {
			return errors.New("the disk is full")
		}
		return nil
	})
	ann := h.Person()
	all := []string{"first", "second", "third", "fourth"}
	for _, text := range all {
		h.Say(ann, text)
	}
	var got []string
	for range all {
		got = append(got, r.next().Text)
	}
	if !slices.Equal(got, all) {
		t.Errorf("got %q, want %q", got, all)
	}
	mu.Lock()
	defer mu.Unlock()
	ids := tries["second"]
	if len(ids) != 3 || ids[0] != ids[1] || ids[1] != ids[2] {
		t.Errorf("the refused message came under the ids %q, want the same one thrice", ids)
	}
}

func restart(t *testing.T, h *Harness) {
	came := make(chan string, 1000)
	first := receive(t, h.Transport, func(in chat.Inbound) error {
		came <- in.ID
		return errors.New("the disk is full")
	})
	ann := h.Person()
	h.Say(ann, "remember me")
	var id string
	select {
	case id = <-came:
	case <-time.After(patience):
		t.Fatal("nothing arrives")
	}
	if err := first.stop(); err != nil && !errors.Is(err, context.Canceled) {
		t.Fatalf("Receive ended with %v", err)
	}
	second := receive(t, h.Transport, nil)
	if in := second.next(); in.Text != "remember me" || in.ID != id {
		t.Errorf("got %+v, want id %s", in, id)
	}
}

func ends(t *testing.T, h *Harness) {
	r := receive(t, h.Transport, nil)
	h.Say(h.Person(), "hello")
	r.next()
	if err := r.stop(); err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("Receive ended with %v", err)
	}
}

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
