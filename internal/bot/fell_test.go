package bot_test

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"samelift/internal/ask"
	"samelift/internal/bot"
	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// fallsOver is a reader with a fault that one name brings out.
type fallsOver struct{}

func (fallsOver) Read(text, _ string) ask.Reading {
	if strings.Contains(text, "Tilda") {
		panic("Tilda Brannock has no plan")
	}
	return ask.Reading{}
}

// A fault in our own code costs the person one answer and nobody else anything, and what
// is logged of it names nobody.
func TestOneFaultStopsNobody(t *testing.T) {
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(t.TempDir(), "samelift.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	words, err := locale.Load()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
	var log bytes.Buffer
	b := bot.New(bot.Config{Store: s, Words: words, Now: func() time.Time { return now },
		Understand: func(_, _ []ask.Name) bot.Reader { return fallsOver{} },
		Log:        slog.New(slog.NewTextHandler(&log, nil))})
	site, faults := sitefile.Read(sitefile.Demo(now), b.Known(nil))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if _, err := b.Import(ctx, site); err != nil {
		t.Fatal(err)
	}
	at := chat.Address{Transport: "paper", Chat: "grace"}
	if err := s.Update(ctx, now, func(tx *store.Tx) error { return tx.Join("larch", "grace", at, "en") }); err != nil {
		t.Fatal(err)
	}
	in := chat.Inbound{ID: "1", From: at, Private: true, Kind: chat.KindText, Text: "Tilda loops"}
	for try := range 3 {
		if err := b.Handle(ctx, in); (err == nil) != (try == 2) {
			t.Fatalf("try %d: %v", try+1, err)
		} else if err != nil && strings.Contains(err.Error(), "Brannock") {
			t.Errorf("the error names her: %v", err)
		}
	}
	if err := b.Handle(ctx, chat.Inbound{ID: "2", From: at, Private: true, Kind: chat.KindText, Text: "Rosa"}); err != nil {
		t.Errorf("the next message: %v", err)
	}
	if out := log.String(); strings.Contains(out, "Brannock") || !strings.Contains(out, "fallsOver") {
		t.Errorf("logged: %s", out)
	}
}

// What is due and cannot be done does not stop what is due behind it.
func TestOneWakeStopsNoOther(t *testing.T) {
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(t.TempDir(), "samelift.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	words, err := locale.Load()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
	b := bot.New(bot.Config{Store: s, Words: words, Now: func() time.Time { return now },
		Understand: func(_, _ []ask.Name) bot.Reader { return fallsOver{} }})
	site, faults := sitefile.Read(sitefile.Demo(now), b.Known(nil))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if _, err := b.Import(ctx, site); err != nil {
		t.Fatal(err)
	}
	if err := s.Update(ctx, now, func(tx *store.Tx) error {
		return errors.Join(tx.SetWake(store.Wake{Site: "larch", Kind: "of a later build", Due: now.Add(-time.Hour)}),
			tx.SetWake(store.Wake{Site: "larch", Kind: store.WakeUnreachable, Key: "grace", Due: now.Add(-time.Minute)}))
	}); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, err := b.Wake(ctx); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.View(ctx, now, func(tx *store.Tx) error {
		next, _, err := tx.NextWake()
		if !next.After(now) {
			t.Errorf("something is still due since %s", next)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
}
