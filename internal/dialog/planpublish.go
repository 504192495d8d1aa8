package dialog

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"samelift/internal/care"
	"samelift/internal/rules"
)

func askUrgency(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.urgency.ask")
	out.Choices = rows(1, choice("planedit.urgent", Action{Value: "urgent"}), choice("planedit.ordinary", Action{Value: "ordinary"}), backTo(stepWhat))
	return out
}

func takeUrgency(form *Form, _ Facts, a answer) (string, *Words) {
	switch a.value {
	case "urgent", "ordinary":
		form.Plan.Urgent = a.value == "urgent"
		form.Asked[stepUrgency] = true
		return goOn(*form), nil
	}
	if step, ok := backed(a); ok {
		return step, nil
	}
	return "", complainChoose
}

// askFrom offers now and the next start of each shift; any other time is typed.
func askFrom(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.from.ask", small("planedit.from.type"))
	out.Choices = rows(1, choice("planedit.from.now", Action{Value: "now"}))
	var starts []time.Time
	for _, s := range f.Site.Shifts {
		starts = append(starts, s.NextStart(f.Now, f.Site.Location()))
	}
	slices.SortFunc(starts, time.Time.Compare)
	for i, t := range slices.CompactFunc(starts, time.Time.Equal) {
		if i < 4 {
			out.Choices = append(out.Choices, []Choice{choice("planedit.date", Action{Value: t.UTC().Format(time.RFC3339)}, "Date", t)})
		}
	}
	out.Choices = append(out.Choices, []Choice{backTo(stepUrgency)})
	return out
}

// takeFrom reads a time by the clock on the wall of the site. One that the clock skips
// is refused; of one that it shows twice the coordinator says which is meant.
func takeFrom(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	d := form.Plan
	d.Second = false
	if a.value == "now" {
		d.From = time.Time{}
		form.Asked[stepFrom] = true
		return goOn(*form), nil
	}
	if t, err := time.Parse(time.RFC3339, a.value); err == nil {
		return takeInstant(form, f, t)
	}
	zone := f.Site.Location()
	day, clock, ok := parseWall(a.value + a.typed)
	if !ok {
		return "", &Words{Key: "planedit.from.type"}
	}
	t, exists := clock.Wall(day, zone)
	if !exists {
		return "", &Words{Key: "planedit.from.skipped", Args: Args{"Clock": clock, "Date": day}}
	}
	if again, twice := secondReading(t, day, clock, zone); twice && again.After(f.Now) && t.After(f.Now) {
		d.Wall = day.String() + " " + clock.String()
		return stepTwice, nil
	} else if twice && again.After(f.Now) {
		t, d.Second = again, true
	}
	return takeInstant(form, f, t)
}

func takeInstant(form *Form, f Facts, t time.Time) (string, *Words) {
	switch {
	case t.Before(f.Now):
		return "", &Words{Key: "planedit.from.past"}
	case t.After(f.Now.AddDate(1, 0, 0)):
		return "", &Words{Key: "planedit.date.far"}
	}
	form.Plan.From = t.UTC()
	form.Asked[stepFrom] = true
	return goOn(*form), nil
}

// parseWall reads a day and a time as in 2026-11-02 07:00, in the digits of any script.
func parseWall(s string) (care.Date, care.Clock, bool) {
	day, clock, ok := strings.Cut(strings.Replace(plainDigits(strings.TrimSpace(s)), "T", " ", 1), " ")
	if !ok {
		return care.Date{}, 0, false
	}
	d, err := care.ParseDate(strings.TrimSpace(day))
	if err != nil {
		return care.Date{}, 0, false
	}
	c, err := care.ParseClock(strings.TrimSpace(clock))
	return d, c, err == nil
}

// secondReading gives the later instant at which the wall shows the same time again.
// Clocks are put back by at most two hours, in half hours (the time zone database).
func secondReading(first time.Time, d care.Date, c care.Clock, zone *time.Location) (time.Time, bool) {
	for _, step := range []time.Duration{30 * time.Minute, time.Hour, 90 * time.Minute, 2 * time.Hour} {
		t := first.Add(step).In(zone)
		if care.DateOf(t) == d && t.Hour()*60+t.Minute() == int(c) {
			return t, true
		}
	}
	return time.Time{}, false
}

func askTwice(form Form, f Facts) Say {
	day, clock, _ := parseWall(form.Plan.Wall)
	out := planAsk(form, f, "", "planedit.from.twice", line("planedit.from.twice.when", "Clock", clock, "Date", day))
	out.Choices = rows(1, choice("planedit.from.first", Action{Value: "first"}), choice("planedit.from.second", Action{Value: "second"}), backTo(stepFrom))
	return out
}

func takeTwice(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	day, clock, ok := parseWall(form.Plan.Wall)
	if !ok || a.value != "first" && a.value != "second" {
		return "", complainChoose
	}
	zone := f.Site.Location()
	t, _ := clock.Wall(day, zone)
	if a.value == "second" {
		t, _ = secondReading(t, day, clock, zone)
	}
	form.Plan.Second, form.Plan.Wall = a.value == "second", ""
	return takeInstant(form, f, t)
}

func askWhy(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.why.ask", small("form.type.it"))
	out.Choices = rows(1, backTo(stepFrom))
	return out
}

func takeWhy(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	if complaint := planWords(&form.Plan.Plan.Reason, f, a); complaint != nil {
		return "", complaint
	}
	form.Asked[stepWhy] = true
	return goOn(*form), nil
}

// blocked sorts the stops against a draft: those that nobody may decide, those that a
// named assessor may, and those that one has decided.
func blocked(p care.Plan, all []draftFindings) (never, open, decided []decision) {
	for _, d := range all {
		for _, x := range d.all {
			_, done := rules.DecisionOn(p, d.t, x)
			switch {
			case done && rules.MayDecide(x.Key):
				decided = append(decided, decision{d.t, x})
			case x.Severity != rules.Stop:
			case rules.Decidable(x):
				open = append(open, decision{d.t, x})
			default:
				never = append(never, decision{d.t, x})
			}
		}
	}
	return never, open, decided
}

type decision struct {
	t care.Transfer
	x rules.Finding
}

// stillMeant keeps the decisions that are about something the rules find today. Those
// about transfers that the draft leaves alone stay as they are.
func stillMeant(p care.Plan, all []draftFindings) []care.Decision {
	var out []care.Decision
	for _, d := range p.Decisions {
		keep := true
		for _, a := range all {
			if a.t.Key() == d.Transfer {
				keep = slices.ContainsFunc(a.all, func(x rules.Finding) bool { return x.Key == d.Finding && rules.About(x) == d.About })
			}
		}
		if _, there := p.Transfer(d.Transfer); keep && there {
			out = append(out, d)
		}
	}
	return out
}

// askPlanReview shows all of a change before it is published: old beside new, what the
// rules find, and who will be told.
func askPlanReview(form Form, f Facts) Say {
	c, _ := f.Site.Client(form.Client)
	p, at := published(form, f)
	all := foundIn(form, f)
	old, had := f.Site.PlanAt(form.Client, at)
	if !had {
		old, _ = f.Records.Plan(form.Client, form.Plan.Source)
	}
	out := say(strong("planedit.review"), clientLine(Strong, f.Site, c),
		line("planedit.versions", "Version", p.Version, "Source", form.Plan.Source))
	if form.Plan.From.After(f.Now) {
		out.Lines = append(out.Lines, line("planedit.starts", "From", at))
		if form.Plan.Second {
			out.Lines = append(out.Lines, line("planedit.starts.second"))
		}
	} else {
		out.Lines = append(out.Lines, line("planedit.starts.now"))
	}
	out.Lines = append(out.Lines, line("planedit.told."+urgency(form)), line("plan.reason"))
	out.Lines = append(out.Lines, own(p.Reason)...)
	if now, ok := f.Site.PlanOnRecord(form.Client, at); ok && now.Stopped != nil {
		out.Lines = append(out.Lines, warn("planedit.lifts."+string(now.Stopped.Act)))
	}
	for _, later := range f.Site.Plans {
		if later.Client == form.Client && later.From.After(at) {
			out.Lines = append(out.Lines, warn("planedit.replaces.later", "Version", later.Version, "From", later.From))
		}
	}
	out.Client = c.Ref
	if nothingChanged(form, f) {
		out.Lines = append(out.Lines, strong("planedit.nothing"))
		out.Choices = rows(1, choice("planedit.more", Action{Value: "more"}), choice("form.cancel", Action{Value: "cancel"}))
		return out
	}
	out.Lines = append(out.Lines, Differences(f, c, old, p)...)
	never, open, decided := blocked(p, all)
	out.Lines = append(out.Lines, findingsOf(p, all)...)
	out.Lines = append(out.Lines, hangsOf(f, all)...)
	for _, d := range all {
		if was, ok := old.Transfer(d.t.Key()); !ok || was.Carers != d.t.Carers {
			out.Lines = append(out.Lines, shortShifts(view{f: f, client: c, t: d.t})...)
		}
	}
	if len(decided) > 0 {
		out.Lines = append(out.Lines, decisionLines(p, decided)...)
	}
	var row []Choice
	switch {
	case len(never) > 0:
		out.Lines = append(out.Lines, warn("planedit.blocked"))
	case len(open) > 0:
		key := "planedit.blocked.assessor.lifts"
		if slices.ContainsFunc(open, func(d decision) bool { return !rules.Lifts(d.x) }) {
			key = "planedit.blocked.assessor"
		}
		out.Lines = append(out.Lines, warn(key))
		row = append(row, choice("planedit.decide", Action{Value: "decide"}))
	default:
		out.Lines = append(out.Lines, audience(form.Client, f)...)
		row = append(row, choice("planedit.publish", Action{Value: "publish"}))
	}
	out.Choices = rows(1, append(row, choice("planedit.more", Action{Value: "more"}), choice("form.cancel", Action{Value: "cancel"}))...)
	return out
}

func urgency(form Form) string {
	if form.Plan.Urgent {
		return "urgent"
	}
	return "ordinary"
}

// findingsOf shows the stops and cautions of each changed transfer.
func findingsOf(p care.Plan, all []draftFindings) []Line {
	var out []Line
	for _, d := range all {
		var lines []Line
		for _, x := range d.all {
			if _, done := rules.DecisionOn(p, d.t, x); done || x.Severity == rules.Advice {
				continue // what is decided is shown with its decision
			}
			l := findingLine(x)
			if x.Severity == rules.Stop {
				l.Style = Warn
			}
			lines = append(lines, l)
		}
		if len(lines) > 0 {
			out = append(append(out, strong("planedit.findings", "From", place(d.t.From), "To", place(d.t.To))), lines...)
		}
	}
	if _, _, decided := blocked(p, all); len(out)+len(decided) == 0 {
		out = []Line{line("planedit.findings.none")}
	}
	return out
}

// decisionLines shows what assessors have decided, in their own words and by name.
func decisionLines(p care.Plan, all []decision) []Line {
	var out []Line
	for _, a := range all {
		d, _ := rules.DecisionOn(p, a.t, a.x)
		l := findingLine(a.x)
		l.Style = Plain
		out = append(append(out, strong("planedit.decided", "Name", d.Assessor), l), own(d.Reason)...)
	}
	return out
}

// shownNames is how many people are named before the rest is counted.
const shownNames = 10

// audience says who will be told, and whom the bot cannot tell.
func audience(client string, f Facts) []Line {
	var told, not []string
	for _, p := range f.Site.CarersOf(client) {
		if f.Records.Joined(p.Ref) {
			told = append(told, p.Name)
		} else {
			not = append(not, p.Name)
		}
	}
	names := func(all []string) string {
		s := strings.Join(all[:min(len(all), shownNames)], ", ")
		if len(all) > shownNames {
			s += fmt.Sprintf(" + %d", len(all)-shownNames)
		}
		return s
	}
	if len(told) == 0 && len(not) == 0 {
		return []Line{warn("planedit.told.nobody")}
	}
	var out []Line
	if len(told) > 0 {
		out = append(out, line("planedit.told", "Number", len(told), "Names", names(told)))
	}
	if len(not) > 0 {
		out = append(out, warn("planedit.told.not", "Number", len(not), "Names", names(not)))
	}
	return out
}

func takePlanReview(form *Form, f Facts, a answer) (string, *Words) {
	switch a.value {
	case "more":
		return stepTransfer, nil
	case "decide":
		p, _ := published(*form, f)
		if never, open, _ := blocked(p, foundIn(*form, f)); len(never) == 0 && len(open) > 0 {
			return "decide.assessor", nil
		}
		return stepReview, nil
	}
	return "", complainChoose
}

func takeDecideAssessor(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	return "decide.why", planName(&form.Plan.Assessor, a)
}

func askDecideWhy(form Form, f Facts) Say {
	out := planAsk(form, f, "", "planedit.decide.why", small("form.type.it"))
	p, _ := published(form, f)
	_, open, _ := blocked(p, foundIn(form, f))
	for _, d := range open {
		out.Lines = append(out.Lines, findingLine(d.x))
	}
	out.Choices = rows(1, backTo(stepReview))
	return out
}

// takeDecideWhy keeps what the assessor decided, for each stop that stands open now.
func takeDecideWhy(form *Form, f Facts, a answer) (string, *Words) {
	if step, ok := backed(a); ok {
		return step, nil
	}
	var reason care.Text
	if complaint := planWords(&reason, f, a); complaint != nil {
		return "", complaint
	}
	p, _ := published(*form, f)
	_, open, _ := blocked(p, foundIn(*form, f))
	for _, d := range open {
		form.Plan.Plan.Decisions = append(form.Plan.Plan.Decisions, care.Decision{
			Finding: d.x.Key, About: rules.About(d.x), Transfer: d.t.Key(), Reason: reason, Assessor: form.Plan.Assessor,
		})
	}
	form.Plan.Assessor = ""
	return stepReview, nil
}

// publishEdit looks at everything once more, as it is at this instant, and publishes.
func publishEdit(s State, f Facts, form Form) (State, []Effect) {
	p, _ := published(form, f)
	all := foundIn(form, f)
	never, open, _ := blocked(p, all)
	if len(never)+len(open) > 0 || nothingChanged(form, f) || p.Reason.IsZero() || !form.Asked[stepUrgency] || !form.Asked[stepFrom] {
		form.Step = stepReview
		s.Form = &form
		return prompt(s, f, false)
	}
	p.Decisions = stillMeant(p, all)
	s.Form = nil
	c, _ := f.Site.Client(form.Client)
	out := say(strong("planedit.published", "Version", p.Version), clientLine(Plain, f.Site, c))
	out.Lines = append(out.Lines, audience(form.Client, f)...)
	out.InPlace, out.Client, out.PlanVersion = true, c.Ref, p.Version
	out.Choices = rows(1, choice("planedit.who", Action{Do: "change", Ref: fmt.Sprintf("%s-%d", c.Ref, p.Version)}))
	return s, []Effect{out, PublishPlan{Plan: p, Based: form.Plan.Based, Urgent: form.Plan.Urgent}}
}

// askStale shows what another has published since the change was begun.
func askStale(form Form, f Facts) Say {
	c, _ := f.Site.Client(form.Client)
	newest, ok := newestPlan(f.Site, form.Client)
	if !ok {
		out := say(warn("plan.none"), clientLine(Strong, f.Site, c))
		out.Choices = rows(1, choice("form.cancel", Action{Value: "cancel"}))
		return out
	}
	source, _ := f.Records.Plan(form.Client, form.Plan.Source)
	out := say(warn("planedit.stale"), clientLine(Strong, f.Site, c), line("planedit.stale.version", "Version", newest.Version, "From", newest.From))
	out.Lines = append(out.Lines, authorLines(newest)...)
	if !newest.Reason.IsZero() {
		out.Lines = append(append(out.Lines, line("plan.reason")), own(newest.Reason)...)
	}
	out.Lines = append(out.Lines, Differences(f, c, source, newest)...)
	if !samePlan(source, form.Plan.Plan) {
		out.Lines = append(append(out.Lines, strong("planedit.stale.yours")), Differences(f, c, source, form.Plan.Plan)...)
	}
	out.Client = c.Ref
	out.Choices = rows(1, choice("planedit.again", Action{Value: "again"}, "Version", newest.Version), choice("form.cancel", Action{Value: "cancel"}))
	return out
}

func takeStale(form *Form, f Facts, a answer) (string, *Words) {
	newest, ok := newestPlan(f.Site, form.Client)
	if a.value != "again" || !ok {
		return "", complainChoose
	}
	begin(form, newest, newest.Version)
	return stepTransfer, nil
}

// authorLines names who wrote a version.
func authorLines(p care.Plan) []Line {
	switch {
	case p.AuthorRole == "":
		return nil
	case p.Author == "":
		return []Line{line("plan.author", "Role", roleOf(p))}
	}
	return []Line{line("planedit.author", "Role", roleOf(p), "Name", p.Author)}
}

// roleOf gives the author's role: in the reader's words where it is one of ours, and in
// the author's own otherwise.
func roleOf(p care.Plan) any {
	if r, ok := oneOf(care.Roles, p.AuthorRole); ok {
		return Term("role." + string(r))
	}
	return p.AuthorRole
}

// decidedOn shows on a card what an assessor has decided about what the rules find.
func decidedOn(v view, all []rules.Finding) []Line {
	_, _, decided := blocked(v.plan, []draftFindings{{v.t, all}})
	return decisionLines(v.plan, decided)
}
