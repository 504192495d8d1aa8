package dialog

import (
	"errors"
	"math"

	"samelift/internal/care"
	"samelift/internal/picture"
)

// How a person hangs, for coordinators: an estimate from the lengths of the loops that
// the plan names, with what in it deserves another look. It is never shown to a carer,
// who is to do what the plan says.
//
//	the whole plan -> figures and concerns -> [how the person hangs] -> the picture

// posture reckons how somebody hangs in a transfer. The person's stature and build and
// the places of the bar's hooks are not in the plan; the mean body and a bar with its
// hooks in one line are taken, and the words say so.
func posture(site *care.Site, t care.Transfer) (picture.PostureInput, picture.Hang, error) {
	r, ok := site.Range(t.Range)
	if !ok {
		return picture.PostureInput{}, picture.Hang{}, &picture.Refusal{Reason: picture.NotStated}
	}
	in, err := picture.PostureOf(t, r)
	if err != nil {
		return in, picture.Hang{}, err
	}
	h, err := picture.Posture(in)
	return in, h, err
}

// PostureLines tells a coordinator how a person will hang in a transfer and what about
// that to look at again. Where nothing can be reckoned it says why.
func PostureLines(f Facts, t care.Transfer) []Line {
	out := []Line{strong("posture.title")}
	_, h, err := posture(f.Site, t)
	if err != nil {
		return append(out, line("posture.none", "Why", Term("posture.why."+whyNoPosture(err))))
	}
	out = append(out,
		line("posture.angles", "Back", degrees(h.Back), "Hips", degrees(h.Hips)),
		line("posture.clear", "Space", int(math.Round(h.Clear/10))*10))
	for _, w := range concerns(h, t) {
		out = append(out, Line{Style: Strong, Words: w})
	}
	return append(out, small("posture.assumed"))
}

// PostureConcerns tells an author what about the loops of a transfer deserves another
// look, and nothing where nothing is found or nothing can be reckoned.
func PostureConcerns(site *care.Site, t care.Transfer) []Words {
	_, h, err := posture(site, t)
	if why := whyNoPosture(err); why == string(picture.NoReach) || why == string(picture.NoRest) {
		return []Words{words("posture.none", "Why", Term("posture.why."+why))}
	} else if err != nil {
		return nil
	}
	return concerns(h, t)
}

// concerns looks at both ends of a transfer for both ways: it arrives at either.
func concerns(h picture.Hang, t care.Transfer) []Words {
	ends := []care.Place{t.To}
	if t.BothWays {
		ends = append(ends, t.From)
	}
	var out []Words
	said := map[picture.Concern]bool{}
	for _, to := range ends {
		for _, c := range picture.Concerns(h, to, t.Head) {
			if !said[c] {
				out = append(out, words("posture.concern."+string(c)))
			}
			said[c] = true
		}
	}
	return out
}

func degrees(v float64) int { return int(math.Round(v)) }

// whyNoPosture groups the reasons for which nothing can be reckoned.
func whyNoPosture(err error) string {
	var r *picture.Refusal
	if !errors.As(err, &r) {
		return "other"
	}
	switch r.Reason {
	case picture.NotStated, picture.NoReach, picture.NoRest, picture.SidesDiffer:
		return string(r.Reason)
	case picture.BadLength:
		return "no_length"
	}
	return "other"
}

// postureShown shows a coordinator the picture of how a person hangs.
func postureShown(f Facts, c care.Client, key string) []Effect {
	p, ok := f.Site.PlanAt(c.Ref, f.Now)
	if !ok {
		return []Effect{noPlan(f, c)}
	}
	from, to := care.ParseTransferKey(key)
	found := serving(p, from, to)
	if len(found) != 1 && !(len(found) == 2 && found[0].t.BothWays && found[0].t.Key() == found[1].t.Key()) {
		return []Effect{say(line("button.old"))}
	}
	t := found[0].t
	lines := append([]Line{clientLine(Strong, f.Site, c), move(Plain, found[0].from, found[0].to)}, PostureLines(f, t)...)
	out := say(append(lines, small("caution.plan_decides"))...)
	out.Client, out.PlanVersion = c.Ref, p.Version
	if in, h, err := posture(f.Site, t); err == nil {
		alt := []Words{words("picture.posture"), words("posture.angles", "Back", degrees(h.Back), "Hips", degrees(h.Hips))}
		out.Picture = shown("posture", in, picture.PostureDrawing(h), alt)
	}
	return []Effect{out}
}

// hangsOf tells an author, before a plan is published, what about the changed transfers'
// loops to look at again. It is an estimate and stops nothing.
func hangsOf(f Facts, all []draftFindings) []Line {
	var out []Line
	for _, d := range all {
		found := PostureConcerns(f.Site, d.t)
		if len(found) == 0 {
			continue
		}
		if out == nil {
			out = append(out, strong("posture.title"))
		}
		out = append(out, move(Plain, d.t.From, d.t.To))
		for _, w := range found {
			out = append(out, Line{Style: Strong, Words: w})
		}
	}
	if out != nil {
		out = append(out, small("posture.assumed"))
	}
	return out
}
