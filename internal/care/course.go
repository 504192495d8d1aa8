package care

import "time"

// Pain is what a client said of their pain at one visit.
type Pain struct {
	At time.Time
	// Value is 0 to 10.
	Value int
}

// Happened is an incident as a coordinator counts it: when, and of which kind.
type Happened struct {
	At   time.Time    `json:"-"`
	Kind IncidentKind `json:"kind"`
}
