package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

func pain(n int) *int { return &n }

// told writes a handover as one short word per item.
func told(items []rules.Item) []string {
	var out []string
	for _, it := range items {
		s := string(it.Kind) + " " + it.Client
		switch {
		case it.Incident != nil:
			s += " " + it.Incident.Ref
		case it.Change != nil && it.Unconfirmed:
			s += " unconfirmed"
		case it.Note != nil:
			s += " " + it.Note.Ref
		case it.Kind == rules.ItemEquipment:
			s += it.Label + " " + it.Why
		case it.Kind == rules.ItemQuiet:
			s += strings.Join(it.Clients, " ")
		case it.Kind == rules.ItemRest:
			s += fmt.Sprintf(" %d", len(it.Rest))
		}
		out = append(out, strings.TrimSpace(s))
	}
	return out
}

func handoverScene() (*care.Site, care.Person) {
	s := allWell()
	s.site.Clients = nil
	for _, ref := range []string{"tilda", "rosa", "oskar", "june", "amal"} {
		s.site.Clients = append(s.site.Clients, care.Client{Ref: ref, Name: ref})
	}
	return s.site, care.Person{Ref: "magda", Role: care.Carer, CaresFor: []string{"tilda", "rosa", "oskar", "june"}}
}

func at(minutes int) time.Time { return now.Add(time.Duration(minutes) * time.Minute) }

// What may hurt somebody in the next hour comes first. Common practice, no source.
func TestHandoverOrder(t *testing.T) {
	site, magda := handoverScene()
	since := care.Since{From: at(-600), To: at(0),
		Notes: []care.Note{
			{Ref: "N-1", Client: "tilda", At: at(-500), Outcome: care.AsPlanned, Borne: care.BorneWell},
			{Ref: "N-2", Client: "tilda", At: at(-400), Outcome: care.Changed, Difference: "loops"},
			{Ref: "N-3", Client: "rosa", At: at(-300), Outcome: care.AsPlanned, Skin: care.SkinRed},
			{Ref: "N-4", Client: "rosa", At: at(-200), Outcome: care.AsPlanned, Pain: pain(1)},
			{Ref: "N-5", Client: "rosa", At: at(-100), Outcome: care.AsPlanned, Pain: pain(2)},
			{Ref: "N-6", Client: "oskar", At: at(-90), Outcome: care.AsPlanned, Pain: pain(7), Skin: care.SkinBroken},
			{Ref: "N-7", Client: "oskar", At: at(-80), Outcome: care.Refused},
			{Ref: "N-8", Client: "oskar", At: at(-70), Outcome: care.AsPlanned, Borne: care.BorneBadly},
			{Ref: "N-9", Client: "amal", At: at(-60), Outcome: care.Refused},
		},
		Incidents: []care.Incident{
			{Ref: "I-1", Client: "rosa", At: at(-50), Harm: care.HarmNone},
			{Ref: "I-2", Client: "tilda", At: at(-150), Harm: care.HarmModerate},
			{Ref: "I-3", At: at(-20), Harm: care.HarmNone},
			{Ref: "I-4", Client: "amal", At: at(-10), Harm: care.HarmSevere},
		},
		Changes: []care.Change{
			{Client: "rosa", At: at(-30), Told: []care.Confirmation{{Person: "magda", At: at(-20)}}},
			{Client: "tilda", At: at(-40), Told: []care.Confirmation{{Person: "magda"}}},
			{Client: "amal", At: at(-45)},
		},
	}
	site.Slings[0].State = care.InWash
	site.Hoists[0].Due = today.AddDays(3)
	want := []string{
		"incident tilda I-2", "incident rosa I-1", "change tilda unconfirmed", "change rosa", "not_done oskar N-7",
		"pain oskar N-6", "pain rosa N-5", "badly_borne oskar N-8", "skin rosa N-3", "different tilda N-2",
		"equipment S-1 in_wash", "equipment H-1", "rest tilda 1", "rest rosa 1", "quiet june",
	}
	got := told(rules.Handover(site, magda, since))
	if !slices.Equal(got, want) {
		t.Errorf("handover:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestHandoverOfAnIncidentAboutNoClientGoesToCoordinators(t *testing.T) {
	site, magda := handoverScene()
	since := care.Since{To: now, Incidents: []care.Incident{{Ref: "I-3", Harm: care.HarmNone}}}
	if got := told(rules.Handover(site, magda, since)); slices.Contains(got, "incident  I-3") {
		t.Errorf("a carer hears %q", got)
	}
	elena := care.Person{Ref: "elena", Role: care.Coordinator}
	if got := told(rules.Handover(site, elena, since)); got[0] != "incident  I-3" {
		t.Errorf("a coordinator hears %q", got)
	}
}

func TestWhoHasNotConfirmedAChange(t *testing.T) {
	site, magda := handoverScene()
	elena := care.Person{Ref: "elena", Role: care.Coordinator}
	for _, c := range []struct {
		says   string
		person care.Person
		told   []care.Confirmation
		want   bool
	}{
		{"she was told and confirmed", magda, []care.Confirmation{{Person: "magda", At: at(-5)}}, false},
		{"she was told and did not", magda, []care.Confirmation{{Person: "magda"}}, true},
		{"she was never told", magda, nil, true},
		{"a colleague has not, which is not hers", magda, []care.Confirmation{{Person: "tomasz"}, {Person: "magda", At: at(-5)}}, false},
		{"a coordinator hears that somebody has not", elena, []care.Confirmation{{Person: "tomasz"}}, true},
		{"a coordinator hears that everybody has", elena, []care.Confirmation{{Person: "tomasz", At: at(-5)}}, false},
	} {
		since := care.Since{To: now, Changes: []care.Change{{Client: "tilda", At: at(-9), Told: c.told}}}
		if got := rules.Handover(site, c.person, since)[0]; got.Kind != rules.ItemChange || got.Unconfirmed != c.want {
			t.Errorf("%s: got %s, unconfirmed %v", c.says, got.Kind, got.Unconfirmed)
		}
	}
}

func TestHandoverWithNobodyQuietEndsWithoutThem(t *testing.T) {
	site, magda := handoverScene()
	magda.CaresFor = []string{"tilda"}
	since := care.Since{To: now, Notes: []care.Note{{Ref: "N-1", Client: "tilda", At: at(-5), Outcome: care.AsPlanned}}}
	if got := told(rules.Handover(site, magda, since)); !slices.Equal(got, []string{"rest tilda 1"}) {
		t.Errorf("got %q", got)
	}
}

func TestBrokenSkinComesBeforeRed(t *testing.T) {
	site, magda := handoverScene()
	since := care.Since{To: now, Notes: []care.Note{
		{Ref: "N-1", Client: "tilda", At: at(-9), Skin: care.SkinBroken},
		{Ref: "N-2", Client: "tilda", At: at(-5), Skin: care.SkinRed},
	}}
	got := told(rules.Handover(site, magda, since))
	if !slices.Equal(got[:2], []string{"skin tilda N-1", "skin tilda N-2"}) {
		t.Errorf("got %q", got)
	}
}

func TestEquipmentInAHandover(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(*care.Site)
		want  string
	}{
		{"due in seven days", func(s *care.Site) { s.Hoists[0].Due = today.AddDays(7) }, "equipment H-1"},
		{"due in eight days", func(s *care.Site) { s.Hoists[0].Due = today.AddDays(8) }, ""},
		{"the spare is missing", func(s *care.Site) { s.Slings[1].State = care.Missing }, "equipment S-2 missing"},
		{"a sling that no plan of theirs names", func(s *care.Site) { s.Slings[2].State = care.Missing }, ""},
		{"the hoist is gone from the list", func(s *care.Site) { s.Hoists = nil }, "equipment H-1 not_known"},
	} {
		site, magda := handoverScene()
		c.spoil(site)
		got := told(rules.Handover(site, magda, care.Since{To: now}))
		if c.want == "" && slices.ContainsFunc(got, func(s string) bool { return strings.HasPrefix(s, "equipment") }) || c.want != "" && got[0] != c.want {
			t.Errorf("%s: got %q, want %q", c.says, got, c.want)
		}
	}
}

func TestGives(t *testing.T) {
	for _, c := range []struct {
		says   string
		note   care.Note
		before *int
		want   []rules.ItemKind
	}{
		{"pain 4 is told", care.Note{Pain: pain(4)}, nil, []rules.ItemKind{rules.ItemPain}},
		{"pain 3 that was told first is not", care.Note{Pain: pain(3)}, nil, nil},
		{"pain 3 after 2 is rising", care.Note{Pain: pain(3)}, pain(2), []rules.ItemKind{rules.ItemPain}},
		{"pain 3 after 3 is not", care.Note{Pain: pain(3)}, pain(3), nil},
		{"pain was not asked", care.Note{}, pain(2), nil},
		{"skin that was not seen is no news", care.Note{Skin: care.SkinNotSeen}, nil, nil},
		{"done differently, without a word on what", care.Note{Outcome: care.Changed}, nil, []rules.ItemKind{rules.ItemDifferent}},
		{"a difference alone", care.Note{Outcome: care.AsPlanned, Difference: "loops"}, nil, []rules.ItemKind{rules.ItemDifferent}},
		{"refused with a bruise gives both", care.Note{Outcome: care.Refused, Skin: care.SkinBruise}, nil, []rules.ItemKind{rules.ItemNotDone, rules.ItemSkin}},
	} {
		if got := rules.Gives(c.note, c.before); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %q, want %q", c.says, got, c.want)
		}
	}
}

// Nothing of the person's clients is lost or told twice, nothing of others is told,
// and the order of kinds holds, whatever was written.
func TestHandoverTellsEverythingOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site, magda := handoverScene()
		refs := []string{"tilda", "rosa", "oskar", "june", "amal"}
		since := care.Since{From: at(-600), To: now}
		for i := range rapid.IntRange(0, 12).Draw(t, "notes") {
			n := care.Note{
				Ref: fmt.Sprint("N-", i), Client: rapid.SampledFrom(refs).Draw(t, "client"), At: at(-rapid.IntRange(0, 500).Draw(t, "ago")),
				Outcome: rapid.SampledFrom(care.Outcomes).Draw(t, "outcome"), Skin: rapid.SampledFrom(care.SkinAll).Draw(t, "skin"),
				Borne: rapid.SampledFrom(care.BorneAll).Draw(t, "borne"),
			}
			if rapid.Bool().Draw(t, "asked") {
				n.Pain = pain(rapid.IntRange(0, 10).Draw(t, "pain"))
			}
			since.Notes = append(since.Notes, n)
		}
		seen := map[string]int{}
		clients := map[string]bool{}
		last := 0
		for _, it := range rules.Handover(site, magda, since) {
			if k := slices.Index(rules.ItemKinds, it.Kind); k < last {
				t.Fatalf("%s comes too late", it.Kind)
			} else {
				last = k
			}
			if it.Note != nil {
				seen[it.Note.Ref]++
			}
			for _, n := range it.Rest {
				seen[n.Ref]++
			}
			clients[it.Client] = true
			for _, c := range it.Clients {
				clients[c] = true
			}
		}
		for _, n := range since.Notes {
			want := 1
			if n.Client == "amal" {
				want = 0
			}
			if seen[n.Ref] != want {
				t.Fatalf("%s about %s is told %d times", n.Ref, n.Client, seen[n.Ref])
			}
		}
		for _, ref := range refs[:4] {
			if !clients[ref] {
				t.Fatalf("%s is not spoken of", ref)
			}
		}
		if clients["amal"] {
			t.Fatal("somebody else's client is spoken of")
		}
	})
}
