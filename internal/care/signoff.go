package care

// SignOff says that somebody has been found competent, and until when.
type SignOff struct {
	For SignOffKind
	// Until is the last day on which the sign-off holds.
	Until Date
}

// SignOffKind is what somebody can be signed off for: a kind of hoist, a kind of sling,
// or the moving and handling refresher.
type SignOffKind string

// Refresher is the moving and handling refresher. The other kinds are named as the
// kinds of hoist and sling are.
const Refresher SignOffKind = "refresher"

// SignOffKinds lists every kind: hoists, slings, the refresher.
var SignOffKinds = []SignOffKind{
	SignOffKind(MobileHoist), SignOffKind(CeilingHoist), SignOffKind(StandingAid),
	SignOffKind(FullBodySling), SignOffKind(ToiletingSling), SignOffKind(StandingSling), Refresher,
}

// SignedOff gives the sign-off of a kind that lasts longest.
func (p Person) SignedOff(kind SignOffKind) (SignOff, bool) {
	var best SignOff
	for _, s := range p.SignOffs {
		if s.For == kind && (best.For == "" || best.Until.Before(s.Until)) {
			best = s
		}
	}
	return best, best.For != ""
}
