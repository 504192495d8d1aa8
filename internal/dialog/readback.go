package dialog

import (
	"slices"
	"strconv"
	"strings"

	"samelift/internal/care"
	"samelift/internal/rules"
)

// A read-back, after somebody says that they have read a change:
//
//	question with real alternatives -+- right -> confirmed
//	                                 +- wrong -> the change again, and the question again
//	                                 +- twice wrong -> also: the coordinators, by name
//
// Anything else that the person does leaves the question open; a reminder asks anew.

// questionOf gives the question that a change needs. Somebody who missed an earlier
// change too is asked about what is new to them.
func questionOf(f Facts, c care.Change) (rules.ReadBack, bool) {
	if c.Kind != care.ChangeVersion {
		return rules.ReadBack{}, false
	}
	after, ok := f.Records.Plan(c.Client, c.After)
	if !ok {
		return rules.ReadBack{}, false
	}
	before, _ := f.Records.Plan(c.Client, f.Records.Base(c.ID, f.Me.Ref))
	return rules.Reads(f.Site, before, after)
}

// askBack asks.
func askBack(s State, f Facts, c care.Change, client care.Client, q rules.ReadBack) (State, []Effect) {
	s.Asked, s.AskedAt = c.ID, f.Now
	out := say(clientLine(Strong, f.Site, client), move(Plain, q.From, q.To), line("plan.version.number", "Version", c.After))
	switch q.About {
	case rules.BackLoops:
		point := "point." + string(q.Point)
		if q.Side != care.BothSides {
			point += "." + string(q.Side)
		}
		out.Lines = append(out.Lines, strong("readback.loops", "Point", Term(point)), small("readback.counted"))
	default:
		out.Lines = append(out.Lines, strong("readback."+string(q.About)))
	}
	var all []Choice
	for _, o := range q.Options {
		all = append(all, optionOf(q, o, Action{Do: "readback", Ref: c.ID, Value: o}))
	}
	perRow := 1
	if q.About == rules.BackCarers {
		perRow = 6
	}
	out.Choices = rows(perRow, all...)
	out.Client, out.PlanVersion = client.Ref, c.After
	return s, []Effect{out}
}

// optionOf labels one alternative.
func optionOf(q rules.ReadBack, option string, does Action) Choice {
	switch q.About {
	case rules.BackLegs:
		return choice("readback.legs."+option, does)
	case rules.BackLoops:
		n, _ := strconv.Atoi(option)
		loops := q.Range.Loops(q.Point)
		key := "readback.loop"
		switch n {
		case 1:
			key += ".shortest"
		case len(loops):
			key += ".longest"
		}
		if n > len(loops) || loops[n-1].Colour == "" {
			return choice(key+".plain", does, "Number", n)
		}
		return choice(key, does, "Number", n, "Colour", colour(loops[n-1].Colour))
	}
	return as(option, does)
}

// typedBack reads a typed answer: a number in the digits of any script, or a label.
func typedBack(f Facts, id, text string) (string, bool) {
	c, _, ok := myChange(f, id)
	if !ok || c.Old || !c.Told[0].At.IsZero() {
		return "", false
	}
	q, needed := questionOf(f, c)
	if !needed {
		return "", false
	}
	value := strings.TrimSpace(text)
	switch q.About {
	case rules.BackLoops, rules.BackCarers:
		n, is := number(value)
		if !is {
			return "", false
		}
		value = strconv.Itoa(n)
	}
	i := slices.IndexFunc(q.Options, func(o string) bool { return equalFold(o, value) })
	if i < 0 {
		return "", false
	}
	return q.Options[i], true
}

// readBack takes an answer.
func readBack(s State, f Facts, id, value string) (State, []Effect) {
	c, client, ok := myChange(f, id)
	if !ok {
		return s, []Effect{say(line("button.old"))}
	}
	s = s.about(f, client.Ref)
	if c.Old {
		return s, replacedChange(f, c)
	}
	q, needed := questionOf(f, c)
	if !needed || !c.Told[0].At.IsZero() || value == q.Right {
		s.Asked = ""
		return s, confirmed(f, c, client)
	}
	effects := []Effect{Wrong{Change: id}}
	again, ok := ChangeMessage(f, f.Me.Role, c, f.Records.Base(id, f.Me.Ref))
	if !ok {
		return s, []Effect{say(line("button.old"))}
	}
	again.Urgency = Reply
	again.Lines = append([]Line{warn("readback.wrong")}, again.Lines...)
	again.Choices = nil // the question beneath is what has to be answered now
	twice := c.Told[0].Wrong+1 >= 2
	if twice {
		again.Lines = append(again.Lines, line("stop.who_decides"))
		again.Lines = append(again.Lines, whomToCall(f.Site)...)
	}
	effects = append(effects, again)
	s, ask := askBack(s, f, c, client, q)
	effects = append(effects, ask...)
	if c.Told[0].Wrong+1 == 2 {
		for _, p := range f.Site.Coordinators() {
			out := say(warn("readback.twice", "Name", f.Me.Name), clientLine(Strong, f.Site, client),
				line("plan.version.number", "Version", c.After), line("readback.twice.do"))
			out.To, out.Urgency, out.Client = p.Ref, Alert, client.Ref
			out.Choices = rows(1, choice("changes.who", Action{Do: "change", Ref: c.ID}))
			effects = append(effects, out)
		}
	}
	return s, effects
}
