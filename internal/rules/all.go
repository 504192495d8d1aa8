package rules

import (
	"runtime"
	"sync"
	"time"

	"samelift/internal/care"
)

// Checked is what was found about one transfer of one plan.
type Checked struct {
	Client   string
	Version  int
	Transfer string
	Findings []Finding
}

// CheckAll is Check for every transfer of every client who is still cared for: of the
// plan that is in force now, and of those to come as on the day they start. The order is
// that of the site's plans, whatever the number of processors.
func CheckAll(site *care.Site, now time.Time) []Checked {
	h := newHouse(site)
	each := make([][]Checked, len(site.Plans))
	var wait sync.WaitGroup
	workers := max(1, min(runtime.GOMAXPROCS(0), len(site.Plans)/64))
	for w := range workers {
		wait.Go(func() {
			for i := w; i < len(site.Plans); i += workers {
				each[i] = h.check(site.Plans[i], now)
			}
		})
	}
	wait.Wait()
	var out []Checked
	for _, c := range each {
		out = append(out, c...)
	}
	return out
}

// A house finds what one plan needs without walking through everything the site has.
type house struct {
	site    *care.Site
	clients map[string]care.Client
	plans   map[string][]care.Plan
	ranges  map[string]care.Range
	slings  map[string]care.Sling
	hoists  map[string]care.Hoist
}

func newHouse(site *care.Site) *house {
	h := &house{site, map[string]care.Client{}, map[string][]care.Plan{}, map[string]care.Range{}, map[string]care.Sling{}, map[string]care.Hoist{}}
	for _, c := range site.Clients {
		h.clients[c.Ref] = c
	}
	for _, p := range site.Plans {
		h.plans[p.Client] = append(h.plans[p.Client], p)
	}
	for _, g := range site.Ranges {
		h.ranges[g.Ref] = g
	}
	for _, s := range site.Slings {
		h.slings[s.Label] = s
	}
	for _, x := range site.Hoists {
		h.hoists[x.Label] = x
	}
	return h
}

func (h *house) check(p care.Plan, now time.Time) []Checked {
	client, ok := h.clients[p.Client]
	at := now
	if p.From.After(now) {
		at = p.From
	}
	// A site with this client and no more, so that the rules look through a few things.
	few := *h.site
	few.Plans, few.People, few.Clients, few.Ranges, few.Slings, few.Hoists = h.plans[p.Client], nil, nil, nil, nil, nil
	near := &few
	if current, found := near.PlanAt(p.Client, at); !ok || client.Ended || !found || current.Version != p.Version {
		return nil
	}
	var out []Checked
	for _, t := range p.Transfers {
		near.Ranges, near.Slings, near.Hoists = near.Ranges[:0], near.Slings[:0], near.Hoists[:0]
		if g, ok := h.ranges[t.Range]; ok {
			near.Ranges = append(near.Ranges, g)
		}
		for _, label := range []string{t.Label, t.Spare} {
			if s, ok := h.slings[label]; ok {
				near.Slings = append(near.Slings, s)
			}
		}
		if x, ok := h.hoists[t.Hoist]; ok {
			near.Hoists = append(near.Hoists, x)
		}
		out = append(out, Checked{p.Client, p.Version, t.Key(), Check(near, client, p, t, at)})
	}
	return out
}
