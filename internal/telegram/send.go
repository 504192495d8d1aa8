package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"

	"samelift/internal/chat"
)

// More buttons than these are refused here: the platform drops some without a word
// (12 a row and 300 in all by TDLib; 8 and 100 as reported by others).
const (
	maxButtonsInRow = 8
	maxButtons      = 100
)

// Send implements chat.Transport. An edit is the same however often it is made, so one
// that may have arrived is no ErrUncertain but may be tried again. A message with a
// picture is always new, and so is the edit of one; what it stands in the place of then
// loses its buttons. A picture that the platform cannot use is replaced by its words.
func (t *Transport) Send(ctx context.Context, out chat.Outbound) (chat.Sent, error) {
	if err := ctx.Err(); err != nil {
		return chat.Sent{}, fmt.Errorf("telegram: not sent: %w", err)
	}
	id, err := strconv.ParseInt(out.To.Chat, 10, 64)
	switch {
	case err != nil || out.To.Transport != Name:
		return chat.Sent{}, refuse("the address is not one of this transport")
	case out.Secret && id < 0:
		return chat.Sent{}, refuse("a message about a client goes to private chats only")
	}
	keys, err := keyboard(out.Choices)
	if err != nil {
		return chat.Sent{}, err
	}
	m := letter{to: out.To.Chat, keys: keys, text: render(out), quiet: out.Quiet, secret: out.Secret}
	if out.OnlyEdit {
		return t.onlyEdit(ctx, m, out)
	}
	old, _ := ids(out.Edit)
	var sent chat.Sent
	if out.Picture != nil {
		sent, err = t.sendPicture(ctx, m, out)
	} else {
		if old != 0 {
			switch err := t.edit(ctx, m, old); {
			case errors.Is(err, errMissing):
				old = 0
			case !errors.Is(err, errPictured):
				return sentOr(chat.Sent{Ref: out.Edit}, err)
			}
		}
		sent, err = t.sendText(ctx, m)
	}
	if err == nil && old != 0 {
		t.retire(ctx, m.to, old)
	}
	return sent, err
}

// Why an edit is not possible and the message is sent as a new one.
var (
	errMissing   = errors.New("there is no such message to edit")
	errPictured  = errors.New("the message to edit is a picture")
	errNoPicture = errors.New("the message to edit has no picture")
)

func refuse(why string) error { return fmt.Errorf("telegram: %s: %w", why, chat.ErrRefused) }

// letter is a message ready to be sent.
type letter struct {
	to            string
	keys          string // the markup of the buttons, or empty
	text          rendered
	quiet, secret bool
}

// params are what all kinds of messages share.
func (m letter) params() tgbotapi.Params {
	p := tgbotapi.Params{"chat_id": m.to}
	p.AddNonEmpty("reply_markup", m.keys)
	p.AddBool("disable_notification", m.quiet)
	p.AddBool("protect_content", m.secret)
	return p
}

// noPreview keeps a link in a text from growing a picture.
const noPreview = `{"is_disabled":true}`

// setText puts the text into field, with markup unless that is too long or plain.
func (m letter) setText(p tgbotapi.Params, field string, plain bool) {
	if plain || len(m.text.html) > maxRaw {
		p[field] = m.text.bare
		if n := len(utf16.Encode([]rune(m.text.bare))); n > maxRunes || field == "caption" && n > maxCaption {
			p[field] = m.text.plain
		}
		return
	}
	p[field] = m.text.html
	p["parse_mode"] = "HTML"
}

func (t *Transport) sendText(ctx context.Context, m letter) (chat.Sent, error) {
	result, err := t.inBothForms(func(plain bool) (json.RawMessage, error) {
		p := m.params()
		m.setText(p, "text", plain)
		p["link_preview_options"] = noPreview
		return t.post(ctx, "sendMessage", p)
	})
	if err != nil {
		return chat.Sent{}, t.meaning(err)
	}
	return sentAs(result), nil
}

// edit changes the text and the buttons of an earlier message.
func (t *Transport) edit(ctx context.Context, m letter, ref int) error {
	_, err := t.inBothForms(func(plain bool) (json.RawMessage, error) {
		p := tgbotapi.Params{"chat_id": m.to, "message_id": strconv.Itoa(ref), "link_preview_options": noPreview}
		p.AddNonEmpty("reply_markup", m.keys)
		m.setText(p, "text", plain)
		return t.post(ctx, "editMessageText", p)
	})
	return t.edited(err)
}

// retire takes the buttons from a message that a new one stands in the place of. It is
// cosmetic, since the bot knows old buttons: failures are swallowed, and it is brief.
func (t *Transport) retire(ctx context.Context, to string, ref int) {
	ctx, cancel := context.WithTimeout(ctx, min(5*time.Second, t.cfg.SendTimeout))
	defer cancel()
	p := tgbotapi.Params{"chat_id": to, "message_id": strconv.Itoa(ref)}
	if _, err := t.call(ctx, "editMessageReplyMarkup", p); err != nil {
		t.log.Debug("an old message keeps its buttons", "err", err)
	}
}

// sendPicture sends the picture with the text beneath it, or ahead of the text where
// that is too long for a caption.
func (t *Transport) sendPicture(ctx context.Context, m letter, out chat.Outbound) (chat.Sent, error) {
	// The picture's own name may name a client, and is never shown.
	file := tgbotapi.RequestFile{Name: "photo", Data: tgbotapi.FileBytes{Name: "picture.png", Bytes: out.Picture.PNG}}
	under := m.text.caption()
	var sent chat.Sent
	var err error
	photo, was := t.wasPictured(out.Key)
	if under || !was {
		var result json.RawMessage
		result, err = t.inBothForms(func(plain bool) (json.RawMessage, error) {
			p := m.params()
			if under {
				m.setText(p, "caption", plain)
			} else {
				delete(p, "reply_markup")
			}
			// A picture that the platform has already costs nobody another upload. It may
			// have forgotten it, or be another bot's.
			if out.Picture.Sent != "" {
				p["photo"] = out.Picture.Sent
				result, err := t.post(ctx, "sendPhoto", p)
				if !forgotten(err) {
					return result, err
				}
				delete(p, "photo")
			}
			return t.post(ctx, "sendPhoto", p, file)
		})
		sent, err = sentAs(result), t.meaning(err)
	}
	switch {
	case errors.Is(err, chat.ErrRefused):
		t.log.Warn("a picture was refused and is replaced by its words", "err", err)
		out.Body = append(out.Body[:len(out.Body):len(out.Body)], chat.Paragraph{Style: chat.Small, Text: out.Picture.Alt})
		m.text = render(out)
		return t.sendText(ctx, m)
	case err != nil || under:
		return sent, err
	}
	if !was {
		photo = sent.Ref
		t.setPictured(out.Key, photo)
	}
	words, err := t.sendText(ctx, m)
	if err == nil {
		t.setPictured(out.Key, "")
		words.Picture, words.Ref = sent.Picture, refOf(words.Ref, photo)
	}
	return words, err
}

// wasPictured gives the id of the picture of a message that went out at an earlier try.
func (t *Transport) wasPictured(key string) (photo string, was bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	photo = t.pictured[key]
	return photo, key != "" && photo != ""
}

// setPictured keeps that a picture went out, or forgets it.
func (t *Transport) setPictured(key, photo string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.pictured, key)
	if photo != "" && key != "" {
		if len(t.pictured) > 1000 { // given up by the outbox long ago
			clear(t.pictured)
		}
		t.pictured[key] = photo
	}
}

// inBothForms sends with markup, and once more without it if the platform cannot read
// ours: a fault of this package, which must not cost anybody the message.
func (t *Transport) inBothForms(send func(plain bool) (json.RawMessage, error)) (json.RawMessage, error) {
	result, err := send(false)
	var e *callError
	if errors.As(err, &e) && e.code == http.StatusBadRequest && e.says("can't parse entities") {
		t.log.Error("the platform could not read the markup; sent without it", "err", err)
		return send(true)
	}
	return result, err
}

// post makes a sending call, once more under a group's new id if it has moved.
func (t *Transport) post(ctx context.Context, method string, p tgbotapi.Params, files ...tgbotapi.RequestFile) (json.RawMessage, error) {
	ctx, cancel := context.WithTimeout(ctx, t.cfg.SendTimeout)
	defer cancel()
	result, err := t.call(ctx, method, p, files...)
	var e *callError
	if errors.As(err, &e) && e.migrate != 0 {
		p["chat_id"] = strconv.FormatInt(e.migrate, 10)
		return t.call(ctx, method, p, files...)
	}
	return result, err
}

// maxFileID bounds what is kept of the platform's name of a file.
const maxFileID = 300

// sentAs is the ref of the message that a call returned.
func sentAs(result json.RawMessage) chat.Sent {
	if result == nil {
		return chat.Sent{}
	}
	var m struct {
		MessageID int `json:"message_id"`
		Photo     []struct {
			FileID string `json:"file_id"`
			Width  int    `json:"width"`
		} `json:"photo"`
	}
	// A message without an id was delivered all the same; it cannot be edited.
	_ = json.Unmarshal(result, &m)
	sent := chat.Sent{Ref: strconv.Itoa(m.MessageID)}
	// Sent again by any of its sizes' names, a photo comes in all of them.
	widest := 0
	for _, p := range m.Photo {
		if p.Width >= widest && len(p.FileID) <= maxFileID {
			widest, sent.Picture = p.Width, p.FileID
		}
	}
	return sent
}

// meaning is what a failed call means for the next step, as chat.Transport defines it.
func (t *Transport) meaning(err error) error {
	var e *callError
	if err == nil || !errors.As(err, &e) {
		return err
	}
	switch {
	case e.code == http.StatusTooManyRequests || e.wait > 0:
		// Also after an upload, where only the words tell.
		return fmt.Errorf("%w: %w", e, &chat.RetryAfter{Wait: max(e.wait, time.Second)})
	case e.foreign && (e.status < 300 || e.status == http.StatusGatewayTimeout):
		// It was taken, or somebody between us and the platform stopped waiting.
		return fmt.Errorf("%w: %w", e, chat.ErrUncertain)
	case e.foreign || e.code >= 500:
		return e
	case e.code == http.StatusForbidden, e.code == http.StatusBadRequest && e.says(
		"chat not found", "user not found", "peer_id_invalid", "user is deactivated", "group chat was deleted", "chat was deactivated"):
		return fmt.Errorf("%w: %w", e, chat.ErrGone)
	case e.code == http.StatusBadRequest || e.code == http.StatusRequestEntityTooLarge:
		return fmt.Errorf("%w: %w", e, chat.ErrRefused)
	case e.code == 0 && e.left:
		return fmt.Errorf("%w: %w", e, chat.ErrUncertain)
	}
	return e
}

// keyboard is the markup of the buttons, or empty.
func keyboard(rows [][]chat.Choice) (string, error) {
	type button struct {
		Text string `json:"text"`
		Data string `json:"callback_data,omitempty"`
		URL  string `json:"url,omitempty"`
	}
	var board struct {
		Rows [][]button `json:"inline_keyboard"`
	}
	n := 0
	for _, row := range rows {
		if len(row) == 0 {
			continue
		}
		if n += len(row); len(row) > maxButtonsInRow || n > maxButtons {
			return "", refuse("there are more buttons than the platform shows")
		}
		var buttons []button
		for _, c := range row {
			label := strings.TrimSpace(clean(c.Label))
			switch {
			case label == "":
				return "", refuse("a button has no label")
			case len(c.Data) > chat.MaxData:
				return "", refuse("a button's data is too long")
			case (c.Data == "") == (c.URL == ""):
				return "", refuse("a button has both data and an address, or neither")
			}
			buttons = append(buttons, button{Text: label, Data: c.Data, URL: c.URL})
		}
		board.Rows = append(board.Rows, buttons)
	}
	if board.Rows == nil {
		return "", nil
	}
	raw, err := json.Marshal(board)
	return string(raw), err
}
