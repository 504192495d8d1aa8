package rules_test

import (
	"fmt"
	"reflect"
	"testing"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// manyPlans is a site with n clients, each with a plan of two transfers, slings of their
// own, one hoist for ten, an earlier plan's worth of weighings, and something to find.
func manyPlans(n int) *care.Site {
	s := allWell()
	s.table()
	s.t.Carers, s.t.BothWays = 1, true
	s.step("place_leg_straps")
	s.cautions("hip_precautions", "poor_head_control")
	site := &care.Site{Zone: s.site.Zone, Ranges: s.site.Ranges}
	for i := range n {
		c, p, t := s.client, s.plan, s.t
		c.Ref = fmt.Sprint("c", i)
		c.Mass += care.Mass(i%90) * care.Kilogram
		for w := range 6 {
			c.Weighings = append(c.Weighings, care.Weighing{On: today.AddDays(-200 + 30*w), Mass: kg("80")})
		}
		t.Label, t.Spare, t.Hoist = fmt.Sprint("S", i), fmt.Sprint("T", i), fmt.Sprint("H", i/10)
		back := t
		back.From, back.To = care.Wheelchair, care.Toilet
		p.Client, p.Transfers = c.Ref, []care.Transfer{t, back}
		for _, label := range []string{t.Label, t.Spare} {
			x := s.site.Slings[0]
			x.Label = label
			site.Slings = append(site.Slings, x)
		}
		if i%10 == 0 {
			h := s.site.Hoists[0]
			h.Label = t.Hoist
			site.Hoists = append(site.Hoists, h)
		}
		site.Clients, site.Plans = append(site.Clients, c), append(site.Plans, p)
	}
	return site
}

// CheckAll finds what Check finds, one plan after the other.
func TestCheckAll(t *testing.T) {
	site := manyPlans(300)
	later := site.Plans[3]
	later.Version, later.From = 2, now.AddDate(0, 0, 3)
	site.Plans = append(site.Plans, later)
	site.Clients[5].Ended = true
	var want []rules.Checked
	for _, p := range site.Plans {
		c, _ := site.Client(p.Client)
		at := now
		if p.From.After(now) {
			at = p.From
		}
		if c.Ended {
			continue
		}
		for _, tr := range p.Transfers {
			want = append(want, rules.Checked{Client: p.Client, Version: p.Version, Transfer: tr.Key(), Findings: rules.Check(site, c, p, tr, at)})
		}
	}
	got := rules.CheckAll(site, now)
	if len(got) != len(want) {
		t.Fatalf("%d transfers, want %d", len(got), len(want))
	}
	for i := range got {
		if !reflect.DeepEqual(got[i], want[i]) {
			t.Fatalf("got %v, want %v", got[i], want[i])
		}
	}
}

// The figure to keep: all findings for 10,000 plans in under a second on two cores.
func BenchmarkCheckAll(b *testing.B) {
	site := manyPlans(10_000)
	for b.Loop() {
		if all := rules.CheckAll(site, now); len(all) != 20_000 {
			b.Fatal(len(all))
		}
	}
}
