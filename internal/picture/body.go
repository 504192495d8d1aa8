package picture

// Sex chooses a column of the body tables.
type Sex string

// The columns. The zero Sex takes the mean of both.
const (
	Female Sex = "female"
	Male   Sex = "male"
)

// segment is one part of the body: its share of the body's mass, where its centre
// of mass lies as a share of its length from the first to the second end, and its
// length in millimetres for a person of the table's mean stature.
type segment struct{ mass, centre, length float64 }

type body struct {
	stature                              float64
	head, trunk, upperArm, forearm, hand segment
	thigh, shank, foot                   segment
	// neck is the height of the seventh neck vertebra over the hips.
	neck float64
}

// Shares of mass and places of the centres are those of P. de Leva, "Adjustments
// to Zatsiorsky-Seluyanov's segment inertia parameters", J Biomech
// 1996;29:1223-30, read in the public repository BMClab/BMC, files
// data/BSPfemale_ZdeLeva.txt and data/BSPmale_ZdeLeva.txt. Head runs from the
// vertex to the seventh neck vertebra ("Head 2"), trunk from between the shoulder
// joints to between the hip joints ("Trunk 3"), the foot from heel to toe.
// Lengths and statures are of the same paper, from memory, unverified; those of
// trunk and head agree with the shares that were read, as a test shows.
var bodies = map[Sex]body{
	Female: {
		stature:  1735,
		head:     segment{0.0668, 0.4841, 243.7},
		trunk:    segment{0.4257, 0.3782, 497.9},
		upperArm: segment{0.0255, 0.5754, 275.1},
		forearm:  segment{0.0138, 0.4559, 264.3},
		hand:     segment{0.0056, 0.7474, 78.0},
		thigh:    segment{0.1478, 0.3612, 368.5},
		shank:    segment{0.0481, 0.4352, 432.3},
		foot:     segment{0.0129, 0.4014, 228.3},
		neck:     614.8,
	},
	Male: {
		stature:  1741,
		head:     segment{0.0694, 0.5002, 242.9},
		trunk:    segment{0.4346, 0.4310, 515.5},
		upperArm: segment{0.0271, 0.5772, 281.7},
		forearm:  segment{0.0162, 0.4574, 268.9},
		hand:     segment{0.0061, 0.7900, 86.2},
		thigh:    segment{0.1416, 0.4095, 422.2},
		shank:    segment{0.0433, 0.4395, 434.0},
		foot:     segment{0.0137, 0.4415, 258.1},
		neck:     603.3,
	},
}

func bodyOf(s Sex) body {
	if b, ok := bodies[s]; ok {
		return b
	}
	f, m := bodies[Female], bodies[Male]
	half := func(a, b float64) float64 { return (a + b) / 2 }
	mean := func(a, b segment) segment {
		return segment{half(a.mass, b.mass), half(a.centre, b.centre), half(a.length, b.length)}
	}
	return body{
		stature: half(f.stature, m.stature), neck: half(f.neck, m.neck),
		head: mean(f.head, m.head), trunk: mean(f.trunk, m.trunk),
		upperArm: mean(f.upperArm, m.upperArm), forearm: mean(f.forearm, m.forearm), hand: mean(f.hand, m.hand),
		thigh: mean(f.thigh, m.thigh), shank: mean(f.shank, m.shank), foot: mean(f.foot, m.foot),
	}
}

// frame is the body as the reckoning needs it: masses as shares of the whole, and
// places along two bars that meet at the hips.
type frame struct {
	// trunk carries head, trunk and arms; its centre lies that far above the hips.
	trunkMass, trunkCentre float64
	// thigh carries thighs, shanks and feet. The shanks hang from the knees, so
	// their weight acts there.
	thighMass, thighCentre float64
	// shoulder and vertex lie above the hips along the trunk, knee along the thigh.
	shoulder, vertex, knee, shank float64
	headCentre, headRadius        float64
}

func (b body) frame(stature float64) frame {
	k := stature / b.stature
	vertex := b.neck + b.head.length
	shoulder := b.trunk.length
	f := frame{
		shoulder: shoulder * k, vertex: vertex * k, knee: b.thigh.length * k, shank: b.shank.length * k,
		headCentre: (vertex - b.head.centre*b.head.length) * k, headRadius: b.head.length * k * 0.45,
	}
	// Upper arms hang along the trunk, forearms lie across it at the elbow.
	elbow := shoulder - b.upperArm.length
	parts := [][2]float64{
		{b.head.mass, vertex - b.head.centre*b.head.length},
		{b.trunk.mass, shoulder - b.trunk.centre*shoulder},
		{2 * b.upperArm.mass, shoulder - b.upperArm.centre*b.upperArm.length},
		{2 * (b.forearm.mass + b.hand.mass), elbow},
	}
	for _, p := range parts {
		f.trunkMass += p[0]
		f.trunkCentre += p[0] * p[1] * k
	}
	f.trunkCentre /= f.trunkMass
	thigh, shank := 2*b.thigh.mass, 2*(b.shank.mass+b.foot.mass)
	f.thighMass = thigh + shank
	f.thighCentre = (thigh*b.thigh.centre + shank) * b.thigh.length * k / f.thighMass
	total := f.trunkMass + f.thighMass
	f.trunkMass /= total
	f.thighMass /= total
	return f
}
