package rules

import (
	"slices"

	"samelift/internal/care"
)

// SegmentTable is one published table of what parts of the body weigh, in hundredths of
// a percent of the body mass.
type SegmentTable struct {
	// Name is the authors and the year, which are the same in every language.
	Name           string
	Leg, Arm, Head int64
}

// SegmentTables are the tables of handbook 6.2 and 6.3. Whole limbs of de Leva and
// Plagenhoef are sums of their parts. AORN's arm and head are from memory, and
// reproduce the tool's printed bounds. Winter's and Plagenhoef's heads include the neck.
var SegmentTables = []SegmentTable{
	{"AORN Tool 3", 1570, 510, 840},
	{"Dempster/Winter", 1610, 500, 810},
	{"de Leva 1996 (m)", 1986, 494, 694},
	{"de Leva 1996 (f)", 2088, 449, 668},
	{"Plagenhoef 1983 (m)", 1668, 577, 896},
	{"Plagenhoef 1983 (f)", 1843, 497, 820},
}

func (s SegmentTable) share(part care.BodyPart) int64 {
	switch part {
	case care.Leg:
		return s.Leg
	case care.Arm:
		return s.Arm
	case care.Head:
		return s.Head
	}
	return 0
}

// Weighs gives what a leg, an arm or the head weighs by this table, in whole grams
// rounded up; zero for any other part.
func (s SegmentTable) Weighs(part care.BodyPart, body care.Mass) care.Mass {
	return (body*care.Mass(s.share(part)) + 9999) / 10000
}

// Heaviest gives the table by which the part weighs most. Nobody's doubt between tables
// makes a limb lighter.
func Heaviest(part care.BodyPart) SegmentTable {
	return slices.MaxFunc(SegmentTables, func(a, b SegmentTable) int { return int(a.share(part) - b.share(part)) })
}

// Lightest gives the table by which the part weighs least.
func Lightest(part care.BodyPart) SegmentTable {
	return slices.MinFunc(SegmentTables, func(a, b SegmentTable) int { return int(a.share(part) - b.share(part)) })
}

// What hands may lift, ideal conditions, a person who cooperates.
const (
	// OneHand and TwoHands: Waters et al, AORN J 2011;93(5), for up to two minutes.
	OneHand  care.Mass = 5_030
	TwoHands care.Mass = 10_100
	// OneCarer is 35 lb: Waters, AJN 2007;107(8):53-58. Rounded down to the gram.
	OneCarer care.Mass = 15_875
)

// Grip is what it takes to lift a part by hand.
type Grip string

// The grips, each more than the one before.
const (
	GripOneHand   Grip = "one_hand"
	GripTwoHands  Grip = "two_hands"
	GripTwoCarers Grip = "two_carers"
	GripDevice    Grip = "device"
)

// GripFor gives what it takes to lift a mass by hand; exactly at a limit is allowed.
func GripFor(m care.Mass) Grip {
	switch {
	case m <= OneHand:
		return GripOneHand
	case m <= TwoHands:
		return GripTwoHands
	case m <= 2*TwoHands:
		return GripTwoCarers
	}
	return GripDevice
}

// liftedBy says which part a step lifts or holds by hand.
var liftedBy = map[care.StepCode]care.BodyPart{"place_leg_straps": care.Leg, "guide_legs": care.Leg}

// Hands finds steps that lift or hold a limb by hand, and what that takes by the
// heaviest of the tables, which is named. It is advice, and a caution where the plan has
// one carer for what takes two, or where the limb is more than one carer may lift by the
// lightest table too. For a person who may move suddenly no limit applies.
// Sources: Waters, AJN 2007; AORN Ergonomic Tool 3; de Leva, J Biomech 1996.
func Hands(client care.Client, plan care.Plan, t care.Transfer) []Finding {
	if client.Mass == 0 {
		return nil // said by Load
	}
	var out []Finding
	for _, part := range []care.BodyPart{care.Leg, care.Arm, care.Head} {
		if !slices.ContainsFunc(t.Steps, func(s care.Step) bool { return liftedBy[s.Code] == part }) {
			continue
		}
		table := Heaviest(part)
		m := table.Weighs(part, client.Mass)
		args := map[string]any{"limb": string(part), "mass": m, "table": table.Name}
		if light := Lightest(part); light.Weighs(part, client.Mass) > OneCarer {
			out = append(out, Finding{"hands_over_one_carer", Caution, args, sourceWaters})
		} else if grip := GripFor(m); grip != GripOneHand {
			severity := Advice
			if t.Carers == 1 && grip != GripTwoHands {
				severity = Caution // planned for fewer hands than it takes
			}
			out = append(out, Finding{"hands_" + string(grip), severity, args, sourceHands})
		}
	}
	if cautions := cautionsOf(plan, t); len(out) > 0 && coded(cautions, "may_grab", "spasm", "seizures", "may_let_go") {
		out = append(out, Finding{"hands_not_applicable", Advice, nil, sourceWaters})
	}
	return out
}
