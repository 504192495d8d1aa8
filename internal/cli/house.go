package cli

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/sync/errgroup"
	"golang.org/x/time/rate"

	"samelift/internal/ask"
	"samelift/internal/bot"
	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/outbox"
	"samelift/internal/schedule"
	"samelift/internal/store"
	askwords "samelift/locales/ask"
)

// A house is the bot with everything around it but a transport.
type house struct {
	store    *store.Store
	words    *locale.Catalog
	bot      *bot.Bot
	outbox   *outbox.Outbox
	schedule *schedule.Schedule
}

// build opens the database and puts the house together.
func (e *Env) build(path string, now func() time.Time, transports ...chat.Transport) (*house, error) {
	words, err := locale.Load()
	if err != nil {
		return nil, err
	}
	understand, err := understanding()
	if err != nil {
		return nil, err
	}
	s, err := openStore(e, path)
	if err != nil {
		return nil, err
	}
	h := &house{store: s, words: words}
	h.outbox = outbox.New(s, now, e.log, transports...)
	h.bot = bot.New(bot.Config{Store: s, Words: words, Understand: understand, Now: now, Nudge: h.nudge, Log: e.log})
	h.schedule = &schedule.Schedule{Bot: h.bot, Store: s, Now: now, Log: e.log, Nudged: make(chan struct{}, 1)}
	return h, nil
}

// nudge says that there may be something to send or to wake for.
func (h *house) nudge() {
	h.outbox.Nudge()
	h.schedule.Nudge()
}

// understanding loads the words by which questions are understood.
func understanding() (func(clients, colleagues []ask.Name) bot.Reader, error) {
	lexicon, err := ask.Load(askwords.FS)
	if err != nil {
		return nil, err
	}
	return func(clients, colleagues []ask.Name) bot.Reader { return ask.NewReader(lexicon, clients, colleagues) }, nil
}

// bulk is the rate for what is neither an alert nor a reply, below what the messenger
// allows in all: about 30 a second.
var bulk = rate.Every(time.Second / 25)

// serve receives, sends and wakes until ctx ends or one of them cannot go on.
func (h *house) serve(ctx context.Context, t chat.Transport, more ...func(context.Context) error) error {
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return t.Receive(ctx, h.bot.Handle) })
	g.Go(func() error { return h.outbox.Run(ctx) })
	g.Go(func() error { return h.schedule.Run(ctx) })
	for _, f := range more {
		g.Go(func() error { return f(ctx) })
	}
	err := g.Wait()
	if errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

var errNoSite = errors.New("the database has no site yet: run samelift import FILE")

// onlySite gives the one site of a database, or the one that was named.
func onlySite(ctx context.Context, s *store.Store, now time.Time, named string) (ref string, err error) {
	err = s.View(ctx, now, func(tx *store.Tx) error {
		all, err := tx.Sites()
		if err != nil {
			return err
		}
		for _, r := range all {
			if r == named || named == "" && len(all) == 1 {
				ref = r
				return nil
			}
		}
		switch {
		case len(all) == 0:
			return errNoSite
		case named == "":
			return fmt.Errorf("the database has several sites: name one with --site, of %v", all)
		}
		return fmt.Errorf("the database has no site %q: it has %v", named, all)
	})
	return ref, err
}
