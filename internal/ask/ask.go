// Package ask reads a carer's question: who is meant, which transfer, what about,
// and whether it tells of danger now. It answers with candidates, never with a
// guess: a wrong client is the one unforgivable answer, a missed emergency the
// other. It is pure and offline; its words are data beside the locales.
package ask

import "samelift/internal/care"

// Topic is what a question is about.
type Topic string

// The topics. Emergency is told by Reading.Emergency as well, whatever else is asked.
const (
	Plan          Topic = "plan"
	Sling         Topic = "sling"
	Loops         Topic = "loops"
	Legs          Topic = "legs"
	Staff         Topic = "staff"
	Hoist         Topic = "hoist"
	Weight        Topic = "weight"
	Seat          Topic = "seat"
	Steps         Topic = "steps"
	Cautions      Topic = "cautions"
	Communication Topic = "communication"
	Equipment     Topic = "equipment"
	Review        Topic = "review"
	LastNotes     Topic = "lastnotes"
	Handover      Topic = "handover"
	Note          Topic = "note"
	Incident      Topic = "incident"
	Emergency     Topic = "emergency"
	Unknown       Topic = "unknown"
)

// Topics lists every topic.
var Topics = []Topic{Plan, Sling, Loops, Legs, Staff, Hoist, Weight, Seat, Steps, Cautions, Communication, Equipment, Review, LastNotes, Handover, Note, Incident, Emergency, Unknown}

// Reading is what a message was understood to say.
type Reading struct {
	// Client is the ref of the one client who is meant, or empty.
	Client string
	// Candidates are the refs of all who could be meant when it is not sure who is. One alone
	// means: ask whether this one is meant.
	Candidates []string
	// UnknownName is a name that was said and that no client has, or empty.
	UnknownName string
	// Strange is set where nobody is named for sure, and yet a word was said that no language
	// has, or one that is also a word of a client's name: somebody may be meant by it.
	Strange bool
	// From and To are the places of the move, where a move was said.
	From, To care.Place
	// Topics holds one or two topics, the main one first; Unknown where none is sure.
	Topics []Topic
	// Emergency is set when the message tells of danger now, however mildly.
	Emergency bool
}

// Name is how a client or a colleague may be called.
type Name struct {
	Ref  string
	Name string
	// Also lists other spellings and forms.
	Also []string
	// Room is the room or address label; empty for colleagues.
	Room string
}
