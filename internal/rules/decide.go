package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"samelift/internal/care"
)

// decidable says which stops a named assessor may decide when a plan is changed. What
// does not stand here is never decided: what the plan is silent about, a load that is
// too great, loops that the sling does not have, left and right that differ without a
// word why, leg straps that the maker does not allow, a sling that does not fit the bar.
// Those are mended in the plan.
//
// Left and right that differ have a way of their own to their reason and assessor, on
// the point itself.
//
// Common practice, no source: which ones an assessor may decide is our reading of
// "provided a competent person has assessed it", and the least that keeps a plan from
// being unchangeable while a sling is in the wash.
var decidable = map[string]struct {
	// why limits it to some of the reasons why equipment cannot be used; nil means it
	// does not depend on one.
	why []string
	// lifts says that what was decided no longer stops a transfer. Where it is not set
	// the plan may be published, and its cards go on saying stop until the thing itself
	// has changed.
	lifts bool
}{
	// Somebody has looked at the sling and says that it supports the head.
	"head_support_unknown": {lifts: true},
	// What a sling or leg straps do not suit in general, somebody has assessed for this
	// person (handbook 3.3 and 3.4: "unless assessed", "where appropriate").
	"toileting_sling_elsewhere": {lifts: true},
	"toileting_sling_control":   {lifts: true},
	"legs_hip_precautions":      {lifts: true},
	// A weighing is arranged, and the plan is changed before it.
	"load_mass_unknown": {},
	// The thing comes back: the plan is right, and the carers wait for it.
	"hoist_not_usable":           {why: comesBack},
	"sling_not_usable":           {why: comesBack},
	"sling_and_spare_not_usable": {why: comesBack},
}

// comesBack are the reasons of Unusable that pass by themselves.
var comesBack = []string{string(care.InWash), string(care.AwaitingExamination), WhyExaminationOverdue, WhyExaminationVoid}

// MayDecide reports whether an assessor may decide findings with this key at all.
func MayDecide(key string) bool {
	_, ok := decidable[key]
	return ok
}

// Decidable reports whether a named assessor may decide this very finding.
func Decidable(f Finding) bool {
	d, ok := decidable[f.Key]
	if !ok || f.Severity != Stop {
		return false
	}
	for _, name := range []string{"why", "spare_why"} {
		if why, has := f.Args[name].(string); has && d.why != nil && !slices.Contains(d.why, why) {
			return false
		}
	}
	return true
}

// Lifts reports whether a decision about the finding takes its stop off the cards.
func Lifts(f Finding) bool { return Decidable(f) && decidable[f.Key].lifts }

// About says in one line what a finding is about, so that a decision holds for that and
// for nothing else.
func About(f Finding) string {
	var out []string
	for _, name := range slices.Sorted(maps.Keys(f.Args)) {
		out = append(out, fmt.Sprintf("%s=%v", name, f.Args[name]))
	}
	return strings.Join(out, " ")
}

// DecisionOn finds what an assessor has decided about a finding of a transfer.
func DecisionOn(plan care.Plan, t care.Transfer, f Finding) (care.Decision, bool) {
	for _, d := range plan.Decisions {
		if d.Finding == f.Key && d.Transfer == t.Key() && d.About == About(f) && d.Assessor != "" && !d.Reason.IsZero() {
			return d, true
		}
	}
	return care.Decision{}, false
}

// Decided turns a stop that a named assessor has decided, and that may be lifted at all,
// into a caution.
func Decided(plan care.Plan, t care.Transfer, all []Finding) []Finding {
	for i, f := range all {
		if _, ok := DecisionOn(plan, t, f); ok && Lifts(f) {
			all[i].Severity = Caution
		}
	}
	return all
}
