package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"time"

	"golang.org/x/time/rate"

	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/telegram"
)

// Run serves a team on Telegram.
type Run struct {
	Database
}

// Run serves until it is told to stop. It starts while the platform is down.
func (c *Run) Run(e *Env) error {
	token, err := e.token()
	if err != nil {
		return err
	}
	t, err := telegram.New(telegram.Config{Token: token, API: e.vars["SAMELIFT_TELEGRAM_API"], Logger: e.log})
	if err != nil {
		return err
	}
	h, err := e.build(c.DB, e.now, t)
	if err != nil {
		return err
	}
	defer h.store.Close()
	h.outbox.Bulk = rate.NewLimiter(bulk, 25)
	var username atomic.Value
	h.bot.Link = func(_, code string) string {
		if me, ok := username.Load().(telegram.Bot); ok {
			if link, err := me.Link(code); err == nil {
				return link
			}
		}
		return "/start " + code
	}
	introduce := func(ctx context.Context) error {
		return insist(ctx, func() error {
			me, err := t.Me(ctx)
			if err != nil {
				return err
			}
			username.Store(me)
			return t.RegisterCommands(ctx, menus(h.words))
		}, func(err error) { e.log.Warn("the menu is not registered yet", "error", err) })
	}
	if _, err := onlySite(e.ctx, h.store, e.now(), ""); errors.Is(err, errNoSite) {
		// It may come while the bot runs, so this is no reason to stop.
		e.log.Warn(err.Error(), "database", c.DB)
	}
	e.log.Info("serving on Telegram", "database", c.DB)
	return h.serve(e.ctx, t, introduce)
}

// insist tries until it succeeds or ctx ends, ever more rarely.
func insist(ctx context.Context, try func() error, failed func(error)) error {
	for attempt := 0; ; attempt++ {
		err := try()
		if err == nil || ctx.Err() != nil {
			return nil
		}
		failed(err)
		wait := min(5*time.Second<<min(attempt, 6), 5*time.Minute)
		var told *chat.RetryAfter
		if errors.As(err, &told) {
			wait = max(wait, told.Wait)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(wait):
		}
	}
}

// token reads the token from the environment or from a file that it names.
func (e *Env) token() (string, error) {
	if v := strings.TrimSpace(e.vars["SAMELIFT_TELEGRAM_TOKEN"]); v != "" {
		return v, nil
	}
	if name := e.vars["SAMELIFT_TELEGRAM_TOKEN_FILE"]; name != "" {
		b, err := os.ReadFile(name)
		if err != nil {
			return "", fmt.Errorf("read the file with the token, which SAMELIFT_TELEGRAM_TOKEN_FILE names: %w", err)
		}
		return strings.TrimSpace(string(b)), nil
	}
	return "", errors.New("no token is set: put it into SAMELIFT_TELEGRAM_TOKEN, or the name of a file that holds it into SAMELIFT_TELEGRAM_TOKEN_FILE")
}

// menus gives the commands and descriptions in every language, the default one for
// everybody else.
func menus(words *locale.Catalog) []telegram.CommandSet {
	var sets []telegram.CommandSet
	for _, l := range append([]locale.Language{{}}, words.Languages()...) {
		code := l.Code
		if code == "" {
			code = locale.Default
		}
		p := words.Printer(code, time.UTC)
		say := func(key string) string {
			s, _ := p.Say(key, nil) // a key without words is found by the test of the locales
			return s
		}
		set := telegram.CommandSet{Lang: l.Code, About: say("bot.description"), Short: say("bot.short")}
		for _, name := range []string{"clients", "note", "incident", "handover", "language", "pictures", "help", "cancel", "privacy", "team", "plans", "changes", "charts", "equipment", "delivery"} {
			set.Commands = append(set.Commands, telegram.Command{Name: name, Text: say("command." + name)})
		}
		sets = append(sets, set)
	}
	return sets
}

// Version shows the version.
type Version struct{}

// Run prints what the build knows of itself.
func (Version) Run(e *Env) error {
	version := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		version = info.Main.Version
	}
	fmt.Fprintln(e.stdout, "samelift", version)
	return nil
}
