package rules

import "samelift/internal/care"

// WeightChange is a change of mass over some months.
type WeightChange struct {
	Months int
	// Before is the heaviest weighing of those months, and Now the last one.
	Before, Now care.Weighing
}

// Percent gives the loss in whole percent, rounded down; a gain is zero. It is worked
// out in grams, since 6.2 of 62 kg in floating point is more than ten percent.
func (c WeightChange) Percent() int {
	if c.Before.Mass <= c.Now.Mass {
		return 0
	}
	return int((c.Before.Mass - c.Now.Mass) * 100 / c.Before.Mass)
}

// LossScore gives the points for unplanned loss of mass within three to six months:
// under 5 % none, 5 to 10 % one, over 10 % two.
// Source: MUST, BAPEN, as on the RCN crib card (handbook 9.3).
func LossScore(before, now care.Mass) int {
	switch loss := before - now; {
	case before <= 0 || loss*100 < before*5:
		return 0
	case loss*100 <= before*10:
		return 1
	}
	return 2
}

// WeightChanges gives the change of mass over the three and the six months before the
// last weighing; what has no weighing to compare with is left out.
func WeightChanges(client care.Client) []WeightChange {
	if client.Mass == 0 || client.Weighed.IsZero() {
		return nil
	}
	var out []WeightChange
	for _, months := range []int{3, 6} {
		c := WeightChange{Months: months, Now: care.Weighing{On: client.Weighed, Mass: client.Mass}}
		first := client.Weighed.AddMonths(-months)
		for _, w := range client.Weighings {
			if !w.On.Before(first) && w.On.Before(client.Weighed) && w.Mass >= c.Before.Mass {
				c.Before = w
			}
		}
		if c.Before.Mass > 0 {
			out = append(out, c)
		}
	}
	return out
}

// Weights finds a loss of mass that asks for somebody to look at the person's nutrition:
// a prompt, and nothing else. No published change of mass was found that obliges anybody
// to assess the transfer again (handbook 9.4); Sized speaks of the sling's size.
func Weights(client care.Client) []Finding {
	var worst WeightChange
	score := 0
	for _, c := range WeightChanges(client) {
		if s := LossScore(c.Before.Mass, c.Now.Mass); s > score {
			worst, score = c, s
		}
	}
	if score == 0 {
		return nil
	}
	args := map[string]any{"before": worst.Before.Mass, "date": worst.Before.On, "mass": worst.Now.Mass, "months": worst.Months}
	if score == 1 {
		args["percent"] = worst.Percent()
		return []Finding{{"weight_loss", Advice, args, sourceMUST}}
	}
	return []Finding{{"weight_loss_much", Caution, args, sourceMUST}}
}
