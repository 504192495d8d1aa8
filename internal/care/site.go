package care

import (
	"sync"
	"time"
)

// Site is a place or a service with one team, its equipment and its clients.
// A Site that was read from the store is shared and never changed.
type Site struct {
	Ref  string
	Name string
	// Zone is the IANA name of the site's time zone.
	Zone string
	// Lang is the language used where nobody has chosen one.
	Lang string
	// EmergencyNumber is the number to call at this place of work.
	EmergencyNumber string
	// InitialsOnly shows initials and room in place of clients' names.
	InitialsOnly bool
	// NoPictures leaves pictures out of every message.
	NoPictures bool
	// HandoverLead is how long before a shift starts its handover is sent.
	HandoverLead time.Duration
	Shifts       []Shift
	People       []Person
	Ranges       []Range
	Slings       []Sling
	Hoists       []Hoist
	Clients      []Client
	// Plans holds, for each client, the version in force and any that will come
	// into force later, lowest version first.
	Plans []Plan
}

// zones keeps what time.LoadLocation would read from its files each time.
var zones sync.Map

// Location loads the site's zone. A site that passed Validate has one.
func (s *Site) Location() *time.Location {
	if loc, ok := zones.Load(s.Zone); ok {
		return loc.(*time.Location)
	}
	loc, err := time.LoadLocation(s.Zone)
	if err != nil {
		return time.UTC
	}
	zones.Store(s.Zone, loc)
	return loc
}

// Person finds a member of the team by ref, removed ones too.
func (s *Site) Person(ref string) (Person, bool) {
	return find(s.People, func(p Person) bool { return p.Ref == ref })
}

// Client finds a client by ref, ended ones too.
func (s *Site) Client(ref string) (Client, bool) {
	return find(s.Clients, func(c Client) bool { return c.Ref == ref })
}

// Range finds a sling range by ref.
func (s *Site) Range(ref string) (Range, bool) {
	return find(s.Ranges, func(r Range) bool { return r.Ref == ref })
}

// Sling finds a sling by the id on its label.
func (s *Site) Sling(label string) (Sling, bool) {
	return find(s.Slings, func(x Sling) bool { return x.Label == label })
}

// Hoist finds a hoist by the id on its label.
func (s *Site) Hoist(label string) (Hoist, bool) {
	return find(s.Hoists, func(x Hoist) bool { return x.Label == label })
}

// PlanAt gives the version of a client's plan that is in force at t. A plan that is
// suspended or ended is not in force, so nobody finds it here.
func (s *Site) PlanAt(client string, t time.Time) (Plan, bool) {
	if p, ok := s.PlanOnRecord(client, t); ok && p.Stopped == nil {
		return p, true
	}
	return Plan{}, false
}

// PlanOnRecord is PlanAt for those who write about a plan and do not act on it: it
// finds a suspended or ended one as well, with Stopped set.
func (s *Site) PlanOnRecord(client string, t time.Time) (Plan, bool) {
	var best Plan
	found := false
	for _, p := range s.Plans {
		if p.Client == client && !p.Draft && !p.From.After(t) && (!found || p.Version > best.Version) {
			best, found = p, true
		}
	}
	return best, found
}

// ClientsOf lists the clients whom a person may see, in the site's order.
func (s *Site) ClientsOf(p Person) []Client {
	may := map[string]bool{}
	for _, ref := range p.CaresFor {
		may[ref] = true
	}
	var out []Client
	for _, c := range s.Clients {
		if !p.Removed && !c.Ended && (p.Role == Coordinator || may[c.Ref]) {
			out = append(out, c)
		}
	}
	return out
}

// CarersOf lists the people who care for a client, and not the coordinators.
func (s *Site) CarersOf(client string) []Person {
	var out []Person
	for _, p := range s.People {
		if p.Role == Carer && p.MaySee(client) {
			out = append(out, p)
		}
	}
	return out
}

// Coordinators lists the site's coordinators.
func (s *Site) Coordinators() []Person {
	var out []Person
	for _, p := range s.People {
		if p.Role == Coordinator && !p.Removed {
			out = append(out, p)
		}
	}
	return out
}

func find[T any](all []T, is func(T) bool) (T, bool) {
	for _, x := range all {
		if is(x) {
			return x, true
		}
	}
	var none T
	return none, false
}
