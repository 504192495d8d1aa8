package dialog

import (
	"cmp"
	"reflect"
	"slices"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/rules"
)

// The equipment register:
//
//	/equipment, the card's equipment -> a piece -+- in the wash <-> back in use (who cares for one who needs it)
//	                                             +- fault? -> what is wrong -> out of use at once
//	                                             |              every coordinator is told <--+
//	                                             +- state -> why -> kept        (coordinators)
//	                                             +- dates -> kept               (coordinators)
//	                                             +- what happened to it
//
// A fault takes a piece to "withdrawn" and not to "awaiting examination": an examination
// would sound as if a date were all that is missing, and somebody has to decide first
// whether the piece is mended, examined or thrown away. Only a coordinator puts it back,
// with a reason.
const equipmentPage = 8

// A piece is a sling or a hoist.
type piece struct {
	kind  care.LabelKind
	label string
	state care.EquipmentState
	care.Examined
	sling care.Sling
	hoist care.Hoist
}

func slingPiece(x care.Sling) piece {
	return piece{kind: care.SlingLabel, label: x.Label, state: x.State, Examined: x.Examined, sling: x}
}

func hoistPiece(h care.Hoist) piece {
	return piece{kind: care.HoistLabel, label: h.Label, state: h.State, Examined: h.Examined, hoist: h}
}

func pieceOf(s *care.Site, label string) (piece, bool) {
	if x, ok := s.Sling(label); ok {
		return slingPiece(x), true
	}
	if h, ok := s.Hoist(label); ok {
		return hoistPiece(h), true
	}
	return piece{}, false
}

func pieces(s *care.Site) []piece {
	var out []piece
	for _, x := range s.Slings {
		out = append(out, slingPiece(x))
	}
	for _, h := range s.Hoists {
		out = append(out, hoistPiece(h))
	}
	return out
}

func (p piece) named() []any {
	return []any{"Kind", Term("equipment." + string(p.kind)), "Label", p.label}
}

func (p piece) why(f Facts) string { return rules.Unusable(p.state, p.Examined, f.today()) }

// in gives the site as it is once a piece has become what p says.
func (p piece) in(s *care.Site) *care.Site {
	out := *s
	out.Slings, out.Hoists = slices.Clone(s.Slings), slices.Clone(s.Hoists)
	for i := range out.Slings {
		if out.Slings[i].Label == p.label {
			out.Slings[i].State, out.Slings[i].Examined = p.state, p.Examined
		}
	}
	for i := range out.Hoists {
		if out.Hoists[i].Label == p.label {
			out.Hoists[i].State, out.Hoists[i].Examined = p.state, p.Examined
		}
	}
	return &out
}

// today is the site's day.
func (f Facts) today() care.Date { return care.DateOf(f.Now.In(f.Site.Location())) }

// A use is a transfer that a plan does with a piece.
type use struct {
	client care.Client
	t      care.Transfer
	// stopped is set while the plan is suspended: it comes back with the same equipment.
	stopped bool
}

// usesOf lists what the newest plans of the clients whom somebody may see do with a piece.
func usesOf(f Facts, who care.Person, label string) []use {
	names := func(t care.Transfer) bool { return label == t.Label || label == t.Spare || label == t.Hoist }
	// Finding the plan in force is the long way, so it is gone only for those who come
	// into question.
	maybe := map[string]bool{}
	for _, p := range f.Site.Plans {
		if slices.ContainsFunc(p.Transfers, names) {
			maybe[p.Client] = true
		}
	}
	var out []use
	for _, c := range f.Site.ClientsOf(who) {
		if !maybe[c.Ref] {
			continue
		}
		plan, _ := f.Site.PlanOnRecord(c.Ref, f.Now)
		for _, t := range plan.Transfers {
			if names(t) {
				out = append(out, use{c, t, plan.Stopped != nil})
			}
		}
	}
	return out
}

// inList reports whether somebody finds a piece in the list: coordinators every one,
// carers what the plans of their clients name. A label in the hand opens any.
func inList(f Facts, p piece) bool {
	return f.Me.Role == care.Coordinator || len(usesOf(f, f.Me, p.label)) > 0
}

// mayWash reports whether somebody may take a piece to the wash or bring it back.
func mayWash(f Facts, p piece) bool {
	return p.kind == care.SlingLabel && inList(f, p) && (p.state == care.InUse || p.state == care.InWash)
}

// equipmentList shows the register: what cannot be used first, then what falls due
// within a month, then the rest.
func equipmentList(f Facts, page int, turned bool) Say {
	var all []piece
	for _, p := range pieces(f.Site) {
		if inList(f, p) {
			all = append(all, p)
		}
	}
	group := func(p piece) int {
		switch {
		case p.why(f) != "":
			return 0
		case f.today().DaysUntil(rules.Due(p.Examined)) <= remindDays[0]:
			return 1
		}
		return 2
	}
	slices.SortStableFunc(all, func(a, b piece) int {
		if d := cmp.Compare(group(a), group(b)); d != 0 || group(a) != 1 {
			return d
		}
		return cmp.Compare(f.today().DaysUntil(rules.Due(a.Examined)), f.today().DaysUntil(rules.Due(b.Examined)))
	})
	out := say(strong("equipment.title", "Site", f.Site.Name))
	if len(all) == 0 {
		out.Lines = append(out.Lines, line("equipment.none"))
	}
	first := min(max(page, 0)*equipmentPage, len(all))
	last := min(first+equipmentPage, len(all))
	var buttons []Choice
	for i, p := range all[first:last] {
		if g := group(p); i == 0 || group(all[first+i-1]) != g {
			head := strong([]string{"equipment.group.no", "equipment.group.soon", "equipment.group.yes"}[g])
			if g == 0 {
				head.Style = Warn
			}
			out.Lines = append(out.Lines, head)
		}
		l := dateLine(f, p)
		l.Style = Plain // the heading warns for all of them
		out.Lines = append(out.Lines, l)
		buttons = append(buttons, as(p.label, Action{Do: "gear", Ref: p.label}))
	}
	out.Choices = append(rows(4, buttons...), pages("equipment", page, last < len(all))...)
	out.InPlace = turned
	return out
}

// dateLine says in one line whether a piece may be used, and until when.
func dateLine(f Facts, p piece) Line {
	if why := p.why(f); why != "" {
		return warn("equipment.no", append(p.named(), "Why", Term("why."+why))...)
	}
	return line("equipment.yes", append(p.named(), "Date", rules.Due(p.Examined))...)
}

// pieceLines says all that the register has about a piece, to anybody of the team. Of
// the plans that use it the reader learns those of their own clients.
func pieceLines(f Facts, p piece) []Line {
	out := []Line{strong("equipment.piece", p.named()...)}
	if p.kind == care.SlingLabel {
		r, ok := f.Site.Range(p.sling.Range)
		size, _ := r.Size(p.sling.Size)
		if ok {
			out = append(out, line("equipment.piece.sling", "Name", r.Name, "Size", p.sling.Size))
		}
		out = append(out, limitLine(size.Limit))
	} else {
		if p.hoist.Name != "" {
			out = append(out, line("equipment.piece.hoist", "Name", p.hoist.Name))
		}
		limit := p.hoist.Limit
		if p.hoist.BarLimit != 0 {
			limit = min(limit, p.hoist.BarLimit)
		}
		out = append(out, limitLine(limit))
	}
	out = append(out, dateLine(f, p))
	if p.state == care.Withdrawn {
		out = append(out, keep(p))
	}
	if !p.Last.IsZero() {
		out = append(out, small("equipment.last", "Date", p.Last))
	}
	if due := rules.Due(p.Examined); p.why(f) != "" && !due.IsZero() {
		out = append(out, small("equipment.due", "Date", due))
	}
	out = append(out, useLines(f, p)...)
	return append(out, since(f, p)...)
}

// since says who brought a piece to its state and why, with the words that were added
// afterwards. What a site file said is no news to anybody.
func since(f Facts, p piece) []Line {
	var out []Line
	for _, e := range f.Records.EquipmentHistory(p.label, 10) {
		if e.To != p.state || p.state == care.InUse && e.Cause != care.CauseState {
			break
		}
		if e.Cause != care.CauseFile {
			out = append(out, eventLines(f, e)...)
		}
		if e.From != e.To {
			break
		}
	}
	return out
}

func limitLine(m care.Mass) Line {
	if m == 0 {
		return line("equipment.swl.unknown")
	}
	return line("equipment.swl", "Limit", rules.RoundLimitDown(m))
}

// keep says what to do with a piece that was taken out of use. Source: handbook 8.5 for
// keeping the sling as it is; the note on it is common practice, no source.
func keep(p piece) Line {
	return Line{Style: Strong, Words: words("equipment.keep." + string(p.kind))}
}

func useLines(f Facts, p piece) []Line {
	var out []Line
	for _, u := range usesOf(f, f.Me, p.label) {
		l := clientLine(Plain, f.Site, u.client)
		if !slices.ContainsFunc(out, func(o Line) bool { return reflect.DeepEqual(o, l) }) {
			out = append(out, l)
		}
	}
	if len(out) == 0 {
		return []Line{line("equipment.plans.none")}
	}
	return append([]Line{line("equipment.plans")}, out...)
}

// eventLines says one thing that happened to a piece.
func eventLines(f Facts, e care.EquipmentEvent) []Line {
	cause := Term("equipment.cause." + string(e.Cause))
	var out []Line
	if e.By == "" {
		out = append(out, small("equipment.event.file", "At", e.At, "What", cause))
	} else {
		out = append(out, small("equipment.event", "At", e.At, "Name", nameOf(f.Site, e.By), "What", cause))
	}
	if e.Ref != "" {
		out = append(out, line("equipment.event.incident", "Ref", e.Ref))
	}
	if e.Fault != "" {
		out = append(out, faultLine(e.Fault))
	}
	if e.From != e.To && e.From != "" {
		out = append(out, stateLine(e.From, e.To))
	}
	if e.Was != e.Is {
		out = append(out, line("equipment.dates", "Last", e.Is.Last, "Due", e.Is.Due))
	}
	return append(out, own(e.Reason)...)
}

func faultLine(x care.Fault) Line { return line("equipment.fault", "Fault", Term("fault."+string(x))) }

func stateLine(from, to care.EquipmentState) Line {
	return line("equipment.state", "Before", Term("why."+string(from)), "Now", Term("why."+string(to)))
}

func history(f Facts, p piece) Say {
	out := say(strong("equipment.piece", p.named()...), line("equipment.history"))
	events := f.Records.EquipmentHistory(p.label, 10)
	for _, e := range events {
		out.Lines = append(out.Lines, eventLines(f, e)...)
	}
	if len(events) == 0 {
		out.Lines = append(out.Lines, line("equipment.history.none"))
	}
	out.Choices = [][]Choice{{as(p.label, Action{Do: "gear", Ref: p.label})}}
	return out
}

// pieceChoices offers what the reader may do with a piece.
func pieceChoices(f Facts, p piece) [][]Choice {
	var all []Choice
	if mayWash(f, p) {
		if p.state == care.InUse {
			all = append(all, choice("equipment.button.wash", Action{Do: "gear.wash", Ref: p.label, Value: string(care.InWash)}))
		} else {
			all = append(all, choice("equipment.button.back", Action{Do: "gear.wash", Ref: p.label, Value: string(care.InUse)}))
		}
	}
	all = append(all, choice("equipment.button.fault", Action{Do: "gear.fault", Ref: p.label}))
	if f.Me.Role == care.Coordinator {
		all = append(all,
			choice("equipment.button.state", Action{Do: "gear.state", Ref: p.label}),
			choice("equipment.button.dates", Action{Do: "gear.dates", Ref: p.label}),
			choice("equipment.button.history", Action{Do: "gear.history", Ref: p.label}))
	}
	return rows(2, all...)
}

func showPiece(f Facts, p piece, before ...Line) Say {
	out := say(append(before, pieceLines(f, p)...)...)
	out.Choices = pieceChoices(f, p)
	return out
}

// gearRows offers the pieces of a transfer beneath the card's view of its equipment.
func gearRows(v view, topics []ask.Topic) [][]Choice {
	if !slices.Contains(topics, ask.Equipment) {
		return nil
	}
	var all []Choice
	for _, label := range []string{v.t.Label, v.t.Spare, v.t.Hoist} {
		if _, ok := pieceOf(v.f.Site, label); ok {
			all = append(all, as(label, Action{Do: "gear", Ref: label}))
		}
	}
	return rows(3, all...)
}

// pressGear does what a button of the register means.
func pressGear(s State, a Action, f Facts) (State, []Effect) {
	p, ok := pieceOf(f.Site, a.Ref)
	if !ok {
		return s, []Effect{say(line("button.old"))}
	}
	switch a.Do {
	case "gear":
		return s, []Effect{showPiece(f, p)}
	case "gear.wash":
		return s, wash(f, p, care.EquipmentState(a.Value))
	case "gear.fault":
		return s, []Effect{askFault(f, p)}
	case "gear.fault.is":
		return s, fault(f, p, care.Fault(a.Value))
	case "gear.words":
		return startGear(s, f, "gear_words", p)
	}
	if f.Me.Role != care.Coordinator {
		return s, []Effect{say(line("coordinator.only"))}
	}
	switch a.Do {
	case "gear.history":
		return s, []Effect{history(f, p)}
	case "gear.state":
		return startGear(s, f, "gear_state", p)
	case "gear.dates":
		return startGear(s, f, "gear_dates", p)
	}
	return s, []Effect{say(line("button.old"))}
}

// wash takes a sling to the wash or brings it back. Nobody brings back in this way what
// was taken out of use.
func wash(f Facts, p piece, to care.EquipmentState) []Effect {
	if to != care.InWash && to != care.InUse {
		return []Effect{say(line("button.old"))}
	}
	if !mayWash(f, p) {
		return []Effect{showPiece(f, p, line("equipment.wash.not"))}
	}
	if p.state == to {
		return []Effect{inPlace(showPiece(f, p))}
	}
	e := p.event(f, care.CauseWash, to)
	p.state = to
	f.Site = p.in(f.Site)
	out := say(strong("equipment.saved"), dateLine(f, p))
	// Whoever takes a sling away hears at once who goes without it now. Where somebody
	// has none left the coordinators hear it too, before the next lift and not at it.
	lines := affected(f, p, f.Me)
	if len(lines) > 0 {
		lines = withCall(f, lines)
	}
	out.Lines = append(out.Lines, lines...)
	out.Choices = pieceChoices(f, p)
	effects := []Effect{SetEquipment{e}, inPlace(out)}
	if to == care.InUse {
		return effects
	}
	for _, c := range f.Site.Coordinators() {
		if lines := affected(f, p, c); c.Ref != f.Me.Ref && slices.ContainsFunc(lines, func(l Line) bool {
			return l.Key == "finding.sling_not_usable" || l.Key == "finding.sling_and_spare_not_usable"
		}) {
			told := say(append([]Line{dateLine(f, p), line("record.by", "Name", f.Me.Name, "At", e.At)}, lines...)...)
			told.To, told.Urgency = c.Ref, Alert
			told.Choices = [][]Choice{{as(p.label, Action{Do: "gear", Ref: p.label})}}
			effects = append(effects, told)
		}
	}
	return effects
}

// event begins the record of a change by whoever acts.
func (p piece) event(f Facts, cause care.EquipmentCause, to care.EquipmentState) care.EquipmentEvent {
	return care.EquipmentEvent{Label: p.label, By: f.Me.Ref, At: f.Now, Cause: cause, From: p.state, To: to, Was: p.Examined, Is: p.Examined}
}
