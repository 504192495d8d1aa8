package picture

import (
	"math"
	"strconv"

	"samelift/internal/care"
)

// The facts of the charts.
const (
	// FactPain: on At the person's pain was N of Of; Value repeats it, so that a
	// pain of nought is told too.
	FactPain FactKey = "pain"
	// FactMass: on At the person weighed Word kilograms.
	FactMass FactKey = "mass"
	// FactPlan: from At plan version N holds.
	FactPlan FactKey = "plan"
	// FactKind: row N of the chart is the incidents of kind Word; Value is their sum.
	FactKind FactKey = "kind"
	// FactWeek: in the week from At there were N incidents of kind Word.
	FactWeek FactKey = "week"
)

// The bounds of a chart.
const (
	mostReadings = 2000
	mostVersions = 60
	// MostWeeks is how many weeks WeekBars has room for.
	MostWeeks = 26
	mostCount = 99
	heaviest  = 500 * care.Kilogram
)

// Pain is one answer on the numeric scale from 0 to 10.
type Pain struct {
	On    care.Date
	Value int
}

// Weighing is one weighing.
type Weighing struct {
	On   care.Date
	Mass care.Mass
}

// PlanMark is the day from which a plan version holds.
type PlanMark struct {
	On      care.Date
	Version int
}

// TimeInput is what TimeChart shows. Each list is in order of time; days may recur.
type TimeInput struct {
	From, To care.Date
	Pain     []Pain
	Mass     []Weighing
	Plans    []PlanMark
}

const (
	chartW     = 360.0
	chartLeft  = 56.0
	chartRight = chartW - 18
)

// TimeChart draws pain over mass over the same days, with a flag for each change
// of plan. A series without any reading is a question mark. The error is a
// *Refusal: NoData where neither series has a reading, BadData where days are out
// of order or outside the span, or a value is beyond all measure.
func TimeChart(in TimeInput) (Drawing, error) {
	if err := checkTime(in); err != nil {
		return Drawing{}, err
	}
	const height = 420.0
	s := newSheet(chartW, height)
	days := float64(max(1, in.From.DaysUntil(in.To)))
	x := func(d care.Date) float64 {
		return chartLeft + (chartRight-chartLeft)*float64(in.From.DaysUntil(d))/days
	}
	s.flags(in.Plans, x, 46, 380)

	pain := panel{top: 56, bottom: 196, lo: 0, hi: 10}
	s.panel(pain, []float64{0, 2, 4, 6, 8, 10})
	s.bolt(18, 126)
	var at []point
	for _, p := range in.Pain {
		at = append(at, point{x(p.On), pain.y(float64(p.Value))})
	}
	s.series(at, pain, false)

	lo, hi, step := massRange(in.Mass)
	mass := panel{top: 232, bottom: 372, lo: lo, hi: hi}
	var ticks []float64
	for v := lo; len(in.Mass) > 0 && v <= hi+step/2; v += step {
		ticks = append(ticks, v)
	}
	s.panel(mass, ticks)
	s.weight(18, 302)
	at = nil
	for _, m := range in.Mass {
		at = append(at, point{x(m.On), mass.y(float64(m.Mass) / float64(care.Kilogram))})
	}
	s.series(at, mass, true)

	half := in.From.AddDays(in.From.DaysUntil(in.To) / 2)
	s.dates(398, []care.Date{in.From, half, in.To}, []float64{x(in.From), x(half), x(in.To)})
	return s.done(timeFacts(in)), nil
}

func checkTime(in TimeInput) error {
	bad := &Refusal{Reason: BadData}
	if len(in.Pain) == 0 && len(in.Mass) == 0 {
		return &Refusal{Reason: NoData}
	}
	if in.From.IsZero() || in.To.IsZero() || in.To.Before(in.From) || in.From.DaysUntil(in.To) > 20*366 {
		return bad
	}
	if len(in.Pain) > mostReadings || len(in.Mass) > mostReadings || len(in.Plans) > mostVersions {
		return &Refusal{Reason: TooMany}
	}
	last := in.From
	next := func(d care.Date) bool {
		ok := !d.Before(last) && !in.To.Before(d)
		last = d
		return ok
	}
	for _, p := range in.Pain {
		if !next(p.On) || p.Value < 0 || p.Value > 10 {
			return bad
		}
	}
	last = in.From
	for _, m := range in.Mass {
		if !next(m.On) || m.Mass <= 0 || m.Mass > heaviest {
			return bad
		}
	}
	last = in.From
	for _, p := range in.Plans {
		if !next(p.On) || p.Version < 1 || p.Version > 9999 {
			return bad
		}
	}
	return nil
}

// massRange gives whole kilograms that hold all weighings with room to spare, and
// a step for four to eight lines.
func massRange(all []Weighing) (lo, hi, step float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, m := range all {
		kg := float64(m.Mass) / float64(care.Kilogram)
		lo, hi = min(lo, kg), max(hi, kg)
	}
	if len(all) == 0 {
		return 0, 1, 2
	}
	step = 1
	for _, next := range []float64{2, 5, 10, 20, 50, 100} {
		if (hi-lo)/step <= 5 {
			break
		}
		step = next
	}
	lo, hi = math.Floor(lo/step)*step, math.Ceil(hi/step)*step
	for hi-lo < 4*step {
		if lo >= step {
			lo -= step
		}
		hi += step
	}
	return lo, hi, step
}

// panel is one set of axes.
type panel struct{ top, bottom, lo, hi float64 }

func (p panel) y(v float64) float64 { return p.bottom - (p.bottom-p.top)*(v-p.lo)/(p.hi-p.lo) }

func (s *sheet) panel(p panel, ticks []float64) {
	for _, v := range ticks {
		y := p.y(v)
		if y < p.top-1 {
			continue
		}
		s.stroke(lines(chartLeft, y, chartRight, y), rgb(222, 222, 222), 1)
		s.right(strconv.FormatFloat(v, 'f', -1, 64), chartLeft-6, y, 13, dim)
	}
	s.stroke(lines(chartLeft, p.top, chartLeft, p.bottom, chartRight, p.bottom), ink, 1.5)
}

// right writes a text that ends at x.
func (s *sheet) right(text string, x, y, size float64, c rgba) {
	l, _ := letters(text)
	s.write(text, x-l.width*size/2, y, size, c)
}

// series joins readings; round dots for pain, square ones for mass.
func (s *sheet) series(at []point, p panel, square bool) {
	if len(at) == 0 {
		s.question((chartLeft+chartRight)/2, (p.top+p.bottom)/2, 22)
		return
	}
	line := lines(at[0].x, at[0].y)
	for _, q := range at[1:] {
		line.line(q.x, q.y)
	}
	if len(at) > 1 {
		s.stroke(line, ink, 2)
	}
	r := 4.5
	if len(at) > 60 {
		r = 2.5
	}
	for _, q := range at {
		dot := circle(q.x, q.y, r)
		if square {
			dot = rect(q.x-r, q.y-r, 2*r, 2*r, 0)
		}
		s.fill(dot, ink)
	}
}

// flags marks each change of plan by a dashed line with its version on a plate.
// Plates that would cover one another go up in turn.
func (s *sheet) flags(plans []PlanMark, x func(care.Date) float64, top, bottom float64) {
	last := [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, p := range plans {
		px := x(p.On)
		s.stroke(lines(px, top-8, px, bottom), dim, 1.5, 3, 4)
		text := strconv.Itoa(p.Version)
		l, _ := letters(text)
		w := max(20, l.width*14+10)
		cx := min(max(px, w/2+4), chartW-w/2-4)
		for row := range last {
			if cx-w/2 > last[row]+2 {
				y := top - 14 - float64(row)*20
				s.fill(rect(cx-w/2, y-9, w, 18, 4), ink)
				s.write(text, cx, y, 14, paper)
				last[row] = cx + w/2
				break
			}
		}
	}
}

// dates writes days beneath an axis, first, middle and last, with a tick at each.
// One that would cover another is left out, the last one never.
func (s *sheet) dates(y float64, days []care.Date, x []float64) {
	const size = 13
	l, _ := letters(days[0].String())
	half := l.width * size / 2
	place := func(i int) float64 { return min(max(x[i], half+8), chartW-half-8) }
	last := place(len(days) - 1)
	from := math.Inf(-1)
	for i, d := range days {
		at := place(i)
		if i+1 < len(days) && (at+2*half+6 > last || at < from) {
			continue
		}
		s.stroke(lines(x[i], y-20, x[i], y-13), ink, 1.5)
		s.write(d.String(), at, y, size, ink)
		from = at + 2*half + 6
	}
}

// bolt is the sign for pain.
func (s *sheet) bolt(x, y float64) {
	s.fill(polygon(x+3, y-15, x-8, y+3, x-1, y+3, x-4, y+15, x+8, y-4, x+1, y-4), ink)
}

// weight is the sign for mass: a weight with its ring.
func (s *sheet) weight(x, y float64) {
	s.stroke(circle(x, y-9, 4), ink, 2.5)
	s.fill(polygon(x-7, y-5, x+7, y-5, x+11, y+12, x-11, y+12), ink)
}

func timeFacts(in TimeInput) []Fact {
	var out []Fact
	for _, p := range in.Plans {
		out = append(out, Fact{Key: FactPlan, At: p.On, N: p.Version})
	}
	for _, p := range in.Pain {
		out = append(out, Fact{Key: FactPain, At: p.On, N: p.Value, Of: 10, Value: float64(p.Value)})
	}
	for _, m := range in.Mass {
		out = append(out, Fact{Key: FactMass, At: m.On, Word: m.Mass.Kilograms(), Value: float64(m.Mass) / float64(care.Kilogram)})
	}
	return out
}

// Week counts the incidents of one week.
type Week struct {
	// Start is the week's first day.
	Start care.Date
	Count map[care.IncidentKind]int
}

// WeekBars draws the incidents of each week, a row of bars for each kind that
// occurred, each bar with its count. Rows are numbered; the facts say which kind
// each is. Weeks follow one another without a gap. The error is a *Refusal: NoData
// without weeks or incidents, TooMany, or BadData.
func WeekBars(weeks []Week) (Drawing, error) {
	kinds, most, err := checkWeeks(weeks)
	if err != nil {
		return Drawing{}, err
	}
	const rowH, first = 54.0, 12.0
	s := newSheet(chartW, first+rowH*float64(len(kinds))+40)
	var out []Fact
	pitch := (chartRight - chartLeft + 10) / float64(len(weeks))
	column := func(j int) float64 { return chartLeft - 8 + pitch*(float64(j)+0.5) }
	for i, k := range kinds {
		base := first + rowH*float64(i+1)
		s.stroke(lines(chartLeft-12, base, chartRight, base), ink, 1.5)
		s.fill(circle(24, base-14, 13), ink)
		s.write(strconv.Itoa(i+1), 24, base-14, 17, paper)
		fact := Fact{Key: FactKind, N: i + 1, Word: string(k)}
		at := len(out)
		out = append(out, fact)
		for j, w := range weeks {
			n := w.Count[k]
			if n == 0 {
				continue
			}
			h := (rowH - 22) * float64(n) / float64(most)
			bw := min(pitch*0.76, 26)
			x := column(j)
			s.fill(rect(x-bw/2, base-h, bw, h, 0), cloth2)
			s.stroke(lines(x-bw/2, base, x-bw/2, base-h, x+bw/2, base-h, x+bw/2, base), ink, 1.2)
			text := strconv.Itoa(n)
			l, _ := letters(text)
			s.write(text, x, base-h-8, min(13, pitch*0.95/l.width), ink)
			out[at].Value += float64(n)
			out = append(out, Fact{Key: FactWeek, At: w.Start, N: n, Word: string(k)})
		}
	}
	foot := first + rowH*float64(len(kinds))
	for j := range weeks {
		s.stroke(lines(column(j), foot+3, column(j), foot+8), dim, 1.2)
	}
	s.dates(foot+24, []care.Date{weeks[0].Start, weeks[len(weeks)/2].Start, weeks[len(weeks)-1].Start},
		[]float64{column(0), column(len(weeks) / 2), column(len(weeks) - 1)})
	return s.done(out), nil
}

func checkWeeks(weeks []Week) (kinds []care.IncidentKind, most int, err error) {
	if len(weeks) > MostWeeks {
		return nil, 0, &Refusal{Reason: TooMany}
	}
	known := map[care.IncidentKind]int{}
	for _, k := range care.IncidentKinds {
		known[k] = 0
	}
	for i, w := range weeks {
		if w.Start.IsZero() || i > 0 && weeks[i-1].Start.AddDays(7) != w.Start {
			return nil, 0, &Refusal{Reason: BadData}
		}
		for k, n := range w.Count {
			if _, ok := known[k]; !ok || n < 0 {
				return nil, 0, &Refusal{Reason: BadData}
			}
			if n > mostCount {
				return nil, 0, &Refusal{Reason: TooMany}
			}
			known[k] += n
			most = max(most, n)
		}
	}
	for _, k := range care.IncidentKinds {
		if known[k] > 0 {
			kinds = append(kinds, k)
		}
	}
	if len(kinds) == 0 {
		return nil, 0, &Refusal{Reason: NoData}
	}
	return kinds, most, nil
}
