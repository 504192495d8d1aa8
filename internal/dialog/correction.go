package dialog

import (
	"strings"

	"samelift/internal/care"
)

// A correction adds to a record and changes nothing in it:
//
//	words -> review -> saved
func correctionFlow() flow {
	return flow{
		name:      "correction",
		questions: []question{correctionText()},
		review: func(form Form, f Facts) []Line {
			return append(append(recordOf(f, form.Ref), line("correction.of", "Ref", form.Ref)), own(form.Note.Text)...)
		},
		save: func(s *State, form Form, f Facts) []Effect {
			if !mayCorrect(f, form.Ref) {
				return []Effect{say(line("record.unknown"))}
			}
			out := say(append([]Line{strong("correction.saved", "Ref", form.Ref)}, recordOf(f, form.Ref)...)...)
			out.InPlace = true
			effects := []Effect{AddTo{Ref: form.Ref, Addition: care.Addition{By: f.Me.Ref, At: f.Now, Text: form.Note.Text}}, out}
			if i, ok := f.Records.Incident(form.Ref); ok {
				for _, p := range f.Site.Coordinators() {
					if p.Ref == f.Me.Ref {
						continue
					}
					told := say(strong("correction.told", "Ref", i.Ref))
					if c, ok := f.Site.Client(i.Client); ok {
						told.Lines = append(told.Lines, clientLine(Strong, f.Site, c))
					}
					told.Lines = append(append(told.Lines, line("record.by", "Name", f.Me.Name, "At", f.Now)), own(form.Note.Text)...)
					told.To, told.Urgency, told.Client = p.Ref, Alert, i.Client
					effects = append(effects, told)
				}
			}
			return effects
		},
	}
}

func startCorrection(s State, f Facts, ref string) (State, []Effect) {
	if !mayCorrect(f, ref) {
		return s, []Effect{say(line("record.unknown"))}
	}
	return start(s, f, Form{Flow: "correction", Ref: ref, Note: &care.Note{}})
}

func correctionText() question {
	return question{
		name: "text", title: "note.title.text",
		ask: func(form Form, f Facts) Say {
			return say(append(recordOf(f, form.Ref), line("correction.ask", "Ref", form.Ref), small("form.type.it"))...)
		},
		take: func(form *Form, f Facts, a answer) *Words {
			if a.typed == "" {
				return &Words{Key: "form.type.it"}
			}
			return takeWords(&form.Note.Text, f, a)
		},
	}
}

// recordOf names the client whom a record is about, if the person may still learn of them.
func recordOf(f Facts, ref string) []Line {
	client := ""
	if i, ok := f.Records.Incident(ref); ok {
		client = i.Client
	} else if n, ok := f.Records.Note(ref); ok {
		client = n.Client
	}
	if c, ok := mayAnswer(f, client); ok {
		return []Line{clientLine(Strong, f.Site, c)}
	}
	return nil
}

// mayCorrect reports whether the person may add to a record: to one of their own, or
// about a client in their care.
func mayCorrect(f Facts, ref string) bool {
	if strings.HasPrefix(ref, "I-") {
		i, ok := f.Records.Incident(ref)
		return ok && (i.By == f.Me.Ref || f.Me.Role == care.Coordinator || i.Client != "" && f.Me.MaySee(i.Client))
	}
	n, ok := f.Records.Note(ref)
	return ok && f.Me.MaySee(n.Client)
}
