package rules

import (
	"slices"
	"strconv"

	"samelift/internal/care"
)

// ReadBackAbout is what a read-back asks about.
type ReadBackAbout string

// What it can ask about. For these it is not enough that somebody says they have read
// a change: they say what holds now. Source for reading back at all: WHO Patient Safety
// Solutions, vol 1 sol 3 (2007); which facts of a plan: common practice, no source.
const (
	BackLoops  ReadBackAbout = "loops"
	BackSling  ReadBackAbout = "sling"
	BackLegs   ReadBackAbout = "legs"
	BackCarers ReadBackAbout = "carers"
)

// ReadBack is one question about a changed plan with its real alternatives.
type ReadBack struct {
	About    ReadBackAbout
	From, To care.Place
	// Point and Side say which loop; Side is BothSides where left and right are alike.
	Point care.Point
	Side  care.Side
	Range care.Range
	// Options are the answers in an order that says nothing about which is right: loops
	// from the shortest, labels as the site lists them, leg straps as the range does,
	// numbers upwards. The old value is among them.
	Options []string
	Right   string
}

// mostOptions is how many alternatives one question offers at the most.
const mostOptions = 6

// Reads gives the question to ask somebody who has read a change, about the first
// thing that changed in the first transfer in which anything did. It reports false
// where the change needs none, or where there is only one answer.
func Reads(site *care.Site, before, after care.Plan) (ReadBack, bool) {
	for _, t := range after.Transfers {
		old, _ := before.Transfer(t.Key())
		asks := []func(*care.Site, care.Transfer, care.Transfer) (ReadBack, bool){askLoops, askSling, askLegs, askCarers}
		if old.Range != t.Range && old.Range != "" {
			// Loops of another range mean nothing before the sling is known.
			asks[0], asks[1] = asks[1], asks[0]
		}
		for _, ask := range asks {
			if q, ok := ask(site, old, t); ok && len(q.Options) > 1 && slices.Contains(q.Options, q.Right) {
				q.From, q.To = t.From, t.To
				return q, true
			}
		}
	}
	return ReadBack{}, false
}

func askLoops(site *care.Site, old, t care.Transfer) (ReadBack, bool) {
	g, _ := site.Range(t.Range)
	for _, p := range care.Points {
		was, is := old.At(p), t.At(p)
		if was.Left == is.Left && was.Right == is.Right && old.Range == t.Range {
			continue
		}
		q := ReadBack{About: BackLoops, Point: p, Side: care.BothSides, Range: g, Right: strconv.Itoa(is.Left)}
		switch {
		case is.Left == is.Right:
		case was.Left == is.Left && old.Range == t.Range:
			q.Side, q.Right = care.Right, strconv.Itoa(is.Right)
		default:
			q.Side = care.Left
		}
		for i := range min(len(g.Loops(p)), mostOptions) {
			q.Options = append(q.Options, strconv.Itoa(i+1))
		}
		if len(q.Options) > 1 && slices.Contains(q.Options, q.Right) {
			return q, true
		}
	}
	return ReadBack{}, false
}

func askSling(site *care.Site, old, t care.Transfer) (ReadBack, bool) {
	if old.Label == t.Label || t.Label == "" {
		return ReadBack{}, false
	}
	q := ReadBack{About: BackSling, Right: t.Label}
	wanted := map[string]bool{old.Label: true, t.Label: true, t.Spare: true, "": false}
	for _, x := range site.Slings {
		if len(wanted) < mostOptions && x.Range == t.Range {
			wanted[x.Label] = true
		}
	}
	for _, x := range site.Slings {
		if len(wanted) < 4 { // a sling or two of another kind, so that there is a choice
			wanted[x.Label] = true
		}
	}
	for _, x := range site.Slings {
		if wanted[x.Label] {
			q.Options = append(q.Options, x.Label)
		}
	}
	return q, true
}

func askLegs(site *care.Site, old, t care.Transfer) (ReadBack, bool) {
	if old.LegStraps == t.LegStraps || t.LegStraps == "" {
		return ReadBack{}, false
	}
	g, _ := site.Range(t.Range)
	q := ReadBack{About: BackLegs, Right: string(t.LegStraps)}
	for _, l := range care.LegStrapsAll {
		if l == t.LegStraps || l == old.LegStraps || slices.Contains(g.LegStraps, l) {
			q.Options = append(q.Options, string(l))
		}
	}
	return q, true
}

func askCarers(_ *care.Site, old, t care.Transfer) (ReadBack, bool) {
	if old.Carers == t.Carers || t.Carers == 0 {
		return ReadBack{}, false
	}
	q := ReadBack{About: BackCarers, Right: strconv.Itoa(t.Carers)}
	for n := range min(max(3, old.Carers, t.Carers), 12) {
		q.Options = append(q.Options, strconv.Itoa(n+1))
	}
	return q, true
}
