package store_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/store"
)

// A question without a name is about the last client only where nothing about another
// has arrived unasked since; an answer to the person's own question does not count.
func TestToldOfOthers(t *testing.T) {
	tests := []struct {
		says   string
		client string
		lane   store.Lane
		when   time.Duration
		at     string
		want   bool
	}{
		{"a change of another's plan", "rosa", store.LaneChange, time.Minute, "ann", true},
		{"an alert about another", "rosa", store.LaneAlert, time.Minute, "ann", true},
		{"a reminder in the same instant", "rosa", store.LaneReminder, 0, "ann", true},
		{"a handover, which is about several", "", store.LaneHandover, time.Minute, "ann", true},
		{"a change of the same client's plan", "tilda", store.LaneChange, time.Minute, "ann", false},
		{"a change that came before", "rosa", store.LaneChange, -time.Minute, "ann", false},
		{"an answer", "rosa", store.LaneReply, time.Minute, "ann", false},
		{"a mark on an old card", "rosa", store.LaneEdit, time.Minute, "ann", false},
		{"what somebody else was told", "rosa", store.LaneChange, time.Minute, "ben", false},
	}
	for _, c := range tests {
		s := open(t)
		m := message(c.at, c.lane, "?")
		m.Client = c.client
		enqueue(t, s, now.Add(c.when), m)
		see(t, s, now, func(tx *store.Tx) error {
			got, err := tx.ToldOfOthers(chat.Address{Transport: at("ann").Transport, Chat: at("ann").Chat}, "tilda", now)
			if got != c.want {
				t.Errorf("%s: %t", c.says, got)
			}
			return err
		})
	}
}

// Of two sites in one database each knows a client by the same ref, and one phone has
// been in both: what was offered to the person before means nothing to the one after.
func TestAnOldButtonOfAnotherSite(t *testing.T) {
	s := withDemo(t)
	other := demo(t)
	other.Ref = "birch"
	load(t, s, now, other)
	offered := func() (pressed, typed bool) {
		see(t, s, now, func(tx *store.Tx) error {
			_, _, ok, err := tx.Pressed(at("phone"), "1.0")
			all, _, err2 := tx.Offered(at("phone"))
			pressed, typed = ok, len(all) > 0
			return errors.Join(err, err2)
		})
		return pressed, typed
	}
	m := message("grace", store.LaneReply, "?")
	m.Site, m.Out.To = "larch", at("phone")
	m.Out.Choices, m.Actions = [][]chat.Choice{{{Label: "Tilda"}}}, []json.RawMessage{[]byte(`{"do":"client","client":"tilda"}`)}
	do(t, s, now, func(tx *store.Tx) error { return tx.Join("larch", "grace", at("phone"), "en") })
	enqueue(t, s, now, m)
	if pressed, typed := offered(); !pressed || !typed {
		t.Errorf("hers: pressed %t, typed %t", pressed, typed)
	}
	for _, who := range []store.Who{{Site: "birch", Person: "grace"}, {Site: "larch", Person: "magda"}} {
		do(t, s, now, func(tx *store.Tx) error { return tx.Join(who.Site, who.Person, at("phone"), "en") })
		if pressed, typed := offered(); pressed || typed {
			t.Errorf("%+v has the phone now: pressed %t, typed %t", who, pressed, typed)
		}
	}
}

// What waits to be sent about a client who is taken from a carer goes, and so does what
// waits for a coordinator who becomes a carer; nothing else does.
func TestNothingWaitsAboutAClientWhoIsTakenAway(t *testing.T) {
	s := withDemo(t)
	join(t, s, "magda")
	join(t, s, "lucia")
	for _, who := range []string{"magda", "lucia"} {
		for _, client := range []string{"tilda", "rosa", ""} {
			m := message(who, store.LaneChange, "?")
			m.Site, m.Client = "larch", client
			enqueue(t, s, now, m)
		}
	}
	site := demo(t)
	for i := range site.People {
		if p := &site.People[i]; p.Ref == "magda" || p.Ref == "lucia" {
			p.Role, p.CaresFor = care.Carer, []string{"tilda"}
		}
	}
	load(t, s, now, site)
	got := get(t, s, now, func(tx *store.Tx) (n int, err error) { return tx.Queued() })
	if got != 4 {
		t.Errorf("%d messages wait; want those about Tilda and about nobody, two of each", got)
	}
}
