package dialog

import (
	"strings"

	"samelift/internal/rules"
)

// A plan on paper, for the folder by the bed: one leaf for each transfer, each complete
// in itself, since leaves get parted.

// PlanSheet is a client's plan as it goes on paper.
type PlanSheet struct {
	Version int
	Leaves  []Leaf
}

// Leaf is one transfer.
type Leaf struct {
	// Who names the person and the transfer; Checks says how the leaf is known to be
	// current; Stops stands before everything else.
	Who, Checks, Stops []Line
	Picture            *Picture
	// Cautions stand under the picture, Facts beside it. Blocks are on the back; each
	// begins with its title.
	Cautions, Facts []Line
	Blocks          [][]Line
	Foot            []Line
}

// SheetCode is an argument that stands for the code of the sheet being made.
type SheetCode struct{}

// SheetOf gives the sheet of the plan that is in force, and reports false where none is,
// or where no transfer may be done by it at all.
func SheetOf(f Facts, client string) (PlanSheet, bool) {
	c, ok := f.Site.Client(client)
	if !ok || c.Ended {
		return PlanSheet{}, false
	}
	p, ok := f.Site.PlanAt(client, f.Now)
	if !ok || len(rules.Of(rules.InForce(f.Site, c, p, f.Now), rules.Stop)) > 0 {
		return PlanSheet{}, false
	}
	out := PlanSheet{Version: p.Version}
	for _, t := range p.Transfers {
		v := view{f: f, client: c, plan: p, t: t, from: t.From, to: t.To, back: t.BothWays}
		out.Leaves = append(out.Leaves, leaf(v))
	}
	return out, len(out.Leaves) > 0
}

func leaf(v view) Leaf {
	findings := rules.Check(v.f.Site, v.client, v.plan, v.t, v.f.Now)
	move := v.moveLine()
	move.Style = Strong
	l := Leaf{
		Who: []Line{clientLine(Strong, v.f.Site, v.client), move},
		Checks: append(planLines(v.plan),
			small("sheet.printed", "At", v.f.Now),
			warn("sheet.void"),
			small("sheet.scan", "Code", SheetCode{})),
		Stops: stops(v.f, v.client, findings),
	}
	if in, ok := slingInput(v, findings); ok && !v.f.Site.NoPictures {
		if p, err := slingShown(in); err != nil {
			l.Foot = append(l.Foot, notDrawn(err))
		} else {
			l.Picture = p
		}
	}
	for _, name := range []string{"sling", "kind", "spare", "loops", "legs", "arms", "carers", "head", "hoist", "brakes"} {
		l.Facts = append(l.Facts, fieldLines(v, name)...)
	}
	l.Facts = append(append(l.Facts, massLines(v)...), loadLines(v)...)
	l.Cautions = fieldLines(v, "cautions")
	if bed := fieldLines(v, "bed"); len(bed) > 0 {
		l.Blocks = append(l.Blocks, bed)
	}
	seat := append(append(fieldLines(v, "seat"), fieldLines(v, "setup")...), fieldLines(v, "stays")...)
	l.Blocks = append(l.Blocks, seat, communicationLines(v), fieldLines(v, "steps"))
	for _, n := range noticed(v, findings) {
		// Who decides and whom to call stands at the foot of every leaf.
		if n.Key == "notice.title" || strings.HasPrefix(n.Key, "finding.") {
			l.Cautions = append(l.Cautions, n)
		}
	}
	l.Foot = append(l.Foot, small("sheet.equipment"), small("equipment.look"), small("caution.plan_decides"))
	l.Foot = append(l.Foot, line("sheet.danger", "Number", v.f.Site.EmergencyNumber))
	if len(l.Stops) == 0 { // there they are named already
		l.Foot = append(l.Foot, whomToCall(v.f.Site)...)
	}
	return l
}

// sheetScanned answers somebody who has scanned the code of a sheet: whether it still
// holds, and then the plan that does.
func sheetScanned(s State, f Facts, a Action) (State, []Effect) {
	c, ok := mayAnswer(f, a.Client)
	if !ok {
		return s, []Effect{say(line("client.unknown"))}
	}
	s, effects := clientCard(s, f, c, "")
	first := say(clientLine(Strong, f.Site, c))
	switch p, ok := f.Site.PlanAt(c.Ref, f.Now); {
	case !ok:
		first.Lines = append([]Line{warn("sheet.ended")}, first.Lines...)
	case p.Version != a.Version:
		first.Lines = append([]Line{warn("sheet.replaced", "Old", a.Version, "Version", p.Version)}, first.Lines...)
	default:
		first.Lines = append([]Line{strong("sheet.current", "Version", p.Version)}, first.Lines...)
	}
	first.Client = c.Ref
	return s, append([]Effect{first}, effects...)
}
