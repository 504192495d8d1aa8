package care

// Role is what a person of the team may do.
type Role string

// The two roles.
const (
	Carer       Role = "carer"
	Coordinator Role = "coordinator"
)

// Roles lists every role.
var Roles = []Role{Carer, Coordinator}

// Person is a member of the team: somebody who moves clients, or who coordinates
// those who do. The client is never called a person here.
type Person struct {
	Ref  string
	Name string
	Role Role
	// Lang is the language the person reads, one that locales/ has.
	Lang string
	// Phone is the number under which a coordinator is called, or empty.
	Phone string
	// Shifts names the shifts the person usually works; none means any.
	Shifts []string
	// CaresFor lists the refs of the clients in their care. A coordinator sees all
	// clients of the site whatever stands here.
	CaresFor []string
	// SignOffs are what the person has been signed off for, each with its last day.
	SignOffs []SignOff
	// NoPictures leaves pictures out of this person's messages, to save data.
	NoPictures bool
	// Removed people are kept, since notes name them, but learn nothing more.
	Removed bool
}

// MaySee reports whether the person may learn about the client with that ref.
func (p Person) MaySee(client string) bool {
	if p.Removed {
		return false
	}
	if p.Role == Coordinator {
		return true
	}
	for _, c := range p.CaresFor {
		if c == client {
			return true
		}
	}
	return false
}

// Works reports whether the person usually works the named shift.
func (p Person) Works(shift string) bool {
	for _, s := range p.Shifts {
		if s == shift {
			return true
		}
	}
	return len(p.Shifts) == 0
}
