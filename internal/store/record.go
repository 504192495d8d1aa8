package store

import (
	"fmt"
	"strings"
	"time"

	"samelift/internal/care"
)

// NextNoteRef and NextIncidentRef give the reference that the next record of a site
// will have. Inside Update nobody else can take it.
func (tx *Tx) NextNoteRef(site string) (string, error) { return tx.nextRef(site, "last_note", "N-") }

// NextIncidentRef is the same for incidents.
func (tx *Tx) NextIncidentRef(site string) (string, error) {
	return tx.nextRef(site, "last_incident", "I-")
}

func (tx *Tx) nextRef(site, column, prefix string) (string, error) {
	var n int
	_, err := tx.one(`SELECT `+column+` FROM sites WHERE ref = $1`, []any{site}, &n)
	return fmt.Sprintf("%s%d", prefix, n+1), err
}

// SaveNote keeps a visit note under the reference it carries.
func (tx *Tx) SaveNote(site string, n care.Note) error {
	if err := tx.exec(`UPDATE sites SET last_note = last_note + 1 WHERE ref = $1`, site); err != nil {
		return err
	}
	return tx.exec(`INSERT INTO notes (site, ref, client, person, at, body) VALUES ($1, $2, $3, $4, $5, $6)`,
		site, n.Ref, n.Client, n.By, micros(n.At), toJSON(n))
}

// SaveIncident keeps an incident under the reference it carries.
func (tx *Tx) SaveIncident(site string, i care.Incident) error {
	if err := tx.exec(`UPDATE sites SET last_incident = last_incident + 1 WHERE ref = $1`, site); err != nil {
		return err
	}
	return tx.exec(`INSERT INTO incidents (site, ref, client, person, at, body) VALUES ($1, $2, $3, $4, $5, $6)`,
		site, i.Ref, null(i.Client), i.By, micros(i.At), toJSON(i))
}

// Add keeps an addition to the record with that reference.
func (tx *Tx) Add(site, record string, a care.Addition) error {
	return tx.exec(`INSERT INTO additions (site, record, number, person, at, body)
		SELECT $1, $2, count(*) + 1, $3, $4, $5 FROM additions WHERE site = $1 AND record = $2`, site, record, a.By, micros(a.At), toJSON(a.Text))
}

// Note reads a note with its additions.
func (tx *Tx) Note(site, ref string) (care.Note, bool, error) {
	notes, err := tx.notes(`n.site = $1 AND n.ref = $2 ORDER BY n.at`, site, ref)
	if err != nil || len(notes) == 0 {
		return care.Note{}, false, err
	}
	return notes[0], true, nil
}

// Incident reads an incident with its additions.
func (tx *Tx) Incident(site, ref string) (care.Incident, bool, error) {
	all, err := tx.incidents(`i.site = $1 AND i.ref = $2 ORDER BY i.at`, site, ref)
	if err != nil || len(all) == 0 {
		return care.Incident{}, false, err
	}
	return all[0], true, nil
}

// LastNotes reads the newest notes about a client, newest first. Of one instant, N-10
// is newer than N-9.
func (tx *Tx) LastNotes(site, client string, limit int) ([]care.Note, error) {
	return tx.notes(`n.site = $1 AND n.client = $2 ORDER BY n.at DESC, length(n.ref) DESC, n.ref DESC LIMIT $3`, site, client, limit)
}

// Since reads what happened to some clients in [from, to): what was recorded then, and
// what was added then to an older record. Incidents about no client count for everybody.
func (tx *Tx) Since(site string, clients []string, from, to time.Time) (care.Since, error) {
	return tx.SinceFor(site, "", clients, from, to)
}

// SinceFor is Since with that person alone in the Told of changes, since a carer's
// handover says nothing of the others.
func (tx *Tx) SinceFor(site, person string, clients []string, from, to time.Time) (care.Since, error) {
	s := care.Since{From: from, To: to}
	if len(clients) == 0 {
		clients = []string{""}
	}
	in, args := placeholders(clients, 4)
	args = append([]any{site, micros(from), micros(to)}, args...)
	var err error
	added := func(record string) string {
		return `EXISTS (SELECT 1 FROM additions a WHERE a.site = $1 AND a.record = ` + record + ` AND a.at >= $2 AND a.at < $3)`
	}
	if s.Notes, err = tx.notes(`n.site = $1 AND n.client IN (`+in+`) AND (n.at >= $2 AND n.at < $3 OR `+added("n.ref")+`) ORDER BY n.at, length(n.ref), n.ref`, args...); err != nil {
		return s, err
	}
	if s.Incidents, err = tx.incidents(`i.site = $1 AND (i.client IS NULL OR i.client IN (`+in+`)) AND (i.at >= $2 AND i.at < $3 OR `+added("i.ref")+`) ORDER BY i.at, length(i.ref), i.ref`, args...); err != nil {
		return s, err
	}
	s.Changes, err = tx.changes(person, `c.site = $1 AND c.client IN (`+in+`) AND c.at >= $2 AND c.at < $3 ORDER BY c.at, c.client, c.seq`, args...)
	return s, err
}

func placeholders(values []string, first int) (string, []any) {
	var b strings.Builder
	args := make([]any, len(values))
	for i, v := range values {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "$%d", first+i)
		args[i] = v
	}
	return b.String(), args
}

func (tx *Tx) notes(where string, args ...any) ([]care.Note, error) {
	notes, err := list(tx, `SELECT n.site, n.ref, n.client, n.person, n.at, n.body FROM notes n WHERE `+where, args,
		func(n *care.Note, scan func(...any) error) error {
			var site string
			var at int64
			err := scan(&site, &n.Ref, &n.Client, &n.By, &at, asJSON{n})
			n.At = instant(at)
			return err
		})
	if err != nil {
		return nil, err
	}
	for i := range notes {
		if notes[i].Additions, err = tx.additions(args[0], notes[i].Ref); err != nil {
			return nil, err
		}
	}
	return notes, nil
}

func (tx *Tx) incidents(where string, args ...any) ([]care.Incident, error) {
	all, err := list(tx, `SELECT i.ref, i.client, i.person, i.at, i.body FROM incidents i WHERE `+where, args,
		func(i *care.Incident, scan func(...any) error) error {
			var at int64
			var client *string
			err := scan(&i.Ref, &client, &i.By, &at, asJSON{i})
			i.At, i.Client = instant(at), deref(client)
			return err
		})
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].Additions, err = tx.additions(args[0], all[i].Ref); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func (tx *Tx) additions(site any, record string) ([]care.Addition, error) {
	return list(tx, `SELECT person, at, body FROM additions WHERE site = $1 AND record = $2 ORDER BY number`, []any{site, record},
		func(a *care.Addition, scan func(...any) error) error {
			var at int64
			err := scan(&a.By, &at, asJSON{&a.Text})
			a.At = instant(at)
			return err
		})
}
