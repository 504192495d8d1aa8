package dialog_test

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/dialog"
	"samelift/internal/rules"
	"samelift/internal/sitefile"
)

var planNow = time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)

func demoSite(t rapid.TB) *care.Site {
	t.Helper()
	site, faults := sitefile.Read(sitefile.Demo(planNow), sitefile.Known{Languages: []string{"en", "es", "pl", "ar"}})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return site
}

// onRecord holds what a change of a plan asks the records for; it panics for the rest.
type onRecord struct {
	dialog.Records
	plans []care.Plan
}

func (r onRecord) Plan(client string, version int) (care.Plan, bool) {
	for _, p := range r.plans {
		if p.Client == client && p.Version == version {
			return p, true
		}
	}
	return care.Plan{}, false
}

func (r onRecord) Versions(client string) []care.PlanRecord {
	var out []care.PlanRecord
	for _, p := range r.plans {
		if p.Client == client {
			out = append(out, care.PlanRecord{Plan: p})
		}
	}
	return out
}
func (onRecord) PlanEvents(string) []care.PlanEvent { return nil }

func (onRecord) Joined(string) bool                                 { return true }
func (onRecord) ToldOfOthers(string, time.Time) bool                { return false }
func (onRecord) Unconfirmed(string) []care.Change                   { return nil }
func (onRecord) Change(string) (care.Change, bool)                  { return care.Change{}, false }
func (onRecord) Incident(string) (care.Incident, bool)              { return care.Incident{}, false }
func (onRecord) ShownTo(string, time.Time) []string                 { return nil }
func (onRecord) EquipmentHistory(string, int) []care.EquipmentEvent { return nil }

func factsOf(site *care.Site, me string, now time.Time) dialog.Facts {
	p, _ := site.Person(me)
	return dialog.Facts{
		Now: now, Site: site, Me: p, Records: onRecord{plans: site.Plans},
		Read: func(string) ask.Reading { return ask.Reading{} },
	}
}

// Whatever a coordinator presses and types, in whatever order, with restarts, pauses and
// other people's changes in between: what is published was written by a coordinator, from
// the newest version, says something new and says why, and no stop stands against what it
// changes but one that a named assessor may decide and has.
func TestNothingIsPublishedAgainstAStop(t *testing.T) {
	published, decided, stale := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		site := *demoSite(t)
		site.Plans = slices.Clone(site.Plans)
		site.People = slices.Clone(site.People)
		now := planNow
		var s dialog.State
		client := rapid.SampledFrom([]string{"tilda", "rosa", "edwin", "hoa", "oskar", "amal"}).Draw(t, "client")
		choices := []dialog.Action{{Do: "planedit", Client: client}}
		for range rapid.IntRange(20, 120).Draw(t, "steps") {
			var e dialog.Event
			switch rapid.IntRange(0, 40).Draw(t, "what") {
			case 0:
				now = now.Add(time.Duration(rapid.IntRange(1, 40).Draw(t, "minutes")) * time.Minute)
				continue
			case 1:
				b, err := s.Encode()
				if err != nil {
					t.Fatal(err)
				}
				back := dialog.Decode(b)
				if back.Stopped {
					t.Fatalf("a state that was written cannot be read: %s", b)
				}
				s = back
				continue
			case 2: // somebody else publishes
				p, ok := site.PlanAt(client, now)
				if rapid.IntRange(0, 4).Draw(t, "other") > 0 || !ok {
					continue
				}
				stale++
				p.Version, p.From = newest(&site, client)+1, now
				site.Plans = append(site.Plans, p)
				continue
			case 3: // a sling goes into the wash, or comes back
				i := rapid.IntRange(0, len(site.Slings)-1).Draw(t, "sling")
				site.Slings = slices.Clone(site.Slings)
				site.Slings[i].State = rapid.SampledFrom([]care.EquipmentState{care.InUse, care.InWash, care.Withdrawn}).Draw(t, "state")
				continue
			case 4: // the coordinator becomes a carer, or a coordinator again
				i := slices.IndexFunc(site.People, func(p care.Person) bool { return p.Ref == "elena" })
				site.People[i].CaresFor = []string{client}
				site.People[i].Role = rapid.SampledFrom([]care.Role{care.Coordinator, care.Coordinator, care.Coordinator, care.Carer}).Draw(t, "role")
				continue
			case 5:
				e.Action = &dialog.Action{Do: "planedit", Client: client}
			case 6, 7, 8, 9, 10, 11, 12:
				e.Text = rapid.SampledFrom([]string{"Because of the chair", "Marion Achterberg", "2", "S-014", "H-02", "2026-06-01 08:00", "2026-03-29 01:30", "2026-10-25 01:30", "2026-09-09", "٣", "x"}).Draw(t, "typed")
			default:
				if len(choices) == 0 {
					choices = []dialog.Action{{Do: "planedit", Client: client}}
				}
				if len(choices) == 1 && choices[0].Do == "answer" { // only a way back: words are asked for
					e.Text = rapid.SampledFrom([]string{"Because of the chair", "Marion Achterberg"}).Draw(t, "words")
					break
				}
				a := rapid.SampledFrom(choices).Draw(t, "press")
				for _, c := range choices {
					if (c.Value == "publish" || c.Value == "decide") && rapid.Bool().Draw(t, "go on") {
						a = c
					}
				}
				if strings.HasPrefix(a.Value, "back:") {
					a = rapid.SampledFrom(choices).Draw(t, "press again")
				}
				if a.Value == "publish" && rapid.IntRange(0, 3).Draw(t, "meanwhile") == 0 {
					// The sling goes while the review is on the screen.
					site.Slings = slices.Clone(site.Slings)
					for i := range site.Slings {
						site.Slings[i].State = care.Withdrawn
					}
				}
				e.Action = &a
			}
			f := factsOf(&site, "elena", now)
			before, _ := json.Marshal(s)
			next, effects := dialog.Step(s, e, f)
			if after, _ := json.Marshal(s); string(before) != string(after) {
				t.Fatalf("a step has changed the state that it was given")
			}
			s = next
			for _, effect := range effects {
				switch effect := effect.(type) {
				case dialog.Say:
					if len(effect.Choices) > chat.MaxRows {
						t.Fatalf("%d rows of buttons under %v", len(effect.Choices), effect.Lines)
					}
					choices = choices[:0:0]
					for _, row := range effect.Choices {
						for _, c := range row {
							if d := c.Does.Do; (d == "answer" || d == "resume") && (c.Does.Value != "cancel" || len(choices) == 0) {
								choices = append(choices, c.Does)
							}
						}
					}
				case dialog.PublishPlan:
					published++
					decided += len(effect.Plan.Decisions)
					holdsUp(t, f, effect)
					site.Plans = append(site.Plans, effect.Plan)
				}
			}
		}
	})
	if published < 5 {
		t.Errorf("only %d changes were published: this test looks at too little", published)
	}
	t.Logf("published %d, decisions %d, changes by others %d", published, decided, stale)
}

func newest(site *care.Site, client string) int {
	n := 0
	for _, p := range site.Plans {
		if p.Client == client {
			n = max(n, p.Version)
		}
	}
	return n
}

func holdsUp(t *rapid.T, f dialog.Facts, e dialog.PublishPlan) {
	p := e.Plan
	if f.Me.Role != care.Coordinator || p.Author != f.Me.Name || p.AuthorRole != string(care.Coordinator) {
		t.Fatalf("published by %s as %s", f.Me.Role, p.AuthorRole)
	}
	if e.Based != newest(f.Site, p.Client) || p.Version != e.Based+1 {
		t.Fatalf("version %d from %d, and the newest is %d", p.Version, e.Based, newest(f.Site, p.Client))
	}
	if p.Reason.IsZero() || p.From.Before(f.Now) {
		t.Fatalf("reason %q, from %v at %v", p.Reason.Words, p.From, f.Now)
	}
	c, _ := f.Site.Client(p.Client)
	old, _ := f.Site.PlanAt(p.Client, p.From)
	today := p
	today.From = f.Now
	for _, tr := range p.Transfers {
		if was, ok := old.Transfer(tr.Key()); ok && reflect.DeepEqual(toAny(was), toAny(tr)) && reflect.DeepEqual(toAny(old.Cautions), toAny(p.Cautions)) {
			continue
		}
		for _, x := range rules.Check(f.Site, c, today, tr, f.Now) {
			if x.Severity != rules.Stop {
				continue
			}
			if _, ok := rules.DecisionOn(p, tr, x); !ok || !rules.Decidable(x) {
				t.Fatalf("published against %s %v", x.Key, x.Args)
			}
		}
	}
}

// toAny makes an empty list and none alike.
func toAny(v any) any {
	b, _ := json.Marshal(v)
	var out any
	_ = json.Unmarshal(b, &out)
	return out
}
