// Package schedule wakes what is due: it owns the loop and nothing of what happens
// then. A test, and the demo's movable clock, call Pass themselves.
package schedule

import (
	"context"
	"log/slog"
	"time"

	"samelift/internal/bot"
	"samelift/internal/store"
)

// Schedule wakes the bot.
type Schedule struct {
	Bot   *bot.Bot
	Store *store.Store
	Now   func() time.Time
	Log   *slog.Logger
	// Nudged, if set, ends a wait early.
	Nudged chan struct{}

	tidied time.Time
}

// Nudge says that there may be something to wake for.
func (s *Schedule) Nudge() {
	select {
	case s.Nudged <- struct{}{}:
	default:
	}
}

// kept is how long the ids of taken messages are kept, and wanted how long a picture
// that nobody asks for; older ones are dropped rarely.
const (
	kept   = 7 * 24 * time.Hour
	wanted = 60 * 24 * time.Hour
	rarely = time.Hour
)

// tick is the longest the loop waits: the clock on the wall may be set, and another
// process may plan something.
const tick = 5 * time.Second

// Run wakes what is due until ctx ends.
func (s *Schedule) Run(ctx context.Context) error {
	for {
		if err := s.Pass(ctx); err != nil && ctx.Err() == nil {
			s.Log.Error("wake what is due", "error", err)
		}
		wait := tick
		if next, ok, err := s.next(ctx); err == nil && ok {
			wait = min(max(next.Sub(s.Now()), 10*time.Millisecond), tick)
		}
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil
		case <-s.Nudged:
			timer.Stop()
		case <-timer.C:
		}
	}
}

// Pass wakes everything that is due now.
func (s *Schedule) Pass(ctx context.Context) error {
	for {
		did, err := s.Bot.Wake(ctx)
		if err != nil {
			return err
		}
		if !did {
			return s.tidy(ctx)
		}
	}
}

// tidy drops what is no longer needed, now and then.
func (s *Schedule) tidy(ctx context.Context) error {
	now := s.Now()
	if now.Sub(s.tidied) < rarely {
		return nil
	}
	err := s.Store.Update(ctx, now, func(tx *store.Tx) error {
		if err := tx.ForgetPictures(now.Add(-wanted)); err != nil {
			return err
		}
		return tx.Forget(now.Add(-kept))
	})
	if err == nil {
		s.tidied = now
	}
	return err
}

func (s *Schedule) next(ctx context.Context) (at time.Time, ok bool, err error) {
	err = s.Store.View(ctx, s.Now(), func(tx *store.Tx) error {
		at, ok, err = tx.NextWake()
		return err
	})
	return at, ok, err
}
