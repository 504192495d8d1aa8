package care

import (
	"strings"
	"time"
)

// Plan is one version of a client's transfer plan as its author wrote it.
// A recorded version never changes; a change is a new version.
type Plan struct {
	Client  string
	Version int
	// From is the instant from which this version is in force.
	From time.Time
	// AuthorRole is the author's professional role in their own words; Author may
	// name them, and must where a left-right difference is recorded.
	AuthorRole string
	Author     string
	Reason     Text
	NextReview Date
	Transfers  []Transfer
	// Cautions hold for every transfer of the plan.
	Cautions []Caution
	// Draft is a version that is not for anybody to follow. It has a number of its own,
	// and what is put in force later is the next version.
	Draft bool `json:",omitempty"`
	// Urgent is set by the author where a change has to be told before anything else.
	Urgent bool `json:",omitempty"`
	// Stopped says why the version may not be followed although its time has come, nil
	// for most. It is no part of what the author wrote.
	Stopped *PlanStop `json:"-"`
	// Decisions lists what a named assessor decided against a finding.
	Decisions []Decision `json:",omitempty"`
}

// Decision is a named assessor's word about something that the rules found against a
// transfer, kept in the version that it was made for.
type Decision struct {
	// Finding is the key of the finding, and About what exactly it said; a finding that
	// says something else is not decided.
	Finding string
	About   string
	// Transfer is the key of the transfer.
	Transfer string
	Reason   Text
	Assessor string
}

// Transfer is how one move is done, from one place to another.
type Transfer struct {
	From, To Place
	// BothWays says that the author wrote this for the way back as well.
	BothWays bool
	// Range, Size and Label name the sling; Spare is the label of the one to take
	// when it is not there.
	Range string
	Size  string
	Label string
	Spare string
	Hoist string
	// Loops has an entry for each point the author wrote about.
	Loops     []PointLoops
	LegStraps LegStraps
	Arms      Arms
	// HoistBrakes is what the brakes of the hoist do while it lifts and lowers.
	HoistBrakes Brakes
	// Carers is the number of carers, zero if not stated.
	Carers int
	// OneCarerAssessed is the day of the risk assessment that allows one carer alone,
	// zero if none is stated.
	OneCarerAssessed Date `json:",omitzero"`
	// Head says whether the head must be supported.
	Head YesNo
	// BedSetUp and SeatSetUp are the coded preparations; SetUpMore adds to them.
	BedSetUp  []SetUp
	SeatSetUp []SetUp
	SetUpMore Text
	// Stays says whether the sling stays under the person afterwards.
	Stays    YesNo
	Steps    []Step
	Cautions []Caution
}

// PointLoops is the loop to use at one point, counted from the shortest as 1.
// Zero means not stated.
type PointLoops struct {
	Point Point
	Left  int
	Right int
	// Reason and Assessor explain a difference between left and right.
	Reason   Text
	Assessor string
}

// Arms is where the person's arms go.
type Arms string

// Where the arms go.
const (
	ArmsInside  Arms = "inside"
	ArmsOutside Arms = "outside"
)

// ArmsAll lists both.
var ArmsAll = []Arms{ArmsInside, ArmsOutside}

// Brakes is a stated brake instruction.
type Brakes string

// The stated brake instructions.
const (
	BrakesOff Brakes = "off"
	BrakesOn  Brakes = "on"
)

// BrakesAll lists both.
var BrakesAll = []Brakes{BrakesOff, BrakesOn}

// SetUp is one coded preparation of the bed or the seat.
type SetUp string

// SetUps lists the coded preparations: of the bed first, then of the seat.
var SetUps = []SetUp{
	"bed_brakes_on", "bed_working_height", "bed_flat", "bed_head_raised", "bed_pillows_out", "bed_rails_down",
	"seat_brakes_on", "seat_footrests_away", "seat_tilted_back", "seat_upright", "seat_cushion_in", "seat_lid_off", "seat_armrest_down", "seat_beside_bed",
}

// Step is one step of a transfer: a code every language can render, or the
// author's own words.
type Step struct {
	Code StepCode
	Text Text
}

// StepCode names one coded step.
type StepCode string

// StepCodes lists the coded steps in the order in which they usually come. The
// plan decides which of them are done and when.
var StepCodes = []StepCode{
	"ask_agreement", "check_no_change", "check_equipment", "prepare_seat", "bed_brakes_on", "bed_to_working_height", "bed_flat",
	"roll_and_place_sling", "lean_forward_and_place_sling", "smooth_sling", "place_leg_straps", "raise_head_of_bed",
	"bring_hoist", "open_hoist_legs", "attach_shoulder", "attach_hip", "attach_leg", "compare_both_sides",
	"hoist_brakes_off", "hoist_brakes_on", "test_lift", "raise_just_clear", "guide_legs", "close_hoist_legs", "move_to_seat",
	"lower_to_seat", "guide_hips_back", "lower_to_bed", "detach", "hoist_away", "take_sling_out", "leave_sling", "position_comfortably", "call_bell",
}

// Caution is something to watch for, coded so that every reader has it in their
// own language, with the side and part it is about.
type Caution struct {
	Code CautionCode
	Side Side
	Part BodyPart
	Text Text
}

// CautionCode names one coded caution.
type CautionCode string

// CautionCodes lists the coded cautions.
var CautionCodes = []CautionCode{
	"pain", "fragile_skin", "pressure_injury", "contracture", "no_pulling", "no_weight_through", "weakness", "spasm",
	"hip_precautions", "amputation", "fracture_risk", "catheter", "feeding_tube", "oxygen_tube", "drip",
	"poor_head_control", "poor_trunk_control", "may_lean", "may_grab", "may_let_go", "afraid", "dizzy", "seizures",
	"breathless_when_flat", "tires_quickly", "hearing_aid", "glasses", "not_left_alone", "other",
}

// Key names the transfer within its plan: "bed>commode".
func (t Transfer) Key() string { return string(t.From) + ">" + string(t.To) }

// At gives what the plan says for a point.
func (t Transfer) At(p Point) PointLoops {
	for _, l := range t.Loops {
		if l.Point == p {
			return l
		}
	}
	return PointLoops{Point: p}
}

// Transfer finds a transfer by its key.
func (p Plan) Transfer(key string) (Transfer, bool) {
	for _, t := range p.Transfers {
		if t.Key() == key {
			return t, true
		}
	}
	return Transfer{}, false
}

// ParseTransferKey splits what Key joined.
func ParseTransferKey(key string) (from, to Place) {
	f, t, _ := strings.Cut(key, ">")
	return Place(f), Place(t)
}
