package dialog

import (
	"slices"

	"samelift/internal/ask"
	"samelift/internal/care"
)

// A question, read by ask:
//
//	danger now ------------------------------> the emergency card
//	a name that could be two -----------------> a choice, with the room as second mark
//	a name that is nobody's, or not theirs ---> the same answer for both, and their list;
//	                                            one that is not theirs is read anew by a
//	                                            reader who has never heard of them
//	no name -> the last client of ten minutes, if nobody else came between, or their list
//	no topic that is sure --------------------> the client's topics as buttons
//	a move that the plan has twice, or not ---> the plan's transfers as buttons
//	otherwise --------------------------------> the card
func asked(s State, f Facts, r ask.Reading, text string) (State, []Effect) {
	if r.Emergency {
		return s.about(f, r.Client), []Effect{emergency(f, r.Client, text)}
	}
	if namesOthers(f, r) {
		// What follows is what follows from a name that nobody has.
		r = f.ReadOwn(text)
		r.Strange = true
	}
	if named := r.Client != "" || len(r.Candidates) > 0 || r.UnknownName != "" || r.Strange; named && r.Client != s.Client {
		// Whoever was spoken of before is not meant now, nor by what is asked next.
		s = s.about(f, "")
	}
	topics := slices.DeleteFunc(slices.Clone(r.Topics), func(t ask.Topic) bool { return t == ask.Unknown || t == ask.Emergency })
	topic := ""
	if len(topics) > 0 {
		topic = string(topics[0])
	}
	if topic == string(ask.Handover) && r.Client == "" && len(r.Candidates) == 0 {
		return s.about(f, ""), handover(f)
	}
	var client care.Client
	switch {
	case len(r.Candidates) > 0:
		return s, []Effect{whichOf(f, r.Candidates, r, topic)}
	case r.Client != "":
		c, ok := mayAnswer(f, r.Client)
		if !ok {
			return s, []Effect{nobody(f, topic)}
		}
		client = c
	case r.UnknownName != "":
		return s, []Effect{nobody(f, topic)}
	case s.Client != "" && f.Now.Sub(s.Spoken) <= FollowUp && len(topics) > 0:
		c, ok := mayAnswer(f, s.Client)
		if !ok {
			return s, []Effect{nobody(f, topic)}
		}
		if f.Records.ToldOfOthers(s.Client, s.Spoken) {
			// The last that the person was told may be about another.
			return s.about(f, ""), []Effect{clientListFor(f, topic)}
		}
		client = c
	case topic == string(ask.Note):
		return startNote(s, f, "", "")
	case topic == string(ask.Incident):
		return startIncident(s, f, "")
	case len(topics) == 0:
		return s, []Effect{notUnderstood(f)}
	default:
		return s, []Effect{clientListFor(f, topic)}
	}
	if s.Client != client.Ref || f.Now.Sub(s.Spoken) > FollowUp {
		s.Transfer = ""
	}
	s.Client, s.Spoken = client.Ref, f.Now
	return answerAbout(s, f, client, r.From, r.To, topics)
}

// namesOthers reports whether a question names nobody but clients who are not theirs.
func namesOthers(f Facts, r ask.Reading) bool {
	if r.Client == "" && len(r.Candidates) == 0 {
		return false
	}
	return !slices.ContainsFunc(append([]string{r.Client}, r.Candidates...), func(ref string) bool {
		_, ok := mayAnswer(f, ref)
		return ok
	})
}

// answerAbout answers about a client who is sure.
func answerAbout(s State, f Facts, c care.Client, from, to care.Place, topics []ask.Topic) (State, []Effect) {
	if len(topics) > 0 {
		switch topics[0] {
		case ask.Note:
			return startNote(s, f, c.Ref, "")
		case ask.Incident:
			return startIncident(s, f, c.Ref)
		case ask.Handover:
			return s, handover(f)
		}
	}
	before := unconfirmedFirst(f, c)
	plan, ok := f.Site.PlanAt(c.Ref, f.Now)
	if !ok {
		return s, append(before, noPlan(f, c))
	}
	topics = slices.DeleteFunc(topics, func(t ask.Topic) bool { return t == ask.Note || t == ask.Incident || t == ask.Handover })
	if len(topics) == 0 && from == "" && to == "" {
		return s, append(before, topicsOf(f, c))
	}
	if independent(topics) {
		return s, append(before, aboutClient(f, c, plan, topics))
	}
	if len(topics) == 0 {
		topics = []ask.Topic{ask.Loops}
	}
	if from == "" && to == "" && s.Transfer != "" {
		from, to = care.ParseTransferKey(s.Transfer)
	}
	found := serving(plan, from, to)
	back := false
	if len(found) == 2 && found[0].t.BothWays && found[0].t.Key() == found[1].t.Key() {
		found, back = found[:1], from == "" && to == ""
	}
	if len(found) != 1 {
		return s, append(before, whichTransfer(f, c, plan, topics[0], len(found) == 0 && (from != "" || to != "")))
	}
	if s.Transfer = found[0].key(); back {
		s.Transfer = "" // a later question may ask for one of the two ways
	}
	v := view{f: f, client: c, plan: plan, t: found[0].t, from: found[0].from, to: found[0].to, back: back}
	return s, append(before, card(v, topics))
}

// went is a transfer in the direction in which it is gone.
type went struct {
	t        care.Transfer
	from, to care.Place
}

func (w went) key() string { return care.Transfer{From: w.from, To: w.to}.Key() }

// serving lists the plan's transfers that serve a move. A transfer for both ways
// serves each.
func serving(p care.Plan, from, to care.Place) []went {
	fits := func(a, b care.Place) bool { return (from == "" || from == a) && (to == "" || to == b) }
	var out []went
	for _, t := range p.Transfers {
		if fits(t.From, t.To) {
			out = append(out, went{t, t.From, t.To})
		}
		if t.BothWays && fits(t.To, t.From) {
			out = append(out, went{t, t.To, t.From})
		}
	}
	return out
}

// unconfirmedFirst shows a change of the client's plan that the person has not
// confirmed, before any answer about that client.
func unconfirmedFirst(f Facts, c care.Client) []Effect {
	var all []Effect
	for _, ch := range f.Records.Unconfirmed(f.Me.Ref) {
		// That a plan is stopped is what the card itself says first.
		if ch.Client == c.Ref && ch.Kind != care.ChangeSuspended && ch.Kind != care.ChangeEnded {
			effects := tellChange(f, f.Me, ch)
			all = append(all, asReply(effects)...)
		}
	}
	return all
}

// clientCard is what a client picked from a list gets: their one transfer, or a choice.
func clientCard(s State, f Facts, c care.Client, topic string) (State, []Effect) {
	s.Client, s.Transfer, s.Spoken = c.Ref, "", f.Now
	var topics []ask.Topic
	if topic != "" {
		topics = []ask.Topic{ask.Topic(topic)}
	}
	if len(topics) == 0 {
		plan, ok := f.Site.PlanAt(c.Ref, f.Now)
		if ok && len(plan.Transfers) > 1 {
			return s, append(unconfirmedFirst(f, c), whichTransfer(f, c, plan, "", false))
		}
		topics = []ask.Topic{ask.Sling, ask.Loops}
	}
	return answerAbout(s, f, c, "", "", topics)
}

// pressedCard answers a button of an older card with the plan that is in force now.
func pressedCard(s State, f Facts, c care.Client, a Action) (State, []Effect) {
	s.Client, s.Transfer, s.Spoken = c.Ref, a.Transfer, f.Now
	topics := []ask.Topic{ask.Topic(a.Topic)}
	if a.Topic == "" {
		topics = []ask.Topic{ask.Sling, ask.Loops}
	}
	from, to := care.ParseTransferKey(a.Transfer)
	s, effects := answerAbout(s, f, c, from, to, topics)
	if p, ok := f.Site.PlanAt(c.Ref, f.Now); ok && a.Version != 0 && p.Version != a.Version {
		effects = append([]Effect{say(warn("plan.replaced", "Old", a.Version, "Version", p.Version), clientLine(Plain, f.Site, c))}, effects...)
	}
	return s, effects
}

func transferButton(from, to care.Place, does Action) Choice {
	return choice("transfer.button", does, "From", place(from), "To", place(to))
}

// whichTransfer offers the plan's transfers. Where the move that was said is not among
// them, it says so: the plan is silent about it.
func whichTransfer(f Facts, c care.Client, p care.Plan, topic ask.Topic, none bool) Say {
	out := say(clientLine(Strong, f.Site, c))
	if none {
		out.Lines = append(out.Lines, warn("transfer.not_in_plan"))
		out.Lines = append(out.Lines, whomToCall(f.Site)...)
	}
	out.Lines = append(out.Lines, line("transfer.which"))
	for _, w := range serving(p, "", "") {
		out.Choices = append(out.Choices, []Choice{transferButton(w.from, w.to,
			Action{Do: "card", Client: c.Ref, Transfer: w.key(), Version: p.Version, Topic: string(topic)})})
	}
	out.Client, out.PlanVersion = c.Ref, p.Version
	return out
}

// whichOf offers everybody who could be meant and whom the person may see, told apart
// by room. One who is left alone is asked about, not assumed.
func whichOf(f Facts, refs []string, r ask.Reading, topic string) Say {
	var mine []care.Client
	for _, ref := range refs {
		if c, ok := mayAnswer(f, ref); ok {
			mine = append(mine, c)
		}
	}
	if len(mine) == 0 {
		return nobody(f, topic)
	}
	out := say(line("client.which"))
	if len(mine) == 1 {
		out = say(line("client.do_you_mean"))
	}
	for _, c := range mine {
		does := Action{Do: "client", Client: c.Ref, Topic: topic}
		if r.From != "" || r.To != "" {
			does = Action{Do: "card", Client: c.Ref, Transfer: care.Transfer{From: r.From, To: r.To}.Key(), Topic: topic}
		}
		out.Choices = append(out.Choices, []Choice{clientLabel(f.Site, c, does)})
		if len(out.Choices) == pageSize {
			break
		}
	}
	out.Choices = append(out.Choices, []Choice{choice("client.neither", Action{Do: "clients"})})
	return out
}

// nobody is said of a name that no client has and of a client who is not theirs, in the
// same words, so that it tells nothing.
func nobody(f Facts, topic string) Say {
	out := clientListFor(f, topic)
	out.Lines = append([]Line{strong("client.unknown")}, out.Lines...)
	return out
}

func notUnderstood(f Facts) Say {
	out := say(line("question.not_understood"), line("help.ask"))
	out.Choices = homeChoices(f)
	return out
}

// topicsOf offers what can be asked about a client, where it was not sure what was asked.
func topicsOf(f Facts, c care.Client) Say {
	out := say(clientLine(Strong, f.Site, c), line("topic.which"))
	var all []Choice
	for _, t := range []ask.Topic{ask.Sling, ask.Loops, ask.Legs, ask.Staff, ask.Steps, ask.Cautions, ask.Seat, ask.Equipment, ask.Communication, ask.LastNotes} {
		all = append(all, choice("topic."+string(t), Action{Do: "client", Client: c.Ref, Topic: string(t)}))
	}
	out.Choices = rows(2, all...)
	out.Client = c.Ref
	return out
}

func clientListFor(f Facts, topic string) Say {
	out := clientList(f, 0, false)
	for i := range out.Lines {
		if topic != "" && out.Lines[i].Key == "clients.title" {
			out.Lines[i] = line("client.who")
		}
	}
	for _, row := range out.Choices {
		for i := range row {
			if row[i].Does.Do == "client" {
				row[i].Does.Topic = topic
			}
		}
	}
	return out
}

// noneInForce says first of a list for whom nobody is to be lifted: those whose plan is
// suspended, ended, still to come or not there.
func noneInForce(f Facts, all []care.Client) []Line {
	var out []Line
	for _, c := range all {
		if _, ok := f.Site.PlanAt(c.Ref, f.Now); !ok {
			out = append(out, clientLine(Plain, f.Site, c))
		}
	}
	if out == nil {
		return nil
	}
	return append([]Line{warn("clients.stopped")}, out...)
}

// clientList offers the clients whom the person may see, a page at a time.
func clientList(f Facts, page int, turned bool) Say {
	mine := f.Site.ClientsOf(f.Me)
	if len(mine) == 0 {
		return say(append([]Line{line("clients.none")}, whomToCall(f.Site)...)...)
	}
	first := min(max(page, 0)*pageSize, len(mine))
	last := min(first+pageSize, len(mine))
	out := say(append(noneInForce(f, mine[first:last]), line("clients.title"))...)
	for _, c := range mine[first:last] {
		out.Choices = append(out.Choices, []Choice{clientLabel(f.Site, c, Action{Do: "client", Client: c.Ref})})
	}
	if len(mine) > pageSize {
		out.Lines = append(out.Lines, line("clients.type.name"))
	}
	out.Choices = append(out.Choices, pages("clients", page, last < len(mine))...)
	out.InPlace = turned
	return out
}
