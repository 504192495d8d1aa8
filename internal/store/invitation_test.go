package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"samelift/internal/chat"
	"samelift/internal/store"
)

// claimed says what comes of showing a code.
func claimed(t *testing.T, s *store.Store, when time.Time, hash string, from chat.Address, use bool) error {
	t.Helper()
	var refused error
	do(t, s, when, func(tx *store.Tx) error {
		show := tx.Claim
		if use {
			show = tx.Use
		}
		who, err := show(hash, from)
		refused = err
		if err == nil && who != (store.Who{Site: "larch", Person: "magda"}) {
			t.Errorf("the invitation is for %v", who)
		}
		return nil
	})
	return refused
}

func invite(t *testing.T, s *store.Store, hash string) {
	t.Helper()
	do(t, s, now, func(tx *store.Tx) error { return tx.Invite("larch", "magda", "elena", hash, now.Add(24*time.Hour)) })
}

// A code lets in one address, once, for a day. Each line is what somebody does.
func TestInvitation(t *testing.T) {
	type act struct {
		says string
		hash string
		from chat.Address
		at   time.Duration
		use  bool
		want error
	}
	thief := at("thief")
	magda := at("magda")
	for _, c := range []struct {
		says string
		acts []act
	}{
		{"single use", []act{
			{"claims", "h1", magda, 0, false, nil},
			{"uses", "h1", magda, 0, true, nil},
			{"uses again", "h1", magda, 0, true, store.ErrInvitationUsed},
			{"shows it to another", "h1", thief, 0, false, store.ErrInvitationUsed},
		}},
		{"the first address that shows it has it", []act{
			{"claims", "h1", magda, 0, false, nil},
			{"claims again after a restart of the app", "h1", magda, time.Hour, false, nil},
			{"a thief comes second", "h1", thief, time.Hour, false, store.ErrInvitationUsed},
			{"and cannot use it", "h1", thief, time.Hour, true, store.ErrInvitationUsed},
			{"the same chat number of another transport is another address", "h1", chat.Address{Transport: "page", Chat: magda.Chat}, 0, false, store.ErrInvitationUsed},
			{"its owner can", "h1", magda, time.Hour, true, nil},
		}},
		{"a day long", []act{
			{"at the last instant", "h1", magda, 24 * time.Hour, false, nil},
			{"a microsecond later", "h1", magda, 24*time.Hour + time.Microsecond, false, store.ErrInvitationExpired},
			{"a claim does not make it longer", "h1", magda, 25 * time.Hour, true, store.ErrInvitationExpired},
		}},
		{"unknown", []act{
			{"a wrong code", "h2", magda, 0, false, store.ErrNoInvitation},
			{"no code", "", magda, 0, true, store.ErrNoInvitation},
		}},
	} {
		s := withDemo(t)
		invite(t, s, "h1")
		for _, a := range c.acts {
			if err := claimed(t, s, now.Add(a.at), a.hash, a.from, a.use); !errors.Is(err, a.want) || (err == nil) != (a.want == nil) {
				t.Errorf("%s: %s: %v, want %v", c.says, a.says, err, a.want)
			}
		}
	}
}

// A new invitation ends the older one, claimed or not, so that a code which went astray
// can be made worthless.
func TestNewInvitationEndsTheOlder(t *testing.T) {
	s := withDemo(t)
	invite(t, s, "h1")
	if err := claimed(t, s, now, "h1", at("thief"), false); err != nil {
		t.Fatal(err)
	}
	invite(t, s, "h2")
	if err := claimed(t, s, now, "h1", at("thief"), true); !errors.Is(err, store.ErrNoInvitation) {
		t.Errorf("the older invitation gives %v", err)
	}
	if err := claimed(t, s, now, "h2", at("magda"), true); err != nil {
		t.Errorf("the newer invitation gives %v", err)
	}
}

// A use that is undone leaves the invitation as it was: nobody loses their way in to a
// failed commit.
func TestUndoneUseLeavesTheInvitation(t *testing.T) {
	s := withDemo(t)
	invite(t, s, "h1")
	err := s.Update(context.Background(), now, func(tx *store.Tx) error {
		_, err := tx.Use("h1", at("magda"))
		return errors.Join(err, errUndo)
	})
	if !errors.Is(err, errUndo) {
		t.Fatal(err)
	}
	if err := claimed(t, s, now, "h1", at("elsewhere"), true); err != nil {
		t.Errorf("after the undo the invitation gives %v", err)
	}
}

// One phone is one person and one person is one phone. What waits to be sent goes
// where its reader is now; a phone that was left behind gets nothing more.
func TestJoinFromAnotherPhone(t *testing.T) {
	s := withDemo(t)
	join(t, s, "magda")
	do(t, s, now, func(tx *store.Tx) error {
		return errors.Join(
			queue(tx, "magda", store.LaneChange, "a change"),
			tx.SaveConversation(at("magda"), []byte(`{}`)),
			tx.SetGone(at("magda"), true),
			tx.Join("larch", "magda", at("new phone"), "pl"))
	})
	see(t, s, now, func(tx *store.Tx) error {
		_, old, err := tx.At(at("magda"))
		address, reached, err2 := tx.Address("larch", "magda")
		gone, err3 := tx.Unreachable("larch")
		conversation, err4 := tx.Conversation(at("magda"))
		if old || !reached || address != at("new phone") || len(gone) != 0 || conversation != nil {
			t.Errorf("the old phone is known %t, she is reached %t at %v, unreachable %v, the old talk %q", old, reached, address, gone, conversation)
		}
		due, err5 := tx.Due(9, []string{"post"})
		if len(due) != 1 || due[0].Out.To != at("new phone") {
			t.Errorf("what waits is %+v", due)
		}
		return errors.Join(err, err2, err3, err4, err5)
	})
	// Somebody else joins from the new phone.
	do(t, s, now, func(tx *store.Tx) error { return tx.Join("larch", "ines", at("new phone"), "es") })
	see(t, s, now, func(tx *store.Tx) error {
		who, _, err := tx.At(at("new phone"))
		_, reached, err2 := tx.Address("larch", "magda")
		due, err3 := tx.Due(9, []string{"post"})
		if who.Person != "ines" || reached || len(due) != 0 {
			t.Errorf("the phone is %v's, magda is reached %t, what waits is %+v", who, reached, due)
		}
		return errors.Join(err, err2, err3)
	})
}

// Blocking the bot is told to the coordinators once, not with every message that fails;
// a person who comes back is reached again.
func TestGoneAndBack(t *testing.T) {
	s := withDemo(t)
	join(t, s, "magda")
	for range 2 {
		do(t, s, now, func(tx *store.Tx) error { return tx.SetGone(at("magda"), true) })
	}
	do(t, s, now, func(tx *store.Tx) error {
		_, reached, err := tx.Address("larch", "magda")
		joined, err2 := tx.Joined("larch", "magda")
		gone, err3 := tx.Unreachable("larch")
		if reached || !joined || len(gone) != 1 || gone[0] != "magda" {
			t.Errorf("she is reached %t, joined %t, unreachable %v", reached, joined, gone)
		}
		w, ok, err4 := tx.TakeWake()
		if !ok || w.Kind != store.WakeUnreachable || w.Site != "larch" || w.Key != "magda" {
			t.Errorf("what is planned is %+v", w)
		}
		return errors.Join(err, err2, err3, err4)
	})
	do(t, s, now, func(tx *store.Tx) error {
		err := tx.SetGone(at("magda"), true)
		if w, ok, _ := tx.TakeWake(); ok {
			t.Errorf("it is told again: %+v", w)
		}
		return errors.Join(err, tx.SetGone(at("magda"), false))
	})
	see(t, s, now, func(tx *store.Tx) error {
		_, reached, err := tx.Address("larch", "magda")
		gone, err2 := tx.Unreachable("larch")
		if !reached || len(gone) != 0 {
			t.Errorf("after coming back she is reached %t, unreachable %v", reached, gone)
		}
		return errors.Join(err, err2)
	})
}
