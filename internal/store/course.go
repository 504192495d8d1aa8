package store

import (
	"encoding/json"
	"time"

	"samelift/internal/care"
)

// weighed keeps a client's weighings among those told before.
func (tx *Tx) weighed(site string, c care.Client) error {
	for _, w := range append(c.Weighings[:len(c.Weighings):len(c.Weighings)], care.Weighing{On: c.Weighed, Mass: c.Mass}) {
		if w.Mass <= 0 || w.On.IsZero() {
			continue
		}
		if err := tx.exec(`INSERT INTO weighings (site, client, day, mass) VALUES ($1, $2, $3, $4)
			ON CONFLICT (site, client, day) DO UPDATE SET mass = $4`, site, c.Ref, w.On.String(), int64(w.Mass)); err != nil {
			return err
		}
	}
	return nil
}

// Weighings reads a client's weighings from a day on, oldest first.
func (tx *Tx) Weighings(site, client string, from care.Date) ([]care.Weighing, error) {
	return list(tx, `SELECT day, mass FROM weighings WHERE site = $1 AND client = $2 AND day >= $3 ORDER BY day`, []any{site, client, from.String()},
		func(w *care.Weighing, scan func(...any) error) error { return scan(asDate{&w.On}, &w.Mass) })
}

// Pains reads what a client said of their pain from an instant on, oldest first.
func (tx *Tx) Pains(site, client string, from time.Time) ([]care.Pain, error) {
	var out []care.Pain
	err := tx.each(`SELECT at, body FROM notes WHERE site = $1 AND client = $2 AND at >= $3 ORDER BY at, ref`, []any{site, client, micros(from)},
		func(scan func(...any) error) error {
			var at int64
			var body string
			if err := scan(&at, &body); err != nil {
				return err
			}
			var n struct {
				Pain *int `json:"pain"`
			}
			if err := json.Unmarshal([]byte(body), &n); err != nil || n.Pain == nil {
				return err
			}
			out = append(out, care.Pain{At: instant(at), Value: *n.Pain})
			return nil
		})
	return out, err
}

// Happened reads the incidents of a site from an instant on, oldest first.
func (tx *Tx) Happened(site string, from time.Time) ([]care.Happened, error) {
	return list(tx, `SELECT at, body FROM incidents WHERE site = $1 AND at >= $2 ORDER BY at, ref`, []any{site, micros(from)},
		func(h *care.Happened, scan func(...any) error) error {
			var at int64
			err := scan(&at, asJSON{h})
			h.At = instant(at)
			return err
		})
}
