package sitefile

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"samelift/internal/care"
	"samelift/internal/rules"
)

func (b *builder) readClients(v val) {
	seen, named := map[string]bool{}, map[string]bool{}
	written := map[string]obj{}
	for _, e := range v.items(maxEntries) {
		o, ok := e.object("ref", "name", "also", "room", "mass_kg", "weighed", "weighings", "back_length_mm", "hips_mm", "from_hospital", "communication", "communication_more", "state")
		if !ok {
			continue
		}
		c := care.Client{
			Ref:          o.needRef("ref", "rosa"),
			Name:         o.needText("name", maxName, "Rosa Lindqvist"),
			Room:         o.get("room").text(maxLabel),
			Mass:         o.get("mass_kg").mass(),
			Weighed:      o.get("weighed").date(),
			BackLength:   o.get("back_length_mm").number(100, 2000),
			Hips:         o.get("hips_mm").number(300, 3000),
			FromHospital: o.get("from_hospital").date(),
			Says:         words(o.get("communication"), care.Communications),
			SaysMore:     o.get("communication_more").ownWords(),
			Ended:        word(o.get("state"), []string{"ended"}) != "",
		}
		for _, a := range o.get("also").items(20) {
			if name := a.text(maxName); name != "" {
				c.Also = append(c.Also, name)
			}
		}
		c.Weighings = readWeighings(o.get("weighings"), c.Weighed)
		once(o, "ref", c.Ref, seen)
		who := b.shownAs(c)
		if c.Name != "" && !c.Ended && named[who] {
			o.get("name").fail("two clients are called %q in the same room: tell them apart by the room or a fuller name", b.shownName(c))
		}
		named[who] = named[who] || !c.Ended
		if !c.Ended {
			written[who] = o
		}
		b.clients[c.Ref] = c
		b.site.Clients = append(b.site.Clients, c)
	}
	if b.known.Site == nil {
		return
	}
	for _, c := range b.known.Site.Clients {
		if o, same := written[b.shownAs(c)]; same && !c.Ended && !seen[c.Ref] {
			o.get("name").fail("a client who is there already is called %q in the same room: tell them apart by the room or a fuller name", b.shownName(c))
		}
	}
}

// shownAs is all that a reader has to tell a client by: the name as the site shows it,
// and the room.
func (b *builder) shownAs(c care.Client) string {
	return strings.ToLower(b.shownName(c) + "\x00" + c.Room)
}

func (b *builder) shownName(c care.Client) string {
	if b.site.InitialsOnly {
		return care.Initials(c.Name)
	}
	return c.Name
}

// readWeighings reads the weighings before the last one.
func readWeighings(v val, last care.Date) []care.Weighing {
	var out []care.Weighing
	for _, e := range v.items(200) {
		o, ok := e.object("on", "mass_kg")
		if !ok {
			continue
		}
		var w care.Weighing
		on, ok1 := o.must("on", "2026-08-20")
		mass, ok2 := o.must("mass_kg", "63.5")
		if !ok1 || !ok2 {
			continue
		}
		w.On, w.Mass = on.date(), mass.mass()
		switch {
		case w.On.IsZero() || w.Mass == 0:
			continue
		case last.IsZero():
			on.fail("the last weighing has no day: write it beside mass_kg as weighed, and the earlier ones in this list")
		case !w.On.Before(last):
			on.fail("%s is not before the last weighing, %s: the last one is mass_kg with weighed, this list has the earlier ones", w.On, last)
		case slices.ContainsFunc(out, func(x care.Weighing) bool { return x.On == w.On }):
			on.fail("%s stands twice in the list: keep one of the two", w.On)
		}
		out = append(out, w)
	}
	slices.SortFunc(out, func(a, b care.Weighing) int { return b.On.DaysUntil(a.On) })
	return out
}

func (b *builder) readPlans(v val) {
	type version struct {
		client string
		n      int
	}
	seen := map[version]bool{}
	for _, e := range v.items(maxEntries) {
		o, ok := e.object("client", "version", "draft", "urgent", "in_force_from", "author_role", "author", "reason", "next_review", "cautions", "transfers", "decisions")
		if !ok {
			continue
		}
		p := care.Plan{
			Client:     o.needRef("client", "rosa"),
			AuthorRole: o.get("author_role").text(maxName),
			Author:     o.get("author").text(maxName),
			Reason:     o.get("reason").ownWords(),
			NextReview: o.get("next_review").date(),
			Cautions:   readCautions(o.get("cautions")),
			Draft:      o.get("draft").flag(),
			Urgent:     o.get("urgent").flag(),
		}
		if _, known := b.clients[p.Client]; p.Client != "" && !known {
			o.get("client").fail("there is no client %q: %s", p.Client, near(o.r, p.Client, b.clients, "add them under clients, or write the ref of one who is there"))
		}
		if n, ok := o.must("version", "1"); ok {
			p.Version = n.number(1, 1_000_000)
		}
		if from, ok := o.must("in_force_from", "2026-11-02T07:00"); ok {
			p.From = b.instant(from)
		}
		if this := (version{p.Client, p.Version}); p.Version > 0 {
			if seen[this] {
				o.get("version").fail("version %d of this client's plan stands above: a change is a new version, write the next number", p.Version)
			}
			seen[this] = true
		}
		if ts, ok := o.must("transfers", "[{from: bed, to: chair, ...}]"); ok {
			p.Transfers = b.readTransfers(ts)
		}
		p.Decisions = readDecisions(o.get("decisions"), p)
		b.site.Plans = append(b.site.Plans, p)
	}
	slices.SortStableFunc(b.site.Plans, func(a, b care.Plan) int {
		return cmp.Or(cmp.Compare(a.Client, b.Client), cmp.Compare(a.Version, b.Version))
	})
}

// instant reads a day, which starts at 00:00, or a day and a time, both on the site's
// own clock on the wall; or an instant with its offset. A wall time that a clock
// change skips is a fault. Of one that comes twice the first is meant; the second can
// only be written with its offset.
func (b *builder) instant(v val) time.Time {
	s, ok := v.scalar()
	if !ok {
		return time.Time{}
	}
	if t, err := time.Parse(time.RFC3339, s); err == nil && t.Year() >= 1900 && t.Year() <= 2200 {
		return t.UTC()
	}
	day, wall, timed := strings.Cut(strings.Replace(s, " ", "T", 1), "T")
	d, err := care.ParseDate(day)
	c := care.Clock(0)
	if timed && err == nil {
		c, err = care.ParseClock(wall)
	}
	if err != nil || d.Year < 1900 || d.Year > 2200 {
		v.fail("%q is no time: write a day as 2026-11-02, or a day and a time on the site's clock as 2026-11-02T07:00", care.Clean(s, maxLabel))
		return time.Time{}
	}
	if b.zone == nil {
		return time.Time{}
	}
	t, exists := c.Wall(d, b.zone)
	if !exists {
		v.fail("the clock at the site never shows %s on %s, since it is put forward then: write a time after the change", c, d)
	}
	return t.UTC()
}

func readCautions(v val) []care.Caution {
	var out []care.Caution
	for _, e := range v.items(60) {
		if e.n.Kind == yaml.ScalarNode {
			code := word(e, care.CautionCodes)
			if code == "other" {
				e.fail("\"other\" says nothing alone: write {code: other, text: ..., lang: en}")
			}
			out = append(out, care.Caution{Code: code})
			continue
		}
		o, ok := e.object("code", "side", "part", "text", "lang")
		if !ok {
			continue
		}
		c := care.Caution{
			Code: needWord(o, "code", care.CautionCodes),
			Side: word(o.get("side"), care.Sides),
			Part: word(o.get("part"), care.BodyParts),
			Text: o.ownWords(),
		}
		if c.Code == "other" && c.Text.IsZero() {
			e.fail("\"other\" says nothing alone: write a text beside it")
		}
		out = append(out, c)
	}
	return out
}

// readDecisions reads what a named assessor decided against a finding of the rules.
func readDecisions(v val, p care.Plan) []care.Decision {
	var out []care.Decision
	for _, e := range v.items(60) {
		o, ok := e.object("finding", "about", "transfer", "reason", "assessor")
		if !ok {
			continue
		}
		d := care.Decision{
			Finding:  o.needText("finding", maxLabel, "head_support_unknown"),
			About:    o.get("about").text(maxText),
			Transfer: o.needText("transfer", maxLabel, "bed>chair"),
			Reason:   o.get("reason").ownWords(),
			Assessor: o.needText("assessor", maxName, "Marion Achterberg"),
		}
		if !rules.MayDecide(d.Finding) && d.Finding != "" {
			o.get("finding").fail("%q is nothing that an assessor may decide: change the plan instead", d.Finding)
		}
		if d.Reason.IsZero() {
			e.fail("a decision without its reason: write reason: {lang: en, text: ...}")
		}
		if _, ok := p.Transfer(d.Transfer); !ok && d.Transfer != "" {
			o.get("transfer").fail("this plan has no transfer %q: write it as from>to", d.Transfer)
		}
		out = append(out, d)
	}
	return out
}

func readSteps(v val) []care.Step {
	var out []care.Step
	for _, e := range v.items(maxSteps) {
		if e.n.Kind == yaml.ScalarNode {
			if code := word(e, care.StepCodes); code != "" {
				out = append(out, care.Step{Code: code})
			}
			continue
		}
		o, ok := e.object("text", "lang")
		if !ok {
			continue
		}
		if t := o.ownWords(); !t.IsZero() {
			out = append(out, care.Step{Text: t})
		} else {
			e.fail("is an empty step: write its text, or take it away")
		}
	}
	return out
}

func (b *builder) readTransfers(v val) []care.Transfer {
	var out []care.Transfer
	for _, e := range v.items(60) {
		o, ok := e.object("from", "to", "both_ways", "sling", "hoist", "loops", "leg_straps", "arms", "hoist_brakes", "carers", "one_carer_assessed", "head_support",
			"bed", "seat", "set_up_more", "sling_stays", "steps", "cautions")
		if !ok {
			continue
		}
		t := care.Transfer{
			From:             needWord(o, "from", care.Places),
			To:               needWord(o, "to", care.Places),
			BothWays:         o.get("both_ways").flag(),
			Hoist:            o.get("hoist").text(maxLabel),
			LegStraps:        word(o.get("leg_straps"), care.LegStrapsAll),
			Arms:             word(o.get("arms"), care.ArmsAll),
			HoistBrakes:      word(o.get("hoist_brakes"), care.BrakesAll),
			Carers:           o.get("carers").number(1, 8),
			OneCarerAssessed: o.get("one_carer_assessed").date(),
			Head:             word(o.get("head_support"), care.YesNos),
			BedSetUp:         words(o.get("bed"), setUps("bed_")),
			SeatSetUp:        words(o.get("seat"), setUps("seat_")),
			SetUpMore:        o.get("set_up_more").ownWords(),
			Stays:            word(o.get("sling_stays"), care.YesNos),
			Steps:            readSteps(o.get("steps")),
			Cautions:         readCautions(o.get("cautions")),
		}
		if t.From != "" && t.From == t.To {
			o.get("to").fail("a transfer from %s to the same place is none: write where the person is moved to", t.From)
		}
		b.readSlingOf(o, &t)
		for _, u := range out {
			if t.From == "" || t.To == "" {
				break
			}
			if u.Key() == t.Key() || (u.BothWays || t.BothWays) && u.From == t.To && u.To == t.From {
				e.fail("this plan already says how to go from %s to %s: keep one transfer for each way", t.From, t.To)
				break
			}
		}
		out = append(out, t)
	}
	return out
}

func setUps(prefix string) []care.SetUp {
	var out []care.SetUp
	for _, s := range care.SetUps {
		if strings.HasPrefix(string(s), prefix) {
			out = append(out, s)
		}
	}
	return out
}

// readSlingOf reads a transfer's sling and its loops, and sees that sling, loops, leg
// straps and hoist can belong together at all.
func (b *builder) readSlingOf(o obj, t *care.Transfer) {
	var g care.Range
	hasRange := false
	if v := o.get("sling"); !v.absent() {
		s, ok := v.object("range", "size", "label", "spare")
		if !ok {
			return
		}
		t.Range = s.needText("range", maxLabel, "harbour-full")
		t.Size = s.get("size").text(maxLabel)
		t.Label = s.get("label").text(maxLabel)
		t.Spare = s.get("spare").text(maxLabel)
		g, hasRange = b.checkSize(s, t.Range, t.Size)
		if t.Spare != "" && t.Spare == t.Label {
			s.get("spare").fail("the spare is the sling itself: write the label of another, or leave it out")
		}
		b.checkLabel(s, "label", t.Label, *t)
		b.checkLabel(s, "spare", t.Spare, *t)
	}
	if t.Hoist != "" {
		h, ok := b.hoists[t.Hoist]
		switch {
		case !ok:
			o.get("hoist").fail("there is no hoist %q: %s", t.Hoist, near(o.r, t.Hoist, b.hoists, "add it under hoists, or write the label of one that is there"))
		case hasRange && h.Attachment != "" && g.Attachment != "" && h.Attachment != g.Attachment:
			// Source: HSE, Getting to grips with hoisting people, HSIS3: a loop sling on a
			// clip bar, or the reverse, is an insecure attachment.
			o.get("hoist").fail("the bar of %q takes a %s, but the sling of range %q holds by a %s: the two never mix, name a hoist or a sling that fits", h.Label, h.Attachment, g.Ref, g.Attachment)
		}
	}
	if hasRange && t.LegStraps != "" && !slices.Contains(g.LegStraps, t.LegStraps) {
		o.get("leg_straps").fail("the range %q does not allow %q: write one of [%s], or add it to the range if its maker allows it", g.Ref, t.LegStraps, strings.Join(refsOf(g.LegStraps, func(l care.LegStraps) string { return string(l) }), ", "))
	}
	if v := o.get("loops"); !v.absent() {
		if t.Range == "" {
			v.fail("loops are counted on a sling, but no range is named: write sling: {range: ...}")
			return
		}
		t.Loops = readLoops(v, g, hasRange)
	}
}

// checkLabel sees that a labelled sling is what the transfer says it is.
func (b *builder) checkLabel(o obj, key, label string, t care.Transfer) {
	if label == "" {
		return
	}
	s, ok := b.slings[label]
	switch {
	case !ok:
		o.get(key).fail("there is no sling %q: %s", label, near(o.r, label, b.slings, "add it under slings, or write the label of one that is there"))
	case s.Range != t.Range && t.Range != "" && s.Range != "":
		o.get(key).fail("%q is of the range %q, but the plan says %q: name a sling of that range", label, s.Range, t.Range)
	case s.Size != t.Size && t.Size != "" && s.Size != "":
		o.get(key).fail("%q is of size %q, but the plan says %q: name a sling of that size", label, s.Size, t.Size)
	}
}

func readLoops(v val, g care.Range, hasRange bool) []care.PointLoops {
	names := refsOf(care.Points, func(p care.Point) string { return string(p) })
	o, ok := v.object(names...)
	if !ok {
		return nil
	}
	var out []care.PointLoops
	for _, p := range care.Points {
		at := o.get(string(p))
		if at.absent() {
			continue
		}
		have := len(g.Loops(p))
		if hasRange && have == 0 {
			at.fail("the range %q has no loops at the %s: take the field away", g.Ref, p)
			continue
		}
		if !hasRange {
			have = 12
		}
		l := care.PointLoops{Point: p}
		if at.n.Kind == yaml.ScalarNode {
			l.Left = at.loop(have, p)
			l.Right = l.Left
			out = append(out, l)
			continue
		}
		d, ok := at.object("left", "right", "reason", "assessor")
		if !ok {
			continue
		}
		l.Left, l.Right = d.get("left").loop(have, p), d.get("right").loop(have, p)
		l.Reason, l.Assessor = d.get("reason").ownWords(), d.get("assessor").text(maxName)
		// Source: HSE, HSIS3: the same loops on both sides, else the person can fall
		// sideways. A difference is somebody's decision and carries their name.
		if l.Left != l.Right && l.Left > 0 && l.Right > 0 && (l.Reason.IsZero() || l.Assessor == "") {
			at.fail("left and right differ: write the reason and the assessor who decided it, or the same loop on both sides")
		}
		if l == (care.PointLoops{Point: p}) {
			at.fail("says nothing: write the loop counted from the shortest, such as %s: 1, or leave the field out", p)
			continue
		}
		out = append(out, l)
	}
	return out
}

// loop reads the number of a loop counted from the shortest.
func (v val) loop(have int, p care.Point) int {
	s, ok := v.scalar()
	if !ok {
		return 0
	}
	if n, err := strconv.Atoi(s); err == nil && n >= 1 && n <= have {
		return n
	}
	v.fail("%q is no loop here: count from the shortest, 1 to %d at the %s of this range", care.Clean(s, maxLabel), have, p)
	return 0
}
