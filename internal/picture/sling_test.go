package picture

import (
	"bytes"
	"errors"
	"flag"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/care"
)

var update = flag.Bool("update", false, "accept new drawings")

// A plan that does not fit its range gives no picture and says why.
func TestSlingRefuses(t *testing.T) {
	cases := []struct {
		says string
		with func(*SlingInput)
		want Refusal
	}{
		{"another range is given than the plan names", func(in *SlingInput) { in.Range.Ref = "other" }, Refusal{Reason: WrongRange}},
		{"the plan names no range", func(in *SlingInput) { in.Range.Ref, in.Transfer.Range = "", "" }, Refusal{Reason: WrongRange}},
		{"a plan counts to the fourth of three loops", func(in *SlingInput) { in.Transfer.Loops[0].Left = 4 }, Refusal{NoSuchLoop, care.ShoulderPoint, 4, 3}},
		{"only the right side is counted too far", func(in *SlingInput) { in.Transfer.Loops[1].Right = 5 }, Refusal{NoSuchLoop, care.LegPoint, 5, 4}},
		{"a loop is counted below one", func(in *SlingInput) { in.Transfer.Loops[0].Right = -1 }, Refusal{NoSuchLoop, care.ShoulderPoint, -1, 3}},
		{"the plan has hip loops, the sling four points", func(in *SlingInput) {
			in.Transfer.Loops = append(in.Transfer.Loops, care.PointLoops{Point: care.HipPoint, Left: 1, Right: 1})
		}, Refusal{NoSuchPoint, care.HipPoint, 0, 0}},
		{"the plan speaks of an unknown point", func(in *SlingInput) { in.Transfer.Loops[0].Point = "elbow" }, Refusal{NoSuchPoint, "elbow", 0, 0}},
		{"the plan tells one point twice", func(in *SlingInput) { in.Transfer.Loops[1].Point = care.ShoulderPoint }, Refusal{TwiceTold, care.ShoulderPoint, 0, 0}},
		{"the range tells one point twice", func(in *SlingInput) { in.Range.Points[1].Point = care.ShoulderPoint }, Refusal{TwiceTold, care.ShoulderPoint, 0, 0}},
		{"the size left the range after the plan was written", func(in *SlingInput) { in.Transfer.Size = "S9" }, Refusal{Reason: NoSuchSize}},
		{"the leg straps may not be led so with this range", func(in *SlingInput) { in.Range.LegStraps = []care.LegStraps{care.LegsSeparate} }, Refusal{Reason: NoSuchLegStraps}},
		{"a way to lead leg straps nobody drew", func(in *SlingInput) {
			in.Transfer.LegStraps = "knotted"
			in.Range.LegStraps = append(in.Range.LegStraps, "knotted")
		}, Refusal{Reason: NoSuchLegStraps}},
		{"the head must be supported and the sling does not", func(in *SlingInput) { in.Range.Head = care.No }, Refusal{Reason: NoHeadSupport}},
		{"ten loops at a point cannot be drawn", func(in *SlingInput) { in.Range.Points[0].Loops = make([]care.Loop, 10) }, Refusal{TooMany, care.ShoulderPoint, 0, 10}},
		{"a loop sling without loops at the leg", func(in *SlingInput) { in.Range.Points[1].Loops = nil }, Refusal{NoLoops, care.LegPoint, 0, 0}},
		{"a clip sling with loops", func(in *SlingInput) { in.Range.Attachment = care.ClipAttachment }, Refusal{NotDrawn, care.ShoulderPoint, 0, 0}},
		{"neither loops nor clips", func(in *SlingInput) { in.Range.Attachment = "" }, Refusal{Reason: NotDrawn}},
		{"a standing sling", func(in *SlingInput) { in.Range.Kind = care.StandingSling }, Refusal{Reason: NotDrawn}},
		{"a sling with shoulder points only", func(in *SlingInput) {
			in.Range.Points, in.Transfer.Loops = in.Range.Points[:1], in.Transfer.Loops[:1]
		}, Refusal{Reason: NotDrawn}},
		{"a sling with a point nobody knows", func(in *SlingInput) {
			in.Range.Points = append(in.Range.Points, care.RangePoint{Point: "elbow", Loops: loops("red")})
		}, Refusal{Reason: NotDrawn}},
		{"a code for head support that nobody knows", func(in *SlingInput) { in.Range.Head = "perhaps" }, Refusal{Reason: NotDrawn}},
		{"a place for the arms that nobody knows", func(in *SlingInput) { in.Transfer.Arms = "akimbo" }, Refusal{Reason: NotDrawn}},
		{"a crew of ten", func(in *SlingInput) { in.Transfer.Carers = 10 }, Refusal{Reason: TooMany}},
		{"a crew below nobody", func(in *SlingInput) { in.Transfer.Carers = -1 }, Refusal{Reason: TooMany}},
	}
	for _, c := range cases {
		in := fourPoint()
		c.with(&in)
		d, err := Sling(in)
		var r *Refusal
		if !errors.As(err, &r) {
			t.Errorf("%s: got a picture", c.says)
			continue
		}
		if r.Reason != c.want.Reason || r.Point != c.want.Point || r.N != c.want.N || c.want.Of != 0 && r.Of != c.want.Of {
			t.Errorf("%s: got %+v, want %+v", c.says, *r, c.want)
		}
		if len(d.marks) != 0 {
			t.Errorf("%s: a refusal came with marks", c.says)
		}
	}
}

// Odd ranges that have a true picture get one.
func TestSlingDraws(t *testing.T) {
	cases := []struct {
		says string
		with func(*SlingInput)
	}{
		{"one loop", func(in *SlingInput) {
			in.Range.Points[0].Loops = loops("red")
		}},
		{"seven loops", func(in *SlingInput) { in.Range.Points[0].Loops = make([]care.Loop, 7) }},
		{"nine loops, the last to be taken", func(in *SlingInput) {
			in.Range.Points[1].Loops = make([]care.Loop, MostLoops)
			in.Transfer.Loops[1].Left, in.Transfer.Loops[1].Right = MostLoops, MostLoops
		}},
		{"two loops of one colour", func(in *SlingInput) { in.Range.Points[0].Loops = loops("red", "red", "blue") }},
		{"an unknown colour word", func(in *SlingInput) { in.Range.Points[0].Loops = loops("mauve with spots", "red") }},
		{"no colour", func(in *SlingInput) { in.Range.Points[0].Loops = loops("", "", "") }},
		{"a plan without loops", func(in *SlingInput) { in.Transfer.Loops = nil }},
		{"nothing stated", func(in *SlingInput) { in.Transfer = care.Transfer{Range: in.Range.Ref} }},
		{"a very long label", func(in *SlingInput) { in.Transfer.Label = "S-014-0000000000000000000000000000000000000000" }},
		{"a label in a script the font lacks", func(in *SlingInput) { in.Transfer.Label = "吊带" }},
		{"a label of spaces", func(in *SlingInput) { in.Transfer.Label = "   " }},
		{"a label that would be markup", func(in *SlingInput) { in.Transfer.Label = `"><script>` }},
	}
	for _, c := range cases {
		in := fourPoint()
		c.with(&in)
		d, err := Sling(in)
		if err != nil {
			t.Errorf("%s: %v", c.says, err)
			continue
		}
		if b, err := d.PNG(360); err != nil || len(b) == 0 {
			t.Errorf("%s: no PNG: %v", c.says, err)
		}
		if svg := d.SVG(""); bytes.Contains(svg, []byte("NaN")) || bytes.Contains(svg, []byte("style=")) || bytes.Contains(svg, []byte("<text")) || bytes.Contains(svg, []byte("script")) {
			t.Errorf("%s: the SVG has what it must not have", c.says)
		}
	}
}

// The facts tell what the picture shows, stated or not, in the order of reading.
func TestSlingFacts(t *testing.T) {
	in := fourPoint()
	in.Stopped = true
	in.Transfer.Loops[1] = care.PointLoops{Point: care.LegPoint, Left: 2, Right: 0}
	in.Transfer.Carers = 0
	d, err := Sling(in)
	if err != nil {
		t.Fatal(err)
	}
	want := []Fact{
		{Key: FactStop},
		{Key: FactSize, Word: "M2"},
		{Key: FactLabel, Word: "S-014"},
		{Key: FactCarers},
		{Key: FactHead, Word: "yes"},
		{Key: FactHeadNeed, Word: "yes"},
		{Key: FactLoop, Point: care.ShoulderPoint, Side: care.BothSides, N: 1, Of: 3, Word: "teal"},
		{Key: FactDiffer, Point: care.LegPoint},
		{Key: FactLoop, Point: care.LegPoint, Side: care.Left, N: 2, Of: 4, Word: "pink"},
		{Key: FactLoop, Point: care.LegPoint, Side: care.Right, N: 0, Of: 4},
		{Key: FactLegStraps, Word: "crossed"},
		{Key: FactArms},
	}
	if !reflect.DeepEqual(d.Alt, want) {
		t.Errorf("got  %+v\nwant %+v", d.Alt, want)
	}
}

// What differs in the plan differs in the picture, and the picture of one plan is
// always the same.
func TestSlingTellsApart(t *testing.T) {
	changes := map[string]func(*SlingInput){
		"as it is":       func(*SlingInput) {},
		"shoulder loop":  func(in *SlingInput) { in.Transfer.Loops[0].Left, in.Transfer.Loops[0].Right = 2, 2 },
		"left only":      func(in *SlingInput) { in.Transfer.Loops[0].Left = 2 },
		"right only":     func(in *SlingInput) { in.Transfer.Loops[0].Right = 2 },
		"not stated":     func(in *SlingInput) { in.Transfer.Loops = in.Transfer.Loops[:1] },
		"separate":       func(in *SlingInput) { in.Transfer.LegStraps = care.LegsSeparate },
		"under both":     func(in *SlingInput) { in.Transfer.LegStraps = care.LegsUnderBoth },
		"each own":       func(in *SlingInput) { in.Transfer.LegStraps = care.LegsEachOwn },
		"straps unsaid":  func(in *SlingInput) { in.Transfer.LegStraps = "" },
		"no head piece":  func(in *SlingInput) { in.Range.Head, in.Transfer.Head = care.No, care.No },
		"head unsaid":    func(in *SlingInput) { in.Transfer.Head = "" },
		"three carers":   func(in *SlingInput) { in.Transfer.Carers = 3 },
		"carers unsaid":  func(in *SlingInput) { in.Transfer.Carers = 0 },
		"size":           func(in *SlingInput) { in.Transfer.Size = "XL" },
		"label":          func(in *SlingInput) { in.Transfer.Label = "S-015" },
		"stopped":        func(in *SlingInput) { in.Stopped = true },
		"arms inside":    func(in *SlingInput) { in.Transfer.Arms = care.ArmsInside },
		"arms outside":   func(in *SlingInput) { in.Transfer.Arms = care.ArmsOutside },
		"toileting":      func(in *SlingInput) { in.Range.Kind = care.ToiletingSling },
		"unknown colour": func(in *SlingInput) { in.Range.Points[0].Loops = loops("mauve", "pink", "orange") },
		"no colour":      func(in *SlingInput) { in.Range.Points[0].Loops = loops("", "pink", "orange") },
		"white":          func(in *SlingInput) { in.Range.Points[0].Loops = loops("white", "pink", "orange") },
	}
	seen := map[string]string{}
	for name, with := range changes {
		in := fourPoint()
		with(&in)
		d, err := Sling(in)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		again, _ := Sling(in)
		svg := string(d.SVG(""))
		if svg != string(again.SVG("")) {
			t.Errorf("%s: drawn twice, it differs", name)
		}
		if other, ok := seen[svg]; ok {
			t.Errorf("%s looks the same as %s", name, other)
		}
		seen[svg] = name
	}
}

// With left and right alike the loops lie as mirror images.
func TestSlingSidesAlike(t *testing.T) {
	byCell := map[[2]any]cell{}
	cells := layoutSling(sixPoint()).cells
	for _, c := range cells {
		if c.side == care.Left {
			byCell[[2]any{c.point, c.n}] = c
		}
	}
	for _, c := range cells {
		if c.side != care.Right {
			continue
		}
		l := byCell[[2]any{c.point, c.n}]
		if math.Abs(l.x+c.x-2*mid) > 1e-9 || l.y != c.y || l.marked != c.marked || l.width != c.width {
			t.Errorf("%s %d: left %+v and right %+v are no mirror images", c.point, c.n, l, c)
		}
	}
}

// The person faces the reader: their left is on the picture's right. Loops count
// from the sling outward, and only the loop the plan names is marked.
func TestSlingSidesAndOrder(t *testing.T) {
	in := sixPoint()
	in.Transfer.Loops[2].Left, in.Transfer.Loops[2].Right = 6, 2
	last := map[[2]any]cell{}
	for _, c := range layoutSling(in).cells {
		if c.side == care.Left != (c.x > mid) {
			t.Errorf("the person's %s is drawn at %v", c.side, c.x)
		}
		at := in.Transfer.At(c.point)
		want := at.Right
		if c.side == care.Left {
			want = at.Left
		}
		if c.marked != (c.n == want) {
			t.Errorf("%s %s loop %d: marked %v, the plan says %d", c.point, c.side, c.n, c.marked, want)
		}
		k := [2]any{c.point, c.side}
		if p := last[k]; c.n != p.n+1 || p.n > 0 && math.Abs(c.x-mid) <= math.Abs(p.x-mid) {
			t.Errorf("%s %s: loop %d at %v follows loop %d at %v", c.point, c.side, c.n, c.x, p.n, p.x)
		}
		if math.Abs(c.x-mid)+c.width/2 > slingW/2 {
			t.Errorf("%s %s loop %d leaves the sheet", c.point, c.side, c.n)
		}
		last[k] = c
	}
	if len(last) != 6 {
		t.Errorf("%d points were drawn, want six", len(last))
	}
}

func TestSlingGolden(t *testing.T) {
	nothing := sixPoint()
	nothing.Transfer = care.Transfer{Range: nothing.Range.Ref}
	differ := fourPoint()
	differ.Transfer.Loops[1].Left, differ.Transfer.Arms = 2, care.ArmsInside
	for name, in := range map[string]SlingInput{"sling-four": fourPoint(), "sling-not-stated": nothing, "sling-sides-differ": differ} {
		d, err := Sling(in)
		if err != nil {
			t.Fatal(err)
		}
		golden(t, name, d)
	}
}

// A few drawings are also kept as PNG, so that a change of the library that draws
// pixels is seen. One pixel in two hundred may differ by more than a tenth of the
// range, since rounding at edges may differ between machines.
func TestSlingPNGGolden(t *testing.T) {
	stopped := sixPoint()
	stopped.Stopped = true
	for name, in := range map[string]SlingInput{"sling-six": sixPoint(), "sling-stopped": stopped} {
		d, err := Sling(in)
		if err != nil {
			t.Fatal(err)
		}
		got, err := d.PNG(360)
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", name+".png")
		if *update {
			if err := os.WriteFile(file, got, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		kept, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if share := unlike(t, got, kept); share > 0.005 {
			t.Errorf("%s: %.2f %% of the pixels differ; look at it, then run with -update", name, 100*share)
		}
	}
}

// unlike gives the share of pixels of which some channel differs by over a tenth.
func unlike(t *testing.T, a, b []byte) float64 {
	t.Helper()
	ia, err := png.Decode(bytes.NewReader(a))
	if err != nil {
		t.Fatal(err)
	}
	ib, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	if ia.Bounds() != ib.Bounds() {
		t.Fatalf("sizes %v and %v", ia.Bounds(), ib.Bounds())
	}
	n, all := 0, ia.Bounds().Dx()*ia.Bounds().Dy()
	for y := range ia.Bounds().Dy() {
		for x := range ia.Bounds().Dx() {
			r, g, b, _ := ia.At(x, y).RGBA()
			r2, g2, b2, _ := ib.At(x, y).RGBA()
			if apart(r, r2) || apart(g, g2) || apart(b, b2) {
				n++
			}
		}
	}
	return float64(n) / float64(all)
}

func apart(a, b uint32) bool { return max(a, b)-min(a, b) > 0xffff/10 }

// One drawing may be made into pixels by many goroutines, with the letters and the
// pixels they share.
func TestSlingTogether(t *testing.T) {
	d, err := Sling(sixPoint())
	if err != nil {
		t.Fatal(err)
	}
	want, _ := d.PNG(240)
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			other := fourPoint()
			other.Transfer.Label = "S-" + strconv.Itoa(1000*i)
			o, err := Sling(other)
			if err != nil {
				t.Error(err)
				return
			}
			if _, err := o.PNG(200 + 20*i); err != nil {
				t.Error(err)
			}
			got, err := d.PNG(240)
			if err != nil || !bytes.Equal(got, want) {
				t.Error("the same drawing came out otherwise")
			}
		})
	}
	wg.Wait()
}

// Whatever the plan and the range, there is a picture or a reason, never a panic,
// and a picture fits the bounds of a message.
func TestSlingAnyInput(t *testing.T) {
	word := rapid.OneOf(rapid.SampledFrom(care.Colours), rapid.String(), rapid.Just(""))
	number := rapid.IntRange(-1, 10)
	rapid.Check(t, func(t *rapid.T) {
		in := fourPoint()
		in.Stopped = rapid.Bool().Draw(t, "stopped")
		in.Range.Kind = rapid.SampledFrom(care.SlingKinds[:2]).Draw(t, "kind")
		in.Range.Head = rapid.SampledFrom([]care.YesNo{"", care.Yes, care.No, "perhaps"}).Draw(t, "head")
		in.Transfer.Head = rapid.SampledFrom([]care.YesNo{"", care.Yes, care.No}).Draw(t, "need")
		in.Transfer.LegStraps = rapid.SampledFrom(append([]care.LegStraps{"", "odd"}, care.LegStrapsAll...)).Draw(t, "straps")
		in.Transfer.Arms = rapid.SampledFrom(append([]care.Arms{"", "odd"}, care.ArmsAll...)).Draw(t, "arms")
		in.Transfer.Label = rapid.String().Draw(t, "label")
		in.Range.Sizes = []care.Size{{Name: rapid.String().Draw(t, "size")}}
		in.Transfer.Size = in.Range.Sizes[0].Name
		in.Transfer.Carers = number.Draw(t, "carers")
		in.Range.Points, in.Transfer.Loops = nil, nil
		for _, p := range rapid.SliceOfN(rapid.SampledFrom(care.Points), 0, 4).Draw(t, "points") {
			in.Range.Points = append(in.Range.Points, care.RangePoint{Point: p, Loops: loops(rapid.SliceOfN(word, 0, 10).Draw(t, "loops")...)})
			in.Transfer.Loops = append(in.Transfer.Loops, care.PointLoops{Point: p, Left: number.Draw(t, "left"), Right: number.Draw(t, "right")})
		}
		d, err := Sling(in)
		if err != nil {
			var r *Refusal
			if !errors.As(err, &r) || r.Reason == "" {
				t.Fatalf("an error without a reason: %v", err)
			}
			return
		}
		b, err := d.PNG(MinWidth)
		if err != nil || len(b) == 0 {
			t.Fatal(err)
		}
		if svg := d.SVG(`a "label" <with> signs`); bytes.Contains(svg, []byte("NaN")) || bytes.Contains(svg, []byte("<with")) || len(svg) > 120_000 {
			t.Fatal("an SVG that is broken or too long")
		}
	})
}

// golden compares a drawing's SVG text with the one kept under testdata.
func golden(t *testing.T, name string, d Drawing) {
	t.Helper()
	file := filepath.Join("testdata", name+".svg")
	got := d.SVG("")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs from the drawing kept; look at it, then run with -update", name)
	}
}
