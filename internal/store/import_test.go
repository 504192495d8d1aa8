package store_test

import (
	"bytes"
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// planOf takes the plan of a client out of a described site.
func planOf(t testing.TB, site *care.Site, client string) care.Plan {
	t.Helper()
	p, ok := site.PlanAt(client, now)
	if !ok {
		t.Fatalf("%s has no plan", client)
	}
	return p
}

// only is a description that names the site and some plans, as a coordinator sends it.
func only(site *care.Site, plans ...care.Plan) *care.Site {
	return &care.Site{Ref: site.Ref, Name: site.Name, Zone: site.Zone, Lang: site.Lang, EmergencyNumber: site.EmergencyNumber,
		InitialsOnly: site.InitialsOnly, HandoverLead: site.HandoverLead, Plans: plans}
}

// written exports a site.
func written(t testing.TB, s *store.Store, when time.Time) *care.Site {
	t.Helper()
	return get(t, s, when, func(tx *store.Tx) (*care.Site, error) { return tx.Written("larch") })
}

// The file that made a site can be sent again, on any day, and nobody is told anything.
func TestImportTwiceChangesNothing(t *testing.T) {
	s := open(t)
	site := demo(t)
	im := load(t, s, now, site)
	if !im.New || im.Nothing() || im.Added != len(site.People)+len(site.Clients)+len(site.Ranges)+len(site.Slings)+len(site.Hoists) || len(im.Plans) != len(site.Plans) {
		t.Errorf("the first import says %+v", im)
	}
	before := get(t, s, now, func(tx *store.Tx) (int64, error) { _, r, err := tx.SiteRevision("larch"); return r, err })
	for _, when := range []time.Time{now, now.AddDate(0, 1, 0)} {
		if im := load(t, s, when, demo(t)); !im.Nothing() || len(im.Removed) != 0 {
			t.Errorf("importing again says %+v", im)
		}
	}
	if after := get(t, s, now, func(tx *store.Tx) (int64, error) { _, r, err := tx.SiteRevision("larch"); return r, err }); after != before {
		t.Errorf("importing again took the site from revision %d to %d", before, after)
	}
}

// What the store gives back is what was described, to the last field. An empty list and
// none mean the same.
func TestImportKeepsEveryField(t *testing.T) {
	s := open(t)
	load(t, s, now, demo(t))
	have, want := siteAt(t, s, now), demo(t)
	byClient := func(a, b care.Plan) int {
		if a.Client < b.Client {
			return -1
		}
		return 1
	}
	slices.SortStableFunc(want.Plans, byClient)
	if !reflect.DeepEqual(have, want) {
		for i := range reflect.TypeFor[care.Site]().NumField() {
			h, w := reflect.ValueOf(*have).Field(i).Interface(), reflect.ValueOf(*want).Field(i).Interface()
			if !reflect.DeepEqual(h, w) {
				t.Errorf("%s: have %+v\nwant %+v", reflect.TypeFor[care.Site]().Field(i).Name, h, w)
			}
		}
	}
}

// A file that names one plan alone leaves everything else as it is.
func TestImportLeavesWhatIsNotNamed(t *testing.T) {
	s := withDemo(t)
	before := siteAt(t, s, now)
	change := read(t, sitefile.DemoChange(now), before)
	im := load(t, s, now, change)
	want := store.Imported{Plans: []store.PlanChange{{Client: "tilda", Before: 1, After: 2, From: now}}}
	if !reflect.DeepEqual(im, want) {
		t.Errorf("the import says %+v, want %+v", im, want)
	}
	after := siteAt(t, s, now)
	if !reflect.DeepEqual(before.Shifts, after.Shifts) || !reflect.DeepEqual(before.People, after.People) ||
		!reflect.DeepEqual(before.Clients, after.Clients) || !reflect.DeepEqual(before.Hoists, after.Hoists) ||
		!reflect.DeepEqual(before.Slings, after.Slings) || !reflect.DeepEqual(before.Ranges, after.Ranges) {
		t.Errorf("an import of one plan has changed something else:\n%+v\n%+v", before, after)
	}
	if p := planOf(t, after, "tilda"); p.Version != 2 || p.Transfers[0].Carers != 3 {
		t.Errorf("version %d with %d carers is in force, want 2 with 3", p.Version, p.Transfers[0].Carers)
	}
	if im := load(t, s, now.Add(time.Hour), read(t, sitefile.DemoChange(now), after)); !im.Nothing() {
		t.Errorf("the same change again says %+v", im)
	}
	old, ok := care.Plan{}, false
	see(t, s, now, func(tx *store.Tx) (err error) { old, ok, err = tx.Plan("larch", "tilda", 1); return err })
	if !ok || !reflect.DeepEqual(old, planOf(t, before, "tilda")) {
		t.Error("the version that was replaced is not on record as it was")
	}
}

// Entries are merged one by one: what a file names is altered or added, and what is new
// stands after what was there.
func TestImportMergesEntries(t *testing.T) {
	s := withDemo(t)
	before := siteAt(t, s, now)
	tilda, _ := before.Client("tilda")
	tilda.Room = "11"
	part := only(before)
	part.Clients = []care.Client{{Ref: "zora", Name: "Zora Quill"}, tilda}
	part.Shifts = []care.Shift{{Name: "late", Start: 14 * 60, End: 22 * 60}, {Name: "twilight", Start: 17 * 60, End: 23 * 60}}
	im := load(t, s, now, part)
	if im.Added != 1 || im.Altered != 2 {
		t.Errorf("%d added and %d altered, want 1 (a client) and 2 (a room, the shifts)", im.Added, im.Altered)
	}
	after := siteAt(t, s, now)
	if c, _ := after.Client("tilda"); c.Room != "11" || c.Name != tilda.Name {
		t.Errorf("the altered client is %+v", c)
	}
	if n := len(after.Clients); n != len(before.Clients)+1 || after.Clients[n-1].Ref != "zora" {
		t.Errorf("the new client does not stand last: %+v", after.Clients)
	}
	var names []string
	for _, x := range after.Shifts {
		names = append(names, x.Name)
	}
	if !slices.Equal(names, []string{"early", "late", "night", "twilight"}) || after.Shifts[1].End != 22*60 {
		t.Errorf("the shifts are %v", after.Shifts)
	}
}

// A changed plan becomes a version of its own, and holds from the import on where its
// author dates it back: nobody could have followed it before it was known.
func TestChangedPlanNeverHoldsBeforeItWasKnown(t *testing.T) {
	s := withDemo(t)
	site := siteAt(t, s, now)
	for _, c := range []struct {
		says       string
		from, want time.Time
	}{
		{"dated back", now.AddDate(0, 0, -3), now},
		{"dated ahead", now.Add(48 * time.Hour), now.Add(48 * time.Hour)},
	} {
		p := planOf(t, site, "tilda")
		p.Version, p.From, p.Author = 0, c.from, c.says
		im := load(t, s, now, only(site, p))
		if len(im.Plans) != 1 {
			t.Fatalf("%s: the import says %+v", c.says, im)
		}
		version := im.Plans[0].After
		see(t, s, now, func(tx *store.Tx) error {
			have, ok, err := tx.Plan("larch", "tilda", version)
			if !ok || !have.From.Equal(c.want) {
				t.Errorf("%s: version %d holds from %s, want %s", c.says, version, have.From, c.want)
			}
			return err
		})
		for _, w := range written(t, s, now).Plans {
			if w.Client == "tilda" && w.Version == version && !w.From.Equal(c.from) {
				t.Errorf("%s: the export dates it %s, its author wrote %s", c.says, w.From, c.from)
			}
		}
	}
	// A first plan is not a change: it keeps the day it was made for.
	if p := planOf(t, site, "tilda"); !p.From.Equal(planOf(t, demo(t), "tilda").From) {
		t.Errorf("the first plan holds from %s", p.From)
	}
}

// One client can have a version in force and versions to come; importing them again,
// together or alone, changes nothing.
func TestSeveralVersionsOfOnePlan(t *testing.T) {
	s := withDemo(t)
	site := siteAt(t, s, now)
	soon, later := planOf(t, site, "tilda"), planOf(t, site, "tilda")
	soon.Version, soon.From, soon.Author = 2, now.Add(24*time.Hour), "soon"
	later.Version, later.From, later.Author = 3, now.Add(72*time.Hour), "later"
	im := load(t, s, now, only(site, soon, later))
	want := []store.PlanChange{{Client: "tilda", Before: 1, After: 2, From: soon.From}, {Client: "tilda", Before: 2, After: 3, From: later.From}}
	if !reflect.DeepEqual(im.Plans, want) {
		t.Errorf("the import says %+v, want %+v", im.Plans, want)
	}
	for hours, version := range map[time.Duration]int{0: 1, 23: 1, 24: 2, 71: 2, 72: 3, 1000: 3} {
		when := now.Add(hours * time.Hour)
		if p, _ := siteAt(t, s, when).PlanAt("tilda", when); p.Version != version {
			t.Errorf("after %d h version %d is in force, want %d", hours, p.Version, version)
		}
	}
	first := planOf(t, site, "tilda")
	for _, plans := range [][]care.Plan{{soon, later}, {first, soon, later}, {soon}, {first}} {
		for _, when := range []time.Time{now, now.Add(25 * time.Hour), now.Add(100 * time.Hour)} {
			if im := load(t, s, when, only(site, plans...)); !im.Nothing() {
				t.Errorf("importing versions on record again says %+v", im)
			}
		}
	}
}

// A file written from a version that was replaced since would undo somebody's change
// without knowing of it. It is refused before anything of it is kept, in a transaction
// that can go on to say so.
func TestStalePlanIsRefusedBeforeAnythingIsWritten(t *testing.T) {
	s := withDemo(t)
	site := siteAt(t, s, now)
	load(t, s, now, read(t, sitefile.DemoChange(now), site))
	stale := planOf(t, site, "tilda")
	stale.Author = "somebody with an old file"
	file := only(site, stale)
	file.Name = "Another name"
	file.Clients = []care.Client{{Ref: "zora", Name: "Zora Quill"}}
	do(t, s, now, func(tx *store.Tx) error {
		_, err := tx.Import(file)
		var refused *store.StalePlanError
		if !errors.As(err, &refused) || refused.Client != "tilda" || refused.File != 1 || refused.Have != 2 {
			t.Errorf("a stale plan gives %v", err)
		}
		return nil // and commit, as the bot does with its answer
	})
	after := siteAt(t, s, now)
	if _, found := after.Client("zora"); found || after.Name != site.Name || planOf(t, after, "tilda").Version != 2 {
		t.Error("part of the refused file was kept")
	}
}

// An export is a file that can be sent back at once, at any stage of a plan's life, and
// changes nothing, here; and in an empty store it makes the same site.
func TestExportImportsWithoutChange(t *testing.T) {
	s := withDemo(t)
	load(t, s, now, read(t, sitefile.DemoChange(now), siteAt(t, s, now)))
	p := planOf(t, siteAt(t, s, now), "rosa")
	p.Version, p.From, p.Author = 0, now.Add(30*time.Hour), "next week"
	load(t, s, now, only(siteAt(t, s, now), p))
	join(t, s, "magda") // who chose English
	do(t, s, now, func(tx *store.Tx) error { return tx.Remove("larch", "priya") })
	for _, when := range []time.Time{now, now.Add(29 * time.Hour), now.Add(31 * time.Hour)} {
		export := written(t, s, when)
		if im := load(t, s, when, export); !im.Nothing() || len(im.Removed) != 0 {
			t.Errorf("sent back at %s, the export says %+v", when, im)
		}
		var file bytes.Buffer
		if err := sitefile.Write(&file, export); err != nil {
			t.Fatal(err)
		}
		if im := load(t, s, when, read(t, file.Bytes(), siteAt(t, s, when))); !im.Nothing() {
			t.Errorf("sent back as a file at %s, the export says %+v", when, im)
		}
		other := open(t)
		load(t, other, when, read(t, file.Bytes(), nil))
		if copied := written(t, other, when); !reflect.DeepEqual(copied, export) {
			t.Errorf("at %s an empty store makes of the export\n%+v\nwant\n%+v", when, copied, export)
		}
	}
}

// A person who has joined reads the language they chose, whatever a file says; before
// that the file decides.
func TestOwnChoiceOfLanguageOutlivesFiles(t *testing.T) {
	s := withDemo(t)
	join(t, s, "magda")
	file := demo(t)
	for i := range file.People {
		file.People[i].Lang = "es"
	}
	load(t, s, now, file)
	site := siteAt(t, s, now)
	if m, z := langOf(t, site, "magda"), langOf(t, site, "tomasz"); m != "en" || z != "es" {
		t.Errorf("magda reads %s and tomasz %s, want en and es", m, z)
	}
}

// Whoever is removed by a file learns nothing more, not even what waits to be sent, and
// loses their invitation; what they recorded stays.
func TestRemovedByFileLosesAccess(t *testing.T) {
	s := withDemo(t)
	join(t, s, "magda")
	join(t, s, "ines")
	do(t, s, now, func(tx *store.Tx) error {
		note := care.Note{Ref: "N-1", Client: "tilda", By: "magda", At: now, Outcome: care.AsPlanned}
		return errors.Join(
			queue(tx, "magda", store.LaneChange, "for magda"),
			queue(tx, "ines", store.LaneChange, "for ines"),
			tx.Invite("larch", "magda", "elena", "hash-of-magdas", now.Add(time.Hour)),
			tx.SaveConversation(at("magda"), []byte(`{}`)),
			tx.SetGone(at("magda"), true),
			tx.SaveNote("larch", note))
	})
	file := demo(t)
	for i := range file.People {
		file.People[i].Removed = file.People[i].Ref == "magda"
	}
	if im := load(t, s, now, file); !slices.Equal(im.Removed, []string{"magda"}) || im.Altered != 1 {
		t.Errorf("the import says %+v", im)
	}
	if im := load(t, s, now, file); !im.Nothing() || len(im.Removed) != 0 {
		t.Errorf("removing again says %+v", im)
	}
	do(t, s, now, func(tx *store.Tx) error {
		_, found, err := tx.At(at("magda"))
		_, reached, err2 := tx.Address("larch", "magda")
		joined, err3 := tx.Joined("larch", "magda")
		conversation, err4 := tx.Conversation(at("magda"))
		gone, err5 := tx.Unreachable("larch")
		due, err6 := tx.Due(10, []string{"post"})
		_, err7 := tx.Claim("hash-of-magdas", at("magda"))
		note, kept, err8 := tx.Note("larch", "N-1")
		if err := errors.Join(err, err2, err3, err4, err5, err6, err8); err != nil {
			return err
		}
		if found || reached || joined || conversation != nil || len(gone) != 0 || !errors.Is(err7, store.ErrNoInvitation) {
			t.Errorf("somebody removed is found %t, reached %t, joined %t, talks %q, unreachable %v, invited (%v)", found, reached, joined, conversation, gone, err7)
		}
		if len(due) != 1 || due[0].Person != "ines" {
			t.Errorf("what waits to be sent is %+v", due)
		}
		if !kept || note.By != "magda" {
			t.Error("the note of somebody removed is lost")
		}
		return nil
	})
	// Named as present again, they have to be invited anew.
	load(t, s, now, demo(t))
	site := siteAt(t, s, now)
	if p, _ := site.Person("magda"); p.Removed {
		t.Error("somebody named as present again is still removed")
	}
	see(t, s, now, func(tx *store.Tx) error {
		joined, err := tx.Joined("larch", "magda")
		gone, err2 := tx.Unreachable("larch")
		if joined || len(gone) != 0 {
			t.Errorf("somebody who came back has joined %t and is unreachable %v", joined, gone)
		}
		return errors.Join(err, err2)
	})
}
