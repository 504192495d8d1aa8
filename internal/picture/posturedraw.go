package picture

import (
	"math"
	"strconv"

	"samelift/internal/care"
)

// The facts of a posture picture. Each angle is an estimate.
const (
	// FactBack, FactHips and FactKnees: Value is an angle of Hang in degrees.
	FactBack  FactKey = "back"
	FactHips  FactKey = "hips"
	FactKnees FactKey = "knees"
	// FactClear: Value is the space between bar and head in millimetres.
	FactClear FactKey = "clear"
	// FactSlack: the strap at Point carries nothing.
	FactSlack FactKey = "slack"
	// FactAssumed: Word is an Assumption.
	FactAssumed FactKey = "assumed"
)

const (
	postureW   = 360.0
	postureH   = 420.0
	postureRim = 26.0
	// leanR and hipR are the radii of the arcs that show the two angles.
	leanR, hipR = 112.0, 50.0
)

// PostureDrawing draws how a person hangs, from their right side, with the leaning
// of the trunk and the angle at the hips.
func PostureDrawing(h Hang) Drawing {
	v := newView(h)
	s := newSheet(postureW, postureH)
	// Upright through the hips, against which the leaning is read.
	hip := v.at(h.hip)
	up := max(hip.y-leanR-20, 20)
	s.stroke(lines(hip.x, hip.y, hip.x, up), dim, 2, 5, 6)

	limb := func(a, b point, widthMM float64) {
		p, q := v.at(a), v.at(b)
		w := widthMM * v.scale
		s.stroke(lines(p.x, p.y, q.x, q.y), dim, w+3)
		s.stroke(lines(p.x, p.y, q.x, q.y), skin, w)
	}
	k := h.vertex.sub(h.hip).len() / 850 // a body of the table's stature is 850 from hip to vertex
	toe := h.foot.add(point{150 * k, -10 * k})
	limb(h.foot, toe, 50*k)
	limb(h.knee, h.foot, 85*k)
	limb(h.hip, h.knee, 130*k)
	limb(h.hip, h.hip.to(h.shoulder, 0.93), 170*k)
	limb(h.shoulder, h.head, 80*k)
	c := v.at(h.head)
	r := h.headRadius * v.scale
	s.shape(ellipse(c.x, c.y, r*0.95, r*1.05), skin, dim, 1.6)
	// A nose tells which way the person looks: along the front of the trunk.
	front := point{h.vertex.y - h.hip.y, h.hip.x - h.vertex.x}
	front = front.times(1 / front.len())
	nose := v.at(h.head.add(front.times(h.headRadius * 1.2)))
	a, b := v.at(h.head.add(front.times(h.headRadius*0.9)).add(h.vertex.sub(h.hip).times(0.03))), v.at(h.head.add(front.times(h.headRadius*0.9)).add(h.vertex.sub(h.hip).times(-0.03)))
	s.stroke(lines(a.x, a.y, nose.x, nose.y, b.x, b.y), dim, 1.8)
	eye := v.at(h.head.add(front.times(h.headRadius * 0.5)).add(h.vertex.sub(h.hip).times(0.025)))
	s.fill(circle(eye.x, eye.y, 2.2), dim)
	// An arm across the lap.
	elbow := h.hip.to(h.shoulder, 0.45)
	hand := elbow.add(front.times(230 * k))
	limb(h.hip.to(h.shoulder, 0.92), elbow, 60*k)
	limb(elbow, hand, 50*k)

	s.cloth(h, v, k)
	for _, x := range h.straps {
		p, q := v.at(x.hook), v.at(x.end)
		if !h.slack(x.at) {
			s.band(lines(p.x, p.y, q.x, q.y), cloth2, 4)
			continue
		}
		s.band(curved(p.x, p.y, p.x+14, p.y+30, q.x+14, q.y-10, q.x, q.y), cloth2, 4, 4, 6)
	}
	s.bar(h, v)
	s.angles(h, v)
	if h.Clear < 0 {
		s.clash(v.at(h.head))
	}
	return s.done(postureFacts(h))
}

func (h Hang) slack(p care.Point) bool {
	for _, x := range h.Slack {
		if x == p {
			return true
		}
	}
	return false
}

// view turns millimetres from the bar, forward and up, into places on the sheet.
type view struct {
	scale  float64
	origin point
}

func (v view) at(p point) point { return point{v.origin.x + p.x*v.scale, v.origin.y - p.y*v.scale} }

func newView(h Hang) view {
	lo, hi := point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	see := func(p point, r float64) {
		lo = point{min(lo.x, p.x-r), min(lo.y, p.y-r)}
		hi = point{max(hi.x, p.x+r), max(hi.y, p.y+r)}
	}
	see(point{0, 60}, 60)
	see(h.head, h.headRadius*1.2)
	see(h.hip, 110)
	see(h.knee, 80)
	see(h.foot, 60)
	see(h.foot.add(point{150, 0}), 40)
	for _, x := range h.straps {
		see(x.hook, 30)
		see(x.end, 20)
	}
	v := view{scale: min((postureW-2*postureRim)/(hi.x-lo.x), (postureH-2*postureRim)/(hi.y-lo.y))}
	v.origin = point{
		postureW/2 - (lo.x+hi.x)/2*v.scale,
		postureH/2 + (lo.y+hi.y)/2*v.scale,
	}
	return v
}

// cloth lies along the back and under the thighs.
func (s *sheet) cloth(h Hang, v view, k float64) {
	trunk := h.shoulder.sub(h.hip)
	trunk = trunk.times(1 / trunk.len())
	thigh := h.knee.sub(h.hip)
	thigh = thigh.times(1 / thigh.len())
	back := point{-trunk.y, trunk.x}
	under := point{thigh.y, -thigh.x}
	var leg point
	for _, x := range h.straps {
		if x.onThigh {
			leg = x.end
		}
	}
	top := v.at(h.shoulder.add(back.times(88 * k)))
	seat1 := v.at(h.hip.add(back.times(95 * k)))
	seat2 := v.at(h.hip.add(back.add(under).times(85 * k)))
	seat3 := v.at(h.hip.add(under.times(80 * k)))
	end := v.at(leg.add(under.times(62 * k)))
	p := lines(top.x, top.y, seat1.x, seat1.y)
	p.curve(seat2.x, seat2.y, seat2.x, seat2.y, seat3.x, seat3.y)
	p.line(end.x, end.y)
	s.band(p, cloth2, 4)
	// The strap leaves the cloth and comes round the body to its place.
	at := v.at(h.shoulder)
	s.band(lines(top.x, top.y, at.x, at.y), cloth2, 4)
	at = v.at(leg)
	s.band(lines(end.x, end.y, at.x, at.y), cloth2, 4)
}

func (s *sheet) bar(h Hang, v view) {
	from, to := math.Inf(1), math.Inf(-1)
	for _, x := range h.straps {
		from, to = min(from, x.hook.x), max(to, x.hook.x)
	}
	a, b := v.at(point{from, 0}), v.at(point{to, 0})
	m := v.at(point{0, 90})
	s.stroke(lines(v.at(point{}).x, a.y, m.x, m.y), ink, 6)
	s.stroke(lines(a.x-5, a.y, b.x+5, b.y), ink, 9)
}

// angles draws the two arcs with their figures. The sign before them says "about".
func (s *sheet) angles(h Hang, v view) {
	hip := v.at(h.hip)
	// Angles on the sheet, from the right and downward.
	dir := func(p point) float64 { q := v.at(p); return math.Atan2(q.y-hip.y, q.x-hip.x) }
	trunk, thigh := dir(h.shoulder), dir(h.knee)
	s.stroke(arc(hip, leanR, -math.Pi/2, trunk), ink, 2.5)
	s.stroke(arc(hip, hipR, trunk, thigh), ink, 2.5)
	figure := func(x, y, value float64) {
		x, y = min(max(x, 34), postureW-34), min(max(y, 18), postureH-18)
		text := "≈" + strconv.Itoa(int(math.Round(value))) + "°"
		s.shape(rect(x-31, y-14, 62, 28, 8), paper, ink, 1.5)
		s.write(text, x, y, 20, ink)
	}
	figure(hip.x, hip.y-leanR-30, h.Back)
	sin, cos := math.Sincos((trunk + thigh) / 2)
	figure(hip.x+(hipR+36)*cos+12, hip.y+(hipR+36)*sin+6, h.Hips)
}

// arc is part of a circle as short straight pieces.
func arc(c point, r, from, to float64) path {
	const n = 24
	var p path
	for i := 0; i <= n; i++ {
		sin, cos := math.Sincos(from + (to-from)*float64(i)/n)
		if i == 0 {
			p.move(c.x+r*cos, c.y+r*sin)
			continue
		}
		p.line(c.x+r*cos, c.y+r*sin)
	}
	return p
}

// clash marks the head that the bar would strike.
func (s *sheet) clash(at point) {
	s.stroke(circle(at.x, at.y, 26), paper, 8)
	s.stroke(circle(at.x, at.y, 26), signal, 5)
	s.stroke(lines(at.x-18, at.y-18, at.x+18, at.y+18), signal, 5)
	s.stroke(lines(at.x+18, at.y-18, at.x-18, at.y+18), signal, 5)
}

func postureFacts(h Hang) []Fact {
	out := []Fact{
		{Key: FactBack, Value: h.Back}, {Key: FactHips, Value: h.Hips},
		{Key: FactKnees, Value: h.Knees}, {Key: FactClear, Value: h.Clear},
	}
	for _, p := range h.Slack {
		out = append(out, Fact{Key: FactSlack, Point: p})
	}
	for _, a := range h.Assumed {
		out = append(out, Fact{Key: FactAssumed, Word: string(a)})
	}
	return out
}
