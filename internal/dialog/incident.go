package dialog

import (
	"samelift/internal/care"
)

// The incident report. The first actions are shown before anything is asked:
//
//	first actions + kind -> client -> where -> harm -> equipment -> words -> review -> saved
//	                                                                          |
//	                                     every coordinator is told at once <--+
func incidentFlow() flow {
	return flow{
		name:      "incident",
		questions: []question{incidentKind(), incidentClient(), incidentWhere(), incidentHarm(), incidentEquipment(), incidentText()},
		review:    func(form Form, f Facts) []Line { return incidentLines(f, *form.Incident) },
		save:      incidentSave,
	}
}

func startIncident(s State, f Facts, client string) (State, []Effect) {
	form := Form{Flow: "incident", Incident: &care.Incident{}}
	if client != "" {
		setIncidentClient(&form, f, client)
		form.Asked = map[string]bool{"client": true}
	}
	return start(s, f, form)
}

func setIncidentClient(form *Form, f Facts, client string) {
	form.Client, form.Incident.Client, form.Incident.PlanVersion, form.Incident.Equipment = client, client, 0, nil
	delete(form.Asked, "equipment") // what was chosen was another's
	if p, ok := f.Site.PlanOnRecord(client, f.Now); ok {
		form.Incident.PlanVersion = p.Version
	}
}

// firstActions is the caution before the form: what the first minute needs, in the
// order of the handbook's section 8.5 (do not lift, check, call).
func firstActions(f Facts) []Line {
	return []Line{
		warn("first.do_not_lift"),
		line("first.check"),
		line("first.call", "Number", f.Site.EmergencyNumber),
		line("first.stay"),
		line("first.keep_equipment"),
	}
}

func incidentKind() question {
	return question{
		name: "kind", title: "incident.title.kind",
		ask: func(form Form, f Facts) Say {
			lines := firstActions(f)
			if form.Asked["kind"] || form.Return {
				lines = nil
			}
			out := say(append(lines, strong("incident.ask.kind"))...)
			out.Choices = rows(2, codes("incident.kind.", care.IncidentKinds)...)
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words {
			k, ok := oneOf(care.IncidentKinds, a.value)
			if !ok {
				return complainChoose
			}
			form.Incident.Kind = k
			return nil
		},
	}
}

func incidentClient() question {
	return question{
		name: "client", title: "incident.title.client",
		ask: func(form Form, f Facts) Say {
			return askClient(f, "incident.ask.client", choice("incident.no_client", Action{Value: valueSkip}))
		},
		take: func(form *Form, f Facts, a answer) *Words {
			if a.value == valueSkip {
				setIncidentClient(form, f, "")
				return nil
			}
			ref, complaint := takeClient(f, a)
			if complaint == nil {
				setIncidentClient(form, f, ref)
			}
			return complaint
		},
	}
}

func incidentWhere() question {
	return question{
		name: "where", title: "incident.title.where",
		ask: func(form Form, f Facts) Say {
			out := say(line("incident.ask.where"))
			out.Choices = append(rows(3, codes("place.", care.Places)...), []Choice{choice("incident.where.other", Action{Value: valueSkip})})
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words { return takeCode(&form.Incident.Where, care.Places, a) },
	}
}

func incidentHarm() question {
	return question{
		name: "harm", title: "incident.title.harm",
		ask: func(form Form, f Facts) Say {
			out := say(line("incident.ask.harm"))
			out.Choices = rows(1, codes("incident.harm.", care.Harms)...)
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words {
			h, ok := oneOf(care.Harms, a.value)
			if !ok {
				return complainChoose
			}
			form.Incident.Harm = h
			return nil
		},
	}
}

// equipmentOf lists the labels that a client's plan in force names.
func equipmentOf(f Facts, client string) []string {
	var out []string
	seen := map[string]bool{"": true}
	p, _ := f.Site.PlanOnRecord(client, f.Now)
	for _, t := range p.Transfers {
		for _, label := range []string{t.Label, t.Spare, t.Hoist} {
			if !seen[label] {
				seen[label] = true
				out = append(out, label)
			}
		}
	}
	return out
}

func incidentEquipment() question {
	return question{
		name: "equipment", title: "incident.title.equipment",
		ask: func(form Form, f Facts) Say {
			out := say(line("incident.ask.equipment"), small("incident.equipment.type"))
			for _, label := range equipmentOf(f, form.Client) {
				if len(out.Choices) == 8 {
					break
				}
				out.Choices = append(out.Choices, []Choice{as(label, Action{Value: label})})
			}
			out.Choices = append(out.Choices, []Choice{choice("incident.equipment.none", Action{Value: valueSkip})})
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words {
			if a.value == valueSkip {
				form.Incident.Equipment = nil
				return nil
			}
			for _, label := range labels(f.Site) {
				if equalFold(label, a.value+a.typed) {
					form.Incident.Equipment = []string{label}
					return nil
				}
			}
			return &Words{Key: "incident.equipment.unknown"}
		},
	}
}

func incidentText() question {
	return question{
		name: "text", title: "incident.title.text",
		ask: func(form Form, f Facts) Say {
			out := say(line("incident.ask.text"), small("form.type.it"))
			out.Choices = rows(1, skip())
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words { return takeWords(&form.Incident.Text, f, a) },
	}
}

// incidentLines shows an incident, whether it is about to be saved or was long ago.
func incidentLines(f Facts, i care.Incident) []Line {
	var out []Line
	if c, ok := f.Site.Client(i.Client); ok {
		out = append(out, clientLine(Strong, f.Site, c))
	} else {
		out = append(out, strong("incident.no_client"))
	}
	out = append(out,
		line("incident.kind", "Kind", Term("incident.kind."+string(i.Kind))),
		line("incident.harm", "Harm", Term("incident.harm."+string(i.Harm))))
	if i.Where != "" {
		out = append(out, line("incident.where", "Where", place(i.Where)))
	}
	for _, label := range i.Equipment {
		out = append(out, line("incident.equipment", "Label", label))
	}
	out = append(out, own(i.Text)...)
	for _, a := range i.Additions {
		out = append(out, line("record.addition", "Name", nameOf(f.Site, a.By), "At", a.At))
		out = append(out, own(a.Text)...)
	}
	return out
}

func incidentSave(s *State, form Form, f Facts) []Effect {
	i := *form.Incident
	if i.Client != "" {
		if _, ok := mayAnswer(f, i.Client); !ok {
			return []Effect{say(line("client.unknown"))}
		}
		s.Client, s.Transfer, s.Spoken = i.Client, "", f.Now
	}
	i.Ref, i.By, i.At = f.NextIncident, f.Me.Ref, f.Now
	saved := say(strong("incident.saved", "Ref", i.Ref))
	saved.InPlace = true
	told, reached := otherCoordinators(f)
	switch {
	case reached > 0:
		saved.Lines = append(saved.Lines, line("incident.told"))
	case len(told) > 0:
		saved.Lines = append(saved.Lines, warn("emergency.out_of_reach"))
	}
	out, outLines, outToEach := outByIncident(f, i)
	saved.Lines = append(append(saved.Lines, line("first.keep_equipment")), outLines...)
	saved.Lines = append(saved.Lines, whomToCall(f.Site)...)
	saved.Choices = rows(1, choice("record.correct", Action{Do: "correct", Ref: i.Ref}))
	effects := append(append([]Effect{SaveIncident{i}}, out...), saved)
	for _, p := range told {
		alert := say(append([]Line{
			warn("incident.alert", "Ref", i.Ref),
			line("record.by", "Name", f.Me.Name, "At", i.At),
		}, incidentLines(f, i)...)...)
		alert.Lines = append(alert.Lines, outToEach(p)...)
		alert.To, alert.Urgency, alert.Client = p.Ref, Alert, i.Client
		effects = append(effects, alert)
	}
	return effects
}
