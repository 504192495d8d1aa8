package rules_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// Handbook 9.4: what asks for a review before its day.
func TestTriggers(t *testing.T) {
	yesterday := now.AddDate(0, 0, -1)
	incident := func(k care.IncidentKind, at time.Time) func(*scene, *care.Since) {
		return func(_ *scene, s *care.Since) {
			s.Incidents = append(s.Incidents, care.Incident{Client: "tilda", Kind: k, At: at})
		}
	}
	note := func(n care.Note) func(*scene, *care.Since) {
		return func(_ *scene, s *care.Since) {
			n.Client, n.At = "tilda", yesterday
			s.Notes = append(s.Notes, n)
		}
	}
	for _, c := range []struct {
		says  string
		since func(*scene, *care.Since)
		want  string
	}{
		{"nothing has happened", func(*scene, *care.Since) {}, ""},
		{"a fall", incident(care.Fall, yesterday), "caution fall"},
		{"a fall before the plan came into force", incident(care.Fall, now.AddDate(0, 0, -21)), ""},
		{"a slip from the sling", incident(care.SlipFromSling, yesterday), "caution slip"},
		{"a skin tear", incident(care.SkinTear, yesterday), "caution skin_tear"},
		{"a near miss", incident(care.NearMiss, yesterday), "advice incident"},
		{"somebody else's fall", func(_ *scene, s *care.Since) {
			s.Incidents = []care.Incident{{Client: "rosa", Kind: care.Fall, At: yesterday}, {Kind: care.Fall, At: yesterday}}
		}, ""},
		{"broken skin", note(care.Note{Outcome: care.AsPlanned, Skin: care.SkinBroken}), "caution skin_damage"},
		{"red skin", note(care.Note{Outcome: care.AsPlanned, Skin: care.SkinRed}), "advice skin_red"},
		{"a refusal", note(care.Note{Outcome: care.Refused}), "advice refusal"},
		{"a visit as planned", note(care.Note{Outcome: care.AsPlanned}), ""},
		{"back from hospital", func(s *scene, _ *care.Since) { s.client.FromHospital = today.AddDays(-3) }, "caution hospital"},
		{"back from hospital before the plan began", func(s *scene, _ *care.Since) { s.client.FromHospital = today.AddDays(-30) }, ""},
		{"the hoist is new", func(s *scene, _ *care.Since) { s.site.Hoists[0].Since = today.AddDays(-2) }, "advice equipment"},
		{"the sling came on the day the plan began", func(s *scene, _ *care.Since) { s.site.Slings[0].Since = today.AddDays(-20) }, ""},
	} {
		s, since := allWell(), care.Since{}
		c.since(s, &since)
		got := rules.Triggers(s.site, s.client, s.plan, since)
		said := ""
		for _, f := range got {
			wantArgs(t, f)
			said = f.Severity.String() + " " + f.Args["trigger"].(string)
		}
		if said != c.want || len(got) > 1 {
			t.Errorf("%s: found %q, want %q", c.says, said, c.want)
		}
	}
}

// Two falls are one trigger with the later day, and the graver trigger comes first.
func TestTriggersOnceEach(t *testing.T) {
	s := allWell()
	got := rules.Triggers(s.site, s.client, s.plan, care.Since{
		Incidents: []care.Incident{{Client: "tilda", Kind: care.Fall, At: now.AddDate(0, 0, -1)}, {Client: "tilda", Kind: care.Fall, At: now.AddDate(0, 0, -9)}},
		Notes:     []care.Note{{Client: "tilda", Outcome: care.Refused, At: now}},
	})
	if len(got) != 2 || got[0].Args["date"] != today.AddDays(-1) || got[1].Args["trigger"] != "refusal" {
		t.Errorf("found %v", got)
	}
	// Handbook 9.4: review due is the earlier of the plan's day and the trigger's.
	if due := rules.ReviewDue(s.plan, got); due != today.AddDays(-1) {
		t.Errorf("due %s", due)
	}
	if due := rules.ReviewDue(s.plan, nil); due != s.plan.NextReview {
		t.Errorf("due %s", due)
	}
}

func TestMoreThatHappensIsNeverMilder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, since := allWell(), care.Since{}
		worst := func() rules.Severity { return rules.Worst(rules.Triggers(s.site, s.client, s.plan, since)) }
		for range 4 {
			before := worst()
			at := now.AddDate(0, 0, -rapid.IntRange(0, 30).Draw(t, "days ago"))
			if rapid.Bool().Draw(t, "incident") {
				since.Incidents = append(since.Incidents, care.Incident{Client: "tilda", Kind: rapid.SampledFrom(care.IncidentKinds).Draw(t, "kind"), At: at})
			} else {
				since.Notes = append(since.Notes, care.Note{Client: "tilda", Skin: rapid.SampledFrom(care.SkinAll).Draw(t, "skin"), Outcome: rapid.SampledFrom(care.Outcomes).Draw(t, "outcome"), At: at})
			}
			if after := worst(); after < before {
				t.Fatalf("%s became %s", before, after)
			}
		}
	})
}

func TestEveryTriggerIsListedOnce(t *testing.T) {
	all := rules.WantsReview()
	slices.Sort(all)
	if len(all) == 0 || len(slices.Compact(all)) != len(rules.WantsReview()) {
		t.Errorf("%v", all)
	}
}
