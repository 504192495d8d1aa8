package simulator_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
	"samelift/internal/simulator"
)

func text(chatID, s string) chat.Outbound {
	return chat.Outbound{To: to(chatID), Lang: "en", Body: []chat.Paragraph{{Text: s}}}
}

func TestSendWithoutSeatIsGone(t *testing.T) {
	h := open(t)
	if _, err := h.sim.Send(context.Background(), text("nobody", "hello")); !errors.Is(err, chat.ErrGone) {
		t.Errorf("got %v", err)
	}
	out := text("oskar", "hello")
	out.To.Transport = "other"
	if _, err := h.sim.Send(context.Background(), out); !errors.Is(err, chat.ErrRefused) {
		t.Errorf("an address of another transport: got %v", err)
	}
	h.send(text("oskar", "hello"))
	h.mu.Lock()
	h.seats = h.seats[1:]
	h.mu.Unlock()
	if _, err := h.sim.Send(context.Background(), text("oskar", "hello")); !errors.Is(err, chat.ErrGone) {
		t.Errorf("after the seat went: got %v", err)
	}
	if got := h.post("/say", object{"chat": "oskar", "id": "12345678", "kind": "text", "text": "x"}); got != http.StatusNotFound {
		t.Errorf("say without a seat: status %d", got)
	}
}

func TestSendTwiceUnderOneKeyShowsOnce(t *testing.T) {
	h := open(t)
	out := text("oskar", "hello")
	out.Key = "k1"
	first, second := h.send(out), h.send(out)
	p := h.listen("")
	p.until("all", func() bool { return p.clock != "" })
	if first != second || len(p.in("oskar")) != 1 {
		t.Errorf("refs %q and %q, %d messages", first.Ref, second.Ref, len(p.in("oskar")))
	}
}

func TestStreamIsLive(t *testing.T) {
	h := open(t)
	p := h.listen("")
	p.until("the start", func() bool { return p.clock != "" })
	if !p.fresh {
		t.Error("a first visit is not fresh")
	}
	sent := h.send(text("oskar", "one"))
	h.send(text("mary", "two"))
	p.until("both", func() bool { return len(p.in("oskar")) == 1 && len(p.in("mary")) == 1 })
	edit := text("oskar", "three")
	edit.Edit = sent.Ref
	h.send(edit)
	p.until("the edit", func() bool { m := p.in("oskar"); return len(m) == 1 && m[0].Body[0].Text == "three" })
	if m := p.in("oskar")[0]; m.Day != "2027-03-01" || m.Time != "13:40" || m.Dir != "ltr" {
		t.Errorf("got %+v", m)
	}
	h.mu.Lock()
	h.seats[0].Lang, h.seats[0].RTL = "ar", true
	h.mu.Unlock()
	h.sim.Changed()
	p.until("the seat's new language", func() bool { return strings.Contains(p.seats, `"name":"Oskar","lang":"ar","dir":"rtl"`) })
}

// What is sent while a page is away comes when it is back, once, and in order.
func TestStreamResumes(t *testing.T) {
	h := open(t)
	p := h.listen("")
	first := h.send(text("oskar", "0"))
	for i := 1; i < 5; i++ {
		h.send(text("oskar", strings.Repeat("x", i)))
	}
	p.until("five", func() bool { return p.got == 5 })
	p.cancel()
	edit := text("oskar", "edited")
	edit.Edit = first.Ref
	h.send(edit)
	h.send(text("mary", "new"))

	q := h.listen(p.last)
	q.until("the rest", func() bool { return q.clock != "" })
	if q.fresh || q.got != 2 {
		t.Errorf("fresh %v, %d messages came; want the 2 that were missed", q.fresh, q.got)
	}
	if q.msgs[first.Ref].Body[0].Text != "edited" || q.msgs[first.Ref].N != p.msgs[first.Ref].N {
		t.Errorf("the edit came as %+v", q.msgs[first.Ref])
	}
	for _, id := range []string{"otherstart-3", "nonsense", "-", p.last + "9x", "../etc"} {
		r := h.listen(id)
		r.until("all", func() bool { return r.clock != "" })
		if !r.fresh || r.got != 6 {
			t.Errorf("id %q: fresh %v with %d messages, want all 6", id, r.fresh, r.got)
		}
		r.cancel()
	}
}

func TestHistoryIsBounded(t *testing.T) {
	h := open(t)
	first := h.send(text("oskar", "first"))
	for range 500 {
		h.send(text("oskar", "more"))
	}
	p := h.listen("")
	p.until("all", func() bool { return p.clock != "" })
	if got := p.in("oskar"); len(got) != 500 || got[0].Ref == first.Ref {
		t.Errorf("%d messages, the first is the oldest: %v", len(got), got[0].Ref == first.Ref)
	}
	edit := text("oskar", "again")
	edit.Edit = first.Ref
	if again := h.send(edit); again.Ref == first.Ref {
		t.Error("an edit of what is no longer kept took its ref")
	}
}

func TestReceiveKeepsOrderAndDelaysNoOther(t *testing.T) {
	h := open(t)
	var mu sync.Mutex
	var got []string
	allow := false
	done := make(chan struct{})
	h.receive(func(_ context.Context, in chat.Inbound) error {
		mu.Lock()
		defer mu.Unlock()
		if in.From.Chat == "oskar" && !allow {
			return errors.New("not now")
		}
		got = append(got, in.Text)
		if len(got) == 4 {
			close(done)
		}
		// Once the other chat has been served, this one may be.
		allow = allow || in.From.Chat == "mary"
		return nil
	})
	for _, s := range []string{"1", "2", "3"} {
		h.say("oskar", s)
	}
	h.say("mary", "m")
	select {
	case <-done:
	case <-time.After(patience):
		t.Fatal("not all came")
	}
	mu.Lock()
	defer mu.Unlock()
	if want := []string{"m", "1", "2", "3"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestOwnMessageWaitsUntilTaken(t *testing.T) {
	h := open(t)
	p := h.listen("")
	h.say("oskar", "hello")
	p.until("waiting", func() bool {
		m := p.in("oskar")
		return len(m) == 1 && m[0].Own && m[0].Waiting && m[0].Text == "hello"
	})
	h.receive(func(context.Context, chat.Inbound) error { return nil })
	p.until("taken", func() bool { return !p.in("oskar")[0].Waiting })
}

func TestSameIDCountsOnce(t *testing.T) {
	h := open(t)
	got := make(chan chat.Inbound, 10)
	h.receive(func(_ context.Context, in chat.Inbound) error { got <- in; return nil })
	for range 3 {
		if s := h.post("/say", object{"chat": "oskar", "id": "same-id-1", "kind": "text", "text": "hi"}); s != http.StatusAccepted {
			t.Fatalf("status %d", s)
		}
	}
	h.post("/say", object{"chat": "mary", "id": "same-id-1", "kind": "text", "text": "another chat"})
	h.say("oskar", "end")
	var all []string
	for len(all) < 3 {
		in := <-got
		all = append(all, in.Text)
		if in.From.Transport != simulator.Name || !in.Private || !in.At.Equal(h.now) {
			t.Errorf("got %+v", in)
		}
	}
	if want := []string{"hi", "another chat", "end"}; !slices.Equal(all, want) {
		t.Errorf("got %q, want %q", all, want)
	}
}

func TestPhoneWithoutLanguageHasThePages(t *testing.T) {
	h := open(t)
	h.mu.Lock()
	h.seats[3].Lang = ""
	h.mu.Unlock()
	got := make(chan string, 10)
	h.receive(func(_ context.Context, in chat.Inbound) error { got <- in.From.Chat + " " + in.Lang; return nil })
	for _, tt := range []struct{ chat, lang, want string }{
		{"new", "ar", "new ar"}, {"new", "xx", "new "}, {"oskar", "ar", "oskar de"},
	} {
		h.post("/say", object{"chat": tt.chat, "id": h.id(), "lang": tt.lang, "kind": "text", "text": "/start"})
		if g := <-got; g != tt.want {
			t.Errorf("got %q, want %q", g, tt.want)
		}
	}
}

func TestPressedChoiceShowsItsLabel(t *testing.T) {
	h := open(t)
	out := text("oskar", "Which?")
	out.Choices = [][]chat.Choice{{{Label: "Bed to chair", Data: "c1"}}}
	sent := h.send(out)
	p := h.listen("")
	h.post("/say", object{"chat": "oskar", "id": "press-001", "kind": "choice", "message": sent.Ref, "choice": "c1"})
	p.until("the press", func() bool { return len(p.in("oskar")) == 2 })
	if m := p.in("oskar")[1]; !m.Own || !m.Pressed || m.Text != "Bed to chair" {
		t.Errorf("got %+v", m)
	}
	// A ref of another chat tells nothing.
	h.post("/say", object{"chat": "mary", "id": "press-002", "kind": "choice", "message": sent.Ref, "choice": "c1"})
	p.until("the other press", func() bool { return len(p.in("mary")) == 1 })
	if m := p.in("mary")[0]; m.Text != "" {
		t.Errorf("got %+v", m)
	}
}

// A press answered in the place of its message leaves the phone; one answered by a
// new message stays, and so does one on another message.
func TestPressAnsweredInPlaceIsGone(t *testing.T) {
	h := open(t)
	ask := func(data string) string {
		out := text("oskar", "Which?")
		out.Choices = [][]chat.Choice{{{Label: "Label " + data, Data: data}}}
		return h.send(out).Ref
	}
	press := func(ref, data string) {
		h.post("/say", object{"chat": "oskar", "id": h.id(), "kind": "choice", "message": ref, "choice": data})
	}
	form, card := ask("c1"), ask("c2")
	press(card, "c2")
	h.send(text("oskar", "more about the card"))
	press(form, "c1")
	edit := text("oskar", "Next?")
	edit.Edit = form
	h.send(edit)
	p := h.listen("")
	p.until("all of it", func() bool { return len(p.in("oskar")) == 5 })
	for _, m := range p.in("oskar") {
		if want := m.Own && m.Text == "Label c1"; m.Gone != want {
			t.Errorf("%+v: gone is %v, want %v", m, m.Gone, want)
		}
	}
	if got := p.msgs[form].Chosen; got != "Label c1" {
		t.Errorf("the form keeps %q as chosen", got)
	}
}

func TestSayIsBounded(t *testing.T) {
	h := open(t)
	long := strings.Repeat("ж", chat.MaxText+5)
	tests := []struct {
		name string
		body object
		want int
	}{
		{"no id", object{"chat": "oskar", "kind": "text", "text": "x"}, 400},
		{"an id with odd characters", object{"chat": "oskar", "id": "a b<c>d e", "kind": "text", "text": "x"}, 400},
		{"an id too long", object{"chat": "oskar", "id": strings.Repeat("a", 65), "kind": "text", "text": "x"}, 400},
		{"nothing written", object{"chat": "oskar", "id": "id-000001", "kind": "text", "text": " \n"}, 400},
		{"unknown kind", object{"chat": "oskar", "id": "id-000002", "kind": "left"}, 400},
		{"unknown field", object{"chat": "oskar", "id": "id-000003", "kind": "text", "text": "x", "admin": true}, 400},
		{"unknown chat", object{"chat": "nobody", "id": "id-000004", "kind": "text", "text": "x"}, 404},
		{"choice without data", object{"chat": "oskar", "id": "id-000005", "kind": "choice"}, 400},
		{"choice too long", object{"chat": "oskar", "id": "id-000006", "kind": "choice", "choice": strings.Repeat("a", 65)}, 400},
		{"choice not ASCII", object{"chat": "oskar", "id": "id-000007", "kind": "choice", "choice": "é"}, 400},
		{"a ref too long", object{"chat": "oskar", "id": "id-000008", "kind": "choice", "choice": "a", "message": strings.Repeat("a", 65)}, 400},
		{"body too large", object{"chat": "oskar", "id": "id-000009", "kind": "file", "data": make([]byte, chat.MaxFile+100_000)}, 413},
		{"a long text", object{"chat": "oskar", "id": "id-000010", "kind": "text", "text": long}, 202},
		{"the largest file", object{"chat": "oskar", "id": "id-000011", "kind": "file", "name": `C:\a\..\b/pl` + "\u202e" + "an.yaml", "data": make([]byte, chat.MaxFile)}, 202},
	}
	for _, tt := range tests {
		if got := h.post("/say", tt.body); got != tt.want {
			t.Errorf("%s: status %d, want %d", tt.name, got, tt.want)
		}
	}
	for _, body := range []string{"", "{", "[]", `"x"`, `{"chat":"oskar"}{}`, "\xff"} {
		if got := h.raw("/say", []byte(body), func(*http.Request) {}); got != 400 {
			t.Errorf("body %q: status %d", body, got)
		}
	}
	got := make(chan chat.Inbound, 10)
	h.receive(func(_ context.Context, in chat.Inbound) error { got <- in; return nil })
	if in := <-got; in.Text != strings.Repeat("ж", chat.MaxText) {
		t.Errorf("the long text arrives with %d runes", len([]rune(in.Text)))
	}
	if in := <-got; in.File == nil || in.File.Name != "plan.yaml" || len(in.File.Data) != chat.MaxFile {
		t.Errorf("the file arrives as %q", in.File.Name)
	}
}

func TestQueueIsBounded(t *testing.T) {
	h := open(t)
	for range 100 {
		h.say("oskar", "x")
	}
	if got := h.post("/say", object{"chat": "oskar", "id": "one-too-many", "kind": "text", "text": "x"}); got != http.StatusTooManyRequests {
		t.Errorf("status %d", got)
	}
	if got := h.post("/say", object{"chat": "oskar", "id": "test-000001", "kind": "text", "text": "x"}); got != http.StatusAccepted {
		t.Errorf("a repeat while the queue is full: status %d", got)
	}
	h.say("mary", "another chat is not full")
	// What was turned away may come again under its id.
	taken := make(chan string, 200)
	h.receive(func(_ context.Context, in chat.Inbound) error { taken <- in.ID; return nil })
	for range 101 {
		<-taken
	}
	if got := h.post("/say", object{"chat": "oskar", "id": "one-too-many", "kind": "text", "text": "x"}); got != http.StatusAccepted {
		t.Errorf("tried again: status %d", got)
	}
	if id := <-taken; id != "oskar:one-too-many" {
		t.Errorf("got %q", id)
	}
}

func (h *house) get(path string, header ...string) (*http.Response, string) {
	h.t.Helper()
	r, err := http.NewRequest(http.MethodGet, h.srv.URL+path, nil)
	if err != nil {
		h.t.Fatal(err)
	}
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	resp, err := h.srv.Client().Do(r)
	if err != nil {
		h.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		h.t.Fatal(err)
	}
	return resp, string(b)
}

func TestPageSpeaksTheViewersLanguage(t *testing.T) {
	h := open(t)
	all := words(t)
	tests := []struct{ path, accept, lang, dir string }{
		{"/", "", "en", "ltr"},
		{"/", "ar-EG,ar;q=0.9", "ar", "rtl"},
		{"/", "fr, de;q=0.5", "de", "ltr"},
		{"/?lang=ar", "de", "ar", "rtl"},
		{"/?lang=xx", "de", "de", "ltr"},
		{"/?lang=%22%3E%3Cscript%3E", ";;;q=q", "en", "ltr"},
	}
	for _, tt := range tests {
		resp, body := h.get(tt.path, "Accept-Language", tt.accept)
		if !strings.Contains(body, `<html lang="`+tt.lang+`" dir="`+tt.dir+`">`) {
			t.Errorf("%s for %q: not in %s", tt.path, tt.accept, tt.lang)
		}
		if !strings.Contains(body, all[tt.lang]["demo.footer"]) {
			t.Errorf("%s for %q: the footer's words are missing", tt.path, tt.accept)
		}
		csp := resp.Header.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") {
			t.Errorf("policy %q", csp)
		}
	}
}

// Every word is in WordKeys and every key of WordKeys is used, so that the locales
// hold what the page needs and no more.
func TestPageUsesItsWords(t *testing.T) {
	h := open(t)
	var source strings.Builder
	for _, f := range []string{"/", "/page.js", "/phone.js", "/sheet.js"} {
		resp, body := h.get(f)
		if resp.StatusCode != 200 {
			t.Fatalf("%s: status %d", f, resp.StatusCode)
		}
		source.WriteString(body)
	}
	all := words(t)
	for _, key := range simulator.WordKeys {
		for lang, w := range all {
			if w[key] == "" {
				t.Errorf("%s: %s is missing", lang, key)
			}
		}
		if role, ok := strings.CutPrefix(key, "demo.role_"); ok {
			if !slices.Contains([]string{simulator.RoleCarer, simulator.RoleCoordinator, simulator.RoleNew}, role) {
				t.Errorf("%s names no role", key)
			}
			continue
		}
		// The script that is missing cannot use its own word, so the page holds it.
		if key != "demo.script" && !strings.Contains(source.String(), `"`+key+`"`) {
			t.Errorf("%s is not used", key)
		}
	}
	for s := range strings.SplitSeq(source.String(), `"demo.`) {
		key, _, _ := strings.Cut("demo."+s, `"`)
		if !strings.ContainsAny(key, "< \n$") && !slices.Contains(simulator.WordKeys, key) {
			t.Errorf("%s is used and not in WordKeys", key)
		}
	}
	if strings.Contains(source.String(), "innerHTML") || strings.Contains(source.String(), "insertAdjacentHTML") {
		t.Error("text must go in through textContent")
	}
}

func TestMarkupStaysText(t *testing.T) {
	h := open(t)
	out := text("oskar", "</script><b>&\n\ndata: x\n\nevent: clock")
	out.Choices = [][]chat.Choice{{{Label: "<i>", Data: "<d>"}}}
	h.send(out)
	p := h.listen("")
	p.until("it", func() bool { return len(p.in("oskar")) == 1 })
	if m := p.in("oskar")[0]; m.Body[0].Text != out.Body[0].Text || m.Choices[0][0] != out.Choices[0][0] {
		t.Errorf("got %+v", m)
	}
	p.until("the real clock", func() bool { return strings.HasPrefix(p.clock, "{") })
}

func TestParagraphsKeepLanguageAndDirection(t *testing.T) {
	h := open(t)
	h.send(chat.Outbound{To: to("nadia"), Lang: "ar", RTL: true, Body: []chat.Paragraph{
		{Style: chat.Alert, Text: "توقف"}, {Style: chat.Quote, Text: "Slowly", Lang: "en"}, {Text: "شخصان", RTL: true}}})
	p := h.listen("")
	p.until("it", func() bool { return len(p.in("nadia")) == 1 })
	m := p.in("nadia")[0]
	if m.Lang != "ar" || m.Dir != "rtl" {
		t.Errorf("the message is %s %s", m.Lang, m.Dir)
	}
	want := []struct{ Style, Text, Lang, Dir string }{
		{"alert", "توقف", "", ""}, {"quote", "Slowly", "en", "ltr"}, {"", "شخصان", "", "rtl"}}
	if !slices.Equal(m.Body, want) {
		t.Errorf("got %v, want %v", m.Body, want)
	}
}

func TestPicture(t *testing.T) {
	h := open(t)
	out := text("oskar", "Loops")
	out.Picture = &chat.Picture{Name: "a.png", PNG: chattest.OnePixel, Alt: "A sling"}
	out.Edit = h.send(out).Ref
	p := h.listen("")
	p.until("it", func() bool { return len(p.in("oskar")) == 1 })
	pic := p.in("oskar")[0].Picture
	resp, body := h.get("/" + pic.Src)
	if pic.Alt != "A sling" || resp.Header.Get("Content-Type") != "image/png" || !bytes.Equal([]byte(body), chattest.OnePixel) {
		t.Errorf("got %+v, %s, %d bytes", pic, resp.Header.Get("Content-Type"), len(body))
	}
	out.Picture = nil
	h.send(out)
	for _, path := range []string{"/" + pic.Src, "/picture/none"} {
		if resp, _ := h.get(path); resp.StatusCode != http.StatusNotFound {
			t.Errorf("%s: status %d", path, resp.StatusCode)
		}
	}
}

func TestClockOnlyMovesForward(t *testing.T) {
	h := open(t)
	p := h.listen("")
	p.until("the clock", func() bool { return strings.Contains(p.clock, `"at":"2027-03-01T13:40+02:00"`) })
	if !strings.Contains(p.clock, `"shift":"14:00"`) {
		t.Errorf("clock %s", p.clock)
	}
	tests := []struct {
		name string
		body string
		want int
	}{
		{"back", `{"minutes":-5}`, 400},
		{"nowhere", `{}`, 400},
		{"too far", `{"minutes":44641}`, 400},
		{"part of a minute", `{"minutes":0.5}`, 400},
		{"a quarter of an hour", `{"minutes":15}`, 204},
		{"to the change of shift", `{"shift":true}`, 204},
		{"to the next one", `{"shift":true}`, 204},
	}
	for _, tt := range tests {
		if got := h.raw("/clock", []byte(tt.body), func(*http.Request) {}); got != tt.want {
			t.Errorf("%s: status %d, want %d", tt.name, got, tt.want)
		}
	}
	if want := []time.Duration{15 * time.Minute, 5 * time.Minute, 24 * time.Hour}; !slices.Equal(h.advanced, want) {
		t.Errorf("moved by %v, want %v", h.advanced, want)
	}
	p.until("the new time", func() bool { return strings.Contains(p.clock, `"at":"2027-03-02T14:00+02:00"`) })
}

func TestControls(t *testing.T) {
	h := open(t)
	for id, want := range map[string]int{"publish": 204, "broken": 500, "none": 404} {
		if got := h.post("/control", object{"id": id}); got != want {
			t.Errorf("%s: status %d, want %d", id, got, want)
		}
	}
	if !slices.Equal(h.done, []string{"publish"}) {
		t.Errorf("done %q", h.done)
	}
}

func TestCloseEndsStreamsAndReceive(t *testing.T) {
	h := open(t)
	p := h.listen("")
	done := make(chan error, 1)
	go func() {
		done <- h.sim.Receive(context.Background(), func(context.Context, chat.Inbound) error { return nil })
	}()
	h.sim.Close()
	h.sim.Close()
	if err := <-done; err != nil {
		t.Errorf("Receive: %v", err)
	}
	for range p.events {
	}
}
