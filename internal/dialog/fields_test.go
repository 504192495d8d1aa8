package dialog

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"samelift/internal/care"
)

var fieldSite = &care.Site{
	Ranges: []care.Range{
		{Ref: "four", Name: "Four", Kind: care.FullBodySling, Attachment: care.LoopAttachment, Points: []care.RangePoint{
			{Point: care.ShoulderPoint, Loops: []care.Loop{{Colour: "teal"}, {Colour: "grey"}, {}}},
			{Point: care.LegPoint, Loops: []care.Loop{{Colour: "dark ochre"}}},
		}},
		{Ref: "clip", Name: "Clip", Attachment: care.ClipAttachment, Points: []care.RangePoint{{Point: care.ShoulderPoint}, {Point: care.LegPoint}}},
	},
	Hoists: []care.Hoist{{Label: "H-01", Kind: care.MobileHoist}, {Label: "H-03", Kind: care.CeilingHoist}},
}

// keys are the keys of lines, for a table to compare.
func keys(lines []Line) string {
	var out []string
	for _, l := range lines {
		k := l.Key
		if !l.Own.IsZero() {
			k = "own"
		}
		if f, ok := l.Args["Field"].(Term); ok {
			k += "(" + string(f) + ")"
		}
		out = append(out, k)
	}
	return strings.Join(out, " ")
}

func viewOf(t care.Transfer) view {
	return view{f: Facts{Site: fieldSite}, t: t, from: t.From, to: t.To}
}

// A plan that says nothing has every field say so: silence never looks like an answer,
// and a field that is not shown could be taken for one that does not matter.
func TestSilentPlanSaysSo(t *testing.T) {
	for _, name := range []string{"sling", "spare", "hoist", "loops", "legs", "arms", "carers", "head", "brakes", "bed", "seat", "stays", "cautions", "steps"} {
		have := keys(fieldLines(viewOf(care.Transfer{From: care.Bed, To: care.Chair}), name))
		if !strings.Contains(have, "not_stated") && !strings.HasSuffix(have, ".none") {
			t.Errorf("a plan that says nothing shows for %s: %q", name, have)
		}
	}
}

// A point that the sling has and the plan does not speak of is shown as not stated, and
// so are loops of which nothing is known at all.
func TestLoopLines(t *testing.T) {
	loops := func(ref string, all ...care.PointLoops) care.Transfer { return care.Transfer{Range: ref, Loops: all} }
	for _, c := range []struct {
		says string
		t    care.Transfer
		want string
	}{
		{"both stated", loops("four", care.PointLoops{Point: care.ShoulderPoint, Left: 1, Right: 1}, care.PointLoops{Point: care.LegPoint, Left: 1, Right: 1}), "loop.shortest loop.only"},
		{"the leg not stated", loops("four", care.PointLoops{Point: care.ShoulderPoint, Left: 2, Right: 2}), "loop.nth loop.not_stated"},
		{"the longest has no colour", loops("four", care.PointLoops{Point: care.ShoulderPoint, Left: 3, Right: 3}), "loop.longest.plain loop.not_stated"},
		{"left and right differ", loops("four", care.PointLoops{Point: care.ShoulderPoint, Left: 1, Right: 2, Reason: care.Text{Words: "w"}, Assessor: "M"}), "loop.shortest loop.nth loops.differ own loops.assessor loop.not_stated"},
		{"one side not stated", loops("four", care.PointLoops{Point: care.ShoulderPoint, Left: 1}), "loop.shortest loop.not_stated loops.differ loop.not_stated"},
		{"more than the strap has", loops("four", care.PointLoops{Point: care.ShoulderPoint, Left: 4, Right: 4}), "loop.number loop.not_stated"},
		{"a point the sling lacks", loops("four", care.PointLoops{Point: care.HipPoint, Left: 1, Right: 1}), "loop.not_stated loop.number loop.not_stated"},
		{"a sling that is not known", loops("", care.PointLoops{Point: care.LegPoint, Left: 2, Right: 2}), "loop.number"},
		{"an entry that says nothing", loops("", care.PointLoops{Point: care.LegPoint}), "not_stated(field.loops)"},
		{"clips", care.Transfer{Range: "clip"}, "loops.clips"},
		{"nothing", care.Transfer{}, "not_stated(field.loops)"},
	} {
		if have := keys(loopLines(viewOf(c.t))); have != c.want {
			t.Errorf("%s: %s, want %s", c.says, have, c.want)
		}
	}
}

// Of a sling that is half described, the missing halves are named.
func TestSlingLines(t *testing.T) {
	for _, c := range []struct {
		says string
		t    care.Transfer
		want string
	}{
		{"all of it", care.Transfer{Range: "four", Size: "Middle", Label: "S-014"}, "sling.full"},
		{"no label", care.Transfer{Range: "four", Size: "Middle"}, "sling.named sling.size not_stated(field.sling_label)"},
		{"no size", care.Transfer{Range: "four", Label: "S-014"}, "sling.named not_stated(field.size) sling.label"},
		{"a label alone", care.Transfer{Label: "S-014"}, "not_stated(field.sling) not_stated(field.size) sling.label"},
		{"a range that is not known", care.Transfer{Range: "gone", Size: "M", Label: "S-014"}, "sling.named sling.size sling.label"},
	} {
		if have := keys(slingLines(viewOf(c.t))); have != c.want {
			t.Errorf("%s: %s, want %s", c.says, have, c.want)
		}
	}
}

// Whatever the short card or a topic names is a field, and no field is named twice.
func TestFieldsAreKnown(t *testing.T) {
	var names []string
	for _, f := range fields {
		if slices.Contains(names, f.name) {
			t.Errorf("there are two fields %s", f.name)
		}
		names = append(names, f.name)
	}
	asked := slices.Clone(short)
	for _, f := range topicFields {
		asked = append(asked, f...)
	}
	for _, name := range asked {
		if !slices.Contains(names, name) {
			t.Errorf("%s is asked for and is no field", name)
		}
	}
}

// The brakes of a hoist on a rail are no question; of any other they are.
func TestBrakeLines(t *testing.T) {
	for _, c := range []struct {
		hoist  string
		brakes care.Brakes
		want   string
	}{
		{"H-01", "", "brakes.not_stated"}, {"H-01", care.BrakesOff, "brakes.off"}, {"H-03", "", ""}, {"H-03", care.BrakesOn, "brakes.on"}, {"", "", "brakes.not_stated"}, {"H-99", "", "brakes.not_stated"},
	} {
		if have := keys(brakeLines(viewOf(care.Transfer{Hoist: c.hoist, HoistBrakes: c.brakes}))); have != c.want {
			t.Errorf("hoist %q with brakes %q: %q, want %q", c.hoist, c.brakes, have, c.want)
		}
	}
}

// Cautions of the plan and of the transfer are all shown, with side and part, and the
// author's own words with them.
func TestCautionLines(t *testing.T) {
	v := viewOf(care.Transfer{Cautions: []care.Caution{{Code: "no_pulling", Side: care.Left, Part: care.Arm}, {Code: "other", Text: care.Text{Words: "w"}}}})
	v.plan.Cautions = []care.Caution{{Code: "spasm"}, {Code: "weakness", Side: care.Left}, {Code: "pain", Part: care.Knee, Text: care.Text{Words: "w"}}}
	if have := keys(cautionLines(v)); have != "cautions.title bullet caution.side caution.part own caution.part.side own" {
		t.Errorf("the cautions are %s", have)
	}
	if l := cautionLines(v)[5]; !reflect.DeepEqual(l.Args, Args{"Caution": Term("caution.no_pulling"), "Part": Term("part.arm"), "Side": Term("side.person.left")}) {
		t.Errorf("the side is said as %v", l.Args)
	}
}
