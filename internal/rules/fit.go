package rules

import (
	"slices"

	"samelift/internal/care"
)

// Fit finds whether the sling, its loops and leg straps, and the bar of the hoist
// belong together as the transfer has them.
func Fit(site *care.Site, t care.Transfer) []Finding {
	if t.Range == "" {
		return nil // said by Stated
	}
	g, ok := site.Range(t.Range)
	if !ok {
		return []Finding{{"range_not_known", Stop, map[string]any{"range": t.Range}, sourceHSIS3}}
	}
	var out []Finding
	if _, ok := g.Size(t.Size); t.Size != "" && !ok {
		out = append(out, Finding{"size_not_known", Stop, map[string]any{"range": g.Name, "size": t.Size}, sourceHSIS3})
	}
	if h, ok := site.Hoist(t.Hoist); ok {
		out = append(out, Bar(g, h)...)
	}
	out = append(out, Head(g, t)...)
	out = append(out, Legs(g, t)...)
	return append(out, Loops(g, t)...)
}

// Bar finds whether the sling can hang on the bar.
// Source: HSE, HSIS3, names a loop sling on a clip bar, or the reverse, as insecure.
func Bar(g care.Range, h care.Hoist) []Finding {
	if g.Attachment != h.Attachment || g.Attachment == "" {
		return []Finding{{"attachment_mismatch", Stop, map[string]any{"sling": string(g.Attachment), "bar": string(h.Attachment), "hoist": h.Label}, sourceHSIS3}}
	}
	straps := 2 * len(g.Points)
	switch {
	case h.BarPoints == 0:
		return []Finding{{"bar_points_unknown", Advice, map[string]any{"hoist": h.Label}, commonPractice}}
	case h.BarPoints < straps:
		// Two straps on one hook is usual on some bars and wrong on others: said, not judged.
		return []Finding{{"bar_points_fewer", Caution, map[string]any{"bar": h.BarPoints, "straps": straps}, commonPractice}}
	}
	return nil
}

// Head finds a sling without head support where the plan asks for it.
// Common practice, no source.
func Head(g care.Range, t care.Transfer) []Finding {
	switch {
	case t.Head != care.Yes || g.Head == care.Yes:
		return nil
	case g.Head == care.No:
		return []Finding{{"head_support_missing", Stop, map[string]any{"range": g.Name}, commonPractice}}
	}
	return []Finding{{"head_support_unknown", Stop, map[string]any{"range": g.Name}, commonPractice}}
}

// Legs finds leg straps led in a way that the range is not made for.
// Source: HSE, HSIS3: wrong use of a type of sling; which ways there are is the maker's.
func Legs(g care.Range, t care.Transfer) []Finding {
	if t.LegStraps == "" || slices.Contains(g.LegStraps, t.LegStraps) {
		return nil
	}
	return []Finding{{"leg_straps_not_allowed", Stop, map[string]any{"legs": string(t.LegStraps), "range": g.Name}, sourceHSIS3}}
}

// Loops finds whether the transfer says, for every point of the sling and for both
// sides, a loop that the sling has, and the same on both sides unless somebody with a
// name has decided otherwise and said why.
// Source: HSE, HSIS3: the same loops on both sides, else the person can fall sideways;
// a wrong loop, and the person may slip from the sling.
func Loops(g care.Range, t care.Transfer) []Finding {
	if len(t.Loops) == 0 {
		return nil // said by Stated
	}
	var out []Finding
	for _, p := range care.Points {
		at, count := t.At(p), len(g.Loops(p))
		has := slices.ContainsFunc(g.Points, func(rp care.RangePoint) bool { return rp.Point == p })
		wrote := slices.ContainsFunc(t.Loops, func(l care.PointLoops) bool { return l.Point == p })
		switch {
		case wrote && !has:
			out = append(out, Finding{"loop_no_such_point", Stop, map[string]any{"point": string(p), "range": g.Name}, sourceHSIS3})
			continue
		case !has, g.Attachment == care.ClipAttachment:
			continue
		}
		if side := silentSide(at); side != "" {
			out = append(out, Finding{"loop_not_stated", Stop, map[string]any{"point": string(p), "side": string(side)}, sourceInquest})
		}
		for _, n := range []int{at.Left, at.Right} {
			if n > count || n < 0 {
				out = append(out, Finding{"loop_not_in_range", Stop, map[string]any{"point": string(p), "loop": n, "count": count}, sourceHSIS3})
				break
			}
		}
		if at.Left != at.Right && at.Left != 0 && at.Right != 0 {
			args := map[string]any{"point": string(p), "left": at.Left, "right": at.Right}
			if at.Reason.IsZero() || at.Assessor == "" {
				out = append(out, Finding{"loops_differ_unexplained", Stop, args, sourceHSIS3})
			} else {
				args["assessor"] = at.Assessor
				out = append(out, Finding{"loops_differ", Caution, args, sourceHSIS3})
			}
		}
	}
	return out
}

// silentSide gives the side for which no loop is stated, none if both are.
func silentSide(l care.PointLoops) care.Side {
	switch {
	case l.Left == 0 && l.Right == 0:
		return care.BothSides
	case l.Left == 0:
		return care.Left
	case l.Right == 0:
		return care.Right
	}
	return ""
}
