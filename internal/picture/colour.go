package picture

import "image/color"

type rgba = color.RGBA

func rgb(r, g, b uint8) rgba { return rgba{R: r, G: g, B: b, A: 255} }

// The colours of the drawing itself: greys and two signal colours, so that the
// only other colours are those of the range's own loops.
var (
	paper  = rgb(255, 255, 255)
	ink    = rgb(20, 20, 20)
	dim    = rgb(96, 96, 96)
	faint  = rgb(170, 170, 170)
	skin   = rgb(236, 232, 226)
	cloth  = rgb(196, 206, 214)
	cloth2 = rgb(134, 150, 164)
	signal = rgb(190, 20, 30)
)

// loopColours gives each colour of care.Colours a fixed look. They are spread in
// lightness as well as in hue, so that as many as can be stay apart in grey. They
// are plain colours, not those of any maker.
var loopColours = map[string]rgba{
	"red":       rgb(214, 30, 38),
	"orange":    rgb(246, 134, 18),
	"yellow":    rgb(252, 222, 40),
	"green":     rgb(24, 132, 50),
	"blue":      rgb(30, 100, 220),
	"purple":    rgb(120, 40, 150),
	"pink":      rgb(248, 150, 190),
	"brown":     rgb(120, 72, 30),
	"black":     rgb(26, 26, 26),
	"white":     rgb(255, 255, 255),
	"grey":      rgb(140, 140, 140),
	"teal":      rgb(0, 112, 118),
	"turquoise": rgb(70, 210, 206),
	"navy":      rgb(18, 32, 92),
}
