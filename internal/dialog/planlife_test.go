package dialog_test

import (
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/dialog"
)

// A carer can neither stop a plan nor put one in force, whatever button or command
// reaches the bot from their phone, and learns nothing of drafts and old versions.
func TestOnlyCoordinatorsActOnPlans(t *testing.T) {
	now := time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)
	site := &care.Site{
		Clients: []care.Client{{Ref: "tilda", Name: "Tilda Brannock", Room: "3"}},
		Plans:   []care.Plan{{Client: "tilda", Version: 1, From: now.Add(-time.Hour)}},
	}
	me := care.Person{Ref: "grace", Role: care.Carer, CaresFor: []string{"tilda"}}
	facts := dialog.Facts{Now: now, Site: site, Me: me}
	events := []dialog.Event{{Command: "plans"}}
	for _, do := range []string{"plan.suspend", "plan.resume", "plan.end", "plan.instead", "plan.versions", "plan.version", "plan.publish", "plans"} {
		events = append(events, dialog.Event{Action: &dialog.Action{Do: do, Client: "tilda", Version: 1}})
	}
	for _, e := range events {
		s, effects := dialog.Step(dialog.State{}, e, facts)
		if len(effects) != 1 || s.Form != nil {
			t.Errorf("%+v: %d effects, form %v", e, len(effects), s.Form)
			continue
		}
		if said, ok := effects[0].(dialog.Say); !ok || len(said.Lines) != 1 || said.Lines[0].Key != "coordinator.only" {
			t.Errorf("%+v: a carer gets %+v", e, effects[0])
		}
	}
	// A form that began while the person was a coordinator saves nothing any more.
	form := &dialog.Form{Flow: "plan", Step: "review", Ref: "plan.end", Client: "tilda", At: now, Note: &care.Note{Text: care.Text{Words: "w"}}}
	_, effects := dialog.Step(dialog.State{Turn: 1, Form: form}, dialog.Event{Action: &dialog.Action{Do: "answer", Turn: 1, Value: "save"}}, facts)
	for _, e := range effects {
		if _, acts := e.(dialog.ActOnPlan); acts {
			t.Errorf("somebody who is no coordinator any more ends a plan: %+v", e)
		}
	}
}
