package picture

import (
	"math"
	"strconv"

	"samelift/internal/care"
)

// cell is where one loop and its number stand.
type cell struct {
	point  care.Point
	side   care.Side
	n      int
	marked bool
	x, y   float64
	width  float64
}

// ladder is one strap with its loops from the shortest, next to the sling, to the
// longest. The loop to take hangs on a hook, is large, and has its number on a
// dark plate.
func (s *slingSheet) ladder(p care.Point, side care.Side, loops []care.Loop, take int) {
	row := s.rows[p]
	switch p {
	case care.ShoulderPoint:
		s.strapTo(p, side, mid-44, shoulderY, mid-52, shoulderY-6, cloth)
	case care.HipPoint:
		s.strapTo(p, side, mid-50, hipY-6, mid-56, hipY-8, cloth)
	}
	if len(loops) == 0 {
		s.clip(side, row)
		return
	}
	const wide = 40.0
	room := ladderTo - ladderFrom
	each := room / float64(len(loops))
	if take > 0 && len(loops) > 1 {
		each = min(each, (room-wide)/float64(len(loops)-1))
	}
	// Whole pixels of a phone's picture, so that like loops make like pixels, which
	// pack well.
	each = math.Floor(2*min(each, 30)) / 2
	// Webbing runs to the last loop.
	total := each * float64(len(loops))
	if take > 0 {
		total += max(0, wide-each)
	}
	far := ladderFrom + total - each/2
	s.band(lines(out(side, ladderFrom), row, out(side, far), row), cloth, 6)
	d := ladderFrom
	for i, l := range loops {
		w := each
		if i+1 == take {
			w = max(wide, each)
		}
		c := cell{point: p, side: side, n: i + 1, marked: i+1 == take, x: out(side, d+w/2), y: row, width: w}
		s.cells = append(s.cells, c)
		if c.marked {
			s.taken(c, l)
		} else {
			s.spare(c, l)
		}
		d += w
	}
	if take == 0 {
		s.question(out(side, ladderFrom+total/2), row-30, 15)
	}
}

// numberY is how far below a loop the middle of its number stands.
const numberY = 36.0

// spare is a loop that is not to be taken: small, thin, its number plain.
func (s *slingSheet) spare(c cell, l care.Loop) {
	r := min(8.5, c.width/2-1.5)
	s.ring(c.x, c.y, r, 3.5, l)
	// Where loops are many their numbers stand by turns in two lines, to stay legible.
	y, room := c.y+numberY, c.width
	if c.width < 14 {
		room *= 2
		y += 7 * float64(c.n%2*2-1)
	}
	s.write(strconv.Itoa(c.n), c.x, y, min(17, room*0.92, 14+max(0, c.width-14)), dim)
}

// taken is the loop to take: on a hook, large, its number on a dark plate.
func (s *slingSheet) taken(c cell, l care.Loop) {
	s.ring(c.x, c.y, 13.5, 8, l)
	// The hook comes down from the bar and through the loop.
	s.stroke(lines(c.x-14, c.y-44, c.x+14, c.y-44), ink, 6)
	hook := lines(c.x, c.y-42, c.x, c.y-2)
	hook.curve(c.x, c.y+7, c.x-9, c.y+6, c.x-9, c.y-3)
	s.stroke(hook, paper, 7.5)
	s.stroke(hook, ink, 4.5)
	s.fill(rect(c.x-16, c.y+numberY-16, 32, 32, 6), ink)
	s.write(strconv.Itoa(c.n), c.x, c.y+numberY, 27, paper)
}

// ring draws a loop in the range's colour between two dark edges. A word that is
// no known colour gives stripes, no word at all a blank.
func (s *slingSheet) ring(x, y, r, width float64, l care.Loop) {
	outer, inner := r+width/2, r-width/2
	if l.Colour == "" {
		s.fill(circle(x, y, outer), paper)
		s.stroke(circle(x, y, inner-0.6), ink, 1.3)
		s.stroke(circle(x, y, outer+0.6), ink, 1.5, 2, 3.2)
		return
	}
	c, known := loopColours[l.Colour]
	if !known {
		c = paper
	}
	s.fill(circle(x, y, outer+1.3), ink)
	s.fill(circle(x, y, outer), c)
	if !known {
		s.stroke(circle(x, y, r), ink, width, 0.1, width*1.6)
	}
	s.fill(circle(x, y, inner), ink)
	s.fill(circle(x, y, inner-1.3), paper)
}

// clip is a plate with a keyhole: there is no loop to choose.
func (s *slingSheet) clip(side care.Side, row float64) {
	x := out(side, ladderFrom+34)
	s.band(lines(out(side, ladderFrom), row, out(side, ladderFrom+18), row), cloth, 6)
	s.shape(rect(x-18, row-24, 36, 48, 10), paper, ink, 3)
	s.fill(circle(x, row+8, 8), ink)
	s.fill(rect(x-3.5, row-16, 7, 22, 3.5), ink)
}
