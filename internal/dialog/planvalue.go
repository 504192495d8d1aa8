package dialog

import (
	"strconv"
	"strings"

	"samelift/internal/care"
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

func askAssessor(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.assessor.ask", small("planedit.assessor.type"))
	back := backTo("loops.both")
	if form.Step == "decide.assessor" {
		back = backTo(stepReview)
	}
	out.Choices = rows(1, back)
	return out
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
	if n == 1 {
		return "carers.assessed", nil
	}
	t := form.Plan.transfer()
	t.Carers, t.OneCarerAssessed = n, care.Date{}
	return changed(form, f), nil
}

// askOneCarer asks for the day of the assessment that allows one carer alone; there is
// no passing it.
// Source: HSE: one person only after a risk assessment of the individual.
func askOneCarer(form Form, f Facts) Say {
	out := planAsk(form, f, "carers", "planedit.carers.assessed", small("planedit.day.type"))
	out.Choices = rows(1, backTo("carers"))
	return out
}

func takeOneCarer(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	d, err := care.ParseDate(plainDigits(strings.TrimSpace(a.typed)))
	if err != nil || care.DateOf(f.Now.In(f.Site.Location())).Before(d) {
		return "", &Words{Key: "planedit.day.past"}
	}
	t := form.Plan.transfer()
	t.Carers, t.OneCarerAssessed = 1, d
	return changed(form, f), nil
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
