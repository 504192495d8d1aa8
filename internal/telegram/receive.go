package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"sync"
	"time"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"

	"samelift/internal/chat"
)

// longestPoll is the wait that the server does not shorten (server source, 10.0).
const longestPoll = 50 * time.Second

// allowedUpdates is always sent: the server remembers the last list it was given.
const allowedUpdates = `["message","callback_query","my_chat_member"]`

// Receive implements chat.Transport. Updates are fetched by long poll and handed to f
// one after the other; the next fetch confirms those that f accepted, so a crash
// repeats some and loses none. It returns ctx's error, or an error that tells what to
// do when the platform does not know the token.
func (t *Transport) Receive(ctx context.Context, f func(context.Context, chat.Inbound) error) error {
	ctx, cancel := context.WithCancel(ctx)
	answers := answerer{t: t, ctx: ctx, slots: make(chan struct{}, 64)}
	defer answers.running.Wait()
	defer cancel()

	offset, attempt := 0, 0
	for {
		asked := t.cfg.Now()
		updates, err := t.fetch(ctx, offset)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			pause, err := t.pauseAfter(err, attempt)
			if err != nil {
				return err
			}
			attempt++
			if err := t.sleep(ctx, pause); err != nil {
				return err
			}
			continue
		}
		attempt = 0
		if len(updates) == 0 {
			// All before offset is confirmed now. It is forgotten, since after a
			// quiet week the server counts from a random number, maybe a lower one.
			offset = 0
			if t.cfg.Now().Sub(asked) < min(time.Second, t.cfg.Poll/2) {
				// Something answers at once instead of waiting.
				if err := t.sleep(ctx, time.Second); err != nil {
					return err
				}
			}
			continue
		}
		for _, u := range updates {
			if u.CallbackQuery != nil {
				answers.answer(u.CallbackQuery.ID)
			}
		}
		files := t.prefetch(ctx, updates)
		for _, u := range updates {
			if err := t.hand(ctx, u, files, f); err != nil {
				return err
			}
			offset = u.UpdateID + 1
		}
	}
}

// fetch asks once for updates. One that cannot be read is logged and left empty.
func (t *Transport) fetch(ctx context.Context, offset int) ([]tgbotapi.Update, error) {
	ctx, cancel := context.WithTimeout(ctx, t.cfg.Poll+20*time.Second)
	defer cancel()
	params := tgbotapi.Params{
		"timeout":         strconv.Itoa(int(t.cfg.Poll / time.Second)),
		"allowed_updates": allowedUpdates,
	}
	params.AddNonZero("offset", offset)
	result, err := t.call(ctx, "getUpdates", params)
	if err != nil {
		return nil, err
	}
	var raw []json.RawMessage
	if err := json.Unmarshal(result, &raw); err != nil {
		return nil, errors.New("telegram: getUpdates: the result is not a list")
	}
	updates := make([]tgbotapi.Update, 0, len(raw))
	for _, r := range raw {
		u, err := decode(r)
		if err != nil {
			// The error would quote the update.
			t.log.Warn("an update cannot be read and is passed over", "update", u.UpdateID)
		}
		if u.UpdateID <= 0 {
			return nil, errors.New("telegram: getUpdates: an update without an id")
		}
		updates = append(updates, u)
	}
	return updates, nil
}

// decode reads one update; one that cannot be read keeps nothing but its id.
func decode(raw json.RawMessage) (tgbotapi.Update, error) {
	var u tgbotapi.Update
	err := json.Unmarshal(raw, &u)
	if err != nil {
		u = tgbotapi.Update{}
		var id struct {
			UpdateID int `json:"update_id"`
		}
		if json.Unmarshal(raw, &id) == nil {
			u.UpdateID = id.UpdateID
		}
	}
	return u, err
}

// pauseAfter says how long to pause after a failed fetch, or returns the error that
// makes further ones pointless.
func (t *Transport) pauseAfter(err error, attempt int) (time.Duration, error) {
	var e *callError
	if !errors.As(err, &e) {
		t.log.Warn("fetching updates failed", "err", err, "attempt", attempt)
		return t.cfg.Backoff(attempt), nil
	}
	switch {
	case e.code == http.StatusUnauthorized:
		return 0, errors.New("telegram does not know this bot (401): the token was revoked or is another bot's; set the current one and start again")
	case e.code == http.StatusNotFound && !e.foreign:
		t.log.Error("the platform finds no such bot or method: check the configured address and token", "attempt", attempt)
		return t.cfg.Backoff(attempt + 3), nil
	case e.code == http.StatusConflict:
		t.log.Warn("somebody else fetches this bot's updates: stop the other process, or delete the webhook", "attempt", attempt)
		return t.cfg.Backoff(attempt + 3), nil
	case e.wait > 0:
		t.log.Warn("told to wait before fetching updates", "wait", e.wait)
		return e.wait, nil
	}
	t.log.Warn("fetching updates failed", "err", err, "attempt", attempt)
	return t.cfg.Backoff(attempt), nil
}

// hand gives one update to f until f accepts it, or returns ctx's error.
func (t *Transport) hand(ctx context.Context, u tgbotapi.Update, files documents, f func(context.Context, chat.Inbound) error) error {
	in, ok := t.inbound(u, files)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if !ok {
		return nil
	}
	for attempt := 0; ; attempt++ {
		err := f(ctx, in)
		if err == nil {
			return nil
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		t.log.Error("a message was not accepted and comes again", "update", u.UpdateID, "err", t.redact(err.Error()), "attempt", attempt)
		if err := t.sleep(ctx, t.cfg.Backoff(attempt)); err != nil {
			return err
		}
	}
}

// answerer tells the platform that presses arrived, so that the button stops turning.
// It is cosmetic: failures are swallowed and more than 64 at once are let go.
type answerer struct {
	t       *Transport
	ctx     context.Context
	slots   chan struct{}
	running sync.WaitGroup
}

func (a *answerer) answer(id string) {
	select {
	case a.slots <- struct{}{}:
	default:
		return
	}
	a.running.Go(func() {
		defer func() { <-a.slots }()
		ctx, cancel := context.WithTimeout(a.ctx, a.t.cfg.SendTimeout)
		defer cancel()
		if _, err := a.t.call(ctx, "answerCallbackQuery", tgbotapi.Params{"callback_query_id": id}); err != nil {
			a.t.log.Debug("a press was not answered", "err", err)
		}
	})
}
