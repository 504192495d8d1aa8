package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/store"
)

// Of two who change the same version the second is refused, and nothing of theirs is
// written; a version is never in force before it was known.
func TestPublish(t *testing.T) {
	s := open(t)
	site := demo(t)
	load(t, s, now, site)
	base, ok := site.PlanAt("tilda", now)
	if !ok {
		t.Fatal("no plan in force")
	}
	publish := func(at time.Time, from time.Time, carers, based int) (done store.PlanChange, err error) {
		p := base
		p.Transfers = append([]care.Transfer(nil), base.Transfers...)
		p.Transfers[0].Carers, p.From = carers, from
		err = s.Update(context.Background(), at, func(tx *store.Tx) error {
			done, err = tx.Publish(site.Ref, p, based)
			return err
		})
		return done, err
	}
	later := now.Add(time.Hour)
	done, err := publish(later, now, 3, base.Version)
	if err != nil {
		t.Fatal(err)
	}
	if done.Client != "tilda" || done.Before != base.Version || done.After != base.Version+1 || !done.From.Equal(later) {
		t.Errorf("published as %+v", done)
	}
	_, err = publish(later, now, 4, base.Version)
	var stale *store.StalePlanError
	if !errors.As(err, &stale) || stale.File != base.Version || stale.Have != base.Version+1 {
		t.Fatalf("the second of two is answered %v", err)
	}
	have := siteAt(t, s, later)
	p, _ := have.PlanAt("tilda", later)
	if p.Version != base.Version+1 || p.Transfers[0].Carers != 3 || !p.From.Equal(later) {
		t.Errorf("in force is version %d with %d carers from %v", p.Version, p.Transfers[0].Carers, p.From)
	}
	// One that is still to come leaves this one in force until then.
	start := later.Add(48 * time.Hour)
	done, err = publish(later, start, 2, base.Version+1)
	if err != nil {
		t.Fatal(err)
	}
	for at, version := range map[time.Time]int{start.Add(-time.Second): base.Version + 1, start: done.After} {
		if p, _ := siteAt(t, s, at).PlanAt("tilda", at); p.Version != version {
			t.Errorf("at %v version %d is in force, want %d", at, p.Version, version)
		}
	}
}

// What is tried is seen while it is tried, and gone afterwards.
func TestTryUndoes(t *testing.T) {
	s := open(t)
	load(t, s, now, demo(t))
	changed := demo(t)
	changed.Clients = append([]care.Client(nil), changed.Clients...)
	changed.Clients[0].Room = "99"
	do(t, s, now, func(tx *store.Tx) error {
		return tx.Try(func() error {
			if _, err := tx.Import(changed); err != nil {
				return err
			}
			site, err := tx.Site(changed.Ref)
			if err == nil && site.Clients[0].Room != "99" {
				t.Errorf("while it is tried the room is %s", site.Clients[0].Room)
			}
			return err
		})
	})
	if room := siteAt(t, s, now).Clients[0].Room; room == "99" {
		t.Error("what was tried has stayed")
	}
	// A transaction goes on after what was tried has failed.
	do(t, s, now, func(tx *store.Tx) error {
		if err := tx.Try(func() error { return errUndo }); !errors.Is(err, errUndo) {
			t.Errorf("the error is %v", err)
		}
		_, err := tx.Import(changed)
		return err
	})
	if room := siteAt(t, s, now).Clients[0].Room; room != "99" {
		t.Errorf("the room is %s", room)
	}
}
