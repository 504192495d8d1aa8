package transcript

import (
	"context"
	"flag"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
	"samelift/internal/store"
)

// Whatever a carer types and presses, new buttons and old, while her clients and her role
// are taken and given and a coordinator does anything at all: no message that reaches her
// names a client who is not hers at that moment, other than in words that somebody wrote.
func TestNothingIsToldOfOthers(t *testing.T) {
	words, understand := setUp(t)
	if f := flag.Lookup("rapid.checks"); f.Value.String() == f.DefValue {
		if err := f.Value.Set("12"); err != nil {
			t.Fatal(err)
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		p := &player{t: t, words: words, understand: understand, files: map[string][]byte{}}
		p.rec = chattest.NewRecorder(transport)
		p.path = filepath.Join(t.TempDir(), "story.db")
		p.now = time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
		defer p.close()
		p.ready()
		p.command([]string{"joined", "grace", "elena"})
		p.seen()
		m := privacyModel{p: p}
		rt.Repeat(map[string]func(*rapid.T){
			"grace types":   func(rt *rapid.T) { m.types(rt, "grace") },
			"grace presses": func(rt *rapid.T) { m.presses(rt, "grace") },
			"again":         func(rt *rapid.T) { m.presses(rt, "grace") },
			"elena types":   func(rt *rapid.T) { m.types(rt, "elena") },
			"elena presses": func(rt *rapid.T) { m.presses(rt, "elena") },
			"rights":        m.rights,
			"time": func(rt *rapid.T) {
				p.clock("+" + rapid.SampledFrom([]string{"1m", "20m", "5h"}).Draw(rt, "time"))
				p.seen()
			},
			"": m.check,
		})
	})
}

type privacyModel struct {
	p       *player
	checked int
}

var privacyTexts = []string{"", "loops for ", "how many carers ", "which sling bed to chair ", "note for ", "incident ", "last notes ", "whole plan ",
	"on the floor ", "handover ", "cautions not ", "room 12 "}

var privacyCommands = []string{"/clients", "/note", "/incident", "/handover", "/cancel", "/team", "/changes", "/plans", "/start", "/help"}

func (m *privacyModel) types(rt *rapid.T, who string) {
	text := rapid.SampledFrom(privacyTexts).Draw(rt, "text")
	switch rapid.IntRange(0, 5).Draw(rt, "kind") {
	case 0:
		text = rapid.SampledFrom(privacyCommands).Draw(rt, "command")
	case 1:
		text += rapid.SampledFrom([]string{"Nobody", "qwertz", "S-014", "2", "yes"}).Draw(rt, "other")
	default:
		name := rapid.SampledFrom(m.p.site.Clients).Draw(rt, "client").Name
		switch rapid.IntRange(0, 2).Draw(rt, "form") {
		case 0:
			name = strings.ToLower(name)
		case 1:
			name = strings.Fields(name)[0]
		}
		text += name
	}
	m.p.acts(who, text)
	m.p.seen()
}

// presses presses any button that somebody was ever sent.
func (m *privacyModel) presses(rt *rapid.T, who string) {
	var all []string
	for _, a := range m.p.rec.Arrivals() {
		for _, row := range a.Out.Choices {
			for _, c := range row {
				if a.Out.To == m.p.address(who) {
					all = append(all, c.Data)
				}
			}
		}
	}
	if len(all) == 0 {
		return
	}
	i := len(all) - 1
	if rapid.Bool().Draw(rt, "a new one") {
		i -= rapid.IntRange(0, min(9, i)).Draw(rt, "button")
	} else {
		i = rapid.IntRange(0, i).Draw(rt, "old button")
	}
	m.p.acts(who, "<presses "+all[i]+">")
	m.p.seen()
}

// rights gives Grace other clients, or another role; if she has been removed she is let
// in again on the same phone.
func (m *privacyModel) rights(rt *rapid.T) {
	site := *m.p.site
	site.Plans = nil
	site.People = slices.Clone(site.People)
	i := slices.IndexFunc(site.People, func(p care.Person) bool { return p.Ref == "grace" })
	g := &site.People[i]
	g.Removed, g.Role, g.CaresFor = false, care.Carer, nil
	if rapid.IntRange(0, 4).Draw(rt, "coordinator") == 0 {
		g.Role = care.Coordinator
	}
	for _, c := range site.Clients {
		if rapid.Bool().Draw(rt, c.Ref) {
			g.CaresFor = append(g.CaresFor, c.Ref)
		}
	}
	_, err := m.p.bot.Import(context.Background(), &site)
	m.p.must(err)
	m.p.must(m.p.store.Update(context.Background(), m.p.now, func(tx *store.Tx) error {
		if joined, err := tx.Joined("larch", "grace"); err != nil || joined {
			return err
		}
		return tx.Join("larch", "grace", m.p.address("grace"), "en")
	}))
	m.p.seen()
}

func (m *privacyModel) check(rt *rapid.T) {
	var grace care.Person
	m.p.must(m.p.store.View(context.Background(), m.p.now, func(tx *store.Tx) error {
		site, err := tx.Site("larch")
		if err == nil {
			m.p.site = site
			grace, _ = site.Person("grace")
		}
		return err
	}))
	arrivals := m.p.rec.Arrivals()
	for _, a := range arrivals[m.checked:] {
		if a.Out.To != m.p.address("grace") {
			continue
		}
		var said []string
		for _, para := range a.Out.Body {
			if para.Style != chat.Quote {
				said = append(said, para.Text)
			}
		}
		for _, row := range a.Out.Choices {
			for _, c := range row {
				said = append(said, c.Label)
			}
		}
		if a.Out.Picture != nil {
			said = append(said, a.Out.Picture.Alt)
		}
		for _, c := range m.p.site.Clients {
			if !grace.MaySee(c.Ref) && strings.Contains(strings.Join(said, "\n"), c.Name) {
				rt.Fatalf("Grace reads of %s, who is not hers:\n%s", c.Name, strings.Join(said, "\n"))
			}
		}
	}
	m.checked = len(arrivals)
}
