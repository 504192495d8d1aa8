package dialog

import (
	"slices"
	"strconv"

	"samelift/internal/care"
)

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
