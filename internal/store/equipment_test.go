package store_test

import (
	"context"
	"database/sql"
	"io/fs"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/pressly/goose/v3"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/store"
	"samelift/migrations"
)

// A file and the chat: who has the last word about a sling. Each row begins with S-014 in
// use, as the demo's file says; chat is what a person then does, files are the states that
// files say one after the other.
func TestFileAgainstChat(t *testing.T) {
	for _, c := range []struct {
		says  string
		chat  []care.EquipmentState
		files []care.EquipmentState
		want  care.EquipmentState
		kept  bool
	}{
		{"nothing in the chat: the file counts", nil, []care.EquipmentState{care.Withdrawn}, care.Withdrawn, false},
		{"and counts again", nil, []care.EquipmentState{care.Withdrawn, care.InUse}, care.InUse, false},
		{"yesterday's file does not put back what was taken out", []care.EquipmentState{care.Withdrawn}, []care.EquipmentState{care.InUse}, care.Withdrawn, false},
		{"nor does a file that says another thing than the last", []care.EquipmentState{care.Withdrawn}, []care.EquipmentState{care.InWash}, care.Withdrawn, true},
		{"nor an old file after a new one that knew of it", []care.EquipmentState{care.Withdrawn}, []care.EquipmentState{care.Withdrawn, care.InUse}, care.Withdrawn, true},
		{"a file takes out what the chat has in the wash", []care.EquipmentState{care.InWash}, []care.EquipmentState{care.Missing}, care.Missing, false},
		{"a file does not bring back what is in the wash", []care.EquipmentState{care.InWash}, []care.EquipmentState{care.InUse}, care.InWash, false},
		{"what a coordinator put back stays, whatever the same file said before", []care.EquipmentState{care.Withdrawn, care.InUse}, []care.EquipmentState{care.InUse}, care.InUse, false},
		{"a file that newly takes it out counts", []care.EquipmentState{care.Withdrawn, care.InUse}, []care.EquipmentState{care.Withdrawn}, care.Withdrawn, false},
	} {
		t.Run(c.says, func(t *testing.T) {
			s := open(t)
			site := demo(t)
			do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(site); return err })
			x, _ := site.Sling("S-014")
			state := x.State
			for _, to := range c.chat {
				do(t, s, now, func(tx *store.Tx) error {
					return tx.SetEquipment(site.Ref, care.EquipmentEvent{Label: x.Label, By: "grace", Cause: care.CauseFault, From: state, To: to, Was: x.Examined, Is: x.Examined})
				})
				state = to
			}
			kept := false
			for _, to := range c.files {
				next := *site
				next.Slings = []care.Sling{{Label: x.Label, Range: x.Range, Size: x.Size, State: to, Examined: x.Examined}}
				for range 2 { // the same file again changes nothing
					do(t, s, now, func(tx *store.Tx) error {
						im, err := tx.Import(&next)
						kept = kept || len(im.Kept) > 0
						return err
					})
				}
			}
			got, _ := get(t, s, now, func(tx *store.Tx) (*care.Site, error) { return tx.Site(site.Ref) }).Sling("S-014")
			if got.State != c.want || kept != c.kept {
				t.Errorf("the sling is %s, the file was refused aloud: %t; want %s, %t", got.State, kept, c.want, c.kept)
			}
		})
	}
}

// An older examination never takes the place of a newer one that was typed in the chat.
func TestFileAgainstTypedDates(t *testing.T) {
	d := func(s string) care.Date {
		d, err := care.ParseDate(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	s := open(t)
	site := demo(t)
	do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(site); return err })
	x, _ := site.Sling("S-014")
	typed := care.Examined{Last: d("2026-10-30"), Due: d("2027-04-30")}
	do(t, s, now, func(tx *store.Tx) error {
		return tx.SetEquipment(site.Ref, care.EquipmentEvent{Label: x.Label, By: "elena", Cause: care.CauseDates, From: x.State, To: x.State, Was: x.Examined, Is: typed})
	})
	for _, c := range []struct {
		says string
		file care.Examined
		want care.Examined
		kept bool
	}{
		{"the same file again", x.Examined, typed, false},
		{"another older day", care.Examined{Last: d("2026-10-01"), Due: d("2027-06-01")}, typed, true},
		{"no day at all", care.Examined{}, typed, true},
		{"a newer examination", care.Examined{Last: d("2026-11-01"), Due: d("2027-05-01")}, care.Examined{Last: d("2026-11-01"), Due: d("2027-05-01")}, false},
	} {
		next := *site
		next.Slings = []care.Sling{{Label: x.Label, Range: x.Range, Size: x.Size, State: x.State, Examined: c.file}}
		var im store.Imported
		do(t, s, now, func(tx *store.Tx) (err error) { im, err = tx.Import(&next); return err })
		got, _ := get(t, s, now, func(tx *store.Tx) (*care.Site, error) { return tx.Site(site.Ref) }).Sling("S-014")
		if got.Examined != c.want || (len(im.Kept) > 0) != c.kept {
			t.Errorf("%s: %+v, kept %v; want %+v, %t", c.says, got.Examined, im.Kept, c.want, c.kept)
		}
	}
}

// The history keeps every change in order, newest first, and a change that is undone is
// not in it.
func TestEquipmentHistory(t *testing.T) {
	s := open(t)
	site := demo(t)
	do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(site); return err })
	set := func(tx *store.Tx, from, to care.EquipmentState, at time.Time) error {
		return tx.SetEquipment(site.Ref, care.EquipmentEvent{Label: "H-01", By: "grace", At: at, Cause: care.CauseState, From: from, To: to, Reason: care.Text{Lang: "en", Words: string(to)}})
	}
	do(t, s, now.Add(time.Minute), func(tx *store.Tx) error { return set(tx, care.InUse, care.Withdrawn, tx.Now) })
	do(t, s, now.Add(2*time.Minute), func(tx *store.Tx) error { return set(tx, care.Withdrawn, care.InUse, tx.Now) })
	if err := s.Update(context.Background(), now, func(tx *store.Tx) error {
		if err := set(tx, care.InUse, care.Missing, tx.Now); err != nil {
			return err
		}
		return errUndo
	}); err == nil {
		t.Fatal("the undone change was kept")
	}
	got := get(t, s, now, func(tx *store.Tx) ([]care.EquipmentEvent, error) { return tx.EquipmentHistory(site.Ref, "H-01", 10) })
	if len(got) != 3 || got[0].To != care.InUse || got[1].To != care.Withdrawn || got[2].Cause != care.CauseFile || !got[1].At.Equal(now.Add(time.Minute)) || got[1].By != "grace" || got[1].Label != "H-01" {
		t.Errorf("the history is %+v", got)
	}
	if err := s.Update(context.Background(), now, func(tx *store.Tx) error {
		return tx.SetEquipment(site.Ref, care.EquipmentEvent{Label: "H-99", To: care.Withdrawn})
	}); err == nil {
		t.Error("equipment that is not there was changed")
	}
}

// A code means something in its own site only, and one thing has one code.
func TestLabelCodes(t *testing.T) {
	s := open(t)
	site := demo(t)
	do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(site); return err })
	other := *site
	other.Ref, other.People, other.Plans = "other", nil, nil
	do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(&other); return err })
	l := care.Labelled{Kind: care.SlingLabel, Ref: "S-014"}
	do(t, s, now, func(tx *store.Tx) error { return tx.KeepLabelCode(site.Ref, l, "abc") })
	see(t, s, now, func(tx *store.Tx) error {
		if got, ok, err := tx.Labelled(site.Ref, "abc"); err != nil || !ok || got != l {
			t.Errorf("its own site: %v, %t, %v", got, ok, err)
		}
		if _, ok, err := tx.Labelled("other", "abc"); err != nil || ok {
			t.Errorf("another site knows the code: %t, %v", ok, err)
		}
		if code, ok, err := tx.LabelCode(site.Ref, l); err != nil || !ok || code != "abc" {
			t.Errorf("the code reads back as %q, %t, %v", code, ok, err)
		}
		return nil
	})
	if err := s.Update(context.Background(), now, func(tx *store.Tx) error { return tx.KeepLabelCode(site.Ref, l, "def") }); err == nil {
		t.Error("one sling has two codes")
	}
}

// A database from before the register: its slings count as filed, and its site is woken
// once, so that the daily look begins without an import.
func TestRegisterOfAnOlderDatabase(t *testing.T) {
	path := filepath.Join(t.TempDir(), "old.db")
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	files, err := fs.Sub(migrations.SQLite, "sqlite")
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(context.Background(), 2); err != nil {
		t.Fatal(err)
	}
	for _, q := range []string{
		`INSERT INTO sites (ref, name, zone, lang, emergency_number, initials_only, handover_lead, shifts, revision) VALUES ('larch', 'Larch', 'UTC', 'en', '', 0, 0, '[]', 1)`,
		`INSERT INTO slings (site, label, position, range_ref, size, state, examined, due) VALUES ('larch', 'S-1', 0, 'r', 'M', 'withdrawn', '2026-01-01', '2026-07-01')`,
	} {
		if _, err := db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	if n := rawInt(t, path, `SELECT count(*) FROM equipment_filed WHERE label = 'S-1' AND state = 'withdrawn' AND due = '2026-07-01'`); n != 1 {
		t.Errorf("%d slings count as filed", n)
	}
	do(t, s, now, func(tx *store.Tx) error {
		w, ok, err := tx.TakeWake()
		if err == nil && (!ok || w.Kind != "examinations" || w.Body != "{}") {
			t.Errorf("the first wake is %+v", w)
		}
		return err
	})
}

// Who goes by a card: those to whom one was sent since, or is about to be.
func TestShownTo(t *testing.T) {
	s := open(t)
	site := demo(t)
	do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(site); return err })
	show := func(person, client string, version int, when time.Time) {
		do(t, s, when, func(tx *store.Tx) error {
			if err := tx.Join(site.Ref, person, at(person), "en"); err != nil {
				return err
			}
			id, err := tx.Enqueue(store.Message{Site: site.Ref, Person: person, Client: client, PlanVersion: version, Out: chat.Outbound{To: at(person), Body: []chat.Paragraph{{Text: "card"}}}})
			if err != nil {
				return err
			}
			return tx.Sent(id, "ref "+person)
		})
	}
	show("grace", "tilda", 1, now.Add(-time.Hour))
	show("ines", "tilda", 1, now.Add(-24*time.Hour))
	show("magda", "rosa", 1, now)
	show("tomasz", "tilda", 0, now)
	do(t, s, now, func(tx *store.Tx) error {
		_, err := tx.Enqueue(store.Message{Site: site.Ref, Person: "youssef", Client: "tilda", PlanVersion: 1, Out: chat.Outbound{To: at("youssef"), Body: []chat.Paragraph{{Text: "card"}}}})
		return err
	})
	got := get(t, s, now, func(tx *store.Tx) ([]string, error) { return tx.ShownTo(site.Ref, "tilda", now.Add(-12*time.Hour)) })
	if !slices.Equal(got, []string{"grace", "youssef"}) {
		t.Errorf("%v go by a card", got)
	}
}
