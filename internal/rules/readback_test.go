package rules_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// The site of these tests: a range with three loops at the shoulder and four at the
// leg, another with two, and a handful of slings.
func backSite() *care.Site {
	loops := func(n int) []care.Loop { return make([]care.Loop, n) }
	return &care.Site{
		Ranges: []care.Range{
			{Ref: "harbour", Points: []care.RangePoint{{Point: care.ShoulderPoint, Loops: loops(3)}, {Point: care.LegPoint, Loops: loops(4)}},
				LegStraps: []care.LegStraps{care.LegsCrossed, care.LegsSeparate}},
			{Ref: "meadow", Points: []care.RangePoint{{Point: care.ShoulderPoint, Loops: loops(1)}, {Point: care.LegPoint, Loops: loops(2)}},
				LegStraps: []care.LegStraps{care.LegsEachOwn}},
		},
		Slings: []care.Sling{{Label: "S-1", Range: "harbour"}, {Label: "S-2", Range: "meadow"}, {Label: "S-3", Range: "harbour"}, {Label: "S-4", Range: "meadow"}},
	}
}

func backTransfer() care.Transfer {
	return care.Transfer{From: care.Bed, To: care.Chair, Range: "harbour", Label: "S-1", LegStraps: care.LegsCrossed, Carers: 2,
		Loops: []care.PointLoops{{Point: care.ShoulderPoint, Left: 1, Right: 1}, {Point: care.LegPoint, Left: 3, Right: 3}}}
}

// What somebody is asked who has read a change. That a read-back is asked at all: WHO
// Patient Safety Solutions, vol 1 sol 3 (2007); which facts: common practice, no source.
func TestReadBack(t *testing.T) {
	for _, row := range []struct {
		says   string
		change func(*care.Transfer)
		want   string // about, point, side, options, right
	}{
		{"nothing that matters changed: nothing is asked", func(t *care.Transfer) { t.Arms = care.ArmsInside }, ""},
		{"another loop at the leg: which of its four", func(t *care.Transfer) { t.Loops[1].Left, t.Loops[1].Right = 4, 4 }, "loops leg both 1,2,3,4 4"},
		{"another loop at the shoulder comes first, from the head down", func(t *care.Transfer) {
			t.Loops[0].Left, t.Loops[0].Right = 2, 2
			t.Loops[1].Left, t.Loops[1].Right = 4, 4
		}, "loops shoulder both 1,2,3 2"},
		{"only the right leg changed: the right one is asked about", func(t *care.Transfer) { t.Loops[1].Right = 4 }, "loops leg right 1,2,3,4 4"},
		{"only the left leg changed: the left one", func(t *care.Transfer) { t.Loops[1].Left = 2 }, "loops leg left 1,2,3,4 2"},
		{"the loops are no longer stated: there is no right answer to choose", func(t *care.Transfer) { t.Loops = nil }, ""},
		{"another sling of the same range", func(t *care.Transfer) { t.Label = "S-3" }, "sling   S-1,S-2,S-3 S-3"},
		{"another range: first which sling, since its loops mean nothing before", func(t *care.Transfer) {
			t.Range, t.Label = "meadow", "S-2"
			t.Loops = []care.PointLoops{{Point: care.LegPoint, Left: 2, Right: 2}}
		}, "sling   S-1,S-2,S-4 S-2"},
		{"loops and carers changed: loops are asked about", func(t *care.Transfer) { t.Carers, t.Loops[1].Left, t.Loops[1].Right = 3, 4, 4 }, "loops leg both 1,2,3,4 4"},
		{"leg straps: those of the range and the old one", func(t *care.Transfer) { t.LegStraps = care.LegsUnderBoth }, "legs   crossed,separate,under_both under_both"},
		{"one carer more", func(t *care.Transfer) { t.Carers = 3 }, "carers   1,2,3 3"},
		{"five carers", func(t *care.Transfer) { t.Carers = 5 }, "carers   1,2,3,4,5 5"},
		{"the number of carers is no longer stated", func(t *care.Transfer) { t.Carers = 0 }, ""},
	} {
		t.Run(row.says, func(t *testing.T) {
			after := backTransfer()
			row.change(&after)
			q, ok := rules.Reads(backSite(), care.Plan{Transfers: []care.Transfer{backTransfer()}}, care.Plan{Transfers: []care.Transfer{after}})
			got := ""
			if ok {
				got = strings.Join([]string{string(q.About), string(q.Point), string(q.Side), strings.Join(q.Options, ","), q.Right}, " ")
			}
			if got != row.want {
				t.Errorf("asked %q, want %q", got, row.want)
			}
		})
	}
	first, ok := rules.Reads(backSite(), care.Plan{}, care.Plan{Transfers: []care.Transfer{backTransfer()}})
	if !ok || first.About != rules.BackLoops || first.Right != "1" {
		t.Errorf("a first plan asks %+v, %v; want its shoulder loop", first, ok)
	}
}

// A question has its right answer among at least two, each once, in an order that does
// not depend on which is right.
func TestReadBackIsFair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) care.Plan {
			tr := backTransfer()
			tr.Range = rapid.SampledFrom([]string{"harbour", "meadow", "none"}).Draw(t, name+" range")
			tr.Label = rapid.SampledFrom([]string{"", "S-1", "S-2", "S-3", "S-4", "S-9"}).Draw(t, name+" label")
			tr.LegStraps = rapid.SampledFrom(append([]care.LegStraps{""}, care.LegStrapsAll...)).Draw(t, name+" legs")
			tr.Carers = rapid.IntRange(0, 6).Draw(t, name+" carers")
			for i := range tr.Loops {
				tr.Loops[i].Left, tr.Loops[i].Right = rapid.IntRange(0, 5).Draw(t, name+" left"), rapid.IntRange(0, 5).Draw(t, name+" right")
			}
			return care.Plan{Transfers: []care.Transfer{tr}}
		}
		before, after := draw("before"), draw("after")
		q, ok := rules.Reads(backSite(), before, after)
		if !ok {
			return
		}
		if len(q.Options) < 2 || !slices.Contains(q.Options, q.Right) {
			t.Fatalf("%+v: no choice, or no right one", q)
		}
		if sorted := slices.Compact(slices.Sorted(slices.Values(q.Options))); len(sorted) != len(q.Options) {
			t.Fatalf("%v: an answer twice", q.Options)
		}
		if q.About == rules.BackLoops || q.About == rules.BackCarers {
			if !slices.IsSorted(q.Options) {
				t.Fatalf("%v is not in order", q.Options)
			}
		}
	})
}
