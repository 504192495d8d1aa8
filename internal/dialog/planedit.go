package dialog

import (
	"reflect"
	"slices"
	"time"

	"samelift/internal/care"
	"samelift/internal/rules"
)

const flowPlan = "planedit"

// PublishPlan puts a changed plan on record and has it told.
type PublishPlan struct {
	Plan care.Plan
	// Based is the newest version there was when the change was begun.
	Based int
	// Urgent says that it is told before anything else.
	Urgent bool
}

func (PublishPlan) effect() {}

// PlanDraft is a changed plan that nobody follows yet.
type PlanDraft struct {
	// Based is the newest version there was when the change was begun, Source the one
	// whose words it began with.
	Based  int `json:"based"`
	Source int `json:"source"`
	// Plan is what will be published.
	Plan care.Plan `json:"plan"`
	// Urgent and From say how and from when; a zero From is the moment of publishing.
	Urgent bool      `json:"urgent,omitempty"`
	From   time.Time `json:"from,omitzero"`
	// Second is set where From is the second of two readings of one time on the wall.
	Second bool `json:"second,omitempty"`
	// Transfer is the key of the transfer that is being changed, empty for the plan as a
	// whole. The others are what is being chosen for it.
	Transfer string          `json:"transfer,omitempty"`
	Loops    care.PointLoops `json:"loops,omitzero"`
	Caution  care.Caution    `json:"caution,omitzero"`
	Open     []string        `json:"open,omitempty"`
	Range    string          `json:"range,omitempty"`
	Wall     string          `json:"wall,omitempty"`
	Page     int             `json:"page,omitempty"`
	Assessor string          `json:"assessor,omitempty"`
}

func (d PlanDraft) clone() PlanDraft {
	p := &d.Plan
	p.Cautions, p.Decisions, p.Transfers = slices.Clone(p.Cautions), slices.Clone(p.Decisions), slices.Clone(p.Transfers)
	for i := range p.Transfers {
		p.Transfers[i].Loops, p.Transfers[i].Cautions = slices.Clone(p.Transfers[i].Loops), slices.Clone(p.Transfers[i].Cautions)
	}
	d.Open = slices.Clone(d.Open)
	return d
}

// transfer gives the transfer that is being changed, nil for the plan as a whole.
func (d *PlanDraft) transfer() *care.Transfer {
	for i := range d.Plan.Transfers {
		if d.Plan.Transfers[i].Key() == d.Transfer {
			return &d.Plan.Transfers[i]
		}
	}
	return nil
}

// cautions gives the list that is being changed.
func (d *PlanDraft) cautions() *[]care.Caution {
	if t := d.transfer(); t != nil {
		return &t.Cautions
	}
	return &d.Plan.Cautions
}

// Names of the steps. Those in which something is typed freely are "why", "text" and
// the ones that end so.
const (
	stepVersion  = "version"
	stepTransfer = "transfer"
	stepWhat     = "what"
	stepUrgency  = "urgency"
	stepFrom     = "from"
	stepTwice    = "from.twice"
	stepWhy      = "why"
	stepStale    = "stale"
)

// A planStep asks one thing and takes the answer. What it returns is the next step, or
// what is wrong with the answer.
type planStep struct {
	ask  func(Form, Facts) Say
	take func(*Form, Facts, answer) (string, *Words)
}

// Changing a plan, for coordinators:
//
//	card -> (which version, if one is still to come) -> transfer or whole plan -> what
//	     -> loops: point -> both sides, or left -> right -> reason -> assessor
//	        sling -> what the new sling leaves open: spare, loops, leg straps, hoist
//	        spare, legs, hoist, arms, brakes
//	        carers (-> day of the assessment, for one alone)
//	        cautions: remove, or add: code -> part -> side (-> words)
//	        review date
//	     -> urgent or ordinary -> from when -> reason -> review
//	review -> publish
//	       -> change something else -> transfer ...
//	       -> an assessor has decided -> name -> reason -> review
//	       -> cancel
//	anywhere, once another version is on record -> stale -> begin again from the newest
func planStepOf(name string) (planStep, bool) {
	s, ok := map[string]planStep{
		stepVersion:  {askVersion, takeVersion},
		stepTransfer: {askPlanTransfer, takePlanTransfer},
		stepWhat:     {askWhat, takeWhat},

		"loops":          {askLoopPoint, takeLoopPoint},
		"loops.both":     {askLoopBoth, takeLoopBoth},
		"loops.left":     {askLoopLeft, takeLoopLeft},
		"loops.right":    {askLoopRight, takeLoopRight},
		"loops.why":      {askLoopWhy, takeLoopWhy},
		"loops.assessor": {askAssessor, takeLoopAssessor},

		"sling":           {askSling, takeSling},
		"sling.range":     {askRange, takeRange},
		"spare":           {askSpare, takeSpare},
		"legs":            {askLegs, takeLegs},
		"carers":          {askCarers, takeCarers},
		"carers.assessed": {askOneCarer, takeOneCarer},
		"hoist":           {askHoist, takeHoist},
		"arms":            {askArms, takeArms},
		"brakes":          {askBrakes, takeBrakes},

		"cautions":      {askCautions, takeCautions},
		"cautions.code": {askCautionCode, takeCautionCode},
		"cautions.part": {askCautionPart, takeCautionPart},
		"cautions.side": {askCautionSide, takeCautionSide},
		"cautions.text": {askCautionText, takeCautionText},
		"review.date":   {askReviewDate, takeReviewDate},

		stepUrgency: {askUrgency, takeUrgency},
		stepFrom:    {askFrom, takeFrom},
		stepTwice:   {askTwice, takeTwice},
		stepWhy:     {askWhy, takeWhy},

		"decide.assessor": {askAssessor, takeDecideAssessor},
		"decide.why":      {askDecideWhy, takeDecideWhy},

		stepReview: {askPlanReview, takePlanReview},
		stepStale:  {askStale, takeStale},
	}[name]
	return s, ok
}

// mayPlan reports whether the person may change the plan of a form: a coordinator, now.
func mayPlan(f Facts, client string) bool {
	_, ok := mayAnswer(f, client)
	return ok && f.Me.Role == care.Coordinator
}

// startPlanEdit begins to change the plan of a client.
func startPlanEdit(s State, f Facts, client, transfer string) (State, []Effect) {
	if !mayPlan(f, client) {
		return s, []Effect{say(line("coordinator.only"))}
	}
	c, _ := f.Site.Client(client)
	newest, ok := newestPlan(f.Site, client)
	if !ok {
		return s, []Effect{noPlan(f, c)}
	}
	if s.Form != nil {
		s = setAside(s)
	}
	form := Form{Flow: flowPlan, Client: client, Asked: map[string]bool{}}
	begin(&form, newest, newest.Version)
	form.Step = stepTransfer
	if newest.From.After(f.Now) {
		form.Step = stepVersion
	} else if from, to := care.ParseTransferKey(transfer); transfer != "" {
		if found := serving(newest, from, to); len(found) == 1 {
			form.Plan.Transfer, form.Step = found[0].t.Key(), stepWhat
		}
	}
	s.Form = &form
	return prompt(s, f, false)
}

// begin makes a draft of a version.
func begin(form *Form, source care.Plan, based int) {
	d := PlanDraft{Based: based, Source: source.Version, Plan: source}.clone()
	d.Plan.Reason = care.Text{} // every version has its own
	form.Plan = &d
	form.Asked = map[string]bool{}
}

// newestPlan gives the client's newest version, in force or still to come.
func newestPlan(site *care.Site, client string) (care.Plan, bool) {
	var best care.Plan
	for _, p := range site.Plans {
		if p.Client == client && !p.Draft && p.Version > best.Version {
			best = p
		}
	}
	return best, best.Version > 0
}

// nextVersion is the number that the next version on record will have; drafts have
// numbers too.
func nextVersion(f Facts, client string) int {
	all := f.Records.Versions(client)
	if len(all) == 0 {
		return 1
	}
	return all[len(all)-1].Plan.Version + 1
}

// planPrompt asks the current question of a plan's change. Everybody who is no longer a
// coordinator is refused here, and a draft whose base has been replaced is stopped.
func planPrompt(s State, f Facts, inPlace bool, before ...Line) (State, []Effect) {
	form := s.Form.clone()
	if !mayPlan(f, form.Client) {
		s.Form = nil
		return s, []Effect{say(line("coordinator.only"))}
	}
	if newest, ok := newestPlan(f.Site, form.Client); !ok || newest.Version != form.Plan.Based {
		form.Step = stepStale
	}
	step, _ := planStepOf(form.Step)
	return offer(s, f, form, step.ask(form, f), inPlace, before)
}

// planAnswered takes an answer to the current question.
func planAnswered(s State, f Facts, a answer, inPlace bool) (State, []Effect) {
	form := s.Form.clone()
	newest, _ := newestPlan(f.Site, form.Client)
	switch {
	case !mayPlan(f, form.Client):
		s.Form = nil
		return s, []Effect{say(line("coordinator.only"))}
	case a.value == "cancel":
		return cancel(s, inPlace)
	case newest.Version != form.Plan.Based && form.Step != stepStale:
		return planPrompt(s, f, inPlace)
	case a.value == "publish" && form.Step == stepReview:
		return publishEdit(s, f, form)
	}
	step, _ := planStepOf(form.Step)
	next, complaint := step.take(&form, f, a)
	s.Form = &form
	if complaint != nil {
		return prompt(s, f, false, Line{Style: Strong, Words: *complaint})
	}
	form.Step = next
	return prompt(s, f, inPlace)
}

// changed is the step after something was changed: what the change leaves open, then
// how and from when it is told, then the review.
func changed(form *Form, _ Facts) string {
	form.Asked["changed"] = true
	d := form.Plan
	if len(d.Open) > 0 {
		next := d.Open[0]
		d.Open = d.Open[1:]
		if point, ok := oneOf(care.Points, next); ok {
			d.Loops = care.PointLoops{Point: point}
			return "loops.both"
		}
		return next
	}
	return goOn(*form)
}

// goOn is the first thing about the telling that has not been asked, then the review.
func goOn(form Form) string {
	for _, name := range []string{stepUrgency, stepFrom, stepWhy} {
		if !form.Asked[name] {
			return name
		}
	}
	return stepReview
}

// leave is the row that ends choosing: on to the review once something was changed.
func leave(form Form) []Choice {
	out := []Choice{choice("form.cancel", Action{Value: "cancel"})}
	if form.Asked["changed"] {
		out = append([]Choice{choice("planedit.go_on", Action{Value: "go_on"})}, out...)
	}
	return out
}

// left reads a press of a way out of choosing.
func left(form Form, a answer) (string, bool) {
	if a.value == "go_on" && form.Asked["changed"] {
		return goOn(form), true
	}
	return backed(a)
}

func planHead(form Form, f Facts) []Line {
	c, _ := f.Site.Client(form.Client)
	out := []Line{clientLine(Strong, f.Site, c)}
	if t := form.Plan.transfer(); t != nil {
		out = append(out, move(Plain, t.From, t.To))
	}
	return out
}

// planAsk asks about one thing, with what the draft says of it now.
func planAsk(form Form, f Facts, field, key string, more ...Line) Say {
	out := say(planHead(form, f)...)
	if field != "" {
		out.Lines = append(out.Lines, fieldLines(draftView(form, f), field)...)
	}
	out.Lines = append(append(out.Lines, strong(key)), more...)
	return out
}

func draftView(form Form, f Facts) view {
	c, _ := f.Site.Client(form.Client)
	v := view{f: f, client: c}
	if t := form.Plan.transfer(); t != nil {
		v.t, v.from, v.to = *t, t.From, t.To
	} else {
		v.plan.Cautions = form.Plan.Plan.Cautions
	}
	return v
}

func backTo(step string) Choice { return choice("form.back", Action{Value: "back:" + step}) }

// backed reads a press of backTo.
func backed(a answer) (string, bool) {
	const mark = "back:"
	if len(a.value) > len(mark) && a.value[:len(mark)] == mark {
		_, ok := planStepOf(a.value[len(mark):])
		return a.value[len(mark):], ok
	}
	return "", false
}

func askVersion(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.version.ask")
	if p, ok := f.Site.PlanAt(form.Client, f.Now); ok {
		out.Choices = append(out.Choices, []Choice{choice("planedit.version.now", Action{Value: "now"}, "Version", p.Version)})
	}
	out.Choices = append(out.Choices,
		[]Choice{choice("planedit.version.later", Action{Value: "later"}, "Version", form.Plan.Based)},
		[]Choice{choice("form.cancel", Action{Value: "cancel"})})
	newest, _ := newestPlan(f.Site, form.Client)
	out.Lines = append(out.Lines, line("plan.later", "Version", newest.Version, "From", newest.From))
	return out
}

func takeVersion(form *Form, f Facts, a answer) (string, *Words) {
	newest, _ := newestPlan(f.Site, form.Client)
	switch a.value {
	case "later":
		begin(form, newest, newest.Version)
		return stepTransfer, nil
	case "now":
		if p, ok := f.Site.PlanAt(form.Client, f.Now); ok {
			begin(form, p, newest.Version)
			return stepTransfer, nil
		}
	}
	return "", complainChoose
}

func askPlanTransfer(form Form, f Facts) Say {
	form.Plan.Transfer = ""
	out := planAsk(form, f, "", "planedit.transfer.ask")
	for _, t := range form.Plan.Plan.Transfers {
		if len(out.Choices) == pageSize {
			out.Lines = append(out.Lines, line("planedit.transfer.type"))
			break
		}
		out.Choices = append(out.Choices, []Choice{transferButton(t.From, t.To, Action{Value: t.Key()})})
	}
	out.Choices = append(out.Choices, []Choice{choice("planedit.transfer.whole", Action{Value: valueSkip})})
	if form.Asked["changed"] {
		out.Choices = append(out.Choices, []Choice{
			choice("planedit.title.urgency", Action{Value: "step:" + stepUrgency}),
			choice("planedit.title.from", Action{Value: "step:" + stepFrom}),
			choice("planedit.title.why", Action{Value: "step:" + stepWhy}),
		})
	}
	out.Choices = append(out.Choices, leave(form))
	return out
}

func takePlanTransfer(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := left(*form, a); ok {
		return step, nil
	}
	for _, step := range []string{stepUrgency, stepFrom, stepWhy} {
		if a.value == "step:"+step {
			delete(form.Asked, step)
			return step, nil
		}
	}
	form.Plan.Transfer, form.Plan.Open, form.Plan.Range = "", nil, ""
	if a.value == valueSkip {
		return stepWhat, nil
	}
	from, to := care.ParseTransferKey(a.value)
	if a.typed != "" {
		r := f.Read(a.typed)
		from, to = r.From, r.To
	}
	if found := serving(form.Plan.Plan, from, to); len(found) == 1 && from != "" && to != "" {
		form.Plan.Transfer = found[0].t.Key()
		return stepWhat, nil
	}
	return "", complainChoose
}

// what lists what can be changed of a transfer, by step and by the key of its name.
var what = [][2]string{
	{"loops", "field.loops"}, {"sling", "field.sling"}, {"spare", "field.spare"}, {"legs", "field.leg_straps"},
	{"carers", "field.carers"}, {"hoist", "field.hoist"}, {"arms", "field.arms"}, {"brakes", "field.hoist_brakes"},
	{"cautions", "topic.cautions"},
}

var whatOfPlan = [][2]string{{"cautions", "topic.cautions"}, {"review.date", "field.next_review"}}

func whatOf(form Form) [][2]string {
	if form.Plan.Transfer == "" {
		return whatOfPlan
	}
	return what
}

func askWhat(form Form, f Facts) Say {
	out := planAsk(form, f, "", "form.what.change")
	var all []Choice
	for _, w := range whatOf(form) {
		all = append(all, choice(w[1], Action{Value: w[0]}))
	}
	out.Choices = append(rows(2, all...), []Choice{choice("planedit.transfer.other", Action{Value: "back:" + stepTransfer})}, leave(form))
	return out
}

func takeWhat(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := left(*form, a); ok {
		return step, nil
	}
	for _, w := range whatOf(*form) {
		if w[0] != a.value {
			continue
		}
		t := form.Plan.transfer()
		if t == nil {
			return a.value, nil
		}
		g, known := f.Site.Range(t.Range)
		switch {
		case (a.value == "loops" || a.value == "spare" || a.value == "legs") && !known:
			return "", &Words{Key: "planedit.sling.first"}
		case a.value == "loops" && g.Attachment == care.ClipAttachment:
			return "", &Words{Key: "loops.clips"}
		case a.value == "legs" && len(g.LegStraps) == 0:
			return "", &Words{Key: "planedit.legs.none"}
		case a.value == "loops" && len(loopPoints(g)) == 1:
			form.Plan.Loops = care.PointLoops{Point: loopPoints(g)[0]}
			return "loops.both", nil
		}
		return a.value, nil
	}
	return "", complainChoose
}

// nothingChanged reports whether a draft says what its source said.
func nothingChanged(form Form, f Facts) bool {
	source, ok := f.Records.Plan(form.Client, form.Plan.Source)
	return ok && form.Plan.Source == form.Plan.Based && samePlan(source, form.Plan.Plan)
}

// samePlan compares what two versions say; a list without entries says what none says.
func samePlan(a, b care.Plan) bool {
	return a.NextReview == b.NextReview && sameList(a.Cautions, b.Cautions) && slices.EqualFunc(a.Transfers, b.Transfers, sameTransfer)
}

func sameTransfer(a, b care.Transfer) bool {
	if !sameList(a.Loops, b.Loops) || !sameList(a.Cautions, b.Cautions) {
		return false
	}
	a.Loops, a.Cautions = b.Loops, b.Cautions
	return reflect.DeepEqual(a, b)
}

func sameList[T comparable](a, b []T) bool { return slices.Equal(a, b) }

// draftFindings are what the rules find against a transfer that a draft changes, as
// things are known today: nobody can know who will have washed what by Monday.
type draftFindings struct {
	t   care.Transfer
	all []rules.Finding
}

// foundIn gives the findings of the transfers that a draft changes: of all where it
// changes a caution of the whole plan.
func foundIn(form Form, f Facts) []draftFindings {
	c, _ := f.Site.Client(form.Client)
	p, at := published(form, f)
	old, had := f.Site.PlanAt(form.Client, at)
	if !had {
		old, _ = f.Records.Plan(form.Client, form.Plan.Source)
	}
	return foundBetween(f, c, old, p)
}

// published gives a draft as it would be published now, and when it would hold.
func published(form Form, f Facts) (care.Plan, time.Time) {
	p := form.Plan.clone().Plan
	at := form.Plan.From
	if at.Before(f.Now) {
		at = f.Now
	}
	p.Client, p.Version, p.From = form.Client, nextVersion(f, form.Client), at.UTC()
	p.Author, p.AuthorRole = f.Me.Name, string(care.Coordinator)
	p.Urgent, p.Draft, p.Stopped = form.Plan.Urgent, false, nil
	return p, at
}
