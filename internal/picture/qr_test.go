package picture

import (
	"strings"
	"testing"

	"github.com/skip2/go-qrcode"
)

// Each module of the code is where the library put it, and the quiet zone of four
// modules that ISO/IEC 18004 asks for is there (from memory, unverified).
func TestQRModules(t *testing.T) {
	const text = "https://example.org/p/7Q2?v=12"
	d, err := QR(text)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qrcode.New(text, qrcode.High)
	if err != nil {
		t.Fatal(err)
	}
	rows := code.Bitmap()
	const px = 8
	img := d.draw(px*len(rows), new([]byte))
	for y, row := range rows {
		for x, dark := range row {
			if got := img.RGBAAt(x*px+px/2, y*px+px/2).R < 128; got != dark {
				t.Fatalf("module %d, %d: dark %v, want %v", x, y, got, dark)
			}
			if dark && (x < 4 || y < 4 || x >= len(rows)-4 || y >= len(rows)-4) {
				t.Fatalf("module %d, %d lies in the quiet zone", x, y)
			}
		}
	}
}

func TestQRRefuses(t *testing.T) {
	for _, text := range []string{"", strings.Repeat("x", 301)} {
		if _, err := QR(text); err == nil {
			t.Errorf("a text of %d bytes was drawn", len(text))
		}
	}
}
