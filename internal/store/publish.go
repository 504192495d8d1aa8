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
	done, err := tx.recordPlan(site, p, newest.Version)
	if err != nil {
		return done, err
	}
	return done, tx.touch(site)
}

// recordPlan writes a new version. The stored body keeps the author's own date; the
// column is what counts, so that a change is never in force before anybody could know
// of it.
func (tx *Tx) recordPlan(site string, p care.Plan, before int) (PlanChange, error) {
	p.From = p.From.UTC()
	from := p.From
	if before > 0 && from.Before(tx.Now) {
		from = tx.Now
	}
	return PlanChange{Client: p.Client, Before: before, After: p.Version},
		tx.exec(`INSERT INTO plans (site, client, version, from_at, recorded_at, body) VALUES ($1, $2, $3, $4, $5, $6)`,
			site, p.Client, p.Version, micros(from), micros(tx.Now), toJSON(p))
}
