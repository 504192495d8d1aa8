package picture

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
)

// The shares of mass add up to the whole body: 100.00 for the male column and
// 99.99 for the female (handbook of the project 6.3, de Leva 1996).
func TestBodyMassesAddUp(t *testing.T) {
	for sex, want := range map[Sex]float64{Female: 0.9999, Male: 1} {
		b := bodies[sex]
		got := b.head.mass + b.trunk.mass + 2*(b.upperArm.mass+b.forearm.mass+b.hand.mass+b.thigh.mass+b.shank.mass+b.foot.mass)
		if math.Abs(got-want) > 1e-4 {
			t.Errorf("%s: shares add up to %.4f, want %.4f", sex, got, want)
		}
	}
	// Whole arm and leg as the handbook reckons them: 4.49 and 20.88 % for women,
	// 4.94 and 19.86 % for men.
	for sex, want := range map[Sex][2]float64{Female: {4.49, 20.88}, Male: {4.94, 19.86}} {
		b := bodies[sex]
		arm, leg := 100*(b.upperArm.mass+b.forearm.mass+b.hand.mass), 100*(b.thigh.mass+b.shank.mass+b.foot.mass)
		if math.Abs(arm-want[0]) > 0.006 || math.Abs(leg-want[1]) > 0.006 {
			t.Errorf("%s: arm %.2f and leg %.2f, want %v", sex, arm, leg, want)
		}
	}
}

// The paper gives the centres of trunk and head along several lines, each as a
// share of its own length. From every line the centre must come out at one place.
// The shares were read (see body.go); the lengths, from memory, are borne out by
// this: a wrong one would part the places.
func TestBodyLengthsAgree(t *testing.T) {
	for sex, c := range map[Sex]struct {
		sternum, sternumShare float64 // SUPR-MIDH
		neckShare             float64 // CERV-MIDH
		jaw, jawShare         float64 // VERT-MIDG
	}{
		Female: {529.3, 0.4151, 0.4964, 200.2, 0.5894},
		Male:   {531.9, 0.4486, 0.5138, 203.3, 0.5976},
	} {
		b := bodies[sex]
		trunk := b.trunk.length * (1 - b.trunk.centre)
		for _, other := range []float64{c.sternum * (1 - c.sternumShare), b.neck * (1 - c.neckShare)} {
			if math.Abs(trunk-other) > 0.2 {
				t.Errorf("%s: the trunk's centre lies %.1f or %.1f above the hips", sex, trunk, other)
			}
		}
		if head, other := b.head.length*b.head.centre, c.jaw*c.jawShare; math.Abs(head-other) > 0.2 {
			t.Errorf("%s: the head's centre lies %.1f or %.1f below the vertex", sex, head, other)
		}
	}
}

// The frame's masses and centres, reckoned once by hand for a woman of the table's
// stature: of her trunk with head and arms 58.23 % of the mass, of her legs 41.77 %
// (both of 99.99 %).
func TestFrame(t *testing.T) {
	f := bodies[Female].frame(1735)
	near := func(what string, got, want, by float64) {
		if math.Abs(got-want) > by {
			t.Errorf("%s: got %.4f, want %.4f", what, got, want)
		}
	}
	near("trunk's share", f.trunkMass, (0.0668+0.4257+2*(0.0255+0.0138+0.0056))/0.9999, 1e-9)
	near("legs' share", f.thighMass, 2*(0.1478+0.0481+0.0129)/0.9999, 1e-9)
	// Head 0.0668 at 740.5, trunk 0.4257 at 309.6, upper arms 0.0510 at 339.6,
	// forearms and hands 0.0388 at 222.8, over 0.5823.
	near("trunk's centre", f.trunkCentre, 355.9, 0.2)
	// Thighs 0.2956 at 133.1, the rest 0.1220 at the knee, 368.5, over 0.4176.
	near("legs' centre", f.thighCentre, 201.9, 0.2)
	// All lengths go with stature.
	g := bodies[Female].frame(1735 * 1.1)
	near("a taller woman's trunk", g.trunkCentre, f.trunkCentre*1.1, 1e-9)
	near("a taller woman's knee", g.knee, f.knee*1.1, 1e-9)
}

// someone draws a person and straps such as a hoist and a sling have.
func someone(t *rapid.T, spread float64) PostureInput {
	half := rapid.Float64Range(0, spread/2).Draw(t, "half the bar")
	return PostureInput{
		Sex:      rapid.SampledFrom([]Sex{Female, Male, ""}).Draw(t, "sex"),
		Stature:  rapid.Float64Range(1400, 1950).Draw(t, "stature"),
		Shoulder: rapid.Float64Range(220, 500).Draw(t, "shoulder"),
		Leg:      rapid.Float64Range(320, 650).Draw(t, "leg"),
		Bar:      Bar{Shoulder: -half, Leg: half},
		HipLeast: rapid.Float64Range(55, 110).Draw(t, "hips fold to"),
	}
}

// weightOf gives the centre of mass anew, from the body's parts as they were placed.
func (h Hang) weightOf(f frame) point {
	trunk := h.hip.to(h.shoulder, f.trunkCentre/f.shoulder)
	thigh := h.hip.to(h.knee, f.thighCentre/f.knee)
	return trunk.times(f.trunkMass).add(thigh.times(f.thighMass))
}

// Hung from one point, the combined centre of mass comes to rest beneath it: the
// elementary statics of a hanging body.
func TestPostureOnePoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := someone(t, 0)
		in.Bar = Bar{Shoulder: rapid.Float64Range(-200, 200).Draw(t, "hook")}
		in.Bar.Leg = in.Bar.Shoulder
		h, err := Posture(in)
		if err != nil {
			t.Skip("hangs in no rest")
		}
		s, _ := hanging(in)
		if c := h.weightOf(s.frame); math.Abs(c.x-in.Bar.Shoulder) > 0.5 || c.y > 0 {
			t.Fatalf("centre of mass at %.2f, hook at %.2f", c, in.Bar.Shoulder)
		}
	})
}

// With the hips at their fold the body is one stiff piece on two straps. Three
// forces on a stiff body at rest meet in one point: the lines of both straps and
// the upright through the centre of mass.
func TestPostureThreeForcesMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := someone(t, 400)
		h, err := Posture(in)
		if err != nil || h.Hips > in.HipLeast+1e-6 {
			t.Skip("not one stiff piece at rest")
		}
		s, _ := hanging(in)
		a, b := h.straps[0], h.straps[1]
		u, v := a.end.sub(a.hook), b.end.sub(b.hook)
		cross := u.x*v.y - u.y*v.x
		if math.Abs(cross) < 0.15*u.len()*v.len() {
			t.Skip("straps nearly parallel meet too far away to measure")
		}
		w := b.hook.sub(a.hook)
		meet := a.hook.add(u.times((w.x*v.y - w.y*v.x) / cross))
		if c := h.weightOf(s.frame); math.Abs(meet.x-c.x) > 1 {
			t.Fatalf("straps meet at %.2f mm, the centre of mass is at %.2f", meet.x, c.x)
		}
	})
}

// A known triangle: hook, shoulder and leg point, its sides the two straps and the
// fixed distance between the points on a stiff body. The law of cosines and the
// centre of mass beneath the hook give the leaning without any search.
func TestPostureKnownTriangle(t *testing.T) {
	for _, c := range []struct{ shoulder, leg, hips float64 }{
		{250, 400, 90}, {350, 500, 80}, {450, 450, 100}, {300, 600, 75}, {400, 350, 110},
	} {
		in := PostureInput{Sex: Female, Shoulder: c.shoulder, Leg: c.leg, HipLeast: c.hips}
		h, err := Posture(in)
		if err != nil {
			t.Fatal(err)
		}
		if h.Hips != c.hips {
			t.Fatalf("the hips did not fold to %v", c.hips)
		}
		s, _ := hanging(in)
		// In the body's own axes: hips at the origin, trunk upward.
		sh := point{0, s.shoulder}
		sin, cos := math.Sincos((90 - c.hips) * degree)
		thigh := point{cos, sin}
		leg := thigh.times(s.straps[1].along)
		centre := point{0, s.trunkMass * s.trunkCentre}.add(thigh.times(s.thighMass * s.thighCentre))
		d := leg.sub(sh).len()
		angle := math.Acos((c.shoulder*c.shoulder + d*d - c.leg*c.leg) / (2 * c.shoulder * d))
		// From the shoulder turn from the leg point's direction toward the hook, which
		// lies on the far side of that line from the hips.
		dir := math.Atan2(leg.y-sh.y, leg.x-sh.x) + angle
		hook := sh.add(point{math.Cos(dir), math.Sin(dir)}.times(c.shoulder))
		down := centre.sub(hook)
		// Turning the body back by this much makes that direction point down.
		want := math.Atan2(down.y, down.x)/degree + 90
		if math.Abs(h.Back+want) > 0.05 {
			t.Errorf("%+v: leans %.3f, the triangle says %.3f", c, h.Back, -want)
		}
	}
}

// A body alike on both sides of the hips, on straps and hooks alike, hangs alike
// on both sides: trunk and thigh at half the hip angle from upright.
func TestPostureSymmetric(t *testing.T) {
	for _, half := range []float64{0, 100, 200} {
		for _, length := range []float64{200, 400, 600} {
			s := system{frame: frame{trunkMass: 0.5, thighMass: 0.5, trunkCentre: 250, thighCentre: 250, shoulder: 400, knee: 400}, hipLeast: 70}
			s.straps = []strap{
				{at: care.ShoulderPoint, hook: point{-half, 0}, length: length, along: 400},
				{at: care.LegPoint, hook: point{half, 0}, length: length, along: 400, onThigh: true},
			}
			if 400*math.Sin(35*degree) > half+length {
				continue // The straps do not reach.
			}
			back, hips, err := s.rest()
			if err != nil || math.Abs(back-hips/2) > 0.01 {
				t.Errorf("hooks %v apart, straps %v: leans %.3f with the hips at %.3f (%v)", 2*half, length, back, hips, err)
			}
		}
	}
}

// Moving the whole bar forward moves the person with it and changes nothing else.
func TestPostureMovesWithBar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := someone(t, 300)
		a, err := Posture(in)
		by := rapid.Float64Range(-200, 200).Draw(t, "by")
		in.Bar.Shoulder += by
		in.Bar.Leg += by
		b, err2 := Posture(in)
		if (err == nil) != (err2 == nil) {
			t.Fatal("only one of them hangs")
		}
		if err == nil && (math.Abs(a.Back-b.Back) > 0.01 || math.Abs(a.hip.x+by-b.hip.x) > 0.2) {
			t.Fatalf("%.4f became %.4f", a.Back, b.Back)
		}
	})
}

// No place that the straps allow has its centre of mass lower than the rest that
// was found: tried with random shapes and places, the straps measured end to end.
func TestPostureBruteForce(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 25 {
		in := PostureInput{Sex: Male, Shoulder: 220 + 280*r.Float64(), Leg: 320 + 330*r.Float64(), HipLeast: 60 + 50*r.Float64(),
			Bar: Bar{Shoulder: -150 * r.Float64(), Leg: 150 * r.Float64()}}
		if r.IntN(2) == 0 {
			in.Hip = 500 + 400*r.Float64()
		}
		h, err := Posture(in)
		if err != nil {
			continue
		}
		s, _ := hanging(in)
		least := h.weightOf(s.frame).y
		allowed := func(back, hips float64, hip point, slip float64) (float64, bool) {
			trunk, thigh := along(back, hips)
			for _, x := range s.straps {
				end := hip.add(trunk.times(x.along))
				if x.onThigh {
					end = hip.add(thigh.times(x.along))
				}
				if end.sub(x.hook).len() > x.length+slip {
					return 0, false
				}
			}
			return hip.y + s.trunkMass*s.trunkCentre*trunk.y + s.thighMass*s.thighCentre*thigh.y, true
		}
		if _, ok := allowed(h.Back, h.Hips, h.hip, 0.01); !ok {
			t.Fatalf("%+v: the rest found tears a strap", in)
		}
		lowest := math.Inf(1)
		for i := range 60000 {
			back := mostForward + (mostBack-mostForward)*r.Float64()
			hips := s.hipLeast + (straightest-s.hipLeast)*r.Float64()
			hip := point{-600 + 1200*r.Float64(), -1100 + 1100*r.Float64()}
			if i%2 == 0 { // Half of them close by.
				back, hips = h.Back+4*r.NormFloat64(), max(s.hipLeast, h.Hips+4*r.NormFloat64())
				hip = point{h.hip.x + 8*r.NormFloat64(), h.hip.y + 8*r.NormFloat64()}
			}
			if y, ok := allowed(back, hips, hip, 0); ok {
				lowest = min(lowest, y)
			}
		}
		if lowest < least-0.05 {
			t.Errorf("%+v: a place %.2f mm lower than the rest found", in, least-lowest)
		}
		if lowest > least+15 {
			t.Errorf("%+v: the search came only within %.1f mm, too far to mean anything", in, lowest-least)
		}
	}
}

// The trade's rule (handbook of the project 3.5: HSIS3, and a lift maker's article
// for the direction): a shorter shoulder loop or a longer leg loop sits the person
// more upright. It holds wherever a person leans back by five degrees or more, with
// the head clear of the bar, and hangs at least 200 mm below it. Nearer than that the straps lie almost
// flat, and a longer one can swing the lap away instead; a person who sits upright
// cannot sit more so.
func TestPostureTradeRule(t *testing.T) {
	held := 0
	rapid.Check(t, func(t *rapid.T) {
		in := someone(t, 400)
		before, err := Posture(in)
		if err != nil || before.Back < 5 || before.Clear < 0 || before.belowBar() < 200 {
			t.Skip("not such a person")
		}
		by := rapid.Float64Range(20, 100).Draw(t, "by")
		shorter, longer := in, in
		shorter.Shoulder -= by
		longer.Leg += by
		for _, c := range []struct {
			what string
			in   PostureInput
		}{{"shorter at the shoulder", shorter}, {"longer at the leg", longer}} {
			after, err := Posture(c.in)
			if err != nil || after.Clear < 0 || after.belowBar() < 200 {
				continue
			}
			held++
			if after.Back >= before.Back {
				t.Fatalf("%s by %.0f mm: leaned back %.2f, now %.2f", c.what, by, before.Back, after.Back)
			}
		}
	})
	if held < 50 {
		t.Errorf("the rule was tried %d times only", held)
	}
}

// belowBar is how far below the bar's middle the line from shoulder to leg point
// passes.
func (h Hang) belowBar() float64 {
	a, b := h.straps[0].end, h.straps[1].end
	return -(a.y + (b.y-a.y)*((h.straps[0].hook.x+h.straps[1].hook.x)/2-a.x)/(b.x-a.x))
}

// A greater fold of the hips never leaves the centre of mass higher: more freedom
// cannot raise a least.
func TestPostureFreedom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := someone(t, 400)
		a, err := Posture(in)
		in2 := in
		in2.HipLeast -= 10
		b, err2 := Posture(in2)
		if err != nil || err2 != nil {
			t.Skip("hangs in no rest")
		}
		s, _ := hanging(in)
		if b.weightOf(s.frame).y > a.weightOf(s.frame).y+0.01 {
			t.Fatalf("freer hips hang higher")
		}
	})
}

func TestPostureRefuses(t *testing.T) {
	good := PostureInput{Shoulder: 350, Leg: 500}
	if _, err := Posture(good); err != nil {
		t.Fatal(err)
	}
	nan, inf := math.NaN(), math.Inf(1)
	cases := []struct {
		says string
		with func(*PostureInput)
		want Reason
		at   care.Point
	}{
		{"no shoulder strap length is known", func(in *PostureInput) { in.Shoulder = 0 }, BadLength, care.ShoulderPoint},
		{"no leg strap length is known", func(in *PostureInput) { in.Leg = 0 }, BadLength, care.LegPoint},
		{"a strap of three metres", func(in *PostureInput) { in.Leg = 3000 }, BadLength, care.LegPoint},
		{"a strap below nothing", func(in *PostureInput) { in.Hip = -1 }, BadLength, care.HipPoint},
		{"a strap that is no number", func(in *PostureInput) { in.Shoulder = nan }, BadLength, care.ShoulderPoint},
		{"an endless strap", func(in *PostureInput) { in.Leg = inf }, BadLength, care.LegPoint},
		{"a bar of two metres", func(in *PostureInput) { in.Bar.Shoulder = -1000 }, BadLength, care.ShoulderPoint},
		{"a stature that is no number", func(in *PostureInput) { in.Stature = nan }, BadLength, ""},
		{"a giant", func(in *PostureInput) { in.Stature = 4000 }, BadLength, ""},
		{"hips that fold flat", func(in *PostureInput) { in.HipLeast = 5 }, BadAngle, ""},
		{"hips that do not bend", func(in *PostureInput) { in.HipLeast = 179 }, BadAngle, ""},
		{"shoulder and hip straps shorter than the trunk between them", func(in *PostureInput) { in.Shoulder, in.Hip = 150, 150 }, NoReach, ""},
		{"a leg strap so long that it carries nothing", func(in *PostureInput) { in.Leg = 2000 }, NoRest, ""},
		{"a shoulder strap so long that the head hangs down", func(in *PostureInput) { in.Shoulder, in.Leg = 1500, 200 }, NoRest, ""},
	}
	for _, c := range cases {
		in := good
		c.with(&in)
		h, err := Posture(in)
		var r *Refusal
		if !errors.As(err, &r) || r.Reason != c.want || c.at != "" && r.Point != c.at {
			t.Errorf("%s: got %v and %+v, want %s at %q", c.says, err, h, c.want, c.at)
		}
	}
}

// What nobody stated is said, and what was stated is not.
func TestPostureAssumes(t *testing.T) {
	h, err := Posture(PostureInput{Shoulder: 350, Leg: 500})
	if err != nil || len(h.Assumed) != 3 {
		t.Errorf("got %v, %v; want three assumptions", h.Assumed, err)
	}
	h, err = Posture(PostureInput{Sex: Male, Stature: 1800, HipLeast: 80, Shoulder: 350, Leg: 500})
	if err != nil || len(h.Assumed) != 0 {
		t.Errorf("got %v, %v; want none", h.Assumed, err)
	}
}

func TestPostureGolden(t *testing.T) {
	h, err := Posture(PostureInput{Shoulder: 300, Leg: 500, Bar: Bar{Shoulder: -150, Leg: 150}})
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "posture", PostureDrawing(h))
}

func BenchmarkPosture(b *testing.B) {
	in := PostureInput{Shoulder: 350, Hip: 600, Leg: 500, Bar: Bar{Shoulder: -150, Leg: 150}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Posture(in); err != nil {
			b.Fatal(err)
		}
	}
}
