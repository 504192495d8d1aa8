package bot

import (
	"context"
	"encoding/json"
	"path/filepath"
	"testing"
	"time"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/store"
)

type nobody struct{}

func (nobody) Read(string, string) ask.Reading { return ask.Reading{} }

// The daily look at the dates: at eight by the clock on the wall on both days of a clock
// change, once a day after an outage, never before eight where the site has moved, and
// without a word after an update from a build that knew nothing of it.
func TestExaminationsWake(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	at := func(s string) time.Time {
		v, err := time.ParseInLocation("2006-01-02 15:04", s, london)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	day := func(s string) care.Date {
		d, err := care.ParseDate(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for _, c := range []struct {
		says      string
		now       string
		day, told string // of the wake
		sent      int
		next      string // by the clock on the wall
		nextUTC   string
		nextTold  string
	}{
		{"the morning before the clocks go back", "2026-10-24 08:00", "2026-10-24", "2026-10-23", 1, "2026-10-25 08:00", "08:00", "2026-10-24"},
		{"the morning after they went back", "2026-10-25 08:00", "2026-10-25", "2026-10-24", 1, "2026-10-26 08:00", "08:00", "2026-10-25"},
		{"the morning before they go forward", "2026-03-28 08:00", "2026-03-28", "2026-03-27", 1, "2026-03-29 08:00", "07:00", "2026-03-28"},
		{"after three days without the bot, once", "2026-06-05 15:20", "2026-06-02", "2026-06-01", 1, "2026-06-06 08:00", "07:00", "2026-06-05"},
		{"told already today", "2026-06-05 15:20", "2026-06-05", "2026-06-05", 0, "2026-06-06 08:00", "07:00", "2026-06-05"},
		{"woken before eight", "2026-06-05 07:10", "2026-06-05", "2026-06-04", 0, "2026-06-05 08:00", "07:00", "2026-06-04"},
		{"a first wake without a day only plans", "2026-06-05 15:20", "", "", 0, "2026-06-06 08:00", "07:00", "2026-06-05"},
	} {
		t.Run(c.says, func(t *testing.T) {
			ctx := context.Background()
			s, err := store.Open(ctx, filepath.Join(t.TempDir(), "wake.db"))
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			words, err := locale.Load()
			if err != nil {
				t.Fatal(err)
			}
			now := at(c.now).Add(-24 * time.Hour)
			b := New(Config{Store: s, Words: words, Now: func() time.Time { return now }, Understand: func(_, _ []ask.Name) Reader { return nobody{} }})
			if _, err := b.Import(ctx, &care.Site{
				Ref: "larch", Name: "Larch", Zone: "Europe/London", Lang: "en",
				People: []care.Person{{Ref: "elena", Name: "Elena", Role: care.Coordinator, Lang: "en"}},
				Slings: []care.Sling{{Label: "S-1", State: care.InUse, Examined: care.Examined{Due: day("2026-01-01")}}},
			}); err != nil {
				t.Fatal(err)
			}
			now = at(c.now)
			body := "{}"
			if c.day != "" {
				j, err := json.Marshal(examinationsWake{Day: day(c.day), Told: day(c.told)})
				if err != nil {
					t.Fatal(err)
				}
				body = string(j)
			}
			if err := s.Update(ctx, now, func(tx *store.Tx) error {
				if err := tx.Join("larch", "elena", chat.Address{Transport: "post", Chat: "elena"}, "en"); err != nil {
					return err
				}
				return tx.SetWake(store.Wake{Site: "larch", Kind: wakeExaminations, Due: now, Body: body})
			}); err != nil {
				t.Fatal(err)
			}
			for {
				did, err := b.Wake(ctx)
				if err != nil {
					t.Fatal(err)
				}
				if !did {
					break
				}
			}
			var queued int
			var next store.Wake
			if err := s.Update(ctx, now.AddDate(0, 1, 0), func(tx *store.Tx) error {
				if queued, err = tx.Queued(); err != nil {
					return err
				}
				for {
					w, ok, err := tx.TakeWake()
					if err != nil || !ok {
						return err
					}
					if w.Kind == wakeExaminations {
						next = w
					}
				}
			}); err != nil {
				t.Fatal(err)
			}
			var planned examinationsWake
			if err := json.Unmarshal([]byte(next.Body), &planned); err != nil {
				t.Fatal(err)
			}
			if queued != c.sent || !next.Due.Equal(at(c.next)) || next.Due.UTC().Format("15:04") != c.nextUTC || planned.Told.String() != c.nextTold {
				t.Errorf("%d messages, next at %s (%s), told %s; want %d, %s (%s UTC), %s", queued, next.Due.In(london), next.Due.UTC(), planned.Told, c.sent, c.next, c.nextUTC, c.nextTold)
			}
		})
	}
}
