package store_test

import (
	"context"
	"database/sql"
	"encoding/json"
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

func act(t testing.TB, s *store.Store, when time.Time, a care.PlanAct) {
	t.Helper()
	do(t, s, when, func(tx *store.Tx) error {
		_, err := tx.ActOnPlan("larch", care.PlanEvent{Client: "tilda", Act: a, Version: 1, By: "elena"})
		return err
	})
}

// next records a version of a plan, in force from an instant.
func next(t testing.TB, s *store.Store, when time.Time, version int, from time.Time) {
	t.Helper()
	site := siteAt(t, s, when)
	p := planOf(t, demo(t), "tilda")
	p.Version, p.From, p.Author = version, from, "version "+string(rune('0'+version))
	load(t, s, when, only(site, p))
}

// A suspension stops every version on record, also one whose time comes later, and no
// version that is recorded after it; putting back lifts it; an end is an end.
func TestStopsHoldForWhatIsOnRecord(t *testing.T) {
	s := withDemo(t)
	at := func(hours int) time.Time { return now.Add(time.Duration(hours) * time.Hour) }
	inForce := func(hours int) int {
		t.Helper()
		p, ok := siteAt(t, s, at(hours)).PlanAt("tilda", at(hours))
		if !ok {
			return 0
		}
		return p.Version
	}
	next(t, s, at(0), 2, at(10))
	act(t, s, at(1), care.PlanSuspended)
	for hours, want := range map[int]int{1: 0, 9: 0, 10: 0, 100: 0} {
		if got := inForce(hours); got != want {
			t.Errorf("suspended after 1 h: after %d h version %d is in force", hours, got)
		}
	}
	if p, ok := siteAt(t, s, at(11)).PlanOnRecord("tilda", at(11)); !ok || p.Version != 2 || p.Stopped == nil || p.Stopped.Act != care.PlanSuspended || p.Stopped.By != "elena" {
		t.Errorf("whoever writes about the plan finds %+v, %v", p.Stopped, ok)
	}
	next(t, s, at(12), 3, at(20))
	if got := inForce(19); got != 0 {
		t.Errorf("before the new version's time version %d is in force", got)
	}
	if got := inForce(20); got != 3 {
		t.Errorf("a version recorded after the suspension: version %d is in force, want 3", got)
	}
	act(t, s, at(21), care.PlanSuspended)
	act(t, s, at(22), care.PlanInstead)
	if got := inForce(22); got != 0 {
		t.Errorf("suspended anew: version %d is in force", got)
	}
	act(t, s, at(23), care.PlanResumed)
	if got := inForce(23); got != 3 {
		t.Errorf("put back: version %d is in force, want 3", got)
	}
	act(t, s, at(24), care.PlanEnded)
	if got := inForce(1000); got != 0 {
		t.Errorf("ended: version %d is in force", got)
	}
	events := get(t, s, at(24), func(tx *store.Tx) ([]care.PlanEvent, error) { return tx.PlanEvents("larch", "tilda") })
	var acts []care.PlanAct
	for i, e := range events {
		if acts = append(acts, e.Act); e.Number != i+1 {
			t.Errorf("event %d has number %d", i+1, e.Number)
		}
	}
	if len(acts) != 5 {
		t.Errorf("on record are %v; nothing may be missing or overwritten", acts)
	}
}

// A draft takes a number and nothing else; putting it in force is a version of its own.
func TestDraftIsNobodysPlan(t *testing.T) {
	s := withDemo(t)
	p := planOf(t, siteAt(t, s, now), "tilda")
	p.Version, p.Draft, p.Author = 2, true, "draft"
	if im := load(t, s, now, only(siteAt(t, s, now), p)); im.Drafts != 1 || len(im.Plans) > 0 || im.Nothing() {
		t.Errorf("the import says %+v", im)
	}
	if got := planOf(t, siteAt(t, s, now), "tilda"); got.Version != 1 {
		t.Errorf("the site shows version %d", got.Version)
	}
	written := get(t, s, now, func(tx *store.Tx) (*care.Site, error) { return tx.Written("larch") })
	if im := load(t, s, now, written); !im.Nothing() {
		t.Errorf("what was written imports as %+v", im)
	}
	if i := slices.IndexFunc(written.Plans, func(p care.Plan) bool { return p.Draft }); i < 0 {
		t.Error("the draft is not written")
	}
	do(t, s, now, func(tx *store.Tx) error {
		if _, ok, err := tx.PublishDraft("larch", "tilda", 1); ok || err != nil {
			t.Errorf("what is no draft was put in force: %v, %v", ok, err)
		}
		c, ok, err := tx.PublishDraft("larch", "tilda", 2)
		if !ok || c.Before != 1 || c.After != 3 || !c.From.Equal(now) {
			t.Errorf("put in force as %+v, %v", c, ok)
		}
		return err
	})
	do(t, s, now, func(tx *store.Tx) error {
		_, ok, err := tx.PublishDraft("larch", "tilda", 2)
		if ok {
			t.Error("a draft was put in force twice")
		}
		return err
	})
	if got := planOf(t, siteAt(t, s, now), "tilda"); got.Version != 3 || got.Draft || got.Author != "draft" {
		t.Errorf("in force is %+v", got)
	}
	all := get(t, s, now, func(tx *store.Tx) ([]care.PlanRecord, error) { return tx.Versions("larch", "tilda") })
	if len(all) != 3 || !all[1].Plan.Draft {
		t.Errorf("on record are %d versions; the draft stays as it was", len(all))
	}
}

func enqueueCard(t testing.TB, s *store.Store, who string, version int, edits int64) (id int64) {
	t.Helper()
	do(t, s, now, func(tx *store.Tx) (err error) {
		id, err = tx.Enqueue(store.Message{Site: "larch", Person: who, Lane: store.LaneReply, Client: "tilda", PlanVersion: version, Edits: edits,
			Out: chat.Outbound{To: at(who)}, Actions: []json.RawMessage{json.RawMessage(`{}`)}})
		return err
	})
	return id
}

func sent(t testing.TB, s *store.Store, id int64, ref string) {
	t.Helper()
	do(t, s, now, func(tx *store.Tx) error { return tx.Sent(id, ref) })
}

// The newest cards of an address are seen to, once; what a later message has taken the
// place of is hidden; nobody's are left until somebody joins there.
func TestStaleCards(t *testing.T) {
	s := withDemo(t)
	join(t, s, "grace")
	first, second, third := enqueueCard(t, s, "grace", 1, 0), enqueueCard(t, s, "grace", 1, 0), enqueueCard(t, s, "grace", 2, 0)
	sent(t, s, first, "1")
	sent(t, s, second, "2")
	sent(t, s, third, "3")
	form := enqueueCard(t, s, "grace", 0, first)
	sent(t, s, form, "1")
	sent(t, s, enqueueCard(t, s, "magda", 1, 0), "1")
	take := func(who string) (cards []store.Card) {
		t.Helper()
		do(t, s, now, func(tx *store.Tx) (err error) {
			cards, err = tx.TakeStale("larch", "tilda", 1, at(who), 20)
			return err
		})
		return cards
	}
	holders := get(t, s, now, func(tx *store.Tx) ([]chat.Address, error) { return tx.StaleHolders("larch", "tilda", 1, 10) })
	if len(holders) != 2 {
		t.Errorf("cards are at %v, want two addresses", holders)
	}
	cards := take("grace")
	if len(cards) != 2 || cards[0].ID != second || cards[0].Hidden || cards[1].ID != first || !cards[1].Hidden {
		t.Errorf("cards of version 1: %+v; want %d, and %d hidden by a form", cards, second, first)
	}
	if again := take("grace"); len(again) > 0 {
		t.Errorf("cards were taken twice: %+v", again)
	}
	if nobody := take("magda"); len(nobody) > 0 {
		t.Errorf("cards of somebody who has not joined: %+v", nobody)
	}
	join(t, s, "magda")
	if _, planned, _ := wakeOf(t, s, store.WakeStale); !planned {
		t.Error("somebody has joined where old cards are, and nothing will see to them")
	}
	if back := take("magda"); len(back) != 1 {
		t.Errorf("after joining: %+v, want the one card", back)
	}
}

func wakeOf(t testing.TB, s *store.Store, kind string) (w store.Wake, ok bool, err error) {
	t.Helper()
	do(t, s, now, func(tx *store.Tx) error {
		for {
			if w, ok, err = tx.TakeWake(); err != nil || !ok || w.Kind == kind {
				return err
			}
		}
	})
	return w, ok, err
}

// A card that is sent after its plan was replaced or stopped wakes somebody to say so;
// one of the plan in force, or of one to come, does not.
func TestLateCardIsSeenTo(t *testing.T) {
	for _, row := range []struct {
		says    string
		version int
		do      func(*store.Store)
		want    bool
	}{
		{"the plan is in force", 1, func(*store.Store) {}, false},
		{"a newer one is in force", 1, func(s *store.Store) { next(t, s, now, 2, now) }, true},
		{"a newer one is still to come", 1, func(s *store.Store) { next(t, s, now, 2, now.Add(time.Hour)) }, false},
		{"it is the one to come", 2, func(s *store.Store) { next(t, s, now, 2, now.Add(time.Hour)) }, false},
		{"it is suspended", 1, func(s *store.Store) { act(t, s, now, care.PlanSuspended) }, true},
		{"it was suspended and put back", 1, func(s *store.Store) { act(t, s, now, care.PlanSuspended); act(t, s, now, care.PlanResumed) }, false},
		{"an older one was suspended", 2, func(s *store.Store) { act(t, s, now, care.PlanSuspended); next(t, s, now, 2, now) }, false},
	} {
		t.Run(row.says, func(t *testing.T) {
			s := withDemo(t)
			join(t, s, "grace")
			id := enqueueCard(t, s, "grace", row.version, 0)
			row.do(s)
			sent(t, s, id, "1")
			if _, planned, err := wakeOf(t, s, store.WakeStale); planned != row.want || err != nil {
				t.Errorf("somebody is woken: %v, want %v (%v)", planned, row.want, err)
			}
		})
	}
}

// An edit that says that a message is old gives way to something newer in its place, is
// never what typed words are compared with, and never counts as undelivered.
func TestOldMarksGiveWay(t *testing.T) {
	s := withDemo(t)
	join(t, s, "grace")
	card := enqueueCard(t, s, "grace", 1, 0)
	sent(t, s, card, "1")
	var mark int64
	do(t, s, now, func(tx *store.Tx) (err error) {
		mark, err = tx.Enqueue(store.Message{Site: "larch", Person: "grace", Lane: store.LaneEdit, Edits: card,
			Out: chat.Outbound{To: at("grace"), Choices: [][]chat.Choice{{{Label: "now"}}}}, Actions: []json.RawMessage{json.RawMessage(`{}`)}})
		return err
	})
	do(t, s, now, func(tx *store.Tx) error {
		if offered, _, err := tx.Offered(at("grace")); err != nil || len(offered) > 0 {
			t.Errorf("typed words are compared with %v (%v)", offered, err)
		}
		return tx.Ended(mark, false, "refused")
	})
	if counts := get(t, s, now, func(tx *store.Tx) (map[string]int, error) { return tx.Undelivered("larch") }); len(counts) > 0 {
		t.Errorf("an edit counts as undelivered: %v", counts)
	}
	do(t, s, now, func(tx *store.Tx) error {
		_, err := tx.Enqueue(store.Message{Site: "larch", Person: "grace", Lane: store.LaneEdit, Edits: card, Out: chat.Outbound{To: at("grace")}})
		return err
	})
	enqueueCard(t, s, "grace", 0, card)
	if n := get(t, s, now, func(tx *store.Tx) (int, error) { return tx.Queued() }); n != 1 {
		t.Errorf("%d messages wait, want only the newer one", n)
	}
}

// A database of before: what was not confirmed still is not, an older telling is old,
// one that was to come is seen to at its time, and so are the old cards.
func TestTellingsOfBefore(t *testing.T) {
	path := filepath.Join(t.TempDir(), "before.db")
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
	if _, err := p.UpTo(context.Background(), 1); err != nil {
		t.Fatal(err)
	}
	us, later := now.UnixMicro(), now.Add(time.Hour).UnixMicro()
	for _, q := range []string{
		`INSERT INTO sites VALUES ('larch', 'Larch', 'Europe/London', 'en', '999', 0, 0, '[]', 1, 0, 0)`,
		`INSERT INTO clients VALUES ('larch', 'tilda', 0, 'Tilda', '[]', '3', 0, '', '[]', '{}', 0)`,
		`INSERT INTO people (site, ref, position, name, role, lang, phone, shifts, removed) VALUES ('larch', 'grace', 0, 'Grace', 'carer', 'en', '', '[]', 0)`,
		`INSERT INTO cares_for VALUES ('larch', 'grace', 'tilda', 0)`,
	} {
		if _, err := db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	for i, from := range []int64{us, us, us, later} {
		for _, q := range []string{
			`INSERT INTO plans VALUES ('larch', 'tilda', $1, $3, $2, '{}')`,
			`INSERT INTO changes SELECT 'larch', 'tilda-' || $1, 'tilda', $1 - 1, $1, $2 WHERE $1 > 1 AND $3 > 0`,
			`INSERT INTO confirmations SELECT 'larch', 'tilda-' || $1, 'grace', $2, NULL WHERE $1 > 1 AND $3 > 0`,
		} {
			if _, err := db.Exec(q, i+1, us, from); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	mine := get(t, s, now, func(tx *store.Tx) ([]care.Change, error) { return tx.Unconfirmed("larch", "grace") })
	if len(mine) != 2 || mine[0].ID != "tilda-3" || mine[1].ID != "tilda-4" || !mine[1].From.Equal(now.Add(time.Hour)) {
		t.Errorf("not confirmed are %+v; want version 3, and 4 that is to come", mine)
	}
	if w, ok, err := wakeOf(t, s, store.WakeStale); !ok || w.Key != "tilda" || err != nil {
		t.Errorf("old cards are not seen to: %+v, %v, %v", w, ok, err)
	}
	at := get(t, s, now, func(tx *store.Tx) (time.Time, error) {
		next, _, err := tx.NextWake()
		return next, err
	})
	if !at.Equal(now.Add(time.Hour)) {
		t.Errorf("the next wake is at %s; want the time of the version to come", at)
	}
}
