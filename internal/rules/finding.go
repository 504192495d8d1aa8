package rules

import (
	"cmp"
	"slices"
)

// Severity is how much a finding weighs.
type Severity int

// The severities. Advice is good to know; Caution is to be read before the transfer;
// Stop means: do not do it, ask.
const (
	Advice Severity = iota + 1
	Caution
	Stop
)

// String gives the word that logs and tests use.
func (s Severity) String() string {
	return [...]string{"none", "advice", "caution", "stop"}[s]
}

// Finding is one thing a rule has found.
type Finding struct {
	// Key is one of Keys.
	Key      string
	Severity Severity
	// Args are the values the words need: ints, care.Mass, care.Date, time.Time, labels
	// and names as strings, and codes of care as strings.
	Args map[string]any
	// Source is where the fact behind the rule stands, in English.
	Source string
}

// Sources of the facts, as the handbook of the project cites them.
const (
	sourceLOLER    = "LOLER 1998 (SI 1998/2307) reg 9(3)(a)(i): equipment and accessories for lifting persons, at least every 6 months"
	sourceFDA      = "FDA, Patient Lifts: do not exceed the weight limit of the lift or the sling"
	sourceHSIS3    = "HSE, Getting to grips with hoisting people, HSIS3"
	sourceDevon    = "Devon County Council, DILIS hoist and sling checks"
	sourceYBE      = "Yorkshire Back Exchange with HSE, hoisting guidance: read and follow the plan"
	sourceGlos     = "Gloucestershire County Council, Moving and handling policy 7.7-7.8: review"
	sourceInquest  = "HSE inspector 2013, care press: the plan records size and type of sling for each transfer and how it is attached"
	sourceFDACarer = "FDA: determine how many caregivers are required before the lift"
	commonPractice = "common practice, no source"
)

// Keys lists every key a Finding can have and the arguments that come with it.
var Keys = map[string][]string{
	"client_ended":    {},
	"plan_not_yet":    {"version", "from"},
	"plan_superseded": {"version", "current"},
	"plan_suspended":  {"version", "since"},
	"plan_ended":      {"version", "since"},
	"plan_next_soon":  {"version", "from"},
	"review_overdue":  {"date", "days"},

	"not_stated": {"field"},

	"load_over":          {"mass", "limit", "part"},
	"load_near":          {"mass", "limit", "part", "margin"},
	"load_mass_unknown":  {},
	"load_limit_unknown": {"part", "label"},
	"mass_old":           {"date", "days"},
	"mass_date_unknown":  {},

	"hoist_not_known":            {"label"},
	"hoist_not_usable":           {"label", "why"},
	"sling_not_usable":           {"label", "why"},
	"sling_take_spare":           {"label", "why", "spare"},
	"sling_and_spare_not_usable": {"label", "why", "spare", "spare_why"},
	"sling_in_hand_not_usable":   {"label", "why"},
	"sling_other_than_plan":      {"label", "range", "size", "plan_range", "plan_size"},
	"sling_not_in_plan":          {"label", "plan_label"},
	"examination_soon":           {"label", "due", "days"},
	"examination_printed_later":  {"label", "printed", "computed"},

	"range_not_known":          {"range"},
	"size_not_known":           {"range", "size"},
	"attachment_mismatch":      {"sling", "bar", "hoist"},
	"bar_points_fewer":         {"bar", "straps"},
	"bar_points_unknown":       {"hoist"},
	"head_support_missing":     {"range"},
	"head_support_unknown":     {"range"},
	"leg_straps_not_allowed":   {"legs", "range"},
	"loop_not_stated":          {"point", "side"},
	"loop_not_in_range":        {"point", "loop", "count"},
	"loop_no_such_point":       {"point", "range"},
	"loops_differ":             {"point", "left", "right", "assessor"},
	"loops_differ_unexplained": {"point", "left", "right"},
}

// Worst gives the gravest severity among findings, zero if there are none.
func Worst(all []Finding) Severity {
	var worst Severity
	for _, f := range all {
		worst = max(worst, f.Severity)
	}
	return worst
}

// Of gives the findings of one severity in their order.
func Of(all []Finding, s Severity) []Finding {
	var out []Finding
	for _, f := range all {
		if f.Severity == s {
			out = append(out, f)
		}
	}
	return out
}

// gravestFirst orders findings by severity and keeps the rules' order within each.
func gravestFirst(all []Finding) []Finding {
	slices.SortStableFunc(all, func(a, b Finding) int { return cmp.Compare(b.Severity, a.Severity) })
	return all
}
