package simulator

import (
	"context"
	"errors"
	"time"

	"samelift/internal/chat"
)

// Errors of accept, each an HTTP status to the page.
var (
	errNoSeat = errors.New("no such seat")
	errFull   = errors.New("too many messages wait")
)

// Receive offers f one message at a time: those of one chat in order, those of
// different chats as they came, so that a chat whose message is refused delays no
// other. It returns the error of ctx when that ends, and nil after Close. A second
// call waits until the first has returned.
func (s *Simulator) Receive(ctx context.Context, f func(context.Context, chat.Inbound) error) error {
	select {
	case s.receiving <- struct{}{}:
		defer func() { <-s.receiving }()
	case <-ctx.Done():
		return ctx.Err()
	case <-s.closed:
		return nil
	}
	for {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		id, w, wait := s.next(time.Now())
		if w == nil {
			if err := s.idle(ctx, wait); err != nil {
				return err
			}
			select {
			case <-s.closed:
				return nil
			default:
			}
			continue
		}
		err := f(ctx, w.in)
		if err != nil && ctx.Err() != nil {
			return ctx.Err()
		}
		s.settle(id, w, err)
	}
}

// idle waits for a message, for the end, or for the time to try again if there is one.
func (s *Simulator) idle(ctx context.Context, wait time.Duration) error {
	var again <-chan time.Time
	if wait > 0 {
		t := time.NewTimer(wait)
		defer t.Stop()
		again = t.C
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-s.closed:
	case <-s.arrived:
	case <-again:
	}
	return nil
}

// next finds the message to offer now, the least refused and then the oldest, or how
// long until there is one; zero means that none waits.
func (s *Simulator) next(now time.Time) (string, *waiting, time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var id string
	var best *waiting
	var tried int
	var wait time.Duration
	for chatID, c := range s.chats {
		if len(c.queue) == 0 {
			continue
		}
		if d := c.notUntil.Sub(now); d > 0 {
			if wait == 0 || d < wait {
				wait = d
			}
			continue
		}
		w := c.queue[0]
		if best == nil || c.attempts < tried || c.attempts == tried && w.entry.n < best.entry.n {
			id, best, tried = chatID, w, c.attempts
		}
	}
	return id, best, wait
}

// settle moves past a message that was taken, and puts off one that was not.
func (s *Simulator) settle(id string, w *waiting, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.chats[id]
	if err != nil {
		c.attempts++
		c.notUntil = time.Now().Add(s.cfg.Backoff(c.attempts))
		s.cfg.Logger.Warn("a message of the demo page was not taken; it will be offered again",
			"attempt", c.attempts, "error", err)
		return
	}
	c.queue = c.queue[1:]
	c.attempts, c.notUntil = 0, time.Time{}
	w.entry.waiting = false
	s.touch(w.entry)
	s.nudge()
}

// accept queues what a person did and shows it on their phone. A message whose id
// was accepted before is passed over, which is no error.
func (s *Simulator) accept(in chat.Inbound, e entry) error {
	seat, ok := s.seat(in.From.Chat)
	if !ok {
		return errNoSeat
	}
	in.At = s.cfg.Now()
	in.From.Transport = Name
	in.Private = true
	if seat.Lang != "" {
		in.Lang = seat.Lang
	}
	e.chat, e.own, e.at, e.waiting = seat.Chat, true, in.At, true

	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.conversation(seat.Chat)
	if len(c.queue) >= maxQueue && !c.seen[in.ID] {
		return errFull
	}
	if c.known(in.ID) {
		return nil
	}
	if in.Kind == chat.KindChoice {
		e.pressed, e.on = true, in.Message
		e.text = label(s.byRef[in.Message], seat.Chat, in.Choice)
	}
	c.queue = append(c.queue, &waiting{in: in, entry: s.add(c, e)})
	s.nudge()
	select {
	case s.arrived <- struct{}{}:
	default:
	}
	return nil
}

// label is what stands on the pressed choice, or nothing if the message has changed
// since: the press counts all the same, as it would on any messenger.
func label(e *entry, chatID, data string) string {
	if e == nil || e.chat != chatID {
		return ""
	}
	for _, row := range e.choices {
		for _, ch := range row {
			if ch.Data == data && ch.URL == "" {
				return ch.Label
			}
		}
	}
	return ""
}

// backoff doubles from a tenth of a second up to five seconds.
func backoff(attempt int) time.Duration {
	return min(5*time.Second, 100*time.Millisecond<<min(attempt-1, 10))
}
