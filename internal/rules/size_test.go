package rules_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

func masses(from, to string) care.Span[care.Mass] {
	s := care.Span[care.Mass]{}
	if from != "" {
		s.From = kg(from)
	}
	if to != "" {
		s.To = kg(to)
	}
	return s
}

// table gives the range a size table. The figures are invented.
func (s *scene) table() {
	limit := kg("160")
	s.slingRange().Sizes = []care.Size{
		{Name: "Narrow", Limit: limit, Mass: masses("", "55"), Back: care.Span[int]{From: 480, To: 559}},
		{Name: "Middle", Limit: limit, Mass: masses("50", "75"), Back: care.Span[int]{From: 560, To: 640}, Hips: care.Span[int]{To: 1100}},
		{Name: "Wide", Limit: limit, Mass: masses("80", "")},
	}
	s.client.BackLength, s.client.Hips = 600, 1000
}

func TestSized(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(*scene)
		want  []string
		args  map[string]any
	}{
		{"63.5 kg is within Middle alone", func(s *scene) {}, nil, nil},
		{"exactly at the end of the span", func(s *scene) { s.client.Mass = kg("75") }, nil, nil},
		{"52 kg is within Narrow and Middle: both are named", func(s *scene) { s.client.Mass = kg("52") }, []string{"caution size_between"},
			map[string]any{"smaller": "Narrow", "larger": "Middle", "size": "Middle", "measure": "mass"}},
		{"77 kg is in the gap between Middle and Wide: both are named", func(s *scene) { s.client.Mass = kg("77") }, []string{"caution size_between"},
			map[string]any{"smaller": "Middle", "larger": "Wide"}},
		{"77 kg, and the plan says Narrow: still both are named, and neither is the plan's", func(s *scene) { s.client.Mass, s.t.Size, s.client.BackLength = kg("77"), "Narrow", 500 }, []string{"caution size_between"},
			map[string]any{"smaller": "Middle", "larger": "Wide", "size": "Narrow"}},
		{"90 kg belongs to Wide", func(s *scene) { s.client.Mass = kg("90") }, []string{"caution size_other"}, map[string]any{"fits": "Wide"}},
		{"a back of 500 mm belongs to Narrow", func(s *scene) { s.client.BackLength = 500 }, []string{"caution size_other"}, map[string]any{"fits": "Narrow", "measure": "back"}},
		{"a back of 700 mm belongs to none", func(s *scene) { s.client.BackLength = 700 }, []string{"caution size_none"}, map[string]any{"measure": "back"}},
		{"hips of 1101 mm belong to none", func(s *scene) { s.client.Hips = 1101 }, []string{"caution size_none"}, map[string]any{"measure": "hips"}},
		{"the hips were not measured", func(s *scene) { s.client.Hips = 0 }, []string{"advice size_not_measured"}, map[string]any{"measure": "hips"}},
		{"the table is silent about the planned size", func(s *scene) { s.slingRange().Sizes[1].Mass = care.Span[care.Mass]{}; s.client.Mass = kg("90") }, nil, nil},
		{"the person was never weighed: said by the load", func(s *scene) { s.client.Mass = 0 }, nil, nil},
		// Source: Disabled Living Foundation 2006: the right size as weight goes up or down.
		{"within Middle when the plan began, 90 kg now", func(s *scene) {
			s.client.Mass = kg("90")
			s.client.Weighings = []care.Weighing{{On: today.AddDays(-40), Mass: kg("70")}}
		}, []string{"caution size_other", "caution size_border_crossed"}, nil},
		{"the earlier weighing is from after the plan began, so it says nothing", func(s *scene) {
			s.client.Mass = kg("90")
			s.client.Weighings = []care.Weighing{{On: today.AddDays(-15), Mass: kg("70")}}
		}, []string{"caution size_other"}, nil},
		{"outside when the plan began already", func(s *scene) {
			s.client.Mass = kg("90")
			s.client.Weighings = []care.Weighing{{On: today.AddDays(-40), Mass: kg("88")}}
		}, []string{"caution size_other"}, nil},
	} {
		t.Run(c.says, func(t *testing.T) {
			s := allWell()
			s.table()
			c.spoil(s)
			got := rules.Sized(s.site, s.client, s.plan, s.t)
			if !slices.Equal(found(got), c.want) {
				t.Fatalf("found %q, want %q", found(got), c.want)
			}
			for k, v := range c.args {
				if got[0].Args[k] != v {
					t.Errorf("%s is %v, want %v", k, got[0].Args[k], v)
				}
			}
			for _, f := range got {
				wantArgs(t, f)
			}
		})
	}
}

// Once a person has grown past the planned size, growing further is never judged milder,
// and shrinking further neither.
func TestSizedNeverFallsFurtherOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := allWell()
		s.table()
		worst := func(m care.Mass) rules.Severity {
			s.client.Mass = m
			return rules.Worst(rules.Sized(s.site, s.client, s.plan, s.t))
		}
		up := kg("75") + care.Mass(rapid.Int64Range(0, 100_000).Draw(t, "above"))
		down := kg("50") - care.Mass(rapid.Int64Range(0, 49_000).Draw(t, "below"))
		more := care.Mass(rapid.Int64Range(0, 900).Draw(t, "further"))
		if worst(up+more) < worst(up) || worst(down-more) < worst(down) {
			t.Fatalf("further from the size and judged milder: %d, %d, %d", up, down, more)
		}
	})
}
