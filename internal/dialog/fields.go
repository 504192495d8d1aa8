package dialog

import (
	"samelift/internal/care"
	"samelift/internal/rules"
)

// view is a transfer of a plan as somebody looks at it: with its client, its range,
// and the direction in which it is gone.
type view struct {
	f        Facts
	client   care.Client
	plan     care.Plan
	t        care.Transfer
	from, to care.Place
	// back says that the same holds for the way back and that no way was asked for.
	back bool
	// takeSpare says that the spare is to be taken in the place of the sling.
	takeSpare bool
}

// moveLine names the transfer, and the way back where it is the same.
func (v view) moveLine() Line {
	l := move(Plain, v.from, v.to)
	if v.back {
		l.Key = "transfer.named.back"
	}
	return l
}

// A field is one thing that a plan says, with the lines that show it. A field that the
// plan is silent about says so; it never looks like an answer.
type field struct {
	name  string
	lines func(view) []Line
}

// The fields of a transfer, in the order of the whole plan.
var fields = []field{
	{"sling", slingLines},
	{"kind", kindLines},
	{"spare", spareLines},
	{"hoist", hoistLines},
	{"loops", loopLines},
	{"legs", legLines},
	{"arms", armLines},
	{"carers", carerLines},
	{"head", headLines},
	{"brakes", brakeLines},
	{"bed", bedLines},
	{"seat", seatLines},
	{"setup", setUpMoreLines},
	{"stays", stayLines},
	{"cautions", cautionLines},
	{"steps", stepLines},
}

func fieldLines(v view, name string) []Line {
	for _, f := range fields {
		if f.name == name {
			return f.lines(v)
		}
	}
	return nil
}

// notStated is what stands where the plan is silent.
func notStated(field string) []Line {
	return []Line{line("not_stated", "Field", Term("field."+field))}
}

func slingLines(v view) []Line {
	if v.t.Range == "" && v.t.Size == "" && v.t.Label == "" {
		return notStated("sling")
	}
	if r, ok := v.f.Site.Range(v.t.Range); ok && v.t.Size != "" && v.t.Label != "" {
		if v.takeSpare {
			return []Line{line("sling.full.spare", "Name", r.Name, "Size", v.t.Size, "Label", v.t.Spare)}
		}
		return []Line{line("sling.full", "Name", r.Name, "Size", v.t.Size, "Label", v.t.Label)}
	}
	var out []Line
	name := v.t.Range
	if r, ok := v.f.Site.Range(v.t.Range); ok {
		name = r.Name
	}
	if name != "" {
		out = append([]Line{line("sling.named", "Name", name)}, out...)
	} else {
		out = append(notStated("sling"), out...)
	}
	if v.t.Size != "" {
		out = append(out, line("sling.size", "Size", v.t.Size))
	} else {
		out = append(out, notStated("size")...)
	}
	if v.t.Label != "" {
		out = append(out, line("sling.label", "Label", v.t.Label))
	} else {
		out = append(out, notStated("sling_label")...)
	}
	return out
}

func spareLines(v view) []Line {
	if v.t.Spare == "" {
		return []Line{line("spare.none")}
	}
	return []Line{line("spare.label", "Label", v.t.Spare)}
}

func hoistLines(v view) []Line {
	if v.t.Hoist == "" {
		return notStated("hoist")
	}
	h, ok := v.f.Site.Hoist(v.t.Hoist)
	if !ok || h.Kind == "" {
		return []Line{line("hoist.label", "Label", v.t.Hoist)}
	}
	return []Line{line("hoist.kind", "Label", v.t.Hoist, "Kind", Term("hoist_kind."+string(h.Kind)))}
}

func loopLines(v view) []Line {
	if len(v.t.Loops) == 0 {
		if r, ok := v.f.Site.Range(v.t.Range); ok && r.Attachment == care.ClipAttachment {
			return []Line{line("loops.clips")}
		}
		return notStated("loops")
	}
	r, _ := v.f.Site.Range(v.t.Range)
	var out []Line
	for _, p := range care.Points {
		has := len(r.Loops(p)) > 0
		l := v.t.At(p)
		switch {
		case !has && l.Left == 0 && l.Right == 0:
			continue
		case l.Left == l.Right:
			out = append(out, loopLine("point."+string(p), l.Left, r.Loops(p)))
		default:
			out = append(out,
				loopLine("point."+string(p)+".left", l.Left, r.Loops(p)),
				loopLine("point."+string(p)+".right", l.Right, r.Loops(p)),
				warn("loops.differ", "Point", Term("point."+string(p))))
			out = append(out, own(l.Reason)...)
			if l.Assessor != "" {
				out = append(out, small("loops.assessor", "Name", l.Assessor))
			}
		}
	}
	if out == nil {
		return notStated("loops")
	}
	return out
}

// loopLine says a loop by its place in the order first and by its colour second, since
// colours mean nothing from one range to the next and not everybody sees them.
func loopLine(point string, n int, loops []care.Loop) Line {
	at := Term(point)
	if n == 0 {
		return line("loop.not_stated", "Point", at)
	}
	if n < 0 || n > len(loops) {
		return line("loop.number", "Point", at, "Number", n)
	}
	key := "loop.nth"
	switch {
	case len(loops) == 1:
		key = "loop.only"
	case n == 1:
		key = "loop.shortest"
	case n == len(loops):
		key = "loop.longest"
	}
	c := loops[n-1].Colour
	if c == "" {
		return line(key+".plain", "Point", at, "Number", n, "Of", len(loops))
	}
	return line(key, "Point", at, "Number", n, "Of", len(loops), "Colour", colour(c))
}

func legLines(v view) []Line {
	if v.t.LegStraps == "" {
		return notStated("leg_straps")
	}
	return []Line{line("legs", "Legs", Term("legs."+string(v.t.LegStraps)))}
}

func armLines(v view) []Line {
	if v.t.Arms == "" {
		return notStated("arms")
	}
	return []Line{line("arms", "Arms", Term("arms."+string(v.t.Arms)))}
}

func carerLines(v view) []Line {
	if v.t.Carers == 0 {
		return notStated("carers")
	}
	out := []Line{line("carers", "Count", v.t.Carers)}
	if v.t.Carers == 1 && !v.t.OneCarerAssessed.IsZero() {
		out = append(out, line("carers.one", "Date", v.t.OneCarerAssessed))
	}
	return out
}

func headLines(v view) []Line {
	if v.t.Head == "" {
		return notStated("head_support")
	}
	return []Line{line("head." + string(v.t.Head))}
}

func brakeLines(v view) []Line {
	if h, ok := v.f.Site.Hoist(v.t.Hoist); ok && h.Kind == care.CeilingHoist && v.t.HoistBrakes == "" {
		return nil
	}
	if v.t.HoistBrakes == "" {
		return []Line{line("brakes.not_stated")}
	}
	return []Line{line("brakes." + string(v.t.HoistBrakes))}
}

func bedLines(v view) []Line {
	if len(v.t.BedSetUp) == 0 && v.from != care.Bed && v.to != care.Bed {
		return nil
	}
	return codedLines("set_up.bed", "bed", v.t.BedSetUp)
}

func seatLines(v view) []Line { return codedLines("set_up.seat", "seat", v.t.SeatSetUp) }

// kindLines says what the sling is made for.
func kindLines(v view) []Line {
	if r, ok := v.f.Site.Range(v.t.Range); ok && r.Kind != "" {
		return []Line{line("sling.kind", "Kind", Term("sling_kind."+string(r.Kind)))}
	}
	return nil
}

func codedLines(title, field string, codes []care.SetUp) []Line {
	if len(codes) == 0 {
		return notStated(field)
	}
	out := []Line{line(title)}
	for _, c := range codes {
		out = append(out, line("bullet", "Item", Term("set_up."+string(c))))
	}
	return out
}

func setUpMoreLines(v view) []Line { return own(v.t.SetUpMore) }

func stayLines(v view) []Line {
	if v.t.Stays == "" {
		return []Line{line("stays.not_stated")}
	}
	return []Line{line("stays." + string(v.t.Stays))}
}

func cautionLines(v view) []Line {
	all := append(append([]care.Caution(nil), v.plan.Cautions...), v.t.Cautions...)
	if len(all) == 0 {
		return []Line{line("cautions.none")}
	}
	out := []Line{line("cautions.title")}
	for _, c := range all {
		code := Term("caution." + string(c.Code))
		switch {
		case c.Code == "other":
		case c.Part != "" && c.Side != "":
			out = append(out, line("caution.part.side", "Caution", code, "Part", Term("part."+string(c.Part)), "Side", Term("side.person."+string(c.Side))))
		case c.Part != "":
			out = append(out, line("caution.part", "Caution", code, "Part", Term("part."+string(c.Part))))
		case c.Side != "":
			out = append(out, line("caution.side", "Caution", code, "Side", Term("side.person."+string(c.Side))))
		default:
			out = append(out, line("bullet", "Item", code))
		}
		out = append(out, own(c.Text)...)
	}
	return out
}

func stepLines(v view) []Line {
	if len(v.t.Steps) == 0 {
		return notStated("steps")
	}
	out := []Line{line("steps.title")}
	for i, s := range v.t.Steps {
		if s.Code != "" {
			out = append(out, line("step", "Number", i+1, "Step", Term("step."+string(s.Code))))
			continue
		}
		out = append(out, line("step.own", "Number", i+1))
		out = append(out, own(s.Text)...)
	}
	return out
}

func massLines(v view) []Line {
	if v.client.Mass == 0 {
		return []Line{line("mass.unknown")}
	}
	if v.client.Weighed.IsZero() {
		return []Line{line("mass.undated", "Mass", rules.RoundMassUp(v.client.Mass))}
	}
	return []Line{line("mass", "Mass", rules.RoundMassUp(v.client.Mass), "Date", v.client.Weighed)}
}

// changeLines gives how the weight has gone over three and six months.
func changeLines(v view) []Line {
	var out []Line
	for _, c := range rules.WeightChanges(v.client) {
		out = append(out, line("weight.change", "Months", c.Months, "Before", rules.RoundMassUp(c.Before.Mass), "Date", c.Before.On, "Mass", rules.RoundMassUp(c.Now.Mass)))
	}
	return out
}

// loadLines gives the safe working loads with the lowest as the one that counts.
func loadLines(v view) []Line {
	h, _ := v.f.Site.Hoist(v.t.Hoist)
	r, _ := v.f.Site.Range(v.t.Range)
	size, _ := r.Size(v.t.Size)
	limit, part := rules.SafeLoad(h, size)
	if part == "" || h.Limit == 0 || size.Limit == 0 {
		return []Line{line("load.unknown")}
	}
	return []Line{line("load", "Limit", rules.RoundLimitDown(limit), "Part", Term("equipment."+part))}
}

func communicationLines(v view) []Line {
	if len(v.client.Says) == 0 && v.client.SaysMore.IsZero() {
		return []Line{line("says.unknown")}
	}
	out := []Line{line("says.title")}
	for _, c := range v.client.Says {
		out = append(out, line("bullet", "Item", Term("says."+string(c))))
	}
	return append(out, own(v.client.SaysMore)...)
}

func equipmentLines(v view) []Line {
	var out []Line
	today := care.DateOf(v.f.Now.In(v.f.Site.Location()))
	show := func(kind, label string, ok bool, state care.EquipmentState, e care.Examined) {
		if label == "" {
			return
		}
		why := rules.WhyNotKnown
		if ok {
			why = rules.Unusable(state, e, today)
		}
		args := []any{"Kind", Term("equipment." + kind), "Label", label}
		due := rules.Due(e)
		switch {
		case why != "":
			out = append(out, warn("equipment.no", append(args, "Why", Term("why."+why))...))
			if ok && !due.IsZero() {
				out = append(out, small("equipment.due", "Date", due))
			}
		default:
			out = append(out, line("equipment.yes", append(args, "Date", due)...))
		}
	}
	x, ok := v.f.Site.Sling(v.t.Label)
	show("sling", v.t.Label, ok, x.State, x.Examined)
	x, ok = v.f.Site.Sling(v.t.Spare)
	show("spare", v.t.Spare, ok, x.State, x.Examined)
	h, ok := v.f.Site.Hoist(v.t.Hoist)
	show("hoist", v.t.Hoist, ok, h.State, h.Examined)
	if out == nil {
		out = notStated("sling")
	}
	return append(out, small("equipment.look"))
}

func reviewLines(v view) []Line {
	out := []Line{line("plan.version", "Version", v.plan.Version, "Since", v.plan.From)}
	if v.plan.AuthorRole != "" {
		out = append(out, line("plan.author", "Role", roleOf(v.plan)))
	}
	if v.plan.NextReview.IsZero() {
		out = append(out, line("plan.review.none"))
	} else {
		out = append(out, line("plan.review", "Date", v.plan.NextReview))
	}
	if !v.plan.Reason.IsZero() {
		out = append(append(out, line("plan.reason")), own(v.plan.Reason)...)
	}
	for _, x := range triggers(v) {
		out = append(out, findingLine(x))
	}
	return out
}
