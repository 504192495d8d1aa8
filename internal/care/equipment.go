package care

import "time"

// EquipmentCause is what changed a piece of equipment.
type EquipmentCause string

// The causes.
const (
	CauseFile     EquipmentCause = "file"     // a site file said so
	CauseWash     EquipmentCause = "wash"     // a carer took it to the wash or brought it back
	CauseFault    EquipmentCause = "fault"    // somebody reported a fault
	CauseIncident EquipmentCause = "incident" // an incident named it; Ref is the incident
	CauseState    EquipmentCause = "state"    // a coordinator set its state
	CauseDates    EquipmentCause = "dates"    // a coordinator set its dates
	CauseWords    EquipmentCause = "words"    // somebody added words to what they had reported
)

// EquipmentCauses lists every cause.
var EquipmentCauses = []EquipmentCause{CauseFile, CauseWash, CauseFault, CauseIncident, CauseState, CauseDates, CauseWords}

// Fault is what was seen on a sling or a hoist.
type Fault string

// The faults. What makes a sling unfit is in the handbook, section 1.3; the grouping
// into few answers is our own.
const (
	FaultTorn     Fault = "torn"
	FaultStitches Fault = "stitches"
	FaultStrap    Fault = "strap"
	FaultLabel    Fault = "label"
	FaultKnotted  Fault = "knotted"
	FaultLifting  Fault = "lifting"
	FaultWheels   Fault = "wheels"
	FaultBattery  Fault = "battery"
	FaultLeak     Fault = "leak"
	FaultOther    Fault = "other"
)

// SlingFaults and HoistFaults list what can be reported of each.
var (
	SlingFaults = []Fault{FaultTorn, FaultStitches, FaultStrap, FaultLabel, FaultKnotted, FaultOther}
	HoistFaults = []Fault{FaultLifting, FaultWheels, FaultBattery, FaultLeak, FaultLabel, FaultOther}
)

// EquipmentEvent is one change of a sling or a hoist. It is never overwritten.
type EquipmentEvent struct {
	Label string `json:"-"`
	// By is who did it, empty for a site file.
	By    string         `json:"-"`
	At    time.Time      `json:"-"`
	Cause EquipmentCause `json:"cause"`
	// From and To are its states before and after; they are equal where only dates or
	// words were added. From is empty when it first came into the register.
	From EquipmentState `json:"from,omitempty"`
	To   EquipmentState `json:"to"`
	// Was and Is are its dates before and after.
	Was Examined `json:"was,omitzero"`
	Is  Examined `json:"is,omitzero"`
	// Fault is what was seen, where a fault was reported.
	Fault Fault `json:"fault,omitempty"`
	// Ref is the incident that names it.
	Ref    string `json:"ref,omitempty"`
	Reason Text   `json:"reason,omitzero"`
}

// LabelKind is what a label is stuck to.
type LabelKind string

// What can have a label with a code.
const (
	ClientLabel LabelKind = "client"
	SlingLabel  LabelKind = "sling"
	HoistLabel  LabelKind = "hoist"
)

// Labelled is what the code of a label stands for: a client by ref, a sling or a hoist
// by the id on its label.
type Labelled struct {
	Kind LabelKind
	Ref  string
}
