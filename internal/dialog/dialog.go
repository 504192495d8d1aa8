// Package dialog holds the conversations as pure steps: a state and an event go in, a
// state and effects come out. It reads no clock, touches no disk and has no words in
// any language: it says keys and arguments, and the bot has locale put them into each
// reader's words.
//
// One file holds one flow, and above each flow a comment draws its steps. Least
// privilege is checked here, at every entry: a button or a typed name gives nobody
// more than their role and their clients allow.
package dialog

import (
	"time"

	"samelift/internal/ask"
	"samelift/internal/care"
)

// Event is something a person did, or something that fell due for them.
type Event struct {
	// Text is what was typed, cleaned; Command and Rest are set where it is a command.
	Text    string
	Command string
	Rest    string
	// Action is what the pressed choice meant.
	Action *Action
	// Other is set for what the bot cannot read: a sticker, a file.
	Other bool
	// Long is set when the text was cut.
	Long bool
	// Label is what the code stands for, where a label was scanned or its code typed.
	Label *care.Labelled
}

// Facts is what a step may know. Everything in it is read, never changed.
type Facts struct {
	Now  time.Time
	Site *care.Site
	Me   care.Person
	// Langs are the languages the product speaks.
	Langs []Lang
	// Read understands a question.
	Read func(text string) ask.Reading
	// ReadOwn understands it as if there were no clients but the person's own.
	ReadOwn func(text string) ask.Reading
	// ReadDate reads a day as it is typed in the reader's language, or in ISO 8601.
	ReadDate func(text string) (care.Date, bool)
	// Records answers about what was recorded.
	Records Records
	// NextNote and NextIncident are the references that the next records will have.
	NextNote     string
	NextIncident string
}

// Lang is a language the product speaks, under its own name.
type Lang struct {
	Code    string
	Autonym string
}

// Records is the read side of the store, within the step's transaction.
type Records interface {
	LastNotes(client string, limit int) []care.Note
	Note(ref string) (care.Note, bool)
	Incident(ref string) (care.Incident, bool)
	Plan(client string, version int) (care.Plan, bool)
	Since(clients []string, from, to time.Time) care.Since
	Change(id string) (care.Change, bool)
	Changes(limit int) []care.Change
	// ChangeFor is Change with that person alone in Told.
	ChangeFor(id, person string) (care.Change, bool)
	// Base is the version that a person knows of the plan that a change is about.
	Base(id, person string) int
	// Versions lists every version of a client's plan, oldest first.
	Versions(client string) []care.PlanRecord
	PlanEvents(client string) []care.PlanEvent
	Unconfirmed(person string) []care.Change
	// HandedOver is the stretch of time that the person's last handover covered.
	HandedOver(person string) (from, to time.Time)
	Joined(person string) bool
	// ToldOfOthers reports whether the person has been sent, after an instant and unasked,
	// what is about another client than this one, or about several.
	ToldOfOthers(client string, after time.Time) bool
	Unreachable() []string
	Undelivered() map[string]int
	// EquipmentHistory gives the newest changes of a piece of equipment, newest first.
	EquipmentHistory(label string, limit int) []care.EquipmentEvent
	// ShownTo lists who has been shown something of a client's plan since an instant.
	ShownTo(client string, since time.Time) []string
	// Weighings, Pains and Happened are what charts are made of, oldest first.
	Weighings(client string, from care.Date) []care.Weighing
	Pains(client string, from time.Time) []care.Pain
	Happened(from time.Time) []care.Happened
}

// Action is what a choice means. It is kept beside the message that offered it, so the
// choice itself carries nothing.
type Action struct {
	Do string `json:"do"`
	// Client, Transfer, Version and Ref say what it is about, as each action needs.
	Client   string `json:"client,omitempty"`
	Transfer string `json:"transfer,omitempty"`
	Version  int    `json:"version,omitempty"`
	Ref      string `json:"ref,omitempty"`
	// Value is the answer to a question of a form; Turn is that question's number, so
	// that an old button cannot answer a later question.
	Value string `json:"value,omitempty"`
	Turn  int    `json:"turn,omitempty"`
	Topic string `json:"topic,omitempty"`
	Page  int    `json:"page,omitempty"`
	// At is when it was offered, where that matters.
	At time.Time `json:"at,omitzero"`
}

// Effect is something to be done after a step.
type Effect interface{ effect() }

// Say sends a message.
type Say struct {
	// To is the ref of a member of the team; empty means whoever acted.
	To string
	// Urgency says how soon.
	Urgency Urgency
	// InPlace puts the message in the place of the one whose choice was pressed.
	InPlace bool
	Lines   []Line
	Choices [][]Choice
	// Client and PlanVersion say what the message is about, where it is about a plan.
	Client      string
	PlanVersion int
	// Picture stands beside the words, which are complete without it; nil for none.
	Picture *Picture
	// Also are pictures that follow, each in a message of its own.
	Also []Beside
}

// Urgency is how soon a message must go out.
type Urgency int

// The urgencies; the zero value is an answer to what somebody just did.
const (
	Reply Urgency = iota
	Alert
	Change
	Handover
	Reminder
	// Mark is for what says on an old message that it is old.
	Mark
)

// Line is one line of a message: a key with its arguments, or somebody's own words.
type Line struct {
	Style Style
	Words
	// Own is somebody's own words, shown as they are; Key then introduces nothing.
	Own care.Text
	// Keep says that the line must not part from the one before: it would lose whom it is
	// about.
	Keep bool
}

// Words is a key and its arguments. An argument is a Term, an int, a string shown as
// it is, a care.Date, a care.Mass, a care.Clock, a time.Time or an Invitation.
type Words struct {
	Key  string
	Args Args
}

// Args are named arguments.
type Args map[string]any

// Term is an argument that is itself a key: a place, a colour, a state.
type Term string

// Invitation is an argument that stands for the code or link of the invitation made
// in the same step.
type Invitation struct{}

// Style is how a line looks.
type Style string

// The styles, as chat has them.
const (
	Plain  Style = ""
	Strong Style = "strong"
	Warn   Style = "alert"
	Quote  Style = "quote"
	Small  Style = "small"
)

// Choice is one button.
type Choice struct {
	Label Words
	// As is a label shown as it is, in the place of Label: a name, a number.
	As   string
	Does Action
}

// SaveNote keeps a visit note.
type SaveNote struct{ Note care.Note }

// SaveIncident keeps an incident.
type SaveIncident struct{ Incident care.Incident }

// AddTo adds to a record.
type AddTo struct {
	Ref      string
	Addition care.Addition
}

// SetLang keeps the reader's choice of language; what the same step says is already in it.
type SetLang struct{ Lang string }

// SetPictures keeps whether the person wants pictures.
type SetPictures struct{ Without bool }

// Confirm keeps that the person confirms a plan change.
type Confirm struct{ Change string }

// Invite makes an invitation for a person of the site.
type Invite struct{ Person string }

// RemovePerson takes a person's access away.
type RemovePerson struct{ Person string }

// Told keeps that a person was told a plan change.
type Told struct{ Person, Change string }

// Wrong counts a wrong answer to the read-back of a change.
type Wrong struct{ Change string }

// ActOnPlan does something to a client's plan as a whole, and has it told.
type ActOnPlan struct{ Event care.PlanEvent }

// PublishDraft puts a draft in force, and has it told.
type PublishDraft struct {
	Client  string
	Version int
}

// HandedOver keeps the stretch that a handover has told.
type HandedOver struct {
	Person   string
	From, To time.Time
}

// Join lets the person in whose invitation this conversation has claimed.
type Join struct{ Lang string }

// SetEquipment makes a change of a sling or a hoist and keeps it in the history.
type SetEquipment struct{ Event care.EquipmentEvent }

func (SetEquipment) effect() {}
func (Say) effect()          {}
func (SaveNote) effect()     {}
func (SaveIncident) effect() {}
func (AddTo) effect()        {}
func (SetLang) effect()      {}
func (SetPictures) effect()  {}
func (Confirm) effect()      {}
func (Invite) effect()       {}
func (RemovePerson) effect() {}
func (Told) effect()         {}
func (HandedOver) effect()   {}
func (Wrong) effect()        {}
func (ActOnPlan) effect()    {}
func (PublishDraft) effect() {}
func (Join) effect()         {}
