package chattest

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

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
