// Package outbox sends what has been committed: the urgent first, each person's in
// order, within what the transport allows. It retries what surely did not arrive,
// does not repeat blindly what may have, and gives up aloud. It reads no message's
// meaning.
package outbox

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"samelift/internal/chat"
	"samelift/internal/store"
)

// Outbox sends.
type Outbox struct {
	Store *store.Store
	// Transports by the name that addresses give.
	Transports map[string]chat.Transport
	Now        func() time.Time
	// Bulk holds back what is not an alert or a reply; nil means no limit.
	Bulk *rate.Limiter
	// Wire is the most messages on the wire at once; zero means as many as a pass takes.
	Wire int
	Log  *slog.Logger

	nudge  chan struct{}
	mu     sync.Mutex
	paused map[string]time.Time // transport, until when it wants nothing
}

// New makes an outbox.
func New(s *store.Store, now func() time.Time, log *slog.Logger, transports ...chat.Transport) *Outbox {
	o := &Outbox{Store: s, Transports: map[string]chat.Transport{}, Now: now, Log: log, nudge: make(chan struct{}, 1), paused: map[string]time.Time{}}
	for _, t := range transports {
		o.Transports[t.Name()] = t
	}
	return o
}

// batch is how many messages one pass takes at the most, and how many are on the wire
// at once: each to another address or another lane.
const batch = 32

// giveUp is how long a message is tried before it counts as undeliverable.
const giveUp = 24 * time.Hour

// Nudge says that there may be something to send.
func (o *Outbox) Nudge() {
	select {
	case o.nudge <- struct{}{}:
	default:
	}
}

// Run sends until ctx ends. What is on the wire then is waited for.
func (o *Outbox) Run(ctx context.Context) error {
	for {
		n, err := o.Pass(ctx)
		if ctx.Err() != nil {
			return nil
		}
		if err != nil {
			o.Log.Error("send what is due", "error", err)
		}
		if n > 0 && err == nil {
			continue
		}
		// Another process may have queued something, so the wait is never long.
		wait := time.Second
		if err != nil {
			wait = 5 * time.Second
		}
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil
		case <-o.nudge:
			timer.Stop()
		case <-timer.C:
		}
	}
}

// Pass sends what is due now, once, and reports how many messages it tried.
func (o *Outbox) Pass(ctx context.Context) (int, error) {
	var due []store.Message
	err := o.Store.View(ctx, o.Now(), func(tx *store.Tx) error {
		var err error
		due, err = tx.Due(batch)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("read what is due: %w", err)
	}
	type result struct {
		m    store.Message
		sent chat.Sent
		err  error
	}
	results := make(chan result, len(due))
	var wg sync.WaitGroup
	tried := 0
	wire := make(chan struct{}, cmp.Or(o.Wire, batch))
	for _, m := range due {
		t, ok := o.Transports[m.Out.To.Transport]
		if !ok {
			continue // it waits for a run with that transport
		}
		if until := o.pausedUntil(t.Name()); o.Now().Before(until) {
			continue
		}
		if o.Bulk != nil && m.Lane > store.LaneReply && !o.Bulk.AllowN(o.Now(), 1) {
			continue
		}
		tried++
		wire <- struct{}{}
		wg.Go(func() {
			defer func() { <-wire }()
			// A message already on the wire is finished even when the process stops.
			sent, err := t.Send(context.WithoutCancel(ctx), m.Out)
			results <- result{m, sent, err}
		})
	}
	wg.Wait()
	close(results)
	if tried == 0 {
		return 0, nil
	}
	err = o.Store.Update(context.WithoutCancel(ctx), o.Now(), func(tx *store.Tx) error {
		for r := range results {
			if err := o.settle(tx, r.m, r.sent, r.err); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return tried, fmt.Errorf("keep what was sent: %w", err)
	}
	return tried, nil
}

// settle keeps what became of a message.
func (o *Outbox) settle(tx *store.Tx, m store.Message, sent chat.Sent, err error) error {
	var wait *chat.RetryAfter
	switch {
	case err == nil:
		return tx.Sent(m.ID, sent.Ref)
	case errors.Is(err, chat.ErrGone):
		o.Log.Warn("a person cannot be reached", "transport", m.Out.To.Transport, "message", m.ID)
		if err := tx.SetGone(m.Out.To, true); err != nil {
			return err
		}
		return tx.Ended(m.ID, false, "gone")
	case errors.As(err, &wait):
		until := tx.Now.Add(wait.Wait)
		o.pause(m.Out.To.Transport, until)
		return tx.Wait(m.Out.To, until)
	case m.Lane == store.LaneEdit && (errors.Is(err, chat.ErrUncertain) || errors.Is(err, chat.ErrRefused)):
		// A card that can no longer be edited is no failure: pressing it tells the truth.
		o.Log.Debug("an old card stays as it is", "message", m.ID)
		return tx.Ended(m.ID, false, "refused")
	case errors.Is(err, chat.ErrUncertain):
		o.Log.Warn("a message may not have arrived", "message", m.ID, "lane", m.Lane.String())
		return tx.Ended(m.ID, true, "uncertain")
	case errors.Is(err, chat.ErrRefused):
		o.Log.Error("a message is refused", "message", m.ID, "lane", m.Lane.String(), "error", err)
		return tx.Ended(m.ID, false, "refused")
	}
	o.Log.Warn("a message was not sent", "message", m.ID, "attempt", m.Attempts+1, "error", err)
	if tx.Now.Sub(m.Made) > giveUp {
		return tx.Ended(m.ID, false, "given up")
	}
	return tx.Later(m.ID, tx.Now.Add(Backoff(m.Attempts)), "not sent")
}

// Backoff is how long to wait after so many failed tries: 1 s, doubling to 2 minutes.
func Backoff(attempts int) time.Duration {
	return min(time.Second<<min(attempts, 7), 2*time.Minute)
}

func (o *Outbox) pause(transport string, until time.Time) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if until.After(o.paused[transport]) {
		o.paused[transport] = until
	}
}

func (o *Outbox) pausedUntil(transport string) time.Time {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.paused[transport]
}
