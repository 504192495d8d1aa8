package picture

import (
	"strconv"
	"strings"

	"samelift/internal/care"
)

// The sheet's measures in CSS pixels. The picture's middle line is the person's.
const (
	slingW = 360.0
	slingH = 500.0
	mid    = slingW / 2
	// ladderFrom is where a strap meets its ladder of loops, ladderTo its far end;
	// both are distances from the middle line.
	ladderFrom = 56.0
	ladderTo   = 174.0
)

// Heights of the person's parts.
const (
	headY     = 118.0
	shoulderY = 158.0
	hipY      = 280.0
	kneeY     = 388.0
	footY     = 486.0
	// pieceY is where the leg pieces end.
	pieceY = kneeY - 28
)

type slingSheet struct {
	*sheet
	in     SlingInput
	differ bool
	// rows holds the height of each point's ladder.
	rows map[care.Point]float64
	// cells remembers where each loop was drawn, for the tests of contrast.
	cells []cell
}

func drawSling(in SlingInput) Drawing {
	s := layoutSling(in)
	return s.done(slingFacts(in))
}

func layoutSling(in SlingInput) *slingSheet {
	s := &slingSheet{sheet: newSheet(slingW, slingH), in: in, rows: map[care.Point]float64{
		care.ShoulderPoint: 142, care.LegPoint: 336,
	}}
	if _, six := loopsAt(in.Range, care.HipPoint); six {
		s.rows = map[care.Point]float64{care.ShoulderPoint: 124, care.HipPoint: 250, care.LegPoint: 376}
	}
	for _, p := range care.Points {
		at := in.Transfer.At(p)
		s.differ = s.differ || at.Left != at.Right
	}
	s.header()
	s.slingBack()
	s.person()
	s.legStraps()
	for _, p := range care.Points {
		if loops, ok := loopsAt(in.Range, p); ok {
			at := in.Transfer.At(p)
			s.ladder(p, care.Right, loops, at.Right)
			s.ladder(p, care.Left, loops, at.Left)
		}
	}
	if s.differ {
		s.notAlike()
	}
	if in.Stopped {
		s.stop()
	}
	return s
}

// out gives the x that lies at a distance from the middle line on the person's side.
func out(side care.Side, d float64) float64 {
	if side == care.Left {
		return mid + d
	}
	return mid - d
}

// either draws a path made for the picture's left half on the side asked for.
func either(side care.Side, p path) path {
	if side == care.Left {
		return p.mirrored(mid)
	}
	return p
}

// header is the top of the sheet: size, label and carers.
func (s *slingSheet) header() {
	t := s.in.Transfer
	s.sizeChip(t.Size)
	s.labelChip(t.Label)
	s.carers(t.Carers)
	s.stroke(lines(12, 62, slingW-12, 62), faint, 1)
}

// sizeChip sets the size over a measuring arrow.
func (s *slingSheet) sizeChip(size string) {
	s.shape(rect(10, 9, 76, 44, 6), paper, ink, 2)
	s.stroke(lines(18, 46, 78, 46), ink, 2)
	s.stroke(lines(23, 42, 18, 46, 23, 50), ink, 2)
	s.stroke(lines(73, 42, 78, 46, 73, 50), ink, 2)
	s.fitted(size, 48, 26, 66, 26)
}

// labelChip sets the label id on a tag with an eye.
func (s *slingSheet) labelChip(label string) {
	s.shape(polygon(94, 31, 104, 14, 218, 14, 218, 48, 104, 48), paper, ink, 2)
	s.shape(circle(105, 31, 3.5), paper, ink, 2)
	s.fitted(label, 164, 31, 98, 24)
}

// fitted writes a printed text within a width. Where nothing is stated there is a
// question mark; where it cannot be set, because the font lacks the script or it
// would be too small to read, three dots say that the words beside the picture
// have it.
func (s *slingSheet) fitted(text string, x, y, width, size float64) {
	if strings.TrimSpace(text) == "" {
		s.question(x, y, 15)
		return
	}
	l, ok := letters(text)
	if ok && l.width > 0 {
		size = min(size, width/l.width)
	}
	if !ok || size < 9 {
		for i := -1.0; i <= 1; i++ {
			s.fill(circle(x+i*12, y, 3), ink)
		}
		return
	}
	s.write(text, x, y, size, ink)
}

// question is the sign for a thing not stated.
func (s *sheet) question(x, y, r float64) {
	s.fill(circle(x, y, r), paper)
	s.stroke(circle(x, y, r), ink, 2.5, 4, 4.5)
	s.write("?", x, y, r*1.55, ink)
}

// carers stand at the top right as figures with their number.
func (s *slingSheet) carers(n int) {
	if n == 0 {
		s.figure(slingW-72, 31, ink)
		s.question(slingW-34, 31, 15)
		return
	}
	const pitch = 23.0
	show := n
	if n > 4 {
		show = 1
	}
	x := slingW - 22.0
	s.write(strconv.Itoa(n), x, 31, 30, ink)
	for i := 0; i < show; i++ {
		s.figure(x-28-float64(show-1-i)*pitch, 31, ink)
	}
}

// figure is a standing person.
func (s *sheet) figure(x, y float64, c rgba) {
	s.fill(circle(x, y-14, 5.5), c)
	var p path
	p.move(x-8.5, y+18)
	p.line(x-8.5, y)
	p.curve(x-8.5, y-5, x-6, y-7, x-3, y-7)
	p.line(x+3, y-7)
	p.curve(x+6, y-7, x+8.5, y-5, x+8.5, y)
	p.line(x+8.5, y+18)
	p.close()
	s.fill(p, c)
}

// slingBack is the cloth behind the person: head piece, back, and a leg piece
// beneath each thigh.
func (s *slingSheet) slingBack() {
	top := shoulderY - 6
	k := s.knees()
	if s.in.Range.Head == care.Yes {
		var p path
		p.move(mid-36, top+2)
		p.line(mid-36, headY-14)
		p.curve(mid-36, headY-46, mid+36, headY-46, mid+36, headY-14)
		p.line(mid+36, top+2)
		p.close()
		s.shape(p, cloth, ink, 2)
	}
	for _, side := range []care.Side{care.Right, care.Left} {
		// The leg piece ends short of the back of the knee.
		var p path
		p.move(mid-48, hipY-20)
		p.curve(mid-54, hipY+20, mid-k-27, hipY+30, mid-k-25, pieceY)
		p.line(mid-k+20, pieceY)
		p.line(mid-2, hipY)
		p.close()
		s.shape(either(side, p), cloth, ink, 2)
	}
	low := hipY - 14
	if s.in.Range.Kind == care.ToiletingSling {
		// The back ends at the waist; narrow bands lead down to the leg pieces.
		low = hipY - 66
		for _, side := range []care.Side{care.Right, care.Left} {
			s.band(either(side, curved(mid-46, low-4, mid-52, low+20, mid-48, hipY-40, mid-46, hipY-14)), cloth, 7)
		}
	}
	var p path
	p.move(mid-46, top)
	p.line(mid+46, top)
	p.line(mid+49, low)
	p.curve(mid+49, low+30, mid-49, low+30, mid-49, low)
	p.close()
	s.fill(p, cloth)
	s.stroke(lines(mid-49, low, mid-46, top, mid+46, top, mid+49, low), ink, 2)
	if s.in.Range.Kind == care.ToiletingSling {
		s.stroke(curved(mid+49, low, mid+49, low+30, mid-49, low+30, mid-49, low), ink, 2)
	}
	if s.in.Range.Head == care.Yes {
		// Head piece and back are one cloth.
		s.stroke(lines(mid-34, top, mid+34, top), cloth, 3)
	}
}

// knees gives the distance of each knee from the middle line.
func (s *slingSheet) knees() float64 {
	switch s.in.Transfer.LegStraps {
	case care.LegsEachOwn:
		return 34
	case care.LegsUnderBoth:
		return 26
	}
	return 25
}

// person sits facing the reader: the thighs come forward, the shins hang.
func (s *slingSheet) person() {
	k := s.knees()
	for _, side := range []care.Side{care.Right, care.Left} {
		var shin path
		shin.move(mid-k-13, kneeY-10)
		shin.curve(mid-k-15, kneeY+40, mid-k-9, footY-30, mid-k-8, footY-16)
		shin.curve(mid-k-18, footY, mid-k-6, footY+2, mid-k, footY+2)
		shin.curve(mid-k+6, footY+2, mid-k+14, footY, mid-k+8, footY-16)
		shin.curve(mid-k+9, footY-30, mid-k+15, kneeY+40, mid-k+13, kneeY-10)
		shin.close()
		s.shape(either(side, shin), skin, dim, 1.6)
		var thigh path
		thigh.move(mid-6, hipY-6)
		thigh.line(mid-37, hipY-18)
		thigh.curve(mid-40, hipY+20, mid-k-19, kneeY-50, mid-k-18, kneeY-4)
		thigh.curve(mid-k-18, kneeY+18, mid-k+18, kneeY+18, mid-k+18, kneeY-4)
		thigh.curve(mid-k+19, kneeY-40, mid-8, hipY+30, mid-6, hipY-6)
		thigh.close()
		s.shape(either(side, thigh), skin, dim, 1.6)
		s.stroke(either(side, curved(mid-k-9, kneeY-2, mid-k-6, kneeY+5, mid-k+6, kneeY+5, mid-k+9, kneeY-2)), dim, 1.6)
	}
	var torso path
	torso.move(mid-9, headY+18)
	torso.line(mid-9, shoulderY-12)
	torso.curve(mid-30, shoulderY-8, mid-36, shoulderY, mid-36, shoulderY+18)
	torso.line(mid-36, hipY-20)
	torso.curve(mid-30, hipY+8, mid+30, hipY+8, mid+36, hipY-20)
	torso.line(mid+36, shoulderY+18)
	torso.curve(mid+36, shoulderY, mid+30, shoulderY-8, mid+9, shoulderY-12)
	torso.line(mid+9, headY+18)
	torso.close()
	s.shape(torso, skin, dim, 1.6)
	s.shape(ellipse(mid, headY, 21, 25), skin, dim, 1.6)
	s.fill(circle(mid-7.5, headY-3, 2.4), dim)
	s.fill(circle(mid+7.5, headY-3, 2.4), dim)
	s.stroke(lines(mid, headY, mid-2, headY+6, mid+1.5, headY+6), dim, 1.4)
	s.stroke(curved(mid-6, headY+12, mid-3, headY+15, mid+3, headY+15, mid+6, headY+12), dim, 1.6)
	s.arms()
	if s.in.Range.Head == "" || s.in.Transfer.Head == "" {
		s.question(mid+34, headY-26, 12)
	}
}

// arms are drawn only where the plan says where they go.
func (s *slingSheet) arms() {
	for _, side := range []care.Side{care.Right, care.Left} {
		switch s.in.Transfer.Arms {
		case care.ArmsInside:
			arm := curved(mid-28, shoulderY+10, mid-34, shoulderY+60, mid-26, shoulderY+74, mid+6, shoulderY+62)
			s.stroke(either(side, arm), dim, 14)
			s.stroke(either(side, arm), skin, 11)
		case care.ArmsOutside:
			arm := curved(mid-32, shoulderY+6, mid-62, shoulderY+24, mid-58, shoulderY+70, mid-30, hipY+20)
			s.stroke(either(side, arm), dim, 14)
			s.stroke(either(side, arm), skin, 11)
		}
	}
}

// strapTo leads a strap from a place on the cloth to the start of its ladder.
func (s *slingSheet) strapTo(p care.Point, side care.Side, x, y, c1x, c1y float64, c rgba) {
	row := s.rows[p]
	a := mid - ladderFrom
	strap := curved(x, y, c1x, c1y, a+10, row, a, row)
	s.band(either(side, strap), c, 6)
}

// legStraps leads the leg pieces as the plan says. What the thighs hide of a
// strap is dashed.
func (s *slingSheet) legStraps() {
	row := s.rows[care.LegPoint]
	k := s.knees()
	far := mid + ladderFrom
	near := mid - ladderFrom
	in := mid - k + 17 // the inner edge of the picture's left thigh
	switch s.in.Transfer.LegStraps {
	case care.LegsCrossed:
		// From beneath each thigh up between them, across one another, and over to
		// the other side.
		for i, side := range []care.Side{care.Right, care.Left} {
			s.under(side, in)
			strap := curved(in, pieceY-10, mid+2, pieceY-34, mid+18, pieceY-66, mid+36, pieceY-56)
			strap.curve(mid+50, pieceY-48, far-14, row, far, row)
			s.band(either(side, strap), []rgba{cloth2, cloth}[i], 9)
		}
	case care.LegsSeparate:
		for _, side := range []care.Side{care.Right, care.Left} {
			s.under(side, in)
			// Straight up between the thighs, and only then out to its own side.
			strap := lines(in, pieceY-10, in, hipY+10)
			strap.curve(in, hipY-14, mid-46, hipY-14, mid-48, hipY+8)
			strap.curve(mid-50, hipY+30, near+14, row, near, row)
			s.band(either(side, strap), cloth, 9)
		}
	case care.LegsUnderBoth:
		// One strap beneath both thighs from each side, out on the far side.
		for i, side := range []care.Side{care.Right, care.Left} {
			y := pieceY - 28 + 22*float64(i)
			c := []rgba{cloth2, cloth}[i]
			edge := k + 19
			s.stroke(either(side, lines(mid-edge, y, mid+edge, y)), ink, 2.5, 3, 5)
			s.band(either(side, lines(mid-k+20, y, mid+k-20, y)), c, 9)
			outer := curved(mid+edge, y, mid+edge+8, y, far-12, row, far, row)
			s.band(either(side, outer), c, 9)
		}
	case care.LegsEachOwn:
		// A ring about each thigh, its tail back to its own side.
		for _, side := range []care.Side{care.Right, care.Left} {
			s.under(side, in)
			ring := curved(in, pieceY-10, in, pieceY-46, mid-k-22, pieceY-46, mid-k-20, pieceY-18)
			ring.curve(mid-k-20, pieceY-8, near+6, row, near, row)
			s.band(either(side, ring), cloth, 9)
		}
		s.stroke(lines(mid-13, kneeY, mid+13, kneeY), ink, 3.5)
		s.stroke(lines(mid-7, kneeY-7, mid-14, kneeY, mid-7, kneeY+7), ink, 3.5)
		s.stroke(lines(mid+7, kneeY-7, mid+14, kneeY, mid+7, kneeY+7), ink, 3.5)
	default:
		for _, side := range []care.Side{care.Right, care.Left} {
			stub := curved(mid-26, pieceY-34, mid-40, pieceY-34, near+8, row, near, row)
			s.stroke(either(side, stub), ink, 2.5, 4, 5)
		}
		s.question(mid, pieceY-36, 21)
	}
}

// under dashes a leg piece beneath its own thigh, from the outer edge to the inner.
func (s *slingSheet) under(side care.Side, in float64) {
	outer := mid - s.knees() - 20
	s.stroke(either(side, curved(outer, pieceY-22, outer+6, pieceY, in-6, pieceY+2, in, pieceY-10)), ink, 2.5, 3, 5)
}

// notAlike warns that left and right differ, and marks the person's left by the
// heart.
func (s *slingSheet) notAlike() {
	y := shoulderY + 64.0
	s.shape(circle(mid, y+6, 19), paper, signal, 4)
	s.stroke(lines(mid-10, y+1, mid+10, y+1), ink, 4)
	s.stroke(lines(mid-10, y+11, mid+10, y+11), ink, 4)
	s.stroke(lines(mid+6, y-6, mid-6, y+18), ink, 4)
	x, hy := mid+17.0, shoulderY+20.0
	var p path
	p.move(x, hy+11)
	p.curve(x-18, hy-2, x-8, hy-13, x, hy-5)
	p.curve(x+8, hy-13, x+18, hy-2, x, hy+11)
	p.close()
	s.fill(p, signal)
}

// stop lies over the whole: everything below is faded, struck through from corner
// to corner, and under the eight-cornered sign with a raised hand.
func (s *slingSheet) stop() {
	for i := range s.marks {
		s.marks[i].colour = fade(s.marks[i].colour)
	}
	for _, p := range []path{lines(14, 14, slingW-14, slingH-14), lines(slingW-14, 14, 14, slingH-14)} {
		s.stroke(p, paper, 18)
		s.stroke(p, signal, 11)
	}
	s.stopSign(mid, slingH/2, 92)
}

// fade brings a colour near the paper.
func fade(c rgba) rgba {
	f := func(v uint8) uint8 { return uint8(255 - (255-int(v))*3/10) }
	return rgb(f(c.R), f(c.G), f(c.B))
}

func octagon(x, y, r float64) path {
	const c, d = 0.92388, 0.38268 // cosine and sine of 22.5 degrees
	return polygon(x+r*c, y-r*d, x+r*d, y-r*c, x-r*d, y-r*c, x-r*c, y-r*d,
		x-r*c, y+r*d, x-r*d, y+r*c, x+r*d, y+r*c, x+r*c, y+r*d)
}

func (s *sheet) stopSign(x, y, r float64) {
	s.fill(octagon(x, y, r), ink)
	s.fill(octagon(x, y, r*0.97), paper)
	s.fill(octagon(x, y, r*0.89), signal)
	u := r / 100
	// Four fingers, a thumb and a palm.
	for i, top := range []float64{-44, -58, -54, -38} {
		fx := x + (-27+18*float64(i))*u
		s.stroke(lines(fx, y+top*u, fx, y+16*u), paper, 14*u)
	}
	s.stroke(lines(x+44*u, y-4*u, x+26*u, y+30*u), paper, 14*u)
	var palm path
	palm.move(x-34*u, y+2*u)
	palm.line(x+34*u, y+2*u)
	palm.line(x+34*u, y+26*u)
	palm.curve(x+30*u, y+66*u, x-34*u, y+66*u, x-34*u, y+26*u)
	palm.close()
	s.fill(palm, paper)
}

// Void draws the stop sign alone, for the place of a picture that no longer holds.
func Void() Drawing {
	const side = 180
	s := newSheet(slingW, side)
	for _, p := range []path{lines(14, 14, slingW-14, side-14), lines(slingW-14, 14, 14, side-14)} {
		s.stroke(p, signal, 8)
	}
	s.stopSign(slingW/2, side/2, 76)
	return s.done([]Fact{{Key: FactStop}})
}
