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
	for _, c := range rules.CheckAll(site, now) {
		for _, f := range c.Findings {
			out = append(out, Warning{c.Client, c.Version, c.Transfer, f})
		}
	}
	return out
}
