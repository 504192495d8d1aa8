package store

import (
	"cmp"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"time"

	"samelift/internal/care"
)

// Imported says what an import did.
type Imported struct {
	// New is set when the site was not there before.
	New bool
	// Added and Altered count what describes the site, plans left out.
	Added, Altered int
	// Plans lists each plan that became a new version.
	Plans []PlanChange
	// Drafts counts versions that were recorded and are nobody's to follow yet.
	Drafts int
	// Removed lists the people who have just lost access.
	Removed []string
	// Kept lists the labels of equipment about which the chat has the newer word, so that
	// the file's was not taken.
	Kept []string
}

// PlanChange is a plan that became a new version; Before is zero for a first one.
type PlanChange struct {
	Client        string
	Before, After int
	// From is the instant from which the version really holds.
	From   time.Time
	Urgent bool
}

// Nothing reports whether the import changed nothing.
func (im Imported) Nothing() bool {
	return !im.New && im.Added == 0 && im.Altered == 0 && len(im.Plans) == 0 && im.Drafts == 0
}

// StalePlanError says that a file was written from a plan that has been replaced.
type StalePlanError struct {
	Client     string
	File, Have int
}

// Error says it for an operator.
func (e *StalePlanError) Error() string {
	return fmt.Sprintf("the plan of client %q is at version %d, and the file was written from version %d: export the site, make the change there and import again", e.Client, e.Have, e.File)
}

// Import merges a described site into the store. What the file does not name stays
// as it is, shifts and the other entries one by one; a plan whose contents differ from
// the newest version becomes a new one.
// Importing the same site twice changes nothing the second time. The site must have
// passed the checks of sitefile.
func (tx *Tx) Import(s *care.Site) (Imported, error) {
	var im Imported
	old, err := tx.Site(s.Ref)
	if err != nil {
		return im, err
	}
	// A stale plan is found before anything is written, so that the caller can answer
	// in the same transaction.
	for _, p := range s.Plans {
		if err := tx.checkPlan(s.Ref, p); err != nil {
			return im, err
		}
	}
	if old == nil {
		im.New = true
		old = &care.Site{}
		if err := tx.exec(`INSERT INTO sites (ref, name, zone, lang, emergency_number, initials_only, handover_lead, shifts, revision)
			VALUES ($1, '', '', '', '', 0, 0, '[]', 1)`, s.Ref); err != nil {
			return im, err
		}
	}
	shifts := mergedShifts(old.Shifts, s.Shifts)
	if !same([]any{old.Name, old.Zone, old.Lang, old.EmergencyNumber, old.InitialsOnly, old.NoPictures, old.HandoverLead, old.Shifts},
		[]any{s.Name, s.Zone, s.Lang, s.EmergencyNumber, s.InitialsOnly, s.NoPictures, s.HandoverLead, shifts}) {
		if !im.New {
			im.Altered++
		}
		if err := tx.exec(`UPDATE sites SET name = $2, zone = $3, lang = $4, emergency_number = $5, initials_only = $6, handover_lead = $7, shifts = $8, no_pictures = $9 WHERE ref = $1`,
			s.Ref, s.Name, s.Zone, s.Lang, s.EmergencyNumber, flag(s.InitialsOnly), s.HandoverLead.Microseconds(), toJSON(nonNil(shifts)), flag(s.NoPictures)); err != nil {
			return im, err
		}
	}
	// What is new stands after what is there.
	for i, c := range s.Clients {
		if err := merge(&im, old.Clients, c, func(x care.Client) bool { return x.Ref == c.Ref }, func() error {
			if err := tx.exec(`INSERT INTO clients (site, ref, position, name, also, room, mass, weighed, says, says_more, ended, weighings, back_length, hips, from_hospital)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
				ON CONFLICT (site, ref) DO UPDATE SET name = $4, also = $5, room = $6, mass = $7, weighed = $8, says = $9, says_more = $10, ended = $11,
					weighings = $12, back_length = $13, hips = $14, from_hospital = $15`,
				s.Ref, c.Ref, len(old.Clients)+i, c.Name, toJSON(nonNil(c.Also)), c.Room, int64(c.Mass), c.Weighed.String(), toJSON(nonNil(c.Says)), toJSON(c.SaysMore), flag(c.Ended),
				toJSON(nonNil(c.Weighings)), c.BackLength, c.Hips, c.FromHospital.String()); err != nil {
				return err
			}
			return tx.weighed(s.Ref, c)
		}); err != nil {
			return im, fmt.Errorf("client %s: %w", c.Ref, err)
		}
	}
	for i, p := range s.People {
		if have, ok := old.Person(p.Ref); ok && p.Removed && !have.Removed {
			im.Removed = append(im.Removed, p.Ref)
		}
		if joined, err := tx.Joined(s.Ref, p.Ref); err != nil {
			return im, err
		} else if joined && !p.Removed {
			// The person's own choices outlive every file, but not their access.
			have, _ := old.Person(p.Ref)
			p.Lang, p.NoPictures = have.Lang, have.NoPictures
		}
		if err := merge(&im, old.People, p, func(x care.Person) bool { return x.Ref == p.Ref }, func() error {
			return tx.savePerson(s.Ref, len(old.People)+i, p)
		}); err != nil {
			return im, fmt.Errorf("person %s: %w", p.Ref, err)
		}
	}
	for i, r := range s.Ranges {
		if err := merge(&im, old.Ranges, r, func(x care.Range) bool { return x.Ref == r.Ref }, func() error {
			return tx.exec(`INSERT INTO ranges (site, ref, position, body) VALUES ($1, $2, $3, $4)
				ON CONFLICT (site, ref) DO UPDATE SET body = $4`, s.Ref, r.Ref, len(old.Ranges)+i, toJSON(r))
		}); err != nil {
			return im, fmt.Errorf("range %s: %w", r.Ref, err)
		}
	}
	for i, x := range s.Slings {
		have, known := old.Sling(x.Label)
		if x.State, x.Examined, err = tx.importEquipment(&im, s.Ref, x.Label, have.State, x.State, have.Examined, x.Examined, known); err != nil {
			return im, fmt.Errorf("sling %s: %w", x.Label, err)
		}
		if err := merge(&im, old.Slings, x, func(y care.Sling) bool { return y.Label == x.Label }, func() error {
			return tx.exec(`INSERT INTO slings (site, label, position, range_ref, size, state, examined, due, since, exceptional, serviced)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
				ON CONFLICT (site, label) DO UPDATE SET range_ref = $4, size = $5, state = $6, examined = $7, due = $8, since = $9, exceptional = $10, serviced = $11`,
				s.Ref, x.Label, len(old.Slings)+i, x.Range, x.Size, string(x.State), x.Last.String(), x.Due.String(),
				x.Since.String(), x.Exceptional.String(), x.Serviced.String())
		}); err != nil {
			return im, fmt.Errorf("sling %s: %w", x.Label, err)
		}
	}
	for i, h := range s.Hoists {
		have, known := old.Hoist(h.Label)
		if h.State, h.Examined, err = tx.importEquipment(&im, s.Ref, h.Label, have.State, h.State, have.Examined, h.Examined, known); err != nil {
			return im, fmt.Errorf("hoist %s: %w", h.Label, err)
		}
		if err := merge(&im, old.Hoists, h, func(y care.Hoist) bool { return y.Label == h.Label }, func() error {
			return tx.exec(`INSERT INTO hoists (site, label, position, name, kind, attachment, bar_points, swl, bar_swl, state, examined, due, since, exceptional, serviced)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
				ON CONFLICT (site, label) DO UPDATE SET name = $4, kind = $5, attachment = $6, bar_points = $7, swl = $8, bar_swl = $9, state = $10, examined = $11, due = $12,
					since = $13, exceptional = $14, serviced = $15`,
				s.Ref, h.Label, len(old.Hoists)+i, h.Name, string(h.Kind), string(h.Attachment), h.BarPoints, int64(h.Limit), int64(h.BarLimit), string(h.State), h.Last.String(), h.Due.String(),
				h.Since.String(), h.Exceptional.String(), h.Serviced.String())
		}); err != nil {
			return im, fmt.Errorf("hoist %s: %w", h.Label, err)
		}
	}
	for _, p := range s.Plans {
		if err := tx.importPlan(s.Ref, p, &im); err != nil {
			return im, err
		}
	}
	if im.Nothing() {
		return im, nil
	}
	return im, tx.touch(s.Ref)
}

func (tx *Tx) importPlan(site string, p care.Plan, im *Imported) error {
	newest, err := tx.newestPlan(site, p.Client)
	if err != nil {
		return err
	}
	stated := p.Version
	p.From = p.From.UTC()
	if recorded, err := tx.samePlan(site, p); err != nil || recorded {
		return err
	}
	if newest.Version > 0 {
		p.Version = newest.Version
		if same(p, newest) {
			return nil
		}
	}
	p.Version = max(newest.Version+1, stated)
	change, err := tx.recordPlan(site, p)
	if err != nil {
		return err
	}
	if p.Draft {
		im.Drafts++
		return nil
	}
	im.Plans = append(im.Plans, change)
	return nil
}

// recordPlan keeps a version under the number it has.
func (tx *Tx) recordPlan(site string, p care.Plan) (PlanChange, error) {
	c := PlanChange{Client: p.Client, After: p.Version, From: p.From, Urgent: p.Urgent}
	if _, err := tx.one(`SELECT coalesce(max(version), 0) FROM plans WHERE site = $1 AND client = $2 AND draft = 0`, []any{site, p.Client}, &c.Before); err != nil {
		return c, err
	}
	// The stored body keeps the author's own date; the column is what counts, so that
	// a change is never in force before anybody could know of it.
	if c.Before > 0 && c.From.Before(tx.Now) {
		c.From = tx.Now
	}
	return c, tx.exec(`INSERT INTO plans (site, client, version, from_at, recorded_at, draft, body) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		site, p.Client, p.Version, micros(c.From), micros(tx.Now), flag(p.Draft), toJSON(p))
}

// checkPlan finds a plan that was written from a version that has been replaced since.
func (tx *Tx) checkPlan(site string, p care.Plan) error {
	newest, err := tx.newestPlan(site, p.Client)
	if err != nil || p.Version == 0 || p.Version >= newest.Version {
		return err
	}
	p.From = p.From.UTC()
	if recorded, err := tx.samePlan(site, p); err != nil || recorded {
		return err
	}
	stated := p.Version
	p.Version = newest.Version
	if same(p, newest) {
		return nil
	}
	return &StalePlanError{Client: p.Client, File: stated, Have: newest.Version}
}

func (tx *Tx) newestPlan(site, client string) (care.Plan, error) {
	var p care.Plan
	_, err := tx.one(`SELECT body FROM plans WHERE site = $1 AND client = $2 ORDER BY version DESC LIMIT 1`, []any{site, client}, asJSON{&p})
	return p, err
}

// samePlan reports whether this very version is on record with the same contents.
func (tx *Tx) samePlan(site string, p care.Plan) (bool, error) {
	var have care.Plan
	ok, err := tx.one(`SELECT body FROM plans WHERE site = $1 AND client = $2 AND version = $3`, []any{site, p.Client, p.Version}, asJSON{&have})
	return ok && same(have, p), err
}

// Plan reads one version of a plan as it was recorded, with the instant from which
// it really held.
func (tx *Tx) Plan(site, client string, version int) (care.Plan, bool, error) {
	var p care.Plan
	var from int64
	ok, err := tx.one(`SELECT body, from_at FROM plans WHERE site = $1 AND client = $2 AND version = $3`, []any{site, client, version}, asJSON{&p}, &from)
	p.From = instant(from)
	return p, ok, err
}

// Written reads a site as its authors wrote it: like Site, but each plan carries the
// date its author gave it, even where it became known later. Export needs that, so
// that the file imports without a change.
func (tx *Tx) Written(ref string) (*care.Site, error) {
	// Not the shared site: it can still hold versions that have been replaced.
	if there, err := tx.Site(ref); err != nil || there == nil {
		return nil, err
	}
	s, err := tx.readSite(ref)
	if err != nil {
		return nil, fmt.Errorf("read site: %w", err)
	}
	for i, p := range s.Plans {
		if _, err := tx.one(`SELECT body FROM plans WHERE site = $1 AND client = $2 AND version = $3`, []any{ref, p.Client, p.Version}, asJSON{&s.Plans[i]}); err != nil {
			return nil, err
		}
	}
	// A draft that nothing newer has replaced is written too, so that it is not lost.
	drafts, err := list(tx, `SELECT body FROM plans p WHERE site = $1 AND draft = 1 AND NOT EXISTS (
			SELECT 1 FROM plans q WHERE q.site = p.site AND q.client = p.client AND q.version > p.version)`, []any{ref},
		func(p *care.Plan, scan func(...any) error) error { return scan(asJSON{p}) })
	if err != nil {
		return nil, err
	}
	s.Plans = append(s.Plans, drafts...)
	slices.SortStableFunc(s.Plans, func(a, b care.Plan) int {
		return cmp.Or(cmp.Compare(a.Client, b.Client), cmp.Compare(a.Version, b.Version))
	})
	return s, nil
}

// mergedShifts puts the shifts a file names in the place of those with their names. A
// shift that is no longer named stays: people may work it.
func mergedShifts(old, named []care.Shift) []care.Shift {
	out := slices.Clone(old)
	for _, s := range named {
		if i := slices.IndexFunc(out, func(o care.Shift) bool { return o.Name == s.Name }); i >= 0 {
			out[i] = s
		} else {
			out = append(out, s)
		}
	}
	return out
}

// merge writes v where it differs from what is there, and counts.
func merge[T any](im *Imported, have []T, v T, is func(T) bool, write func() error) error {
	for _, x := range have {
		if is(x) {
			if same(x, v) {
				return nil
			}
			im.Altered++
			return write()
		}
	}
	im.Added++
	return write()
}

// same compares two values by what they say: an empty list and none say the same.
func same(a, b any) bool {
	x, y := toJSON(a), toJSON(b)
	return x == y || reflect.DeepEqual(said(x), said(y))
}

func said(j string) any {
	var v any
	if err := json.Unmarshal([]byte(j), &v); err != nil {
		return j
	}
	var plain func(any) any
	plain = func(v any) any {
		switch v := v.(type) {
		case []any:
			for i := range v {
				v[i] = plain(v[i])
			}
			if len(v) == 0 {
				return nil
			}
		case map[string]any:
			for k := range v {
				v[k] = plain(v[k])
			}
		}
		return v
	}
	return plain(v)
}

func nonNil[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

func flag(b bool) int {
	if b {
		return 1
	}
	return 0
}
