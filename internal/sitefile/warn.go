package sitefile

import (
	"time"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// Warning is something in a site that is no fault of the file and yet stands in the
// way of a transfer, or will.
type Warning struct {
	Client string
	// Version and Transfer name the plan and the transfer, such as bed>chair.
	Version  int
	Transfer string
	rules.Finding
}

// Warnings asks the rules about every transfer of every client who is still cared for:
// of the plan that is in force now, and of those to come as on the day they start.
func Warnings(site *care.Site, now time.Time) []Warning {
	var out []Warning
	for _, p := range site.Plans {
		c, ok := site.Client(p.Client)
		at := now
		if p.From.After(now) {
			at = p.From
		}
		if current, found := site.PlanAt(p.Client, at); !ok || c.Ended || !found || current.Version != p.Version {
			continue
		}
		for _, t := range p.Transfers {
			for _, f := range rules.Check(site, c, p, t, at) {
				out = append(out, Warning{p.Client, p.Version, t.Key(), f})
			}
		}
	}
	return out
}
