package rules_test

import (
	"testing"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// Which stops a named assessor may decide, and which of those then stop no longer.
func TestWhatAnAssessorMayDecide(t *testing.T) {
	for _, row := range []struct {
		words     string
		f         rules.Finding
		may, lift bool
	}{
		{"a load that is too great is nobody's to decide", rules.Finding{Key: "load_over", Severity: rules.Stop}, false, false},
		{"left and right that differ without a word why", rules.Finding{Key: "loops_differ_unexplained", Severity: rules.Stop}, false, false},
		{"a loop that the sling does not have", rules.Finding{Key: "loop_not_in_range", Severity: rules.Stop}, false, false},
		{"leg straps that the maker does not allow", rules.Finding{Key: "leg_straps_not_allowed", Severity: rules.Stop}, false, false},
		{"a loop sling on a clip bar", rules.Finding{Key: "attachment_mismatch", Severity: rules.Stop}, false, false},
		{"what the plan is silent about", rules.Finding{Key: "not_stated", Severity: rules.Stop, Args: map[string]any{"field": "loops"}}, false, false},
		{"a finding that this table does not know", rules.Finding{Key: "something_new", Severity: rules.Stop}, false, false},
		{"head support that nobody knows of: somebody has looked", rules.Finding{Key: "head_support_unknown", Severity: rules.Stop}, true, true},
		{"a toileting sling for another move: somebody has assessed it", rules.Finding{Key: "toileting_sling_elsewhere", Severity: rules.Stop}, true, true},
		{"leg straps against hip precautions: somebody has assessed it", rules.Finding{Key: "legs_hip_precautions", Severity: rules.Stop}, true, true},
		{"one carer alone needs its dated assessment, not a word", rules.Finding{Key: "one_carer_not_assessed", Severity: rules.Stop}, false, false},
		{"a person who is weighed on Friday; the card goes on saying stop", rules.Finding{Key: "load_mass_unknown", Severity: rules.Stop}, true, false},
		{"a sling in the wash comes back; the card goes on saying stop", rules.Finding{Key: "sling_not_usable", Severity: rules.Stop, Args: map[string]any{"why": "in_wash"}}, true, false},
		{"a sling that was taken out of use does not come back", rules.Finding{Key: "sling_not_usable", Severity: rules.Stop, Args: map[string]any{"why": "withdrawn"}}, false, false},
		{"a sling in the wash with a spare that is missing", rules.Finding{Key: "sling_and_spare_not_usable", Severity: rules.Stop, Args: map[string]any{"why": "in_wash", "spare_why": "missing"}}, false, false},
		{"a hoist whose examination is late is examined", rules.Finding{Key: "hoist_not_usable", Severity: rules.Stop, Args: map[string]any{"why": "examination_overdue"}}, true, false},
		{"a toileting sling for something else: somebody has assessed it", rules.Finding{Key: "toileting_sling_elsewhere", Severity: rules.Stop}, true, true},
		{"leg straps with hip precautions: somebody has assessed it", rules.Finding{Key: "legs_hip_precautions", Severity: rules.Stop}, true, true},
		{"a person who cannot hold the head in a sling without support", rules.Finding{Key: "head_control_no_support", Severity: rules.Stop}, false, false},
		{"one carer alone without a risk assessment", rules.Finding{Key: "one_carer_not_assessed", Severity: rules.Stop}, false, false},
		{"a caution needs no decision", rules.Finding{Key: "head_support_unknown", Severity: rules.Caution}, false, false},
	} {
		if rules.Decidable(row.f) != row.may || rules.Lifts(row.f) != row.lift {
			t.Errorf("%s: may be decided %v, lifts %v", row.words, rules.Decidable(row.f), rules.Lifts(row.f))
		}
	}
	if rules.MayDecide("load_over") || !rules.MayDecide("load_mass_unknown") {
		t.Error("MayDecide does not follow the table")
	}
}

// A decision holds for what it was made about, with a name and a reason, and for
// nothing else.
func TestADecisionHoldsForWhatItIsAbout(t *testing.T) {
	transfer := care.Transfer{From: care.Bed, To: care.Chair}
	found := func() []rules.Finding {
		return []rules.Finding{{Key: "head_support_unknown", Severity: rules.Stop, Args: map[string]any{"range": "Harbour"}}}
	}
	good := care.Decision{Finding: "head_support_unknown", About: rules.About(found()[0]), Transfer: "bed>chair", Reason: care.Text{Words: "seen"}, Assessor: "Marion"}
	for _, row := range []struct {
		words  string
		change func(*care.Decision)
		want   rules.Severity
	}{
		{"as it was made", func(*care.Decision) {}, rules.Caution},
		{"about another range", func(d *care.Decision) { d.About = "range=Ridge" }, rules.Stop},
		{"about another transfer", func(d *care.Decision) { d.Transfer = "chair>bed" }, rules.Stop},
		{"about another finding", func(d *care.Decision) { d.Finding = "load_mass_unknown" }, rules.Stop},
		{"without a name", func(d *care.Decision) { d.Assessor = "" }, rules.Stop},
		{"without a reason", func(d *care.Decision) { d.Reason = care.Text{} }, rules.Stop},
	} {
		d := good
		row.change(&d)
		if got := rules.Decided(care.Plan{Decisions: []care.Decision{d}}, transfer, found()); got[0].Severity != row.want {
			t.Errorf("%s: %v, want %v", row.words, got[0].Severity, row.want)
		}
	}
	over := []rules.Finding{{Key: "load_over", Severity: rules.Stop}}
	forced := care.Plan{Decisions: []care.Decision{{Finding: "load_over", Transfer: "bed>chair", Reason: care.Text{Words: "no"}, Assessor: "X"}}}
	if rules.Decided(forced, transfer, over)[0].Severity != rules.Stop {
		t.Error("a decision lifts a stop that nobody may decide")
	}
}
