package rules

import "samelift/internal/care"

// The measures by which a size is found.
const (
	MeasureMass = "mass"
	MeasureBack = "back"
	MeasureHips = "hips"
)

// Sized finds whether the planned size is the one that the range's own table gives for
// the person's mass, back length and measure around the hips, each for itself. Between
// two sizes both are named. The table proposes; who assessed the person decides.
// Sources: HSE, HSIS3: too small is uncomfortable, too large and the person may slip
// through; FDA, Patient Lifts: by size, weight and hip measurement.
func Sized(site *care.Site, client care.Client, plan care.Plan, t care.Transfer) []Finding {
	g, _ := site.Range(t.Range)
	size, ok := g.Size(t.Size)
	if !ok {
		return nil // said by Stated and Fit
	}
	var out []Finding
	out = append(out, sized(g, size, MeasureMass, client.Mass, func(s care.Size) care.Span[care.Mass] { return s.Mass })...)
	out = append(out, sized(g, size, MeasureBack, client.BackLength, func(s care.Size) care.Span[int] { return s.Back })...)
	out = append(out, sized(g, size, MeasureHips, client.Hips, func(s care.Size) care.Span[int] { return s.Hips })...)
	return append(out, crossed(site, client, plan, g, size)...)
}

func sized[T care.Mass | int](g care.Range, planned care.Size, measure string, v T, span func(care.Size) care.Span[T]) []Finding {
	if span(planned).IsZero() {
		return nil // the table is silent, and so is the rule
	}
	args := map[string]any{"range": g.Name, "size": planned.Name, "measure": measure}
	if v == 0 {
		if measure == MeasureMass {
			return nil // said by Load
		}
		return []Finding{{"size_not_measured", Advice, args, sourceFDASize}}
	}
	fits, below, above := around(g, v, span)
	switch {
	case len(fits) == 1 && fits[0] == planned.Name:
		return nil
	case len(fits) == 1:
		args["fits"] = fits[0]
		return []Finding{{"size_other", Caution, args, sourceHSIS3}}
	case len(fits) > 1:
		below, above = fits[0], fits[len(fits)-1]
	case below == "" || above == "":
		return []Finding{{"size_none", Caution, args, sourceHSIS3}}
	}
	args["smaller"], args["larger"] = below, above
	return []Finding{{"size_between", Caution, args, sourceHSIS3}}
}

// around gives the sizes that hold a value, the smallest first, and the nearest that
// end below it and begin above it.
func around[T care.Mass | int](g care.Range, v T, span func(care.Size) care.Span[T]) (fits []string, below, above string) {
	var first, last, under, over care.Span[T]
	for _, s := range g.Sizes {
		at := span(s)
		switch {
		case at.IsZero():
		case at.Holds(v):
			switch {
			case fits == nil:
				fits, first, last = []string{s.Name}, at, at
			case at.From < first.From:
				fits, first = append([]string{s.Name}, fits...), at
			case at.From >= last.From:
				fits, last = append(fits, s.Name), at
			}
		case at.From > v:
			if above == "" || at.From < over.From {
				above, over = s.Name, at
			}
		default:
			if below == "" || at.To > under.To {
				below, under = s.Name, at
			}
		}
	}
	return fits, below, above
}

// crossed finds a person who was within the planned size when the plan began and is not
// any more. Source: Disabled Living Foundation 2006, Choosing a mobile hoist: the right
// size as weight goes up or down.
func crossed(site *care.Site, client care.Client, plan care.Plan, g care.Range, size care.Size) []Finding {
	if size.Mass.IsZero() || client.Mass == 0 || size.Mass.Holds(client.Mass) {
		return nil
	}
	began := care.DateOf(plan.From.In(site.Location()))
	var then care.Weighing
	for _, w := range client.Weighings {
		if !began.Before(w.On) && then.On.Before(w.On) {
			then = w
		}
	}
	if then.Mass == 0 || !size.Mass.Holds(then.Mass) {
		return nil
	}
	return []Finding{{"size_border_crossed", Caution, map[string]any{
		"range": g.Name, "size": size.Name, "mass": client.Mass, "before": then.Mass, "date": then.On,
	}, sourceDLF}}
}
