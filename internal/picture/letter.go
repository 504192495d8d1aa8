package picture

import (
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// glyph is the outline of one letter at a size of one unit, and how far it moves on.
type glyph struct {
	outline path
	advance float64
}

// typeface draws letters as outlines. The Go font has Latin, Greek and Cyrillic.
type typeface struct {
	mu     sync.Mutex
	font   *sfnt.Font
	buf    sfnt.Buffer
	glyphs map[rune]glyph
}

var bold = sync.OnceValue(func() *typeface {
	f, err := sfnt.Parse(gobold.TTF)
	if err != nil {
		panic(err) // The font is part of the program.
	}
	return &typeface{font: f, glyphs: map[rune]glyph{}}
})

// glyph gives a letter, or false where the font has none. What it keeps is bounded
// by the letters of the font.
func (t *typeface) glyph(r rune) (glyph, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if g, ok := t.glyphs[r]; ok {
		return g, true
	}
	i, err := t.font.GlyphIndex(&t.buf, r)
	if err != nil || i == 0 {
		return glyph{}, false
	}
	const em = 1000
	segs, err := t.font.LoadGlyph(&t.buf, i, fixed.I(em), nil)
	if err != nil {
		return glyph{}, false
	}
	at := func(p fixed.Point26_6) point { return point{float64(p.X) / 64 / em, float64(p.Y) / 64 / em} }
	var g glyph
	for _, s := range segs {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if len(g.outline) > 0 {
				g.outline.close()
			}
			g.outline = append(g.outline, seg{'M', [3]point{at(s.Args[0])}})
		case sfnt.SegmentOpLineTo:
			g.outline = append(g.outline, seg{'L', [3]point{at(s.Args[0])}})
		case sfnt.SegmentOpQuadTo:
			g.outline = append(g.outline, seg{'Q', [3]point{at(s.Args[0]), at(s.Args[1])}})
		case sfnt.SegmentOpCubeTo:
			g.outline = append(g.outline, seg{'C', [3]point{at(s.Args[0]), at(s.Args[1]), at(s.Args[2])}})
		}
	}
	if len(g.outline) > 0 {
		g.outline.close()
	}
	adv, err := t.font.GlyphAdvance(&t.buf, i, fixed.I(em), font.HintingNone)
	if err != nil {
		return glyph{}, false
	}
	g.advance = float64(adv) / 64 / em
	t.glyphs[r] = g
	return g, true
}

// lettering is a text set at a size of one unit.
type lettering struct {
	outline path
	width   float64
}

// letters sets a text, or reports false where the font lacks one of its letters.
// A script that joins or reorders its letters is among those the font lacks.
func letters(s string) (lettering, bool) {
	var out lettering
	t := bold()
	for _, r := range s {
		g, ok := t.glyph(r)
		if !ok {
			return lettering{}, false
		}
		out.outline = append(out.outline, g.outline.moved(out.width, 0, 1)...)
		out.width += g.advance
	}
	return out, true
}

// capital is the height of a capital letter or a figure for a size of one unit.
const capital = 0.72

// write sets a text about its middle, capital letters centred on y. It is for
// figures and signs the font has.
func (s *sheet) write(text string, x, y, size float64, c rgba) {
	l, ok := letters(text)
	if !ok {
		panic("picture: the font lacks a letter of " + text)
	}
	s.fill(l.outline.moved(x-l.width*size/2, y+capital*size/2, size), c)
}
