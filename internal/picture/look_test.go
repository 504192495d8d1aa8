package picture

import (
	"image"
	"math"
	"runtime"
	"strconv"
	"testing"

	"samelift/internal/care"
)

// Ink and signal stand out from the paper, however they are seen: 3 to 1 for
// shapes and 4.5 to 1 for figures (WCAG 2.1, 1.4.11 and 1.4.3).
func TestSignsStandOut(t *testing.T) {
	for _, v := range visions {
		p := luminance(v.see(paper))
		for name, c := range map[string]struct {
			colour rgba
			least  float64
		}{"ink": {ink, 4.5}, "plain numbers": {dim, 4.5}, "signal": {signal, 3}} {
			if got := contrast(p, luminance(v.see(c.colour))); got < c.least {
				t.Errorf("%s on paper, %s: %.2f, want %.1f", name, v.name, got, c.least)
			}
		}
	}
}

// The loop to take and those beside it differ in lightness by WCAG 2.1's contrast
// for things that are not text, 3 to 1 (success criterion 1.4.11), whatever their
// colours and however they are seen. It is measured on the pixels of the plate
// with the number.
func TestSlingMarkedStandsOut(t *testing.T) {
	for _, pair := range allPairs(care.Colours) {
		in := fourPoint()
		in.Range.Points[0].Loops = loops(pair[0], pair[1], pair[0])
		in.Transfer.Loops[0].Left, in.Transfer.Loops[0].Right = 2, 2
		s := layoutSling(in)
		img := s.done(nil).draw(360, new([]byte))
		for _, v := range visions {
			marked, plain := math.Inf(-1), math.Inf(1)
			for _, c := range s.cells {
				l := mean(v, img, c.x, c.y+numberY, 14)
				if c.marked {
					marked = max(marked, l)
				} else {
					plain = min(plain, l)
				}
			}
			if got := contrast(marked, plain); got < 3 || marked > plain {
				t.Fatalf("%s beside %s, %s: contrast %.2f, want 3 or more", pair[1], pair[0], v.name, got)
			}
		}
	}
}

func allPairs(words []string) [][2]string {
	var out [][2]string
	for _, a := range words {
		for _, b := range words {
			out = append(out, [2]string{a, b})
		}
	}
	if testing.Short() {
		return out[:20]
	}
	return out
}

// mean is the mean luminance of a square about a place.
func mean(v vision, m *image.RGBA, x, y, half float64) float64 {
	sum, n := 0.0, 0
	for py := int(y - half); py <= int(y+half); py++ {
		for px := int(x - half); px <= int(x+half); px++ {
			sum += luminance(v.see(m.RGBAAt(px, py)))
			n++
		}
	}
	return sum / float64(n)
}

// Every colour of care has a look, and no two look alike to full colour vision:
// a CIE 1976 difference of 20 is ten times what is just noticeable (about 2.3,
// Mahy, Van Eycken and Oosterlinck 1994; from memory, unverified).
func TestLoopColoursStayApart(t *testing.T) {
	if len(loopColours) != len(care.Colours) {
		t.Errorf("%d looks for %d colours", len(loopColours), len(care.Colours))
	}
	for i, a := range care.Colours {
		ca, ok := loopColours[a]
		if !ok {
			t.Errorf("%s has no look", a)
		}
		for _, b := range care.Colours[:i] {
			x, y := lab(visions[0].see(ca)), lab(visions[0].see(loopColours[b]))
			if d := math.Sqrt((x[0]-y[0])*(x[0]-y[0]) + (x[1]-y[1])*(x[1]-y[1]) + (x[2]-y[2])*(x[2]-y[2])); d < 20 {
				t.Errorf("%s and %s differ by %.1f only", a, b, d)
			}
		}
	}
}

func BenchmarkSlingPNGFour(b *testing.B) { benchmarkPNG(b, fourPoint()) }

func BenchmarkSlingPNGSix(b *testing.B) { benchmarkPNG(b, sixPoint()) }

func benchmarkPNG(b *testing.B, in SlingInput) {
	b.ReportAllocs()
	size := 0
	for b.Loop() {
		d, err := Sling(in)
		if err != nil {
			b.Fatal(err)
		}
		p, err := d.PNG(PhoneWidth)
		if err != nil {
			b.Fatal(err)
		}
		size = len(p)
	}
	b.ReportMetric(float64(size), "bytes/picture")
}

func BenchmarkSlingSVG(b *testing.B) {
	in := sixPoint()
	b.ReportAllocs()
	for b.Loop() {
		d, err := Sling(in)
		if err != nil {
			b.Fatal(err)
		}
		d.SVG("")
	}
}

// BenchmarkSlingMemory reports the heap that stays in use after its pictures; run
// it with -benchtime 10000x.
func BenchmarkSlingMemory(b *testing.B) {
	heap := func() float64 {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc)
	}
	in := sixPoint()
	one := func(i int) {
		in.Transfer.Label = "S-" + strconv.Itoa(i)
		d, err := Sling(in)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := d.PNG(360); err != nil {
			b.Fatal(err)
		}
	}
	one(0)
	before := heap()
	for i := range b.N {
		one(i)
	}
	b.ReportMetric(heap()-before, "heap-bytes-kept")
}
