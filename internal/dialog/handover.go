package dialog

import (
	"time"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// A handover tells a person what happened to their clients: before each of their
// shifts everything since the last one they were given, and on demand the same stretch
// again with what came after. The stretches join without a gap, so nothing is lost
// however the shifts fall.

// ShiftHandover composes the handover for the shift that is about to start.
func ShiftHandover(f Facts, shift care.Shift, start time.Time) []Effect {
	_, from := f.Records.HandedOver(f.Me.Ref)
	out := compose(f, from, f.Now)
	out.Lines = append([]Line{strong("handover.title", "Shift", shiftName(shift), "Start", start)}, out.Lines...)
	out.Urgency, out.To = Handover, f.Me.Ref
	return []Effect{out, HandedOver{Person: f.Me.Ref, From: from, To: f.Now}}
}

// handover is the same on demand.
func handover(f Facts) []Effect {
	from, _ := f.Records.HandedOver(f.Me.Ref)
	out := compose(f, from, f.Now)
	out.Lines = append([]Line{strong("handover.now", "Site", f.Site.Name)}, out.Lines...)
	return []Effect{out}
}

// shiftName gives the three usual shifts in the reader's language, any other as the
// site has it.
func shiftName(s care.Shift) any {
	switch s.Name {
	case "early", "late", "night":
		return Term("shift." + s.Name)
	}
	return s.Name
}

func compose(f Facts, from, to time.Time) Say {
	mine := f.Site.ClientsOf(f.Me)
	var refs []string
	for _, c := range mine {
		refs = append(refs, c.Ref)
	}
	out := say(small("handover.since", "From", from, "To", to))
	if len(mine) == 0 {
		out.Lines = append(out.Lines, line("clients.none"))
		return out
	}
	items := rules.Handover(f.Site, f.Me, f.Records.Since(refs, from, to))
	var kind rules.ItemKind
	for _, it := range items {
		headed := it.Kind != kind
		if headed {
			kind = it.Kind
			style := Strong
			if kind == rules.ItemIncident || kind == rules.ItemChange && it.Unconfirmed {
				style = Warn
			}
			out.Lines = append(out.Lines, Line{Style: style, Words: words("handover." + string(kind))})
		}
		lines := itemLines(f, it)
		for i := range lines {
			lines[i].Keep = i > 0 || headed
		}
		out.Lines = append(out.Lines, lines...)
		if it.Kind == rules.ItemChange && it.Unconfirmed && f.Me.Role == care.Carer && len(out.Choices) < pageSize {
			c, _ := f.Site.Client(it.Client)
			name, room := shortened(f.Site, c)
			out.Choices = append(out.Choices, []Choice{choice("handover.button.change",
				Action{Do: "client", Client: c.Ref}, "Client", name, "Room", room)})
		}
	}
	out.Lines = append(out.Lines, small("handover.asks"))
	return out
}

func itemLines(f Facts, it rules.Item) []Line {
	c, known := f.Site.Client(it.Client)
	switch it.Kind {
	case rules.ItemIncident:
		in := *it.Incident
		return append([]Line{line("note.head", "Ref", in.Ref, "Name", nameOf(f.Site, in.By), "At", in.At)}, incidentLines(f, in)...)
	case rules.ItemChange:
		out := []Line{clientLine(Plain, f.Site, c), line("change.versions", "Old", it.Change.Before, "Version", it.Change.After)}
		switch {
		case it.Change.Kind == care.ChangeVersion && it.Change.From.After(f.Now):
			out[1] = line("plan.later", "Version", it.Change.After, "From", it.Change.From)
		case it.Change.Kind != care.ChangeVersion:
			out[1] = line("change.act."+string(it.Change.Kind), "Version", it.Change.After, "At", it.Change.At)
		}
		if it.Unconfirmed && f.Me.Role == care.Carer {
			out = append(out, line("handover.change.unread"))
		}
		return out
	case rules.ItemEquipment:
		var out []Line
		if it.Why != "" {
			out = append(out, line("handover.equipment.no", "Label", it.Label, "Why", Term("why."+it.Why)))
		} else {
			out = append(out, line("handover.equipment.due", "Label", it.Label, "Date", it.Due))
		}
		for _, ref := range it.Clients {
			if c, ok := f.Site.Client(ref); ok {
				out = append(out, clientLine(Small, f.Site, c))
			}
		}
		return out
	case rules.ItemRest:
		out := []Line{clientLine(Plain, f.Site, c), line("handover.rest.count", "Count", len(it.Rest), "At", it.Rest[len(it.Rest)-1].At)}
		// What somebody wrote is handed over whole, however ordinary the visit was.
		for _, n := range it.Rest {
			if !n.Text.IsZero() || len(n.Additions) > 0 {
				out = append(out, small("note.head", "Ref", n.Ref, "Name", nameOf(f.Site, n.By), "At", n.At))
				out = append(out, noteLines(f, n, false)...)
			}
		}
		return out
	case rules.ItemQuiet:
		var out []Line
		for _, ref := range it.Clients {
			if c, ok := f.Site.Client(ref); ok {
				out = append(out, clientLine(Plain, f.Site, c))
			}
		}
		return out
	}
	n := *it.Note
	var out []Line
	if known {
		out = append(out, clientLine(Plain, f.Site, c))
	}
	out = append(out, small("note.head", "Ref", n.Ref, "Name", nameOf(f.Site, n.By), "At", n.At))
	if it.PainBefore != nil && n.Pain != nil && *n.Pain > *it.PainBefore {
		out = append(out, line("handover.pain.rose", "Before", *it.PainBefore, "Pain", *n.Pain))
	}
	return append(out, noteLines(f, n, false)...)
}
