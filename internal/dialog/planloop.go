package dialog

import (
	"slices"
	"strconv"

	"samelift/internal/care"
)

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
