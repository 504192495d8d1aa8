package store

import (
	"fmt"

	"samelift/internal/care"
)

// SaveChange keeps that a new plan version is to be told, and to whom. People who have
// not joined are kept too, so that a coordinator sees them among those not reached.
func (tx *Tx) SaveChange(site string, p PlanChange, people []string) (care.Change, error) {
	c := care.Change{ID: fmt.Sprintf("%s-%d", p.Client, p.After), Client: p.Client, Before: p.Before, After: p.After, At: tx.Now}
	if err := tx.exec(`INSERT INTO changes (site, id, client, before, after, at) VALUES ($1, $2, $3, $4, $5, $6)`,
		site, c.ID, c.Client, c.Before, c.After, micros(c.At)); err != nil {
		return c, err
	}
	for _, ref := range people {
		if err := tx.exec(`INSERT INTO confirmations (site, change, person) VALUES ($1, $2, $3)`, site, c.ID, ref); err != nil {
			return c, err
		}
		c.Told = append(c.Told, care.Confirmation{Person: ref})
	}
	return c, nil
}

// Told keeps that a person was told a change.
func (tx *Tx) Told(site, change, person string) error {
	return tx.exec(`UPDATE confirmations SET told_at = $4 WHERE site = $1 AND change = $2 AND person = $3 AND told_at IS NULL`, site, change, person, micros(tx.Now))
}

// Confirm keeps that a person confirms a change; the first time counts.
func (tx *Tx) Confirm(site, change, person string) error {
	return tx.exec(`UPDATE confirmations SET confirmed_at = $4 WHERE site = $1 AND change = $2 AND person = $3 AND confirmed_at IS NULL`, site, change, person, micros(tx.Now))
}

// Change reads one change.
func (tx *Tx) Change(site, id string) (care.Change, bool, error) {
	all, err := tx.changes(`c.site = $1 AND c.id = $2`, site, id)
	if err != nil || len(all) == 0 {
		return care.Change{}, false, err
	}
	return all[0], true, nil
}

// Changes reads the newest changes of a site, newest first.
func (tx *Tx) Changes(site string, limit int) ([]care.Change, error) {
	return tx.changes(`c.site = $1 ORDER BY c.at DESC, c.client, c.after DESC LIMIT $2`, site, limit)
}

// Unconfirmed reads the changes that a person has not confirmed: of each client only
// the newest, since it replaces the others.
func (tx *Tx) Unconfirmed(site, person string) ([]care.Change, error) {
	return tx.changes(`c.site = $1 AND EXISTS (
			SELECT 1 FROM confirmations f
			WHERE f.site = c.site AND f.change = c.id AND f.person = $2 AND f.confirmed_at IS NULL)
		AND NOT EXISTS (SELECT 1 FROM changes d WHERE d.site = c.site AND d.client = c.client AND d.after > c.after)
		ORDER BY c.at, c.client`, site, person)
}

func (tx *Tx) changes(where string, args ...any) ([]care.Change, error) {
	all, err := list(tx, `SELECT c.id, c.client, c.before, c.after, c.at FROM changes c WHERE `+where, args,
		func(c *care.Change, scan func(...any) error) error {
			var at int64
			err := scan(&c.ID, &c.Client, &c.Before, &c.After, &at)
			c.At = instant(at)
			return err
		})
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].Told, err = list(tx, `SELECT person, confirmed_at FROM confirmations WHERE site = $1 AND change = $2 ORDER BY person`, []any{args[0], all[i].ID},
			func(c *care.Confirmation, scan func(...any) error) error {
				var at *int64
				err := scan(&c.Person, &at)
				if at != nil {
					c.At = instant(*at)
				}
				return err
			}); err != nil {
			return nil, err
		}
	}
	return all, nil
}
