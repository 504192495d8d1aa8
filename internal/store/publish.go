package store

import (
	"samelift/internal/care"
)

// Publish records a plan as the next version after the one that it was written from.
// It returns a *StalePlanError, and writes nothing, where another has been recorded
// since; drafts do not count. The plan's own Version is not read.
func (tx *Tx) Publish(site string, p care.Plan, based int) (PlanChange, error) {
	var newest, last int
	if _, err := tx.one(`SELECT coalesce(max(version), 0), coalesce(max(CASE WHEN draft = 0 THEN version END), 0) FROM plans WHERE site = $1 AND client = $2`,
		[]any{site, p.Client}, &last, &newest); err != nil {
		return PlanChange{}, err
	}
	if newest != based {
		return PlanChange{}, &StalePlanError{Client: p.Client, File: based, Have: newest}
	}
	p.Version = last + 1
	p.From = p.From.UTC()
	done, err := tx.recordPlan(site, p)
	if err != nil {
		return done, err
	}
	return done, tx.touch(site)
}
