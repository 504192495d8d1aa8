package bot

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"samelift/internal/care"
	"samelift/internal/dialog"
	"samelift/internal/store"
)

// The kinds of wakes.
const (
	wakeShift       = "shift"               // a shift is about to start; the key is its name
	wakeHandover    = "handover"            // one person is to be handed over to; the key is their ref
	wakeUnreachable = store.WakeUnreachable // nothing reaches a person any more; the key is their ref
)

// A shiftWake says which start of a shift a wake is for.
type shiftWake struct {
	Shift string    `json:"shift"`
	Start time.Time `json:"start"`
}

// planShifts plans the next start of every shift of a site anew.
func (b *Bot) planShifts(tx *store.Tx, site *care.Site) error {
	if err := tx.DropWakes(site.Ref, wakeShift); err != nil {
		return err
	}
	for _, s := range site.Shifts {
		// A shift whose handover is due now has still to come.
		if err := b.planShift(tx, site, s, tx.Now); err != nil {
			return err
		}
	}
	return nil
}

func (b *Bot) planShift(tx *store.Tx, site *care.Site, s care.Shift, after time.Time) error {
	start := s.NextStart(after, site.Location())
	body, err := json.Marshal(shiftWake{Shift: s.Name, Start: start})
	if err != nil {
		return err
	}
	if err := b.planBefore(tx, site, s, start); err != nil {
		return err
	}
	return tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeShift, Key: s.Name, Due: start.Add(-site.HandoverLead), Body: string(body)})
}

// Wake does the one thing that has been due longest, in a transaction that also deletes
// what woke it, so that a crash neither loses nor repeats it. It reports false when
// nothing is due. One that cannot be done is put off for a while, so that it does not stop
// every change, reminder and handover behind it.
func (b *Bot) Wake(ctx context.Context) (bool, error) {
	w, did, err := b.wake(ctx)
	if err == nil || !did || ctx.Err() != nil {
		return did, err
	}
	b.Log.Error("what is due could not be done and is put off", "kind", w.Kind, "error", err)
	w.Due = b.Now().Add(putOff)
	return true, b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error { return tx.SetWake(w) })
}

const putOff = time.Minute

func (b *Bot) wake(ctx context.Context) (w store.Wake, did bool, err error) {
	defer fellOver(&err)
	err = b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error {
		var ok bool
		var err error
		if w, ok, err = tx.TakeWake(); err != nil || !ok {
			return err
		}
		did = true
		site, revision, err := tx.SiteRevision(w.Site)
		if err != nil {
			return err
		}
		switch w.Kind {
		case wakeShift:
			return b.shiftStarts(tx, site, w)
		case wakeHandover:
			return b.handOver(tx, site, revision, w)
		case wakeExaminations:
			return b.examinations(tx, site, revision, w)
		case wakeTell:
			c, ok, err := tx.ChangeHead(site.Ref, w.Key)
			if err != nil || !ok || c.Old {
				return err
			}
			return b.tellMore(tx, site, revision, c, piece)
		case wakeRemind:
			return b.remind(tx, site, revision, w)
		case wakeForce:
			return b.comesIntoForce(tx, site, w)
		case wakeBefore:
			return b.beforeShift(tx, site, w)
		case wakePhone:
			return b.phone(tx, site, w)
		case wakeReturn:
			return b.returned(tx, site, revision, w)
		case wakeStale:
			return b.stale(tx, site, w)
		case wakeUnreachable:
			return b.unreachable(tx, site, w)
		}
		return fmt.Errorf("a wake of kind %q is not known", w.Kind)
	})
	if err != nil {
		return w, did, fmt.Errorf("wake: %w", err)
	}
	if did {
		b.Nudge()
	}
	return w, did, nil
}

// shiftStarts plans a handover for everybody coming on, each in a transaction of its
// own, and the next start of the shift.
func (b *Bot) shiftStarts(tx *store.Tx, site *care.Site, w store.Wake) error {
	var sw shiftWake
	if err := json.Unmarshal([]byte(w.Body), &sw); err != nil {
		return fmt.Errorf("read a shift's wake: %w", err)
	}
	shift, ok := shiftOf(site, sw.Shift)
	if !ok {
		return nil // the site has no such shift any more
	}
	after := sw.Start
	if tx.Now.After(after) {
		after = tx.Now
	}
	if err := b.planShift(tx, site, shift, after); err != nil {
		return err
	}
	// After an outage a handover comes late, but not for a shift that is over: what it
	// would have told stays for the next one.
	if _, end := shift.Span(care.DateOf(sw.Start.In(site.Location())), site.Location()); !tx.Now.Before(end) {
		return nil
	}
	for _, p := range site.People {
		if p.Role != care.Carer || p.Removed || !p.Works(shift.Name) {
			continue
		}
		if joined, err := tx.Joined(site.Ref, p.Ref); err != nil || !joined {
			if err != nil {
				return err
			}
			continue
		}
		if err := tx.SetWake(store.Wake{Site: site.Ref, Kind: wakeHandover, Key: p.Ref, Due: tx.Now, Body: w.Body}); err != nil {
			return err
		}
	}
	return nil
}

func shiftOf(site *care.Site, name string) (care.Shift, bool) {
	for _, s := range site.Shifts {
		if s.Name == name {
			return s, true
		}
	}
	return care.Shift{}, false
}

// handOver hands over to one person.
func (b *Bot) handOver(tx *store.Tx, site *care.Site, revision int64, w store.Wake) error {
	var sw shiftWake
	if err := json.Unmarshal([]byte(w.Body), &sw); err != nil {
		return fmt.Errorf("read a handover's wake: %w", err)
	}
	shift, ok := shiftOf(site, sw.Shift)
	if !ok {
		shift.Name = sw.Shift
	}
	me, known := site.Person(w.Key)
	address, reached, err := tx.Address(site.Ref, w.Key)
	if err != nil || !known || !reached {
		// Nothing is told, so nothing counts as told: it stays for the next handover.
		return err
	}
	t := b.turnOf(tx, site, me, address, 0)
	t.revision = revision
	effects := dialog.ShiftHandover(t.facts(b), shift, sw.Start)
	if t.records.err != nil {
		return t.records.err
	}
	return t.apply(effects)
}

// unreachable tells the coordinators that somebody has to be phoned.
func (b *Bot) unreachable(tx *store.Tx, site *care.Site, w store.Wake) error {
	who, ok := site.Person(w.Key)
	if !ok || who.Removed {
		return nil
	}
	for _, c := range site.Coordinators() {
		if c.Ref == w.Key {
			continue
		}
		address, ok, err := tx.Address(site.Ref, c.Ref)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		if _, err := b.turnOf(tx, site, c, address, 0).say(dialog.Unreachable(who)); err != nil {
			return err
		}
	}
	return nil
}
