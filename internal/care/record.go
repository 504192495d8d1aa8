package care

import "time"

// Outcome is how a planned transfer went.
type Outcome string

// The outcomes of a visit.
const (
	AsPlanned Outcome = "as_planned"
	Changed   Outcome = "changed"
	NotDone   Outcome = "not_done"
	Refused   Outcome = "refused"
)

// Outcomes lists every outcome.
var Outcomes = []Outcome{AsPlanned, Changed, NotDone, Refused}

// Borne is how the person bore the transfer.
type Borne string

// How it was borne.
const (
	BorneWell       Borne = "well"
	BorneDiscomfort Borne = "discomfort"
	BorneBadly      Borne = "badly"
)

// BorneAll lists every answer.
var BorneAll = []Borne{BorneWell, BorneDiscomfort, BorneBadly}

// Skin is what a carer saw of the skin.
type Skin string

// What was seen.
const (
	SkinNothingNew Skin = "nothing_new"
	SkinRed        Skin = "red"
	SkinBroken     Skin = "broken"
	SkinBruise     Skin = "bruise"
	SkinNotSeen    Skin = "not_seen"
)

// SkinAll lists every answer.
var SkinAll = []Skin{SkinNothingNew, SkinRed, SkinBroken, SkinBruise, SkinNotSeen}

// Mood is how the person seemed.
type Mood string

// The moods offered.
const (
	MoodCalm    Mood = "calm"
	MoodTired   Mood = "tired"
	MoodAfraid  Mood = "afraid"
	MoodUpset   Mood = "upset"
	MoodUnusual Mood = "unusual"
)

// Moods lists every mood.
var Moods = []Mood{MoodCalm, MoodTired, MoodAfraid, MoodUpset, MoodUnusual}

// Difference is what was done otherwise than the plan says.
type Difference string

// Differences lists every answer.
var Differences = []Difference{"sling", "loops", "legs", "hoist", "carers", "place", "other"}

// Note is what a carer recorded after a visit. It is never changed; a correction
// is an Addition.
type Note struct {
	// Ref is the reference read back to the writer, such as N-12.
	Ref    string    `json:"-"`
	Client string    `json:"-"`
	By     string    `json:"-"`
	At     time.Time `json:"-"`
	// PlanVersion is the version in force when the note was written, zero if none was.
	PlanVersion int        `json:"plan_version,omitempty"`
	Transfer    string     `json:"transfer,omitempty"`
	Outcome     Outcome    `json:"outcome"`
	Difference  Difference `json:"difference,omitempty"`
	Why         Text       `json:"why,omitzero"`
	Borne       Borne      `json:"borne,omitempty"`
	// Pain is 0 to 10 as the person said it, nil if not asked.
	Pain      *int       `json:"pain,omitempty"`
	Skin      Skin       `json:"skin,omitempty"`
	SkinPart  BodyPart   `json:"skin_part,omitempty"`
	SkinSide  Side       `json:"skin_side,omitempty"`
	Mood      Mood       `json:"mood,omitempty"`
	Text      Text       `json:"text,omitzero"`
	Additions []Addition `json:"-"`
}

// Addition corrects or completes a record without changing it.
type Addition struct {
	By   string
	At   time.Time
	Text Text
}

// IncidentKind is what happened.
type IncidentKind string

// The kinds of incident.
const (
	Fall           IncidentKind = "fall"
	SlipFromSling  IncidentKind = "slip_from_sling"
	WrongSling     IncidentKind = "wrong_sling"
	Collision      IncidentKind = "collision"
	SkinTear       IncidentKind = "skin_tear"
	EquipmentFault IncidentKind = "equipment_fault"
	NearMiss       IncidentKind = "near_miss"
	OtherIncident  IncidentKind = "other"
)

// IncidentKinds lists every kind.
var IncidentKinds = []IncidentKind{Fall, SlipFromSling, WrongSling, Collision, SkinTear, EquipmentFault, NearMiss, OtherIncident}

// Harm is the degree of harm, kept apart from the kind: a fall can leave no harm.
type Harm string

// The degrees follow the five of WHO's Conceptual Framework for the International
// Classification for Patient Safety, v1.1 (2009), in our own words; not_known is
// for a reporter who cannot tell yet.
const (
	HarmNone     Harm = "none"
	HarmMild     Harm = "mild"
	HarmModerate Harm = "moderate"
	HarmSevere   Harm = "severe"
	HarmDeath    Harm = "death"
	HarmNotKnown Harm = "not_known"
)

// Harms lists every degree.
var Harms = []Harm{HarmNone, HarmMild, HarmModerate, HarmSevere, HarmDeath, HarmNotKnown}

// Incident is a report that something went wrong or nearly did.
type Incident struct {
	// Ref is the reference read back to the reporter, such as I-3.
	Ref string `json:"-"`
	// Client is empty where the incident is about no client.
	Client string       `json:"-"`
	By     string       `json:"-"`
	At     time.Time    `json:"-"`
	Kind   IncidentKind `json:"kind"`
	Harm   Harm         `json:"harm"`
	// Where is the place it happened at, empty for elsewhere.
	Where Place `json:"where,omitempty"`
	// Equipment holds the labels of what was involved.
	Equipment   []string   `json:"equipment,omitempty"`
	Text        Text       `json:"text,omitzero"`
	PlanVersion int        `json:"plan_version,omitempty"`
	Additions   []Addition `json:"-"`
}

// Change is the telling of a new plan version, or of an act on the plan, to those who
// care for the client.
type Change struct {
	ID     string
	Client string
	Kind   ChangeKind
	Urgent bool
	// Before and After are plan versions; Before is zero for a first plan. Of an act
	// both are the version that it is about.
	Before, After int
	At            time.Time
	// From is when it holds.
	From time.Time
	// Text is what an act says: what to do instead, or the reason.
	Text Text
	// Old is set once something newer says it all.
	Old bool
	// Told lists who is to be told, and when each confirmed.
	Told []Confirmation
}

// Confirmation is whether one person has confirmed a change. A zero At means not yet,
// a zero Told that the person has not been sent it.
type Confirmation struct {
	Person string
	Told   time.Time
	At     time.Time
	// Wrong counts the wrong answers to the read-back.
	Wrong int
}

// Since is everything that a handover for some clients has to tell, between two instants.
type Since struct {
	From, To  time.Time
	Notes     []Note
	Incidents []Incident
	Changes   []Change
}
