package store

import (
	"time"
)

// WakeUnreachable is the kind of wake that SetGone plans when nothing reaches a person
// any more; its key is the person's ref.
const WakeUnreachable = "unreachable"

// WakeStale is the kind of wake that Sent plans for a card of a plan that is no longer
// in force; its key is the client's ref.
const WakeStale = "stale"

// Wake is something that is to happen at a time.
type Wake struct {
	Site string
	// Kind and Key together are unique in a site, so that a thing is planned once.
	Kind string
	Key  string
	Due  time.Time
	Body string
}

// SetWake plans a wake, in the place of an earlier one with the same kind and key.
func (tx *Tx) SetWake(w Wake) error {
	return tx.exec(`INSERT INTO wakes (site, kind, key, due_at, body) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (site, kind, key) DO UPDATE SET due_at = $4, body = $5`, w.Site, w.Kind, w.Key, micros(w.Due), w.Body)
}

// KeepWake plans a wake unless one with the same kind and key is planned already.
func (tx *Tx) KeepWake(w Wake) error {
	return tx.exec(`INSERT INTO wakes (site, kind, key, due_at, body) VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING`,
		w.Site, w.Kind, w.Key, micros(w.Due), w.Body)
}

// TakeWake reads and deletes the wake that has been due longest, if any is due.
func (tx *Tx) TakeWake() (Wake, bool, error) {
	var w Wake
	var due int64
	ok, err := tx.one(`DELETE FROM wakes WHERE (site, kind, key) IN (
			SELECT site, kind, key FROM wakes WHERE due_at <= $1 ORDER BY due_at, site, kind, key LIMIT 1)
		RETURNING site, kind, key, due_at, body`, []any{micros(tx.Now)}, &w.Site, &w.Kind, &w.Key, &due, &w.Body)
	w.Due = instant(due)
	return w, ok, err
}

// NextWake gives when the next wake falls due, and false if none is planned.
func (tx *Tx) NextWake() (time.Time, bool, error) {
	var at *int64
	_, err := tx.one(`SELECT min(due_at) FROM wakes`, nil, &at)
	if err != nil || at == nil {
		return time.Time{}, false, err
	}
	return instant(*at), true, nil
}

// DropWakes deletes what is planned of a kind.
func (tx *Tx) DropWakes(site, kind string) error {
	return tx.exec(`DELETE FROM wakes WHERE site = $1 AND kind = $2`, site, kind)
}

// HandedOver gives the stretch that a person's last handover covered.
func (tx *Tx) HandedOver(site, person string) (from, to time.Time, err error) {
	var a, b int64
	_, err = tx.one(`SELECT handed_from, handed_over FROM people WHERE site = $1 AND ref = $2`, []any{site, person}, &a, &b)
	return instant(a), instant(b), err
}

// SetHandedOver keeps the stretch that a handover has covered.
func (tx *Tx) SetHandedOver(site, person string, from, to time.Time) error {
	return tx.exec(`UPDATE people SET handed_from = $3, handed_over = $4 WHERE site = $1 AND ref = $2`, site, person, micros(from), micros(to))
}
