package picture

import (
	"image"
	"image/color"
	"math"
)

// A vision turns linear light as it is into linear light as it is seen.
type vision struct {
	name string
	m    [3][3]float64
}

// The matrices for full protanopia and deuteranopia are those of Machado,
// Oliveira and Fernandes 2009, "A Physiologically-based Model for Simulation of
// Color Vision Deficiency", IEEE TVCG 15(6), table for severity 1.0; they apply to
// linear sRGB. Grey is the relative luminance of WCAG 2.1.
var visions = []vision{
	{"full", [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}},
	{"grey", [3][3]float64{{0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}}},
	{"protanopia", [3][3]float64{{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}}},
	{"deuteranopia", [3][3]float64{{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}},
}

// linear undoes sRGB's transfer curve (IEC 61966-2-1).
func linear(v uint8) float64 {
	c := float64(v) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

func srgb(l float64) uint8 {
	l = min(max(l, 0), 1)
	if l <= 0.0031308 {
		return uint8(math.Round(l * 12.92 * 255))
	}
	return uint8(math.Round((1.055*math.Pow(l, 1/2.4) - 0.055) * 255))
}

func (v vision) see(c color.RGBA) [3]float64 {
	in := [3]float64{linear(c.R), linear(c.G), linear(c.B)}
	var out [3]float64
	for i := range out {
		for j := range in {
			out[i] += v.m[i][j] * in[j]
		}
		out[i] = min(max(out[i], 0), 1)
	}
	return out
}

// luminance is WCAG 2.1's relative luminance.
func luminance(l [3]float64) float64 { return 0.2126*l[0] + 0.7152*l[1] + 0.0722*l[2] }

// contrast is WCAG 2.1's contrast ratio, 1 to 21.
func contrast(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }

func (v vision) image(m *image.RGBA) *image.RGBA {
	out := image.NewRGBA(m.Bounds())
	known := map[color.RGBA]color.RGBA{}
	for i := 0; i < len(m.Pix); i += 4 {
		c := color.RGBA{m.Pix[i], m.Pix[i+1], m.Pix[i+2], 255}
		s, ok := known[c]
		if !ok {
			l := v.see(c)
			s = color.RGBA{srgb(l[0]), srgb(l[1]), srgb(l[2]), 255}
			known[c] = s
		}
		copy(out.Pix[i:], []byte{s.R, s.G, s.B, 255})
	}
	return out
}

// lab gives CIE 1976 L*a*b* under D65.
func lab(l [3]float64) [3]float64 {
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124*l[0] + 0.3576*l[1] + 0.1805*l[2]) / 0.95047)
	y := f(luminance(l))
	z := f((0.0193*l[0] + 0.1192*l[1] + 0.9505*l[2]) / 1.08883)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}
