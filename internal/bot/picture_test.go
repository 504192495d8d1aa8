package bot_test

import (
	"bytes"
	"context"
	"fmt"
	"image/png"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"samelift/internal/ask"
	"samelift/internal/bot"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/sitefile"
	"samelift/internal/store"
	askwords "samelift/locales/ask"
)

var then = time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)

// A team is the demo's, with everybody joined, and their phones.
type team struct {
	t     testing.TB
	bot   *bot.Bot
	store *store.Store
	n     int
}

func newTeam(t testing.TB, change func(*care.Site)) *team {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "team.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	words, err := locale.Load()
	if err != nil {
		t.Fatal(err)
	}
	lexicon, err := ask.Load(askwords.FS)
	if err != nil {
		t.Fatal(err)
	}
	b := bot.New(bot.Config{Store: s, Words: words, Now: func() time.Time { return then },
		Understand: func(c, p []ask.Name) bot.Reader { return ask.NewReader(lexicon, c, p) }})
	site, faults := sitefile.Read(sitefile.Demo(then), b.Known(nil))
	if len(faults) > 0 {
		t.Fatal(faults[0])
	}
	if change != nil {
		change(site)
	}
	if _, err := b.Import(context.Background(), site); err != nil {
		t.Fatal(err)
	}
	err = s.Update(context.Background(), then, func(tx *store.Tx) error {
		for _, p := range site.People {
			if err := tx.Join(site.Ref, p.Ref, phone(p.Ref), p.Lang); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return &team{t: t, bot: b, store: s}
}

func phone(who string) chat.Address { return chat.Address{Transport: "post", Chat: who} }

// says hands the bot what somebody writes.
func (m *team) says(who, text string) {
	m.t.Helper()
	m.n++
	in := chat.Inbound{ID: fmt.Sprint(m.n), From: phone(who), Private: true, Kind: chat.KindText, At: then, Text: text}
	if err := m.bot.Handle(context.Background(), in); err != nil {
		m.t.Fatal(err)
	}
}

// sent takes all that waits and counts it as sent.
func (m *team) sent() (out []chat.Outbound) {
	m.t.Helper()
	err := m.store.Update(context.Background(), then, func(tx *store.Tx) error {
		for {
			due, err := tx.Due(50, []string{"post"})
			if err != nil || len(due) == 0 {
				return err
			}
			for _, d := range due {
				out = append(out, d.Out)
				if err := tx.Sent(d.ID, "r"); err != nil {
					return err
				}
			}
		}
	})
	if err != nil {
		m.t.Fatal(err)
	}
	return out
}

func text(o chat.Outbound) string {
	var b strings.Builder
	for _, p := range o.Body {
		fmt.Fprintln(&b, p.Text)
	}
	return b.String()
}

// A plan that does not fit its sling's range has no picture, and says so; where the plan
// is only silent there is a picture that shows it. Neither is ever a plausible wrong one.
func TestPictureIsTrueOrNotThere(t *testing.T) {
	// Oskar's plan and its range.
	harbour := func(s *care.Site) *care.Range { return &s.Ranges[0] }
	loops := func(s *care.Site, n ...int) {
		var all []care.Loop
		for _, i := range n {
			all = append(all, care.Loop{Colour: care.Colours[i]})
		}
		harbour(s).Points[1].Loops = all
	}
	oskar := func(s *care.Site) *care.Transfer {
		for i := range s.Plans {
			if s.Plans[i].Client == "oskar" {
				return &s.Plans[i].Transfers[0]
			}
		}
		panic("he has no plan")
	}
	for _, c := range []struct {
		name   string
		change func(*care.Site)
		// want is a piece of the picture's words, or of the text where there is none.
		picture bool
		want    string
	}{
		{"as it is", nil, true, "Leg loops: longest of 4 (pink)"},
		{"the range was edited after the plan: one loop at the leg", func(s *care.Site) { loops(s, 0) }, false, "do not agree"},
		{"one loop, and the plan takes it", func(s *care.Site) { loops(s, 0); oskar(s).Loops[1].Left, oskar(s).Loops[1].Right = 1, 1 }, true, "there is only one"},
		{"seven loops", func(s *care.Site) { loops(s, 0, 1, 2, 3, 4, 5, 6) }, true, "number 4 of 7"},
		{"two loops of one colour", func(s *care.Site) { loops(s, 0, 1, 2, 2) }, true, "longest of 4"},
		{"a colour that is no word of ours", func(s *care.Site) { loops(s, 0, 1, 2, 3); harbour(s).Points[1].Loops[3].Colour = "puce" }, true, "longest of 4 (puce)"},
		{"no colour", func(s *care.Site) { loops(s, 0, 1, 2, 3); harbour(s).Points[1].Loops[3].Colour = "" }, true, "longest of 4"},
		{"a plan without loops", func(s *care.Site) { oskar(s).Loops = nil }, true, "Leg loops: not stated"},
		{"a size the range no longer has", func(s *care.Site) { harbour(s).Sizes = harbour(s).Sizes[:2] }, false, "do not agree"},
		{"a kind of sling that cannot be drawn", func(s *care.Site) { harbour(s).Kind = care.StandingSling }, false, "cannot be drawn"},
		{"no sling named", func(s *care.Site) { oskar(s).Range, oskar(s).Size = "", "" }, false, "not stated"},
	} {
		m := newTeam(t, c.change)
		m.says("grace", "Oskar bed to chair loops")
		out := m.sent()
		if len(out) != 1 {
			t.Errorf("%s: %d messages", c.name, len(out))
			continue
		}
		p := out[0].Picture
		switch {
		case (p != nil) != c.picture:
			t.Errorf("%s: a picture is there: %v\n%s", c.name, p != nil, text(out[0]))
		case p == nil && !strings.Contains(text(out[0]), c.want):
			t.Errorf("%s: the words do not say %q\n%s", c.name, c.want, text(out[0]))
		case p != nil && !strings.Contains(p.Alt, c.want):
			t.Errorf("%s: the picture does not say %q\n%s", c.name, c.want, p.Alt)
		case p != nil:
			if img, err := png.DecodeConfig(bytes.NewReader(p.PNG)); err != nil || img.Width != 720 || len(p.PNG) > 40<<10 {
				t.Errorf("%s: %d bytes, %+v, %v", c.name, len(p.PNG), img, err)
			}
		}
	}
}

// A site or a person without pictures gets the same words and no picture.
func TestWithoutPictures(t *testing.T) {
	m := newTeam(t, func(s *care.Site) { s.NoPictures = true })
	m.says("grace", "Oskar bed to chair loops")
	bare := m.sent()[0]
	m = newTeam(t, nil)
	m.says("grace", "Oskar bed to chair loops")
	full := m.sent()[0]
	if bare.Picture != nil || full.Picture == nil || text(bare) != text(full) {
		t.Errorf("without %v, with %v:\n%s\n%s", bare.Picture != nil, full.Picture != nil, text(bare), text(full))
	}
	m.says("grace", "/pictures off")
	m.says("grace", "Oskar bed to chair loops")
	if out := m.sent(); out[1].Picture != nil || text(out[1]) != text(full) {
		t.Errorf("after /pictures off: %+v", out[1])
	}
	// A colleague's messages are none of hers.
	m.says("priya", "Oskar bed to chair loops")
	if out := m.sent(); out[0].Picture == nil {
		t.Error("one person's choice took another's pictures")
	}
}

// A picture names nobody: neither its words nor its key.
func TestPictureNamesNobody(t *testing.T) {
	m := newTeam(t, nil)
	m.says("grace", "Tilda bed to chair loops")
	m.says("priya", "Tilda bed to chair loops")
	out := m.sent()
	for _, o := range out {
		for _, s := range []string{"Tilda", "Brannock", "tilda"} {
			if strings.Contains(o.Picture.Alt, s) || strings.Contains(o.Picture.Key, s) || bytes.Contains(o.Picture.PNG, []byte(s)) {
				t.Errorf("the picture names %s", s)
			}
		}
	}
	if out[0].Picture.Key != out[1].Picture.Key {
		t.Error("two readers of one plan have two pictures")
	}
}

// The commit of a card whose picture is kept, and of one that has to be drawn.
func BenchmarkCardWithPicture(b *testing.B) {
	for _, fresh := range []bool{false, true} {
		name := "kept"
		if fresh {
			name = "drawn"
		}
		b.Run(name, func(b *testing.B) {
			m := newTeam(b, nil)
			m.says("grace", "Tilda bed to chair loops")
			runtime.GC()
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			for b.Loop() {
				if fresh {
					if err := m.store.Update(context.Background(), then, func(tx *store.Tx) error {
						return tx.ForgetPictures(then.Add(time.Hour))
					}); err != nil {
						b.Fatal(err)
					}
				}
				m.says("grace", "Tilda bed to chair loops")
				b.StopTimer()
				m.sent()
				b.StartTimer()
			}
			runtime.GC()
			runtime.ReadMemStats(&after)
			b.ReportMetric(float64(after.HeapAlloc)-float64(before.HeapAlloc), "heap-bytes-kept")
		})
	}
}
