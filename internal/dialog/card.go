package dialog

import (
	"reflect"
	"slices"
	"strings"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/rules"
)

// topicFields says which fields answer a topic.
var topicFields = map[ask.Topic][]string{
	ask.Sling:    {"sling", "kind", "spare"},
	ask.Loops:    {"loops"},
	ask.Legs:     {"legs"},
	ask.Staff:    {"carers"},
	ask.Hoist:    {"hoist", "brakes"},
	ask.Seat:     {"seat", "bed", "setup", "stays"},
	ask.Steps:    {"steps"},
	ask.Cautions: {"cautions"},
}

// short is what every card has beside the asked-for fact, in this order.
var short = []string{"sling", "loops", "legs", "carers", "cautions"}

// card answers about one transfer: what stops it first, then the asked-for fact, then
// who it is about and what every card has.
func card(v view, topics []ask.Topic) Say {
	findings := findingsFor(v)
	out := say(stops(v.f, v.client, findings)...)
	stopped := rules.Worst(findings) == rules.Stop
	v.takeSpare = slices.ContainsFunc(findings, func(x rules.Finding) bool { return x.Key == "sling_take_spare" })
	shown := map[string]bool{}
	whole := slices.Contains(topics, ask.Plan) && len(topics) == 1
	var facts []Line
	for _, t := range topics {
		switch t {
		case ask.Weight:
			facts = append(append(facts, massLines(v)...), loadLines(v)...)
			facts = append(append(facts, changeLines(v)...), advice(findings, "hands_", "weight_", "size_")...)
		case ask.Equipment:
			facts = append(append(facts, equipmentLines(v)...), advice(findings, "hands_", "service_", "examination_", "bar_")...)
		case ask.Communication:
			facts = append(facts, communicationLines(v)...)
		case ask.Review:
			facts = append(append(facts, reviewLines(v)...), forReview(v, findings)...)
		default:
			for _, name := range topicFields[t] {
				facts = append(facts, fieldLines(v, name)...)
				shown[name] = true
			}
		}
	}
	about := []Line{clientLine(Strong, v.f.Site, v.client), v.moveLine()}
	if stopped {
		about = about[1:] // named at the top
	}
	long := len(facts) > longFact
	if long {
		// Nobody should read a long list before they know whose it is.
		out.Lines = append(append(out.Lines, about...), emphasise(facts)...)
	} else {
		out.Lines = append(append(out.Lines, emphasise(facts)...), about...)
	}
	if whole {
		out.Lines = append(out.Lines, massLines(v)...)
		for _, f := range fields {
			out.Lines = append(out.Lines, f.lines(v)...)
		}
		out.Lines = append(out.Lines, advice(findings, "hands_")...)
		out.Lines = append(out.Lines, communicationLines(v)...)
		out.Lines = append(out.Lines, reviewLines(v)...)
		if v.f.Me.Role == care.Coordinator {
			out.Lines = append(out.Lines, PostureLines(v.f, v.t)...)
		}
	} else {
		for _, name := range short {
			if !shown[name] && !long {
				out.Lines = append(out.Lines, fieldLines(v, name)...)
			}
		}
		if !slices.Contains(topics, ask.Review) {
			out.Lines = append(out.Lines, planLines(v.plan)...)
		}
	}
	if whole || slices.Contains(topics, ask.Review) {
		// Said already, with the review.
		findings = slices.DeleteFunc(findings, func(x rules.Finding) bool { return x.Key == "review_wanted" })
	}
	out.Lines = append(out.Lines, noticed(v, findings)...)
	out.Lines = append(out.Lines, decidedOn(v, findings)...)
	out.Lines = append(out.Lines, small("caution.plan_decides"))
	out.Client, out.PlanVersion = v.client.Ref, v.plan.Version
	out.Choices = append(gearRows(v, topics), cardChoices(v, topics)...)
	return withPicture(out, v, findings, topics)
}

// findingsFor is what the rules find about a transfer for this reader: the plan and the
// equipment, what has been recorded since the plan began, and the reader's sign-offs.
func findingsFor(v view) []rules.Finding {
	out := rules.Check(v.f.Site, v.client, v.plan, v.t, v.f.Now)
	out = append(out, triggers(v)...)
	return append(out, rules.SignOffs(v.f.Site, v.f.Me, v.t, care.DateOf(v.f.Now.In(v.f.Site.Location())))...)
}

// triggers is what has happened since the plan began that asks for a review.
func triggers(v view) []rules.Finding {
	since := v.f.Records.Since([]string{v.client.Ref}, v.plan.From, v.f.Now)
	return rules.Triggers(v.f.Site, v.client, v.plan, since)
}

// forReview is what a coordinator looks at when a plan is reviewed, and nobody else.
func forReview(v view, findings []rules.Finding) []Line {
	if v.f.Me.Role != care.Coordinator {
		return nil
	}
	return append(advice(findings, "legs_", "plan_", "size_", "weight_", "examination_", "service_", "bar_"), shortShifts(v)...)
}

// advice words what is good to know and belongs to a topic, by how its keys begin. It
// stands in the answer about that topic, and never on every card.
func advice(findings []rules.Finding, prefixes ...string) []Line {
	var out []Line
	for _, x := range findings {
		of := func(p string) bool { return strings.HasPrefix(x.Key, p) }
		if (x.Severity == rules.Advice || ofTopic(x)) && slices.ContainsFunc(prefixes, of) {
			out = append(out, findingLine(x))
		}
	}
	return out
}

// ofTopic reports whether a finding stands in the answers about its topic alone: what
// hands may lift holds for most people, and a loss of weight is for whoever looks after
// the person's nutrition. On every card they would teach carers to read past a caution.
func ofTopic(x rules.Finding) bool {
	return strings.HasPrefix(x.Key, "hands_") || strings.HasPrefix(x.Key, "weight_")
}

// shortShifts tells a coordinator of shifts with fewer carers than the transfer needs.
func shortShifts(v view) []Line {
	var out []Line
	for _, s := range v.f.Site.Shifts {
		for _, x := range rules.CrewRostered(v.f.Site, v.client.Ref, v.t, s.Name) {
			l := findingLine(x)
			l.Args["Shift"] = shiftName(s)
			out = append(out, l)
		}
	}
	return out
}

// longFact is how many lines of an answer are a list rather than a fact.
const longFact = 10

// emphasise makes the asked-for fact stand out: lines that are plain become strong, of
// a long list its title only.
func emphasise(facts []Line) []Line {
	for i := range facts {
		if facts[i].Style == Plain && (i == 0 || len(facts) <= longFact) {
			facts[i].Style = Strong
		}
	}
	return facts
}

func planLines(p care.Plan) []Line {
	out := []Line{small("plan.version", "Version", p.Version, "Since", p.From)}
	if !p.NextReview.IsZero() {
		out = append(out, small("plan.review", "Date", p.NextReview))
	}
	return out
}

// stops says what must not be done, why, and whom to call: always first.
func stops(f Facts, c care.Client, findings []rules.Finding) []Line {
	found := rules.Of(findings, rules.Stop)
	if len(found) == 0 {
		return instead(findings)
	}
	// Whose it is stands at the top: nobody should read reasons about somebody else.
	out := []Line{warn("stop.title"), clientLine(Strong, f.Site, c)}
	for _, x := range found {
		out = append(out, findingLine(x))
	}
	return append(append(out, line("stop.who_decides")), whomToCall(f.Site)...)
}

// stopsOfPlan says what must not be done of any transfer of a plan, for what is said
// about the plan as a whole.
func stopsOfPlan(f Facts, c care.Client, p care.Plan) []Line {
	var out []Line
	for _, t := range p.Transfers {
		found := rules.Of(findingsFor(view{f: f, client: c, plan: p, t: t, from: t.From, to: t.To}), rules.Stop)
		if len(found) > 0 {
			out = append(out, move(Plain, t.From, t.To))
		}
		for _, x := range found {
			out = append(out, findingLine(x))
		}
	}
	if out == nil {
		return nil
	}
	out = append([]Line{warn("stop.title")}, out...)
	return append(append(out, line("stop.who_decides")), whomToCall(f.Site)...)
}

// instead says, before anything else, that another sling is to be taken than the card
// goes on to name.
func instead(findings []rules.Finding) []Line {
	var out []Line
	for _, x := range findings {
		if x.Key == "sling_take_spare" {
			l := findingLine(x)
			l.Style = Warn
			out = append(out, l)
		}
	}
	return out
}

// noticed says what is to be read before the transfer, and last who decides. What the
// plan is silent about stands at its own place already, and so does what an assessor has
// decided.
func noticed(v view, findings []rules.Finding) []Line {
	var out []Line
	for _, x := range findings {
		if _, decided := rules.DecisionOn(v.plan, v.t, x); decided {
			continue
		}
		if x.Severity == rules.Caution && x.Key != "not_stated" && x.Key != "loops_differ" && x.Key != "sling_take_spare" && !ofTopic(x) {
			out = append(out, findingLine(x))
		}
	}
	if len(out) == 0 {
		return nil
	}
	out = append([]Line{strong("notice.title")}, out...)
	if rules.Worst(findings) == rules.Stop {
		// Whom to call stands at the head of the card.
		return append(out, line("notice.decides"))
	}
	return append(append(out, line("notice.who_decides")), whomToCall(v.f.Site)...)
}

// FindingWords words a finding of the rules.
func FindingWords(x rules.Finding) Words { return findingLine(x).Words }

// findingLine words a finding: its codes become terms, masses are rounded to the safe
// side, everything else stands as it is.
func findingLine(x rules.Finding) Line {
	l := line("finding." + x.Key)
	for name, v := range x.Args {
		if l.Args == nil {
			l.Args = Args{}
		}
		switch w := v.(type) {
		case string:
			switch name {
			case "field":
				v = Term("field." + w)
			case "why", "spare_why":
				v = Term("why." + w)
			case "part":
				v = Term("equipment." + w)
			case "point":
				v = Term("point." + w)
			case "side":
				v = Term("side.person." + w)
			case "legs":
				v = Term("legs." + w)
			case "limb":
				v = Term("part." + w)
			case "caution":
				v = Term("caution." + w)
			case "measure":
				v = Term("measure." + w)
			case "trigger":
				v = Term("trigger." + w)
			case "sign_off":
				v = signOffTerm(care.SignOffKind(w))
			}
			if x.Key == "attachment_mismatch" && (name == "sling" || name == "bar") {
				v = Term("attachment." + w)
			}
		case care.Mass:
			// What somebody weighs, or weighed, is never made less.
			if name == "mass" || name == "before" {
				v = rules.RoundMassUp(w)
			} else {
				v = w / 100 * 100
			}
		}
		// Count would choose a plural form, which a finding never needs.
		if name == "count" {
			name = "of"
		}
		l.Args[camel(name)] = v
	}
	return l
}

func camel(name string) string {
	parts := strings.Split(name, "_")
	for i, p := range parts {
		parts[i] = strings.ToUpper(p[:1]) + p[1:]
	}
	return strings.Join(parts, "")
}

func cardChoices(v view, topics []ask.Topic) [][]Choice {
	key := care.Transfer{From: v.from, To: v.to}.Key()
	others := slices.ContainsFunc(v.plan.Transfers, func(t care.Transfer) bool { return t.Key() != v.t.Key() })
	about := func(do string, t ask.Topic) Action {
		return Action{Do: do, Client: v.client.Ref, Transfer: key, Version: v.plan.Version, Topic: string(t)}
	}
	var all []Choice
	if slices.Contains(topics, ask.Staff) && v.t.Carers > 1 {
		all = append(all, choice("card.button.alone", about("alone", "")))
	}
	for _, b := range []struct {
		topic ask.Topic
		key   string
	}{{ask.Plan, "card.button.plan"}, {ask.Steps, "card.button.steps"}, {ask.Cautions, "card.button.cautions"}, {ask.Equipment, "card.button.equipment"}} {
		if !slices.Contains(topics, b.topic) {
			all = append(all, choice(b.key, about("card", b.topic)))
		}
	}
	all = append(all,
		choice("card.button.note", about("note", "")),
		choice("card.button.incident", about("incident", "")))
	if v.f.Me.Role == care.Coordinator {
		all = append(all, choice("card.button.charts", Action{Do: "chart", Client: v.client.Ref}))
		if slices.Contains(topics, ask.Plan) {
			all = append(all, choice("card.button.posture", about("posture", "")))
		}
		all = append(all, choice("planedit.button", about("planedit", "")))
	}
	if others || v.t.BothWays && !v.back {
		all = append(all, choice("card.button.other", Action{Do: "client", Client: v.client.Ref}))
	}
	return rows(2, append(all, planChoices(v.f, v.client)...)...)
}

// alone answers somebody who is there alone: what the plan says, and whom to call.
func alone(f Facts, c care.Client, a Action) Say {
	plan, ok := f.Site.PlanAt(c.Ref, f.Now)
	if !ok {
		return noPlan(f, c)
	}
	from, to := care.ParseTransferKey(a.Transfer)
	served := serving(plan, from, to)
	if len(served) == 0 {
		return whichTransfer(f, c, plan, ask.Staff, true)
	}
	w := served[0]
	out := say(stops(f, c, rules.CrewPresent(w.t, 1))...)
	if len(out.Lines) == 0 {
		out.Lines = []Line{clientLine(Strong, f.Site, c)}
	}
	out.Lines = append(out.Lines, move(Plain, w.from, w.to))
	out.Lines = append(out.Lines, carerLines(view{f: f, client: c, plan: plan, t: w.t})...)
	out.Lines = append(out.Lines, small("caution.plan_decides"))
	out.Client, out.PlanVersion = c.Ref, plan.Version
	out.Choices = rows(1, choice("card.button.plan", Action{Do: "card", Client: c.Ref, Transfer: w.key(), Version: plan.Version, Topic: string(ask.Plan)}))
	return out
}

// noPlan is the card of a client for whom no plan is in force.
func noPlan(f Facts, c care.Client) Say {
	if p, ok := f.Site.PlanOnRecord(c.Ref, f.Now); ok && p.Stopped != nil {
		return stoppedPlan(f, c, p)
	}
	out := say(warn("stop.title"), line("plan.none"), clientLine(Strong, f.Site, c))
	for _, p := range f.Site.Plans {
		if p.Client == c.Ref && p.From.After(f.Now) {
			out.Lines = append(out.Lines, line("plan.later", "Version", p.Version, "From", p.From))
			break
		}
	}
	out.Lines = append(append(out.Lines, line("stop.who_decides")), whomToCall(f.Site)...)
	out.Client = c.Ref
	out.Choices = rows(2,
		append([]Choice{
			choice("card.button.note", Action{Do: "note", Client: c.Ref}),
			choice("card.button.incident", Action{Do: "incident", Client: c.Ref}),
		}, planChoices(f, c)...)...)
	return out
}

// aboutClient answers what does not depend on a transfer.
func aboutClient(f Facts, c care.Client, p care.Plan, topics []ask.Topic) Say {
	v := view{f: f, client: c, plan: p}
	out := say(stopsOfPlan(f, c, p)...)
	// Nobody should read long notes before they know whose they are.
	long := slices.Contains(topics, ask.LastNotes)
	if long {
		out.Lines = append(out.Lines, clientLine(Strong, f.Site, c))
	}
	for _, t := range topics {
		switch t {
		case ask.Communication:
			out.Lines = append(out.Lines, emphasise(communicationLines(v))...)
		case ask.Review:
			out.Lines = append(out.Lines, emphasise(reviewLines(v))...)
			var said []Line
			for _, t := range p.Transfers {
				v.t = t
				more := slices.DeleteFunc(forReview(v, rules.Check(f.Site, c, p, t, f.Now)), func(l Line) bool {
					return slices.ContainsFunc(said, func(s Line) bool { return reflect.DeepEqual(s, l) })
				})
				if len(more) > 0 {
					out.Lines = append(append(out.Lines, move(Plain, t.From, t.To)), more...)
				}
				said = append(said, more...)
			}
		case ask.LastNotes:
			out.Lines = append(out.Lines, lastNotes(f, c)...)
		}
	}
	if !long {
		out.Lines = append(out.Lines, clientLine(Strong, f.Site, c))
	}
	if !slices.Contains(topics, ask.Review) {
		out.Lines = append(out.Lines, planLines(p)...)
	}
	out.Lines = append(out.Lines, small("caution.plan_decides"))
	out.Client, out.PlanVersion = c.Ref, p.Version
	out.Choices = rows(2,
		choice("card.button.plan", Action{Do: "client", Client: c.Ref}),
		choice("card.button.note", Action{Do: "note", Client: c.Ref}))
	return out
}

// independent reports whether every topic is answered without a transfer.
func independent(topics []ask.Topic) bool {
	for _, t := range topics {
		if t != ask.Communication && t != ask.Review && t != ask.LastNotes {
			return false
		}
	}
	return len(topics) > 0
}

// lastNotes shows the newest notes about a client, newest first.
func lastNotes(f Facts, c care.Client) []Line {
	notes := f.Records.LastNotes(c.Ref, 3)
	if len(notes) == 0 {
		return []Line{strong("notes.none")}
	}
	out := []Line{strong("notes.title")}
	for _, n := range notes {
		out = append(out, strong("note.head", "Ref", n.Ref, "Name", nameOf(f.Site, n.By), "At", n.At))
		out = append(out, noteLines(f, n, false)...)
	}
	return out
}
