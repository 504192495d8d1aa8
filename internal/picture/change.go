package picture

import (
	"reflect"
	"slices"

	"samelift/internal/care"
)

// FactChanged says that what the fact of key Word shows is not as it was before;
// Point is where, if it is about a point.
const FactChanged FactKey = "changed"

// Change draws a transfer as it is now, large, with a frame about each thing that
// is not as it was, and above it, small and faded, the picture of before. Where
// before has no true picture, the new one stands alone with its frames left out.
// The error is that of the new picture.
func Change(before, now SlingInput) (Drawing, error) {
	if err := check(now); err != nil {
		return Drawing{}, err
	}
	if check(before) != nil {
		return Sling(now)
	}
	const small, top = 0.4, slingH*0.4 + 24
	s := newSheet(slingW, slingH+top)
	left := (slingW-slingW*small)/2 - 40
	s.put(layoutSling(before).marks[1:], left, 10, small, true)
	// The old one is struck out, lest somebody hang the person by it.
	strike := lines(left+8, 10+slingH*small-8, left+slingW*small-8, 18)
	s.stroke(strike, paper, 8)
	s.stroke(strike, ink, 4)
	// An arrow leads from the old to the new.
	x, y := slingW/2+slingW*small/2, top/2+4
	arrow := curved(x-24, y-30, x+24, y-30, x+36, y-10, x+36, y+34)
	s.stroke(arrow, ink, 8)
	s.fill(polygon(x+14, y+32, x+58, y+32, x+36, y+66), ink)
	full := layoutSling(now)
	s.put(full.marks[2:], 0, top, 1, false)
	s.stroke(lines(12, top-2, slingW-12, top-2), faint, 1)
	changed := changes(before, now)
	if !now.Stopped {
		for _, c := range changed {
			for _, r := range full.placeOf(c) {
				p := rect(r[0], r[1]+top, r[2], r[3], 8)
				s.stroke(p, paper, 7)
				s.stroke(p, signal, 4, 9, 6)
			}
		}
	}
	return s.done(append(changed, slingFacts(now)...)), nil
}

// put lays the marks of another sheet on this one.
func (s *sheet) put(marks []mark, dx, dy, scale float64, faded bool) {
	for _, m := range marks {
		m.path = m.path.moved(dx, dy, scale)
		m.width *= scale
		m.dash = slices.Clone(m.dash)
		for i := range m.dash {
			m.dash[i] *= scale
		}
		if faded {
			m.colour = mix(m.colour)
		}
		s.marks = append(s.marks, m)
	}
}

// mix brings a colour half way to the paper.
func mix(c rgba) rgba {
	f := func(v uint8) uint8 { return uint8(255 - (255-int(v))*6/10) }
	return rgb(f(c.R), f(c.G), f(c.B))
}

// changes lists what differs between two pictures, by their facts.
func changes(before, now SlingInput) []Fact {
	type place struct {
		key   FactKey
		point care.Point
	}
	gather := func(in SlingInput) map[place][]Fact {
		out := map[place][]Fact{}
		for _, f := range slingFacts(in) {
			k := f.Key
			if k == FactDiffer || k == FactClip {
				k = FactLoop
			}
			out[place{k, f.Point}] = append(out[place{k, f.Point}], f)
		}
		return out
	}
	old, fresh := gather(before), gather(now)
	var all []Fact
	seen := map[place]bool{}
	for _, f := range append(slingFacts(now), slingFacts(before)...) {
		k := f.Key
		if k == FactDiffer || k == FactClip {
			k = FactLoop
		}
		p := place{k, f.Point}
		if !seen[p] && !reflect.DeepEqual(old[p], fresh[p]) {
			all = append(all, Fact{Key: FactChanged, Word: string(k), Point: f.Point})
		}
		seen[p] = true
	}
	return all
}

// placeOf gives the rectangles, as x, y, width and height, of what a change is about.
func (s *slingSheet) placeOf(f Fact) [][4]float64 {
	switch FactKey(f.Word) {
	case FactSize:
		return [][4]float64{{5, 4, 86, 54}}
	case FactLabel:
		return [][4]float64{{90, 4, 133, 54}}
	case FactCarers:
		return [][4]float64{{slingW - 132, 4, 127, 54}}
	case FactHead, FactHeadNeed:
		return [][4]float64{{mid - 42, headY - 48, 84, 84}}
	case FactLegStraps, FactArms:
		if FactKey(f.Word) == FactArms {
			return [][4]float64{{mid - 66, shoulderY - 4, 132, hipY - shoulderY - 20}}
		}
		return [][4]float64{{mid - 52, hipY - 26, 104, kneeY - hipY + 40}}
	case FactLoop:
		row, ok := s.rows[f.Point]
		if !ok {
			return nil
		}
		w := ladderTo - ladderFrom + 4
		return [][4]float64{{mid - ladderTo - 2, row - 52, w, 108}, {mid + ladderFrom - 2, row - 52, w, 108}}
	}
	return nil
}
