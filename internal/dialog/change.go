package dialog

import (
	"reflect"

	"samelift/internal/care"
)

// A plan change:
//
//	new version -> every carer of the client: old beside new -> [I have read it]
//	   -> read-back, where one is needed -+- right -> kept
//	                                      +- wrong -> the change again, asked again
//	                                      +- twice wrong -> the coordinators are told too
//	coordinator: /changes -> a change -> who has confirmed and who has not
func tellChange(f Facts, to care.Person, c care.Change) []Effect {
	base := c.Before
	if to.Role == care.Carer && c.Kind == care.ChangeVersion {
		base = f.Records.Base(c.ID, to.Ref)
	}
	out, ok := ChangeMessage(f, to.Role, c, base)
	if !ok {
		return nil
	}
	out.To = to.Ref
	return []Effect{out, Told{Person: to.Ref, Change: c.ID}}
}

// ChangeMessage is what everybody of one role reads about a change who knew the plan
// up to the version base. It reports false where there is nothing to tell.
func ChangeMessage(f Facts, role care.Role, c care.Change, base int) (Say, bool) {
	client, ok := f.Site.Client(c.Client)
	if !ok || client.Ended {
		return Say{}, false
	}
	out := Say{Urgency: Change, Client: client.Ref}
	if c.Urgent {
		out.Urgency = Alert
	}
	if c.Kind != care.ChangeVersion {
		out.Lines = actLines(f, client, c)
	} else {
		after, ok := f.Records.Plan(c.Client, c.After)
		if !ok {
			return Say{}, false
		}
		before, had := f.Records.Plan(c.Client, base)
		title := "change.title"
		switch {
		case c.Urgent:
			title = "change.title.urgent"
		case after.From.After(f.Now):
			title = "change.title.later"
		}
		out.Lines = []Line{warn(title), clientLine(Strong, f.Site, client), line("change.from", "Version", after.Version, "From", after.From)}
		if current, ok := f.Site.PlanAt(c.Client, f.Now); ok && after.From.After(f.Now) && current.Version < after.Version {
			out.Lines = append(out.Lines, line("change.until", "Version", current.Version, "Until", after.From))
		}
		if !after.Reason.IsZero() {
			out.Lines = append(append(out.Lines, line("plan.reason")), own(after.Reason)...)
		}
		if had && base != c.Before {
			out.Lines = append(out.Lines, small("change.since", "Version", base))
		}
		if had {
			out.Lines = append(out.Lines, Differences(f, client, before, after)...)
		} else {
			out.Lines = append(out.Lines, line("change.first"))
		}
		out.PlanVersion = after.Version
		out = changePictures(out, f, client, before, after)
	}
	out.Lines = append(out.Lines, small("caution.plan_decides"))
	if role == care.Carer {
		out.Choices = rows(1, choice("change.confirm", Action{Do: "confirm", Ref: c.ID}))
	}
	if c.Kind == care.ChangeVersion || c.Kind == care.ChangeResumed {
		out.Choices = append(out.Choices, []Choice{choice("card.button.plan", Action{Do: "client", Client: client.Ref})})
	}
	if role == care.Coordinator && c.Kind == care.ChangeSuspended {
		out.Choices = rows(1, choice("plan.button.resume", Action{Do: "plan.resume", Client: client.Ref}))
	}
	return out, true
}

// asReply makes of what is told to somebody an answer to what they did, so that it goes
// out in its place among the answers.
func asReply(effects []Effect) []Effect {
	for i, e := range effects {
		if s, ok := e.(Say); ok {
			s.To, s.Urgency = "", Reply
			effects[i] = s
		}
	}
	return effects
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

// myChange finds a change that the person was told and may still have.
func myChange(f Facts, id string) (care.Change, care.Client, bool) {
	c, ok := f.Records.ChangeFor(id, f.Me.Ref)
	if !ok || len(c.Told) == 0 {
		return care.Change{}, care.Client{}, false
	}
	client, ok := mayAnswer(f, c.Client)
	return c, client, ok
}

// confirm takes the word of somebody who has read a change, or asks them back.
func confirm(s State, f Facts, id string) (State, []Effect) {
	c, client, ok := myChange(f, id)
	if !ok {
		return s, []Effect{say(line("button.old"))}
	}
	s = s.about(f, client.Ref)
	if c.Old {
		return s, replacedChange(f, c)
	}
	if c.Told[0].At.IsZero() {
		if q, needed := questionOf(f, c); needed {
			return askBack(s, f, c, client, q)
		}
	}
	return s, confirmed(f, c, client)
}

// replacedChange answers a button of a change that is old. A newer version has come
// since: confirming the old one would be false comfort.
func replacedChange(f Facts, c care.Change) []Effect {
	for _, u := range f.Records.Unconfirmed(f.Me.Ref) {
		if u.Client == c.Client {
			return asReply(tellChange(f, f.Me, u))
		}
	}
	return []Effect{say(line("button.old"))}
}

func confirmed(f Facts, c care.Change, client care.Client) []Effect {
	key := "change.confirmed"
	if c.Kind != care.ChangeVersion {
		key = "change.confirmed." + string(c.Kind)
	}
	out := say(strong(key, "Version", c.After), clientLine(Plain, f.Site, client))
	out.Client = client.Ref
	out.Choices = rows(1, choice("card.button.plan", Action{Do: "client", Client: client.Ref}))
	return []Effect{Confirm{Change: c.ID}, out}
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
			"Client", calledApart(f.Site, client), "Done", done, "All", len(c.Told))})
	}
	if len(out.Choices) == 0 {
		out.Lines = append(out.Lines, line("changes.none"))
	}
	out.InPlace = turned
	return out
}

// calledApart is how a client is called on a button without room for all: with the room
// where another has the same name.
func calledApart(s *care.Site, c care.Client) string {
	for _, o := range s.Clients {
		if o.Ref != c.Ref && called(s, o) == called(s, c) {
			return cut(called(s, c), 15) + ", " + cut(c.Room, 8)
		}
	}
	return cut(called(s, c), 25)
}

// statusPage is how many people of each kind one page of a change's status names.
const statusPage = 25

// changeStatus says who has confirmed a change and whom it has not reached.
func changeStatus(f Facts, id string, page int) Say {
	c, ok := f.Records.Change(id)
	if !ok {
		return say(line("button.old"))
	}
	client, _ := f.Site.Client(c.Client)
	out := say(clientLine(Strong, f.Site, client))
	if c.Kind != care.ChangeVersion {
		out.Lines = append(out.Lines, line("change.act."+string(c.Kind), "Version", c.After, "At", c.At))
	} else {
		out.Lines = append(out.Lines, line("plan.version.number", "Version", c.After))
	}
	if c.Old {
		out.Lines = append(out.Lines, small("change.is_old"))
	}
	gone := map[string]bool{}
	for _, ref := range f.Records.Unreachable() {
		gone[ref] = true
	}
	var not, done []Line
	for _, t := range c.Told {
		p, ok := f.Site.Person(t.Person)
		switch {
		case !ok || p.Removed:
		case !t.At.IsZero():
			done = append(done, line("change.by", "Name", p.Name, "At", t.At))
		case !f.Records.Joined(p.Ref):
			not = append(not, line("change.not_joined", "Name", p.Name))
		case gone[p.Ref]:
			not = append(not, line("team.unreachable", "Name", p.Name))
		case t.Told.IsZero():
			not = append(not, line("change.not_told", "Name", p.Name))
		case t.Wrong > 1:
			not = append(not, line("change.wrong", "Name", p.Name, "Number", t.Wrong))
		default:
			not = append(not, line("change.not_by", "Name", p.Name))
		}
	}
	first := max(page, 0) * statusPage
	more := len(not) > first+statusPage || len(done) > first+statusPage
	cut := func(all []Line) []Line { return all[min(first, len(all)):min(first+statusPage, len(all))] }
	if len(not) == 0 {
		out.Lines = append(out.Lines, strong("change.all_confirmed"))
	}
	if not = cut(not); len(not) > 0 {
		out.Lines = append(append(out.Lines, warn("change.not_confirmed")), not...)
	}
	if done = cut(done); len(done) > 0 {
		out.Lines = append(append(out.Lines, strong("change.confirmed_by")), done...)
	}
	for _, row := range pages("change", page, more) {
		for i := range row {
			row[i].Does.Ref = id
		}
		out.Choices = append(out.Choices, row)
	}
	out.Choices = append(out.Choices, []Choice{choice("changes.back", Action{Do: "changes"})})
	out.Client = client.Ref
	return out
}
