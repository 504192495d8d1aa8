package store

import (
	"fmt"
	"time"

	"samelift/internal/care"
)

// SetEquipment makes a change of a sling or a hoist and keeps it in the history. It is
// an error where the site has no such piece.
func (tx *Tx) SetEquipment(site string, e care.EquipmentEvent) error {
	var found bool
	for _, table := range []string{"slings", "hoists"} {
		r, err := tx.tx.ExecContext(tx.ctx, `UPDATE `+table+` SET state = $3, examined = $4, due = $5, exceptional = $6, serviced = $7 WHERE site = $1 AND label = $2`,
			site, e.Label, string(e.To), e.Is.Last.String(), e.Is.Due.String(), e.Is.Exceptional.String(), e.Is.Serviced.String())
		if err != nil {
			return err
		}
		n, err := r.RowsAffected()
		if err != nil {
			return err
		}
		found = found || n > 0
	}
	if !found {
		return fmt.Errorf("the site has no equipment with that label")
	}
	if err := tx.keepEquipment(site, e); err != nil {
		return err
	}
	return tx.touch(site)
}

func (tx *Tx) keepEquipment(site string, e care.EquipmentEvent) error {
	return tx.exec(`INSERT INTO equipment_events (site, label, number, person, at, body)
		SELECT $1, $2, coalesce(max(number), 0) + 1, $3, $4, $5 FROM equipment_events WHERE site = $1 AND label = $2`,
		site, e.Label, e.By, micros(tx.Now), toJSON(e))
}

// EquipmentHistory reads the newest changes of a piece of equipment, newest first.
func (tx *Tx) EquipmentHistory(site, label string, limit int) ([]care.EquipmentEvent, error) {
	return list(tx, `SELECT person, at, body FROM equipment_events WHERE site = $1 AND label = $2 ORDER BY number DESC LIMIT $3`, []any{site, label, limit},
		func(e *care.EquipmentEvent, scan func(...any) error) error {
			var at int64
			err := scan(&e.By, &at, asJSON{e})
			e.Label, e.At = label, instant(at)
			return err
		})
}

// ShownTo lists the people to whom something of a client's plan was sent since an
// instant and holds still, and those for whom it waits to be sent.
func (tx *Tx) ShownTo(site, client string, since time.Time) ([]string, error) {
	return list(tx, `SELECT person FROM outbox
			WHERE site = $1 AND client = $2 AND plan_version IS NOT NULL AND state = 'sent' AND stale = 0 AND sent_at >= $3 AND person IS NOT NULL
		UNION
		SELECT person FROM outbox
			WHERE state = 'queued' AND site = $1 AND client = $2 AND plan_version IS NOT NULL AND person IS NOT NULL
		ORDER BY person`,
		[]any{site, client, micros(since)}, func(p *string, scan func(...any) error) error { return scan(p) })
}

// filed is what a file said last about a piece, or nothing where none has.
func (tx *Tx) filed(site, label string) (state care.EquipmentState, dates care.Examined, err error) {
	_, err = tx.one(`SELECT state, examined, due, exceptional, serviced FROM equipment_filed WHERE site = $1 AND label = $2`, []any{site, label},
		&state, asDate{&dates.Last}, asDate{&dates.Due}, asDate{&dates.Exceptional}, asDate{&dates.Serviced})
	return state, dates, err
}

// chatSays reports whether somebody in the chat, and not a file, has the last word about
// the state of a piece, and about its dates.
func (tx *Tx) chatSays(site, label string) (state, dates bool, err error) {
	var knowState, knowDates bool
	err = tx.each(`SELECT person, body FROM equipment_events WHERE site = $1 AND label = $2 ORDER BY number DESC`, []any{site, label}, func(scan func(...any) error) error {
		var e care.EquipmentEvent
		if err := scan(&e.By, asJSON{&e}); err != nil {
			return err
		}
		if e.From != e.To && !knowState {
			knowState, state = true, e.By != ""
		}
		if e.Was != e.Is && !knowDates {
			knowDates, dates = true, e.By != ""
		}
		return nil
	})
	return state, dates, err
}

// importEquipment decides between a site file and what was said in the chat, for a
// piece that the register has already, and returns what holds. The file counts where
// the chat does not have the last word. Where it does, the file counts only if it says
// another thing than the last file and that is on the safe side: it can take a piece out
// of use and bring a newer examination, but never put back in use what somebody took
// out, however old or new the file, nor an older examination in the place of a newer
// one. What the file says in vain goes into Kept.
func (tx *Tx) importEquipment(im *Imported, site, label string, have, file care.EquipmentState, haveDates, fileDates care.Examined, known bool) (care.EquipmentState, care.Examined, error) {
	state, dates := file, fileDates
	if known {
		was, wasDates, err := tx.filed(site, label)
		if err != nil {
			return state, dates, err
		}
		var chatState, chatDates bool
		if file != have || fileDates != haveDates {
			if chatState, chatDates, err = tx.chatSays(site, label); err != nil {
				return state, dates, err
			}
		}
		kept := false
		if chatState && file != have {
			fresh := file != was
			if !fresh || usable(file) > usable(have) {
				state, kept = have, fresh
			}
		}
		if chatDates && fileDates != haveDates {
			fresh := fileDates != wasDates
			if !fresh || !haveDates.Last.Before(fileDates.Last) {
				dates, kept = haveDates, kept || fresh
			}
			// What has happened to it is never forgotten for a file that does not know of it.
			if dates.Exceptional.Before(haveDates.Exceptional) {
				dates.Exceptional = haveDates.Exceptional
			}
		}
		if kept {
			im.Kept = append(im.Kept, label)
		}
	}
	if err := tx.exec(`INSERT INTO equipment_filed (site, label, state, examined, due, exceptional, serviced) VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (site, label) DO UPDATE SET state = $3, examined = $4, due = $5, exceptional = $6, serviced = $7`,
		site, label, string(file), fileDates.Last.String(), fileDates.Due.String(), fileDates.Exceptional.String(), fileDates.Serviced.String()); err != nil {
		return state, dates, err
	}
	if known && state == have && dates == haveDates {
		return state, dates, nil
	}
	e := care.EquipmentEvent{Label: label, Cause: care.CauseFile, From: have, To: state, Was: haveDates, Is: dates}
	return state, dates, tx.keepEquipment(site, e)
}

// usable orders the states by how near they are to being taken.
func usable(s care.EquipmentState) int {
	switch s {
	case care.InUse:
		return 2
	case care.InWash:
		return 1
	}
	return 0
}

// LabelCode gives the code of a label, kept from an earlier time; it reports false
// where none has been made.
func (tx *Tx) LabelCode(site string, l care.Labelled) (string, bool, error) {
	var code string
	ok, err := tx.one(`SELECT code FROM label_codes WHERE site = $1 AND kind = $2 AND ref = $3`, []any{site, string(l.Kind), l.Ref}, &code)
	return code, ok, err
}

// KeepLabelCode keeps a code that has been made for a label.
func (tx *Tx) KeepLabelCode(site string, l care.Labelled, code string) error {
	return tx.exec(`INSERT INTO label_codes (code, site, kind, ref, made_at) VALUES ($1, $2, $3, $4, $5)`, code, site, string(l.Kind), l.Ref, micros(tx.Now))
}

// Labelled gives what a code stands for in a site; it reports false for a code that is
// none, and for one of another site.
func (tx *Tx) Labelled(site, code string) (care.Labelled, bool, error) {
	var l care.Labelled
	ok, err := tx.one(`SELECT kind, ref FROM label_codes WHERE code = $1 AND site = $2`, []any{code, site}, &l.Kind, &l.Ref)
	return l, ok, err
}
