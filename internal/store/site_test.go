package store_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/store"
)

func langOf(t testing.TB, site *care.Site, ref string) string {
	t.Helper()
	p, ok := site.Person(ref)
	if !ok {
		t.Fatalf("there is no %s", ref)
	}
	return p.Lang
}

// A transaction that changes the site and is undone leaves no trace in the shared
// copy. It saw a revision that another transaction is then given for other contents, so
// a copy kept under that number would show everybody what never happened.
func TestUndoneChangeIsNeverShared(t *testing.T) {
	s := withDemo(t)
	var undone int64
	err := s.Update(context.Background(), now, func(tx *store.Tx) error {
		if err := tx.SetLang("larch", "magda", "ar"); err != nil {
			return err
		}
		site, revision, err := tx.SiteRevision("larch")
		if err != nil {
			return err
		}
		if lang := langOf(t, site, "magda"); lang != "ar" {
			t.Errorf("inside the transaction magda reads %s, want her choice", lang)
		}
		undone = revision
		return errUndo
	})
	if !errors.Is(err, errUndo) {
		t.Fatal(err)
	}
	if lang := langOf(t, siteAt(t, s, now), "magda"); lang != "pl" {
		t.Errorf("after the undo magda reads %s, want pl", lang)
	}
	do(t, s, now, func(tx *store.Tx) error { return tx.SetLang("larch", "tomasz", "es") })
	see(t, s, now, func(tx *store.Tx) error {
		site, revision, err := tx.SiteRevision("larch")
		if err != nil {
			return err
		}
		if revision != undone {
			t.Fatalf("this test expects revision %d to be given again, got %d", undone, revision)
		}
		if m, z := langOf(t, site, "magda"), langOf(t, site, "tomasz"); m != "pl" || z != "es" {
			t.Errorf("magda reads %s and tomasz %s, want pl and es", m, z)
		}
		return nil
	})
}

// While a change is open, everybody else sees the site as it was; after the commit they
// see it as it is.
func TestOpenChangeIsNotSeenByReaders(t *testing.T) {
	s := withDemo(t)
	before := siteAt(t, s, now)
	do(t, s, now, func(tx *store.Tx) error {
		if err := tx.SetLang("larch", "magda", "es"); err != nil {
			return err
		}
		if _, err := tx.Site("larch"); err != nil {
			return err
		}
		if lang := langOf(t, siteAt(t, s, now), "magda"); lang != "pl" {
			t.Errorf("a reader sees %s, which is not committed", lang)
		}
		return nil
	})
	if lang := langOf(t, siteAt(t, s, now), "magda"); lang != "es" {
		t.Errorf("after the commit magda reads %s, want es", lang)
	}
	if lang := langOf(t, before, "magda"); lang != "pl" {
		t.Error("a site that was handed out has been changed")
	}
	if first, second := siteAt(t, s, now), siteAt(t, s, now); first != second {
		t.Error("an unchanged site is read again every time")
	}
}

// Readers and a writer at once: each reader sees a site that was committed, whole, and
// never an older one than before.
func TestConcurrentReadersSeeCommittedSites(t *testing.T) {
	s := withDemo(t)
	langs := []string{"en", "pl", "es", "ar"}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			var last int64
			for ctx.Err() == nil {
				err := s.View(context.Background(), now, func(tx *store.Tx) error {
					site, revision, err := tx.SiteRevision("larch")
					if err != nil {
						return err
					}
					m, _ := site.Person("magda")
					z, _ := site.Person("tomasz")
					if m.Lang != z.Lang {
						return fmt.Errorf("revision %d shows half a change: %s and %s", revision, m.Lang, z.Lang)
					}
					if revision < last {
						return fmt.Errorf("revision %d after %d", revision, last)
					}
					last = revision
					return nil
				})
				if err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	for i := range 40 {
		err := s.Update(context.Background(), now, func(tx *store.Tx) error {
			for _, who := range []string{"magda", "tomasz"} {
				if err := tx.SetLang("larch", who, langs[i%4]); err != nil {
					return err
				}
			}
			if _, err := tx.Site("larch"); err != nil {
				return err
			}
			if i%3 == 0 {
				return errUndo
			}
			return nil
		})
		if err != nil && !errors.Is(err, errUndo) {
			t.Fatal(err)
		}
	}
	cancel()
	wg.Wait()
}

// Each client has the version that is in force at the transaction's own instant,
// whichever instants were asked about before: a message may wait for its turn while a
// change comes into force, and a change may come into force with nobody writing.
func TestPlanInForceAtTheInstantOfTheTransaction(t *testing.T) {
	for _, order := range [][]time.Duration{{0, 2}, {2, 0}, {0, 2, 0, 2}} {
		s := withDemo(t)
		change := *siteAt(t, s, now)
		p, ok := change.PlanAt("tilda", now)
		if !ok {
			t.Fatal("tilda has no plan in force")
		}
		p.Version, p.From = 2, now.Add(time.Hour)
		change.Plans = []care.Plan{p}
		load(t, s, now, &change)
		for _, hours := range order {
			when := now.Add(hours * time.Hour)
			have, ok := siteAt(t, s, when).PlanAt("tilda", when)
			if want := 1 + int(hours/2); !ok || have.Version != want {
				t.Errorf("asked in the order %v, %d h later version %d is in force, want %d", order, hours, have.Version, want)
			}
		}
	}
}
