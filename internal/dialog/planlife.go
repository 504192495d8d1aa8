package dialog

import (
	"slices"
	"time"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/picture"
)

// The life of a plan, for coordinators:
//
//	card -> [Suspend plan] -> suspended, everybody is told
//	           +- [What to do instead] -> words -> review -> told again
//	           +- [Put back in force] -> reason -> review -> in force, told
//	card or /plans -> versions -> one version as it was
//	                     +- [End the plan] -> reason -> review -> ended, told
//	                     +- a draft -> [Put in force] -> the next version, told

// planChoices are what a coordinator can do with the plan of a client.
func planChoices(f Facts, c care.Client) []Choice {
	if f.Me.Role != care.Coordinator {
		return nil
	}
	var out []Choice
	switch p, ok := f.Site.PlanOnRecord(c.Ref, f.Now); {
	case ok && p.Stopped == nil:
		out = append(out, choice("plan.button.suspend", Action{Do: "plan.suspend", Client: c.Ref, Version: p.Version}))
	case ok && p.Stopped.Act == care.PlanSuspended:
		out = append(out, choice("plan.button.resume", Action{Do: "plan.resume", Client: c.Ref}), choice("planedit.button", Action{Do: "planedit", Client: c.Ref}))
	}
	return append(out, choice("plan.button.versions", Action{Do: "plan.versions", Client: c.Ref}))
}

// pressedPlan does what a coordinator's button about a plan meant.
func pressedPlan(s State, f Facts, c care.Client, a Action) (State, []Effect) {
	p, recorded := f.Site.PlanOnRecord(c.Ref, f.Now)
	suspended := recorded && p.Stopped != nil && p.Stopped.Act == care.PlanSuspended
	switch a.Do {
	case "plan.suspend":
		if !recorded || p.Stopped != nil {
			return s, []Effect{noPlan(f, c)}
		}
		return s, suspend(f, c, p)
	case "plan.instead", "plan.resume":
		if !suspended {
			return s, []Effect{say(line("plan.not_suspended"), clientLine(Plain, f.Site, c))}
		}
		return startPlanAct(s, f, c, a.Do)
	case "plan.end":
		if !recorded || p.Stopped != nil && !suspended {
			return s, []Effect{noPlan(f, c)}
		}
		return startPlanAct(s, f, c, a.Do)
	case "plan.version":
		return s, []Effect{oneVersion(f, c, a.Version)}
	case "plan.publish":
		all := f.Records.Versions(c.Ref)
		if len(all) == 0 || all[len(all)-1].Plan.Version != a.Version || !all[len(all)-1].Plan.Draft {
			return s, []Effect{say(line("plan.draft.gone")), versions(f, c, 0)}
		}
		out := say(strong("plan.draft.published", "Version", a.Version+1), clientLine(Plain, f.Site, c))
		out.InPlace = true
		return s, []Effect{PublishDraft{Client: c.Ref, Version: a.Version}, out}
	}
	return s, []Effect{versions(f, c, a.Page)}
}

func suspend(f Facts, c care.Client, p care.Plan) []Effect {
	out := say(warn("suspend.done", "Version", p.Version), clientLine(Strong, f.Site, c),
		line("suspend.telling", "Number", len(f.Site.CarersOf(c.Ref))), line("suspend.now"))
	out.InPlace, out.Client = true, c.Ref
	out.Choices = rows(1,
		choice("plan.button.instead", Action{Do: "plan.instead", Client: c.Ref}),
		choice("plan.button.resume", Action{Do: "plan.resume", Client: c.Ref}))
	return []Effect{ActOnPlan{care.PlanEvent{Client: c.Ref, Act: care.PlanSuspended, Version: p.Version, By: f.Me.Ref}}, out}
}

// stoppedPlan is the card of a client whose plan is suspended or ended.
func stoppedPlan(f Facts, c care.Client, p care.Plan) Say {
	stop := *p.Stopped
	act := care.Change{Client: c.Ref, Kind: care.ChangeKind(stop.Act), After: p.Version, At: stop.At, Text: stop.Instead}
	if stop.Act == care.PlanEnded {
		act.Text = stop.Reason
	}
	out := say(actLines(f, c, act)...)
	out.Client = c.Ref
	out.Choices = rows(2, append([]Choice{
		choice("card.button.note", Action{Do: "note", Client: c.Ref}),
		choice("card.button.incident", Action{Do: "incident", Client: c.Ref}),
	}, planChoices(f, c)...)...)
	return out
}

// actLines says that a plan is suspended, ended or in force again, since when, by whom,
// and what to do now.
func actLines(f Facts, client care.Client, c care.Change) []Line {
	by, at := "", c.At
	for _, e := range f.Records.PlanEvents(c.Client) {
		// What to do instead may have been added later, by somebody else.
		if care.ChangeKind(e.Act) == c.Kind && !e.At.After(c.At) {
			by, at = nameOf(f.Site, e.By), e.At
		}
	}
	who := clientLine(Strong, f.Site, client)
	since := line("plan.act."+string(c.Kind), "Version", c.After, "At", at, "Name", by)
	var out []Line
	switch c.Kind {
	case care.ChangeSuspended:
		out = []Line{warn("suspended.title"), who, since}
		if c.Text.IsZero() {
			out = append(out, line("suspended.instead.none"))
		} else {
			out = append(append(out, strong("suspended.instead")), own(c.Text)...)
		}
		return append(append(out, line("stop.who_decides")), whomToCall(f.Site)...)
	case care.ChangeEnded:
		out = append([]Line{warn("ended.title"), who, since}, own(c.Text)...)
		return append(append(out, line("stop.who_decides")), whomToCall(f.Site)...)
	}
	return append([]Line{strong("resumed.title"), who, since}, own(c.Text)...)
}

// planFlow asks for the words that go with an act: what to do instead, or the reason.
func planFlow() flow {
	return flow{
		name: "plan",
		questions: []question{{
			name: "text", title: "note.title.text",
			ask: func(form Form, f Facts) Say {
				c, _ := f.Site.Client(form.Client)
				return say(clientLine(Strong, f.Site, c), line(form.Ref+".ask"), small("form.type.it"))
			},
			take: func(form *Form, f Facts, a answer) *Words {
				if a.typed == "" {
					return &Words{Key: "form.type.it"}
				}
				return takeWords(&form.Note.Text, f, a)
			},
		}},
		review: func(form Form, f Facts) []Line {
			c, _ := f.Site.Client(form.Client)
			return append([]Line{clientLine(Strong, f.Site, c), line(form.Ref + ".review")}, own(form.Note.Text)...)
		},
		save: savePlan,
	}
}

func startPlanAct(s State, f Facts, c care.Client, do string) (State, []Effect) {
	return start(s, f, Form{Flow: "plan", Client: c.Ref, Ref: do, Note: &care.Note{}})
}

// planActs says what each form does to a plan.
var planActs = map[string]care.PlanAct{"plan.instead": care.PlanInstead, "plan.resume": care.PlanResumed, "plan.end": care.PlanEnded}

func savePlan(_ *State, form Form, f Facts) []Effect {
	act, known := planActs[form.Ref]
	c, ok := mayAnswer(f, form.Client)
	if !ok || !known || f.Me.Role != care.Coordinator {
		return []Effect{say(line("coordinator.only"))}
	}
	// Another coordinator may have acted since the form began.
	p, recorded := f.Site.PlanOnRecord(c.Ref, f.Now)
	suspended := recorded && p.Stopped != nil && p.Stopped.Act == care.PlanSuspended
	if !recorded || act != care.PlanEnded && !suspended || act == care.PlanEnded && p.Stopped != nil && !suspended {
		return []Effect{say(line("plan.not_suspended"), clientLine(Plain, f.Site, c))}
	}
	out := say(strong(form.Ref+".done", "Version", p.Version), clientLine(Plain, f.Site, c))
	out.InPlace, out.Client = true, c.Ref
	if act != care.PlanResumed {
		out.Choices = rows(1, planChoices(f, c)...)
		if act == care.PlanEnded {
			out.Choices = rows(1, choice("plan.button.versions", Action{Do: "plan.versions", Client: c.Ref}))
		}
	}
	return []Effect{ActOnPlan{care.PlanEvent{Client: c.Ref, Act: act, Version: p.Version, By: f.Me.Ref, Text: form.Note.Text}}, out}
}

// planClients offers the clients whose plans' versions a coordinator may look at.
func planClients(f Facts, page int, turned bool) Say {
	out := clientList(f, page, turned)
	for i, row := range out.Choices {
		for j := range row {
			if does := &out.Choices[i][j].Does; does.Do == "client" {
				does.Do = "plan.versions"
			} else if does.Do == "clients" {
				does.Do = "plans"
			}
		}
	}
	return out
}

// stateOf says what a version is now: in force, replaced, still to come, a draft,
// suspended, ended or never in force.
func stateOf(f Facts, all []care.PlanRecord, i int) Line {
	p := all[i].Plan
	if p.Draft {
		return line("versions.draft")
	}
	var until time.Time
	for _, later := range all[i+1:] {
		if !later.Plan.Draft && (until.IsZero() || later.Plan.From.Before(until)) {
			until = later.Plan.From
		}
	}
	switch {
	case !until.IsZero() && !until.After(p.From):
		return line("versions.never")
	case p.From.After(f.Now):
		return line("versions.later", "From", p.From)
	case !until.IsZero() && !until.After(f.Now):
		return line("versions.replaced", "From", p.From, "Until", until)
	}
	if current, ok := f.Site.PlanOnRecord(p.Client, f.Now); ok && current.Stopped != nil && current.Version == p.Version {
		return warn("versions."+string(current.Stopped.Act), "From", p.From, "Since", current.Stopped.At)
	}
	return strong("versions.in_force", "From", p.From)
}

// versionLines heads a version: its number, what it is now, who wrote it and why.
func versionLines(f Facts, all []care.PlanRecord, i int) []Line {
	r := all[i]
	out := []Line{strong("plan.version.number", "Version", r.Plan.Version), stateOf(f, all, i), small("versions.recorded", "At", r.Recorded)}
	if r.Plan.Author != "" {
		out = append(out, small("versions.author", "Role", r.Plan.AuthorRole, "Name", r.Plan.Author))
	} else if r.Plan.AuthorRole != "" {
		out = append(out, small("plan.author", "Role", r.Plan.AuthorRole))
	}
	if !r.Plan.Reason.IsZero() {
		out = append(append(out, line("plan.reason")), own(r.Plan.Reason)...)
	}
	return out
}

const versionPage = 5

// versions lists a plan's versions, the newest first, and what was done to the plan.
func versions(f Facts, c care.Client, page int) Say {
	all := f.Records.Versions(c.Ref)
	out := say(strong("versions.title"), clientLine(Strong, f.Site, c))
	if len(all) == 0 {
		out.Lines = append(out.Lines, line("plan.none"))
	}
	first := min(max(page, 0)*versionPage, len(all))
	last := min(first+versionPage, len(all))
	var shown []Choice
	for n := first; n < last; n++ {
		i := len(all) - 1 - n
		out.Lines = append(out.Lines, versionLines(f, all, i)...)
		shown = append(shown, choice("plan.version.number", Action{Do: "plan.version", Client: c.Ref, Version: all[i].Plan.Version}, "Version", all[i].Plan.Version))
	}
	if events := f.Records.PlanEvents(c.Ref); len(events) > 0 && page == 0 {
		out.Lines = append(out.Lines, strong("versions.acts"))
		for _, e := range events[max(len(events)-8, 0):] {
			out.Lines = append(out.Lines, line("plan.act."+string(e.Act), "Version", e.Version, "At", e.At, "Name", nameOf(f.Site, e.By)))
			out.Lines = append(out.Lines, own(e.Text)...)
		}
	}
	out.Choices = rows(2, shown...)
	for _, row := range pages("plan.versions", page, last < len(all)) {
		for i := range row {
			row[i].Does.Client = c.Ref
		}
		out.Choices = append(out.Choices, row)
	}
	do := slices.DeleteFunc(planChoices(f, c), func(x Choice) bool { return x.Does.Do == "plan.versions" })
	if p, ok := f.Site.PlanOnRecord(c.Ref, f.Now); ok && (p.Stopped == nil || p.Stopped.Act == care.PlanSuspended) {
		do = append(do, choice("plan.button.end", Action{Do: "plan.end", Client: c.Ref}))
	}
	out.Choices = append(out.Choices, rows(2, do...)...)
	return out
}

// oneVersion shows a version as it was recorded. It says first what it is now, so that
// nobody takes an old one for the plan.
func oneVersion(f Facts, c care.Client, version int) Say {
	all := f.Records.Versions(c.Ref)
	i := slices.IndexFunc(all, func(r care.PlanRecord) bool { return r.Plan.Version == version })
	if i < 0 {
		return say(line("button.old"))
	}
	p := all[i].Plan
	out := say(clientLine(Strong, f.Site, c))
	if current, ok := f.Site.PlanAt(c.Ref, f.Now); !ok || current.Version != version {
		out = say(warn("versions.not_now"), clientLine(Strong, f.Site, c))
	} else {
		out.Lines = append(stopsOfPlan(f, c, current), out.Lines...)
	}
	out.Lines = append(out.Lines, versionLines(f, all, i)...)
	for _, t := range p.Transfers {
		v := view{f: f, client: c, plan: p, t: t, from: t.From, to: t.To, back: t.BothWays}
		m := v.moveLine()
		m.Style = Strong
		out.Lines = append(out.Lines, m)
		for _, fd := range fields {
			out.Lines = append(out.Lines, fd.lines(v)...)
		}
	}
	if !p.NextReview.IsZero() {
		out.Lines = append(out.Lines, small("plan.review", "Date", p.NextReview))
	}
	if p.Draft && i == len(all)-1 {
		out.Choices = rows(1, choice("plan.button.publish", Action{Do: "plan.publish", Client: c.Ref, Version: version}))
	}
	out.Choices = append(out.Choices, []Choice{choice("plan.button.versions", Action{Do: "plan.versions", Client: c.Ref})})
	return out
}

// Stale is what the place of a card says whose plan is no longer in force, so that it
// can never look current.
func Stale(f Facts, c care.Client, version int) Say {
	// Where the card had a picture, nobody must take the old loops from it.
	void := picture.Void()
	out := Say{Urgency: Mark, Picture: shown("void", nil, void, []Words{words("picture.void")})}
	current, ok := f.Site.PlanOnRecord(c.Ref, f.Now)
	_, theirs := mayAnswer(f, c.Ref)
	switch {
	case c.Ended:
		out.Lines = []Line{warn("stale.client_ended")}
		return out
	case !theirs:
		// What became of the plan is no longer for them to know.
		out.Lines = []Line{warn("stale.not_yours")}
		return out
	case ok && current.Stopped != nil:
		out.Lines = []Line{warn("stale."+string(current.Stopped.Act), "Version", version, "At", current.Stopped.At)}
	case ok:
		out.Lines = []Line{warn("stale.replaced", "Old", version, "At", current.From), line("stale.now", "Version", current.Version)}
	default:
		out.Lines = []Line{warn("stale.none", "Old", version)}
	}
	out.Lines = append(out.Lines, clientLine(Plain, f.Site, c))
	out.Choices = rows(1, choice("stale.button", Action{Do: "client", Client: c.Ref, Topic: string(ask.Plan)}))
	return out
}

// Remind is what somebody reads who has not confirmed a change yet: the change again,
// with fresh buttons.
func Remind(out Say, shift *care.Shift, start time.Time) Say {
	first := warn("remind.title")
	if shift != nil {
		first = warn("remind.shift", "Shift", shiftName(*shift), "Start", start)
	}
	out.Lines = append([]Line{first}, out.Lines...)
	return out
}

// Waiting is a change with the people who have to be phoned about it.
type Waiting struct {
	Change care.Change
	People []care.Confirmation
}

// mostNames is how many people one list names.
const mostNames = 12

// Phone tells a coordinator whom to phone before it matters. Shift is nil where it is
// not about a shift.
func Phone(f Facts, shift *care.Shift, start time.Time, all []Waiting) Say {
	out := say(warn("phone.title"))
	if shift != nil {
		out.Lines = append(out.Lines, line("phone.shift", "Shift", shiftName(*shift), "Start", start))
	}
	out.Urgency = Alert
	for _, w := range all {
		client, ok := f.Site.Client(w.Change.Client)
		if !ok {
			continue
		}
		out.Lines = append(out.Lines, clientLine(Strong, f.Site, client))
		if w.Change.Kind == care.ChangeVersion {
			out.Lines = append(out.Lines, line("plan.version.number", "Version", w.Change.After))
		} else {
			out.Lines = append(out.Lines, line("change.act."+string(w.Change.Kind), "Version", w.Change.After, "At", w.Change.At))
		}
		for i, p := range w.People {
			if i == mostNames {
				out.Lines = append(out.Lines, line("phone.more", "Number", len(w.People)-mostNames))
				break
			}
			key := "change.not_by"
			switch {
			case !f.Records.Joined(p.Person):
				key = "change.not_joined"
			case p.Told.IsZero():
				key = "change.not_told"
			}
			out.Lines = append(out.Lines, line(key, "Name", nameOf(f.Site, p.Person)))
		}
		if len(out.Choices) < pageSize {
			out.Choices = append(out.Choices, []Choice{clientLabel(f.Site, client, Action{Do: "change", Ref: w.Change.ID})})
		}
	}
	return out
}
