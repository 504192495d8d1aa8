package dialog

import (
	"strconv"

	"samelift/internal/care"
)

// maxWords is the most runes of somebody's own words in one answer.
const maxWords = 1500

// The visit note:
//
//	client -> transfer -> outcome -+- as planned, nothing new ---------------------> review
//	                               +- as planned, more -> borne -> pain -> skin (-> where)
//	                               |                      -> mood -> words ---------> review
//	                               +- differently -> what -> why -> borne ... ------> review
//	                               +- not done -> why -> words ---------------------> review
//	                               +- refused  -> why -> mood -> words -------------> review
func noteFlow() flow {
	return flow{
		name: "note",
		questions: []question{
			noteClient(), noteTransfer(), noteOutcome(), noteDifference(), noteWhy(),
			noteBorne(), notePain(), noteSkin(), noteSkinPart(), noteSkinSide(), noteMood(), noteText(),
		},
		review: func(form Form, f Facts) []Line { return noteLines(f, *form.Note, true) },
		more: func(form Form) bool {
			return !form.Full && form.Note.Outcome == care.AsPlanned
		},
		save: noteSave,
	}
}

func startNote(s State, f Facts, client, transfer string) (State, []Effect) {
	form := Form{Flow: "note", Note: &care.Note{}}
	if client != "" {
		setNoteClient(&form, f, client)
		form.Asked["client"] = true
		if transfer != "" {
			form.Note.Transfer = transfer
			form.Asked["transfer"] = true
		}
	}
	return start(s, f, form)
}

// setNoteClient also keeps under which version of the plan the note is written, and
// the transfer where the plan has only one.
func setNoteClient(form *Form, f Facts, client string) {
	form.Client, form.Note.Client, form.Note.PlanVersion, form.Note.Transfer = client, client, 0, ""
	if form.Asked == nil {
		form.Asked = map[string]bool{}
	}
	delete(form.Asked, "transfer")
	p, ok := f.Site.PlanOnRecord(client, f.Now)
	if !ok {
		return
	}
	form.Note.PlanVersion = p.Version
	if len(p.Transfers) == 1 && !p.Transfers[0].BothWays {
		form.Note.Transfer = p.Transfers[0].Key()
		form.Asked["transfer"] = true
	}
}

// askClient offers the clients whom the person may see. A name can be typed too.
func askClient(f Facts, key string, more ...Choice) Say {
	out := say(line(key))
	mine := f.Site.ClientsOf(f.Me)
	for i, c := range mine {
		if i == pageSize && len(mine) > pageSize {
			out.Lines = append(out.Lines, line("clients.type.name"))
			break
		}
		out.Choices = append(out.Choices, []Choice{clientLabel(f.Site, c, Action{Value: c.Ref})})
	}
	for _, c := range more {
		out.Choices = append(out.Choices, []Choice{c})
	}
	return out
}

// takeClient reads a pressed or typed client whom the person may see.
func takeClient(f Facts, a answer) (string, *Words) {
	ref := a.value
	if a.typed != "" {
		r := f.Read(a.typed)
		ref = r.Client
	}
	if c, ok := mayAnswer(f, ref); ok {
		return c.Ref, nil
	}
	return "", &Words{Key: "client.unknown"}
}

func noteClient() question {
	return question{
		name: "client", title: "note.title.client",
		ask: func(_ Form, f Facts) Say { return askClient(f, "note.ask.client") },
		take: func(form *Form, f Facts, a answer) *Words {
			ref, complaint := takeClient(f, a)
			if complaint == nil {
				setNoteClient(form, f, ref)
			}
			return complaint
		},
	}
}

func noteTransfer() question {
	return question{
		name: "transfer", title: "note.title.transfer",
		wanted: func(form Form, f Facts) bool {
			p, ok := f.Site.PlanOnRecord(form.Client, f.Now)
			return ok && len(p.Transfers) > 0
		},
		ask: func(form Form, f Facts) Say {
			out := say(noteHead(form, f), line("note.ask.transfer"))
			p, _ := f.Site.PlanOnRecord(form.Client, f.Now)
			for _, t := range p.Transfers {
				out.Choices = append(out.Choices, []Choice{transferButton(t.From, t.To, Action{Value: t.Key()})})
				if t.BothWays {
					back := care.Transfer{From: t.To, To: t.From}
					out.Choices = append(out.Choices, []Choice{transferButton(t.To, t.From, Action{Value: back.Key()})})
				}
			}
			out.Choices = append(out.Choices, []Choice{choice("note.transfer.other", Action{Value: valueSkip})})
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words {
			if a.value == valueSkip {
				form.Note.Transfer = ""
				return nil
			}
			p, _ := f.Site.PlanOnRecord(form.Client, f.Now)
			from, to := care.ParseTransferKey(a.value)
			if a.typed != "" {
				r := f.Read(a.typed)
				from, to = r.From, r.To
			}
			if found := serving(p, from, to); len(found) == 1 && (from != "" || to != "") {
				form.Note.Transfer = found[0].key()
				return nil
			}
			return complainChoose
		},
	}
}

func noteOutcome() question {
	return question{
		name: "outcome", title: "note.title.outcome",
		ask: func(form Form, f Facts) Say {
			out := say(noteHead(form, f), line("note.ask.outcome"))
			out.Choices = rows(1,
				choice("note.outcome.nothing_new", Action{Value: "nothing_new"}),
				choice("note.outcome.as_planned", Action{Value: string(care.AsPlanned)}),
				choice("note.outcome.changed", Action{Value: string(care.Changed)}),
				choice("note.outcome.not_done", Action{Value: string(care.NotDone)}),
				choice("note.outcome.refused", Action{Value: string(care.Refused)}))
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words {
			if a.value == "nothing_new" {
				form.Note.Outcome, form.Full = care.AsPlanned, false
				return nil
			}
			o, ok := oneOf(care.Outcomes, a.value)
			if !ok {
				return complainChoose
			}
			form.Note.Outcome, form.Full = o, true
			return nil
		},
	}
}

func noteDifference() question {
	return question{
		name: "difference", title: "note.title.difference",
		wanted: func(form Form, _ Facts) bool { return form.Note.Outcome == care.Changed },
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.difference"))
			out.Choices = rows(2, codes("note.difference.", care.Differences)...)
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words {
			d, ok := oneOf(care.Differences, a.value)
			if !ok {
				return complainChoose
			}
			form.Note.Difference = d
			return nil
		},
	}
}

func noteWhy() question {
	return question{
		name: "why", title: "note.title.why",
		wanted: func(form Form, _ Facts) bool { return form.Note.Outcome != care.AsPlanned },
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.why."+string(form.Note.Outcome)), small("form.type.it"))
			out.Choices = rows(1, skip())
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words { return takeWords(&form.Note.Why, f, a) },
	}
}

func noteBorne() question {
	return question{
		name: "borne", title: "note.title.borne",
		wanted: wantsDetail,
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.borne"))
			out.Choices = append(rows(1, codes("note.borne.", care.BorneAll)...), []Choice{skip()})
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words { return takeCode(&form.Note.Borne, care.BorneAll, a) },
	}
}

func notePain() question {
	return question{
		name: "pain", title: "note.title.pain",
		wanted: wantsDetail,
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.pain"), small("note.pain.scale"))
			var all []Choice
			for n := 0; n <= 10; n++ {
				all = append(all, as(strconv.Itoa(n), Action{Value: strconv.Itoa(n)}))
			}
			out.Choices = append(rows(4, all...), []Choice{choice("note.pain.not_asked", Action{Value: valueSkip})})
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words {
			if a.value == valueSkip {
				form.Note.Pain = nil
				return nil
			}
			n, ok := number(a.value + a.typed)
			if !ok || n > 10 {
				return &Words{Key: "note.pain.range"}
			}
			form.Note.Pain = &n
			return nil
		},
	}
}

func noteSkin() question {
	return question{
		name: "skin", title: "note.title.skin",
		wanted: wantsDetail,
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.skin"))
			out.Choices = rows(1, codes("note.skin.", care.SkinAll)...)
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words {
			form.Note.SkinPart, form.Note.SkinSide = "", ""
			return takeCode(&form.Note.Skin, care.SkinAll, a)
		},
	}
}

func skinNeedsPlace(form Form) bool {
	switch form.Note.Skin {
	case care.SkinRed, care.SkinBroken, care.SkinBruise:
		return true
	}
	return false
}

func noteSkinPart() question {
	return question{
		name: "skin_part", title: "note.title.skin_part",
		wanted: func(form Form, f Facts) bool { return wantsDetail(form, f) && skinNeedsPlace(form) },
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.skin_part"))
			out.Choices = append(rows(3, codes("part.", care.BodyParts)...), []Choice{skip()})
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words { return takeCode(&form.Note.SkinPart, care.BodyParts, a) },
	}
}

// oneInTheMiddle are the parts of which a person has only one.
func oneInTheMiddle(p care.BodyPart) bool {
	switch p {
	case care.Head, care.Neck, care.Back, care.Spine, care.Sacrum, care.Groin, "":
		return true
	}
	return false
}

func noteSkinSide() question {
	return question{
		name: "skin_side", title: "note.title.skin_side",
		wanted: func(form Form, f Facts) bool {
			return wantsDetail(form, f) && skinNeedsPlace(form) && !oneInTheMiddle(form.Note.SkinPart)
		},
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.skin_side"))
			out.Choices = append(rows(1, codes("side.person.", care.Sides)...), []Choice{skip()})
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words { return takeCode(&form.Note.SkinSide, care.Sides, a) },
	}
}

func noteMood() question {
	return question{
		name: "mood", title: "note.title.mood",
		wanted: func(form Form, f Facts) bool { return wantsDetail(form, f) || form.Note.Outcome == care.Refused },
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.mood"))
			out.Choices = append(rows(2, codes("note.mood.", care.Moods)...), []Choice{skip()})
			return out
		},
		take: func(form *Form, _ Facts, a answer) *Words { return takeCode(&form.Note.Mood, care.Moods, a) },
	}
}

func noteText() question {
	return question{
		name: "text", title: "note.title.text",
		wanted: func(form Form, _ Facts) bool { return form.Full },
		ask: func(form Form, f Facts) Say {
			out := say(line("note.ask.text"), small("form.type.it"))
			out.Choices = rows(1, skip())
			return out
		},
		take: func(form *Form, f Facts, a answer) *Words { return takeWords(&form.Note.Text, f, a) },
	}
}

func wantsDetail(form Form, _ Facts) bool {
	return form.Full && (form.Note.Outcome == care.AsPlanned || form.Note.Outcome == care.Changed)
}

// takeCode reads one of the codes that were offered; a passed question is left empty.
func takeCode[T ~string](into *T, all []T, a answer) *Words {
	if a.value == valueSkip {
		*into = ""
		return nil
	}
	c, ok := oneOf(all, a.value)
	if !ok {
		return complainChoose
	}
	*into = c
	return nil
}

// takeWords keeps what was typed, in the language the writer reads.
func takeWords(into *care.Text, f Facts, a answer) *Words {
	switch {
	case a.value == valueSkip:
		*into = care.Text{}
	case a.typed != "":
		*into = care.Text{Lang: f.Me.Lang, Words: care.Clean(a.typed, maxWords)}
	default:
		return &Words{Key: "form.type.it"}
	}
	return nil
}

func noteHead(form Form, f Facts) Line {
	c, _ := f.Site.Client(form.Client)
	return clientLine(Strong, f.Site, c)
}

// noteLines shows a note, whether it is about to be saved or was long ago.
func noteLines(f Facts, n care.Note, named bool) []Line {
	var out []Line
	if named {
		c, _ := f.Site.Client(n.Client)
		out = append(out, clientLine(Strong, f.Site, c))
	}
	if n.Transfer != "" {
		from, to := care.ParseTransferKey(n.Transfer)
		out = append(out, move(Plain, from, to))
	}
	out = append(out, line("note.outcome", "Outcome", Term("note.is."+string(n.Outcome))))
	if n.Difference != "" {
		out = append(out, line("note.difference", "Difference", Term("note.difference."+string(n.Difference))))
	}
	out = append(out, own(n.Why)...)
	if n.Borne != "" {
		out = append(out, line("note.borne", "Borne", Term("note.borne."+string(n.Borne))))
	}
	if n.Pain != nil {
		out = append(out, line("note.pain", "Pain", *n.Pain))
	}
	if n.Skin != "" {
		out = append(out, line("note.skin", "Skin", Term("note.skin."+string(n.Skin))))
	}
	if n.SkinPart != "" {
		if n.SkinSide != "" {
			out = append(out, line("note.skin_where.side", "Part", Term("part."+string(n.SkinPart)), "Side", Term("side.person."+string(n.SkinSide))))
		} else {
			out = append(out, line("note.skin_where", "Part", Term("part."+string(n.SkinPart))))
		}
	}
	if n.Mood != "" {
		out = append(out, line("note.mood", "Mood", Term("note.mood."+string(n.Mood))))
	}
	out = append(out, own(n.Text)...)
	for _, a := range n.Additions {
		out = append(out, line("record.addition", "Name", nameOf(f.Site, a.By), "At", a.At))
		out = append(out, own(a.Text)...)
	}
	return out
}

func noteSave(s *State, form Form, f Facts) []Effect {
	c, ok := mayAnswer(f, form.Client)
	if !ok {
		return []Effect{say(line("client.unknown"))}
	}
	n := *form.Note
	n.Ref, n.By, n.At = f.NextNote, f.Me.Ref, f.Now
	s.Client, s.Transfer, s.Spoken = c.Ref, n.Transfer, f.Now
	out := say(strong("note.saved", "Ref", n.Ref), clientLine(Plain, f.Site, c))
	out.InPlace = true
	out.Choices = rows(2,
		choice("record.correct", Action{Do: "correct", Ref: n.Ref}),
		choice("card.button.plan", Action{Do: "client", Client: c.Ref}))
	effects := []Effect{SaveNote{n}, out}
	return effects
}
