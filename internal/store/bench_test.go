package store_test

import (
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/store"
)

// large is a site of a big provider: every client has a plan like the demo's longest,
// and every carer cares for 50 clients.
func large(t testing.TB, clients, carers int) *care.Site {
	t.Helper()
	site := *demo(t)
	plan := planOf(t, &site, "tilda")
	site.Clients, site.People, site.Plans = nil, nil, nil
	for i := range clients {
		c := care.Client{Ref: fmt.Sprint("c", i), Name: fmt.Sprint("Client Number ", i), Also: []string{fmt.Sprint("Also ", i)}, Room: fmt.Sprint(i), Mass: 70 * care.Kilogram, Says: []care.Communication{care.Speaks}}
		plan.Client = c.Ref
		site.Clients, site.Plans = append(site.Clients, c), append(site.Plans, plan)
	}
	for i := range carers {
		p := care.Person{Ref: fmt.Sprint("p", i), Name: fmt.Sprint("Carer Number ", i), Role: care.Carer, Lang: "pl", Shifts: []string{"early"}}
		for j := range 50 {
			p.CaresFor = append(p.CaresFor, fmt.Sprint("c", (i*7+j)%clients))
		}
		site.People = append(site.People, p)
	}
	return &site
}

func BenchmarkSite(b *testing.B) {
	path := filepath.Join(b.TempDir(), "s.db")
	s := openAt(b, path)
	site := large(b, 1000, 200)
	start := time.Now()
	load(b, s, now, site)
	b.Logf("the import took %s", time.Since(start))
	b.Run("shared", func(b *testing.B) {
		for b.Loop() {
			siteAt(b, s, now)
		}
	})
	b.Run("cold", func(b *testing.B) {
		for b.Loop() {
			// As after every change of the site: a newly opened store has no shared copy.
			b.StopTimer()
			fresh, err := store.Open(context.Background(), path)
			if err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			siteAt(b, fresh, now)
			b.StopTimer()
			fresh.Close()
			b.StartTimer()
		}
	})
	b.Run("import of nothing new", func(b *testing.B) {
		for b.Loop() {
			if im := load(b, s, now, site); !im.Nothing() {
				b.Fatal(im)
			}
		}
	})
}

// One message's usual writes: its id, its conversation and one answer, in one commit
// that has reached the disk.
func BenchmarkCommit(b *testing.B) {
	s := withDemo(b)
	m := message("magda", store.LaneReply, "an answer of some length, as a card has it, with a fact and its source beneath")
	m.Out.Choices = [][]chat.Choice{{{Label: "note"}, {Label: "incident"}}}
	m.Actions = []json.RawMessage{[]byte(`{"do":"note","client":"tilda"}`), []byte(`{"do":"incident","client":"tilda"}`)}
	i := 0
	for b.Loop() {
		i++
		do(b, s, now, func(tx *store.Tx) error {
			if _, err := tx.Take("post", fmt.Sprint(i)); err != nil {
				return err
			}
			if err := tx.SaveConversation(at("magda"), []byte(`{"v":1,"client":"tilda"}`)); err != nil {
				return err
			}
			_, err := tx.Enqueue(m)
			return err
		})
	}
}

// What is due is found as fast after years as on the first day: of 100,000 messages
// that were sent, and with a backlog of 2,000 for 200 people.
func BenchmarkDue(b *testing.B) {
	s := open(b)
	do(b, s, now, func(tx *store.Tx) error {
		for i := range 100_000 {
			id, err := tx.Enqueue(message(fmt.Sprint("p", i%200), store.LaneReply, "sent"))
			if err != nil {
				return err
			}
			if err := tx.Sent(id, "1"); err != nil {
				return err
			}
		}
		return nil
	})
	due := func(b *testing.B, want int) {
		for b.Loop() {
			see(b, s, now, func(tx *store.Tx) error {
				all, err := tx.Due(32, []string{"post"})
				if len(all) != want {
					b.Fatalf("%d are due, want %d", len(all), want)
				}
				return err
			})
		}
	}
	b.Run("nothing", func(b *testing.B) { due(b, 0) })
	do(b, s, now, func(tx *store.Tx) error {
		for i := range 2000 {
			if err := queue(tx, fmt.Sprint("p", i%200), store.LaneChange, "waits"); err != nil {
				return err
			}
		}
		return nil
	})
	b.Run("backlog", func(b *testing.B) { due(b, 32) })
	b.Run("offered", func(b *testing.B) {
		for b.Loop() {
			see(b, s, now, func(tx *store.Tx) error { _, _, err := tx.Offered(at("p1")); return err })
		}
	})
}
