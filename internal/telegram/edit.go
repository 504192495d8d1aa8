package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"strings"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"

	"samelift/internal/chat"
)

// A ref is the id of a message. Where a picture went out in a message of its own, ahead
// of words too long for a caption, its id follows after a point.

func refOf(words, photo string) string {
	if photo == "" || photo == "0" {
		return words
	}
	return words + "." + photo
}

// ids reads a ref; zero is none.
func ids(ref string) (words, photo int) {
	a, b, _ := strings.Cut(ref, ".")
	number := func(s string) int {
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 {
			return 0
		}
		return n
	}
	return number(a), number(b)
}

// onlyEdit changes a message that is worth nothing as a new one, its picture too.
func (t *Transport) onlyEdit(ctx context.Context, m letter, out chat.Outbound) (chat.Sent, error) {
	words, photo := ids(out.Edit)
	if words == 0 {
		return chat.Sent{}, refuse("there is no message to edit")
	}
	done := chat.Sent{Ref: out.Edit}
	if out.Picture != nil && photo == 0 {
		err := t.editPicture(ctx, m, out.Picture, words, true)
		if err == nil || !errors.Is(err, errNoPicture) {
			return sentOr(done, err)
		}
	}
	err := t.edit(ctx, m, words)
	if errors.Is(err, errPictured) {
		err = t.editCaption(ctx, m, words)
	}
	if err == nil && out.Picture != nil && photo != 0 {
		// A picture that is gone by now misleads nobody.
		if err = t.editPicture(ctx, m, out.Picture, photo, false); errors.Is(err, errMissing) || errors.Is(err, errNoPicture) {
			err = nil
		}
	}
	return sentOr(done, err)
}

func sentOr(done chat.Sent, err error) (chat.Sent, error) {
	switch {
	case err == nil:
		return done, nil
	case errors.Is(err, errMissing), errors.Is(err, errPictured), errors.Is(err, errNoPicture):
		return chat.Sent{}, refuse(err.Error())
	}
	return chat.Sent{}, err
}

// editPicture puts another picture in the place of an earlier message's, with the words
// beneath it if they belong there.
func (t *Transport) editPicture(ctx context.Context, m letter, pic *chat.Picture, ref int, under bool) error {
	file := tgbotapi.RequestFile{Name: "photo", Data: tgbotapi.FileBytes{Name: "picture.png", Bytes: pic.PNG}}
	_, err := t.inBothForms(func(plain bool) (json.RawMessage, error) {
		words := tgbotapi.Params{}
		if under {
			m.setText(words, "caption", plain)
		}
		send := func(source string, files ...tgbotapi.RequestFile) (json.RawMessage, error) {
			media := map[string]string{"type": "photo", "media": source}
			for k, v := range words {
				media[k] = v
			}
			raw, err := json.Marshal(media)
			if err != nil {
				return nil, err
			}
			p := tgbotapi.Params{"chat_id": m.to, "message_id": strconv.Itoa(ref), "media": string(raw)}
			if under {
				p.AddNonEmpty("reply_markup", m.keys)
			}
			return t.post(ctx, "editMessageMedia", p, files...)
		}
		if pic.Sent != "" {
			result, err := send(pic.Sent)
			if !forgotten(err) {
				return result, err
			}
		}
		return send("attach://photo", file)
	})
	return t.edited(err)
}

// editCaption changes the words beneath a picture.
func (t *Transport) editCaption(ctx context.Context, m letter, ref int) error {
	_, err := t.inBothForms(func(plain bool) (json.RawMessage, error) {
		p := tgbotapi.Params{"chat_id": m.to, "message_id": strconv.Itoa(ref)}
		p.AddNonEmpty("reply_markup", m.keys)
		m.setText(p, "caption", plain)
		return t.post(ctx, "editMessageCaption", p)
	})
	return t.edited(err)
}

// forgotten tells whether the platform does not take its own name of a picture.
func forgotten(err error) bool {
	var e *callError
	return errors.As(err, &e) && e.code == http.StatusBadRequest && e.says("wrong file", "wrong remote file", "file reference", "photo_invalid", "image_process_failed")
}

// edited is what the end of an edit means.
func (t *Transport) edited(err error) error {
	var e *callError
	if errors.As(err, &e) && e.code == http.StatusBadRequest {
		switch {
		case e.says("message is not modified"):
			return nil
		case e.says("there is no text in the message"):
			return errPictured
		case e.says("there is no media in the message"):
			return errNoPicture
		case e.says("message to edit not found", "message can't be edited", "message_id_invalid", "message identifier is not specified"):
			return errMissing
		}
	}
	if err = t.meaning(err); errors.Is(err, chat.ErrUncertain) {
		return errors.New(err.Error() + "; an edit may be made again")
	}
	return err
}
