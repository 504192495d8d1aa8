package picture

import "samelift/internal/care"

// Reason says why no picture was made. It is a code; locale has the words.
type Reason string

// The reasons.
const (
	// WrongRange: the transfer names another range than the one given.
	WrongRange Reason = "wrong_range"
	// NoSuchPoint: the plan speaks of a point the range does not have.
	NoSuchPoint Reason = "no_such_point"
	// NoSuchLoop: the plan counts further than the range has loops, or below one.
	NoSuchLoop Reason = "no_such_loop"
	// NoSuchSize: the range does not come in the plan's size.
	NoSuchSize Reason = "no_such_size"
	// NoSuchLegStraps: the plan leads the leg straps as the range does not allow,
	// or in a way this package does not know.
	NoSuchLegStraps Reason = "no_such_leg_straps"
	// NoHeadSupport: the plan wants the head supported and the range says it does not.
	NoHeadSupport Reason = "no_head_support"
	// TwiceTold: plan or range has two entries for one point.
	TwiceTold Reason = "twice_told"
	// NoLoops: a loop range has a point without loops.
	NoLoops Reason = "no_loops"
	// TooMany: more loops or carers than can be drawn and counted.
	TooMany Reason = "too_many"
	// NotDrawn: a kind of sling, of attachment or a set of points this package has
	// no drawing for.
	NotDrawn Reason = "not_drawn"
	// BadLength: a length, offset or stature that is no number or beyond all measure.
	BadLength Reason = "bad_length"
	// BadAngle: an angle at the hip outside 30 to 170 degrees.
	BadAngle Reason = "bad_angle"
	// NoRest: the straps reach, and hold the person in no sitting or lying position.
	NoRest Reason = "no_rest"
	// NoReach: the straps are too short to meet the body all at once.
	NoReach Reason = "no_reach"
	// NotStated: the plan does not state what the picture is all about.
	NotStated Reason = "not_stated"
	// SidesDiffer: left and right differ, which a side view cannot show.
	SidesDiffer Reason = "sides_differ"
	// NoData: a chart without anything to show.
	NoData Reason = "no_data"
	// BadData: a chart's dates or values out of order or beyond all measure.
	BadData Reason = "bad_data"
)

// Refusal is the error for a picture that would not be true. It names no person.
type Refusal struct {
	Reason Reason
	// Point is the point it is about, if any.
	Point care.Point
	// N and Of are the loop named and the loops there are, where it is about a loop.
	N, Of int
}

// Error is for a log: the code and the point.
func (r *Refusal) Error() string {
	if r.Point != "" {
		return "no picture: " + string(r.Reason) + " at " + string(r.Point)
	}
	return "no picture: " + string(r.Reason)
}
