package rules_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// toilet makes the scene's sling a toileting sling with which all is well.
func (s *scene) toilet() {
	g := s.slingRange()
	g.Kind, g.Head, g.LegStraps = care.ToiletingSling, care.No, []care.LegStraps{care.LegsSeparate, care.LegsEachOwn, care.LegsCrossed, care.LegsUnderBoth}
	s.t.To, s.t.Head, s.t.LegStraps, s.t.Arms = care.Commode, care.No, care.LegsSeparate, care.ArmsOutside
}

func (s *scene) cautions(codes ...care.CautionCode) {
	for _, c := range codes {
		s.plan.Cautions = append(s.plan.Cautions, care.Caution{Code: c})
	}
}

func (s *scene) legs(l care.LegStraps) {
	s.slingRange().LegStraps = care.LegStrapsAll
	s.t.LegStraps = l
}

func (s *scene) loops(shoulder, leg int) {
	s.t.Loops[0].Left, s.t.Loops[0].Right = shoulder, shoulder
	s.t.Loops[1].Left, s.t.Loops[1].Right = leg, leg
}

// The rules' own comments name the sources: handbook 3.3 to 3.5.
func TestSuits(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(*scene)
		want  []string
	}{
		{"the head cannot be held, the sling supports it, the plan says so, and the loops recline", func(s *scene) { s.cautions("poor_head_control"); s.loops(3, 1) }, nil},
		{"the head cannot be held, and the loops sit the person up", func(s *scene) { s.cautions("poor_head_control") }, []string{"caution posture_upright_for_head"}},
		{"the head cannot be held, and the sling has no support for it", func(s *scene) {
			s.cautions("poor_head_control")
			s.loops(3, 1)
			s.t.Head, s.slingRange().Head = care.No, care.No
		}, []string{"stop head_control_no_support"}},
		{"the head cannot be held, and nobody knows of the sling's support", func(s *scene) {
			s.cautions("poor_head_control")
			s.loops(3, 1)
			s.t.Head, s.slingRange().Head = care.No, ""
		}, []string{"stop head_control_no_support"}},
		{"the head cannot be held, and the plan says it need not be", func(s *scene) { s.cautions("poor_head_control"); s.loops(3, 1); s.t.Head = care.No },
			[]string{"caution head_control_plan_says_no"}},
		{"the head cannot be held, and the plan asks for support that the sling lacks: said once", func(s *scene) { s.cautions("poor_head_control"); s.loops(3, 1); s.slingRange().Head = care.No },
			[]string{"stop head_support_missing"}},

		{"the loops recline and the way ends on a chair", func(s *scene) { s.loops(3, 1) }, []string{"caution posture_reclined_for_seat"}},
		{"the chair is tilted back to meet the person", func(s *scene) { s.loops(3, 1); s.t.SeatSetUp = append(s.t.SeatSetUp, "seat_tilted_back") }, nil},
		{"the loops recline and the way ends in bed", func(s *scene) { s.loops(3, 1); s.t.From, s.t.To = care.Chair, care.Bed }, nil},
		{"the same, but the plan holds for the way back to the chair too", func(s *scene) { s.loops(3, 1); s.t.From, s.t.To, s.t.BothWays = care.Chair, care.Bed, true },
			[]string{"caution posture_reclined_for_seat"}},
		{"middle loops are neither", func(s *scene) { s.loops(2, 2) }, nil},

		{"a toileting sling for the commode", func(s *scene) { s.toilet() }, nil},
		{"a toileting sling back from the toilet", func(s *scene) { s.toilet(); s.t.From, s.t.To = care.Toilet, care.Wheelchair }, nil},
		{"a toileting sling for the chair", func(s *scene) { s.toilet(); s.t.To = care.Chair }, []string{"stop toileting_sling_elsewhere", "advice legs_dignity"}},
		{"a toileting sling and a trunk that does not hold", func(s *scene) { s.toilet(); s.cautions("poor_trunk_control") }, []string{"stop toileting_sling_control"}},
		{"a toileting sling and hands that may let go", func(s *scene) { s.toilet(); s.cautions("may_let_go") }, []string{"stop toileting_sling_control"}},
		{"a toileting sling and a weak arm", func(s *scene) {
			s.toilet()
			s.t.Cautions = []care.Caution{{Code: "weakness", Part: care.Arm, Side: care.Left}}
		}, []string{"stop toileting_sling_control"}},
		{"a toileting sling and a weak leg", func(s *scene) { s.toilet(); s.t.Cautions = []care.Caution{{Code: "weakness", Part: care.Leg}} }, nil},
		{"a toileting sling and somebody who may lean", func(s *scene) { s.toilet(); s.cautions("may_lean") }, []string{"caution toileting_sling_doubt"}},
		{"a toileting sling and a head that cannot be held", func(s *scene) { s.toilet(); s.cautions("poor_head_control"); s.loops(2, 2) },
			[]string{"stop head_control_no_support"}},
		{"a full-body sling asks for no control", func(s *scene) { s.cautions("poor_trunk_control", "may_let_go", "may_lean") }, nil},

		{"crossed straps with hip precautions", func(s *scene) { s.cautions("hip_precautions") }, nil},
		{"each strap round its own thigh with hip precautions", func(s *scene) { s.toilet(); s.legs(care.LegsEachOwn); s.cautions("hip_precautions") },
			[]string{"stop legs_hip_precautions"}},
		{"each strap under both thighs with hip precautions: look", func(s *scene) { s.legs(care.LegsUnderBoth); s.cautions("hip_precautions") },
			[]string{"caution legs_hips_look"}},
		{"separate straps and a lost leg", func(s *scene) { s.toilet(); s.cautions("amputation") }, []string{"caution legs_amputation"}},
		{"crossed straps and one lost leg", func(s *scene) {
			s.plan.Cautions = []care.Caution{{Code: "amputation", Part: care.Leg, Side: care.Left}}
		}, nil},
		{"crossed straps and two lost legs", func(s *scene) {
			s.plan.Cautions = []care.Caution{{Code: "amputation", Part: care.Leg, Side: care.BothSides}}
		},
			[]string{"caution legs_amputation"}},
		{"a lost arm changes no leg strap", func(s *scene) {
			s.toilet()
			s.plan.Cautions = []care.Caution{{Code: "amputation", Part: care.Hand}}
		}, nil},
		{"two lost legs and a special sling", func(s *scene) {
			s.slingRange().Kind = care.OtherSling
			s.plan.Cautions = []care.Caution{{Code: "amputation", Part: care.Thigh, Side: care.BothSides}}
		}, nil},
		{"legs held apart on the way to a chair", func(s *scene) { s.legs(care.LegsEachOwn) }, []string{"caution legs_dignity"}},
		{"separate straps on the way to a chair", func(s *scene) { s.legs(care.LegsSeparate) }, []string{"advice legs_dignity"}},
	} {
		t.Run(c.says, func(t *testing.T) {
			s := allWell()
			c.spoil(s)
			got := s.check()
			if !slices.Equal(found(got), c.want) {
				t.Errorf("found %q, want %q", found(got), c.want)
			}
			for _, f := range got {
				wantArgs(t, f)
			}
		})
	}
}

// Handbook 3.5: short at the shoulder and long at the leg sits up; the reverse reclines.
func TestLoopPosture(t *testing.T) {
	long := func(lengths ...int) []care.Loop {
		var out []care.Loop
		for _, l := range lengths {
			out = append(out, care.Loop{Length: l})
		}
		return out
	}
	for _, c := range []struct {
		says                string
		shoulders, legs     []care.Loop
		left, right, ll, lr int
		want                rules.Posture
	}{
		{"shortest at the shoulder, longest at the leg", long(0, 0, 0), long(0, 0, 0), 1, 1, 3, 3, rules.Upright},
		{"longest at the shoulder, shortest at the leg", long(0, 0, 0), long(0, 0, 0), 3, 3, 1, 1, rules.Reclined},
		{"both in the middle", long(0, 0, 0), long(0, 0, 0), 2, 2, 2, 2, rules.Between},
		{"both shortest", long(0, 0, 0), long(0, 0, 0), 1, 1, 1, 1, rules.Between},
		{"the order says upright, and so do the lengths", long(190, 270, 350), long(300, 390, 480, 570), 1, 1, 3, 3, rules.Upright},
		{"a short first step at the shoulder: the lengths say upright where the order says between", long(100, 110, 400), long(300, 310, 320), 2, 2, 2, 2, rules.Upright},
		{"a long first step at the shoulder: the lengths say reclined where the order says between", long(100, 390, 400), long(300, 310, 320), 2, 2, 2, 2, rules.Reclined},
		{"one length is missing, so the order is taken", long(100, 390, 400), long(300, 0, 320), 2, 2, 2, 2, rules.Between},
		{"the sides do not agree", long(0, 0, 0), long(0, 0, 0), 1, 3, 2, 2, ""},
		{"the sides differ and agree", long(0, 0, 0, 0), long(0, 0, 0, 0), 1, 2, 4, 4, rules.Upright},
		{"the leg is not stated", long(0, 0, 0), long(0, 0, 0), 1, 1, 0, 0, ""},
		{"a strap with one loop tells nothing", long(0), long(0, 0, 0), 1, 1, 3, 3, ""},
		{"clips have no loops", nil, nil, 0, 0, 0, 0, ""},
	} {
		g := care.Range{Points: []care.RangePoint{{Point: care.ShoulderPoint, Loops: c.shoulders}, {Point: care.LegPoint, Loops: c.legs}}}
		tr := care.Transfer{Loops: []care.PointLoops{{Point: care.ShoulderPoint, Left: c.left, Right: c.right}, {Point: care.LegPoint, Left: c.ll, Right: c.lr}}}
		if got := rules.LoopPosture(g, tr); got != c.want {
			t.Errorf("%s: got %q, want %q", c.says, got, c.want)
		}
	}
}

// A longer loop at the leg or a shorter one at the shoulder never reclines more.
func TestLongerAtTheLegNeverReclines(t *testing.T) {
	order := []rules.Posture{rules.Reclined, rules.Between, rules.Upright}
	rapid.Check(t, func(t *rapid.T) {
		loops := func(what string) []care.Loop {
			out := make([]care.Loop, rapid.IntRange(2, 6).Draw(t, what))
			at, with := 100, rapid.Bool().Draw(t, what+" lengths")
			for i := range out {
				at += rapid.IntRange(1, 200).Draw(t, "step")
				if with {
					out[i].Length = at
				}
			}
			return out
		}
		g := care.Range{Points: []care.RangePoint{{Point: care.ShoulderPoint, Loops: loops("shoulder")}, {Point: care.LegPoint, Loops: loops("leg")}}}
		s := rapid.IntRange(1, len(g.Points[0].Loops)).Draw(t, "s")
		l := rapid.IntRange(1, len(g.Points[1].Loops)).Draw(t, "l")
		at := func(s, l int) int {
			return slices.Index(order, rules.LoopPosture(g, care.Transfer{Loops: []care.PointLoops{{Point: care.ShoulderPoint, Left: s, Right: s}, {Point: care.LegPoint, Left: l, Right: l}}}))
		}
		here := at(s, l)
		if s > 1 && at(s-1, l) < here || l < len(g.Points[1].Loops) && at(s, l+1) < here {
			t.Fatalf("shoulder %d, leg %d: sitting up more was judged as reclining more", s, l)
		}
	})
}

// One more caution about the person never makes the sling or its straps suit better. Of
// the posture the head is the exception: whoever cannot hold it is wanted leaning back.
func TestMoreCautionsNeverSuitBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := allWell()
		g := s.slingRange()
		g.Kind = rapid.SampledFrom(care.SlingKinds).Draw(t, "kind")
		g.Head = rapid.SampledFrom([]care.YesNo{"", care.Yes, care.No}).Draw(t, "support")
		s.t.Head = rapid.SampledFrom([]care.YesNo{"", care.Yes, care.No}).Draw(t, "planned")
		s.t.To = rapid.SampledFrom(care.Places).Draw(t, "to")
		s.t.LegStraps = rapid.SampledFrom(care.LegStrapsAll).Draw(t, "legs")
		var cautions []care.Caution
		judge := func() rules.Severity {
			all := append(rules.HeadControl(*g, cautions, s.t), rules.Toileting(*g, cautions, s.t)...)
			return rules.Worst(append(all, rules.LegsAgainst(*g, cautions, s.t)...))
		}
		for range 3 {
			before := judge()
			cautions = append(cautions, care.Caution{
				Code: rapid.SampledFrom(care.CautionCodes).Draw(t, "caution"),
				Part: rapid.SampledFrom(care.BodyParts).Draw(t, "part"),
				Side: rapid.SampledFrom(care.Sides).Draw(t, "side"),
			})
			if after := judge(); after < before {
				t.Fatalf("%v: %s became %s", cautions, before, after)
			}
		}
	})
}
