package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"strings"
	"sync/atomic"
	"time"
	"unicode"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"
)

// maxAnswer bounds an answer, in bytes: 100 updates of the largest size fit.
const maxAnswer = 32 << 20

// call makes one call and returns its result. Its errors are *callError.
func (t *Transport) call(ctx context.Context, method string, params tgbotapi.Params, files ...tgbotapi.RequestFile) (json.RawMessage, error) {
	w := &wire{ctx: ctx, client: t.client}
	api := tgbotapi.BotAPI{Token: t.cfg.Token, Client: w}
	api.SetAPIEndpoint(t.endpoint)
	var resp *tgbotapi.APIResponse
	var err error
	if len(files) > 0 {
		resp, err = api.UploadFiles(method, params, files)
	} else {
		resp, err = api.MakeRequest(method, params)
	}
	if err == nil {
		return resp.Result, nil
	}
	e := &callError{method: method, status: w.status}
	var said *tgbotapi.Error
	switch {
	case errors.As(err, &said):
		// The library leaves the code out after an upload.
		if e.code = said.Code; e.code == 0 {
			e.code = w.status
		}
		e.desc = said.Message
		e.wait = time.Duration(said.RetryAfter) * time.Second
		e.migrate = said.MigrateToChatID
		if e.desc == "" && e.code < 400 {
			e.foreign = true
		}
	case w.status != 0:
		// An answer, but not the API's: a page of a proxy, or one that was cut off.
		e.foreign = true
	default:
		e.cause = t.clean(err)
	}
	e.left = w.left()
	return nil, e
}

// wire makes the library's request with a context, and notes how far it came.
type wire struct {
	ctx    context.Context
	client *http.Client
	status int // of the answer, or 0

	connected, unwritten atomic.Bool
}

// Do reads the whole answer, so that its errors are seen here.
func (w *wire) Do(req *http.Request) (*http.Response, error) {
	trace := &httptrace.ClientTrace{
		GotConn: func(httptrace.GotConnInfo) {
			w.connected.Store(true)
			w.unwritten.Store(false)
		},
		WroteRequest: func(info httptrace.WroteRequestInfo) {
			w.unwritten.Store(info.Err != nil)
		},
	}
	resp, err := w.client.Do(req.WithContext(httptrace.WithClientTrace(w.ctx, trace)))
	if err != nil {
		// net/http reports the request as written before it leaves the buffer; a
		// write that failed then has not carried the end of it.
		var op *net.OpError
		if errors.As(err, &op) && op.Op == "write" {
			w.unwritten.Store(true)
		}
		return nil, err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, maxAnswer))
	w.status = resp.StatusCode
	if err != nil {
		return nil, err
	}
	if !json.Valid(body) {
		return nil, errors.New("the answer is not the API's")
	}
	resp.Body = io.NopCloser(bytes.NewReader(body))
	return resp, nil
}

// left tells whether the request may have reached the other end whole. Without the
// report of a failed write it may, since a timeout can come before the report.
func (w *wire) left() bool { return w.connected.Load() && !w.unwritten.Load() }

// callError is a call that failed. Its text holds no token, no address with one, and
// nothing that was in the call.
type callError struct {
	method  string
	status  int           // of the HTTP answer, 0 if there was none
	code    int           // the API's own, 0 if it said nothing
	desc    string        // the API's own words; may quote the message, never printed whole
	wait    time.Duration // how long it wants to be left alone
	migrate int64         // the group's new id
	foreign bool          // the answer was not the API's
	left    bool          // the request may have arrived
	cause   error         // why there was no answer
}

func (e *callError) Error() string {
	switch {
	case e.code != 0 && !e.foreign:
		return fmt.Sprintf("telegram: %s: %d %s", e.method, e.code, gist(e.desc))
	case e.foreign:
		return fmt.Sprintf("telegram: %s: HTTP status %d with an answer that is not the API's", e.method, e.status)
	}
	return fmt.Sprintf("telegram: %s: %v", e.method, e.cause)
}

// Unwrap lets callers see an ended context.
func (e *callError) Unwrap() error { return e.cause }

// says tells whether the API's words hold any of the phrases.
func (e *callError) says(phrases ...string) bool {
	d := strings.ToLower(e.desc)
	for _, p := range phrases {
		if strings.Contains(d, strings.ToLower(p)) {
			return true
		}
	}
	return false
}

// gist is the part of the API's words that cannot quote the message: up to the first
// quotation mark, digit or letter outside ASCII, and not beyond the second colon.
func gist(desc string) string {
	colons := 0
	for i, r := range desc {
		quote := r == '"' || r == '\'' && (i == 0 || desc[i-1] == ' ')
		if r == ':' {
			colons++
		}
		if quote || colons == 2 || r > unicode.MaxASCII || unicode.IsDigit(r) || unicode.IsControl(r) || i > 80 {
			return strings.TrimSpace(desc[:i]) + " ..."
		}
	}
	return desc
}

// cleaned is an error of the network with everything secret taken out of its text.
type cleaned struct {
	text string
	ends error // context.Canceled or DeadlineExceeded, or nil
}

func (c *cleaned) Error() string { return c.text }
func (c *cleaned) Unwrap() error { return c.ends }

// clean takes the address, which holds the token, out of an error of net/http.
func (t *Transport) clean(err error) error {
	var u *url.Error
	for errors.As(err, &u) {
		err = u.Err
	}
	c := &cleaned{text: t.redact(err.Error())}
	for _, ends := range []error{context.Canceled, context.DeadlineExceeded} {
		if errors.Is(err, ends) {
			c.ends = ends
		}
	}
	return c
}

// redact takes the token, and the secret half of it alone, out of a text.
func (t *Transport) redact(s string) string {
	s = strings.ReplaceAll(s, t.cfg.Token, "[token]")
	_, secret, _ := strings.Cut(t.cfg.Token, ":")
	return strings.ReplaceAll(s, secret, "[token]")
}
