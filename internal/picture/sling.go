package picture

import (
	"slices"
	"strings"

	"samelift/internal/care"
)

// MostLoops is how many loops of one point can be drawn and counted at phone width.
const MostLoops = 9

// mostCarers bounds the crew that can be drawn.
const mostCarers = 9

// SlingInput is what the sling picture shows.
type SlingInput struct {
	Transfer care.Transfer
	// Range is the range the transfer names.
	Range care.Range
	// Stopped says that this transfer may not be done now.
	Stopped bool
}

// FactKey says what a Fact is about.
type FactKey string

// The facts of a sling picture, in the order in which they are told.
const (
	// FactStop: the transfer may not be done now.
	FactStop FactKey = "stop"
	// FactSize and FactLabel: Word is what is printed on the sling, empty if not stated.
	FactSize  FactKey = "size"
	FactLabel FactKey = "label"
	// FactCarers: N carers, zero if not stated.
	FactCarers FactKey = "carers"
	// FactHead: Word is "yes" or "no", whether the sling supports the head, empty if
	// the range does not say.
	FactHead FactKey = "head"
	// FactHeadNeed: Word is "yes" or "no", whether the plan wants the head supported.
	FactHeadNeed FactKey = "head_need"
	// FactLoop: at Point on Side take loop N of Of, counted from the shortest; N is
	// zero if not stated. Word is the loop's colour as the range has it.
	FactLoop FactKey = "loop"
	// FactClip: at Point the sling has a clip and no loops.
	FactClip FactKey = "clip"
	// FactDiffer: at Point left and right differ.
	FactDiffer FactKey = "differ"
	// FactLegStraps: Word is how the leg straps are led, empty if not stated.
	FactLegStraps FactKey = "leg_straps"
	// FactArms: Word is where the arms go, empty if not stated.
	FactArms FactKey = "arms"
)

// Fact is one thing a picture shows. An empty Word or a zero N of a thing that was
// to be stated means that it is not stated, and the picture has a question mark.
type Fact struct {
	Key   FactKey
	Point care.Point
	// Side is care.BothSides where left and right are alike.
	Side  care.Side
	N, Of int
	Word  string
	// At is the day a chart's fact is about.
	At care.Date
	// Value is a chart's or a posture's figure in the unit its key names.
	Value float64
}

// Stated reports whether the plan states it.
func (f Fact) Stated() bool { return f.Word != "" || f.N != 0 }

// Sling draws the sling from the front with the loop to take at each of its
// points. The picture's left is the person's right, as for somebody who faces
// them; where the sides differ a heart marks the person's left. A plan that does
// not fit the range gives a *Refusal and no picture.
func Sling(in SlingInput) (Drawing, error) {
	if err := check(in); err != nil {
		return Drawing{}, err
	}
	return drawSling(in), nil
}

func check(in SlingInput) error {
	t, r := in.Transfer, in.Range
	if t.Range != r.Ref || r.Ref == "" {
		return &Refusal{Reason: WrongRange}
	}
	if r.Kind != care.FullBodySling && r.Kind != care.ToiletingSling {
		return &Refusal{Reason: NotDrawn}
	}
	if !slices.Contains(care.Attachments, r.Attachment) {
		return &Refusal{Reason: NotDrawn}
	}
	if err := checkPoints(r); err != nil {
		return err
	}
	seen := map[care.Point]bool{}
	for _, l := range t.Loops {
		if !slices.ContainsFunc(r.Points, func(p care.RangePoint) bool { return p.Point == l.Point }) {
			return &Refusal{Reason: NoSuchPoint, Point: l.Point}
		}
		if seen[l.Point] {
			return &Refusal{Reason: TwiceTold, Point: l.Point}
		}
		seen[l.Point] = true
		of := len(r.Loops(l.Point))
		for _, n := range []int{l.Left, l.Right} {
			if n < 0 || n > of {
				return &Refusal{Reason: NoSuchLoop, Point: l.Point, N: n, Of: of}
			}
		}
	}
	if _, ok := r.Size(t.Size); t.Size != "" && !ok {
		return &Refusal{Reason: NoSuchSize}
	}
	if t.LegStraps != "" && (!slices.Contains(care.LegStrapsAll, t.LegStraps) || !slices.Contains(r.LegStraps, t.LegStraps)) {
		return &Refusal{Reason: NoSuchLegStraps}
	}
	for _, yn := range []care.YesNo{t.Head, r.Head} {
		if yn != "" && !slices.Contains(care.YesNos, yn) {
			return &Refusal{Reason: NotDrawn}
		}
	}
	if t.Arms != "" && !slices.Contains(care.ArmsAll, t.Arms) {
		return &Refusal{Reason: NotDrawn}
	}
	if t.Head == care.Yes && r.Head == care.No {
		return &Refusal{Reason: NoHeadSupport}
	}
	if t.Carers < 0 || t.Carers > mostCarers {
		return &Refusal{Reason: TooMany}
	}
	return nil
}

// checkPoints accepts slings of four or six points: shoulder and leg, with or
// without hip, on either side.
func checkPoints(r care.Range) error {
	has := map[care.Point]bool{}
	for _, p := range r.Points {
		if has[p.Point] {
			return &Refusal{Reason: TwiceTold, Point: p.Point}
		}
		has[p.Point] = true
		switch n := len(p.Loops); {
		case n > MostLoops:
			return &Refusal{Reason: TooMany, Point: p.Point, Of: n}
		case n == 0 && r.Attachment == care.LoopAttachment:
			return &Refusal{Reason: NoLoops, Point: p.Point}
		case n > 0 && r.Attachment == care.ClipAttachment:
			return &Refusal{Reason: NotDrawn, Point: p.Point}
		}
	}
	want := 2
	if has[care.HipPoint] {
		want = 3
	}
	if !has[care.ShoulderPoint] || !has[care.LegPoint] || len(has) != want {
		return &Refusal{Reason: NotDrawn}
	}
	return nil
}

func slingFacts(in SlingInput) []Fact {
	t, r := in.Transfer, in.Range
	var out []Fact
	if in.Stopped {
		out = append(out, Fact{Key: FactStop})
	}
	out = append(out,
		Fact{Key: FactSize, Word: t.Size},
		Fact{Key: FactLabel, Word: strings.TrimSpace(t.Label)},
		Fact{Key: FactCarers, N: t.Carers},
		Fact{Key: FactHead, Word: string(r.Head)},
		Fact{Key: FactHeadNeed, Word: string(t.Head)},
	)
	for _, p := range care.Points {
		loops, ok := loopsAt(r, p)
		if !ok {
			continue
		}
		if r.Attachment == care.ClipAttachment {
			out = append(out, Fact{Key: FactClip, Point: p, Side: care.BothSides})
			continue
		}
		fact := func(side care.Side, n int) Fact {
			f := Fact{Key: FactLoop, Point: p, Side: side, N: n, Of: len(loops)}
			if n > 0 {
				f.Word = loops[n-1].Colour
			}
			return f
		}
		at := t.At(p)
		if at.Left == at.Right {
			out = append(out, fact(care.BothSides, at.Left))
			continue
		}
		out = append(out, Fact{Key: FactDiffer, Point: p}, fact(care.Left, at.Left), fact(care.Right, at.Right))
	}
	return append(out,
		Fact{Key: FactLegStraps, Word: string(t.LegStraps)},
		Fact{Key: FactArms, Word: string(t.Arms)},
	)
}

// loopsAt also tells a point without loops from one the range does not have.
func loopsAt(r care.Range, p care.Point) ([]care.Loop, bool) {
	for _, rp := range r.Points {
		if rp.Point == p {
			return rp.Loops, true
		}
	}
	return nil, false
}
