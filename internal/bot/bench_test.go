package bot_test

import (
	"context"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"samelift/internal/ask"
	"samelift/internal/bot"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/sitefile/sitetest"
	"samelift/internal/store"
	askwords "samelift/locales/ask"
)

var benchNow = time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)

// A bench is a bot on a database file with a site of the size that the figures are
// stated for: 1,000 clients and 200 carers, who have all joined.
type bench struct {
	b    *testing.B
	path string
	site *care.Site
	s    *store.Store
	bot  *bot.Bot
	ids  int
	took []time.Duration
}

func newBench(b *testing.B) *bench {
	h := &bench{b: b, path: filepath.Join(b.TempDir(), "bench.db"), site: sitetest.Large(benchNow, 1000, 200)}
	h.open()
	b.Cleanup(func() { h.s.Close() })
	ctx := context.Background()
	if _, err := h.bot.Import(ctx, h.site); err != nil {
		b.Fatal(err)
	}
	err := h.s.Update(ctx, benchNow, func(tx *store.Tx) error {
		for _, p := range h.site.People {
			if err := tx.Join(h.site.Ref, p.Ref, addressOf(p), "en"); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	return h
}

func addressOf(p care.Person) chat.Address { return chat.Address{Transport: "bench", Chat: p.Ref} }

// open does what a process does before its first message.
func (h *bench) open() {
	words, err := locale.Load()
	if err != nil {
		h.b.Fatal(err)
	}
	lexicon, err := ask.Load(askwords.FS)
	if err != nil {
		h.b.Fatal(err)
	}
	if h.s, err = store.Open(context.Background(), h.path); err != nil {
		h.b.Fatal(err)
	}
	h.bot = bot.New(bot.Config{
		Store: h.s, Words: words, Now: func() time.Time { return benchNow },
		Understand: func(clients, colleagues []ask.Name) bot.Reader { return ask.NewReader(lexicon, clients, colleagues) },
	})
}

// handle hands one message over and notes how long it took to its commit.
func (h *bench) handle(in chat.Inbound) {
	h.ids++
	in.ID, in.Private, in.At = strconv.Itoa(h.ids), true, benchNow
	start := time.Now()
	err := h.bot.Handle(context.Background(), in)
	h.took = append(h.took, time.Since(start))
	if err != nil {
		h.b.Fatal(err)
	}
}

// ask has the nth carer ask about one of their clients.
func (h *bench) ask(n int) {
	who := h.site.People[n%200]
	client, _ := h.site.Client(who.CaresFor[n/200%len(who.CaresFor)])
	plan, _ := h.site.PlanAt(client.Ref, benchNow)
	h.handle(chat.Inbound{From: addressOf(who), Kind: chat.KindText, Text: "which loops for " + client.Name + ", bed to " + string(plan.Transfers[0].To) + "?"})
}

// press has the nth carer press the newest button whose label begins so.
func (h *bench) press(n int, label string) {
	who := h.site.People[n%200]
	var offered []chat.Choice
	err := h.s.View(context.Background(), benchNow, func(tx *store.Tx) error {
		var err error
		offered, _, err = tx.Offered(addressOf(who))
		return err
	})
	if err != nil {
		h.b.Fatal(err)
	}
	for _, c := range offered {
		if strings.HasPrefix(c.Label, label) {
			h.handle(chat.Inbound{From: addressOf(who), Kind: chat.KindChoice, Choice: c.Data})
			return
		}
	}
	h.b.Fatalf("no button %s in %v", label, offered)
}

// report gives the median and the 99th percentile of one message.
func (h *bench) report() {
	slices.Sort(h.took)
	at := func(q float64) float64 {
		return float64(h.took[min(len(h.took)-1, int(q*float64(len(h.took))))].Microseconds()) / 1000
	}
	h.b.ReportMetric(at(0.50), "p50-ms")
	h.b.ReportMetric(at(0.99), "p99-ms")
	h.b.ReportMetric(float64(len(h.took))/float64(h.b.N), "messages/op")
}

// A question, answered with a card. The aim: committed within 5 ms, median, on two cores.
func BenchmarkQuestion(b *testing.B) {
	h := newBench(b)
	h.ask(0) // the first one loads the site
	h.took = nil
	n := 0
	for b.Loop() {
		h.ask(n)
		n++
	}
	h.report()
}

// A whole note after a card, press by press.
func BenchmarkNote(b *testing.B) {
	h := newBench(b)
	h.ask(0)
	h.took = nil
	n := 0
	for b.Loop() {
		h.ask(n)
		for _, label := range []string{"Visit note", "As planned, nothing new", "Save"} {
			h.press(n, label)
		}
		n++
	}
	h.report()
}

// From a database on disk to the first answer's commit. The aim: within a second.
func BenchmarkStart(b *testing.B) {
	h := newBench(b)
	n := 0
	for b.Loop() {
		if err := h.s.Close(); err != nil {
			b.Fatal(err)
		}
		h.open()
		h.ask(n)
		n++
	}
}
