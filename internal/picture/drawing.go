package picture

import (
	"bytes"
	"fmt"
	"html"
	"image"
	"image/color"
	"image/draw"
	"math"
	"strings"
	"sync"

	"git.sr.ht/~sbinet/gg"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Drawing is a finished picture on paper of its own, so that a dark theme does
// not swallow it. It never changes and may be used from many goroutines.
type Drawing struct {
	w, h  float64
	marks []mark
	// Alt holds what the picture shows, in the order in which a text alternative
	// tells it.
	Alt []Fact
}

// mark is one filled or stroked path. Its coordinates grow to the right and down.
type mark struct {
	path   path
	colour color.RGBA
	// width is zero for a fill.
	width float64
	dash  []float64
}

// Size gives the drawing's size in CSS pixels. Its width is that of a phone.
func (d Drawing) Size() (w, h float64) { return d.w, d.h }

// SVG gives the drawing as an svg element that stands alone or inside a page. It
// has no style attributes and no ids, so that it passes a strict content policy
// and may occur many times in one page. A label, if given, is what a screen
// reader says; without one the drawing is hidden from it, since the words beside
// the picture say everything.
func (d Drawing) SVG(label string) []byte {
	c := vgsvg.New(vg.Length(d.w), vg.Length(d.h))
	for _, m := range d.marks {
		m.on(c, d.h, 1)
	}
	var raw bytes.Buffer
	if _, err := c.WriteTo(&raw); err != nil {
		panic(err) // A bytes.Buffer takes every write.
	}
	body := raw.String()
	if i := strings.Index(body, "<g "); i >= 0 {
		body = body[i:]
	}
	who := `aria-hidden="true"`
	if label != "" {
		who = `role="img" aria-label="` + html.EscapeString(label) + `"`
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" width="%g" height="%g" stroke-linejoin="round" stroke-linecap="round" %s>`+"\n", d.w, d.h, d.w, d.h, who)
	// The library writes style="fill:#fff;..."; the same as attributes needs no
	// permission for inline style.
	for {
		i := strings.Index(body, `style="`)
		if i < 0 {
			break
		}
		n := strings.IndexByte(body[i+7:], '"')
		out.WriteString(strings.TrimRight(body[:i], " \n\t"))
		for _, pair := range strings.Split(body[i+7:i+7+n], ";") {
			if k, v, ok := strings.Cut(pair, ":"); ok {
				fmt.Fprintf(&out, ` %s="%s"`, k, v)
			}
		}
		body = body[i+8+n:]
	}
	out.WriteString(body)
	return out.Bytes()
}

// The widths in pixels that PNG draws. PhoneWidth is sharp on a phone and small on
// the wire.
const (
	MinWidth   = 120
	PhoneWidth = 720
	MaxWidth   = 2400
)

// PNG gives the drawing as a PNG of that many pixels across with a palette of at
// most 256 colours, which keeps it small. The width is kept within MinWidth and
// MaxWidth.
func (d Drawing) PNG(widthPx int) ([]byte, error) {
	b := canvases.Get().(*[]byte)
	defer canvases.Put(b)
	return encode(d.draw(widthPx, b), d.colours())
}

// canvases lets the pixels of one picture serve the next: a coordinator's change
// may draw hundreds, and each takes over a megabyte.
var canvases = sync.Pool{New: func() any { return new([]byte) }}

func (d Drawing) draw(widthPx int, pix *[]byte) *image.RGBA {
	widthPx = min(max(widthPx, MinWidth), MaxWidth)
	scale := float64(widthPx) / d.w
	bounds := image.Rect(0, 0, widthPx, int(math.Ceil(d.h*scale)))
	if n := 4 * bounds.Dx() * bounds.Dy(); cap(*pix) < n {
		*pix = make([]byte, n)
	} else {
		*pix = (*pix)[:n]
	}
	img := &image.RGBA{Pix: *pix, Stride: 4 * bounds.Dx(), Rect: bounds}
	ctx := gg.NewContextForRGBA(img)
	ctx.SetLineCapRound()
	ctx.SetLineJoinRound()
	ctx.InvertY()
	// At 72 dots to the inch one of vg's points is one pixel.
	c := vgimg.NewWith(vgimg.UseImageWithContext(draw.Image(img), ctx), vgimg.UseDPI(72))
	for _, m := range d.marks[1:] { // The library has laid the paper.
		m.on(c, float64(img.Bounds().Dy()), scale)
	}
	return img
}

// colours lists the distinct colours in the order of first use.
func (d Drawing) colours() []color.RGBA {
	seen := map[color.RGBA]bool{}
	var out []color.RGBA
	for _, m := range d.marks {
		if !seen[m.colour] {
			seen[m.colour] = true
			out = append(out, m.colour)
		}
	}
	return out
}

func (m mark) on(c vg.Canvas, h, scale float64) {
	c.SetColor(m.colour)
	p := m.path.vg(h, scale)
	if m.width == 0 {
		c.Fill(p)
		return
	}
	dash := make([]vg.Length, len(m.dash))
	for i, x := range m.dash {
		dash[i] = vg.Length(x * scale)
	}
	c.SetLineWidth(vg.Length(m.width * scale))
	c.SetLineDash(dash, 0)
	c.Stroke(p)
}

// sheet collects the marks of a drawing while it is made.
type sheet struct {
	w, h  float64
	marks []mark
}

func newSheet(w, h float64) *sheet {
	s := &sheet{w: w, h: h}
	// A keyline shows where the paper ends on a page as white as itself.
	s.fill(rect(0, 0, w, h, 0), paper)
	s.stroke(rect(1, 1, w-2, h-2, 8), faint, 1)
	return s
}

func (s *sheet) fill(p path, c color.RGBA) { s.marks = append(s.marks, mark{path: p, colour: c}) }

func (s *sheet) stroke(p path, c color.RGBA, width float64, dash ...float64) {
	s.marks = append(s.marks, mark{path: p, colour: c, width: width, dash: dash})
}

// shape fills and outlines.
func (s *sheet) shape(p path, fill, line color.RGBA, width float64) {
	s.fill(p, fill)
	s.stroke(p, line, width)
}

// band strokes a strap: webbing with a dark edge on either side.
func (s *sheet) band(p path, fill color.RGBA, width float64, dash ...float64) {
	s.stroke(p, ink, width+2.5, dash...)
	s.stroke(p, fill, width, dash...)
}

func (s *sheet) done(alt []Fact) Drawing { return Drawing{w: s.w, h: s.h, marks: s.marks, Alt: alt} }
