package dialog

import (
	"reflect"

	"samelift/internal/care"
)

// A plan change:
//
//	new version -> every carer of the client: old beside new -> [I have read it] -> kept
//	coordinator: /changes -> a change -> who has confirmed and who has not
func tellChange(f Facts, to care.Person, c care.Change) []Effect {
	client, ok := f.Site.Client(c.Client)
	if !ok {
		return nil
	}
	after, ok := f.Records.Plan(c.Client, c.After)
	if !ok {
		return nil
	}
	before, had := f.Records.Plan(c.Client, c.Before)
	out := say(warn("change.title"), clientLine(Strong, f.Site, client))
	out.Lines = append(out.Lines, line("change.from", "Version", after.Version, "From", after.From))
	if !after.Reason.IsZero() {
		out.Lines = append(append(out.Lines, line("plan.reason")), own(after.Reason)...)
	}
	if had {
		out.Lines = append(out.Lines, Differences(f, client, before, after)...)
	} else {
		out.Lines = append(out.Lines, line("change.first"))
	}
	out.Lines = append(out.Lines, small("caution.plan_decides"))
	out.To, out.Urgency, out.Client, out.PlanVersion = to.Ref, Change, client.Ref, after.Version
	if to.Role == care.Carer {
		out.Choices = rows(1, choice("change.confirm", Action{Do: "confirm", Ref: c.ID}))
	}
	out.Choices = append(out.Choices, []Choice{choice("card.button.plan", Action{Do: "client", Client: client.Ref})})
	return append(changePictures(out, f, to, client, before, after), Told{Person: to.Ref, Change: c.ID})
}

// TellChange words a change for one person of the site.
func TellChange(f Facts, to care.Person, c care.Change) []Effect { return tellChange(f, to, c) }

// Differences shows what two versions of a plan say differently, the old beside the
// new, transfer by transfer and field by field.
func Differences(f Facts, c care.Client, before, after care.Plan) []Line {
	var out []Line
	if len(before.Transfers) > 0 && len(after.Transfers) > 0 && !reflect.DeepEqual(before.Cautions, after.Cautions) {
		plain := care.Transfer{}
		out = append(out, beforeNow(
			cautionLines(view{f: f, client: c, plan: before, t: plain}),
			cautionLines(view{f: f, client: c, plan: after, t: plain}))...)
	}
	for _, t := range after.Transfers {
		old, had := before.Transfer(t.Key())
		if !had {
			out = append(out, move(Strong, t.From, t.To), line("change.transfer.new"))
			continue
		}
		var lines []Line
		// The cautions of the plan as a whole are compared above.
		was := view{f: f, client: c, plan: care.Plan{}, t: old, from: old.From, to: old.To}
		is := view{f: f, client: c, plan: care.Plan{}, t: t, from: t.From, to: t.To}
		for _, fd := range fields {
			a, b := fd.lines(was), fd.lines(is)
			if !reflect.DeepEqual(a, b) {
				lines = append(lines, beforeNow(a, b)...)
			}
		}
		if old.BothWays != t.BothWays {
			lines = append(lines, line("change.both_ways."+yesNo(t.BothWays)))
		}
		if len(lines) > 0 {
			out = append(append(out, move(Strong, t.From, t.To)), lines...)
		}
	}
	for _, t := range before.Transfers {
		if _, still := after.Transfer(t.Key()); !still {
			out = append(out, move(Strong, t.From, t.To), warn("change.transfer.gone"))
		}
	}
	if before.NextReview != after.NextReview && !after.NextReview.IsZero() {
		out = append(out, line("plan.review", "Date", after.NextReview))
	}
	if len(out) == 0 {
		out = []Line{line("change.nothing_visible")}
	}
	return out
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// beforeNow sets the old beside the new, leaving out the lines that are in both.
func beforeNow(before, now []Line) []Line {
	gone, come := without(before, now), without(now, before)
	var out []Line
	if len(gone) > 0 {
		out = append(append(out, small("change.before")), gone...)
	}
	if len(come) > 0 {
		for i := range come {
			if come[i].Style == Plain {
				come[i].Style = Strong
			}
		}
		out = append(append(out, small("change.now")), come...)
	}
	return out
}

func without(a, b []Line) []Line {
	var out []Line
	for _, x := range a {
		same := false
		for _, y := range b {
			same = same || reflect.DeepEqual(x, y)
		}
		if !same {
			out = append(out, x)
		}
	}
	return out
}

func confirm(f Facts, id string) []Effect {
	c, ok := f.Records.Change(id)
	if !ok {
		return []Effect{say(line("button.old"))}
	}
	client, ok := mayAnswer(f, c.Client)
	if !ok {
		return []Effect{say(line("client.unknown"))}
	}
	told := false
	for _, t := range c.Told {
		told = told || t.Person == f.Me.Ref
	}
	if !told {
		return []Effect{say(line("button.old"))}
	}
	// A newer version has come since: confirming the old one would be false comfort.
	for _, u := range f.Records.Unconfirmed(f.Me.Ref) {
		if u.Client == c.Client && u.After > c.After {
			return append([]Effect{Confirm{Change: id}}, tellChange(f, f.Me, u)...)
		}
	}
	out := say(strong("change.confirmed", "Version", c.After), clientLine(Plain, f.Site, client))
	out.Client, out.PlanVersion = client.Ref, c.After
	out.Choices = rows(1, choice("card.button.plan", Action{Do: "client", Client: client.Ref}))
	return []Effect{Confirm{Change: id}, out}
}

// changes lists the newest changes with how many have confirmed.
func changes(f Facts, turned bool) Say {
	out := say(strong("changes.title"))
	for _, c := range f.Records.Changes(8) {
		client, ok := f.Site.Client(c.Client)
		if !ok {
			continue
		}
		done := 0
		for _, t := range c.Told {
			if !t.At.IsZero() {
				done++
			}
		}
		out.Choices = append(out.Choices, []Choice{choice("changes.button", Action{Do: "change", Ref: c.ID},
			"Client", called(f.Site, client), "Done", done, "All", len(c.Told))})
	}
	if len(out.Choices) == 0 {
		out.Lines = append(out.Lines, line("changes.none"))
	}
	out.InPlace = turned
	return out
}

// changeStatus says who has confirmed a change and whom it has not reached.
func changeStatus(f Facts, id string) Say {
	c, ok := f.Records.Change(id)
	if !ok {
		return say(line("button.old"))
	}
	client, _ := f.Site.Client(c.Client)
	out := say(clientLine(Strong, f.Site, client), line("plan.version.number", "Version", c.After))
	var not, done []Line
	for _, t := range c.Told {
		p, ok := f.Site.Person(t.Person)
		switch {
		case !ok || p.Removed:
		case !t.At.IsZero():
			done = append(done, line("change.by", "Name", p.Name, "At", t.At))
		case !f.Records.Joined(p.Ref):
			not = append(not, line("change.not_joined", "Name", p.Name))
		default:
			not = append(not, line("change.not_by", "Name", p.Name))
		}
	}
	if len(not) > 0 {
		out.Lines = append(append(out.Lines, warn("change.not_confirmed")), not...)
	} else {
		out.Lines = append(out.Lines, strong("change.all_confirmed"))
	}
	if len(done) > 0 {
		out.Lines = append(append(out.Lines, strong("change.confirmed_by")), done...)
	}
	out.Choices = rows(1, choice("changes.back", Action{Do: "changes"}))
	out.Client, out.PlanVersion = client.Ref, c.After
	return out
}
