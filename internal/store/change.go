package store

import (
	"fmt"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
)

// OpenChange keeps that something about a plan is to be told: a new version, or an act.
// Every carer of the client is listed, with those who have not joined, so that a
// coordinator sees them among those not reached. What an earlier telling said, and this
// one says anew, is marked as old. ID and At are set here.
func (tx *Tx) OpenChange(site string, c care.Change) (care.Change, error) {
	if c.Kind == "" {
		c.Kind = care.ChangeVersion
	}
	if c.From.IsZero() {
		c.From = tx.Now
	}
	var seq int
	if _, err := tx.one(`SELECT coalesce(max(seq), 0) + 1 FROM changes WHERE site = $1 AND client = $2`, []any{site, c.Client}, &seq); err != nil {
		return c, err
	}
	c.ID, c.At = fmt.Sprintf("%s-%d", c.Client, c.After), tx.Now
	if c.Kind != care.ChangeVersion {
		c.ID = fmt.Sprintf("%s-%d.%d", c.Client, c.After, seq)
	}
	if err := tx.exec(`INSERT INTO changes (site, id, client, before, after, at, kind, urgent, seq, from_at, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
		site, c.ID, c.Client, c.Before, c.After, micros(c.At), string(c.Kind), flag(c.Urgent), seq, micros(c.From), toJSON(c.Text)); err != nil {
		return c, err
	}
	if err := tx.RetireChanges(site, c.Client); err != nil {
		return c, err
	}
	return c, tx.exec(`INSERT INTO confirmations (site, change, person)
		SELECT k.site, $2, k.person FROM cares_for k JOIN people p ON p.site = k.site AND p.ref = k.person
		WHERE k.site = $1 AND k.client = $3 AND p.role = 'carer' AND p.removed = 0`, site, c.ID, c.Client)
}

// RetireChanges marks the tellings that a newer one has made old by now. A version that
// holds makes every earlier telling old; one that is still to come makes none old; an
// act makes earlier acts old, and no version, since it will be followed again.
func (tx *Tx) RetireChanges(site, client string) error {
	if err := tx.exec(`UPDATE changes SET old = 1 WHERE site = $1 AND client = $2 AND old = 0 AND EXISTS (
		SELECT 1 FROM changes d WHERE d.site = changes.site AND d.client = changes.client AND d.seq > changes.seq
			AND (d.kind = 'version' AND d.from_at <= $3 OR d.kind <> 'version' AND changes.kind <> 'version'))`, site, client, micros(tx.Now)); err != nil {
		return err
	}
	return tx.dropTellings(site, client)
}

// dropTellings takes back what is queued about a version that a later one has replaced
// by now. The telling of the later one shows the difference from what the person knows.
func (tx *Tx) dropTellings(site, client string) error {
	return tx.exec(`DELETE FROM outbox WHERE site = $1 AND client = $2 AND state = 'queued' AND edits IS NULL AND lane IN ($3, $4, $5)
		AND plan_version < (SELECT max(version) FROM plans WHERE site = $1 AND client = $2 AND draft = 0 AND from_at <= $6)
		AND NOT EXISTS (SELECT 1 FROM outbox e WHERE e.edits = outbox.id)`,
		site, client, int(LaneAlert), int(LaneChange), int(LaneReminder), micros(tx.Now))
}

// ListCarers lists in the open tellings the carers who are in none: those who came to a
// client after it began. It gives the tellings that somebody was added to.
func (tx *Tx) ListCarers(site string) ([]string, error) {
	added, err := list(tx, `INSERT INTO confirmations (site, change, person)
		SELECT c.site, c.id, p.ref FROM changes c
			JOIN clients l ON l.site = c.site AND l.ref = c.client AND l.ended = 0
			JOIN cares_for k ON k.site = c.site AND k.client = c.client
			JOIN people p ON p.site = k.site AND p.ref = k.person
		WHERE c.site = $1 AND c.old = 0 AND p.role = 'carer' AND p.removed = 0
			AND NOT EXISTS (SELECT 1 FROM confirmations f WHERE f.site = c.site AND f.change = c.id AND f.person = p.ref)
		RETURNING change`, []any{site}, func(id *string, scan func(...any) error) error { return scan(id) })
	if err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	var out []string
	for _, id := range added {
		if !seen[id] {
			seen[id] = true
			out = append(out, id)
		}
	}
	return out, nil
}

// A Listener is somebody whom a change is to be told.
type Listener struct {
	Person string
	Lang   string
	At     chat.Address
	// Base is the version that the person knows: the one before the first change that
	// they have not confirmed.
	Base int
}

// mine holds of a confirmation f of a change c: the person is still a carer of the
// client, who is still cared for here.
const mine = `EXISTS (SELECT 1 FROM people m JOIN cares_for k ON k.site = m.site AND k.person = m.ref
	WHERE m.site = f.site AND m.ref = f.person AND m.role = 'carer' AND m.removed = 0 AND k.client = c.client)
	AND EXISTS (SELECT 1 FROM clients l WHERE l.site = c.site AND l.ref = c.client AND l.ended = 0)`

// base gives what the person of f knows before the change c.
const base = `coalesce((SELECT min(b.before) FROM changes b JOIN confirmations g ON g.site = b.site AND g.change = b.id AND g.person = f.person
	WHERE b.site = c.site AND b.client = c.client AND b.kind = 'version' AND b.seq <= c.seq AND g.confirmed_at IS NULL
		AND b.seq > coalesce((SELECT max(e.seq) FROM changes e JOIN confirmations h ON h.site = e.site AND h.change = e.id AND h.person = f.person
			WHERE e.site = c.site AND e.client = c.client AND e.kind = 'version' AND h.confirmed_at IS NOT NULL), 0)), c.before)`

// Untold gives, in the order of their refs, some of those who can be reached and have not been told a change.
func (tx *Tx) Untold(site, change string, limit int) ([]Listener, error) {
	return tx.listeners(`f.site = $1 AND f.change = $2 AND f.told_at IS NULL AND f.confirmed_at IS NULL
			AND p.chat IS NOT NULL AND p.gone_at IS NULL AND `+mine+`
		ORDER BY f.person LIMIT $3`, site, change, limit)
}

// Base gives the version that a person knows of the plan that a change is about.
func (tx *Tx) Base(site, change, person string) (int, error) {
	var v int
	_, err := tx.one(`SELECT `+base+` FROM confirmations f JOIN changes c ON c.site = f.site AND c.id = f.change
		WHERE f.site = $1 AND f.change = $2 AND f.person = $3`, []any{site, change, person}, &v)
	return v, err
}

// Told keeps that a person was told a change; the first time counts.
func (tx *Tx) Told(site, change, person string) error {
	return tx.exec(`UPDATE confirmations SET told_at = $4 WHERE site = $1 AND change = $2 AND person = $3 AND told_at IS NULL`, site, change, person, micros(tx.Now))
}

// Reminded keeps that a person was reminded of a change.
func (tx *Tx) Reminded(site, change, person string) error {
	return tx.exec(`UPDATE confirmations SET reminded_at = $4 WHERE site = $1 AND change = $2 AND person = $3`, site, change, person, micros(tx.Now))
}

// Wrong counts one more wrong answer to the read-back of a change.
func (tx *Tx) Wrong(site, change, person string) error {
	return tx.exec(`UPDATE confirmations SET wrong = wrong + 1 WHERE site = $1 AND change = $2 AND person = $3`, site, change, person)
}

// Confirm keeps that a person confirms a change; the first time counts.
func (tx *Tx) Confirm(site, change, person string) error {
	return tx.exec(`UPDATE confirmations SET confirmed_at = $4 WHERE site = $1 AND change = $2 AND person = $3 AND confirmed_at IS NULL`, site, change, person, micros(tx.Now))
}

// Change reads one change.
func (tx *Tx) Change(site, id string) (care.Change, bool, error) {
	all, err := tx.changes("", `c.site = $1 AND c.id = $2`, site, id)
	if err != nil || len(all) == 0 {
		return care.Change{}, false, err
	}
	return all[0], true, nil
}

// ChangeFor is Change with that person alone in Told.
func (tx *Tx) ChangeFor(site, id, person string) (care.Change, bool, error) {
	all, err := tx.changes(person, `c.site = $1 AND c.id = $2`, site, id)
	if err != nil || len(all) == 0 {
		return care.Change{}, false, err
	}
	return all[0], true, nil
}

// Changes reads the newest changes of a site, newest first.
func (tx *Tx) Changes(site string, limit int) ([]care.Change, error) {
	return tx.changes("", `c.site = $1 ORDER BY c.at DESC, c.client, c.seq DESC LIMIT $2`, site, limit)
}

// Unconfirmed reads the changes that a person has not confirmed and that no newer one
// has made old, with that person alone in Told.
func (tx *Tx) Unconfirmed(site, person string) ([]care.Change, error) {
	return tx.changes(person, `c.site = $1 AND c.old = 0 AND EXISTS (
			SELECT 1 FROM confirmations f
			WHERE f.site = c.site AND f.change = c.id AND f.person = $2 AND f.confirmed_at IS NULL AND `+mine+`)
		ORDER BY c.at, c.client, c.seq`, site, person)
}

// Open reads the changes of a site that are not old and that somebody has still to
// confirm, with only those people in Told.
func (tx *Tx) Open(site string) ([]care.Change, error) {
	all, err := tx.changes("", stillOpen, site)
	if err != nil {
		return nil, err
	}
	for i := range all {
		var waiting []care.Confirmation
		for _, t := range all[i].Told {
			if t.At.IsZero() {
				waiting = append(waiting, t)
			}
		}
		all[i].Told = waiting
	}
	return all, nil
}

// changes reads changes with who is to be told them: those who are still carers of the
// client, or one person alone.
func (tx *Tx) changes(person, where string, args ...any) ([]care.Change, error) {
	all, err := tx.changeHeads(where, args...)
	if err != nil {
		return nil, err
	}
	for i := range all {
		query, of := ` AND `+mine, []any{args[0], all[i].ID}
		if person != "" {
			query, of = ` AND f.person = $3`+query, append(of, person)
		}
		if all[i].Told, err = list(tx, `SELECT f.person, f.told_at, f.confirmed_at, f.wrong FROM confirmations f JOIN changes c ON c.site = f.site AND c.id = f.change
			WHERE f.site = $1 AND f.change = $2`+query+` ORDER BY f.person`, of,
			func(c *care.Confirmation, scan func(...any) error) error {
				var told, at *int64
				err := scan(&c.Person, &told, &at, &c.Wrong)
				if told != nil {
					c.Told = instant(*told)
				}
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

// ChangeHead reads one change without those who are told it.
func (tx *Tx) ChangeHead(site, id string) (care.Change, bool, error) {
	all, err := tx.changeHeads(`c.site = $1 AND c.id = $2`, site, id)
	if err != nil || len(all) == 0 {
		return care.Change{}, false, err
	}
	return all[0], true, nil
}

// OpenHeads is Open without the people.
func (tx *Tx) OpenHeads(site string) ([]care.Change, error) {
	return tx.changeHeads(stillOpen, site)
}

// stillOpen holds of a change that is not old and that somebody has still to confirm.
const stillOpen = `c.site = $1 AND c.old = 0 AND EXISTS (
		SELECT 1 FROM confirmations f WHERE f.site = c.site AND f.change = c.id AND f.confirmed_at IS NULL AND ` + mine + `)
	ORDER BY c.at, c.client, c.seq`

// Unread gives, in the order of their refs, those after a person who can be reached,
// were told a change and reminded of it only before an instant, and have not confirmed.
func (tx *Tx) Unread(site, change string, since time.Time, after string, limit int) ([]Listener, error) {
	return tx.listeners(`f.site = $1 AND f.change = $2 AND f.confirmed_at IS NULL AND f.told_at <= $4
			AND (f.reminded_at IS NULL OR f.reminded_at <= $4) AND f.person > $5
			AND p.chat IS NOT NULL AND p.gone_at IS NULL AND `+mine+`
		ORDER BY f.person LIMIT $3`, site, change, limit, micros(since), after)
}

func (tx *Tx) listeners(where string, args ...any) ([]Listener, error) {
	return list(tx, `SELECT f.person, p.lang, p.transport, p.chat, `+base+`
		FROM confirmations f JOIN changes c ON c.site = f.site AND c.id = f.change
			JOIN people p ON p.site = f.site AND p.ref = f.person
		WHERE `+where, args,
		func(l *Listener, scan func(...any) error) error {
			return scan(&l.Person, &l.Lang, &l.At.Transport, &l.At.Chat, &l.Base)
		})
}

func (tx *Tx) changeHeads(where string, args ...any) ([]care.Change, error) {
	return list(tx, `SELECT c.id, c.client, c.before, c.after, c.at, c.kind, c.urgent, c.from_at, c.body, c.old FROM changes c WHERE `+where, args,
		func(c *care.Change, scan func(...any) error) error {
			var at, from int64
			err := scan(&c.ID, &c.Client, &c.Before, &c.After, &at, &c.Kind, &c.Urgent, &from, asJSON{&c.Text}, &c.Old)
			c.At, c.From = instant(at), instant(from)
			return err
		})
}
