package care

import "time"

// PlanAct is something done to a client's plan as a whole after a version was recorded.
// Acts are added and never changed, so that any day can be told as it was.
type PlanAct string

// The acts. Suspending and ending hold for every version recorded until then: a version
// that is recorded later stands on its own. Resuming puts the same version in force
// again. Instead adds to a suspension what carers do meanwhile.
const (
	PlanSuspended PlanAct = "suspended"
	PlanInstead   PlanAct = "instead"
	PlanResumed   PlanAct = "resumed"
	PlanEnded     PlanAct = "ended"
)

// PlanEvent is one act.
type PlanEvent struct {
	Client string
	// Number counts a client's events from 1.
	Number int
	Act    PlanAct
	// Version is the version in force at that time, zero if none was; UpTo is the newest
	// version on record then.
	Version, UpTo int
	By            string
	At            time.Time
	// Text is what to do instead, or the reason.
	Text Text
}

// PlanStop is a suspension or an end that holds now.
type PlanStop struct {
	// Act is PlanSuspended or PlanEnded.
	Act PlanAct
	By  string
	At  time.Time
	// Instead is what carers do meanwhile, empty if nobody has said; Reason is why.
	Instead, Reason Text
	UpTo            int
}

// Stops gives, for each client whose plan is stopped, why, from all events of a site in
// the order in which they happened.
func Stops(events []PlanEvent) map[string]*PlanStop {
	out := map[string]*PlanStop{}
	for _, e := range events {
		switch now := out[e.Client]; e.Act {
		case PlanSuspended, PlanEnded:
			out[e.Client] = &PlanStop{Act: e.Act, By: e.By, At: e.At, Reason: e.Text, UpTo: e.UpTo}
		case PlanInstead:
			if now != nil {
				also := *now
				also.Instead = e.Text
				out[e.Client] = &also
			}
		case PlanResumed:
			delete(out, e.Client)
		}
	}
	return out
}

// PlanRecord is one version of a plan with what the record knows of it.
type PlanRecord struct {
	Plan     Plan
	Recorded time.Time
}

// ChangeKind is what a telling is about.
type ChangeKind string

// The kinds of telling: a new version, or an act on the plan.
const (
	ChangeVersion   ChangeKind = "version"
	ChangeSuspended ChangeKind = "suspended"
	ChangeResumed   ChangeKind = "resumed"
	ChangeEnded     ChangeKind = "ended"
)
