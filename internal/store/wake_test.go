package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"samelift/internal/store"
)

// take takes the next wake that is due.
func take(t *testing.T, s *store.Store, when time.Time) string {
	t.Helper()
	name := ""
	do(t, s, when, func(tx *store.Tx) error {
		w, ok, err := tx.TakeWake()
		if ok {
			name = w.Kind + "/" + w.Key + "/" + w.Body
		}
		return err
	})
	return name
}

// What is planned happens once, the longest due first, and not before its time.
func TestWakesInOrderAndOnce(t *testing.T) {
	s := withDemo(t)
	if _, waits, err := nextWake(t, s); waits || err != nil {
		t.Errorf("something waits in an empty plan (%v)", err)
	}
	do(t, s, now, func(tx *store.Tx) error {
		return errors.Join(
			tx.SetWake(store.Wake{Site: "larch", Kind: "k", Key: "late", Due: now.Add(2 * time.Hour), Body: "1"}),
			tx.SetWake(store.Wake{Site: "larch", Kind: "k", Key: "early", Due: now.Add(time.Hour), Body: "2"}),
			tx.SetWake(store.Wake{Site: "larch", Kind: "j", Key: "early", Due: now.Add(time.Hour), Body: "3"}),
			tx.SetWake(store.Wake{Site: "birch", Kind: "j", Key: "early", Due: now.Add(time.Hour), Body: "another site's"}))
	})
	if at, waits, err := nextWake(t, s); !waits || !at.Equal(now.Add(time.Hour)) || err != nil {
		t.Errorf("the next is due at %s, %t (%v)", at, waits, err)
	}
	if w := take(t, s, now.Add(time.Hour-time.Microsecond)); w != "" {
		t.Errorf("%s came before its time", w)
	}
	for _, want := range []string{"j/early/another site's", "j/early/3", "k/early/2", "k/late/1", ""} {
		if w := take(t, s, now.Add(2*time.Hour)); w != want {
			t.Errorf("then comes %q, want %q", w, want)
		}
	}
}

func nextWake(t *testing.T, s *store.Store) (at time.Time, waits bool, err error) {
	t.Helper()
	see(t, s, now, func(tx *store.Tx) error { at, waits, err = tx.NextWake(); return nil })
	return at, waits, err
}

// What woke a transaction that is undone wakes again: a crash neither loses nor repeats.
func TestUndoneWakeComesAgain(t *testing.T) {
	s := withDemo(t)
	do(t, s, now, func(tx *store.Tx) error { return tx.SetWake(store.Wake{Site: "larch", Kind: "k", Key: "x", Due: now}) })
	for range 2 {
		err := s.Update(context.Background(), now, func(tx *store.Tx) error {
			if _, ok, err := tx.TakeWake(); !ok || err != nil {
				t.Errorf("the wake is lost (%v)", err)
			}
			return errUndo
		})
		if !errors.Is(err, errUndo) {
			t.Fatal(err)
		}
	}
	if take(t, s, now) == "" || take(t, s, now) != "" {
		t.Error("want the wake once")
	}
}

// A thing is planned once: SetWake takes the place of an earlier plan, KeepWake leaves
// it, and DropWakes ends one kind of one site.
func TestPlanningAgain(t *testing.T) {
	s := withDemo(t)
	plan := func(body string, due time.Duration) store.Wake {
		return store.Wake{Site: "larch", Kind: "k", Key: "x", Due: now.Add(due), Body: body}
	}
	do(t, s, now, func(tx *store.Tx) error {
		return errors.Join(tx.SetWake(plan("first", time.Hour)), tx.KeepWake(plan("kept", 0)))
	})
	if at, _, _ := nextWake(t, s); !at.Equal(now.Add(time.Hour)) {
		t.Errorf("KeepWake moved it to %s", at)
	}
	do(t, s, now, func(tx *store.Tx) error { return tx.SetWake(plan("second", time.Minute)) })
	if w := take(t, s, now.Add(time.Minute)); w != "k/x/second" {
		t.Errorf("then comes %q", w)
	}
	do(t, s, now, func(tx *store.Tx) error {
		other := plan("other", 0)
		other.Kind = "other"
		return errors.Join(tx.KeepWake(plan("new", 0)), tx.SetWake(other), tx.DropWakes("larch", "k"), tx.DropWakes("birch", "other"))
	})
	if w := take(t, s, now); w != "other/x/other" {
		t.Errorf("after dropping the kind comes %q", w)
	}
}

// The stretch of the last handover begins, for somebody new, when they joined: what was
// before is not theirs to be told as news.
func TestHandedOver(t *testing.T) {
	s := withDemo(t)
	join(t, s, "magda")
	stretch := func() (from, to time.Time) {
		see(t, s, now, func(tx *store.Tx) (err error) { from, to, err = tx.HandedOver("larch", "magda"); return err })
		return from, to
	}
	if from, to := stretch(); !from.Equal(now) || !to.Equal(now) {
		t.Errorf("after joining it is %s to %s", from, to)
	}
	do(t, s, now, func(tx *store.Tx) error { return tx.SetHandedOver("larch", "magda", now, now.Add(time.Hour)) })
	if from, to := stretch(); !from.Equal(now) || !to.Equal(now.Add(time.Hour)) {
		t.Errorf("after a handover it is %s to %s", from, to)
	}
}
