package rules_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

func signed(days int, kinds ...care.SignOffKind) []care.SignOff {
	var out []care.SignOff
	for _, k := range kinds {
		out = append(out, care.SignOff{For: k, Until: today.AddDays(days)})
	}
	return out
}

func TestSignOffs(t *testing.T) {
	all := []care.SignOffKind{"mobile", "full_body", care.Refresher}
	for _, c := range []struct {
		says  string
		spoil func(*scene, *care.Person)
		want  []string
	}{
		{"everything the transfer needs", func(*scene, *care.Person) {}, nil},
		{"the last day still counts", func(_ *scene, p *care.Person) { p.SignOffs = signed(0, all...) }, nil},
		{"all ended yesterday", func(_ *scene, p *care.Person) { p.SignOffs = signed(-1, all...) },
			[]string{"caution sign_off_expired", "caution sign_off_expired", "caution sign_off_expired"}},
		{"none at all, where others have some", func(_ *scene, p *care.Person) { p.SignOffs = nil },
			[]string{"caution sign_off_missing", "caution sign_off_missing", "caution sign_off_missing"}},
		{"the refresher is missing", func(_ *scene, p *care.Person) { p.SignOffs = signed(9, "mobile", "full_body") }, []string{"caution sign_off_missing"}},
		{"signed off for the ceiling hoist and not for this one", func(_ *scene, p *care.Person) { p.SignOffs = signed(9, "ceiling", "full_body", care.Refresher) }, []string{"caution sign_off_missing"}},
		{"a special sling has no kind of its own", func(s *scene, p *care.Person) {
			s.slingRange().Kind = care.OtherSling
			p.SignOffs = signed(9, "mobile", care.Refresher)
		}, nil},
		{"of two sign-offs the longer counts", func(_ *scene, p *care.Person) { p.SignOffs = append(signed(-5, all...), signed(5, all...)...) }, nil},
		{"a coordinator without any is taken not to lift", func(_ *scene, p *care.Person) { p.Role, p.SignOffs = care.Coordinator, nil }, nil},
		{"a coordinator with some is not", func(_ *scene, p *care.Person) { p.Role, p.SignOffs = care.Coordinator, signed(9, care.Refresher) },
			[]string{"caution sign_off_missing", "caution sign_off_missing"}},
		{"nobody of the site has any, so nothing is said", func(s *scene, p *care.Person) { s.site.People[1].SignOffs, p.SignOffs = nil, nil }, nil},
		{"the only one who had any has left", func(s *scene, p *care.Person) { s.site.People[1].Removed, p.SignOffs = true, nil }, nil},
	} {
		t.Run(c.says, func(t *testing.T) {
			s := allWell()
			s.site.People = []care.Person{{Ref: "me", Role: care.Carer, CaresFor: []string{"tilda"}, SignOffs: signed(90, all...)}, {Ref: "other", Role: care.Carer, SignOffs: signed(90, "ceiling")}}
			c.spoil(s, &s.site.People[0])
			got := rules.SignOffs(s.site, s.site.People[0], s.t, today)
			if !slices.Equal(found(got), c.want) {
				t.Errorf("found %q, want %q", found(got), c.want)
			}
			for _, f := range got {
				wantArgs(t, f)
			}
		})
	}
}

func TestSignOffsDue(t *testing.T) {
	s := allWell()
	person := func(ref string, offs ...care.SignOff) care.Person {
		return care.Person{Ref: ref, Role: care.Carer, CaresFor: []string{"tilda"}, SignOffs: offs}
	}
	s.site.People = []care.Person{
		person("well", signed(31, "mobile", "full_body", care.Refresher)...),
		person("soon", append(signed(30, care.Refresher), signed(90, "mobile", "full_body")...)...),
		person("over", append(signed(-1, "mobile"), signed(90, care.Refresher, "full_body")...)...),
		person("none"),
		{Ref: "gone", Role: care.Carer, Removed: true, SignOffs: signed(-9, "mobile")},
		{Ref: "boss", Role: care.Coordinator},
	}
	var got []string
	for _, d := range rules.SignOffsDue(s.site, now) {
		got = append(got, fmt.Sprint(d.Person.Ref, " ", d.For, " ", d.Until, " ", d.Over))
	}
	want := []string{"none mobile  true", "none full_body  true", "none refresher  true",
		"over mobile " + today.AddDays(-1).String() + " true", "soon refresher " + today.AddDays(30).String() + " false"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestLaterSignOffsAreNeverMilder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := allWell()
		me := care.Person{Ref: "me", Role: care.Carer, SignOffs: signed(rapid.IntRange(-40, 40).Draw(t, "until"), rapid.SliceOfDistinct(rapid.SampledFrom(care.SignOffKinds), func(k care.SignOffKind) care.SignOffKind { return k }).Draw(t, "kinds")...)}
		s.site.People = []care.Person{me, {Ref: "other", SignOffs: signed(1, "mobile")}}
		before := rules.SignOffs(s.site, me, s.t, today)
		after := rules.SignOffs(s.site, me, s.t, today.AddDays(rapid.IntRange(0, 90).Draw(t, "later")))
		if rules.Worst(after) < rules.Worst(before) || len(after) < len(before) {
			t.Fatalf("%v became %v", found(before), found(after))
		}
	})
}
