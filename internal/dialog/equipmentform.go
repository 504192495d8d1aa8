package dialog

import (
	"samelift/internal/care"
	"samelift/internal/rules"
)

// A PieceForm is an unfinished change of a piece of equipment.
type PieceForm struct {
	Label string `json:"label"`
	// Seen and SeenDates are what stood in the register when the form began.
	Seen      care.EquipmentState `json:"seen"`
	SeenDates care.Examined       `json:"seen_dates,omitzero"`
	To        care.EquipmentState `json:"to,omitempty"`
	Dates     care.Examined       `json:"dates,omitzero"`
	Reason    care.Text           `json:"reason,omitzero"`
}

func startGear(s State, f Facts, name string, p piece) (State, []Effect) {
	return start(s, f, Form{Flow: name, Piece: &PieceForm{Label: p.label, Seen: p.state, SeenDates: p.Examined, To: p.state, Dates: p.Examined}})
}

// What a coordinator sets, and words that follow a report:
//
//	state -> dropped, overloaded, damaged? -> why -> review -> kept
//	last examination -> printed next due -> review -> kept
//	words -> review -> kept, and every coordinator is told
func gearFlows() []flow {
	return []flow{
		{name: "gear_state", questions: []question{gearState(), gearEvent(), gearReason()}, review: gearReview, save: gearSave(care.CauseState)},
		{name: "gear_dates", questions: []question{gearLast(), gearDue()}, review: gearReview, save: gearSave(care.CauseDates)},
		{name: "gear_words", questions: []question{gearWords()}, review: gearReview, save: gearSave(care.CauseWords)},
	}
}

func gearHead(form Form, f Facts) Line {
	p, _ := pieceOf(f.Site, form.Piece.Label)
	p.label = form.Piece.Label
	if p.kind == "" {
		p.kind = care.SlingLabel
	}
	return strong("equipment.piece", p.named()...)
}

func gearState() question {
	return question{
		name: "state", title: "equipment.title.state",
		ask: func(form Form, f Facts) Say {
			out := say(gearHead(form, f), line("equipment.ask.state", "State", Term("why."+string(form.Piece.Seen))))
			var all []Choice
			p, _ := pieceOf(f.Site, form.Piece.Label)
			for _, x := range care.EquipmentStates {
				if x != form.Piece.Seen && (x != care.InWash || p.kind == care.SlingLabel) {
					all = append(all, choice("why."+string(x), Action{Value: string(x)}))
				}
			}
			out.Choices = append(rows(1, all...), []Choice{choice("form.cancel", Action{Do: "gear", Ref: form.Piece.Label})})
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words {
			x, ok := oneOf(care.EquipmentStates, a.value)
			if !ok {
				return complainChoose
			}
			form.Piece.To, form.Piece.Dates = x, form.Piece.SeenDates
			delete(form.Asked, "event") // it was about the state before
			return nil
		},
	}
}

// harmed gives the day of the fault or the incident that took a piece out of use.
func harmed(f Facts, label string) (care.Date, bool) {
	for _, e := range f.Records.EquipmentHistory(label, 50) {
		if e.From != e.To {
			return care.DateOf(e.At.In(f.Site.Location())), e.Cause == care.CauseFault || e.Cause == care.CauseIncident
		}
	}
	return care.Date{}, false
}

// gearEvent asks of a piece that a report took out of use whether it has to be examined
// before it comes back. Source: LOLER 1998 reg 9(3)(a)(iv). Who knows the piece decides,
// since a label that cannot be read harms no hoist.
func gearEvent() question {
	return question{
		name: "event", title: "equipment.title.event",
		wanted: func(form Form, f Facts) bool {
			_, is := harmed(f, form.Piece.Label)
			return is && (form.Piece.To == care.InUse || form.Piece.To == care.InWash || form.Asked["event"])
		},
		ask: func(form Form, f Facts) Say {
			out := say(gearHead(form, f), line("equipment.ask.event"))
			out.Choices = rows(1,
				choice("equipment.event.yes", Action{Value: string(care.Yes)}),
				choice("equipment.event.no", Action{Value: string(care.No)}))
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words {
			x, ok := oneOf(care.YesNos, a.value)
			if !ok {
				return complainChoose
			}
			form.Piece.Dates = form.Piece.SeenDates
			if day, is := harmed(f, form.Piece.Label); is && x == care.Yes {
				form.Piece.To = care.AwaitingExamination
				if form.Piece.Dates.Exceptional.Before(day) {
					form.Piece.Dates.Exceptional = day
				}
			}
			return nil
		},
	}
}

// needsReason reports whether somebody has to say why: whoever puts back in use what was
// out of it.
func (p PieceForm) needsReason() bool { return p.To == care.InUse && p.Seen != care.InWash }

func gearReason() question {
	return question{
		name: "text", title: "equipment.title.reason",
		ask: func(form Form, f Facts) Say {
			out := say(gearHead(form, f), line("equipment.ask.reason"), small("form.type.it"))
			if !form.Piece.needsReason() {
				out.Choices = rows(1, skip())
			}
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words {
			if a.typed == "" && form.Piece.needsReason() {
				return &Words{Key: "form.type.it"}
			}
			return takeWords(&form.Piece.Reason, f, a)
		},
	}
}

func gearWords() question {
	return question{
		name: "text", title: "equipment.title.reason",
		ask: func(form Form, f Facts) Say {
			return say(gearHead(form, f), line("equipment.ask.words"), small("form.type.it"))
		},
		take: func(form *Form, f Facts, a answer) *Words {
			if a.typed == "" {
				return &Words{Key: "form.type.it"}
			}
			return takeWords(&form.Piece.Reason, f, a)
		},
	}
}

// Values of the buttons beneath a question for a day.
const (
	dateSame    = "same"
	dateUnknown = "unknown"
)

func gearDate(name, title string, of func(*PieceForm) *care.Date, seen func(PieceForm) care.Date, wrong func(PieceForm, care.Date, care.Date) string) question {
	return question{
		name: name, title: title,
		ask: func(form Form, f Facts) Say {
			out := say(gearHead(form, f), line("equipment.ask."+name), small("equipment.date.how", "Date", f.today(), "Iso", f.today().String()))
			if have := seen(*form.Piece); !have.IsZero() {
				out.Choices = append(out.Choices, []Choice{choice("equipment.date.same", Action{Value: dateSame}, "Date", have)})
			}
			out.Choices = append(out.Choices, []Choice{choice("equipment.date.unknown", Action{Value: dateUnknown})})
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words {
			d := seen(*form.Piece)
			switch {
			case a.value == dateUnknown:
				d = care.Date{}
			case a.value == dateSame && !d.IsZero():
			case a.value != "":
				return complainChoose
			default:
				var ok bool
				if d, ok = f.ReadDate(a.typed); !ok {
					return &Words{Key: "equipment.date.bad"}
				}
			}
			if key := wrong(*form.Piece, d, f.today()); !d.IsZero() && key != "" {
				return &Words{Key: key}
			}
			*of(form.Piece) = d
			return nil
		},
	}
}

// farDays bounds a typed day: an examination is never planned years ahead, so a day
// that far off is a slip of the finger. Our own choice.
const farDays = 5 * 366

func gearLast() question {
	return gearDate("last", "equipment.title.last",
		func(p *PieceForm) *care.Date { return &p.Dates.Last }, func(p PieceForm) care.Date { return p.SeenDates.Last },
		func(_ PieceForm, d, today care.Date) string {
			switch {
			case today.Before(d):
				return "equipment.date.future"
			case d.DaysUntil(today) > farDays:
				return "equipment.date.bad"
			}
			return ""
		})
}

func gearDue() question {
	return gearDate("due", "equipment.title.due",
		func(p *PieceForm) *care.Date { return &p.Dates.Due }, func(p PieceForm) care.Date { return p.SeenDates.Due },
		func(p PieceForm, d, today care.Date) string {
			switch {
			case !p.Dates.Last.IsZero() && !p.Dates.Last.Before(d):
				return "equipment.date.before_last"
			case today.DaysUntil(d) > farDays || d.DaysUntil(today) > farDays:
				return "equipment.date.bad"
			}
			return ""
		})
}

func gearReview(form Form, f Facts) []Line {
	x := *form.Piece
	out := []Line{gearHead(form, f)}
	if x.To != x.Seen {
		out = append(out, stateLine(x.Seen, x.To))
	}
	if form.Flow == "gear_dates" {
		out = append(out, line("equipment.dates", "Last", x.Dates.Last, "Due", x.Dates.Due))
		for _, found := range rules.Dates(x.Label, x.Dates, f.today()) {
			out = append(out, findingLine(found))
		}
	}
	if p, ok := pieceOf(f.Site, x.Label); ok && form.Flow != "gear_words" {
		p.state, p.Examined = x.To, x.Dates
		out = append(out, dateLine(f, p))
	}
	return append(out, own(x.Reason)...)
}

// gearSave keeps the change, unless somebody else has changed the piece since the form
// began: then their change is shown, and nothing is kept.
func gearSave(cause care.EquipmentCause) func(*State, Form, Facts) []Effect {
	return func(_ *State, form Form, f Facts) []Effect {
		x := *form.Piece
		p, ok := pieceOf(f.Site, x.Label)
		if !ok {
			return []Effect{say(line("button.old"))}
		}
		if cause != care.CauseWords {
			if f.Me.Role != care.Coordinator {
				return []Effect{say(line("coordinator.only"))}
			}
			if p.state != x.Seen || p.Examined != x.SeenDates {
				return []Effect{showPiece(f, p, warn("equipment.changed_meanwhile"))}
			}
		} else {
			x.To, x.Dates = p.state, p.Examined
		}
		e := p.event(f, cause, x.To)
		e.Is, e.Reason = x.Dates, x.Reason
		p.state, p.Examined = x.To, x.Dates
		f.Site = p.in(f.Site)
		out := say(strong("equipment.saved"), dateLine(f, p))
		if p.state == care.Withdrawn {
			out.Lines = append(out.Lines, keep(p))
		}
		if cause != care.CauseWords {
			out.Lines = append(out.Lines, affected(f, p, f.Me)...)
			out.Choices = pieceChoices(f, p)
		}
		out.InPlace = true
		effects := []Effect{SetEquipment{e}, out}
		if (e.From == care.InUse || e.From == care.InWash) && e.To != care.InUse && e.To != care.InWash {
			effects = append(effects, tellCarers(f, p)...)
		}
		if cause == care.CauseWords {
			for _, to := range f.Site.Coordinators() {
				if to.Ref == f.Me.Ref {
					continue
				}
				told := say(append([]Line{strong("equipment.piece", p.named()...), line("record.by", "Name", f.Me.Name, "At", f.Now)}, own(x.Reason)...)...)
				told.To, told.Urgency = to.Ref, Alert
				told.Choices = [][]Choice{{as(p.label, Action{Do: "gear", Ref: p.label})}}
				effects = append(effects, told)
			}
		}
		return effects
	}
}
