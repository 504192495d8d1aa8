package rules_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// Handbook 9.3, worked: MUST, BAPEN, as on the RCN crib card. 62 to 55.8 kg is exactly
// ten percent, which floating point takes for more.
func TestLossScore(t *testing.T) {
	for _, c := range []struct {
		before, now    string
		percent, score int
	}{
		{"80", "76.5", 4, 0}, {"80", "76", 5, 1}, {"80", "72", 10, 1}, {"80", "71.9", 10, 2},
		{"62", "58.9", 5, 1}, {"62", "55.8", 10, 1}, {"62", "55.799", 10, 2},
		{"80", "80", 0, 0}, {"80", "90", 0, 0},
	} {
		change := rules.WeightChange{Before: care.Weighing{Mass: kg(c.before)}, Now: care.Weighing{Mass: kg(c.now)}}
		if got := rules.LossScore(kg(c.before), kg(c.now)); got != c.score || change.Percent() != c.percent {
			t.Errorf("%s to %s kg: %d %%, score %d; want %d %%, score %d", c.before, c.now, change.Percent(), got, c.percent, c.score)
		}
	}
}

func TestWeights(t *testing.T) {
	weighed := day("2026-10-31")
	for _, c := range []struct {
		says     string
		mass     string
		earlier  []care.Weighing
		want     []string
		months   int
		fromMass string
	}{
		{"no earlier weighing", "76", nil, nil, 0, ""},
		{"5 % within three months", "76", []care.Weighing{{On: day("2026-08-20"), Mass: kg("80")}}, []string{"advice weight_loss"}, 3, "80"},
		{"the same within six months", "76", []care.Weighing{{On: day("2026-05-20"), Mass: kg("80")}}, []string{"advice weight_loss"}, 6, "80"},
		{"six months to the day still counts: the end of April", "76", []care.Weighing{{On: day("2026-04-30"), Mass: kg("80")}}, []string{"advice weight_loss"}, 6, "80"},
		{"a day more does not", "76", []care.Weighing{{On: day("2026-04-29"), Mass: kg("80")}}, nil, 0, ""},
		{"4 % in three months and over 10 % in six", "71.9", []care.Weighing{{On: day("2026-05-20"), Mass: kg("80")}, {On: day("2026-09-20"), Mass: kg("74")}},
			[]string{"caution weight_loss_much"}, 6, "80"},
		{"up and down again: from the heaviest", "76", []care.Weighing{{On: day("2026-08-01"), Mass: kg("75")}, {On: day("2026-09-01"), Mass: kg("80")}},
			[]string{"advice weight_loss"}, 3, "80"},
		{"a gain asks for nothing here", "90", []care.Weighing{{On: day("2026-08-20"), Mass: kg("80")}}, nil, 0, ""},
	} {
		client := care.Client{Mass: kg(c.mass), Weighed: weighed, Weighings: c.earlier}
		got := rules.Weights(client)
		if !slices.Equal(found(got), c.want) {
			t.Errorf("%s: found %q, want %q", c.says, found(got), c.want)
			continue
		}
		for _, f := range got {
			wantArgs(t, f)
			if f.Args["months"] != c.months || f.Args["before"] != kg(c.fromMass) {
				t.Errorf("%s: %v", c.says, f.Args)
			}
		}
	}
}

func TestMoreLossIsNeverMilder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		client := care.Client{Mass: care.Mass(rapid.Int64Range(2, 200_000).Draw(t, "mass")), Weighed: today}
		for range rapid.IntRange(1, 5).Draw(t, "weighings") {
			client.Weighings = append(client.Weighings, care.Weighing{On: today.AddDays(-rapid.IntRange(1, 250).Draw(t, "days ago")), Mass: care.Mass(rapid.Int64Range(1, 200_000).Draw(t, "was"))})
		}
		before := rules.Worst(rules.Weights(client))
		client.Mass -= care.Mass(rapid.Int64Range(0, int64(client.Mass)-1).Draw(t, "less"))
		if after := rules.Worst(rules.Weights(client)); after < before {
			t.Fatalf("more was lost: %s became %s", before, after)
		}
	})
}
