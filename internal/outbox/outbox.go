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
	// Wire is the most messages on the wire at once; zero means the most there can be.
	Wire int
	Log  *slog.Logger

	nudge  chan struct{}
	mu     sync.Mutex
	paused map[string]time.Time // transport, until when it wants nothing

	// The loop alone touches these: what is on the wire, by its id, and what became of
	// messages and is not in the database yet.
	onWire map[int64]bool
	unkept []result
	done   chan result // from the wire to the loop
}

// A result is what became of a message that was tried.
type result struct {
	m    store.Message
	sent chat.Sent
	err  error
}

// New makes an outbox.
func New(s *store.Store, now func() time.Time, log *slog.Logger, transports ...chat.Transport) *Outbox {
	o := &Outbox{Store: s, Transports: map[string]chat.Transport{}, Now: now, Log: log, nudge: make(chan struct{}, 1), paused: map[string]time.Time{},
		onWire: map[int64]bool{}, done: make(chan result, batch)}
	for _, t := range transports {
		o.Transports[t.Name()] = t
	}
	return o
}

// batch is how many messages are on the wire at once at the most, each to another
// address or another lane.
const batch = 32

// giveUp is how long a message is tried before it counts as undeliverable.
const giveUp = 24 * time.Hour

// surely is how often an alert is sent while it may not have arrived. Hearing of an
// incident twice does no harm, since it names its reference; not hearing of it may.
// Everything else is not repeated blindly: a person asks again, and a change that
// nobody has confirmed is told before the next answer.
const surely = 4

// Nudge says that there may be something to send.
func (o *Outbox) Nudge() {
	select {
	case o.nudge <- struct{}{}:
	default:
	}
}

// Run sends until ctx ends. What is on the wire then is waited for. A send that takes
// long holds back its own address and lane, and nobody else.
func (o *Outbox) Run(ctx context.Context) error {
	for {
		_, err := o.begin(ctx)
		if ctx.Err() != nil {
			o.wait()
			if err := o.keep(ctx); err != nil {
				o.Log.Error("keep what was sent last", "error", err)
			}
			return nil
		}
		// Another process may have queued something, so the wait is never long.
		pause := time.Second
		if err != nil {
			o.Log.Error("send what is due", "error", err)
			pause = 5 * time.Second
		}
		timer := time.NewTimer(pause)
		select {
		case <-ctx.Done():
		case <-o.nudge:
		case <-timer.C:
		case r := <-o.done:
			o.arrived(r)
		}
		timer.Stop()
	}
}

// Pass sends what is due now, once, waits for the end of it and reports how many
// messages it tried. It and Run are not to run at the same time.
func (o *Outbox) Pass(ctx context.Context) (int, error) {
	n, err := o.begin(ctx)
	o.wait()
	return n, errors.Join(err, o.keep(ctx))
}

// begin puts what is due on the wire, as far as there is room, and reports how many
// messages that were.
func (o *Outbox) begin(ctx context.Context) (int, error) {
	// While the database takes nothing, nothing is sent: the same messages would go out
	// again and again.
	if err := o.keep(ctx); err != nil {
		return 0, err
	}
	// Only of the transports that take something now: what waits for another must not
	// fill the batch.
	open := o.open()
	if len(open) == 0 {
		return 0, nil
	}
	var due []store.Message
	err := o.Store.View(ctx, o.Now(), func(tx *store.Tx) error {
		var err error
		due, err = tx.Due(batch+len(o.onWire), open) // what is on the wire is still the first in its line
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("read what is due: %w", err)
	}
	room, tried := batch-len(o.onWire), 0
	for _, m := range due {
		if o.onWire[m.ID] || tried == room {
			continue
		}
		if o.Bulk != nil && m.Lane > store.LaneReply && !o.Bulk.AllowN(o.Now(), 1) {
			continue
		}
		for len(o.onWire) >= cmp.Or(o.Wire, batch) {
			o.arrived(<-o.done)
		}
		tried++
		o.onWire[m.ID] = true
		t := o.Transports[m.Out.To.Transport]
		go func() {
			// A message already on the wire is finished even when the process stops.
			sent, err := t.Send(context.WithoutCancel(ctx), m.Out)
			o.done <- result{m, sent, err}
		}()
	}
	return tried, nil
}

// wait waits until nothing is on the wire.
func (o *Outbox) wait() {
	for len(o.onWire) > 0 {
		o.arrived(<-o.done)
	}
}

// arrived takes a result, and whatever others there are, for keep.
func (o *Outbox) arrived(r result) {
	for {
		delete(o.onWire, r.m.ID)
		o.unkept = append(o.unkept, r)
		select {
		case r = <-o.done:
		default:
			return
		}
	}
}

// keep keeps what became of the messages that were tried.
func (o *Outbox) keep(ctx context.Context) error {
	if len(o.unkept) == 0 {
		return nil
	}
	err := o.Store.Update(context.WithoutCancel(ctx), o.Now(), func(tx *store.Tx) error {
		for _, r := range o.unkept {
			if err := o.settle(tx, r.m, r.sent, r.err); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("keep what was sent: %w", err)
	}
	o.unkept = nil
	return nil
}

// settle keeps what became of a message.
func (o *Outbox) settle(tx *store.Tx, m store.Message, sent chat.Sent, err error) error {
	var wait *chat.RetryAfter
	switch {
	case err == nil:
		if p := m.Out.Picture; p != nil && p.Key != "" && sent.Picture != "" && sent.Picture != p.Sent {
			if err := tx.PictureSent(p.Key, m.Out.To.Transport, sent.Picture); err != nil {
				return err
			}
		}
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
		if m.Lane == store.LaneAlert && m.Attempts+1 < surely {
			return tx.Later(m.ID, tx.Now.Add(Backoff(m.Attempts)), "uncertain")
		}
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

// open lists the transports that want something now.
func (o *Outbox) open() []string {
	o.mu.Lock()
	defer o.mu.Unlock()
	now := o.Now()
	var names []string
	for name := range o.Transports {
		if !now.Before(o.paused[name]) {
			names = append(names, name)
		}
	}
	return names
}
