package store_test

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/store"
)

// refs are the references of notes, in order.
func refs(notes []care.Note) string {
	var out []string
	for _, n := range notes {
		out = append(out, n.Ref)
	}
	return strings.Join(out, " ")
}

func incidentRefs(all []care.Incident) string {
	var out []string
	for _, i := range all {
		out = append(out, i.Ref)
	}
	return strings.Join(out, " ")
}

// record keeps a note of a client under the next reference.
func record(t testing.TB, s *store.Store, when time.Time, client string) string {
	t.Helper()
	var ref string
	do(t, s, when, func(tx *store.Tx) (err error) {
		if ref, err = tx.NextNoteRef("larch"); err != nil {
			return err
		}
		return tx.SaveNote("larch", care.Note{Ref: ref, Client: client, By: "magda", At: when, Outcome: care.AsPlanned})
	})
	return ref
}

// report keeps an incident under the next reference; the client may be empty.
func report(t testing.TB, s *store.Store, when time.Time, client string) string {
	t.Helper()
	var ref string
	do(t, s, when, func(tx *store.Tx) (err error) {
		if ref, err = tx.NextIncidentRef("larch"); err != nil {
			return err
		}
		return tx.SaveIncident("larch", care.Incident{Ref: ref, Client: client, By: "magda", At: when, Kind: care.NearMiss, Harm: care.HarmNone})
	})
	return ref
}

// A record reads back as it was written, with what was added, in order; the additions
// do not change it.
func TestRecordsRoundTrip(t *testing.T) {
	s := withDemo(t)
	eight := 8
	note := care.Note{
		Ref: "N-1", Client: "tilda", By: "magda", At: now, PlanVersion: 1, Transfer: "bed>chair", Outcome: care.Changed, Difference: "loops",
		Why: care.Text{Lang: "pl", Words: "Pętla była brudna <b>'; --"}, Borne: care.BorneBadly, Pain: &eight, Skin: care.SkinRed,
		SkinPart: care.Heel, SkinSide: care.Left, Mood: care.MoodAfraid, Text: care.Text{Lang: "ar", Words: "تعبت"},
	}
	zero := 0
	bare := care.Note{Ref: "N-2", Client: "tilda", By: "ines", At: now.Add(time.Microsecond), Outcome: care.NotDone, Pain: &zero}
	incident := care.Incident{Ref: "I-1", Client: "rosa", By: "ines", At: now, Kind: care.Fall, Harm: care.HarmMild, Where: care.Bath,
		Equipment: []string{"S-014", "H-01"}, Text: care.Text{Lang: "es", Words: "x"}, PlanVersion: 2}
	about := care.Incident{Ref: "I-2", By: "ines", At: now, Kind: care.EquipmentFault, Harm: care.HarmNotKnown}
	do(t, s, now, func(tx *store.Tx) error {
		return errors.Join(tx.SaveNote("larch", note), tx.SaveNote("larch", bare), tx.SaveIncident("larch", incident), tx.SaveIncident("larch", about))
	})
	added := []care.Addition{
		{By: "magda", At: now.Add(time.Hour), Text: care.Text{Lang: "pl", Words: "pierwszy"}},
		{By: "elena", At: now.Add(time.Hour), Text: care.Text{Lang: "en", Words: "second"}},
	}
	for _, a := range added {
		do(t, s, now.Add(time.Hour), func(tx *store.Tx) error {
			return errors.Join(tx.Add("larch", "N-1", a), tx.Add("larch", "I-1", a))
		})
	}
	note.Additions, incident.Additions = added, added
	see(t, s, now, func(tx *store.Tx) error {
		for _, want := range []care.Note{note, bare} {
			if have, ok, err := tx.Note("larch", want.Ref); !ok || err != nil || !reflect.DeepEqual(have, want) {
				t.Errorf("a note reads back as\n%+v\nwant\n%+v (%v)", have, want, err)
			}
		}
		for _, want := range []care.Incident{incident, about} {
			if have, ok, err := tx.Incident("larch", want.Ref); !ok || err != nil || !reflect.DeepEqual(have, want) {
				t.Errorf("an incident reads back as\n%+v\nwant\n%+v (%v)", have, want, err)
			}
		}
		_, note, err := tx.Note("larch", "N-99")
		_, other, err2 := tx.Note("elsewhere", "N-1")
		_, incident, err3 := tx.Incident("larch", "N-1")
		if note || other || incident {
			t.Error("a record was found that is not there")
		}
		return errors.Join(err, err2, err3)
	})
}

// References count up without a gap and without a repeat; one that was offered and not
// used is offered again, and an undone record takes none.
func TestReferencesCount(t *testing.T) {
	s := withDemo(t)
	next := func(want string) {
		t.Helper()
		for range 2 {
			if have := get(t, s, now, func(tx *store.Tx) (string, error) { return tx.NextNoteRef("larch") }); have != want {
				t.Errorf("the next note is %s, want %s", have, want)
			}
		}
	}
	next("N-1")
	record(t, s, now, "tilda")
	next("N-2")
	s.Update(context.Background(), now, func(tx *store.Tx) error {
		return errors.Join(tx.SaveNote("larch", care.Note{Ref: "N-2", Client: "tilda", By: "magda", At: now}), errUndo)
	})
	next("N-2")
	if ref := report(t, s, now, ""); ref != "I-1" {
		t.Errorf("incidents count by themselves: %s", ref)
	}
	err := s.Update(context.Background(), now, func(tx *store.Tx) error {
		return tx.SaveNote("larch", care.Note{Ref: "N-1", Client: "tilda", By: "magda", At: now})
	})
	if err == nil {
		t.Error("a second note was kept under one reference")
	}
	err = s.Update(context.Background(), now, func(tx *store.Tx) error {
		return tx.SaveNote("larch", care.Note{Ref: "N-2", Client: "nobody", By: "magda", At: now})
	})
	if err == nil {
		t.Error("a note about nobody was kept")
	}
	next("N-2")
}

// The newest notes come first, also of one instant and past the ninth.
func TestLastNotes(t *testing.T) {
	s := withDemo(t)
	for range 11 {
		record(t, s, now, "tilda")
	}
	record(t, s, now, "rosa")
	record(t, s, now.Add(-time.Hour), "tilda")
	for _, c := range []struct {
		client string
		limit  int
		want   string
	}{
		{"tilda", 3, "N-11 N-10 N-9"}, {"rosa", 3, "N-12"}, {"tilda", 100, "N-11 N-10 N-9 N-8 N-7 N-6 N-5 N-4 N-3 N-2 N-1 N-13"}, {"oskar", 3, ""},
	} {
		have := get(t, s, now, func(tx *store.Tx) ([]care.Note, error) { return tx.LastNotes("larch", c.client, c.limit) })
		if refs(have) != c.want {
			t.Errorf("the last %d notes of %s are %s, want %s", c.limit, c.client, refs(have), c.want)
		}
	}
}

// A handover tells what happened from its start on and before its end, so that nothing
// is told twice and nothing falls between two handovers.
func TestSince(t *testing.T) {
	s := withDemo(t)
	from, to := now, now.Add(8*time.Hour)
	tick := time.Microsecond
	record(t, s, from.Add(-tick), "tilda") // N-1, too early
	record(t, s, from, "tilda")            // N-2
	record(t, s, to.Add(-tick), "rosa")    // N-3
	record(t, s, to, "tilda")              // N-4, for the next
	record(t, s, from, "oskar")            // N-5, another's client
	report(t, s, from.Add(-tick), "tilda") // I-1, too early
	report(t, s, from, "rosa")             // I-2
	report(t, s, from, "")                 // I-3, about no client
	report(t, s, from, "oskar")            // I-4, another's client
	report(t, s, to, "")                   // I-5, for the next
	old := record(t, s, from.Add(-72*time.Hour), "tilda")
	oldIncident := report(t, s, from.Add(-72*time.Hour), "")
	untouched := record(t, s, from.Add(-72*time.Hour), "tilda")
	add := func(ref string, when time.Time) {
		do(t, s, when, func(tx *store.Tx) error {
			return tx.Add("larch", ref, care.Addition{By: "magda", At: when, Text: care.Text{Words: "more"}})
		})
	}
	add(untouched, from.Add(-tick))
	add(untouched, to)
	add(old, from)
	add(oldIncident, to.Add(-tick))
	for i, when := range []time.Time{from.Add(-tick), from, to.Add(-tick), to} {
		do(t, s, when, func(tx *store.Tx) error {
			_, err := tx.OpenChange("larch", care.Change{Client: "tilda", Before: i + 1, After: i + 2})
			return err
		})
	}
	do(t, s, from, func(tx *store.Tx) error {
		_, err := tx.OpenChange("larch", care.Change{Client: "oskar", Before: 1, After: 2})
		return err
	})
	for _, c := range []struct {
		says                      string
		clients                   []string
		notes, incidents, changes string
	}{
		{"of two clients", []string{"tilda", "rosa"}, old + " N-2 N-3", oldIncident + " I-2 I-3", "tilda-3 tilda-4"},
		{"of somebody without clients", nil, "", oldIncident + " I-3", ""},
		{"of a client to whom nothing happened", []string{"june"}, "", oldIncident + " I-3", ""},
	} {
		since := get(t, s, to, func(tx *store.Tx) (care.Since, error) { return tx.Since("larch", c.clients, from, to) })
		var changes []string
		for _, ch := range since.Changes {
			changes = append(changes, ch.ID)
		}
		if refs(since.Notes) != c.notes || incidentRefs(since.Incidents) != c.incidents || strings.Join(changes, " ") != c.changes {
			t.Errorf("%s: notes %s, incidents %s, changes %v; want %s, %s, %s", c.says, refs(since.Notes), incidentRefs(since.Incidents), changes, c.notes, c.incidents, c.changes)
		}
		if !since.From.Equal(from) || !since.To.Equal(to) {
			t.Errorf("%s: it is from %s to %s", c.says, since.From, since.To)
		}
	}
	// Two stretches that touch tell everything once.
	later := get(t, s, to, func(tx *store.Tx) (care.Since, error) {
		return tx.Since("larch", []string{"tilda", "rosa"}, to, to.Add(time.Hour))
	})
	if refs(later.Notes) != untouched+" N-4" || incidentRefs(later.Incidents) != "I-5" || len(later.Changes) != 1 {
		t.Errorf("the next handover tells %s, %s, %v", refs(later.Notes), incidentRefs(later.Incidents), later.Changes)
	}
}

// A site with many clients fits into one question.
func TestSinceOfManyClients(t *testing.T) {
	s := withDemo(t)
	record(t, s, now, "tilda")
	clients := []string{"tilda"}
	for i := range 2000 {
		clients = append(clients, fmt.Sprint("c", i))
	}
	since := get(t, s, now, func(tx *store.Tx) (care.Since, error) { return tx.Since("larch", clients, now, now.Add(time.Hour)) })
	if refs(since.Notes) != "N-1" {
		t.Errorf("the notes are %s", refs(since.Notes))
	}
}

// Who was told and who confirmed is kept; the first time counts, and a confirmation is
// asked only for the newest change of each client.
func TestChanges(t *testing.T) {
	s := withDemo(t)
	save := func(hours time.Duration, client string, after int) {
		do(t, s, now.Add(hours*time.Hour), func(tx *store.Tx) error {
			c, err := tx.OpenChange("larch", care.Change{Client: client, Before: after - 1, After: after})
			if c.ID != fmt.Sprintf("%s-%d", client, after) {
				t.Errorf("the change is %+v", c)
			}
			return err
		})
	}
	save(0, "tilda", 9)
	save(1, "tilda", 10)
	save(2, "rosa", 2)
	open := func(who string) string {
		var ids []string
		for _, c := range get(t, s, now, func(tx *store.Tx) ([]care.Change, error) { return tx.Unconfirmed("larch", who) }) {
			ids = append(ids, c.ID)
		}
		return strings.Join(ids, " ")
	}
	if m, y, e := open("magda"), open("youssef"), open("elena"); m != "tilda-10 rosa-2" || y != "tilda-10" || e != "" {
		t.Errorf("to confirm are %q, %q and %q", m, y, e)
	}
	for hours := range time.Duration(2) {
		do(t, s, now.Add((3+hours)*time.Hour), func(tx *store.Tx) error {
			return errors.Join(tx.Told("larch", "tilda-10", "magda"), tx.Confirm("larch", "tilda-10", "magda"), tx.Confirm("larch", "tilda-10", "elena"))
		})
	}
	if m, y := open("magda"), open("youssef"); m != "rosa-2" || y != "tilda-10" {
		t.Errorf("then to confirm are %q and %q", m, y)
	}
	see(t, s, now, func(tx *store.Tx) error {
		c, ok, err := tx.Change("larch", "tilda-10")
		var told []string
		for _, f := range c.Told {
			told = append(told, f.Person)
			if want := (f.Person == "magda"); want != !f.At.IsZero() || want && !f.At.Equal(now.Add(3*time.Hour)) {
				t.Errorf("%s has confirmed at %s", f.Person, f.At)
			}
		}
		slices.Sort(told)
		if want := "grace ines magda priya tomasz youssef"; !ok || c.Client != "tilda" || c.Before != 9 || c.After != 10 || !c.At.Equal(now.Add(time.Hour)) || strings.Join(told, " ") != want {
			t.Errorf("the change is %+v of %v", c, told)
		}
		_, ok, err2 := tx.Change("larch", "tilda-11")
		if ok {
			t.Error("a change was found that is not there")
		}
		newest, err3 := tx.Changes("larch", 2)
		if len(newest) != 2 || newest[0].ID != "rosa-2" || newest[1].ID != "tilda-10" {
			t.Errorf("the newest changes are %+v", newest)
		}
		return errors.Join(err, err2, err3)
	})
}
