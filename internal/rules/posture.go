package rules

import (
	"slices"

	"samelift/internal/care"
)

// Posture is how the loops of a transfer set the person in the sling.
type Posture string

// The postures. Between is neither clearly; where it cannot be told it is empty.
const (
	Upright  Posture = "upright"
	Between  Posture = "between"
	Reclined Posture = "reclined"
)

// clearly is the share of the way from the middle to the end of what a range can do
// from which a posture counts as upright or reclined: one third. Common practice, no
// source: no publication was found that gives a figure.
const clearly = 3

// LoopPosture tells from shoulder and leg loops how the person is set: short at the
// shoulder and long at the leg sits up, the reverse reclines. It goes by the strap
// lengths where the range states those of all loops of both points, and otherwise by
// the places in the order. It is empty where a loop is not stated, a point has one
// loop only, or the two sides do not agree.
// Sources: HSE, HSIS3, that loops make more reclined or upright; which way: a lift
// maker's article for sitting up, the reverse common practice, no source (handbook 3.5).
func LoopPosture(g care.Range, t care.Transfer) Posture {
	shoulder, leg := t.At(care.ShoulderPoint), t.At(care.LegPoint)
	left := lean(g, shoulder.Left, leg.Left)
	if left != lean(g, shoulder.Right, leg.Right) {
		return ""
	}
	return left
}

// lean judges one side.
func lean(g care.Range, shoulder, leg int) Posture {
	s, l := g.Loops(care.ShoulderPoint), g.Loops(care.LegPoint)
	if shoulder < 1 || leg < 1 || shoulder > len(s) || leg > len(l) || len(s) < 2 || len(l) < 2 {
		return ""
	}
	// Twice the way from the middle, of twice the half of the whole way; all whole numbers.
	var off, half int
	if measured(s) && measured(l) {
		most := l[len(l)-1].Length - s[0].Length
		least := l[0].Length - s[len(s)-1].Length
		off, half = 2*(l[leg-1].Length-s[shoulder-1].Length)-(most+least), most-least
	} else {
		off, half = (leg-1)*(len(s)-1)-(shoulder-1)*(len(l)-1), (len(s)-1)*(len(l)-1)
	}
	switch {
	case off*clearly >= half:
		return Upright
	case -off*clearly >= half:
		return Reclined
	}
	return Between
}

func measured(loops []care.Loop) bool {
	return !slices.ContainsFunc(loops, func(l care.Loop) bool { return l.Length <= 0 })
}

// upright are the places on which a person usually sits up. Common practice, no source.
var upright = []care.Place{care.Chair, care.Wheelchair, care.Commode, care.Toilet, care.Car}

// Sits finds loops that set the person otherwise than where the transfer ends or the
// person's head would want it. It is a question to the assessor's eye: the plan's loops
// stand until somebody with a name changes them.
func Sits(g care.Range, cautions []care.Caution, t care.Transfer) []Finding {
	poorHead := coded(cautions, "poor_head_control")
	switch LoopPosture(g, t) {
	case Upright:
		if poorHead {
			return []Finding{{"posture_upright_for_head", Caution, nil, sourcePosture}}
		}
	case Reclined:
		seated := slices.Contains(upright, t.To) || t.BothWays && slices.Contains(upright, t.From)
		// A seat that is tilted back meets somebody who comes leaning back.
		if seated && !poorHead && !slices.Contains(t.SeatSetUp, "seat_tilted_back") {
			return []Finding{{"posture_reclined_for_seat", Caution, nil, sourcePosture}}
		}
	}
	return nil
}

// coded reports whether one of the codes is among the cautions.
func coded(cautions []care.Caution, codes ...care.CautionCode) bool {
	return slices.ContainsFunc(cautions, func(c care.Caution) bool { return slices.Contains(codes, c.Code) })
}

// cautionsOf gives what holds for one transfer: the plan's cautions and its own.
func cautionsOf(plan care.Plan, t care.Transfer) []care.Caution {
	return append(slices.Clone(plan.Cautions), t.Cautions...)
}
