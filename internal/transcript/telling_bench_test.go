package transcript

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"samelift/internal/bot"
	"samelift/internal/care"
	"samelift/internal/store"
)

// A change told to 10,000 carers who read four languages: how long until all of it is
// committed, and how long the longest transaction holds up a reply. The first piece is
// the one that records the version.
func BenchmarkTelling(b *testing.B) {
	words, understand := setUp(b)
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(b.TempDir(), "telling.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	now := time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
	bt := bot.New(bot.Config{Store: s, Words: words, Understand: understand, Now: func() time.Time { return now }})
	m := &lifeModel{now: now}
	site := m.described()
	site.People = site.People[:1]
	for i := range 10_000 {
		site.People = append(site.People, care.Person{
			Ref: fmt.Sprintf("c%d", i), Name: fmt.Sprintf("Carer %d", i), Role: care.Carer, Lang: []string{"en", "es", "pl", "ar"}[i%4],
			CaresFor: []string{"tilda"}, Shifts: []string{"early"},
		})
	}
	if _, err := bt.Import(ctx, &site); err != nil {
		b.Fatal(err)
	}
	if err := s.Update(ctx, now, func(tx *store.Tx) error {
		for _, p := range site.People {
			if err := tx.Join(site.Ref, p.Ref, paper(p.Ref), p.Lang); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		b.Fatal(err)
	}
	plan := site.Plans[0]
	// Other work on the machine can only make a piece longer, so the best iteration counts.
	first, longest, all := time.Hour, time.Hour, time.Hour
	for b.Loop() {
		plan.Version++
		plan.From = now
		plan.Transfers = []care.Transfer{plan.Transfers[0]}
		plan.Transfers[0].Carers = plan.Transfers[0].Carers%3 + 1
		change := site
		change.People, change.Clients, change.Ranges, change.Slings, change.Plans = nil, nil, nil, nil, []care.Plan{plan}
		start := time.Now()
		if _, err := bt.Import(ctx, &change); err != nil {
			b.Fatal(err)
		}
		first = min(first, time.Since(start))
		slowest := time.Duration(0)
		for {
			start := time.Now()
			did, err := bt.Wake(ctx)
			if err != nil {
				b.Fatal(err)
			}
			if slowest = max(slowest, time.Since(start)); !did {
				break
			}
		}
		longest, all = min(longest, slowest), min(all, time.Since(start))
	}
	b.ReportMetric(float64(first.Microseconds())/1000, "ms/first-piece")
	b.ReportMetric(float64(longest.Microseconds())/1000, "ms/longest-piece")
	b.ReportMetric(float64(all.Microseconds())/1000, "ms/all")
	b.StopTimer()
	if err := s.View(ctx, now, func(tx *store.Tx) error {
		left, err := tx.Untold(site.Ref, fmt.Sprintf("tilda-%d", plan.Version), 1)
		if len(left) > 0 {
			b.Errorf("%s was not told", left[0].Person)
		}
		return err
	}); err != nil {
		b.Fatal(err)
	}
}
