package care

import (
	"strings"
	"unicode"
)

// Client is somebody who receives care and is moved by hoist and sling.
type Client struct {
	Ref  string
	Name string
	// Also lists other spellings and forms of the name that carers use.
	Also []string
	// Room is the room or address label that tells two clients apart.
	Room string
	// Mass is the body mass when last weighed, zero if unknown.
	Mass    Mass
	Weighed Date
	// Weighings are those before the last one, oldest first, each on its own day.
	Weighings []Weighing
	// BackLength and Hips are measured as the maker of the sling asks: along the back,
	// and around the hips. In millimetres, zero if unknown.
	BackLength int
	Hips       int
	// FromHospital is the day of the last return from hospital, zero if none is known.
	FromHospital Date
	// Says is how the person communicates, coded so that every reader can have it.
	Says []Communication
	// SaysMore adds to Says in the writer's own words.
	SaysMore Text
	// Ended clients are kept for the record and answered about no more.
	Ended bool
}

// Weighing is what somebody weighed on one day.
type Weighing struct {
	On   Date
	Mass Mass
}

// Communication is one way a client understands or is understood.
type Communication string

// The coded ways.
const (
	Speaks         Communication = "speaks"
	FewWords       Communication = "few_words"
	NoSpeech       Communication = "no_speech"
	NodsYesNo      Communication = "nods_yes_no"
	BlinksYesNo    Communication = "blinks_yes_no"
	UsesPictures   Communication = "uses_pictures"
	HardOfHearing  Communication = "hard_of_hearing"
	PoorSight      Communication = "poor_sight"
	NeedsTime      Communication = "needs_time"
	OneStepAtATime Communication = "one_step_at_a_time"
	AfraidOfHoist  Communication = "afraid_of_hoist"
)

// Communications lists every coded way.
var Communications = []Communication{Speaks, FewWords, NoSpeech, NodsYesNo, BlinksYesNo, UsesPictures, HardOfHearing, PoorSight, NeedsTime, OneStepAtATime, AfraidOfHoist}

// Initials shortens a name to the first letter of each of its parts: "R. L.".
func Initials(name string) string {
	var out []string
	for _, part := range strings.FieldsFunc(name, func(r rune) bool { return unicode.IsSpace(r) || r == '-' }) {
		for _, r := range part {
			if unicode.IsLetter(r) {
				out = append(out, string(unicode.ToUpper(r))+".")
				break
			}
		}
	}
	return strings.Join(out, " ")
}
