package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"

	"samelift/internal/chat"
)

// patience bounds the wait for what must come; it is never waited out where all is well.
const patience = 20 * time.Second

// pauses records how long a transport pauses, and lets it go on at once.
type pauses struct {
	mu   sync.Mutex
	list []time.Duration
}

func (p *pauses) record(tr *Transport) {
	tr.sleep = func(ctx context.Context, d time.Duration) error {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.list = append(p.list, d)
		return ctx.Err()
	}
}

func (p *pauses) all() []time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.list)
}

// running is a Receive in the background.
type running struct {
	t   *testing.T
	got chan chat.Inbound
	end func() error
}

func run(t *testing.T, tr *Transport) *running {
	ctx, cancel := context.WithCancel(context.Background())
	r := &running{t: t, got: make(chan chat.Inbound, 1000)}
	done := make(chan error, 1)
	go func() {
		done <- tr.Receive(ctx, func(_ context.Context, in chat.Inbound) error {
			r.got <- in
			return nil
		})
	}()
	r.end = sync.OnceValue(func() error {
		cancel()
		select {
		case err := <-done:
			return err
		case <-time.After(patience):
			return errors.New("Receive does not end")
		}
	})
	t.Cleanup(func() { _ = r.end() })
	return r
}

func (r *running) next() chat.Inbound {
	r.t.Helper()
	return await(r.t, r.got)
}

// await is what comes out of c.
func await[T any](t *testing.T, c <-chan T) T {
	t.Helper()
	select {
	case v := <-c:
		return v
	case <-time.After(patience):
		t.Fatal("what must come does not")
		panic("unreachable")
	}
}

func TestUpdatesAreMapped(t *testing.T) {
	user := object{"id": 7, "is_bot": false, "first_name": "Ann", "language_code": "pt-BR"}
	private := object{"id": 7, "type": "private"}
	group := object{"id": -100, "type": "supergroup", "title": "Team"}
	at := time.Unix(1700000000, 0).UTC()
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	ann := chat.Address{Transport: Name, Chat: "7"}
	message := func(more object) object {
		m := object{"message_id": 3, "date": 1700000000, "from": user, "chat": private}
		for k, v := range more {
			if m[k] = v; v == nil {
				delete(m, k)
			}
		}
		return m
	}
	press := func(more object) object {
		m := object{"id": "q", "from": user, "chat_instance": "1", "data": "v1:a", "message": object{"message_id": 9, "date": 0, "chat": private}}
		for k, v := range more {
			if m[k] = v; v == nil {
				delete(m, k)
			}
		}
		return m
	}
	member := func(ch object, status string) object {
		bot := object{"id": 1, "first_name": "Samelift"}
		return object{"chat": ch, "from": user, "date": 1700000000,
			"old_chat_member": object{"user": bot, "status": "member"}, "new_chat_member": object{"user": bot, "status": status}}
	}
	tests := []struct {
		name, kind string
		value      object
		want       *chat.Inbound // nil: the bot is not told
	}{
		{"text", "message", message(object{"text": "hello"}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindText, At: at, Text: "hello", Lang: "pt-BR"}},
		{"text from nobody", "message", message(object{"text": "hello", "from": nil}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindText, At: at, Text: "hello"}},
		{"long text is cut", "message", message(object{"text": strings.Repeat("ж", chat.MaxText+1)}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindText, At: at, Text: strings.Repeat("ж", chat.MaxText), Lang: "pt-BR"}},
		{"sticker", "message", message(object{"sticker": object{"file_id": "s"}}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindOther, At: at, Lang: "pt-BR"}},
		{"a kind of message from the future", "message", message(object{"hologram": object{"x": 1}}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindOther, At: at, Lang: "pt-BR"}},
		{"photo with words", "message", message(object{"photo": []object{{"file_id": "p"}}, "caption": "this one?"}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindOther, At: at, Text: "this one?", Lang: "pt-BR"}},
		{"document of another kind", "message", message(object{"document": object{"file_id": "d", "file_name": "a.exe", "file_size": 3}}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindOther, At: at, Lang: "pt-BR"}},
		{"document that is gone", "message", message(object{"document": object{"file_id": "gone", "file_name": "a.yaml", "file_size": 3}}),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindOther, At: at, Lang: "pt-BR"}},
		{"pinned", "message", message(object{"pinned_message": message(nil)}), nil},
		{"group text", "message", message(object{"chat": group, "text": "/start@samelift_bot"}),
			&chat.Inbound{From: chat.Address{Transport: Name, Chat: "-100"}, Kind: chat.KindText, At: at, Text: "/start@samelift_bot", Lang: "pt-BR"}},
		{"group sticker", "message", message(object{"chat": group, "sticker": object{"file_id": "s"}}), nil},
		{"group document", "message", message(object{"chat": group, "document": object{"file_id": "d", "file_name": "a.yaml"}}), nil},
		{"joined a group", "message", message(object{"chat": group, "new_chat_members": []object{user}}), nil},
		{"channel", "message", message(object{"chat": object{"id": -5, "type": "channel"}, "text": "news", "from": nil}), nil},
		{"channel post", "channel_post", message(object{"chat": object{"id": -5, "type": "channel"}, "text": "news", "from": nil}), nil},
		{"edited", "edited_message", message(object{"text": "hello"}), nil},
		{"press under an old message", "callback_query", press(nil),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindChoice, At: now, Choice: "v1:a", Message: "9", Lang: "pt-BR"}},
		{"press in a group", "callback_query", press(object{"message": object{"message_id": 9, "date": 1, "chat": group, "text": "x"}}),
			&chat.Inbound{From: chat.Address{Transport: Name, Chat: "-100"}, Kind: chat.KindChoice, At: now, Choice: "v1:a", Message: "9", Lang: "pt-BR"}},
		{"press without a message", "callback_query", press(object{"message": nil}), nil},
		{"press without data", "callback_query", press(object{"data": nil}), nil},
		{"press with made-up data", "callback_query", press(object{"data": strings.Repeat("x", 65)}), nil},
		{"blocked", "my_chat_member", member(private, "kicked"),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindLeft, At: at, Lang: "pt-BR"}},
		{"unblocked", "my_chat_member", member(private, "member"),
			&chat.Inbound{From: ann, Private: true, Kind: chat.KindReturns, At: at, Lang: "pt-BR"}},
		{"put out of a group", "my_chat_member", member(group, "kicked"), nil},
		{"of another type than it should be", "message", object{"message_id": "three", "chat": 5}, nil},
		{"nothing known", "something_new", object{}, nil},
	}
	f := newFake(t)
	tr, _ := f.transport(func(c *Config) { c.Now = func() time.Time { return now } })
	f.next("getFile", refusal(400, "Bad Request: wrong file_id or the file is temporarily unavailable", ""))
	r := run(t, tr)
	for _, tt := range tests {
		id := f.push(tt.kind, tt.value)
		// What comes after shows that the update did not stop the line.
		f.say(ann, "next")
		got := r.next()
		if tt.want != nil {
			tt.want.ID = strconv.Itoa(id) + "-1700000000"
			if tt.want.Kind == chat.KindChoice {
				tt.want.ID = strconv.Itoa(id) + "-q"
			}
			if got != *tt.want {
				t.Errorf("%s: got %+v, want %+v", tt.name, got, *tt.want)
			}
			got = r.next()
		}
		if got.Text != "next" {
			t.Errorf("%s: then got %+v", tt.name, got)
		}
	}
	for _, c := range f.made("getUpdates") {
		if c.params["allowed_updates"] != allowedUpdates {
			t.Fatalf("asked for updates %q", c.params["allowed_updates"])
		}
	}
}

// FuzzInbound: no update, however odd, stops the process.
func FuzzInbound(f *testing.F) {
	for _, s := range []string{`{}`, `{"message":{}}`, `{"callback_query":{"message":{}}}`, `{"my_chat_member":{}}`,
		`{"message":{"chat":{"id":1,"type":"private"},"text":"a"}}`, `{"callback_query":{"data":"x","message":{"chat":{}}}}`,
		`{"message":{"chat":{"id":1,"type":"private"},"document":{"file_name":"..yaml","file_size":9999999}}}`} {
		f.Add(s)
	}
	tr, err := New(Config{Token: testToken, API: "http://127.0.0.1:1"})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, s string) {
		u, err := decode([]byte(s))
		if err != nil {
			return
		}
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		if in, ok := tr.inbound(u, tr.prefetch(ctx, []tgbotapi.Update{u})); ok && in.Kind == "" {
			t.Errorf("an inbound message without a kind: %+v", in)
		}
	})
}

func TestDocuments(t *testing.T) {
	tests := []struct {
		name string
		want string // the name the bot sees; empty: it sees no file
	}{
		{"site.yaml", "site.yaml"},
		{"SITE.YML", "SITE.YML"},
		{"rota.csv", "rota.csv"},
		{"rota.ics", "rota.ics"},
		{"notes.txt", "notes.txt"},
		{"../../etc/site.yaml", "site.yaml"},
		{`C:\site.yaml`, "site.yaml"},
		{"a\u202etxt\x00.yaml", "atxt.yaml"},
		{strings.Repeat("ж", 200) + ".yaml", strings.Repeat("ж", 95) + ".yaml"},
		{"site.yaml.exe", ""},
		{"yaml", ""},
		{"", ""},
	}
	f := newFake(t)
	tr, _ := f.transport()
	r := run(t, tr)
	ann := f.person()
	for _, tt := range tests {
		f.document(ann, tt.name, []byte("a: 1\n"))
		in := r.next()
		if tt.want == "" {
			if in.Kind != chat.KindOther || in.File != nil {
				t.Errorf("%q: got %+v", tt.name, in)
			}
			continue
		}
		if in.Kind != chat.KindFile || in.File == nil || in.File.Name != tt.want || string(in.File.Data) != "a: 1\n" {
			t.Errorf("%q: got %+v %+v", tt.name, in, in.File)
		}
	}
	// A document may be larger than the update says.
	f.mu.Lock()
	f.files["liar"] = make([]byte, chat.MaxFile+1)
	f.mu.Unlock()
	f.write(ann, object{"document": object{"file_id": "liar", "file_name": "a.yaml", "file_size": 10}})
	if in := r.next(); in.Kind != chat.KindOther || in.File != nil {
		t.Errorf("too large: got %q", in.Kind)
	}
}

// A heap of documents, none of which ends, keeps the next message waiting for no
// longer than one of them; those above the limit are not fetched at all.
func TestManyDocumentsAtOnce(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ann := f.person()
	all := make(chan struct{})
	var mu sync.Mutex
	asked := 0
	together := func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		if asked++; asked == maxDownloads {
			close(all)
		}
		mu.Unlock()
		select { // each waits for all the others: they are fetched at once
		case <-all:
		case <-r.Context().Done():
		}
		refusal(400, "Bad Request: invalid file_id", "")(w, r)
	}
	for range maxDownloads {
		f.next("getFile", together)
	}
	for range maxDownloads + 5 {
		f.document(ann, "site.yaml", []byte("a"))
	}
	f.say(ann, "help")
	r := run(t, tr)
	for range maxDownloads + 5 {
		if in := r.next(); in.Kind != chat.KindOther {
			t.Errorf("got %+v", in)
		}
	}
	if in := r.next(); in.Text != "help" {
		t.Errorf("got %+v", in)
	}
	if n := len(f.made("getFile")); n != maxDownloads {
		t.Errorf("%d documents were fetched, want %d", n, maxDownloads)
	}
}

func TestOffsetMovesOnlyPastWhatWasAccepted(t *testing.T) {
	f := newFake(t)
	tr, l := f.transport()
	var p pauses
	p.record(tr)
	ann := f.person()
	for i := range 3 {
		f.say(ann, fmt.Sprint(i))
	}
	ctx, cancel := context.WithCancel(context.Background())
	var got []string
	err := tr.Receive(ctx, func(_ context.Context, in chat.Inbound) error {
		got = append(got, in.Text)
		if in.Text == "1" {
			if len(got) == 4 {
				cancel() // the process is told to stop while the disk is still full
			}
			return errors.New("the disk is full, token " + testToken)
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("Receive ended with %v", err)
	}
	if want := []string{"0", "1", "1", "1"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if n := len(p.all()); n != 2 {
		t.Errorf("paused %d times, want 2", n)
	}
	if !strings.Contains(l.String(), "the disk is full") {
		t.Errorf("the operator does not see why: %s", l)
	}
	// A restart begins with what was not confirmed, under the same ids: 0 again, which
	// the bot knows, then 1 and 2.
	r := run(t, tr)
	for i := range 3 {
		if in := r.next(); in.Text != fmt.Sprint(i) || in.ID != fmt.Sprintf("%d-1700000000", 1001+i) {
			t.Errorf("after the restart got %+v", in)
		}
	}
	f.say(ann, "3")
	if in := r.next(); in.Text != "3" {
		t.Errorf("then got %+v", in)
	}
	if err := r.end(); !errors.Is(err, context.Canceled) {
		t.Errorf("Receive ended with %v", err)
	}
	calls := f.made("getUpdates")
	if last := calls[len(calls)-1].params["offset"]; last != "1004" && last != "1005" {
		t.Errorf("the last fetch confirms up to %s", last)
	}
}

func TestIDsMayGoDown(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	var p pauses
	p.record(tr)
	ann := f.person()
	empty := func(w http.ResponseWriter, _ *http.Request) { ok(w, []int{}) }
	// Both the fetch after the first update and the next are answered with nothing.
	pass := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { f.poll(w, r, call{params: map[string]string{}}) })
	f.say(ann, "before")
	f.next("getUpdates", pass, func(w http.ResponseWriter, r *http.Request) {
		f.mu.Lock()
		f.updates = nil // the first fetch's offset confirmed it
		f.nextID = 5
		f.mu.Unlock()
		f.say(ann, "after a quiet week")
		empty(w, r)
	})
	r := run(t, tr)
	if in := r.next(); in.Text != "before" || in.ID != "1001-1700000000" {
		t.Errorf("got %+v", in)
	}
	if in := r.next(); in.Text != "after a quiet week" || in.ID != "6-1700000000" {
		t.Errorf("got %+v", in)
	}
	calls := f.made("getUpdates")
	if calls[1].params["offset"] != "1002" || calls[2].params["offset"] != "" {
		t.Errorf("offsets %q, then %q", calls[1].params["offset"], calls[2].params["offset"])
	}
	// An answer of nothing at once, instead of after the wait, does not make it spin.
	if got := p.all(); len(got) != 1 || got[0] != time.Second {
		t.Errorf("paused for %v", got)
	}
}

func TestFailedFetches(t *testing.T) {
	f := newFake(t)
	tr, l := f.transport(func(c *Config) { c.Backoff = Backoff })
	var p pauses
	p.record(tr)
	ann := f.person()
	f.next("getUpdates",
		page(502),
		refusal(500, "Internal Server Error: restart", ""),
		reset,
		refusal(429, "Too Many Requests: retry after 31", `,"parameters":{"retry_after":31}`),
		refusal(409, "Conflict: terminated by other getUpdates request", ""),
		func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, `{"ok":true,"result":{}}`) },
		func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, `{"ok":true,"result":[{"message":{}}]}`) },
		func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, `{"ok":true,"result":[`) },
		page(404),
		refusal(404, "Not Found", ""),
	)
	f.say(ann, "hello")
	r := run(t, tr)
	if in := r.next(); in.Text != "hello" {
		t.Errorf("got %+v", in)
	}
	ms := time.Millisecond
	want := []time.Duration{250 * ms, 500 * ms, 1000 * ms, 31000 * ms, 30000 * ms, 8000 * ms, 16000 * ms, 30000 * ms, 30000 * ms, 30000 * ms}
	if got := p.all(); !slices.Equal(got, want) {
		t.Errorf("paused for %v, want %v", got, want)
	}
	if !strings.Contains(l.String(), "stop the other process") {
		t.Errorf("the log does not say what to do about the other process")
	}
}

func TestRevokedToken(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	f.next("getUpdates", refusal(401, "Unauthorized", ""))
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	err := tr.Receive(ctx, func(context.Context, chat.Inbound) error { return nil })
	if err == nil || ctx.Err() != nil || !strings.Contains(err.Error(), "set the current one") {
		t.Fatalf("Receive ended with %v", err)
	}
	noSecrets(t, err.Error())
	if n := len(f.made("getUpdates")); n != 1 {
		t.Errorf("fetched %d times, want once", n)
	}
}

func TestPlatformIsDownAtStart(t *testing.T) {
	f := newFake(t)
	gate := make(chan struct{})
	var open sync.Once
	down := &http.Transport{}
	client := &http.Client{Transport: roundTrip(func(r *http.Request) (*http.Response, error) {
		select {
		case <-gate:
			return down.RoundTrip(r)
		default:
			return nil, errors.New("dial tcp " + r.URL.String() + ": connection refused")
		}
	})}
	t.Cleanup(down.CloseIdleConnections)
	tr, l := f.transport(func(c *Config) { c.HTTP = client })
	n := 0
	tr.sleep = func(ctx context.Context, _ time.Duration) error {
		if n++; n == 5 {
			open.Do(func() { close(gate) })
		}
		return ctx.Err()
	}
	f.say(f.person(), "hello")
	r := run(t, tr)
	if in := r.next(); in.Text != "hello" {
		t.Errorf("got %+v", in)
	}
	if got := strings.Count(l.String(), "fetching updates failed"); got != 5 {
		t.Errorf("%d failures are logged, want 5", got)
	}
}

type roundTrip func(*http.Request) (*http.Response, error)

func (f roundTrip) RoundTrip(r *http.Request) (*http.Response, error) { return f(r) }

func TestPressesAreAnswered(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ann := f.person()
	// That an answer comes too late, or never, holds up nothing.
	late, stuck := make(chan struct{}), make(chan struct{})
	f.next("answerCallbackQuery", func(w http.ResponseWriter, r *http.Request) {
		refusal(400, "Bad Request: query is too old and response timeout expired or query ID is invalid", "")(w, r)
		close(late)
	}, func(_ http.ResponseWriter, r *http.Request) {
		close(stuck)
		<-r.Context().Done()
	})
	r := run(t, tr)
	f.press(ann, "1", "a")
	r.next()
	await(t, late)
	f.press(ann, "2", "b")
	r.next()
	await(t, stuck)
	f.press(ann, "3", "c")
	if in := r.next(); in.Choice != "c" {
		t.Errorf("got %+v", in)
	}
	if id := await(t, f.answered); id != "q3" {
		t.Errorf("answered %q, want q3", id)
	}
	if err := r.end(); !errors.Is(err, context.Canceled) {
		t.Errorf("Receive ended with %v", err)
	}
}

func TestEndCutsAFetchShort(t *testing.T) {
	asked := make(chan struct{}, 1)
	srv := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		_ = r.ParseForm()
		asked <- struct{}{}
		<-r.Context().Done()
	}))
	defer srv.Close()
	tr, err := New(Config{Token: testToken, API: srv.URL})
	if err != nil {
		t.Fatal(err)
	}
	r := run(t, tr)
	await(t, asked)
	if err := r.end(); !errors.Is(err, context.Canceled) {
		t.Errorf("Receive ended with %v", err)
	}
}

func TestBackoff(t *testing.T) {
	last := time.Duration(0)
	for attempt := range 100 {
		d := Backoff(attempt)
		if d < last || d > 30*time.Second || d <= 0 {
			t.Errorf("attempt %d: %v after %v", attempt, d, last)
		}
		last = d
	}
	if Backoff(-1) != Backoff(0) {
		t.Error("a negative attempt is not the first one")
	}
}

func TestAllowedUpdatesIsAList(t *testing.T) {
	var kinds []string
	if err := json.Unmarshal([]byte(allowedUpdates), &kinds); err != nil || len(kinds) != 3 {
		t.Errorf("%v %v", kinds, err)
	}
}
