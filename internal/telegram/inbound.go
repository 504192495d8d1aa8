package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"

	"samelift/internal/chat"
)

// inbound is an update as the bot knows it. It reports false for what the bot is not
// told: service messages, channels, and everything but words in groups.
//
// An update's number is not unique for ever: after a quiet week the platform goes on
// from a random one, and another bot counts by itself. The ID therefore holds what the
// update carries besides, which is the same at every delivery.
func (t *Transport) inbound(u tgbotapi.Update, files documents) (chat.Inbound, bool) {
	id := func(more string) chat.Inbound {
		return chat.Inbound{ID: strconv.Itoa(u.UpdateID) + "-" + more}
	}
	switch {
	case u.Message != nil && u.Message.Chat != nil:
		return t.message(id(strconv.Itoa(u.Message.Date)), u.Message, files[u.UpdateID])
	case u.CallbackQuery != nil:
		return t.press(id(cut(u.CallbackQuery.ID, 64)), u.CallbackQuery)
	case u.MyChatMember != nil:
		return member(id(strconv.Itoa(u.MyChatMember.Date)), u.MyChatMember)
	}
	return chat.Inbound{}, false
}

func address(c *tgbotapi.Chat) chat.Address {
	return chat.Address{Transport: Name, Chat: strconv.FormatInt(c.ID, 10)}
}

func lang(u *tgbotapi.User) string {
	if u == nil {
		return ""
	}
	return cut(u.LanguageCode, 35) // the longest tag that RFC 5646 says to expect
}

func (t *Transport) message(in chat.Inbound, m *tgbotapi.Message, file func() ([]byte, error)) (chat.Inbound, bool) {
	in.From = address(m.Chat)
	in.Private = m.Chat.IsPrivate()
	in.At = time.Unix(int64(m.Date), 0).UTC()
	in.Lang = lang(m.From)
	switch {
	case m.Chat.IsChannel():
		return in, false
	case m.Text != "":
		in.Kind, in.Text = chat.KindText, cut(m.Text, chat.MaxText)
		return in, true
	case !in.Private:
		return in, false
	case m.PinnedMessage != nil || m.MessageAutoDeleteTimerChanged != nil:
		return in, false
	}
	in.Kind, in.Text = chat.KindOther, cut(m.Caption, chat.MaxText)
	if file != nil {
		data, err := file()
		if err != nil {
			t.log.Warn("a document could not be fetched", "err", err)
			return in, true
		}
		in.Kind, in.File = chat.KindFile, &chat.File{Name: fileName(m.Document.FileName), Data: data}
	}
	return in, true
}

func (t *Transport) press(in chat.Inbound, q *tgbotapi.CallbackQuery) (chat.Inbound, bool) {
	// A modified client can press what was never offered; what is too long never was.
	if q.Message == nil || q.Message.Chat == nil || q.Data == "" || len(q.Data) > chat.MaxData {
		return in, false
	}
	in.From = address(q.Message.Chat)
	in.Private = q.Message.Chat.IsPrivate()
	in.Kind = chat.KindChoice
	in.At = t.cfg.Now().UTC() // the platform gives no time for a press
	in.Choice = q.Data
	in.Message = strconv.Itoa(q.Message.MessageID)
	in.Lang = lang(q.From)
	return in, true
}

func member(in chat.Inbound, m *tgbotapi.ChatMemberUpdated) (chat.Inbound, bool) {
	in.From = address(&m.Chat)
	in.Private = m.Chat.IsPrivate()
	in.At = time.Unix(int64(m.Date), 0).UTC()
	in.Lang = lang(&m.From)
	switch m.NewChatMember.Status {
	case "kicked":
		in.Kind = chat.KindLeft
	case "member":
		in.Kind = chat.KindReturns
	default:
		return in, false
	}
	return in, in.Private
}

// cut is the first n runes of s.
func cut(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i]
		}
		n--
	}
	return s
}

// readable tells whether a document has the name of one that the bot may read.
func readable(name string) bool {
	return slices.Contains([]string{".yaml", ".yml", ".csv", ".ics", ".txt"}, strings.ToLower(path.Ext(name)))
}

// fileName is the last part of a sender's file name, without controls, at most 100
// runes long; its ending is kept.
func fileName(name string) string {
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return -1
		}
		return r
	}, name)
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	ext := path.Ext(name)
	return cut(strings.TrimSuffix(name, ext), 100-len(ext)) + ext
}

// documents are those being fetched, by the id of their update.
type documents map[int]func() ([]byte, error)

// Downloads keep others waiting: no more than so many of one batch of updates are made,
// all at once, and none may last longer.
const (
	maxDownloads    = 8
	downloadTimeout = 10 * time.Second
)

// prefetch begins to fetch the documents that the bot may read. What is too large, of
// another kind, in a group or one too many is not fetched.
func (t *Transport) prefetch(ctx context.Context, updates []tgbotapi.Update) documents {
	files := documents{}
	for _, u := range updates {
		m := u.Message
		if m == nil || m.Document == nil || m.Chat == nil || !m.Chat.IsPrivate() {
			continue
		}
		d := m.Document
		if d.FileSize > chat.MaxFile || !readable(d.FileName) || len(files) == maxDownloads {
			continue
		}
		get := sync.OnceValues(func() ([]byte, error) { return t.download(ctx, d.FileID) })
		files[u.UpdateID] = get
		go get()
	}
	return files
}

// download fetches a document of at most chat.MaxFile bytes.
func (t *Transport) download(ctx context.Context, id string) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, downloadTimeout)
	defer cancel()
	result, err := t.call(ctx, "getFile", tgbotapi.Params{"file_id": id})
	if err != nil {
		return nil, err
	}
	var file tgbotapi.File
	if err := json.Unmarshal(result, &file); err != nil || file.FilePath == "" {
		return nil, errors.New("telegram: getFile: no path")
	}
	// The library's own link ignores the configured address.
	link, err := url.JoinPath(t.base, "file", "bot"+t.cfg.Token, file.FilePath)
	if err != nil {
		return nil, t.clean(err)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, link, nil)
	if err != nil {
		return nil, t.clean(err)
	}
	resp, err := t.client.Do(req)
	if err != nil {
		return nil, t.clean(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("telegram: download: HTTP status %d", resp.StatusCode)
	}
	data, err := io.ReadAll(io.LimitReader(resp.Body, chat.MaxFile+1))
	if err != nil {
		return nil, t.clean(err)
	}
	if len(data) > chat.MaxFile {
		return nil, errors.New("telegram: download: the document is larger than it said")
	}
	return data, nil
}
