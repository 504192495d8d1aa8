package dialog

import (
	"slices"
	"strconv"
	"strings"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// Limits of what a plan holds, as a site file has them.
const (
	maxPlanWords = 500
	maxPlanName  = 80
	maxCarers    = 8
	maxCautions  = 60
)

// planWords keeps what a coordinator typed for the plan.
func planWords(into *care.Text, f Facts, a answer) *Words {
	words := care.Clean(a.typed, maxPlanWords)
	if words == "" {
		return &Words{Key: "form.type.it"}
	}
	*into = care.Text{Lang: f.Me.Lang, Words: words}
	return nil
}

// planName keeps a typed name.
func planName(into *string, a answer) *Words {
	name := care.Clean(a.typed, maxPlanName)
	if len([]rune(name)) < 2 {
		return &Words{Key: "planedit.assessor.type"}
	}
	*into = name
	return nil
}

// loopPoints gives the points of a range at which there are loops to choose from.
func loopPoints(g care.Range) []care.Point {
	var out []care.Point
	for _, p := range care.Points {
		if len(g.Loops(p)) > 0 {
			out = append(out, p)
		}
	}
	return out
}

func (form Form) slingRange(f Facts) care.Range {
	g, _ := f.Site.Range(form.Plan.transfer().Range)
	return g
}

func askLoopPoint(form Form, f Facts) Say {
	out := planAsk(form, f, "loops", "planedit.loops.point")
	out.Choices = append(rows(1, codes("point.", loopPoints(form.slingRange(f)))...), []Choice{backTo(stepWhat)})
	return out
}

func takeLoopPoint(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	p, ok := oneOf(loopPoints(form.slingRange(f)), a.value)
	if !ok {
		return "", complainChoose
	}
	form.Plan.Loops = care.PointLoops{Point: p}
	return "loops.both", nil
}

// loopChoices offers the loops that the range has today at a point, by their place in
// the order first and by their colour second.
func loopChoices(form Form, f Facts) []Choice {
	loops := form.slingRange(f).Loops(form.Plan.Loops.Point)
	var all []Choice
	for i, l := range loops {
		key := "planedit.loop.nth"
		switch {
		case len(loops) == 1:
		case i == 0:
			key = "planedit.loop.shortest"
		case i == len(loops)-1:
			key = "planedit.loop.longest"
		}
		does := Action{Value: strconv.Itoa(i + 1)}
		if l.Colour == "" {
			all = append(all, choice(key+".plain", does, "Number", i+1, "Of", len(loops)))
		} else {
			all = append(all, choice(key, does, "Number", i+1, "Of", len(loops), "Colour", colour(l.Colour)))
		}
	}
	return all
}

func askLoop(form Form, f Facts, point string, last ...Choice) Say {
	out := planAsk(form, f, "loops", "planedit.loops.which", line("planedit.loops.of", "Point", Term(point)))
	all := loopChoices(form, f)
	perRow := 1
	if len(all) > pageSize {
		perRow = 2
	}
	out.Choices = append(rows(perRow, all...), last)
	return out
}

func askLoopBoth(form Form, f Facts) Say {
	return askLoop(form, f, "point."+string(form.Plan.Loops.Point), choice("planedit.loops.differ", Action{Value: "differ"}), backTo(stepWhat))
}

// takeLoop reads one loop that the range has.
func takeLoop(form *Form, f Facts, a answer) (int, bool) {
	n, ok := number(a.value + a.typed)
	return n, ok && n >= 1 && n <= len(form.slingRange(f).Loops(form.Plan.Loops.Point))
}

func takeLoopBoth(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		form.Plan.Open = nil
		return step, nil
	}
	if a.value == "differ" {
		return "loops.left", nil
	}
	n, ok := takeLoop(form, f, a)
	if !ok {
		return "", complainChoose
	}
	form.Plan.Loops = care.PointLoops{Point: form.Plan.Loops.Point, Left: n, Right: n}
	return setLoops(form, f), nil
}

func askLoopLeft(form Form, f Facts) Say {
	return askLoop(form, f, "point."+string(form.Plan.Loops.Point)+".left", backTo("loops.both"))
}

func takeLoopLeft(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	n, ok := takeLoop(form, f, a)
	if !ok {
		return "", complainChoose
	}
	form.Plan.Loops.Left = n
	return "loops.right", nil
}

func askLoopRight(form Form, f Facts) Say {
	return askLoop(form, f, "point."+string(form.Plan.Loops.Point)+".right", backTo("loops.left"))
}

func takeLoopRight(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	n, ok := takeLoop(form, f, a)
	if !ok {
		return "", complainChoose
	}
	form.Plan.Loops.Right = n
	if n == form.Plan.Loops.Left {
		form.Plan.Loops.Reason, form.Plan.Loops.Assessor = care.Text{}, ""
		return setLoops(form, f), nil
	}
	return "loops.why", nil
}

func askLoopWhy(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.loops.why", small("form.type.it"))
	out.Choices = rows(1, backTo("loops.both"))
	return out
}

func takeLoopWhy(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	return "loops.assessor", planWords(&form.Plan.Loops.Reason, f, a)
}

func askAssessor(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.assessor.ask", small("planedit.assessor.type"))
	back := backTo("loops.both")
	if form.Step == "decide.assessor" {
		back = backTo(stepReview)
	}
	out.Choices = rows(1, back)
	return out
}

func takeLoopAssessor(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	if complaint := planName(&form.Plan.Loops.Assessor, a); complaint != nil {
		return "", complaint
	}
	return setLoops(form, f), nil
}

// setLoops puts the chosen loops into the transfer, from the head down.
func setLoops(form *Form, f Facts) string {
	t, l := form.Plan.transfer(), form.Plan.Loops
	t.Loops = slices.DeleteFunc(t.Loops, func(x care.PointLoops) bool { return x.Point == l.Point })
	t.Loops = append(t.Loops, l)
	slices.SortFunc(t.Loops, func(a, b care.PointLoops) int {
		return slices.Index(care.Points, a.Point) - slices.Index(care.Points, b.Point)
	})
	form.Plan.Loops = care.PointLoops{}
	return changed(form, f)
}

// equipmentState says whether a piece of equipment can be used today.
func equipmentState(f Facts, state care.EquipmentState, e care.Examined) Term {
	why := rules.Unusable(state, e, care.DateOf(f.Now.In(f.Site.Location())))
	if why == "" {
		why = string(care.InUse)
	}
	return Term("why." + why)
}

func slingChoice(f Facts, x care.Sling) Choice {
	return choice("planedit.equipment", Action{Value: x.Label}, "Label", x.Label, "What", x.Size, "State", equipmentState(f, x.State, x.Examined))
}

// slingsOf lists the slings of a range that are on the register: those of the size
// first, and those that can be used first among them.
func slingsOf(f Facts, g, size string) []care.Sling {
	var out []care.Sling
	for _, x := range f.Site.Slings {
		if x.Range == g {
			out = append(out, x)
		}
	}
	rank := func(x care.Sling) int {
		n := 0
		if x.Size != size {
			n += 2
		}
		if equipmentState(f, x.State, x.Examined) != "why.in_use" {
			n++
		}
		return n
	}
	slices.SortStableFunc(out, func(a, b care.Sling) int { return rank(a) - rank(b) })
	return out
}

// askSling offers the slings of the range that is being looked at: the transfer's own,
// or another that was chosen.
func askSling(form Form, f Facts) Say {
	t := form.Plan.transfer()
	ref := t.Range
	if form.Plan.Range != "" {
		ref = form.Plan.Range
	}
	g, _ := f.Site.Range(ref)
	out := planAsk(form, f, "sling", "planedit.sling.ask")
	if g.Name != "" {
		out.Lines = append(out.Lines, line("sling.named", "Name", g.Name))
	}
	for i, x := range slingsOf(f, ref, t.Size) {
		if i == pageSize {
			break
		}
		out.Choices = append(out.Choices, []Choice{slingChoice(f, x)})
	}
	if len(out.Choices) == 0 {
		out.Lines = append(out.Lines, line("planedit.sling.none"))
	}
	out.Lines = append(out.Lines, small("planedit.label.type"))
	out.Choices = append(out.Choices, []Choice{choice("planedit.sling.other", Action{Value: "range"})}, []Choice{backTo(stepWhat)})
	return out
}

func takeSling(form *Form, f Facts, a answer) (string, *Words) {
	d := form.Plan
	if step, ok := backed(a); ok {
		d.Range = ""
		return step, nil
	}
	if a.value == "range" {
		return "sling.range", nil
	}
	x, ok := slingLabelled(f, a)
	if !ok {
		return "", &Words{Key: "planedit.label.unknown"}
	}
	d.Range = ""
	setSling(d, f, x)
	return changed(form, f), nil
}

func slingLabelled(f Facts, a answer) (care.Sling, bool) {
	for _, x := range f.Site.Slings {
		if x.Label == a.value || a.typed != "" && equalFold(x.Label, a.typed) {
			return x, true
		}
	}
	return care.Sling{}, false
}

// setSling puts a sling into the transfer. What was said for another sling is not
// carried over to it: it is asked anew.
func setSling(d *PlanDraft, f Facts, x care.Sling) {
	t := d.transfer()
	another := x.Range != t.Range
	t.Range, t.Size, t.Label = x.Range, x.Size, x.Label
	d.Open = nil
	if spare, ok := f.Site.Sling(t.Spare); t.Spare != "" && (!ok || spare.Range != x.Range || spare.Size != x.Size || t.Spare == x.Label) {
		t.Spare = ""
		d.Open = append(d.Open, "spare")
	}
	if !another {
		return
	}
	t.Loops, t.LegStraps = nil, ""
	g, _ := f.Site.Range(x.Range)
	if g.Attachment != care.ClipAttachment {
		for _, p := range loopPoints(g) {
			d.Open = append(d.Open, string(p))
		}
	}
	if len(g.LegStraps) > 0 {
		d.Open = append(d.Open, "legs")
	}
	if h, ok := f.Site.Hoist(t.Hoist); !ok || h.Attachment != g.Attachment {
		d.Open = append(d.Open, "hoist")
	}
}

func askRange(form Form, f Facts) Say {
	out := planAsk(form, f, "sling", "planedit.range.ask")
	var all []Choice
	for _, g := range f.Site.Ranges {
		if len(slingsOf(f, g.Ref, "")) > 0 && len(all) < 2*pageSize {
			all = append(all, as(g.Name, Action{Value: g.Ref}))
		}
	}
	perRow := 1
	if len(all) > pageSize {
		perRow = 2
	}
	out.Lines = append(out.Lines, line("planedit.range.anew"))
	out.Choices = append(rows(perRow, all...), []Choice{backTo("sling")})
	return out
}

func takeRange(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	if x, ok := slingLabelled(f, answer{typed: a.typed}); ok {
		return takeSling(form, f, answer{value: x.Label})
	}
	if _, ok := f.Site.Range(a.value); !ok {
		return "", complainChoose
	}
	form.Plan.Range = a.value
	return "sling", nil
}

// spares lists the slings that can stand in for the transfer's: of its range and size.
func spares(form Form, f Facts) []care.Sling {
	t := form.Plan.transfer()
	return slices.DeleteFunc(slingsOf(f, t.Range, t.Size), func(x care.Sling) bool { return x.Size != t.Size || x.Label == t.Label })
}

func askSpare(form Form, f Facts) Say {
	out := planAsk(form, f, "spare", "planedit.spare.ask")
	for i, x := range spares(form, f) {
		if i == pageSize {
			break
		}
		out.Choices = append(out.Choices, []Choice{slingChoice(f, x)})
	}
	if len(out.Choices) == 0 {
		out.Lines = append(out.Lines, line("planedit.spare.nothing"))
	}
	out.Choices = append(out.Choices, []Choice{choice("planedit.spare.none", Action{Value: valueSkip})}, []Choice{backTo(stepWhat)})
	return out
}

func takeSpare(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		form.Plan.Open = nil
		return step, nil
	}
	t := form.Plan.transfer()
	if a.value == valueSkip {
		t.Spare = ""
		return changed(form, f), nil
	}
	for _, x := range spares(*form, f) {
		if x.Label == a.value || equalFold(x.Label, a.typed) {
			t.Spare = x.Label
			return changed(form, f), nil
		}
	}
	return "", &Words{Key: "planedit.label.unknown"}
}

func askLegs(form Form, f Facts) Say {
	out := planAsk(form, f, "legs", "planedit.legs.ask")
	out.Choices = append(rows(1, codes("planedit.legs.", form.slingRange(f).LegStraps)...), []Choice{backTo(stepWhat)})
	return out
}

func takeLegs(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		form.Plan.Open = nil
		return step, nil
	}
	v, ok := oneOf(form.slingRange(f).LegStraps, a.value)
	if !ok {
		return "", complainChoose
	}
	form.Plan.transfer().LegStraps = v
	return changed(form, f), nil
}

func askCarers(form Form, f Facts) Say {
	out := planAsk(form, f, "carers", "planedit.carers.ask")
	var all []Choice
	for n := 1; n <= maxCarers; n++ {
		all = append(all, as(strconv.Itoa(n), Action{Value: strconv.Itoa(n)}))
	}
	out.Choices = append(rows(4, all...), []Choice{backTo(stepWhat)})
	return out
}

func takeCarers(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	n, ok := number(a.value + a.typed)
	if !ok || n < 1 || n > maxCarers {
		return "", &Words{Key: "planedit.carers.range", Args: Args{"Most": maxCarers}}
	}
	form.Plan.transfer().Carers = n
	return changed(form, f), nil
}

// hoistsFor lists the hoists whose bar takes the transfer's sling.
func hoistsFor(form Form, f Facts) []care.Hoist {
	g, known := f.Site.Range(form.Plan.transfer().Range)
	var out []care.Hoist
	for _, h := range f.Site.Hoists {
		if !known || h.Attachment == g.Attachment {
			out = append(out, h)
		}
	}
	return out
}

func askHoist(form Form, f Facts) Say {
	out := planAsk(form, f, "hoist", "planedit.hoist.ask")
	for i, h := range hoistsFor(form, f) {
		if i == pageSize {
			out.Lines = append(out.Lines, small("planedit.label.type"))
			break
		}
		c := choice("planedit.equipment.plain", Action{Value: h.Label}, "Label", h.Label, "State", equipmentState(f, h.State, h.Examined))
		if h.Kind != "" {
			c = choice("planedit.equipment", Action{Value: h.Label}, "Label", h.Label, "What", Term("hoist_kind."+string(h.Kind)), "State", equipmentState(f, h.State, h.Examined))
		}
		out.Choices = append(out.Choices, []Choice{c})
	}
	if len(out.Choices) == 0 {
		out.Lines = append(out.Lines, line("planedit.hoist.none"))
	}
	out.Choices = append(out.Choices, []Choice{backTo(stepWhat)})
	return out
}

func takeHoist(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	for _, h := range hoistsFor(*form, f) {
		if h.Label == a.value || equalFold(h.Label, a.typed) {
			form.Plan.transfer().Hoist = h.Label
			return changed(form, f), nil
		}
	}
	return "", &Words{Key: "planedit.label.unknown"}
}

func askArms(form Form, f Facts) Say {
	out := planAsk(form, f, "arms", "planedit.arms.ask")
	out.Choices = append(rows(1, codes("arms.", care.ArmsAll)...), []Choice{backTo(stepWhat)})
	return out
}

func takeArms(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	v, ok := oneOf(care.ArmsAll, a.value)
	if !ok {
		return "", complainChoose
	}
	form.Plan.transfer().Arms = v
	return changed(form, f), nil
}

func askBrakes(form Form, f Facts) Say {
	out := planAsk(form, f, "brakes", "planedit.brakes.ask")
	out.Choices = append(rows(1, codes("planedit.brakes.", care.BrakesAll)...), []Choice{backTo(stepWhat)})
	return out
}

func takeBrakes(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	v, ok := oneOf(care.BrakesAll, a.value)
	if !ok {
		return "", complainChoose
	}
	form.Plan.transfer().HoistBrakes = v
	return changed(form, f), nil
}

// askCautions numbers the cautions, so that two of one kind are told apart.
func askCautions(form Form, f Facts) Say {
	all := *form.Plan.cautions()
	out := planAsk(form, f, "", "planedit.cautions.ask")
	for i, c := range all {
		one := cautionLines(view{f: f, plan: care.Plan{Cautions: []care.Caution{c}}})
		out.Lines = append(append(out.Lines, small("planedit.caution.nth", "Number", i+1)), one[1:]...)
		if i < pageSize {
			out.Choices = append(out.Choices, []Choice{choice("planedit.caution.remove", Action{Value: strconv.Itoa(i + 1)}, "Number", i+1, "Caution", Term("caution."+string(c.Code)))})
		}
	}
	if len(all) == 0 {
		out.Lines = append(out.Lines, line("cautions.none"))
	}
	if form.Plan.Transfer != "" && len(form.Plan.Plan.Cautions) > 0 {
		out.Lines = append(out.Lines, small("planedit.cautions.whole"))
	}
	if len(all) < maxCautions {
		out.Choices = append(out.Choices, []Choice{choice("planedit.caution.add", Action{Value: "add"})})
	}
	out.Choices = append(out.Choices, []Choice{backTo(stepWhat)})
	return out
}

func takeCautions(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	all := form.Plan.cautions()
	if a.value == "add" && len(*all) < maxCautions {
		form.Plan.Caution, form.Plan.Page = care.Caution{}, 0
		return "cautions.code", nil
	}
	n, ok := number(a.value + a.typed)
	if !ok || n < 1 || n > len(*all) {
		return "", complainChoose
	}
	*all = slices.Delete(*all, n-1, n)
	return changed(form, f), nil
}

// cautionPage is how many cautions are offered at once.
const cautionPage = 16

func askCautionCode(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.caution.which")
	first := min(form.Plan.Page*cautionPage, len(care.CautionCodes))
	last := min(first+cautionPage, len(care.CautionCodes))
	out.Choices = rows(2, codes("caution.", care.CautionCodes[first:last])...)
	turn := choice("page.more", Action{Value: "page"})
	if last == len(care.CautionCodes) {
		turn = choice("page.back", Action{Value: "page"})
	}
	out.Choices = append(out.Choices, []Choice{turn}, []Choice{backTo("cautions")})
	return out
}

func takeCautionCode(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	if a.value == "page" {
		form.Plan.Page = (form.Plan.Page + 1) % ((len(care.CautionCodes) + cautionPage - 1) / cautionPage)
		return "cautions.code", nil
	}
	c, ok := oneOf(care.CautionCodes, a.value)
	if !ok {
		return "", complainChoose
	}
	form.Plan.Caution = care.Caution{Code: c}
	return "cautions.part", nil
}

func askCautionPart(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.caution.part", line("bullet", "Item", Term("caution."+string(form.Plan.Caution.Code))))
	out.Choices = append(rows(3, codes("part.", care.BodyParts)...), []Choice{skip(), backTo("cautions")})
	return out
}

func takeCautionPart(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	c := &form.Plan.Caution
	if complaint := takeCode(&c.Part, care.BodyParts, a); complaint != nil {
		return "", complaint
	}
	if c.Part != "" && !oneInTheMiddle(c.Part) {
		return "cautions.side", nil
	}
	return afterSide(form, f), nil
}

func askCautionSide(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.caution.side", line("caution.part", "Caution", Term("caution."+string(form.Plan.Caution.Code)), "Part", Term("part."+string(form.Plan.Caution.Part))))
	out.Choices = append(rows(1, codes("side.person.", care.Sides)...), []Choice{backTo("cautions")})
	return out
}

// takeCautionSide asks for a side and takes no silence: a caution about a knee that does
// not say which is a guess.
func takeCautionSide(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	v, ok := oneOf(care.Sides, a.value)
	if !ok {
		return "", complainChoose
	}
	form.Plan.Caution.Side = v
	return afterSide(form, f), nil
}

func afterSide(form *Form, f Facts) string {
	if form.Plan.Caution.Code == "other" {
		return "cautions.text"
	}
	return addCaution(form, f)
}

func addCaution(form *Form, f Facts) string {
	all := form.Plan.cautions()
	if !slices.Contains(*all, form.Plan.Caution) {
		*all = append(*all, form.Plan.Caution)
	}
	form.Plan.Caution = care.Caution{}
	return changed(form, f)
}

func askCautionText(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.caution.text", small("form.type.it"))
	out.Choices = rows(1, backTo("cautions"))
	return out
}

func takeCautionText(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	if complaint := planWords(&form.Plan.Caution.Text, f, a); complaint != nil {
		return "", complaint
	}
	return addCaution(form, f), nil
}

// reviewMonths are the days of review that are offered as buttons; any other is typed.
// Common practice, no source: which one is right is the coordinator's to choose.
var reviewMonths = []int{1, 3, 6, 12}

func askReviewDate(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.review.ask")
	if d := form.Plan.Plan.NextReview; d.IsZero() {
		out.Lines = append(out.Lines, line("plan.review.none"))
	} else {
		out.Lines = append(out.Lines, line("plan.review", "Date", d))
	}
	out.Lines = append(out.Lines, small("planedit.review.type"))
	today := care.DateOf(f.Now.In(f.Site.Location()))
	var all []Choice
	for _, n := range reviewMonths {
		d := today.AddMonths(n)
		all = append(all, choice("planedit.date", Action{Value: d.String()}, "Date", d))
	}
	out.Choices = append(rows(2, all...), []Choice{backTo(stepWhat)})
	return out
}

func takeReviewDate(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	d, err := care.ParseDate(plainDigits(strings.TrimSpace(a.value + a.typed)))
	today := care.DateOf(f.Now.In(f.Site.Location()))
	switch {
	case err != nil:
		return "", &Words{Key: "planedit.review.type"}
	case !today.Before(d):
		return "", &Words{Key: "planedit.review.past"}
	case today.AddMonths(12 * maxYears).Before(d):
		return "", &Words{Key: "planedit.date.far"}
	}
	form.Plan.Plan.NextReview = d
	return changed(form, f), nil
}

// maxYears guards against a mistyped year. Common practice, no source.
const maxYears = 5

// plainDigits writes the digits of any script as 0 to 9.
func plainDigits(s string) string {
	return strings.Map(func(r rune) rune {
		if n, ok := number(string(r)); ok {
			return rune('0' + n)
		}
		return r
	}, s)
}
