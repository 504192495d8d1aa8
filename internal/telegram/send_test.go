package telegram

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
)

func out(to chat.Address, text string) chat.Outbound {
	return chat.Outbound{Key: text, To: to, Body: []chat.Paragraph{{Text: text}}}
}

func TestParameters(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ann := f.person()
	ctx := context.Background()
	rows := [][]chat.Choice{{{Label: "Yes", Data: "1"}, {Label: "Guide", URL: "https://example.org/?a=1&b=2"}}, {}, {{Label: " No\x00 ", Data: "2"}}}
	board := `{"inline_keyboard":[[{"text":"Yes","callback_data":"1"},{"text":"Guide","url":"https://example.org/?a=1\u0026b=2"}],[{"text":"No","callback_data":"2"}]]}`
	tests := []struct {
		name, method string
		out          chat.Outbound
		want         map[string]string
	}{
		{"plain", "sendMessage", out(ann, "hello"),
			map[string]string{"text": "hello", "parse_mode": "HTML", "link_preview_options": noPreview}},
		{"quiet, secret, with choices", "sendMessage",
			chat.Outbound{To: ann, Quiet: true, Secret: true, Body: []chat.Paragraph{{Text: "a"}}, Choices: rows},
			map[string]string{"text": "a", "parse_mode": "HTML", "link_preview_options": noPreview,
				"disable_notification": "true", "protect_content": "true", "reply_markup": board}},
		{"edit", "editMessageText",
			chat.Outbound{To: ann, Edit: "1", Quiet: true, Secret: true, Body: []chat.Paragraph{{Text: "b"}}, Choices: rows},
			map[string]string{"message_id": "1", "text": "b", "parse_mode": "HTML", "link_preview_options": noPreview, "reply_markup": board}},
		{"picture", "sendPhoto",
			chat.Outbound{To: ann, Secret: true, Body: []chat.Paragraph{{Style: chat.Strong, Text: "a"}},
				Picture: &chat.Picture{Name: "Halina.png", PNG: chattest.OnePixel, Alt: "x"}},
			map[string]string{"caption": "<b>a</b>", "parse_mode": "HTML", "protect_content": "true"}},
	}
	for _, tt := range tests {
		if _, err := tr.Send(ctx, tt.out); err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		calls := f.made(tt.method)
		got := calls[len(calls)-1]
		tt.want["chat_id"] = ann.Chat
		if !equal(got.params, tt.want) {
			t.Errorf("%s: sent %q, want %q", tt.name, got.params, tt.want)
		}
		for _, name := range got.files {
			noSecrets(t, name)
		}
	}
}

func equal(a, b map[string]string) bool {
	if len(a) != len(b) {
		return false
	}
	for k, v := range a {
		if b[k] != v {
			return false
		}
	}
	return true
}

func TestRefusedHere(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ann := f.person()
	with := func(rows ...[]chat.Choice) chat.Outbound {
		o := out(ann, "a")
		o.Choices = rows
		return o
	}
	group := out(chat.Address{Transport: Name, Chat: "-100"}, "a")
	group.Secret = true
	tests := []struct {
		name string
		out  chat.Outbound
	}{
		{"another transport's address", out(chat.Address{Transport: "page", Chat: "1"}, "a")},
		{"no number", out(chat.Address{Transport: Name, Chat: "@channel"}, "a")},
		{"about a client, to a group", group},
		{"a button without a label", with([]chat.Choice{{Label: " ", Data: "1"}})},
		{"a button without data", with([]chat.Choice{{Label: "a"}})},
		{"a button with both", with([]chat.Choice{{Label: "a", Data: "1", URL: "https://example.org"}})},
		{"data too long", with([]chat.Choice{{Label: "a", Data: strings.Repeat("x", chat.MaxData+1)}})},
		{"a row too long", with(make([]chat.Choice, maxButtonsInRow+1))},
	}
	for _, tt := range tests {
		_, err := tr.Send(context.Background(), tt.out)
		if !errors.Is(err, chat.ErrRefused) {
			t.Errorf("%s: got %v", tt.name, err)
		}
	}
	if n := len(f.made("sendMessage")); n != 0 {
		t.Errorf("%d calls were made, want none", n)
	}
}

// class is the word for what a failed send means.
func class(err error) string {
	var wait *chat.RetryAfter
	switch {
	case err == nil:
		return "sent"
	case errors.As(err, &wait):
		return "wait " + wait.Wait.String()
	case errors.Is(err, chat.ErrGone):
		return "gone"
	case errors.Is(err, chat.ErrUncertain):
		return "uncertain"
	case errors.Is(err, chat.ErrRefused):
		return "refused"
	}
	return "again"
}

func TestMeaningOfAnswers(t *testing.T) {
	const retry = `,"parameters":{"retry_after":7}`
	short := func(w http.ResponseWriter, r *http.Request) { // cut off within the answer
		w.Header().Set("Content-Length", "500")
		fmt.Fprint(w, `{"ok":true,"result":`)
	}
	tests := []struct {
		name    string
		answer  http.HandlerFunc
		message string // what a new message's failure means
		edit    string // and an edit's
	}{
		{"blocked", refusal(403, "Forbidden: bot was blocked by the user", ""), "gone", "gone"},
		{"deactivated", refusal(403, "Forbidden: user is deactivated", ""), "gone", "gone"},
		{"never started", refusal(403, "Forbidden: bot can't initiate conversation with a user", ""), "gone", "gone"},
		{"no chat", refusal(400, "Bad Request: chat not found", ""), "gone", "gone"},
		{"no private chat", refusal(400, "Bad Request: private chat not found", ""), "gone", "gone"},
		{"busy", refusal(429, "Too Many Requests: retry after 7", retry), "wait 7s", "wait 7s"},
		{"busy without a time", refusal(429, "Too Many Requests", ""), "wait 1s", "wait 1s"},
		{"too long", refusal(400, "Bad Request: message is too long", ""), "refused", "refused"},
		{"too large", refusal(413, "Request Entity Too Large", ""), "refused", "refused"},
		{"odd button", refusal(400, "Bad Request: BUTTON_DATA_INVALID", ""), "refused", "refused"},
		{"revoked", refusal(401, "Unauthorized", ""), "again", "again"},
		{"restart", refusal(500, "Internal Server Error: restart", ""), "again", "again"},
		{"bad gateway, as JSON", refusal(502, "Bad Gateway", ""), "again", "again"},
		{"bad gateway, as a page", page(502), "again", "again"},
		{"unavailable, as a page", page(503), "again", "again"},
		{"a proxy's page", page(403), "again", "again"},
		{"moved", func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "https://example.org"+r.URL.Path, http.StatusTemporaryRedirect)
		}, "again", "again"},
		{"gateway timeout", page(504), "uncertain", "again"},
		{"a page that all is well", page(200), "uncertain", "again"},
		{"an empty object", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "{}") }, "uncertain", "again"},
		{"cut off", short, "uncertain", "again"},
		{"reset", reset, "uncertain", "again"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := newFake(t)
			tr, _ := f.transport()
			ann := f.person()
			f.next("sendMessage", tt.answer)
			f.next("editMessageText", tt.answer)
			f.next("sendPhoto", tt.answer)
			message := out(ann, "For "+privateWord)
			edit := message
			edit.Edit = "1"
			picture := message
			picture.Picture = &chat.Picture{PNG: chattest.OnePixel, Alt: privateWord}
			_, err := tr.Send(context.Background(), message)
			_, errEdit := tr.Send(context.Background(), edit)
			_, errPicture := tr.Send(context.Background(), picture)
			if got := class(err); got != tt.message {
				t.Errorf("a message: got %q (%v), want %q", got, err, tt.message)
			}
			if got := class(errEdit); got != tt.edit {
				t.Errorf("an edit: got %q (%v), want %q", got, errEdit, tt.edit)
			}
			want := tt.message
			if want == "refused" {
				want = "sent" // the words instead of the picture
			}
			if got := class(errPicture); got != want {
				t.Errorf("a picture: got %q (%v), want %q", got, errPicture, want)
			}
			for _, err := range []error{err, errEdit, errPicture} {
				if err != nil {
					noSecrets(t, fmt.Sprintf("%v %+v %#v", err, err, err.Error()))
				}
			}
		})
	}
}

// Errors never show what the platform quotes of a message.
func TestErrorsQuoteNothing(t *testing.T) {
	for _, desc := range []string{
		`Bad Request: can't parse entities: Unsupported start tag "Halina" at byte offset 3`,
		`Bad Request: inline keyboard button URL 'Halina' is invalid: Wrong HTTP URL`,
		`Bad Request: can't find Halina`[:23] + `: Halina`,
		"Bad Request: wrong thing: Halina",
		"Bad Request: ä Halina",
		strings.Repeat("Bad Request ", 10) + "Halina",
	} {
		f := newFake(t)
		tr, _ := f.transport()
		f.next("sendMessage", refusal(400, desc, ""), refusal(400, desc, ""))
		_, err := tr.Send(context.Background(), out(f.person(), "For Halina"))
		if !errors.Is(err, chat.ErrRefused) || !strings.Contains(err.Error(), "Bad Request") {
			t.Errorf("got %v", err)
		}
		noSecrets(t, err.Error())
	}
}

func TestConnectionErrors(t *testing.T) {
	closed := httptest.NewServer(http.NotFoundHandler())
	closed.Close()
	ann := chat.Address{Transport: Name, Chat: "1"}
	broken := &net.OpError{Op: "write", Err: errors.New(testToken + ": broken pipe")}
	tests := []struct {
		name   string
		api    string
		client *http.Client
		want   string
	}{
		{"refused", closed.URL, nil, "again"},
		{"no such host", "https://telegram.invalid", &http.Client{Transport: &http.Transport{
			DialContext: func(context.Context, string, string) (net.Conn, error) {
				return nil, &net.DNSError{Err: "no such host", Name: "telegram.invalid"}
			}}}, "again"},
		{"an address in the error", closed.URL, &http.Client{Transport: roundTrip(func(r *http.Request) (*http.Response, error) {
			return nil, errors.New("proxy: no way to " + r.URL.String())
		})}, "again"},
		{"the write fails", closed.URL, &http.Client{Transport: &http.Transport{
			DialContext: func(context.Context, string, string) (net.Conn, error) { return deafConn{broken}, nil }}}, "again"},
		{"written, then nothing", closed.URL, &http.Client{Transport: &http.Transport{
			DialContext: func(context.Context, string, string) (net.Conn, error) {
				return &muteConn{read: make(chan struct{})}, nil
			}}}, "uncertain"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var l logs
			tr, err := New(Config{Token: testToken, API: tt.api, HTTP: tt.client, SendTimeout: 100 * time.Millisecond, Logger: slog.New(slog.NewTextHandler(&l, nil))})
			if err != nil {
				t.Fatal(err)
			}
			_, err = tr.Send(context.Background(), out(ann, "For Halina"))
			if got := class(err); got != tt.want {
				t.Errorf("got %q (%v), want %q", got, err, tt.want)
			}
			noSecrets(t, err.Error())
			_, err = tr.Me(context.Background())
			if err == nil {
				t.Error("no error of Me")
			} else {
				noSecrets(t, err.Error())
			}
			noSecrets(t, l.String())
		})
	}
}

// deafConn fails every write.
type deafConn struct{ err error }

func (c deafConn) Read([]byte) (int, error)         { select {} }
func (c deafConn) Write([]byte) (int, error)        { return 0, c.err }
func (c deafConn) Close() error                     { return nil }
func (c deafConn) LocalAddr() net.Addr              { return &net.TCPAddr{} }
func (c deafConn) RemoteAddr() net.Addr             { return &net.TCPAddr{} }
func (c deafConn) SetDeadline(time.Time) error      { return nil }
func (c deafConn) SetReadDeadline(time.Time) error  { return nil }
func (c deafConn) SetWriteDeadline(time.Time) error { return nil }

// muteConn takes every write and answers nothing.
type muteConn struct {
	deafConn
	read chan struct{}
}

func (c *muteConn) Read([]byte) (int, error)    { <-c.read; return 0, io.EOF }
func (c *muteConn) Write(p []byte) (int, error) { return len(p), nil }
func (c *muteConn) Close() error {
	select {
	case <-c.read:
	default:
		close(c.read)
	}
	return nil
}

func TestEndedContextWhileSending(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ctx, cancel := context.WithCancel(context.Background())
	f.next("sendMessage", func(_ http.ResponseWriter, r *http.Request) {
		cancel()
		<-r.Context().Done()
	})
	_, err := tr.Send(ctx, out(f.person(), "hello"))
	if class(err) != "uncertain" || !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func TestMarkupThatCannotBeReadIsLeftOut(t *testing.T) {
	f := newFake(t)
	tr, l := f.transport()
	ann := f.person()
	bad := refusal(400, `Bad Request: can't parse entities: Unsupported start tag "Halina" at byte offset 0`, "")
	f.next("sendMessage", bad)
	f.next("editMessageText", bad)
	f.next("sendPhoto", bad)
	o := chat.Outbound{To: ann, Body: []chat.Paragraph{{Style: chat.Strong, Text: "<Halina>"}}}
	sent, err := tr.Send(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	o.Picture = &chat.Picture{PNG: chattest.OnePixel}
	if _, err := tr.Send(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	seen := f.seen(ann)
	if len(seen) != 2 || seen[0].text != "<Halina>" || len(seen[0].tags) != 0 || seen[1].text != "<Halina>" || !seen[1].photo {
		t.Errorf("seen %+v", seen)
	}
	o.Picture, o.Edit, o.Body[0].Text = nil, sent.Ref, "<Jan>"
	if _, err := tr.Send(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	if seen := f.seen(ann); seen[0].text != "<Jan>" {
		t.Errorf("seen %+v", seen[0])
	}
	if n := strings.Count(l.String(), "could not read the markup"); n != 3 {
		t.Errorf("logged %d times, want 3", n)
	}
}

func TestGroupThatMoved(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	moved := refusal(400, "Bad Request: group chat was upgraded to a supergroup chat", `,"parameters":{"migrate_to_chat_id":-1001}`)
	f.next("sendMessage", moved)
	to := chat.Address{Transport: Name, Chat: "-5"}
	if _, err := tr.Send(context.Background(), out(to, "hello")); err != nil {
		t.Fatal(err)
	}
	calls := f.made("sendMessage")
	if len(calls) != 2 || calls[1].params["chat_id"] != "-1001" {
		t.Errorf("calls %v", calls)
	}
	// It is followed once, not for ever.
	f.next("sendMessage", moved, moved)
	if _, err := tr.Send(context.Background(), out(to, "hello")); class(err) != "refused" {
		t.Errorf("got %v", err)
	}
}

func TestPictures(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ctx := context.Background()
	o := func(n int) chat.Outbound {
		o := out(f.person(), strings.Repeat("a", n))
		o.Picture = &chat.Picture{PNG: chattest.OnePixel, Alt: "A sling with four loops"}
		return o
	}
	t.Run("1024 characters are a caption", func(t *testing.T) {
		o := o(1024)
		if _, err := tr.Send(ctx, o); err != nil {
			t.Fatal(err)
		}
		if seen := f.seen(o.To); len(seen) != 1 || !seen[0].photo || len(seen[0].text) != 1024 {
			t.Errorf("seen %d messages", len(seen))
		}
	})
	t.Run("more follow it", func(t *testing.T) {
		o := o(1025)
		o.Quiet, o.Secret = true, true
		if _, err := tr.Send(ctx, o); err != nil {
			t.Fatal(err)
		}
		seen := f.seen(o.To)
		if len(seen) != 2 || !seen[0].photo || seen[0].text != "" || seen[1].photo || len(seen[1].text) != 1025 {
			t.Fatalf("seen %d messages", len(seen))
		}
		for _, m := range seen {
			if !m.quiet || !m.secret {
				t.Errorf("quiet %v, secret %v", m.quiet, m.secret)
			}
		}
	})
	t.Run("one that went out is not sent again with its text", func(t *testing.T) {
		o := o(2000)
		for _, fault := range []http.HandlerFunc{page(502), refusal(429, "Too Many Requests", "")} {
			f.next("sendMessage", fault)
			if _, err := tr.Send(ctx, o); err == nil {
				t.Fatal("no error")
			}
		}
		if _, err := tr.Send(ctx, o); err != nil {
			t.Fatal(err)
		}
		if seen := f.seen(o.To); len(seen) != 2 || !seen[0].photo || seen[1].photo {
			t.Errorf("seen %d messages, want the picture and the text", len(seen))
		}
		if len(tr.pictured) != 0 {
			t.Errorf("%d messages are remembered for nothing", len(tr.pictured))
		}
	})
	t.Run("one that is refused is replaced by its words", func(t *testing.T) {
		o := o(10)
		o.Choices = [][]chat.Choice{{{Label: "More", Data: "1"}}}
		f.next("sendPhoto", refusal(400, "Bad Request: PHOTO_INVALID_DIMENSIONS", ""))
		if _, err := tr.Send(ctx, o); err != nil {
			t.Fatal(err)
		}
		seen := f.seen(o.To)
		if len(seen) != 1 || seen[0].photo || !strings.HasSuffix(seen[0].text, "\nA sling with four loops") || len(seen[0].buttons) != 1 {
			t.Errorf("seen %+v", seen)
		}
		if len(o.Body) != 1 {
			t.Error("the caller's body was changed")
		}
	})
	t.Run("an edit that has one, or is of one, is a new message", func(t *testing.T) {
		withPicture := o(10)
		to := withPicture.To
		button := [][]chat.Choice{{{Label: "More", Data: "1"}}}
		words := out(to, "words")
		words.Choices, withPicture.Choices = button, button
		for i, o := range []chat.Outbound{words, withPicture, words} {
			if i > 0 {
				o.Edit = fmt.Sprint(i)
			}
			// That the old message keeps its buttons fails nothing.
			if i == 2 {
				f.next("editMessageReplyMarkup", page(502))
			}
			if sent, err := tr.Send(ctx, o); err != nil || sent.Ref != fmt.Sprint(i+1) {
				t.Fatalf("step %d: got %v %v", i, sent, err)
			}
		}
		seen := f.seen(to)
		if len(seen) != 3 || seen[0].photo || !seen[1].photo || seen[2].photo {
			t.Fatalf("seen %+v", seen)
		}
		if len(seen[0].buttons) != 0 || len(seen[1].buttons) != 1 || len(seen[2].buttons) != 1 {
			t.Errorf("buttons %v, %v, %v", seen[0].buttons, seen[1].buttons, seen[2].buttons)
		}
	})
}

func TestConnectionsAreKept(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ann := f.person()
	for range 5 {
		done := make(chan error, 20)
		for range cap(done) {
			go func() {
				_, err := tr.Send(context.Background(), out(ann, "hello"))
				done <- err
			}()
		}
		for range cap(done) {
			if err := <-done; err != nil {
				t.Fatal(err)
			}
		}
	}
	if n := f.conns.Load(); n > 40 {
		t.Errorf("%d connections for 100 messages, at most 20 at once", n)
	}
}

// The platform speaks HTTP/2, where a request is cut off in other ways.
func TestOverHTTP2(t *testing.T) {
	f := newFake(t)
	protos := make(chan string, 10)
	srv := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		protos <- r.Proto
		f.ServeHTTP(w, r)
	}))
	srv.EnableHTTP2 = true
	srv.Config.ErrorLog = log.New(io.Discard, "", 0)
	srv.StartTLS()
	defer srv.Close()
	tr, err := New(Config{Token: testToken, API: srv.URL})
	if err != nil {
		t.Fatal(err)
	}
	ours := tr.client.Transport.(*http.Transport)
	ours.TLSClientConfig = srv.Client().Transport.(*http.Transport).TLSClientConfig
	defer ours.CloseIdleConnections()
	ann := f.person()
	aborted := func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) }
	f.next("sendMessage", aborted, page(502))
	for i, want := range []string{"uncertain", "again", "sent"} {
		if _, err := tr.Send(context.Background(), out(ann, "hello")); class(err) != want {
			t.Errorf("send %d: got %v, want %q", i, err, want)
		}
		if p := await(t, protos); p != "HTTP/2.0" {
			t.Errorf("send %d went over %s", i, p)
		}
	}
	o := out(ann, "hello")
	o.Picture = &chat.Picture{PNG: chattest.OnePixel}
	if _, err := tr.Send(context.Background(), o); err != nil {
		t.Error(err)
	}
	srv.Close()
	if _, err := tr.Send(context.Background(), out(ann, "hello")); class(err) != "again" {
		t.Errorf("a server that is gone: got %v", err)
	}
}
