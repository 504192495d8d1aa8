package dialog

import (
	"bytes"
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"samelift/internal/care"
)

var stateNow = time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)

// A stored conversation that this build cannot take up begins anew and says so, rather
// than take an answer for that of another question.
func TestDecode(t *testing.T) {
	for _, c := range []struct {
		says, stored         string
		stopped, form, draft bool
	}{
		{"the beginning", ``, false, false, false},
		{"nothing under way", `{"v":1,"client":"tilda","turn":4}`, false, false, false},
		{"a note", `{"v":1,"form":{"flow":"note","step":"outcome","note":{"outcome":""}}}`, false, true, false},
		{"a note at its read-back", `{"v":1,"form":{"flow":"note","step":"review","note":{"outcome":"as_planned"}}}`, false, true, false},
		{"an incident as a draft", `{"v":1,"draft":{"flow":"incident","step":"kind","incident":{"kind":"","harm":""}}}`, false, false, true},
		{"joining", `{"v":1,"form":{"flow":"join","step":"language"}}`, false, true, false},
		{"a field from a newer build is no harm", `{"v":1,"client":"tilda","since":"then"}`, false, false, false},
		{"an older form of state", `{"client":"tilda"}`, true, false, false},
		{"a newer form of state", `{"v":2,"form":{"flow":"note","step":"outcome","note":{}}}`, true, false, false},
		{"a flow that is not known", `{"v":1,"form":{"flow":"rota","step":"review"},"draft":{"flow":"note","step":"review","note":{}}}`, true, false, true},
		{"a step that is not known", `{"v":1,"form":{"flow":"note","step":"weather","note":{}}}`, true, false, false},
		{"a step of another flow", `{"v":1,"form":{"flow":"note","step":"kind","note":{}}}`, true, false, false},
		{"a step of joining that is not known", `{"v":1,"form":{"flow":"join","step":"review"}}`, true, false, false},
		{"a note without a note", `{"v":1,"form":{"flow":"note","step":"outcome"}}`, true, false, false},
		{"an incident without an incident", `{"v":1,"form":{"flow":"incident","step":"kind","note":{}}}`, true, false, false},
		{"a draft that is not known goes without a word", `{"v":1,"draft":{"flow":"rota","step":"x"}}`, false, false, false},
		{"broken", `{"v":1,"form":{`, true, false, false},
		{"another type", `{"v":1,"form":"note"}`, true, false, false},
		{"a list", `[]`, true, false, false},
		{"null", `null`, true, false, false},
		{"no JSON", "\x00\xff", true, false, false},
	} {
		s := Decode([]byte(c.stored))
		if s.Stopped != c.stopped || (s.Form != nil) != c.form || (s.Draft != nil) != c.draft {
			t.Errorf("%s: stopped %t, a form %t, a draft %t; want %t, %t, %t", c.says, s.Stopped, s.Form != nil, s.Draft != nil, c.stopped, c.form, c.draft)
		}
	}
}

// A conversation goes on after a restart exactly where it stood, at every step of every
// flow.
func TestStateRoundTrip(t *testing.T) {
	pain := 3
	for _, fl := range flows() {
		steps := []string{stepReview, stepChange}
		for _, q := range fl.questions {
			steps = append(steps, q.name)
		}
		for _, step := range steps {
			form := Form{Flow: fl.name, Step: step, At: stateNow, Return: true, Client: "tilda", Ref: "N-1", Full: true, Lang: "pl",
				Asked:    map[string]bool{"outcome": true},
				Note:     &care.Note{Client: "tilda", PlanVersion: 2, Transfer: "bed>chair", Outcome: care.Changed, Pain: &pain, Text: care.Text{Lang: "pl", Words: "ból"}},
				Incident: &care.Incident{Client: "tilda", Kind: care.Fall, Harm: care.HarmMild, Equipment: []string{"S-014"}},
				Piece:    &PieceForm{Label: "S-014", Seen: care.InWash, To: care.InUse, SeenDates: care.Examined{Last: care.Date{Year: 2026, Month: 3, Day: 1}}, Reason: care.Text{Lang: "pl", Words: "ból"}}}
			draft := form.clone()
			s := State{Version: stateVersion, Form: &form, Draft: &draft, Client: "tilda", Transfer: "bed>chair", Spoken: stateNow, Turn: 7}
			b, err := s.Encode()
			if err != nil {
				t.Fatal(err)
			}
			if back := Decode(b); !reflect.DeepEqual(back, s) {
				t.Errorf("%s at %s reads back as\n%+v\nwant\n%+v", fl.name, step, back, s)
			}
		}
	}
}

// A copied form shares nothing with the one it came from: a step that is undone must
// not leave its answer behind.
func TestCloneSharesNothing(t *testing.T) {
	form := Form{Asked: map[string]bool{"a": true}, Note: &care.Note{Outcome: care.AsPlanned}, Incident: &care.Incident{Equipment: []string{"S-014"}},
		Piece: &PieceForm{Label: "S-014", Seen: care.InWash, To: care.InUse, SeenDates: care.Examined{Last: care.Date{Year: 2026, Month: 3, Day: 1}}, Reason: care.Text{Lang: "pl", Words: "ból"}}}
	before, _ := json.Marshal(form)
	c := form.clone()
	c.Asked["b"] = true
	c.Note.Outcome = care.Refused
	c.Incident.Equipment[0] = "H-01"
	c.Incident.Kind = care.Fall
	if after, _ := json.Marshal(form); !bytes.Equal(before, after) {
		t.Errorf("the first form became %s", after)
	}
}

// Whatever stands in the database, reading it does not panic, and what is read can be
// written and read again.
func FuzzDecode(f *testing.F) {
	for _, s := range []string{``, `{"v":1}`, `{"v":1,"form":{"flow":"note","step":"outcome","note":{}}}`, `{"v":1,"form":{"flow":"join","step":"language","at":"x"}}`, `{"v":9}`, `[`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s := Decode(b)
		again, err := s.Encode()
		if err != nil {
			return // a time that JSON does not write
		}
		if s.Stopped = false; Decode(again).Stopped {
			t.Errorf("%q is written as %q, which cannot be read", b, again)
		}
	})
}
