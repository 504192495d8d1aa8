package picture

import (
	"github.com/skip2/go-qrcode"
)

// QR draws a text as a QR code with its quiet zone, for a sheet on paper. A
// quarter of the code may be spoilt and it still reads (level Q), since a sheet by
// a bed gets splashed. The error is BadData for an empty text and TooMany for one
// over 300 bytes, whose code would be too fine for a phone.
func QR(text string) (Drawing, error) {
	if text == "" {
		return Drawing{}, &Refusal{Reason: BadData}
	}
	if len(text) > 300 {
		return Drawing{}, &Refusal{Reason: TooMany}
	}
	code, err := qrcode.New(text, qrcode.High)
	if err != nil {
		return Drawing{}, &Refusal{Reason: BadData}
	}
	rows := code.Bitmap() // with a quiet zone of four
	n := float64(len(rows))
	s := &sheet{w: n * 4, h: n * 4}
	s.fill(rect(0, 0, s.w, s.h, 0), paper)
	var p path
	for y, row := range rows {
		for x := 0; x < len(row); x++ {
			from := x
			for x < len(row) && row[x] {
				x++
			}
			if x > from {
				p = append(p, rect(float64(from)*4, float64(y)*4, float64(x-from)*4, 4, 0)...)
			}
		}
	}
	s.fill(p, rgb(0, 0, 0))
	return s.done(nil), nil
}
