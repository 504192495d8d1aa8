package care

// Point is where a strap of the sling meets the bar.
type Point string

// The points of a sling, from the head down. A six-point sling has all three.
const (
	ShoulderPoint Point = "shoulder"
	HipPoint      Point = "hip"
	LegPoint      Point = "leg"
)

// Points lists every point from the head down.
var Points = []Point{ShoulderPoint, HipPoint, LegPoint}

// Attachment is how a sling holds on to a bar. The two kinds never mix.
type Attachment string

// The two kinds of attachment.
const (
	LoopAttachment Attachment = "loop"
	ClipAttachment Attachment = "clip"
)

// Attachments lists both kinds.
var Attachments = []Attachment{LoopAttachment, ClipAttachment}

// SlingKind is what a sling is made for.
type SlingKind string

// The kinds of sling.
const (
	FullBodySling  SlingKind = "full_body"
	ToiletingSling SlingKind = "toileting"
	StandingSling  SlingKind = "standing"
	OtherSling     SlingKind = "other"
)

// SlingKinds lists every kind.
var SlingKinds = []SlingKind{FullBodySling, ToiletingSling, StandingSling, OtherSling}

// LegStraps is how the leg pieces are led before they are attached.
type LegStraps string

// The arrangements a plan can name. Who each suits is the assessor's to decide.
const (
	LegsCrossed   LegStraps = "crossed"
	LegsSeparate  LegStraps = "separate"
	LegsUnderBoth LegStraps = "under_both"
	LegsEachOwn   LegStraps = "each_own_abducted"
)

// LegStrapsAll lists every arrangement.
var LegStrapsAll = []LegStraps{LegsCrossed, LegsSeparate, LegsUnderBoth, LegsEachOwn}

// YesNo is a fact a plan states either way, or not at all (the zero value).
type YesNo string

// The stated answers.
const (
	Yes YesNo = "yes"
	No  YesNo = "no"
)

// YesNos lists the stated answers.
var YesNos = []YesNo{Yes, No}

// Range is a maker's family of slings: which points they have and which loops at
// each, in which sizes they come, and how their leg straps may be led. Its words
// for sizes and colours are the maker's own and mean nothing for another range.
type Range struct {
	Ref        string
	Name       string
	Kind       SlingKind
	Attachment Attachment
	// Head says whether these slings support the head.
	Head YesNo
	// Points has one entry for each point, from the head down.
	Points    []RangePoint
	LegStraps []LegStraps
	Sizes     []Size
}

// RangePoint is one attachment point and its loops from the shortest to the longest.
type RangePoint struct {
	Point Point
	Loops []Loop
}

// Loop is one loop of a strap.
type Loop struct {
	// Colour is a code of Colours where the colour is one of them, otherwise the
	// range's own word for it. It is a second cue: the place in the order comes first.
	Colour string
	// Length is the strap length to this loop in millimetres, zero if unknown.
	Length int
}

// Size is one size of a range under the maker's own word for it.
type Size struct {
	Name string
	// Limit is the safe working load of this size, zero if unknown.
	Limit Mass
	// Mass, Back and Hips are what the maker's size table gives for this size: the
	// person's mass, back length and measure around the hips, lengths in millimetres.
	Mass Span[Mass] `json:",omitzero"`
	Back Span[int]  `json:",omitzero"`
	Hips Span[int]  `json:",omitzero"`
}

// Span is from one value to another, both included. A zero end is open; where both are
// zero the table does not say.
type Span[T Mass | int] struct{ From, To T }

// IsZero reports whether the table does not say.
func (s Span[T]) IsZero() bool { return s == Span[T]{} }

// Holds reports whether a value lies within the span.
func (s Span[T]) Holds(v T) bool { return v >= s.From && (s.To == 0 || v <= s.To) }

// Colours lists the colour words that every language can render.
var Colours = []string{"red", "orange", "yellow", "green", "blue", "purple", "pink", "brown", "black", "white", "grey", "teal", "turquoise", "navy"}

// Loops gives the loops at a point, or nil if the range has no such point.
func (r Range) Loops(p Point) []Loop {
	for _, rp := range r.Points {
		if rp.Point == p {
			return rp.Loops
		}
	}
	return nil
}

// Size finds a size by the maker's word.
func (r Range) Size(name string) (Size, bool) {
	for _, s := range r.Sizes {
		if s.Name == name {
			return s, true
		}
	}
	return Size{}, false
}

// EquipmentState is whether a sling or hoist may be taken at all.
type EquipmentState string

// The states of equipment.
const (
	InUse               EquipmentState = "in_use"
	InWash              EquipmentState = "in_wash"
	Withdrawn           EquipmentState = "withdrawn"
	Missing             EquipmentState = "missing"
	AwaitingExamination EquipmentState = "awaiting_examination"
)

// EquipmentStates lists every state.
var EquipmentStates = []EquipmentState{InUse, InWash, Withdrawn, Missing, AwaitingExamination}

// Examined holds the dates of the thorough examination of one piece of equipment.
type Examined struct {
	// Last is the day of the last thorough examination.
	Last Date
	// Due is the next-due date printed on the report or the label.
	Due Date
	// Exceptional is the day of the last event that can have harmed it: a drop, an
	// overload, a repair. An examination on that day or before it counts no more.
	Exceptional Date
	// Serviced is the day of the last service. A service is not an examination; it is
	// kept apart so that nobody takes it for one.
	Serviced Date
}

// Sling is one sling in the house, known by the id on its label.
type Sling struct {
	Label string
	Range string
	Size  string
	State EquipmentState
	// Since is the day on which it came to the house, zero if unknown.
	Since Date
	Examined
}

// HoistKind is the kind of lifting machine.
type HoistKind string

// The kinds of hoist.
const (
	MobileHoist  HoistKind = "mobile"
	CeilingHoist HoistKind = "ceiling"
	StandingAid  HoistKind = "standing_aid"
)

// HoistKinds lists every kind.
var HoistKinds = []HoistKind{MobileHoist, CeilingHoist, StandingAid}

// Hoist is one hoist in the house, known by the id on its label.
type Hoist struct {
	Label      string
	Name       string
	Kind       HoistKind
	Attachment Attachment
	// BarPoints is the number of hooks or studs on the bar, zero if unknown.
	BarPoints int
	// Limit is the hoist's safe working load, BarLimit that of its spreader bar
	// where the bar has a mark of its own.
	Limit    Mass
	BarLimit Mass
	State    EquipmentState
	// Since is the day on which it came to the house, zero if unknown.
	Since Date
	Examined
}
