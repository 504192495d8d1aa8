package rules_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// Handbook 4: if the plan says two and one is present, do not go on.
func TestCrewPresent(t *testing.T) {
	for _, c := range []struct {
		says            string
		carers, present int
		want            []string
	}{
		{"two are needed and two are there", 2, 2, nil},
		{"two are needed and one is there", 2, 1, []string{"stop crew_too_small"}},
		{"two are needed and three are there", 2, 3, nil},
		{"one is needed and one is there", 1, 1, nil},
		{"nobody is there", 1, 0, []string{"stop crew_too_small"}},
		{"the plan states no number, which is a stop already", 0, 1, nil},
	} {
		got := rules.CrewPresent(care.Transfer{Carers: c.carers}, c.present)
		if !slices.Equal(found(got), c.want) {
			t.Errorf("%s: found %q, want %q", c.says, found(got), c.want)
		}
		for _, f := range got {
			wantArgs(t, f)
		}
	}
}

func TestCrewRostered(t *testing.T) {
	carer := func(ref string, shifts ...string) care.Person {
		return care.Person{Ref: ref, Role: care.Carer, CaresFor: []string{"tilda"}, Shifts: shifts}
	}
	s := allWell()
	s.site.People = []care.Person{carer("a", "early"), carer("b", "early", "late"), carer("c", "night"),
		{Ref: "d", Role: care.Carer, Shifts: []string{"late"}}, {Ref: "e", Role: care.Coordinator, Shifts: []string{"late"}}}
	for _, c := range []struct {
		says, shift string
		want        []string
	}{
		{"two care for her in the early shift", "early", nil},
		{"one does in the late: others work it, but not with her", "late", []string{"stop crew_rostered_too_small"}},
	} {
		got := rules.CrewRostered(s.site, "tilda", s.t, c.shift)
		if !slices.Equal(found(got), c.want) {
			t.Errorf("%s: found %q, want %q", c.says, found(got), c.want)
		}
		for _, f := range got {
			wantArgs(t, f)
		}
	}
}

// Fewer carers, or an older assessment for one alone, are never judged milder.
func TestSmallerCrewIsNeverMilder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := care.Transfer{Carers: rapid.IntRange(1, 4).Draw(t, "carers")}
		n := rapid.IntRange(0, 5).Draw(t, "present")
		if n > 0 && rules.Worst(rules.CrewPresent(tr, n-1)) < rules.Worst(rules.CrewPresent(tr, n)) {
			t.Fatalf("%d present of %d was judged worse than one fewer", n, tr.Carers)
		}
		tr.Carers, tr.OneCarerAssessed = 1, today.AddDays(-rapid.IntRange(0, 900).Draw(t, "assessed days ago"))
		before := rules.Worst(rules.Crew(tr, today))
		if after := rules.Worst(rules.Crew(tr, today.AddDays(rapid.IntRange(0, 400).Draw(t, "later")))); after < before {
			t.Fatalf("an older assessment: %s became %s", before, after)
		}
	})
}
