package store

import (
	"encoding/json"
	"fmt"
	"time"

	"samelift/internal/care"
)

// Sites lists the refs of all sites.
func (tx *Tx) Sites() ([]string, error) {
	return list(tx, `SELECT ref FROM sites ORDER BY ref`, nil, func(r *string, scan func(...any) error) error { return scan(r) })
}

// Site reads a whole site. What it returns is shared: it must not be changed. It
// returns nil where there is no such site.
func (tx *Tx) Site(ref string) (*care.Site, error) {
	site, _, err := tx.SiteRevision(ref)
	return site, err
}

// SiteRevision reads a whole site and the number that grows with every change of it.
func (tx *Tx) SiteRevision(ref string) (*care.Site, int64, error) {
	var revision int64
	if ok, err := tx.one(`SELECT revision FROM sites WHERE ref = $1`, []any{ref}, &revision); err != nil || !ok {
		return nil, 0, err
	}
	if !tx.touched[ref] {
		tx.store.mu.Lock()
		have := tx.store.sites[ref]
		tx.store.mu.Unlock()
		if have.site != nil && have.revision == revision && !tx.Now.Before(have.at) {
			return have.site, revision, nil
		}
	}
	site, err := tx.readSite(ref)
	if err != nil {
		return nil, 0, fmt.Errorf("read site: %w", err)
	}
	if !tx.touched[ref] {
		tx.store.mu.Lock()
		if have := tx.store.sites[ref]; have.revision < revision || have.revision == revision && tx.Now.Before(have.at) {
			tx.store.sites[ref] = snapshot{revision, tx.Now, site}
		}
		tx.store.mu.Unlock()
	}
	return site, revision, nil
}

// touch marks the site as changed, for this and every other process.
func (tx *Tx) touch(site string) error {
	if tx.touched[site] {
		return nil
	}
	tx.touched[site] = true
	return tx.exec(`UPDATE sites SET revision = revision + 1 WHERE ref = $1`, site)
}

func (tx *Tx) readSite(ref string) (*care.Site, error) {
	s := &care.Site{Ref: ref}
	var lead int64
	if _, err := tx.one(`SELECT name, zone, lang, emergency_number, initials_only, no_pictures, handover_lead, shifts FROM sites WHERE ref = $1`, []any{ref},
		&s.Name, &s.Zone, &s.Lang, &s.EmergencyNumber, &s.InitialsOnly, &s.NoPictures, &lead, someJSON[care.Shift]{&s.Shifts}); err != nil {
		return nil, err
	}
	s.HandoverLead = time.Duration(lead) * time.Microsecond
	var err error
	if s.People, err = list(tx, `SELECT ref, name, role, lang, phone, shifts, sign_offs, removed, no_pictures FROM people WHERE site = $1 ORDER BY position, ref`, []any{ref},
		func(p *care.Person, scan func(...any) error) error {
			return scan(&p.Ref, &p.Name, &p.Role, &p.Lang, &p.Phone, someJSON[string]{&p.Shifts}, someJSON[care.SignOff]{&p.SignOffs}, &p.Removed, &p.NoPictures)
		}); err != nil {
		return nil, err
	}
	at := map[string]int{}
	for i, p := range s.People {
		at[p.Ref] = i
	}
	if err = tx.each(`SELECT person, client FROM cares_for WHERE site = $1 ORDER BY person, position`, []any{ref}, func(scan func(...any) error) error {
		var person, client string
		if err := scan(&person, &client); err != nil {
			return err
		}
		p := &s.People[at[person]]
		p.CaresFor = append(p.CaresFor, client)
		return nil
	}); err != nil {
		return nil, err
	}
	if s.Clients, err = list(tx, `SELECT ref, name, also, room, mass, weighed, says, says_more, ended, weighings, back_length, hips, from_hospital FROM clients WHERE site = $1 ORDER BY position, ref`, []any{ref},
		func(c *care.Client, scan func(...any) error) error {
			return scan(&c.Ref, &c.Name, someJSON[string]{&c.Also}, &c.Room, &c.Mass, asDate{&c.Weighed}, someJSON[care.Communication]{&c.Says}, asJSON{&c.SaysMore}, &c.Ended,
				someJSON[care.Weighing]{&c.Weighings}, &c.BackLength, &c.Hips, asDate{&c.FromHospital})
		}); err != nil {
		return nil, err
	}
	if s.Ranges, err = list(tx, `SELECT body FROM ranges WHERE site = $1 ORDER BY position, ref`, []any{ref},
		func(r *care.Range, scan func(...any) error) error { return scan(asJSON{r}) }); err != nil {
		return nil, err
	}
	if s.Slings, err = list(tx, `SELECT label, range_ref, size, state, examined, due, since, exceptional, serviced FROM slings WHERE site = $1 ORDER BY position, label`, []any{ref},
		func(x *care.Sling, scan func(...any) error) error {
			return scan(&x.Label, &x.Range, &x.Size, &x.State, asDate{&x.Last}, asDate{&x.Due}, asDate{&x.Since}, asDate{&x.Exceptional}, asDate{&x.Serviced})
		}); err != nil {
		return nil, err
	}
	if s.Hoists, err = list(tx, `SELECT label, name, kind, attachment, bar_points, swl, bar_swl, state, examined, due, since, exceptional, serviced FROM hoists WHERE site = $1 ORDER BY position, label`, []any{ref},
		func(h *care.Hoist, scan func(...any) error) error {
			return scan(&h.Label, &h.Name, &h.Kind, &h.Attachment, &h.BarPoints, &h.Limit, &h.BarLimit, &h.State, asDate{&h.Last}, asDate{&h.Due},
				asDate{&h.Since}, asDate{&h.Exceptional}, asDate{&h.Serviced})
		}); err != nil {
		return nil, err
	}
	// A version that a later one already in force has replaced can never be in force
	// again, so it is left to Plan.
	s.Plans, err = list(tx, `
		SELECT body, from_at FROM plans p
		WHERE site = $1 AND draft = 0 AND NOT EXISTS (
			SELECT 1 FROM plans q
			WHERE q.site = p.site AND q.client = p.client AND q.version > p.version AND q.draft = 0 AND q.from_at <= $2)
		ORDER BY client, version`, []any{ref, micros(tx.Now)},
		func(p *care.Plan, scan func(...any) error) error {
			var from int64
			err := scan(asJSON{p}, &from)
			p.From = instant(from)
			return err
		})
	if err != nil {
		return nil, err
	}
	events, err := tx.planEvents(`site = $1 ORDER BY client, number`, ref)
	stops := care.Stops(events)
	for i, p := range s.Plans {
		if stop := stops[p.Client]; stop != nil && p.Version <= stop.UpTo {
			s.Plans[i].Stopped = stop
		}
	}
	return s, err
}

// asJSON scans a column that holds JSON.
type asJSON struct{ into any }

// Scan implements sql.Scanner.
func (j asJSON) Scan(v any) error {
	switch v := v.(type) {
	case string:
		return json.Unmarshal([]byte(v), j.into)
	case []byte:
		return json.Unmarshal(v, j.into)
	case nil:
		return nil
	}
	return fmt.Errorf("a column with JSON holds %T", v)
}

// asDate scans a column that holds a day.
type asDate struct{ into *care.Date }

// Scan implements sql.Scanner.
func (d asDate) Scan(v any) error {
	s, ok := v.(string)
	if !ok {
		return fmt.Errorf("a column with a day holds %T", v)
	}
	return d.into.UnmarshalText([]byte(s))
}

// someJSON scans a column that holds a list, which is nil where it is empty.
type someJSON[T any] struct{ into *[]T }

// Scan implements sql.Scanner.
func (j someJSON[T]) Scan(v any) error {
	err := asJSON{j.into}.Scan(v)
	if len(*j.into) == 0 {
		*j.into = nil
	}
	return err
}

func toJSON(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Sprintf("a value of ours cannot be written as JSON: %v", err)) // only with a type JSON does not know
	}
	return string(b)
}
