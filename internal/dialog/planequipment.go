package dialog

import (
	"slices"

	"samelift/internal/care"
	"samelift/internal/rules"
)

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
