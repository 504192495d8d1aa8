package dialog

import (
	"strconv"
	"time"

	"samelift/internal/care"
	"samelift/internal/picture"
)

// Charts for coordinators:
//
//	/charts -> a client -> pain and mass over time, with the plan's changes
//	        -> [incidents] -> the weeks of the whole site, by kind
//	a client's card -> [charts] -> the same, for that client

// How far back charts look.
const (
	chartMonths = 6
	// mostMarks is how many plan changes a caption lists.
	mostMarks = 6
)

// charts offers whose course can be looked at.
func charts(f Facts, page int, turned bool) Say {
	out := say(line("charts.which"))
	mine := f.Site.ClientsOf(f.Me)
	first := min(max(page, 0)*pageSize, len(mine))
	last := min(first+pageSize, len(mine))
	for _, c := range mine[first:last] {
		out.Choices = append(out.Choices, []Choice{clientLabel(f.Site, c, Action{Do: "chart", Client: c.Ref})})
	}
	out.Choices = append(out.Choices, pages("charts", page, last < len(mine))...)
	out.Choices = append(out.Choices, []Choice{choice("charts.incidents", Action{Do: "chart.weeks"})})
	out.InPlace = turned
	return out
}

func today(f Facts) care.Date { return care.DateOf(f.Now.In(f.Site.Location())) }

// course shows pain and mass of a client over time with the plan's changes.
func course(f Facts, c care.Client) Say {
	zone := f.Site.Location()
	to := today(f)
	in := picture.TimeInput{From: to.AddMonths(-chartMonths), To: to}
	for _, p := range f.Records.Pains(c.Ref, care.Clock(0).On(in.From, zone)) {
		in.Pain = append(in.Pain, picture.Pain{On: care.DateOf(p.At.In(zone)), Value: p.Value})
	}
	for _, w := range f.Records.Weighings(c.Ref, in.From) {
		if !to.Before(w.On) {
			in.Mass = append(in.Mass, picture.Weighing{On: w.On, Mass: w.Mass})
		}
	}
	if p, ok := f.Site.PlanAt(c.Ref, f.Now); ok {
		for v := 1; v <= p.Version; v++ {
			old, ok := f.Records.Plan(c.Ref, v)
			if on := care.DateOf(old.From.In(zone)); ok && !on.Before(in.From) && !to.Before(on) &&
				(len(in.Plans) == 0 || !on.Before(in.Plans[len(in.Plans)-1].On)) {
				in.Plans = append(in.Plans, picture.PlanMark{On: on, Version: v})
			}
		}
	}
	out := say(clientLine(Strong, f.Site, c), strong("chart.course", "From", in.From, "To", in.To))
	caption := courseLines(in)
	out.Lines = append(append(out.Lines, caption...), small("chart.only_recorded"))
	out.Client = c.Ref
	out.Choices = rows(1,
		choice("charts.incidents", Action{Do: "chart.weeks"}),
		choice("card.button.plan", Action{Do: "client", Client: c.Ref}))
	d, err := picture.TimeChart(in)
	if err != nil || !wants(f) {
		return out
	}
	alt := []Words{words("picture.course")}
	for _, l := range caption {
		alt = append(alt, l.Words)
	}
	out.Picture = shown("time", in, d, alt)
	return out
}

func courseLines(in picture.TimeInput) []Line {
	var out []Line
	if n := len(in.Pain); n > 0 {
		last, most, least := in.Pain[n-1], in.Pain[0].Value, in.Pain[0].Value
		for _, p := range in.Pain {
			most, least = max(most, p.Value), min(least, p.Value)
		}
		out = append(out, line("chart.pain", "Answers", n, "Last", last.Value, "Date", last.On, "Most", most, "Least", least))
	} else {
		out = append(out, line("chart.pain.none"))
	}
	switch n := len(in.Mass); {
	case n > 1:
		out = append(out, line("chart.mass", "First", in.Mass[0].Mass, "From", in.Mass[0].On, "Last", in.Mass[n-1].Mass, "Date", in.Mass[n-1].On))
	case n == 1:
		out = append(out, line("mass", "Mass", in.Mass[0].Mass, "Date", in.Mass[0].On))
	default:
		out = append(out, line("chart.mass.none"))
	}
	marks := in.Plans
	if len(marks) > mostMarks {
		marks = marks[len(marks)-mostMarks:]
	}
	for _, p := range marks {
		out = append(out, line("chart.plan", "Version", p.Version, "Date", p.On))
	}
	return out
}

// weeks shows the incidents of the whole site, week by week, by kind.
func weeks(f Facts) Say {
	zone := f.Site.Location()
	to := today(f)
	// Weeks begin on Monday (ISO 8601).
	monday := to
	for care.Clock(0).On(monday, time.UTC).Weekday() != time.Monday {
		monday = monday.AddDays(-1)
	}
	n := picture.MostWeeks
	in := make([]picture.Week, n)
	for i := range in {
		in[i] = picture.Week{Start: monday.AddDays(-7 * (n - 1 - i)), Count: map[care.IncidentKind]int{}}
	}
	for _, h := range f.Records.Happened(care.Clock(0).On(in[0].Start, zone)) {
		if i := in[0].Start.DaysUntil(care.DateOf(h.At.In(zone))) / 7; i >= 0 && i < n {
			in[i].Count[h.Kind]++
		}
	}
	out := say(strong("chart.weeks", "From", in[0].Start, "To", to))
	out.Choices = rows(1, choice("charts.people", Action{Do: "charts"}))
	d, err := picture.WeekBars(in)
	if err != nil {
		out.Lines = append(out.Lines, line("chart.weeks.none"), small("chart.only_recorded"))
		return out
	}
	alt := []Words{words("picture.weeks")}
	for _, fact := range d.Alt {
		if fact.Key == picture.FactKind {
			l := line("chart.row", "Row", fact.N, "Kind", Term("incident.kind."+fact.Word), "Number", strconv.Itoa(int(fact.Value)))
			out.Lines = append(out.Lines, l)
			alt = append(alt, l.Words)
		}
	}
	for _, fact := range d.Alt {
		if fact.Key == picture.FactWeek {
			alt = append(alt, words("chart.week", "Date", fact.At, "Kind", Term("incident.kind."+fact.Word), "Number", strconv.Itoa(fact.N)))
		}
	}
	out.Lines = append(out.Lines, small("chart.only_recorded"))
	if wants(f) {
		out.Picture = shown("weeks", in, d, alt)
	}
	return out
}

// looked does what a coordinator's buttons about pictures meant.
func looked(f Facts, a Action) []Effect {
	switch a.Do {
	case "charts":
		return []Effect{charts(f, a.Page, a.Value == "page")}
	case "chart.weeks":
		return []Effect{weeks(f)}
	}
	c, ok := mayAnswer(f, a.Client)
	switch {
	case !ok:
		return []Effect{say(line("client.unknown"))}
	case a.Do == "posture":
		return postureShown(f, c, a.Transfer)
	}
	return []Effect{course(f, c)}
}
