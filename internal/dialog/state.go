package dialog

import (
	"encoding/json"
	"time"

	"samelift/internal/care"
)

// stateVersion changes when the stored form changes so that an older one can no longer
// be read; a state this build does not know ends its flow with a polite message.
const stateVersion = 1

// Idle is how long an unfinished form waits for its next answer before it is set aside
// as a draft.
const Idle = 15 * time.Minute

// FollowUp is how long a question without a name is about the last client.
const FollowUp = 10 * time.Minute

// State is where a conversation stands.
type State struct {
	Version int `json:"v"`
	// Form is the flow that waits for an answer, or nil.
	Form *Form `json:"form,omitempty"`
	// Draft is a form that was set aside, or nil.
	Draft *Form `json:"draft,omitempty"`
	// Client is the last one spoken of, with the transfer, and since when.
	Client   string    `json:"client,omitempty"`
	Transfer string    `json:"transfer,omitempty"`
	Spoken   time.Time `json:"spoken,omitzero"`
	// Asked is the change whose read-back was asked last, and when.
	Asked   string    `json:"asked,omitempty"`
	AskedAt time.Time `json:"asked_at,omitzero"`
	// Turn numbers the questions of forms, so that old buttons are known as old.
	Turn int `json:"turn,omitempty"`
	// Stopped is set when a stored form could not be read by this build.
	Stopped bool `json:"-"`
}

// Form is an unfinished flow.
type Form struct {
	Flow string `json:"flow"`
	Step string `json:"step"`
	// At is when the last question was asked.
	At time.Time `json:"at"`
	// Return is set while one answer is changed from the read-back.
	Return bool `json:"return,omitempty"`

	Client   string         `json:"client,omitempty"`
	Ref      string         `json:"ref,omitempty"`
	Note     *care.Note     `json:"note,omitempty"`
	Incident *care.Incident `json:"incident,omitempty"`
	// Piece is a change of a piece of equipment.
	Piece *PieceForm `json:"piece,omitempty"`
	Plan  *PlanDraft `json:"plan,omitempty"`
	// File is a site file that was sent and not yet taken.
	File string `json:"file,omitempty"`
	// Asked says which optional questions have been answered or passed.
	Asked map[string]bool `json:"asked,omitempty"`
	// Full is set when the writer wants to be asked everything.
	Full bool `json:"full,omitempty"`
	// Lang is the language chosen while joining.
	Lang string `json:"lang,omitempty"`
}

// Encode gives the stored form of a state.
func (s State) Encode() ([]byte, error) {
	s.Version = stateVersion
	return json.Marshal(s)
}

// Decode reads a stored state. One that this build cannot read becomes the beginning,
// with Stopped set, so that nothing is answered by mistake and the person is told.
func Decode(b []byte) State {
	if len(b) == 0 {
		return State{}
	}
	var s State
	if err := json.Unmarshal(b, &s); err != nil || s.Version != stateVersion {
		return State{Stopped: true}
	}
	if s.Form != nil && !known(*s.Form) {
		s.Form, s.Stopped = nil, true
	}
	if s.Draft != nil && !known(*s.Draft) {
		s.Draft = nil
	}
	s.Form.complete()
	s.Draft.complete()
	return s
}

// about keeps who is spoken of from now on; nobody, where that is no client of theirs.
func (s State) about(f Facts, client string) State {
	if _, ok := mayAnswer(f, client); !ok {
		client = ""
	}
	if client != s.Client {
		s.Client, s.Transfer = client, ""
	}
	s.Spoken = f.Now
	return s
}

// complete puts back what the stored form of a record leaves to its row.
func (f *Form) complete() {
	if f == nil {
		return
	}
	if f.Note != nil {
		f.Note.Client = f.Client
	}
	if f.Incident != nil {
		f.Incident.Client = f.Client
	}
}

// clone gives a form that can be changed without touching the one it came from.
func (f Form) clone() Form {
	if f.Note != nil {
		n := *f.Note
		f.Note = &n
	}
	if f.Incident != nil {
		i := *f.Incident
		i.Equipment = append([]string(nil), i.Equipment...)
		f.Incident = &i
	}
	if f.Piece != nil {
		p := *f.Piece
		f.Piece = &p
	}
	if f.Plan != nil {
		p := f.Plan.clone()
		f.Plan = &p
	}
	asked := map[string]bool{}
	for k, v := range f.Asked {
		asked[k] = v
	}
	f.Asked = asked
	return f
}
