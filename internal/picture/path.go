package picture

import (
	"math"

	"gonum.org/v1/plot/vg"
)

type point struct{ x, y float64 }

func (p point) add(q point) point           { return point{p.x + q.x, p.y + q.y} }
func (p point) sub(q point) point           { return point{p.x - q.x, p.y - q.y} }
func (p point) times(f float64) point       { return point{p.x * f, p.y * f} }
func (p point) len() float64                { return math.Hypot(p.x, p.y) }
func (p point) to(q point, f float64) point { return p.add(q.sub(p).times(f)) }

// seg is one piece of a path: a move 'M', a line 'L', a quadratic 'Q' or cubic
// 'C' curve whose last point is its end, or a close 'Z'.
type seg struct {
	op byte
	p  [3]point
}

type path []seg

func (p *path) move(x, y float64) { *p = append(*p, seg{'M', [3]point{{x, y}}}) }
func (p *path) line(x, y float64) { *p = append(*p, seg{'L', [3]point{{x, y}}}) }
func (p *path) curve(ax, ay, bx, by, x, y float64) {
	*p = append(*p, seg{'C', [3]point{{ax, ay}, {bx, by}, {x, y}}})
}
func (p *path) close() { *p = append(*p, seg{op: 'Z'}) }

// vg turns the path over into the library's axes, which grow upward from the foot
// of a sheet of that height. Coordinates keep two decimals, so that SVG is short
// and the same on every machine.
func (p path) vg(h, scale float64) vg.Path {
	at := func(q point) vg.Point {
		return vg.Point{X: vg.Length(round2(q.x * scale)), Y: vg.Length(round2(h - q.y*scale))}
	}
	out := make(vg.Path, 0, len(p))
	for _, s := range p {
		switch s.op {
		case 'M':
			out.Move(at(s.p[0]))
		case 'L':
			out.Line(at(s.p[0]))
		case 'Q':
			out.QuadTo(at(s.p[0]), at(s.p[1]))
		case 'C':
			out.CubeTo(at(s.p[0]), at(s.p[1]), at(s.p[2]))
		case 'Z':
			out.Close()
		}
	}
	return out
}

func round2(f float64) float64 { return math.Round(f*100) / 100 }

// moved gives the path scaled about the origin and then moved.
func (p path) moved(dx, dy, scale float64) path {
	out := make(path, len(p))
	for i, s := range p {
		out[i].op = s.op
		for j, q := range s.p {
			out[i].p[j] = point{q.x*scale + dx, q.y*scale + dy}
		}
	}
	return out
}

// mirrored gives the path reflected in the upright line at x.
func (p path) mirrored(x float64) path {
	out := make(path, len(p))
	for i, s := range p {
		out[i].op = s.op
		for j, q := range s.p {
			out[i].p[j] = point{2*x - q.x, q.y}
		}
	}
	return out
}

// kappa is the handle length by which four cubic curves come within 0.03 % of a circle.
const kappa = 0.5522847498

func ellipse(cx, cy, rx, ry float64) path {
	kx, ky := rx*kappa, ry*kappa
	var p path
	p.move(cx+rx, cy)
	p.curve(cx+rx, cy+ky, cx+kx, cy+ry, cx, cy+ry)
	p.curve(cx-kx, cy+ry, cx-rx, cy+ky, cx-rx, cy)
	p.curve(cx-rx, cy-ky, cx-kx, cy-ry, cx, cy-ry)
	p.curve(cx+kx, cy-ry, cx+rx, cy-ky, cx+rx, cy)
	p.close()
	return p
}

func circle(cx, cy, r float64) path { return ellipse(cx, cy, r, r) }

// rect is a rectangle with its corners rounded by r.
func rect(x, y, w, h, r float64) path {
	var p path
	if r <= 0 {
		p.move(x, y)
		p.line(x+w, y)
		p.line(x+w, y+h)
		p.line(x, y+h)
		p.close()
		return p
	}
	k := r * (1 - kappa)
	p.move(x+r, y)
	p.line(x+w-r, y)
	p.curve(x+w-k, y, x+w, y+k, x+w, y+r)
	p.line(x+w, y+h-r)
	p.curve(x+w, y+h-k, x+w-k, y+h, x+w-r, y+h)
	p.line(x+r, y+h)
	p.curve(x+k, y+h, x, y+h-k, x, y+h-r)
	p.line(x, y+r)
	p.curve(x, y+k, x+k, y, x+r, y)
	p.close()
	return p
}

// lines joins points, given as x and y in turn.
func lines(xy ...float64) path {
	var p path
	p.move(xy[0], xy[1])
	for i := 2; i+1 < len(xy); i += 2 {
		p.line(xy[i], xy[i+1])
	}
	return p
}

func polygon(xy ...float64) path {
	p := lines(xy...)
	p.close()
	return p
}

// curved is one cubic curve from a to b.
func curved(ax, ay, c1x, c1y, c2x, c2y, bx, by float64) path {
	var p path
	p.move(ax, ay)
	p.curve(c1x, c1y, c2x, c2y, bx, by)
	return p
}
