package dialog

import (
	"reflect"
	"slices"
	"strings"
	"time"

	"samelift/internal/care"
	"samelift/internal/rules"
)

func askFault(f Facts, p piece) Say {
	out := say(strong("equipment.piece", p.named()...), line("equipment.fault.ask"), small("equipment.fault.at_once"))
	var all []Choice
	for _, x := range faultsOf(p) {
		all = append(all, choice("fault."+string(x), Action{Do: "gear.fault.is", Ref: p.label, Value: string(x)}))
	}
	out.Choices = append(rows(1, all...), []Choice{choice("form.back", Action{Do: "gear", Ref: p.label})})
	return out
}

func faultsOf(p piece) []care.Fault {
	if p.kind == care.HoistLabel {
		return care.HoistFaults
	}
	return care.SlingFaults
}

// fault takes a piece out of use at once. Words can follow.
func fault(f Facts, p piece, what care.Fault) []Effect {
	if _, ok := oneOf(faultsOf(p), string(what)); !ok {
		return []Effect{say(line("button.old"))}
	}
	e := p.event(f, care.CauseFault, care.Withdrawn)
	e.Fault = what
	done := say(outOfUse(f, p, f.Me)...)
	done.InPlace = true
	done.Choices = rows(1,
		choice("equipment.button.words", Action{Do: "gear.words", Ref: p.label}),
		choice("card.button.incident", Action{Do: "incident"}))
	return append([]Effect{SetEquipment{e}, done}, tellOutOfUse(f, p, e)...)
}

// outOfUse says to whoever reported it that a piece is out of use and what to do.
func outOfUse(f Facts, p piece, reader care.Person) []Line {
	p.state = care.Withdrawn
	f.Site = p.in(f.Site)
	out := []Line{warn("equipment.out", p.named()...), keep(p)}
	if slices.ContainsFunc(f.Site.Coordinators(), func(c care.Person) bool { return c.Ref != reader.Ref }) {
		out = append(out, line("equipment.told"))
	}
	return append(out, withCall(f, affected(f, p, reader))...)
}

// withCall adds whom to call, and before that, where somebody has nothing left to be
// lifted with, that nobody goes on without asking.
func withCall(f Facts, lines []Line) []Line {
	if slices.ContainsFunc(lines, func(l Line) bool { return strings.HasSuffix(l.Key, "_not_usable") }) {
		lines = append(lines, line("stop.who_decides"))
	}
	return append(lines, whomToCall(f.Site)...)
}

// affected says for each client whom the reader may see what the state of a piece means
// for their transfers. The facts have the site as it is now.
func affected(f Facts, p piece, reader care.Person) []Line {
	var out []Line
	client := ""
	for _, u := range usesOf(f, reader, p.label) {
		if u.stopped {
			continue
		}
		var found []Line
		for _, x := range rules.Equipment(f.Site, u.t, f.today()) {
			about := x.Args["label"] == p.label || x.Args["spare"] == p.label
			if about && (x.Severity == rules.Stop || x.Key == "sling_take_spare") {
				if l := findingLine(x); !slices.ContainsFunc(out, func(o Line) bool { return client == u.client.Ref && reflect.DeepEqual(o, l) }) {
					found = append(found, l)
				}
			}
		}
		if len(found) == 0 {
			continue
		}
		if client != u.client.Ref {
			client = u.client.Ref
			out = append(out, clientLine(Strong, f.Site, u.client))
		}
		out = append(out, found...)
	}
	return out
}

// tellOutOfUse tells every coordinator that a piece is out of use, and for whom there is
// nothing to hoist with now, and the carers who may go by an older card.
func tellOutOfUse(f Facts, p piece, e care.EquipmentEvent) []Effect {
	var out []Effect
	p.state = care.Withdrawn
	f.Site = p.in(f.Site)
	for _, to := range f.Site.Coordinators() {
		if to.Ref == f.Me.Ref {
			continue
		}
		told := say(warn("equipment.out", p.named()...), line("record.by", "Name", f.Me.Name, "At", e.At))
		if e.Fault != "" {
			told.Lines = append(told.Lines, faultLine(e.Fault))
		}
		told.Lines = append(told.Lines, affected(f, p, to)...)
		told.To, told.Urgency = to.Ref, Alert
		told.Choices = [][]Choice{{as(p.label, Action{Do: "gear", Ref: p.label})}}
		out = append(out, told)
	}
	return append(out, tellCarers(f, p)...)
}

// shownLately is how long somebody who was shown a card may still go by it: a shift. Our
// own choice.
const shownLately = 12 * time.Hour

// tellCarers tells those who were lately shown a plan that names a piece that it is out
// of use: the card on their phone does not know. The facts have the site as it is now.
func tellCarers(f Facts, p piece) []Effect {
	shown := map[string]bool{f.Me.Ref: true}
	var out []Effect
	for _, u := range usesOf(f, care.Person{Role: care.Coordinator}, p.label) {
		for _, ref := range f.Records.ShownTo(u.client.Ref, f.Now.Add(-shownLately)) {
			to, ok := f.Site.Person(ref)
			if !ok || shown[ref] || to.Role != care.Carer || !to.MaySee(u.client.Ref) {
				continue
			}
			shown[ref] = true
			told := say(warn("equipment.out", p.named()...))
			told.Lines = append(told.Lines, withCall(f, affected(f, p, to))...)
			told.To, told.Urgency = ref, Alert
			told.Choices = [][]Choice{{as(p.label, Action{Do: "gear", Ref: p.label})}}
			out = append(out, told)
		}
	}
	return out
}

// takesOut reports whether an incident of a kind takes the equipment that it names out
// of use: a fault does, and so does a slip, whose sling is kept for inspection (handbook
// 8.5). The wrong sling for somebody is the right one for somebody else.
func takesOut(k care.IncidentKind) bool { return k == care.EquipmentFault || k == care.SlipFromSling }

// outByIncident takes what an incident names out of use, and gives the lines that say so
// to whoever reported it and to each coordinator.
func outByIncident(f Facts, i care.Incident) (effects []Effect, lines []Line, toEach func(care.Person) []Line) {
	var out []piece
	if takesOut(i.Kind) {
		for _, label := range i.Equipment {
			p, ok := pieceOf(f.Site, label)
			if !ok {
				continue
			}
			e := p.event(f, care.CauseIncident, care.Withdrawn)
			e.Ref = i.Ref
			effects = append(effects, SetEquipment{e})
			p.state = care.Withdrawn
			f.Site = p.in(f.Site)
			out = append(out, p)
			lines = append(lines, warn("equipment.out", p.named()...), keep(p))
			effects = append(effects, tellCarers(f, p)...)
		}
	}
	return effects, lines, func(to care.Person) []Line {
		var all []Line
		for _, p := range out {
			all = append(append(all, warn("equipment.out", p.named()...)), affected(f, p, to)...)
		}
		return all
	}
}
