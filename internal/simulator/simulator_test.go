package simulator_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
	"samelift/internal/simulator"
)

// patience is how long a test waits for what must come.
const patience = 20 * time.Second

// house is a simulator on a server, with a team and a clock that tests may change.
type house struct {
	t   testing.TB
	sim *simulator.Simulator
	srv *httptest.Server

	mu       sync.Mutex
	seats    []simulator.Seat
	now      time.Time
	advanced []time.Duration
	done     []string
	ids      int
}

func words(t testing.TB) map[string]simulator.Words {
	t.Helper()
	b, err := os.ReadFile("testdata/words.json")
	if err != nil {
		t.Fatal(err)
	}
	var w map[string]simulator.Words
	if err := json.Unmarshal(b, &w); err != nil {
		t.Fatal(err)
	}
	return w
}

func open(t testing.TB) *house {
	t.Helper()
	zone := time.FixedZone("site", 2*60*60)
	h := &house{
		t:   t,
		now: time.Date(2027, 3, 1, 13, 40, 0, 0, zone),
		seats: []simulator.Seat{
			{Chat: "oskar", Name: "Oskar", Lang: "de", Role: simulator.RoleCarer},
			{Chat: "nadia", Name: "Nadia", Lang: "ar", RTL: true, Role: simulator.RoleCarer},
			{Chat: "mary", Name: "Mary", Lang: "en", Role: simulator.RoleCoordinator},
			{Chat: "new", Lang: "en", Role: simulator.RoleNew},
		},
	}
	all := words(t)
	h.sim = simulator.New(simulator.Config{
		Seats: func() []simulator.Seat { h.mu.Lock(); defer h.mu.Unlock(); return slices.Clone(h.seats) },
		Words: func(lang string) simulator.Words { return all[lang] },
		Langs: []simulator.Lang{{Code: "en", Autonym: "English"}, {Code: "de", Autonym: "Deutsch"}, {Code: "ar", Autonym: "العربية", RTL: true}},
		Now:   func() time.Time { h.mu.Lock(); defer h.mu.Unlock(); return h.now },
		Advance: func(_ context.Context, d time.Duration) error {
			h.mu.Lock()
			defer h.mu.Unlock()
			h.now = h.now.Add(d)
			h.advanced = append(h.advanced, d)
			return nil
		},
		NextShift: func() time.Time {
			h.mu.Lock()
			defer h.mu.Unlock()
			next := time.Date(h.now.Year(), h.now.Month(), h.now.Day(), 14, 0, 0, 0, zone)
			if !next.After(h.now) {
				next = next.Add(24 * time.Hour)
			}
			return next
		},
		Zone: func() *time.Location { return zone },
		Controls: []simulator.Control{
			{ID: "publish", WordKey: "test.publish", Do: func(context.Context) error {
				h.mu.Lock()
				defer h.mu.Unlock()
				h.done = append(h.done, "publish")
				return nil
			}},
			{ID: "broken", WordKey: "test.publish", Do: func(context.Context) error { return io.ErrUnexpectedEOF }},
		},
		Backoff: func(int) time.Duration { return 0 },
	})
	h.srv = httptest.NewServer(h.sim)
	t.Cleanup(func() {
		h.sim.Close()
		h.srv.Close()
	})
	return h
}

// post asks as the page would and gives the status.
func (h *house) post(path string, body any) int {
	h.t.Helper()
	b, err := json.Marshal(body)
	if err != nil {
		h.t.Fatal(err)
	}
	return h.raw(path, b, func(r *http.Request) {})
}

func (h *house) raw(path string, body []byte, change func(*http.Request)) int {
	h.t.Helper()
	r, err := http.NewRequest(http.MethodPost, h.srv.URL+path, bytes.NewReader(body))
	if err != nil {
		h.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Origin", h.srv.URL)
	change(r)
	resp, err := h.srv.Client().Do(r)
	if err != nil {
		h.t.Fatal(err)
	}
	defer resp.Body.Close()
	io.Copy(io.Discard, resp.Body)
	return resp.StatusCode
}

// object is a JSON object.
type object map[string]any

func (h *house) id() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ids++
	return fmt.Sprintf("test-%06d", h.ids)
}

func (h *house) say(chatID, text string) {
	h.t.Helper()
	if got := h.post("/say", object{"chat": chatID, "id": h.id(), "kind": "text", "text": text}); got != http.StatusAccepted {
		h.t.Fatalf("say: status %d", got)
	}
}

func (h *house) send(out chat.Outbound) chat.Sent {
	h.t.Helper()
	sent, err := h.sim.Send(context.Background(), out)
	if err != nil {
		h.t.Fatal(err)
	}
	return sent
}

func to(chatID string) chat.Address { return chat.Address{Transport: simulator.Name, Chat: chatID} }

// shown is one message as the page gets it.
type shown struct {
	Chat, Ref, Day, Time, Lang, Dir, Text, File string
	N                                           int64
	Own, Pressed, Waiting, Gone                 bool
	Chosen                                      string
	Body                                        []struct{ Style, Text, Lang, Dir string }
	Choices                                     [][]chat.Choice
	Picture                                     *struct{ Src, Alt string }
}

// page is a reader of the stream that keeps messages as the page does.
type page struct {
	t      testing.TB
	cancel context.CancelFunc
	events chan [3]string // id, name, data
	last   string
	fresh  bool
	order  []string
	msgs   map[string]shown
	got    int // message events so far
	clock  string
	seats  string
}

func (h *house) listen(lastID string) *page {
	h.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	h.t.Cleanup(cancel)
	r, _ := http.NewRequestWithContext(ctx, http.MethodGet, h.srv.URL+"/events", nil)
	if lastID != "" {
		r.Header.Set("Last-Event-ID", lastID)
	}
	resp, err := h.srv.Client().Do(r)
	if err != nil {
		h.t.Fatal(err)
	}
	if ct := resp.Header.Get("Content-Type"); ct != "text/event-stream" {
		h.t.Fatalf("content type %q", ct)
	}
	p := &page{t: h.t, cancel: cancel, events: make(chan [3]string, 10000), last: lastID, msgs: map[string]shown{}}
	go func() {
		defer resp.Body.Close()
		defer close(p.events)
		var ev [3]string
		sc := bufio.NewScanner(resp.Body)
		sc.Buffer(nil, 1<<20)
		for sc.Scan() {
			line := sc.Text()
			switch key, value, _ := strings.Cut(line, ": "); {
			case line == "":
				if ev[1] != "" {
					p.events <- ev
				}
				ev = [3]string{}
			case key == "id":
				ev[0] = value
			case key == "event":
				ev[1] = value
			case key == "data":
				ev[2] = value
			}
		}
	}()
	return p
}

// until reads events until ok, and fails when it does not come to that.
func (p *page) until(what string, ok func() bool) {
	p.t.Helper()
	late := time.After(patience)
	for !ok() {
		select {
		case ev, open := <-p.events:
			if !open {
				p.t.Fatalf("the stream ended before: %s", what)
			}
			p.take(ev)
		case <-late:
			p.t.Fatalf("does not come: %s", what)
		}
	}
}

func (p *page) take(ev [3]string) {
	p.t.Helper()
	if ev[0] != "" {
		p.last = ev[0]
	}
	switch ev[1] {
	case "hello":
		p.fresh = strings.Contains(ev[2], "true")
	case "clock":
		p.clock = ev[2]
	case "seats":
		p.seats = ev[2]
	case "message":
		var m shown
		if err := json.Unmarshal([]byte(ev[2]), &m); err != nil {
			p.t.Fatal(err)
		}
		p.got++
		if _, ok := p.msgs[m.Ref]; !ok {
			p.order = append(p.order, m.Ref)
		}
		p.msgs[m.Ref] = m
	}
}

// in lists a chat's messages from top to bottom.
func (p *page) in(chatID string) []shown {
	var out []shown
	for _, ref := range p.order {
		if m := p.msgs[ref]; m.Chat == chatID {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b shown) int { return int(a.N - b.N) })
	return out
}

// receive runs Receive until the test ends.
func (h *house) receive(f func(context.Context, chat.Inbound) error) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- h.sim.Receive(ctx, f) }()
	h.t.Cleanup(func() {
		cancel()
		<-done
	})
}

func TestExercise(t *testing.T) {
	chattest.Exercise(t, func(t *testing.T) *chattest.Harness {
		h := open(t)
		n := 0
		return &chattest.Harness{
			Transport: h.sim,
			Person: func() chat.Address {
				h.mu.Lock()
				defer h.mu.Unlock()
				n++
				id := fmt.Sprint("person", n)
				h.seats = append(h.seats, simulator.Seat{Chat: id, Name: id, Lang: "en", Role: simulator.RoleCarer})
				return to(id)
			},
			Say: func(from chat.Address, text string) { h.say(from.Chat, text) },
			Press: func(from chat.Address, ref, data string) {
				if got := h.post("/say", object{"chat": from.Chat, "id": h.id(), "kind": "choice", "message": ref, "choice": data}); got != http.StatusAccepted {
					t.Fatalf("press: status %d", got)
				}
			},
			Other: func(from chat.Address) {
				if got := h.post("/say", object{"chat": from.Chat, "id": h.id(), "kind": "other"}); got != http.StatusAccepted {
					t.Fatalf("other: status %d", got)
				}
			},
			Upload: func(from chat.Address, name string, data []byte) {
				if got := h.post("/say", object{"chat": from.Chat, "id": h.id(), "kind": "file", "name": name, "data": data}); got != http.StatusAccepted {
					t.Fatalf("upload: status %d", got)
				}
			},
			Seen: func(of chat.Address) []chattest.Seen {
				p := h.listen("")
				defer p.cancel()
				p.until("all", func() bool { return p.clock != "" })
				var out []chattest.Seen
				for _, m := range p.in(of.Chat) {
					if m.Own {
						continue
					}
					var lines []string
					for _, q := range m.Body {
						lines = append(lines, q.Text)
					}
					out = append(out, chattest.Seen{Ref: m.Ref, Text: strings.Join(lines, "\n"), Choices: m.Choices, Picture: m.Picture != nil})
				}
				return out
			},
		}
	})
}
