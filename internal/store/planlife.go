package store

import (
	"samelift/internal/care"
	"samelift/internal/chat"
)

// ActOnPlan keeps an act on a client's plan and gives it with its number. It never
// changes what is on record.
func (tx *Tx) ActOnPlan(site string, e care.PlanEvent) (care.PlanEvent, error) {
	e.At = tx.Now
	if _, err := tx.one(`SELECT coalesce(max(number), 0) + 1 FROM plan_events WHERE site = $1 AND client = $2`, []any{site, e.Client}, &e.Number); err != nil {
		return e, err
	}
	if _, err := tx.one(`SELECT coalesce(max(version), 0) FROM plans WHERE site = $1 AND client = $2`, []any{site, e.Client}, &e.UpTo); err != nil {
		return e, err
	}
	if err := tx.exec(`INSERT INTO plan_events (site, client, number, act, version, up_to, person, at, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		site, e.Client, e.Number, string(e.Act), e.Version, e.UpTo, e.By, micros(e.At), toJSON(e.Text)); err != nil {
		return e, err
	}
	return e, tx.touch(site)
}

// PlanEvents lists what was done to a client's plan as a whole, oldest first.
func (tx *Tx) PlanEvents(site, client string) ([]care.PlanEvent, error) {
	return tx.planEvents(`site = $1 AND client = $2 ORDER BY number`, site, client)
}

func (tx *Tx) planEvents(where string, args ...any) ([]care.PlanEvent, error) {
	return list(tx, `SELECT client, number, act, version, up_to, person, at, body FROM plan_events WHERE `+where, args,
		func(e *care.PlanEvent, scan func(...any) error) error {
			var at int64
			err := scan(&e.Client, &e.Number, &e.Act, &e.Version, &e.UpTo, &e.By, &at, asJSON{&e.Text})
			e.At = instant(at)
			return err
		})
}

// Versions lists every version of a client's plan, drafts too, oldest first.
func (tx *Tx) Versions(site, client string) ([]care.PlanRecord, error) {
	return list(tx, `SELECT body, from_at, recorded_at FROM plans WHERE site = $1 AND client = $2 ORDER BY version`, []any{site, client},
		func(r *care.PlanRecord, scan func(...any) error) error {
			var from, recorded int64
			err := scan(asJSON{&r.Plan}, &from, &recorded)
			r.Plan.From, r.Recorded = instant(from), instant(recorded)
			return err
		})
}

// PublishDraft records a draft as the next version, in force from now or from its own
// later date. It reports false where that version is no draft, or a newer version was
// recorded after it.
func (tx *Tx) PublishDraft(site, client string, version int) (PlanChange, bool, error) {
	p, err := tx.newestPlan(site, client)
	if err != nil || p.Version != version || !p.Draft {
		return PlanChange{}, false, err
	}
	p.Draft, p.Version = false, version+1
	if p.From.Before(tx.Now) {
		p.From = tx.Now
	}
	c, err := tx.recordPlan(site, p)
	if err != nil {
		return c, false, err
	}
	return c, true, tx.touch(site)
}

// A Card is a message about a plan that was sent and still looks as it did.
type Card struct {
	ID      int64
	Version int
	// Hidden is set where a later message has taken its place on the screen.
	Hidden bool
}

// StaleHolders gives some of the addresses that hold messages about a client's plan up
// to a version, which have to say that they are old.
func (tx *Tx) StaleHolders(site, client string, upTo, limit int) ([]chat.Address, error) {
	return list(tx, `SELECT DISTINCT transport, chat FROM outbox
		WHERE site = $1 AND client = $2 AND plan_version <= $3 AND plan_version IS NOT NULL AND state = 'sent' AND stale = 0
		ORDER BY transport, chat LIMIT $4`, []any{site, client, upTo, limit},
		func(a *chat.Address, scan func(...any) error) error { return scan(&a.Transport, &a.Chat) })
}

// TakeStale gives those messages of one address, the newest first, and at most so many;
// all of them count as seen to from then on. Where nobody of the site is at the address
// there are none to see to, until somebody joins from it.
func (tx *Tx) TakeStale(site, client string, upTo int, a chat.Address, limit int) ([]Card, error) {
	var n int
	there, err := tx.one(`SELECT 1 FROM people WHERE site = $1 AND transport = $2 AND chat = $3 AND removed = 0`, []any{site, a.Transport, a.Chat}, &n)
	if err != nil {
		return nil, err
	}
	var all []Card
	seen := 2
	if there {
		seen = 1
		if all, err = list(tx, `SELECT o.id, o.plan_version, EXISTS (
				SELECT 1 FROM outbox b WHERE b.transport = o.transport AND b.chat = o.chat AND b.remote_ref = o.remote_ref AND b.id > o.id)
				OR EXISTS (SELECT 1 FROM outbox b WHERE b.edits = o.id AND b.state = 'queued' AND b.transport = o.transport AND b.chat = o.chat)
			FROM outbox o
			WHERE o.site = $1 AND o.client = $2 AND o.plan_version <= $3 AND o.plan_version IS NOT NULL AND o.state = 'sent' AND o.stale = 0
				AND o.transport = $4 AND o.chat = $5 AND o.remote_ref IS NOT NULL
			ORDER BY o.id DESC LIMIT $6`, []any{site, client, upTo, a.Transport, a.Chat, limit},
			func(c *Card, scan func(...any) error) error { return scan(&c.ID, &c.Version, &c.Hidden) }); err != nil {
			return nil, err
		}
	}
	return all, tx.exec(`UPDATE outbox SET stale = $6
		WHERE site = $1 AND client = $2 AND plan_version <= $3 AND plan_version IS NOT NULL AND state = 'sent' AND stale = 0 AND transport = $4 AND chat = $5`,
		site, client, upTo, a.Transport, a.Chat, seen)
}

// reviveStale has the old messages at an address seen to that nobody was there for.
func (tx *Tx) reviveStale(site string, a chat.Address) error {
	clients, err := list(tx, `UPDATE outbox SET stale = 0
		WHERE transport = $2 AND chat = $3 AND site = $1 AND stale = 2 AND state = 'sent' AND remote_ref IS NOT NULL RETURNING client`,
		[]any{site, a.Transport, a.Chat}, func(c *string, scan func(...any) error) error { return scan(c) })
	if err != nil {
		return err
	}
	for _, c := range clients {
		if err := tx.SetWake(Wake{Site: site, Kind: WakeStale, Key: c, Due: tx.Now}); err != nil {
			return err
		}
	}
	return nil
}
