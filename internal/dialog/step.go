package dialog

import (
	"strings"

	"samelift/internal/care"
)

// pageSize is the most clients on one page of buttons.
const pageSize = 8

// Step advances one conversation of a member of the team by one event.
//
//	a press -> what the choice meant
//	a command -> its flow
//	danger now -> the emergency card, whatever else is under way
//	an answer that a form waits for -> the form
//	anything else -> a question
func Step(s State, e Event, f Facts) (State, []Effect) {
	var before, after []Effect
	if s.Stopped {
		s.Stopped = false
		before = append(before, say(line("form.lost")))
	}
	if s.Form != nil && s.Form.Flow == flowJoin {
		s.Form = nil
	}
	// Late words are never taken for the answer to a question asked long ago.
	if s.Form != nil && f.Now.Sub(s.Form.At) > Idle {
		s = setAside(s)
		if s.Draft != nil {
			offer := say(line("draft.kept"))
			offer.Choices = draftChoices()
			after = append(after, offer)
		}
	}
	s, effects := step(s, e, f)
	return s, append(append(before, effects...), after...)
}

func draftChoices() [][]Choice {
	return rows(2, choice("draft.resume", Action{Do: "resume"}), choice("draft.discard", Action{Do: "discard"}))
}

func step(s State, e Event, f Facts) (State, []Effect) {
	switch {
	case e.Action != nil:
		return press(s, *e.Action, f)
	case e.Label != nil:
		return scan(s, f, *e.Label)
	case e.Command != "":
		return command(s, e, f)
	case e.Other:
		return s, []Effect{say(line("input.cannot_read"))}
	case e.Text == "":
		return s, []Effect{home(f)}
	}
	reading := f.Read(e.Text)
	var before []Effect
	if e.Long {
		before = append(before, say(line("input.cut")))
	}
	if s.Form != nil {
		// In the form about an incident the first actions have been shown, and words of
		// danger are what it asks for.
		switch {
		case !reading.Emergency || s.Form.Flow == "incident":
		case s.Form.Flow == flowPlan && waitsForWords(*s.Form):
			// Why a plan changes is told in the same words, of what is over.
			now := say(warn("emergency.call", "Number", f.Site.EmergencyNumber))
			now.Choices = emergency(f, reading.Client, e.Text).Choices
			before = append(before, now)
		default:
			before = append(before, emergency(f, reading.Client, e.Text))
			if !waitsForWords(*s.Form) {
				return s, before
			}
		}
		s, effects := answered(s, f, answer{typed: e.Text}, false)
		return s, append(before, effects...)
	}
	if s.Asked != "" && f.Now.Sub(s.AskedAt) <= FollowUp && !reading.Emergency {
		if value, is := typedBack(f, s.Asked, e.Text); is {
			return readBack(s, f, s.Asked, value)
		}
	}
	if s, effects, ok := spokenLabel(s, f, reading, e.Text); ok {
		return s, append(before, effects...)
	}
	s, effects := asked(s, f, reading, e.Text)
	return s, append(before, effects...)
}

// waitsForWords reports whether the current question takes free words, so that words
// of danger in it are kept as well as answered.
func waitsForWords(form Form) bool {
	last := form.Step[strings.LastIndex(form.Step, ".")+1:]
	return last == "why" || last == "text"
}

// command runs a command. Least privilege is checked here as it is for buttons: the
// menu of a messenger is a convenience, not a gate.
func command(s State, e Event, f Facts) (State, []Effect) {
	switch e.Command {
	case "start":
		return s, []Effect{home(f)}
	case "help":
		return s, []Effect{help(f)}
	case "clients":
		return s.about(f, ""), []Effect{clientList(f, 0, false)}
	case "note":
		return startNote(s, f, "", "")
	case "incident":
		return startIncident(s, f, "")
	case "handover":
		return s.about(f, ""), handover(f)
	case "language":
		return s, []Effect{languages(f)}
	case "pictures":
		return s, setPictures(f, e.Rest, false)
	case "charts":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{charts(f, 0, false)} })
	case "privacy":
		return s, []Effect{privacy()}
	case "cancel":
		if s.Form != nil {
			return cancel(s, false)
		}
		s.Draft = nil
		return s, []Effect{say(line("cancel.nothing"))}
	case "team", "invite":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{team(f, 0, false)} })
	case "changes":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{changes(f, false)} })
	case "equipment":
		return s, []Effect{equipmentList(f, 0, false)}
	case "plans":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{planClients(f, 0, false)} })
	case "delivery":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{delivery(f)} })
	}
	return s, []Effect{home(f)}
}

func coordinatorOnly(s State, f Facts, then func() []Effect) (State, []Effect) {
	if f.Me.Role != care.Coordinator {
		return s, []Effect{say(line("coordinator.only"))}
	}
	return s.about(f, ""), then()
}

// press does what a choice meant, if the person may still have it.
func press(s State, a Action, f Facts) (State, []Effect) {
	switch a.Do {
	case "answer", "old", "resume", "discard", "language":
	default:
		s = s.about(f, a.Client)
	}
	switch a.Do {
	case "answer":
		if s.Form == nil {
			return s, []Effect{say(line("button.old"))}
		}
		if a.Turn != s.Turn {
			return prompt(s, f, false, append([]Line{line("button.old.question")}, whose(*s.Form, f)...)...)
		}
		return answered(s, f, answer{value: a.Value}, true)
	case "old":
		return s, []Effect{say(line("button.old"))}
	case "resume":
		if s.Draft == nil {
			return s, []Effect{say(line("button.old"))}
		}
		if s.Form != nil {
			s.Form, s.Draft = s.Draft, s.Form
		} else {
			s.Form, s.Draft = s.Draft, nil
		}
		return prompt(s, f, false, whose(*s.Form, f)...)
	case "discard":
		s.Draft = nil
		return s, []Effect{inPlace(say(line("draft.gone")))}
	case "clients":
		return s, []Effect{clientList(f, a.Page, a.Page > 0 || a.Value == "page")}
	case "client":
		if c, ok := mayAnswer(f, a.Client); ok {
			return clientCard(s, f, c, a.Topic)
		}
	case "card":
		if c, ok := mayAnswer(f, a.Client); ok {
			return pressedCard(s, f, c, a)
		}
	case "alone":
		if c, ok := mayAnswer(f, a.Client); ok {
			return s, []Effect{alone(f, c, a)}
		}
	case "note":
		if a.Client == "" {
			return startNote(s, f, "", "")
		}
		if c, ok := mayAnswer(f, a.Client); ok {
			return startNote(s, f, c.Ref, a.Transfer)
		}
	case "incident":
		if a.Client == "" {
			return startIncident(s, f, "")
		}
		if c, ok := mayAnswer(f, a.Client); ok {
			return startIncident(s, f, c.Ref)
		}
	case "planedit":
		return startPlanEdit(s, f, a.Client, a.Transfer)
	case "tell":
		return s, tellCoordinators(f, a.Client, a.Value, a.At)
	case "correct":
		return startCorrection(s, f, a.Ref)
	case "confirm":
		return confirm(s, f, a.Ref)
	case "readback":
		return readBack(s, f, a.Ref, a.Value)
	case "plan.suspend", "plan.resume", "plan.end", "plan.instead", "plan.versions", "plan.version", "plan.publish":
		if f.Me.Role != care.Coordinator {
			return s, []Effect{say(line("coordinator.only"))}
		}
		if c, ok := mayAnswer(f, a.Client); ok {
			return pressedPlan(s, f, c, a)
		}
	case "handover":
		return s, handover(f)
	case "language":
		for _, l := range f.Langs {
			if l.Code == a.Value {
				return s, []Effect{SetLang{l.Code}, inPlace(say(line("language.set", "Language", Term("language."+l.Code))))}
			}
		}
		return s, []Effect{languages(f)}
	case "equipment":
		return s, []Effect{equipmentList(f, a.Page, a.Value == "page")}
	case "gear", "gear.wash", "gear.fault", "gear.fault.is", "gear.words", "gear.state", "gear.dates", "gear.history":
		return pressGear(s, a, f)
	case "pictures":
		return s, setPictures(f, a.Value, true)
	case "sheet":
		return sheetScanned(s, f, a)
	case "sheet.unknown":
		return s, []Effect{say(line("sheet.unknown"))}
	case "posture", "charts", "chart", "chart.weeks":
		return coordinatorOnly(s, f, func() []Effect { return looked(f, a) })
	case "changes":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{changes(f, false)} })
	case "plans":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{planClients(f, a.Page, true)} })
	case "change":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{changeStatus(f, a.Ref, a.Page)} })
	case "team":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{team(f, a.Page, a.Value == "page")} })
	case "signoffs":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{signOffs(f)} })
	case "person":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{person(f, a.Ref)} })
	case "invite":
		return coordinatorOnly(s, f, func() []Effect { return invite(f, a.Ref) })
	case "remove":
		return coordinatorOnly(s, f, func() []Effect { return []Effect{askRemove(f, a.Ref)} })
	case "remove.sure":
		return coordinatorOnly(s, f, func() []Effect { return remove(f, a.Ref) })
	default:
		return s, []Effect{say(line("button.old"))}
	}
	return s, []Effect{say(line("client.unknown"))}
}

// mayAnswer gives a client whom the person may learn about. Of any other, and of one
// who does not exist, it says the same: no.
func mayAnswer(f Facts, ref string) (care.Client, bool) {
	c, ok := f.Site.Client(ref)
	if !ok || c.Ended || !f.Me.MaySee(ref) {
		return care.Client{}, false
	}
	return c, true
}

func inPlace(s Say) Say {
	s.InPlace = true
	return s
}

func equalFold(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}

// labels lists the labels of all equipment of a site.
func labels(s *care.Site) []string {
	var out []string
	for _, x := range s.Slings {
		out = append(out, x.Label)
	}
	for _, h := range s.Hoists {
		out = append(out, h.Label)
	}
	return out
}

func home(f Facts) Say {
	out := say(strong("home.title", "Site", f.Site.Name), line("help.ask"))
	out.Choices = homeChoices(f)
	return out
}

func help(f Facts) Say {
	out := say(line("help.ask"), line("help.record"), line("help.handover"), line("help.cancel"), small("caution.plan_decides"))
	if f.Me.Role == care.Coordinator {
		out.Lines = append(out.Lines[:4], line("help.coordinator"), small("caution.plan_decides"))
	}
	out.Choices = homeChoices(f)
	return out
}

func languages(f Facts) Say {
	out := say(line("join.language"))
	for _, l := range f.Langs {
		out.Choices = append(out.Choices, []Choice{as(l.Autonym, Action{Do: "language", Value: l.Code})})
	}
	return out
}

func privacy() Say {
	return say(strong("join.privacy.title"), line("join.privacy.who"), line("join.privacy.kept"), line("join.privacy.open"), line("join.privacy.phone"))
}
