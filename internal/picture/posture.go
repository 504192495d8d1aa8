package picture

import (
	"math"

	"samelift/internal/care"
)

// PostureInput is what decides how a person hangs. Lengths are in millimetres.
type PostureInput struct {
	Sex Sex
	// Stature is the person's height, zero if unknown.
	Stature float64
	// Shoulder, Hip and Leg are the strap lengths to the loops taken, from the edge
	// of the sling, such as care.Loop.Length. The edge is taken to lie at the
	// shoulder joint, at the hips, and on the thigh where the leg piece ends. Hip is
	// zero for a sling of four points.
	Shoulder, Hip, Leg float64
	// Bar says where each strap hangs on the bar.
	Bar Bar
	// HipLeast is the smallest angle in degrees between trunk and thighs to which
	// the person's hips fold, 180 being straight; zero if unknown.
	HipLeast float64
}

// Bar gives how far forward of the bar's middle each strap's hook lies, in
// millimetres; behind it is negative. A bar of two hooks, seen from the side, has
// zero throughout. The bar is taken as held level.
type Bar struct{ Shoulder, Hip, Leg float64 }

// usualHipLeast is the fold taken where the person's own is unknown: a bend of
// 110 degrees, somewhat less than textbooks give for healthy adults. From memory,
// unverified.
const usualHipLeast = 70.0

// straightest is the widest angle at the hip that is looked at.
const straightest = 175.0

// The trunk is looked for between these leanings, in degrees back from upright.
const (
	mostForward = -40.0
	mostBack    = 100.0
)

// shortOfKnee is how far short of the back of the knee a leg piece ends:
// handbook of the project 3.2, seen in a maker's leaflet, for a person of mean
// stature.
const shortOfKnee = 50.0

// Assumption is a value that nobody stated and the reckoning had to take.
type Assumption string

// The assumptions.
const (
	MeanSex     Assumption = "mean_sex"
	MeanStature Assumption = "mean_stature"
	UsualHips   Assumption = "usual_hips"
)

// Hang is how a person hangs at rest, an estimate that somebody must assess in
// person. Angles are in degrees, lengths in millimetres.
type Hang struct {
	// Back is how far the trunk leans back from upright.
	Back float64
	// Hips is the angle between trunk and thighs, 180 being straight.
	Hips float64
	// Knees is how far the thighs point up from level.
	Knees float64
	// Clear is the space between the bar and the head, below zero where they meet.
	Clear float64
	// Slack lists the points whose straps carry nothing.
	Slack []care.Point
	// Assumed lists what nobody stated.
	Assumed []Assumption

	// The places of the picture, forward and up from the bar's middle.
	hip, shoulder, head, vertex, knee, foot point
	headRadius                              float64
	straps                                  []strap
}

// strap is one strap in the side view: its hook, the radius it allows, and where
// it meets the body.
type strap struct {
	at     care.Point
	hook   point
	length float64
	// along and onThigh give its place on the body, from the hips.
	along   float64
	onThigh bool
	end     point
}

// Posture reckons how a person hangs. The body is two stiff bars that meet at the
// hips, with the masses of de Leva 1996, hung by straps that bend freely and do
// not stretch; it comes to rest where its centre of mass is lowest. The mass of
// the person does not matter to the answer. Arms lie across the trunk and shanks
// hang from the knees.
//
// The error is a *Refusal: BadLength, BadAngle, NoReach where the straps are too
// short for the body, or NoRest where they hold nobody between leaning 40 degrees
// forward and lying flat, or a shoulder or leg strap would carry nothing.
func Posture(in PostureInput) (Hang, error) {
	s, err := hanging(in)
	if err != nil {
		return Hang{}, err
	}
	back, hips, err := s.rest()
	if err != nil {
		return Hang{}, err
	}
	h := s.hang(back, hips)
	for _, p := range h.Slack {
		if p != care.HipPoint {
			return Hang{}, &Refusal{Reason: NoRest, Point: p}
		}
	}
	if in.Sex != Female && in.Sex != Male {
		h.Assumed = append(h.Assumed, MeanSex)
	}
	if in.Stature == 0 {
		h.Assumed = append(h.Assumed, MeanStature)
	}
	if in.HipLeast == 0 {
		h.Assumed = append(h.Assumed, UsualHips)
	}
	return h, nil
}

// system is a body and its straps.
type system struct {
	frame
	straps   []strap
	hipLeast float64
}

func hanging(in PostureInput) (system, error) {
	b := bodyOf(in.Sex)
	if in.Stature == 0 {
		in.Stature = b.stature
	}
	if in.HipLeast == 0 {
		in.HipLeast = usualHipLeast
	}
	within := func(v, least, most float64) bool { return v >= least && v <= most } // false for NaN
	if !within(in.Stature, 900, 2300) {
		return system{}, &Refusal{Reason: BadLength}
	}
	for _, x := range []struct {
		p            care.Point
		length, hook float64
	}{{care.ShoulderPoint, in.Shoulder, in.Bar.Shoulder}, {care.HipPoint, in.Hip, in.Bar.Hip}, {care.LegPoint, in.Leg, in.Bar.Leg}} {
		if x.p == care.HipPoint && x.length == 0 {
			continue
		}
		if !within(x.length, 50, 2000) || !within(x.hook, -500, 500) {
			return system{}, &Refusal{Reason: BadLength, Point: x.p}
		}
	}
	if !within(in.HipLeast, 30, 170) {
		return system{}, &Refusal{Reason: BadAngle}
	}
	s := system{frame: b.frame(in.Stature), hipLeast: in.HipLeast}
	s.straps = []strap{
		{at: care.ShoulderPoint, hook: point{in.Bar.Shoulder, 0}, length: in.Shoulder, along: s.shoulder},
		{at: care.LegPoint, hook: point{in.Bar.Leg, 0}, length: in.Leg, along: s.knee - shortOfKnee*in.Stature/b.stature, onThigh: true},
	}
	if in.Hip > 0 {
		s.straps = append(s.straps, strap{at: care.HipPoint, hook: point{in.Bar.Hip, 0}, length: in.Hip})
	}
	return s, nil
}

const degree = math.Pi / 180

// along gives unit vectors along trunk and thigh. Forward and up are positive.
func along(back, hips float64) (trunk, thigh point) {
	sin, cos := math.Sincos(back * degree)
	trunk = point{-sin, cos}
	sin, cos = math.Sincos((90 + back - hips) * degree)
	return trunk, point{cos, sin}
}

// discs gives, for a leaning and a hip angle, the circle about each hook within
// which the centre of mass must lie. For stiff straps that may go slack this is
// all there is to say about where the body can be.
func (s *system) discs(back, hips float64, out []disc) []disc {
	trunk, thigh := along(back, hips)
	centre := trunk.times(s.trunkMass * s.trunkCentre).add(thigh.times(s.thighMass * s.thighCentre))
	for _, x := range s.straps {
		end := trunk.times(x.along)
		if x.onThigh {
			end = thigh.times(x.along)
		}
		out = append(out, disc{x.hook.sub(end).add(centre), x.length})
	}
	return out
}

// height gives the lowest height to which the centre of mass can sink with the
// body held in that shape, which is its potential energy over its weight, and the
// place. It is false where the straps cannot all reach.
func (s *system) height(back, hips float64) (point, bool) {
	var room [3]disc
	return lowest(s.discs(back, hips, room[:0]))
}

type disc struct {
	centre point
	r      float64
}

// holds allows for rounding: a thousandth of a millimetre.
func (d disc) holds(p point) bool { return p.sub(d.centre).len() <= d.r+1e-3 }

// lowest gives the lowest point common to all discs. It is the foot of one disc or
// a crossing of two circles, since what discs share is convex.
func lowest(discs []disc) (point, bool) {
	var best point
	found := false
	try := func(p point) {
		if found && p.y >= best.y {
			return
		}
		for _, d := range discs {
			if !d.holds(p) {
				return
			}
		}
		best, found = p, true
	}
	for i, d := range discs {
		try(point{d.centre.x, d.centre.y - d.r})
		for _, e := range discs[:i] {
			v := e.centre.sub(d.centre)
			gap := v.len()
			if gap == 0 || gap > d.r+e.r || gap < math.Abs(d.r-e.r) {
				continue
			}
			a := (gap*gap + d.r*d.r - e.r*e.r) / (2 * gap)
			h := math.Sqrt(max(0, d.r*d.r-a*a))
			u := v.times(1 / gap)
			m := d.centre.add(u.times(a))
			try(point{m.x - u.y*h, m.y + u.x*h})
			try(point{m.x + u.y*h, m.y - u.x*h})
		}
	}
	return best, found
}

// rest finds the leaning and the hip angle of least potential energy. For each hip
// angle it finds the best leaning, and among hip angles the best of those: first
// over the whole domain in coarse steps, then closely about the best. One angle at
// a time is sure where both at once are not, since the valley of least energy has
// a sharp floor wherever a strap comes taut. A lowest place on the rim of the
// domain is no rest.
func (s *system) rest() (back, hips float64, err error) {
	lean := func(hips float64) (back, energy float64) {
		e := func(back float64) float64 {
			p, ok := s.height(back, hips)
			if !ok {
				return math.Inf(1)
			}
			return p.y
		}
		const step = 5.0
		back, energy = 0, math.Inf(1)
		for b := mostForward; b <= mostBack; b += step {
			if x := e(b); x < energy {
				back, energy = b, x
			}
		}
		if math.IsInf(energy, 1) {
			return back, energy
		}
		return closely(e, max(mostForward, back-step), min(mostBack, back+step))
	}
	energy := func(hips float64) float64 { _, e := lean(hips); return e }
	least := math.Inf(1)
	step := (straightest - s.hipLeast) / 12
	for i := 0.0; i <= 12; i++ {
		if e := energy(s.hipLeast + step*i); e < least {
			least, hips = e, s.hipLeast+step*i
		}
	}
	if math.IsInf(least, 1) {
		return 0, 0, &Refusal{Reason: NoReach}
	}
	hips, least = closely(energy, max(s.hipLeast, hips-step), min(straightest, hips+step))
	// Folded as far as they go is the usual rest, and is then meant exactly.
	if e := energy(s.hipLeast); e <= least+1e-6 {
		hips = s.hipLeast
	}
	back, _ = lean(hips)
	if back < mostForward+0.01 || back > mostBack-0.01 {
		return 0, 0, &Refusal{Reason: NoRest}
	}
	return back, hips, nil
}

// closely finds the least of f between two angles by golden sections.
func closely(f func(float64) float64, from, to float64) (at, least float64) {
	const g = 0.6180339887498949
	a, b := to-g*(to-from), from+g*(to-from)
	fa, fb := f(a), f(b)
	for to-from > 1e-5 {
		if fa <= fb {
			to, b, fb = b, a, fa
			a = to - g*(to-from)
			fa = f(a)
		} else {
			from, a, fa = a, b, fb
			b = from + g*(to-from)
			fb = f(b)
		}
	}
	at = (from + to) / 2
	return at, f(at)
}

// hang places the body.
func (s *system) hang(back, hips float64) Hang {
	centre, _ := s.height(back, hips)
	trunk, thigh := along(back, hips)
	hip := centre.sub(trunk.times(s.trunkMass * s.trunkCentre)).sub(thigh.times(s.thighMass * s.thighCentre))
	h := Hang{
		Back: back, Hips: hips, Knees: 90 + back - hips,
		hip: hip, shoulder: hip.add(trunk.times(s.shoulder)), head: hip.add(trunk.times(s.headCentre)),
		vertex: hip.add(trunk.times(s.vertex)), knee: hip.add(thigh.times(s.knee)), headRadius: s.headRadius,
	}
	h.foot = point{h.knee.x, h.knee.y - s.shank}
	from, to := math.Inf(1), math.Inf(-1)
	for _, x := range s.straps {
		x.end = hip.add(trunk.times(x.along))
		if x.onThigh {
			x.end = hip.add(thigh.times(x.along))
		}
		if x.end.sub(x.hook).len() < x.length-0.5 {
			h.Slack = append(h.Slack, x.at)
		}
		h.straps = append(h.straps, x)
		from, to = min(from, x.hook.x), max(to, x.hook.x)
	}
	near := point{min(max(h.head.x, from), to), 0}
	h.Clear = h.head.sub(near).len() - h.headRadius
	return h
}
