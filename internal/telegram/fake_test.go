package telegram

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
)

const testToken = "123456789:AAtest-token_0123456789abcdefghijkl"

// fake is the platform as far as the transport sees it. It holds every request against
// the table of methods and fails the test on one that does not keep to it.
type fake struct {
	t     testing.TB
	srv   *httptest.Server
	conns atomic.Int64 // taken so far

	mu       sync.Mutex
	arrived  chan struct{} // closed and replaced when an update arrives
	updates  []update
	nextID   int
	people   int64
	chats    map[int64][]*message
	nextMsg  map[int64]int
	files    map[string][]byte
	calls    []call
	answered chan string // ids of answered presses
	// script answers the next calls of a method instead of the fake.
	script map[string][]http.HandlerFunc
}

type update struct {
	id  int
	raw json.RawMessage
}

type call struct {
	method string
	params map[string]string
	files  map[string]string // field to file name
}

type message struct {
	id      int
	text    string
	tags    []string
	photo   bool
	quiet   bool
	secret  bool
	buttons [][]chat.Choice
	markup  string
	edits   int // of its picture or the words beneath it
}

func newFake(t testing.TB) *fake {
	f := &fake{
		t: t, arrived: make(chan struct{}), nextID: 1000, chats: map[int64][]*message{}, nextMsg: map[int64]int{},
		files: map[string][]byte{}, answered: make(chan string, 1000), script: map[string][]http.HandlerFunc{},
	}
	f.srv = httptest.NewUnstartedServer(f)
	f.srv.Config.ConnState = func(_ net.Conn, s http.ConnState) {
		if s == http.StateNew {
			f.conns.Add(1)
		}
	}
	f.srv.Start()
	t.Cleanup(func() {
		f.srv.CloseClientConnections()
		f.srv.Close()
	})
	return f
}

// logs is where a transport of the fake logs to; safe for several goroutines.
type logs struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *logs) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *logs) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

// transport is one that talks to the fake and pauses for no time; its log is scanned
// for the token at the end.
func (f *fake) transport(change ...func(*Config)) (*Transport, *logs) {
	l := &logs{}
	cfg := Config{
		Token: testToken, API: f.srv.URL,
		Logger:  slog.New(slog.NewTextHandler(l, &slog.HandlerOptions{Level: slog.LevelDebug})),
		Backoff: func(int) time.Duration { return time.Millisecond },
	}
	for _, c := range change {
		c(&cfg)
	}
	tr, err := New(cfg)
	if err != nil {
		f.t.Fatal(err)
	}
	f.t.Cleanup(func() {
		tr.client.CloseIdleConnections()
		noSecrets(f.t, l.String())
	})
	return tr, l
}

// next scripts the answers to the next calls of a method.
func (f *fake) next(method string, answers ...http.HandlerFunc) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.script[method] = append(f.script[method], answers...)
}

func refusal(code int, desc string, more string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(code)
		fmt.Fprintf(w, `{"ok":false,"error_code":%d,"description":%q%s}`, code, desc, more)
	}
}

func page(code int) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		w.WriteHeader(code)
		fmt.Fprint(w, "<html><h1>Bad Gateway</h1></html>")
	}
}

// reset closes the connection after the request was read, without an answer.
func reset(w http.ResponseWriter, r *http.Request) {
	_, _ = io.Copy(io.Discard, r.Body)
	conn, _, err := w.(http.Hijacker).Hijack()
	if err == nil {
		conn.Close()
	}
}

func ok(w http.ResponseWriter, result any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(map[string]any{"ok": true, "result": result})
}

func (f *fake) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if path, found := strings.CutPrefix(r.URL.Path, "/file/bot"+testToken+"/"); found {
		f.mu.Lock()
		data, known := f.files[path]
		f.mu.Unlock()
		if !known {
			http.NotFound(w, r)
			return
		}
		_, _ = w.Write(data)
		return
	}
	method, found := strings.CutPrefix(r.URL.Path, "/bot"+testToken+"/")
	if !found {
		refusal(401, "Unauthorized", "")(w, r)
		return
	}
	// The script's answers may want the body unread.
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	r.Body = io.NopCloser(bytes.NewReader(body))
	c := call{method: method, params: map[string]string{}, files: map[string]string{}}
	if err := r.ParseMultipartForm(1 << 20); err != nil && err != http.ErrNotMultipart {
		f.t.Errorf("%s: %v", method, err)
	}
	for k, v := range r.PostForm {
		c.params[k] = v[0]
	}
	var names []string
	if r.MultipartForm != nil {
		for k, v := range r.MultipartForm.File {
			c.files[k] = v[0].Filename
			names = append(names, k)
		}
	}
	if err := checkCall(method, c.params, names); err != nil {
		f.t.Error(err)
	}
	f.mu.Lock()
	f.calls = append(f.calls, c)
	var scripted http.HandlerFunc
	if list := f.script[method]; len(list) > 0 {
		scripted, f.script[method] = list[0], list[1:]
	}
	f.mu.Unlock()
	switch {
	case scripted != nil:
		scripted(w, r)
	case method == "getUpdates":
		f.poll(w, r, c)
	default:
		f.do(w, r, c)
	}
}

// poll waits for updates as the platform does, but for no longer than the test lasts.
func (f *fake) poll(w http.ResponseWriter, r *http.Request, c call) {
	offset, _ := strconv.Atoi(c.params["offset"])
	for {
		f.mu.Lock()
		f.updates = slices.DeleteFunc(f.updates, func(u update) bool { return u.id < offset })
		list := []json.RawMessage{}
		for _, u := range f.updates {
			if len(list) < 100 {
				list = append(list, u.raw)
			}
		}
		arrived := f.arrived
		f.mu.Unlock()
		if len(list) > 0 {
			ok(w, list)
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-arrived:
		}
	}
}

func (f *fake) do(w http.ResponseWriter, r *http.Request, c call) {
	f.mu.Lock()
	defer f.mu.Unlock()
	switch c.method {
	case "getMe":
		ok(w, map[string]any{"id": 123456789, "is_bot": true, "first_name": "Samelift", "username": "samelift_bot"})
	case "answerCallbackQuery":
		f.answered <- c.params["callback_query_id"]
		ok(w, true)
	case "getFile":
		ok(w, map[string]any{"file_id": c.params["file_id"], "file_path": c.params["file_id"]})
	case "sendMessage", "sendPhoto":
		id, _ := strconv.ParseInt(c.params["chat_id"], 10, 64)
		if id > f.people {
			refusal(400, "Bad Request: chat not found", "")(w, r)
			return
		}
		m := &message{id: f.nextMsg[id] + 1, quiet: c.params["disable_notification"] == "true", secret: c.params["protect_content"] == "true"}
		field := "text"
		if c.method == "sendPhoto" {
			m.photo, field = true, "caption"
		}
		if !f.fill(w, r, m, c, field) {
			return
		}
		f.nextMsg[id] = m.id
		f.chats[id] = append(f.chats[id], m)
		ok(w, map[string]any{"message_id": m.id, "date": 1, "chat": map[string]any{"id": id, "type": "private"}})
	case "editMessageText":
		id, _ := strconv.ParseInt(c.params["chat_id"], 10, 64)
		i := slices.IndexFunc(f.chats[id], func(m *message) bool { return strconv.Itoa(m.id) == c.params["message_id"] })
		if i < 0 {
			refusal(400, "Bad Request: message to edit not found", "")(w, r)
			return
		}
		old := f.chats[id][i]
		if old.photo {
			refusal(400, "Bad Request: there is no text in the message to edit", "")(w, r)
			return
		}
		m := &message{id: old.id, quiet: old.quiet, secret: old.secret}
		if !f.fill(w, r, m, c, "text") {
			return
		}
		if m.text == old.text && m.markup == old.markup {
			refusal(400, "Bad Request: message is not modified: specified new message content and reply markup are exactly the same", "")(w, r)
			return
		}
		f.chats[id][i] = m
		ok(w, map[string]any{"message_id": m.id, "date": 1, "chat": map[string]any{"id": id, "type": "private"}})
	case "editMessageMedia", "editMessageCaption":
		id, _ := strconv.ParseInt(c.params["chat_id"], 10, 64)
		i := slices.IndexFunc(f.chats[id], func(m *message) bool { return strconv.Itoa(m.id) == c.params["message_id"] })
		switch {
		case i < 0:
			refusal(400, "Bad Request: message to edit not found", "")(w, r)
			return
		case !f.chats[id][i].photo:
			refusal(400, "Bad Request: there is no media in the message to edit", "")(w, r)
			return
		}
		old := f.chats[id][i]
		m := &message{id: old.id, quiet: old.quiet, secret: old.secret, photo: true, edits: old.edits + 1}
		if raw := c.params["media"]; raw != "" {
			var media map[string]string
			if err := json.Unmarshal([]byte(raw), &media); err != nil {
				refusal(400, "Bad Request: can't parse InputMedia", "")(w, r)
				return
			}
			c.params["caption"], c.params["parse_mode"] = media["caption"], media["parse_mode"]
		}
		if !f.fill(w, r, m, c, "caption") {
			return
		}
		f.chats[id][i] = m
		ok(w, map[string]any{"message_id": m.id, "date": 1, "chat": map[string]any{"id": id, "type": "private"}})
	case "editMessageReplyMarkup":
		id, _ := strconv.ParseInt(c.params["chat_id"], 10, 64)
		for _, m := range f.chats[id] {
			if strconv.Itoa(m.id) == c.params["message_id"] {
				m.buttons, m.markup = nil, ""
				ok(w, true)
				return
			}
		}
		refusal(400, "Bad Request: message to edit not found", "")(w, r)
	case "setMyCommands", "setMyDescription", "setMyShortDescription":
		ok(w, true)
	default:
		refusal(404, "Not Found: method not found", "")(w, r)
	}
}

// fill puts a call's text and buttons into m, or answers why it cannot.
func (f *fake) fill(w http.ResponseWriter, r *http.Request, m *message, c call, field string) bool {
	m.text = c.params[field]
	if c.params["parse_mode"] == "HTML" {
		var err error
		if m.text, m.tags, err = parseHTML(m.text); err != nil {
			refusal(400, "Bad Request: can't parse entities: "+err.Error(), "")(w, r)
			return false
		}
	}
	m.markup = c.params["reply_markup"]
	if m.markup != "" {
		var board struct {
			Rows [][]struct {
				Text string
				Data string `json:"callback_data"`
				URL  string
			} `json:"inline_keyboard"`
		}
		if err := json.Unmarshal([]byte(m.markup), &board); err != nil {
			f.t.Errorf("%s: %v", c.method, err)
		}
		for _, row := range board.Rows {
			var out []chat.Choice
			for _, b := range row {
				out = append(out, chat.Choice{Label: b.Text, Data: b.Data, URL: b.URL})
			}
			m.buttons = append(m.buttons, out)
		}
	}
	return true
}

var tagForm = regexp.MustCompile(`</?([a-z]+)>|[<>]|&[a-z]*;?`)

// parseHTML reads the tags and entities that the platform knows, strictly: anything
// that is not one of ours is an error.
func parseHTML(s string) (plain string, tags []string, err error) {
	var open []string
	var out strings.Builder
	at := 0
	for _, loc := range tagForm.FindAllStringSubmatchIndex(s, -1) {
		out.WriteString(s[at:loc[0]])
		at = loc[1]
		found := s[loc[0]:loc[1]]
		switch {
		case strings.HasPrefix(found, "&"):
			if !slices.Contains([]string{"&amp;", "&lt;", "&gt;", "&quot;"}, found) {
				return "", nil, fmt.Errorf("stray %q", found)
			}
			out.WriteString(html.UnescapeString(found))
		case loc[2] < 0:
			return "", nil, fmt.Errorf("stray %q", found)
		case !slices.Contains([]string{"b", "i", "blockquote"}, s[loc[2]:loc[3]]):
			return "", nil, fmt.Errorf("unsupported start tag %q", s[loc[2]:loc[3]])
		case strings.HasPrefix(found, "</"):
			if len(open) == 0 || open[len(open)-1] != s[loc[2]:loc[3]] {
				return "", nil, fmt.Errorf("unexpected end tag %q", found)
			}
			open = open[:len(open)-1]
		default:
			open = append(open, s[loc[2]:loc[3]])
			tags = append(tags, s[loc[2]:loc[3]])
		}
	}
	if len(open) > 0 {
		return "", nil, fmt.Errorf("can't find end tag of %q", open[0])
	}
	out.WriteString(s[at:])
	return out.String(), tags, nil
}

// push queues an update; kind is the name of its field.
func (f *fake) push(kind string, value any) int {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.nextID++
	raw, err := json.Marshal(map[string]any{"update_id": f.nextID, kind: value})
	if err != nil {
		f.t.Fatal(err)
	}
	f.queue(update{f.nextID, raw})
	return f.nextID
}

// queue adds an update as it is; the caller holds mu.
func (f *fake) queue(u update) {
	f.updates = append(f.updates, u)
	close(f.arrived)
	f.arrived = make(chan struct{})
}

type object = map[string]any

func (f *fake) person() chat.Address {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.people++
	return chat.Address{Transport: Name, Chat: strconv.FormatInt(f.people, 10)}
}

func from(a chat.Address) (user, ch object) {
	id, _ := strconv.ParseInt(a.Chat, 10, 64)
	return object{"id": id, "is_bot": false, "first_name": "Ann", "language_code": "pl"},
		object{"id": id, "type": "private", "first_name": "Ann"}
}

func (f *fake) write(a chat.Address, more object) int {
	user, ch := from(a)
	id, _ := strconv.ParseInt(a.Chat, 10, 64)
	f.mu.Lock()
	f.nextMsg[id]++
	m := object{"message_id": f.nextMsg[id], "date": 1700000000, "from": user, "chat": ch}
	f.mu.Unlock()
	for k, v := range more {
		m[k] = v
	}
	return f.push("message", m)
}

func (f *fake) say(a chat.Address, text string) { f.write(a, object{"text": text}) }

func (f *fake) press(a chat.Address, ref, data string) {
	user, ch := from(a)
	id, _ := strconv.Atoi(ref)
	// An inaccessible message has no date and no text; older ones come so.
	f.push("callback_query", object{"id": "q" + ref, "from": user, "chat_instance": "1", "data": data,
		"message": object{"message_id": id, "date": 0, "chat": ch}})
}

func (f *fake) document(a chat.Address, name string, data []byte) {
	f.mu.Lock()
	id := fmt.Sprint("documents/file", len(f.files))
	f.files[id] = data
	f.mu.Unlock()
	f.write(a, object{"document": object{"file_id": id, "file_unique_id": "u", "file_name": name, "file_size": len(data)}})
}

func (f *fake) member(a chat.Address, status string) {
	user, ch := from(a)
	bot := object{"id": 123456789, "is_bot": true, "first_name": "Samelift"}
	f.push("my_chat_member", object{"chat": ch, "from": user, "date": 1700000000,
		"old_chat_member": object{"user": bot, "status": "member"}, "new_chat_member": object{"user": bot, "status": status}})
}

func (f *fake) seen(a chat.Address) []*message {
	f.mu.Lock()
	defer f.mu.Unlock()
	id, _ := strconv.ParseInt(a.Chat, 10, 64)
	var list []*message
	for _, m := range f.chats[id] {
		c := *m
		list = append(list, &c)
	}
	return list
}

// made are the calls of a method so far.
func (f *fake) made(method string) []call {
	f.mu.Lock()
	defer f.mu.Unlock()
	var out []call
	for _, c := range f.calls {
		if c.method == method {
			out = append(out, c)
		}
	}
	return out
}

func TestTelegramPassesTheSuite(t *testing.T) {
	chattest.Exercise(t, func(t *testing.T) *chattest.Harness {
		f := newFake(t)
		tr, _ := f.transport()
		faults := map[chattest.Fault]http.HandlerFunc{
			chattest.FaultDown:      page(502),
			chattest.FaultBusy:      refusal(429, "Too Many Requests: retry after 7", `,"parameters":{"retry_after":7}`),
			chattest.FaultGone:      refusal(403, "Forbidden: bot was blocked by the user", ""),
			chattest.FaultUncertain: reset,
			chattest.FaultRefused:   refusal(400, "Bad Request: message is too long", ""),
		}
		return &chattest.Harness{
			Transport: tr,
			Person:    f.person,
			Say:       f.say,
			Press:     f.press,
			Other: func(a chat.Address) {
				f.write(a, object{"sticker": object{"file_id": "s", "file_unique_id": "s", "width": 1, "height": 1}})
			},
			Group: func(text string) {
				f.push("message", object{"message_id": 1, "date": 1, "text": text, "chat": object{"id": -100, "type": "supergroup", "title": "Team"},
					"from": object{"id": 5, "first_name": "Ann"}})
			},
			Leave:  func(a chat.Address) { f.member(a, "kicked") },
			Return: func(a chat.Address) { f.member(a, "member") },
			Upload: f.document,
			Fail: func(fault chattest.Fault) bool {
				f.next("sendMessage", faults[fault])
				return true
			},
			Seen: func(a chat.Address) []chattest.Seen {
				var out []chattest.Seen
				ahead := ""
				for _, m := range f.seen(a) {
					ref := refOf(strconv.Itoa(m.id), ahead)
					if ahead = ""; m.photo && m.text == "" {
						ahead = strconv.Itoa(m.id)
					}
					out = append(out, chattest.Seen{Ref: ref, Text: m.text, Choices: m.buttons, Picture: m.photo})
				}
				return out
			},
		}
	})
}

// noSecrets fails if a text holds the token, its secret half, or a word that only ever
// stands in messages.
func noSecrets(t testing.TB, s string) {
	t.Helper()
	_, secret, _ := strings.Cut(testToken, ":")
	for _, bad := range []string{secret, "/bot1", privateWord} {
		if strings.Contains(s, bad) {
			t.Errorf("%q is shown in: %s", bad, s)
		}
	}
}

// privateWord stands for anything about a person in a message's text.
const privateWord = "Halina"
