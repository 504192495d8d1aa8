package picture

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"slices"
	"sync"
)

// buffers lets one encoder's memory serve the next picture.
type buffers struct{ pool sync.Pool }

func (b *buffers) Get() *png.EncoderBuffer {
	e, _ := b.pool.Get().(*png.EncoderBuffer)
	return e
}

func (b *buffers) Put(e *png.EncoderBuffer) { b.pool.Put(e) }

var encoder = png.Encoder{CompressionLevel: png.DefaultCompression, BufferPool: &buffers{}}

// encode reduces an image to a palette and encodes it. The drawing's own colours
// are kept exactly; the blends along edges share what room is left, the most
// frequent first.
func encode(img *image.RGBA, own []color.RGBA) ([]byte, error) {
	p := image.NewPaletted(img.Bounds(), nil)
	index := reduce(img, own, p)
	p.Palette = index
	var out bytes.Buffer
	if err := encoder.Encode(&out, p); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// run counts the pixels at the start of pix that are alike.
func run(pix []byte) int {
	first := binary.LittleEndian.Uint32(pix)
	i := 4
	if len(pix) >= 8 && binary.LittleEndian.Uint32(pix[4:]) != first {
		return 1
	}
	for two := uint64(first)<<32 | uint64(first); i+8 <= len(pix) && binary.LittleEndian.Uint64(pix[i:]) == two; {
		i += 8
	}
	if i+4 <= len(pix) && binary.LittleEndian.Uint32(pix[i:]) == first {
		i += 4
	}
	return i / 4
}

// key keeps the five highest bits of each channel.
func key(r, g, b uint8) int { return int(r>>3)<<10 | int(g>>3)<<5 | int(b>>3) }

func reduce(img *image.RGBA, own []color.RGBA, out *image.Paletted) color.Palette {
	var palette []color.RGBA
	var taken [1 << 15]bool
	var nearest [1 << 15]uint8
	for _, c := range own {
		if k := key(c.R, c.G, c.B); !taken[k] && len(palette) < 128 {
			taken[k], nearest[k] = true, uint8(len(palette))
			palette = append(palette, c)
		}
	}
	// Most of a drawing is runs of one colour, which are taken as one.
	var count [1 << 15]int32
	pix := img.Pix
	for i := 0; i < len(pix); {
		n := run(pix[i:])
		count[key(pix[i], pix[i+1], pix[i+2])] += int32(n)
		i += 4 * n
	}
	var used []int
	for k, n := range count {
		if n > 0 {
			used = append(used, k)
		}
	}
	slices.SortFunc(used, func(a, b int) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b))
	})
	for _, k := range used {
		if len(palette) >= len(own)+blends {
			break
		}
		if !taken[k] {
			palette = append(palette, color.RGBA{up(k >> 10), up(k >> 5), up(k), 255})
		}
	}
	for _, k := range used {
		if !taken[k] {
			nearest[k] = closest(palette, up(k>>10), up(k>>5), up(k))
		}
	}
	for i, j := 0, 0; i < len(pix); {
		n := run(pix[i:])
		at := nearest[key(pix[i], pix[i+1], pix[i+2])]
		for end := j + n; j < end; j++ {
			out.Pix[j] = at
		}
		i += 4 * n
	}
	full := make(color.Palette, len(palette))
	for i, c := range palette {
		full[i] = c
	}
	return full
}

// blends is how many palette entries serve the edges. Fewer make a smaller file;
// more make smoother edges.
const blends = 32

func up(five int) uint8 { five &= 31; return uint8(five<<3 | five>>2) }

func closest(palette []color.RGBA, r, g, b uint8) uint8 {
	best, at := 1<<30, 0
	for i, c := range palette {
		dr, dg, db := int(c.R)-int(r), int(c.G)-int(g), int(c.B)-int(b)
		if d := 3*dr*dr + 4*dg*dg + 2*db*db; d < best {
			best, at = d, i
		}
	}
	return uint8(at)
}
