package store_test

import (
	"context"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// now is a Monday morning on which most tests happen.
var now = time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)

var errUndo = errors.New("undo this")

// at is an address of the messenger that these tests speak of.
func at(name string) chat.Address { return chat.Address{Transport: "post", Chat: name} }

// open makes a real database in a file of its own.
func open(t testing.TB) *store.Store {
	t.Helper()
	return openAt(t, filepath.Join(t.TempDir(), "samelift.db"))
}

func openAt(t testing.TB, path string) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// do writes, and fails the test where that fails.
func do(t testing.TB, s *store.Store, when time.Time, f func(*store.Tx) error) {
	t.Helper()
	if err := s.Update(context.Background(), when, f); err != nil {
		t.Fatal(err)
	}
}

// see reads, and fails the test where that fails.
func see(t testing.TB, s *store.Store, when time.Time, f func(*store.Tx) error) {
	t.Helper()
	if err := s.View(context.Background(), when, f); err != nil {
		t.Fatal(err)
	}
}

// get reads one thing.
func get[T any](t testing.TB, s *store.Store, when time.Time, f func(*store.Tx) (T, error)) T {
	t.Helper()
	var v T
	see(t, s, when, func(tx *store.Tx) (err error) {
		v, err = f(tx)
		return err
	})
	return v
}

// read reads a site file that has no faults.
func read(t testing.TB, data []byte, base *care.Site) *care.Site {
	t.Helper()
	site, faults := sitefile.Read(data, sitefile.Known{Site: base})
	for _, f := range faults {
		t.Error(f)
	}
	if site == nil {
		t.FailNow()
	}
	return site
}

func demo(t testing.TB) *care.Site { return read(t, sitefile.Demo(now), nil) }

// withDemo is a store that holds the demo site since a day.
func withDemo(t testing.TB) *store.Store {
	t.Helper()
	s := open(t)
	load(t, s, now.Add(-24*time.Hour), demo(t))
	return s
}

// load imports a site.
func load(t testing.TB, s *store.Store, when time.Time, site *care.Site) store.Imported {
	t.Helper()
	var im store.Imported
	do(t, s, when, func(tx *store.Tx) (err error) {
		im, err = tx.Import(site)
		return err
	})
	return im
}

// siteAt reads the demo site as it stands.
func siteAt(t testing.TB, s *store.Store, when time.Time) *care.Site {
	t.Helper()
	return get(t, s, when, func(tx *store.Tx) (*care.Site, error) { return tx.Site("larch") })
}

// join lets a person of the demo site in, from the address of their own name.
func join(t testing.TB, s *store.Store, who string) {
	t.Helper()
	do(t, s, now, func(tx *store.Tx) error { return tx.Join("larch", who, at(who), "en") })
}
