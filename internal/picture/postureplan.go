package picture

import "samelift/internal/care"

// PostureOf takes the strap lengths a plan's loops have in its range. The caller
// adds the person and the bar. The error is a *Refusal: those of Sling, NotStated
// where the plan leaves a loop open or the range is one with clips, SidesDiffer,
// or BadLength where the range does not give the loop's length.
func PostureOf(t care.Transfer, r care.Range) (PostureInput, error) {
	if err := check(SlingInput{Transfer: t, Range: r}); err != nil {
		return PostureInput{}, err
	}
	var in PostureInput
	for _, p := range r.Points {
		at := t.At(p.Point)
		if at.Left != at.Right {
			return PostureInput{}, &Refusal{Reason: SidesDiffer, Point: p.Point}
		}
		if at.Left == 0 {
			return PostureInput{}, &Refusal{Reason: NotStated, Point: p.Point}
		}
		length := float64(p.Loops[at.Left-1].Length)
		if length <= 0 {
			return PostureInput{}, &Refusal{Reason: BadLength, Point: p.Point, N: at.Left, Of: len(p.Loops)}
		}
		switch p.Point {
		case care.ShoulderPoint:
			in.Shoulder = length
		case care.HipPoint:
			in.Hip = length
		case care.LegPoint:
			in.Leg = length
		}
	}
	return in, nil
}

// Concern is something about a posture that its author should look at again. It is
// a code; locale has the words.
type Concern string

// The concerns.
const (
	// ReclinedForSeat: the person arrives on a seat leaning far back.
	ReclinedForSeat Concern = "reclined_for_seat"
	// UprightForHead: a head that must be supported is held almost upright.
	UprightForHead Concern = "upright_for_head"
	// ForwardOfUpright: the trunk tips forward.
	ForwardOfUpright Concern = "forward_of_upright"
	// BarMeetsHead: the bar comes too near the head, or strikes it.
	BarMeetsHead Concern = "bar_meets_head"
	// SlackStrap: a strap carries nothing, where all should take tension together.
	SlackStrap Concern = "slack_strap"
)

// The thresholds are the project's own choice, no source: no publication was found
// that gives angles. They overlap, so that a supported head and a seat can both be
// served.
const (
	mostBackForSeat  = 45.0 // degrees
	leastBackForHead = 25.0 // degrees
	leastClear       = 50.0 // millimetres
)

// Concerns compares a posture with where the person goes and whether the head must
// be supported. It judges an estimate: none found does not mean that all is well.
func Concerns(h Hang, to care.Place, head care.YesNo) []Concern {
	var out []Concern
	switch to {
	case care.Chair, care.Wheelchair, care.Commode, care.Toilet, care.Car:
		if h.Back > mostBackForSeat {
			out = append(out, ReclinedForSeat)
		}
	}
	if head == care.Yes && h.Back < leastBackForHead {
		out = append(out, UprightForHead)
	}
	if h.Back < 0 {
		out = append(out, ForwardOfUpright)
	}
	if h.Clear < leastClear {
		out = append(out, BarMeetsHead)
	}
	if len(h.Slack) > 0 {
		out = append(out, SlackStrap)
	}
	return out
}
