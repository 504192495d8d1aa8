package store

import (
	"samelift/internal/care"
)

// Publish records a plan as the next version after the one that it was written from.
// It returns a *StalePlanError, and writes nothing, where another has been recorded
// since. The plan's own Version is not read.
func (tx *Tx) Publish(site string, p care.Plan, based int) (PlanChange, error) {
	newest, err := tx.newestPlan(site, p.Client)
	if err != nil {
		return PlanChange{}, err
	}
	if newest.Version != based {
		return PlanChange{}, &StalePlanError{Client: p.Client, File: based, Have: newest.Version}
	}
	p.Version = newest.Version + 1
	p.From = p.From.UTC()
	done, err := tx.recordPlan(site, p)
	if err != nil {
		return done, err
	}
	return done, tx.touch(site)
}
