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
	sourceLOLER    = "LOLER 1998 (SI 1998/2307) reg 9(3)(a)(i) and (iv): persons, at least every 6 months, and after exceptional circumstances"
	sourceFDA      = "FDA, Patient Lifts: do not exceed the weight limit of the lift or the sling"
	sourceHSIS3    = "HSE, Getting to grips with hoisting people, HSIS3"
	sourceDevon    = "Devon County Council, DILIS hoist and sling checks"
	sourceYBE      = "Yorkshire Back Exchange with HSE, hoisting guidance: read and follow the plan"
	sourceGlos     = "Gloucestershire County Council, Moving and handling policy 7.7-7.8: review"
	sourceInquest  = "HSE inspector 2013, care press: the plan records size and type of sling for each transfer and how it is attached"
	sourceFDACarer = "FDA: determine how many caregivers are required before the lift"
	sourcePosture  = "HSE, HSIS3: loops make the person more reclined or upright; which way: a lift maker's article (maker withheld) and common practice, no source"
	sourceAccess   = "HSE, HSIS3: very little support; whom it does not suit: from memory, unverified"
	sourceLegs     = "makers' leaflets (makers withheld); whom each suits partly from memory, unverified"
	sourceFDASize  = "FDA, Patient Lifts: size from size, weight and hip measurement"
	sourceDLF      = "Disabled Living Foundation 2006, Choosing a mobile hoist: the right size as weight goes up or down"
	sourceOneCarer = "HSE: some hoists can be run by one person; the number comes from the individual's risk assessment (MHSWR 1999, from memory)"
	sourceWaters   = "T R Waters, AJN 2007;107(8):53-58: 35 lb for one caregiver, ideal conditions, a cooperative person"
	sourceHands    = "AORN Ergonomic Tool 3; Waters et al, AORN J 2011;93(5); P de Leva, J Biomech 1996;29:1223-30"
	sourceMUST     = "MUST, BAPEN, RCN crib card: unplanned loss in 3-6 months; a nutrition prompt only"
	sourceService  = "L Smith, Oldham Council and University of Salford: a service is not a thorough examination"
	sourceTraining = "court cases of 2007 and 2015 in the care press: workers not trained on that sling"
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

	"posture_reclined_for_seat": {},
	"posture_upright_for_head":  {},

	"head_control_no_support":   {"range"},
	"head_control_plan_says_no": {"range"},
	"toileting_sling_elsewhere": {"range"},
	"toileting_sling_control":   {"range", "caution"},
	"toileting_sling_doubt":     {"range", "caution"},

	"legs_hip_precautions": {"legs"},
	"legs_hips_look":       {"legs"},
	"legs_amputation":      {"legs"},
	"legs_dignity":         {"legs"},

	"size_other":          {"range", "size", "measure", "fits"},
	"size_between":        {"range", "size", "measure", "smaller", "larger"},
	"size_none":           {"range", "size", "measure"},
	"size_not_measured":   {"range", "size", "measure"},
	"size_border_crossed": {"range", "size", "mass", "before", "date"},

	"one_carer_not_assessed":      {},
	"one_carer_assessed_long_ago": {"date", "days"},
	"crew_too_small":              {"present", "carers"},
	"crew_rostered_too_small":     {"shift", "rostered", "carers"},

	"hands_two_hands":      {"limb", "mass", "table"},
	"hands_two_carers":     {"limb", "mass", "table"},
	"hands_device":         {"limb", "mass", "table"},
	"hands_over_one_carer": {"limb", "mass", "table"},
	"hands_not_applicable": {},

	"weight_loss":      {"before", "date", "mass", "months", "percent"},
	"weight_loss_much": {"before", "date", "mass", "months"},

	"review_wanted": {"trigger", "date"},

	"sign_off_missing": {"sign_off"},
	"sign_off_expired": {"sign_off", "until"},

	"service_no_examination": {"label", "serviced"},
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
