package sitefile_test

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/sitefile"
)

// anySite draws a site that a file can hold: every list and field may be there or not,
// and the words hold whatever YAML could trip over.
func anySite(t *rapid.T) *care.Site {
	g := &gen{t}
	s := &care.Site{
		Ref: "site-1", Name: g.word("name"), Lang: g.lang(), EmergencyNumber: rapid.StringMatching(`[0-9]{2,20}`).Draw(t, "number"),
		Zone:         rapid.SampledFrom([]string{"Europe/London", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC", "America/New_York"}).Draw(t, "zone"),
		InitialsOnly: g.flip(), HandoverLead: time.Duration(g.n(0, 240)) * time.Minute,
	}
	for i := range g.n(0, 3) {
		s.Shifts = append(s.Shifts, care.Shift{Name: fmt.Sprint(g.word("shift"), i), Start: care.Clock(g.n(0, 1439)), End: care.Clock(g.n(0, 1439))})
	}
	for i := range g.n(0, 3) {
		s.Ranges = append(s.Ranges, g.aRange(i))
	}
	for i := range g.n(0, 4) {
		if len(s.Ranges) == 0 {
			break
		}
		r := rapid.SampledFrom(s.Ranges).Draw(t, "range")
		s.Slings = append(s.Slings, care.Sling{Label: fmt.Sprint("0", i), Range: r.Ref, Size: rapid.SampledFrom(r.Sizes).Draw(t, "size").Name,
			State: pick(g, care.EquipmentStates), Examined: g.examined()})
	}
	for i := range g.n(0, 3) {
		s.Hoists = append(s.Hoists, care.Hoist{Label: fmt.Sprint("1e", i), Name: g.maybe("hoist"), Kind: pick(g, care.HoistKinds), Attachment: pick(g, care.Attachments),
			BarPoints: g.n(0, 12), Limit: g.mass(), BarLimit: g.mass(), State: pick(g, care.EquipmentStates), Examined: g.examined()})
	}
	for i := range g.n(0, 4) {
		c := care.Client{Ref: fmt.Sprint("c", i), Name: g.word("client"), Room: fmt.Sprint(i), Mass: g.mass(), Weighed: g.date(), Says: some(g, care.Communications), SaysMore: g.text(), Ended: g.flip()}
		for range g.n(0, 2) {
			c.Also = append(c.Also, g.word("also"))
		}
		s.Clients = append(s.Clients, c)
		for v := range g.n(0, 2) {
			s.Plans = append(s.Plans, g.plan(s, c.Ref, v+1))
		}
	}
	for i := range g.n(0, 3) {
		p := care.Person{Ref: fmt.Sprint("p", i), Name: g.word("person"), Role: pick(g, care.Roles), Lang: g.lang(), Phone: maybe(g, []string{"112", "+44 1632 960-001", "(01632) 960002"}), Removed: g.flip()}
		for _, sh := range s.Shifts {
			if g.flip() {
				p.Shifts = append(p.Shifts, sh.Name)
			}
		}
		for _, c := range s.Clients {
			if g.flip() {
				p.CaresFor = append(p.CaresFor, c.Ref)
			}
		}
		s.People = append(s.People, p)
	}
	return s
}

type gen struct{ t *rapid.T }

func (g *gen) n(low, high int) int { return rapid.IntRange(low, high).Draw(g.t, "n") }
func (g *gen) flip() bool          { return rapid.Bool().Draw(g.t, "flip") }
func (g *gen) lang() string {
	return rapid.SampledFrom([]string{"en", "no", "pt-BR"}).Draw(g.t, "lang")
}

// word draws a short text with what YAML could take for something else.
func (g *gen) word(what string) string {
	s := rapid.OneOf(
		rapid.SampledFrom([]string{"no", "off", "yes", "~", "null", "1e3", "0x10", "- a", "a: b", "#", "*x", "&y", "!z", "'", `"`, "{a", "[b", "a, b", "2026-01-02", "07:30", "%", "@", "`", "| x", "<<", "؟ نعم", "…", "\\n", "--- x", "?", "true"}),
		rapid.StringN(1, 20, 60),
	).Filter(func(s string) bool { return care.Clean(s, 60) != "" }).Draw(g.t, what)
	return care.Clean(s, 60)
}

func (g *gen) maybe(what string) string {
	if g.flip() {
		return ""
	}
	return g.word(what)
}

func (g *gen) text() care.Text {
	if g.flip() {
		return care.Text{}
	}
	t := care.Text{Words: g.word("text")}
	if g.flip() {
		t.Lang = g.lang()
	}
	return t
}

func (g *gen) mass() care.Mass { return care.Mass(rapid.Int64Range(0, 1_000_000).Draw(g.t, "mass")) }

func (g *gen) date() care.Date {
	if g.flip() {
		return care.Date{}
	}
	return care.Date{Year: 2026, Month: 1, Day: 1}.AddDays(g.n(-5000, 5000))
}

func (g *gen) examined() care.Examined {
	e := care.Examined{Last: g.date(), Due: g.date()}
	if !e.Last.IsZero() && !e.Due.IsZero() && e.Due.Before(e.Last) {
		e.Last, e.Due = e.Due, e.Last
	}
	return e
}

func pick[T any](g *gen, all []T) T { return rapid.SampledFrom(all).Draw(g.t, "pick") }

func maybe[T any](g *gen, all []T) T {
	var none T
	if g.flip() {
		return none
	}
	return pick(g, all)
}

func some[T any](g *gen, all []T) []T {
	var out []T
	for _, x := range all {
		if g.n(0, 3) == 0 {
			out = append(out, x)
		}
	}
	return out
}

func (g *gen) aRange(i int) care.Range {
	r := care.Range{Ref: fmt.Sprint("r", i), Name: g.word("range"), Kind: pick(g, care.SlingKinds), Attachment: pick(g, care.Attachments), Head: maybe(g, care.YesNos), LegStraps: some(g, care.LegStrapsAll)}
	for _, p := range care.Points {
		if g.flip() && !(p == care.LegPoint && len(r.Points) == 0) {
			continue
		}
		rp := care.RangePoint{Point: p}
		if r.Attachment == care.LoopAttachment {
			for j := range g.n(1, 12) {
				l := care.Loop{Colour: maybe(g, append(slices.Clone(care.Colours), "ochre, dark"))}
				if l.Colour == "" || g.flip() {
					l.Length = 100*(j+1) + g.n(0, 99)
				}
				rp.Loops = append(rp.Loops, l)
			}
		}
		r.Points = append(r.Points, rp)
	}
	for j := range g.n(1, 3) {
		r.Sizes = append(r.Sizes, care.Size{Name: care.Clean(fmt.Sprint(j, g.word("size")), 20), Limit: g.mass()})
	}
	return r
}

func (g *gen) cautions() []care.Caution {
	var out []care.Caution
	for range g.n(0, 2) {
		c := care.Caution{Code: pick(g, care.CautionCodes), Side: maybe(g, care.Sides), Part: maybe(g, care.BodyParts), Text: g.text()}
		if c.Code == "other" && c.Text.IsZero() {
			c.Text.Words = "something"
		}
		out = append(out, c)
	}
	return out
}

func (g *gen) plan(s *care.Site, client string, version int) care.Plan {
	p := care.Plan{Client: client, Version: version, AuthorRole: g.maybe("role"), Author: g.maybe("author"), Reason: g.text(), NextReview: g.date(), Cautions: g.cautions()}
	// Around the clock changes, down to the second.
	from := pick(g, []string{"2026-03-29T00:30:00Z", "2026-10-25T00:00:00Z", "2026-10-04T14:00:00Z", "2026-04-04T14:30:00Z", "2026-07-01T12:00:00Z"})
	p.From, _ = time.Parse(time.RFC3339, from)
	p.From = p.From.Add(time.Duration(g.n(-180, 180)) * pick(g, []time.Duration{time.Minute, time.Minute, time.Second}))
	tos := []care.Place{care.Chair, care.Commode, care.Bath}
	for _, to := range tos[:g.n(1, 3)] {
		p.Transfers = append(p.Transfers, g.transfer(s, to))
	}
	for range g.n(0, 2) {
		p.Decisions = append(p.Decisions, care.Decision{
			Finding: pick(g, []string{"head_support_unknown", "hoist_not_usable"}), About: g.maybe("about"), Transfer: pick(g, p.Transfers).Key(),
			Reason: care.Text{Lang: g.lang(), Words: g.word("reason")}, Assessor: g.word("assessor"),
		})
	}
	return p
}

func (g *gen) transfer(s *care.Site, to care.Place) care.Transfer {
	bed, seat := care.SetUps[:6], care.SetUps[6:]
	t := care.Transfer{From: care.Bed, To: to, BothWays: g.flip(), Arms: maybe(g, care.ArmsAll), HoistBrakes: maybe(g, care.BrakesAll), Carers: g.n(0, 4),
		Head: maybe(g, care.YesNos), BedSetUp: some(g, bed), SeatSetUp: some(g, seat), SetUpMore: g.text(), Stays: maybe(g, care.YesNos), Cautions: g.cautions(), LegStraps: ""}
	for range g.n(0, 3) {
		if g.flip() {
			t.Steps = append(t.Steps, care.Step{Code: pick(g, care.StepCodes)})
		} else {
			t.Steps = append(t.Steps, care.Step{Text: care.Text{Words: g.word("step"), Lang: maybe(g, []string{"en", "pl"})}})
		}
	}
	if len(s.Ranges) == 0 || g.flip() {
		return t
	}
	r := pick(g, s.Ranges)
	t.Range = r.Ref
	t.Size = maybe(g, r.Sizes).Name
	t.LegStraps = maybe(g, append([]care.LegStraps{""}, r.LegStraps...))
	for _, x := range s.Slings {
		if x.Range == t.Range && (t.Size == "" || x.Size == t.Size) {
			if t.Label == "" {
				t.Label = x.Label
			} else {
				t.Spare = x.Label
			}
		}
	}
	for _, h := range s.Hoists {
		if h.Attachment == r.Attachment {
			t.Hoist = h.Label
		}
	}
	for _, p := range r.Points {
		if len(p.Loops) == 0 || g.flip() {
			continue
		}
		l := care.PointLoops{Point: p.Point, Left: g.n(1, len(p.Loops)), Reason: g.text(), Assessor: g.maybe("assessor")}
		l.Right = l.Left
		if g.flip() {
			l.Right = g.n(0, len(p.Loops))
		}
		if l.Left != l.Right && l.Right > 0 {
			l.Reason.Words, l.Assessor = "Curved spine.", "Somebody"
		}
		t.Loops = append(t.Loops, l)
	}
	return t
}

func roundTrip(t interface {
	Helper()
	Fatalf(string, ...any)
}, s *care.Site) *care.Site {
	t.Helper()
	var out bytes.Buffer
	if err := sitefile.Write(&out, s); err != nil {
		t.Fatalf("write: %v", err)
	}
	back, faults := sitefile.Read(out.Bytes(), sitefile.Known{})
	if len(faults) > 0 {
		t.Fatalf("what was written is not read: %v\n%s", faults, out.String())
	}
	if !reflect.DeepEqual(s, back) {
		t.Fatalf("read back:\n%+v\nwritten:\n%+v\n%s", back, s, out.String())
	}
	return back
}

func TestWriteReadsBackEqual(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { roundTrip(t, anySite(t)) })
}

func TestDemoReadsBackEqual(t *testing.T) {
	roundTrip(t, mustRead(t, sitefile.Demo(demoNow), nil))
}
