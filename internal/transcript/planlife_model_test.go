package transcript

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/ask"
	"samelift/internal/bot"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
	"samelift/internal/locale"
	"samelift/internal/outbox"
	"samelift/internal/schedule"
	"samelift/internal/store"
)

// Whatever happens in whatever order - publishing, suspending, reading, reminding,
// restarting, lost presses, failed sends, joining, leaving, moving between clients -
// once everything due has run, every carer of a client whose plan has changed is listed
// to the coordinators and, if they can be reached, was told; nobody else is listed; and
// no card on any screen looks as if a replaced or stopped plan were in force.
func TestLifeOfPlanModel(t *testing.T) {
	words, understand := setUp(t)
	fewer(t, "20")
	rapid.Check(t, func(rt *rapid.T) {
		m := &lifeModel{rt: rt, dir: t.TempDir(), words: words, understand: understand}
		m.begin()
		defer m.close()
		rt.Repeat(map[string]func(*rapid.T){
			"publish":  m.publish,
			"again":    m.publish,
			"act":      m.act,
			"ask":      m.ask,
			"read":     m.press,
			"press":    m.press,
			"write":    m.write,
			"join":     m.join,
			"leave":    m.leave,
			"people":   m.people,
			"people 2": m.people,
			"leave 2":  m.leave,
			"restart":  func(*rapid.T) { m.close(); m.open() },
			"failing":  func(rt *rapid.T) { m.rec.FailNext(rapid.IntRange(1, 3).Draw(rt, "sends"), errors.New("no network")) },
			"busy":     func(*rapid.T) { m.rec.FailNext(1, &chat.RetryAfter{Wait: 20 * time.Second}) },
			"send":     func(*rapid.T) { m.pass(false) },
			"wait":     func(rt *rapid.T) { m.advance(time.Duration(rapid.IntRange(1, 600).Draw(rt, "minutes")) * time.Minute) },
			"settle":   func(rt *rapid.T) { m.settle(); m.check(rt) },
			"settle 2": func(rt *rapid.T) { m.settle(); m.check(rt) },
		})
		m.settle()
		m.check(rt)
	})
}

// fewer runs a property less often than usual, since each run opens a real database;
// ask for more with -rapid.checks.
func fewer(t *testing.T, checks string) {
	t.Helper()
	f := flag.Lookup("rapid.checks")
	if f.Value.String() != f.DefValue {
		return
	}
	if err := f.Value.Set(checks); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Value.Set(f.DefValue) })
}

type lifeModel struct {
	rt         *rapid.T
	dir        string
	words      *locale.Catalog
	understand func(clients, colleagues []ask.Name) bot.Reader

	now   time.Time
	ids   int
	store *store.Store
	bot   *bot.Bot
	out   *outbox.Outbox
	sched *schedule.Schedule
	rec   *chattest.Recorder
	// want is the site as it was last described.
	want care.Site
}

var (
	lifeCarers  = []string{"ana", "ben", "cleo", "dora"}
	lifeClients = []string{"tilda", "rosa"}
	lifeNames   = map[string]string{"tilda": "Tilda Brannock", "rosa": "Rosa Lindqvist"}
)

func (m *lifeModel) begin() {
	m.now = time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
	m.rec = chattest.NewRecorder(transport)
	m.want = m.described()
	m.open()
	m.describe()
	for _, who := range []string{"elena", "ana", "ben", "cleo"} {
		m.enter(who)
	}
}

// described is the site at the beginning.
func (m *lifeModel) described() care.Site {
	points := []care.RangePoint{
		{Point: care.ShoulderPoint, Loops: []care.Loop{{Colour: "teal"}, {Colour: "grey"}, {Colour: "pink"}}},
		{Point: care.LegPoint, Loops: []care.Loop{{Colour: "teal"}, {Colour: "grey"}, {Colour: "pink"}}},
	}
	site := care.Site{
		Ref: "larch", Name: "Larch House", Zone: "Europe/London", Lang: "en", EmergencyNumber: "999", HandoverLead: 15 * time.Minute,
		Shifts: []care.Shift{{Name: "early", Start: 7 * 60, End: 15 * 60}, {Name: "late", Start: 15 * 60, End: 23 * 60}},
		People: []care.Person{{Ref: "elena", Name: "Elena Marsh", Role: care.Coordinator, Lang: "en"}},
		Ranges: []care.Range{{Ref: "harbour", Name: "Harbour", Kind: care.FullBodySling, Attachment: care.LoopAttachment, Head: care.Yes,
			Points: points, LegStraps: []care.LegStraps{care.LegsCrossed, care.LegsSeparate}, Sizes: []care.Size{{Name: "M", Limit: 160 * care.Kilogram}}}},
		Slings: []care.Sling{{Label: "S-1", Range: "harbour", Size: "M", State: care.InUse}, {Label: "S-2", Range: "harbour", Size: "M", State: care.InUse}},
	}
	for i, ref := range lifeCarers {
		p := care.Person{Ref: ref, Name: strings.ToUpper(ref[:1]) + ref[1:], Role: care.Carer, Lang: "en", CaresFor: []string{lifeClients[i%2]}}
		if i == 0 {
			p.CaresFor, p.Shifts = lifeClients, []string{"early"}
		}
		site.People = append(site.People, p)
	}
	for _, ref := range lifeClients {
		site.Clients = append(site.Clients, care.Client{Ref: ref, Name: lifeNames[ref], Room: "1" + ref[:1], Mass: 60 * care.Kilogram})
		site.Plans = append(site.Plans, care.Plan{Client: ref, Version: 1, From: m.now.Add(-time.Hour), AuthorRole: "Therapist", Transfers: []care.Transfer{{
			From: care.Bed, To: care.Chair, Range: "harbour", Size: "M", Label: "S-1", LegStraps: care.LegsCrossed, Carers: 2,
			Loops: []care.PointLoops{{Point: care.ShoulderPoint, Left: 1, Right: 1}, {Point: care.LegPoint, Left: 2, Right: 2}},
		}}})
	}
	return site
}

func (m *lifeModel) must(err error) {
	if err != nil {
		m.rt.Fatal(err)
	}
}

func (m *lifeModel) open() {
	s, err := store.Open(context.Background(), filepath.Join(m.dir, "model.db"))
	m.must(err)
	now := func() time.Time { return m.now }
	m.rec.SetNow(now)
	m.store = s
	m.bot = bot.New(bot.Config{Store: s, Words: m.words, Understand: m.understand, Now: now, Rand: zeros{m}})
	m.out = outbox.New(s, now, quiet, m.rec)
	m.out.Wire = 1
	m.sched = &schedule.Schedule{Bot: m.bot, Store: s, Now: now, Log: quiet}
}

func (m *lifeModel) close() { m.must(m.store.Close()) }

// describe imports the site as it is wanted, with the plans once each.
func (m *lifeModel) describe() {
	site := m.want
	site.People = slices.Clone(site.People)
	_, err := m.bot.Import(context.Background(), &site)
	m.must(err)
	m.want.Plans = nil
}

func (m *lifeModel) enter(who string) {
	m.must(m.store.Update(context.Background(), m.now, func(tx *store.Tx) error { return tx.Join("larch", who, paper(who), "en") }))
}

func paper(who string) chat.Address { return chat.Address{Transport: transport, Chat: who} }

func (m *lifeModel) handle(in chat.Inbound) {
	m.ids++
	in.ID, in.Private, in.At = strconv.Itoa(m.ids), true, m.now
	m.must(m.bot.Handle(context.Background(), in))
}

func (m *lifeModel) says(who, text string) {
	m.handle(chat.Inbound{From: paper(who), Kind: chat.KindText, Text: text})
}

// publish records a next version, in force now or later, of one thing changed.
func (m *lifeModel) publish(rt *rapid.T) {
	client := rapid.SampledFrom(lifeClients).Draw(rt, "client")
	var p care.Plan
	m.must(m.store.View(context.Background(), m.now, func(tx *store.Tx) error {
		all, err := tx.Versions("larch", client)
		p = all[len(all)-1].Plan
		return err
	}))
	p.Version++
	p.From = m.now.Add(time.Duration(rapid.SampledFrom([]int{0, 0, 40, 300}).Draw(rt, "later")) * time.Minute)
	p.Urgent = rapid.Bool().Draw(rt, "urgent")
	p.Transfers = slices.Clone(p.Transfers)
	t := &p.Transfers[0]
	switch rapid.SampledFrom([]string{"loops", "carers", "sling", "review"}).Draw(rt, "what") {
	case "loops":
		t.Loops = slices.Clone(t.Loops)
		t.Loops[1].Left = t.Loops[1].Left%3 + 1
		t.Loops[1].Right = t.Loops[1].Left
	case "carers":
		t.Carers = t.Carers%3 + 1
	case "sling":
		t.Label = map[string]string{"S-1": "S-2", "S-2": "S-1"}[t.Label]
	case "review":
		p.NextReview = care.DateOf(m.now).AddDays(p.Version + 7)
	}
	m.want.Plans = []care.Plan{p}
	m.describe()
}

// act has the coordinator suspend, put back or end a plan.
func (m *lifeModel) act(rt *rapid.T) {
	client := rapid.SampledFrom(lifeClients).Draw(rt, "client")
	m.says("elena", "/plans")
	m.pass(false)
	if !m.pressed("elena", lifeNames[client]+" · 1"+client[:1]) {
		return
	}
	m.pass(false)
	if m.pressed("elena", "Suspend plan") {
		return
	}
	if rapid.IntRange(0, 9).Draw(rt, "lose it") > 0 && m.pressed("elena", "Put back in force") {
		m.says("elena", "She was seen.")
		m.pass(false)
		m.pressed("elena", "Save")
	}
}

// pressed presses the newest button with a label.
func (m *lifeModel) pressed(who, label string) bool {
	screen := m.rec.Screen(paper(who))
	for i := len(screen) - 1; i >= max(len(screen)-2, 0); i-- {
		for _, row := range screen[i].Out.Choices {
			for _, c := range row {
				if c.Label == label {
					m.handle(chat.Inbound{From: paper(who), Kind: chat.KindChoice, Choice: c.Data})
					return true
				}
			}
		}
	}
	return false
}

func (m *lifeModel) ask(rt *rapid.T) {
	who := rapid.SampledFrom(append([]string{"elena"}, lifeCarers...)).Draw(rt, "who")
	m.says(who, "loops bed to chair "+lifeNames[rapid.SampledFrom(lifeClients).Draw(rt, "client")])
}

// write types what may answer a read-back.
func (m *lifeModel) write(rt *rapid.T) {
	m.says(rapid.SampledFrom(lifeCarers).Draw(rt, "who"), rapid.SampledFrom([]string{"1", "2", "3", "S-2", "2 (grey)", "I have read it"}).Draw(rt, "text"))
}

// press presses any button on a carer's screen, old ones too, or loses the press.
func (m *lifeModel) press(rt *rapid.T) {
	who := rapid.SampledFrom(lifeCarers).Draw(rt, "who")
	var all []string
	for _, a := range m.rec.Screen(paper(who)) {
		for _, row := range a.Out.Choices {
			for _, c := range row {
				all = append(all, c.Data)
			}
		}
	}
	if len(all) > 0 && rapid.IntRange(0, 9).Draw(rt, "lose it") > 0 {
		all = all[max(0, len(all)-12):]
		m.handle(chat.Inbound{From: paper(who), Kind: chat.KindChoice, Choice: rapid.SampledFrom(all).Draw(rt, "button")})
	}
}

func (m *lifeModel) join(rt *rapid.T) {
	who := rapid.IntRange(0, len(lifeCarers)-1).Draw(rt, "who")
	if m.want.People[who+1].Removed {
		return
	}
	code, err := m.bot.Invite(context.Background(), "larch", lifeCarers[who])
	m.must(err)
	joined := false
	m.must(m.store.View(context.Background(), m.now, func(tx *store.Tx) (err error) {
		joined, err = tx.Joined("larch", lifeCarers[who])
		return err
	}))
	if joined {
		return
	}
	m.says(lifeCarers[who], "/start "+code)
	m.pass(false)
	m.pressed(lifeCarers[who], "English")
	m.pass(false)
	m.pressed(lifeCarers[who], "I understand")
}

func (m *lifeModel) leave(rt *rapid.T) {
	kind := rapid.SampledFrom([]chat.Kind{chat.KindLeft, chat.KindReturns}).Draw(rt, "kind")
	m.handle(chat.Inbound{From: paper(rapid.SampledFrom(lifeCarers).Draw(rt, "who")), Kind: kind})
}

// people changes who is on the team and whom they care for.
func (m *lifeModel) people(rt *rapid.T) {
	p := &m.want.People[1+rapid.IntRange(0, len(lifeCarers)-1).Draw(rt, "who")]
	p.Removed = rapid.IntRange(0, 3).Draw(rt, "removed") == 0
	p.CaresFor = rapid.SampledFrom([][]string{lifeClients, lifeClients[:1], lifeClients[1:], nil}).Draw(rt, "cares for")
	m.describe()
}

// pass sends and wakes what is due now, once or until nothing is left.
func (m *lifeModel) pass(all bool) {
	ctx := context.Background()
	for i := 0; ; i++ {
		m.must(m.sched.Pass(ctx))
		n, err := m.out.Pass(ctx)
		m.must(err)
		if n == 0 || !all && i > 3 {
			return
		}
	}
}

// advance moves the clock; what falls due on the way happens at its own time.
func (m *lifeModel) advance(d time.Duration) {
	end := m.now.Add(d)
	for {
		var next time.Time
		var planned bool
		m.must(m.store.View(context.Background(), end, func(tx *store.Tx) (err error) {
			next, planned, err = tx.NextWake()
			return err
		}))
		if !planned || next.After(end) {
			break
		}
		if next.After(m.now) {
			m.now = next
		}
		m.must(m.sched.Pass(context.Background()))
	}
	m.now = end
}

// settle lets everything due run, with a network that works.
func (m *lifeModel) settle() {
	for range 60 {
		m.pass(true)
		m.advance(time.Minute)
		waiting := 0
		m.must(m.store.View(context.Background(), m.now, func(tx *store.Tx) (err error) {
			waiting, err = tx.Queued()
			return err
		}))
		if waiting == 0 {
			break
		}
	}
	m.pass(true)
}

var inForce = regexp.MustCompile(`^Plan version (\d+), in force (since|from)`)

func (m *lifeModel) check(rt *rapid.T) {
	m.must(m.store.View(context.Background(), m.now, func(tx *store.Tx) error {
		site, err := tx.Site("larch")
		if err != nil {
			return err
		}
		if n, err := tx.Queued(); err != nil || n > 0 {
			rt.Fatalf("%d messages still wait (%v)", n, err)
		}
		for _, client := range lifeClients {
			m.checkTold(rt, tx, site, client)
		}
		for _, p := range site.People {
			if _, ok, err := tx.Address("larch", p.Ref); err != nil || !ok {
				continue
			}
			for _, a := range m.rec.Screen(paper(p.Ref)) {
				m.checkScreen(rt, site, p.Ref, a.Out)
			}
		}
		return nil
	}))
}

func (m *lifeModel) checkTold(rt *rapid.T, tx *store.Tx, site *care.Site, client string) {
	all, err := tx.Changes("larch", 1000)
	m.must(err)
	current, inForce := site.PlanAt(client, m.now)
	about := map[int]care.Change{}
	for _, c := range all {
		if c.Client == client && c.Kind == care.ChangeVersion {
			about[c.After] = c
		}
	}
	if inForce && current.Version > 1 {
		if c, ok := about[current.Version]; !ok || c.Old {
			rt.Fatalf("version %d of %s is in force, and its telling is gone or old: %+v", current.Version, client, c)
		}
	}
	for _, c := range all {
		if c.Client != client || c.Old {
			continue
		}
		if inForce && c.Kind == care.ChangeVersion && c.After < current.Version {
			rt.Fatalf("carers are still asked to confirm version %d of %s, and %d is in force", c.After, client, current.Version)
		}
		listed := map[string]care.Confirmation{}
		for _, t := range c.Told {
			listed[t.Person] = t
		}
		for _, p := range site.CarersOf(client) {
			t, ok := listed[p.Ref]
			if !ok {
				rt.Fatalf("%s cares for %s and is neither told nor listed in %s", p.Ref, client, c.ID)
			}
			delete(listed, p.Ref)
			if _, reached, err := tx.Address("larch", p.Ref); err != nil || !reached || !t.At.IsZero() {
				continue
			}
			if t.Told.IsZero() {
				rt.Fatalf("%s can be reached and was not told %s", p.Ref, c.ID)
			}
			mine, err := tx.Unconfirmed("larch", p.Ref)
			m.must(err)
			if !slices.ContainsFunc(mine, func(u care.Change) bool { return u.ID == c.ID }) {
				rt.Fatalf("%s has not confirmed %s and would not be asked to", p.Ref, c.ID)
			}
		}
		if len(listed) > 0 {
			rt.Fatalf("listed in %s without caring for %s: %v", c.ID, client, listed)
		}
	}
}

func (m *lifeModel) checkScreen(rt *rapid.T, site *care.Site, who string, out chat.Outbound) {
	text := fmt.Sprint(out.Body)
	for _, para := range out.Body {
		found := inForce.FindStringSubmatch(para.Text)
		if found == nil {
			continue
		}
		version, _ := strconv.Atoi(found[1])
		for _, client := range lifeClients {
			if !strings.Contains(text, lifeNames[client]) {
				continue
			}
			current, ok := site.PlanAt(client, m.now)
			if recorded, _ := site.PlanOnRecord(client, m.now); !ok && recorded.Stopped != nil && version <= recorded.Stopped.UpTo {
				rt.Fatalf("%s sees version %d of %s, which is stopped: %s", who, version, client, text)
			}
			if ok && version < current.Version {
				rt.Fatalf("%s sees version %d of %s, and %d is in force: %s", who, version, client, current.Version, text)
			}
			if found[2] == "since" && ok && version != current.Version {
				rt.Fatalf("%s sees version %d of %s as the one in force, which is %d", who, version, client, current.Version)
			}
		}
	}
}

// zeros makes codes that differ.
type zeros struct{ m *lifeModel }

// Read fills b from a count.
func (z zeros) Read(b []byte) (int, error) {
	z.m.ids++
	return copy(b, fmt.Sprintf("%016d", z.m.ids)), nil
}

var quiet = slog.New(slog.DiscardHandler)

// A change for more people than one transaction tells goes out in pieces. Over a
// restart between two of them, with somebody leaving and somebody coming meanwhile,
// everybody is told once, and a reply waits for one piece at the most.
func TestTellingInPieces(t *testing.T) {
	words, understand := setUp(t)
	ctx := context.Background()
	fewer(t, "4")
	rapid.Check(t, func(rt *rapid.T) {
		m := &lifeModel{rt: rt, dir: t.TempDir(), words: words, understand: understand, now: time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)}
		m.rec = chattest.NewRecorder(transport)
		m.want = m.described()
		carers := rapid.IntRange(130, 260).Draw(rt, "carers")
		m.want.People = m.want.People[:1]
		for i := range carers {
			m.want.People = append(m.want.People, care.Person{Ref: fmt.Sprintf("c%d", i), Name: fmt.Sprintf("Carer %d", i), Role: care.Carer, Lang: "en", CaresFor: []string{"tilda"}})
		}
		plan := m.want.Plans[0]
		m.open()
		defer func() { m.close() }()
		m.describe()
		m.must(m.store.Update(ctx, m.now, func(tx *store.Tx) error {
			for _, p := range m.want.People {
				if err := tx.Join("larch", p.Ref, paper(p.Ref), "en"); err != nil {
					return err
				}
			}
			return nil
		}))
		plan.Version, plan.From, plan.Urgent = 2, m.now, true
		plan.Transfers = slices.Clone(plan.Transfers)
		plan.Transfers[0].Carers = 3
		m.want.Plans = []care.Plan{plan}
		m.describe()
		for range rapid.IntRange(0, 2).Draw(rt, "pieces") {
			_, err := m.bot.Wake(ctx)
			m.must(err)
		}
		m.close()
		m.open()
		gone := 1 + rapid.IntRange(0, carers-1).Draw(rt, "gone")
		m.want.People[gone].Removed = true
		m.want.People = append(m.want.People, care.Person{Ref: "new", Name: "New", Role: care.Carer, Lang: "en", CaresFor: []string{"tilda"}})
		m.describe()
		m.enter("new")
		m.settle()
		for i, p := range m.want.People[1:] {
			told := 0
			for _, a := range m.rec.Screen(paper(p.Ref)) {
				if strings.Contains(fmt.Sprint(a.Out.Body), "URGENT: CHANGED PLAN") {
					told++
				}
			}
			if i+1 != gone && told != 1 {
				rt.Fatalf("%s was told %d times", p.Ref, told)
			}
		}
		m.check(rt)
	})
}
