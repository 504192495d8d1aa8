package picture

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"samelift/internal/care"
)

var contactDir = flag.String("contact", "", "directory for the contact sheet")

func loops(colours ...string) []care.Loop {
	var out []care.Loop
	for _, c := range colours {
		out = append(out, care.Loop{Colour: c})
	}
	return out
}

func fourPoint() SlingInput {
	return SlingInput{
		Range: care.Range{Ref: "heron", Kind: care.FullBodySling, Attachment: care.LoopAttachment, Head: care.Yes,
			Points: []care.RangePoint{
				{Point: care.ShoulderPoint, Loops: loops("teal", "pink", "orange")},
				{Point: care.LegPoint, Loops: loops("teal", "pink", "orange", "navy")},
			},
			LegStraps: care.LegStrapsAll, Sizes: []care.Size{{Name: "M2"}, {Name: "XL"}}},
		Transfer: care.Transfer{From: care.Bed, To: care.Chair, Range: "heron", Size: "M2", Label: "S-014",
			Loops: []care.PointLoops{
				{Point: care.ShoulderPoint, Left: 1, Right: 1},
				{Point: care.LegPoint, Left: 3, Right: 3}},
			LegStraps: care.LegsCrossed, Carers: 2, Head: care.Yes},
	}
}

func sixPoint() SlingInput {
	in := fourPoint()
	in.Range.Points = []care.RangePoint{
		{Point: care.ShoulderPoint, Loops: loops("green", "yellow", "purple", "brown")},
		{Point: care.HipPoint, Loops: loops("green", "yellow")},
		{Point: care.LegPoint, Loops: loops("green", "yellow", "purple", "brown", "grey", "white", "black")},
	}
	in.Transfer.Loops = []care.PointLoops{
		{Point: care.ShoulderPoint, Left: 2, Right: 2},
		{Point: care.HipPoint, Left: 1, Right: 1},
		{Point: care.LegPoint, Left: 5, Right: 5},
	}
	return in
}

// combinations gives every picture of the contact sheet by name.
func combinations(t *testing.T) map[string]Drawing {
	t.Helper()
	all := map[string]Drawing{}
	add := func(name string, d Drawing, err error) {
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all[name] = d
	}
	sling := func(name string, base SlingInput, with func(*SlingInput)) {
		with(&base)
		d, err := Sling(base)
		add("sling "+name, d, err)
	}
	sling("four points", fourPoint(), func(*SlingInput) {})
	sling("six points", sixPoint(), func(*SlingInput) {})
	for _, l := range append([]care.LegStraps{""}, care.LegStrapsAll...) {
		for _, head := range []care.YesNo{care.Yes, care.No} {
			name := "legs " + string(l) + " head " + string(head)
			sling(name, fourPoint(), func(in *SlingInput) {
				in.Transfer.LegStraps, in.Range.Head, in.Transfer.Head = l, head, head
			})
		}
	}
	for n := range 10 {
		sling("carers "+strconv.Itoa(n), fourPoint(), func(in *SlingInput) { in.Transfer.Carers = n })
	}
	for n := 1; n <= MostLoops; n++ {
		sling("loops "+strconv.Itoa(n), sixPoint(), func(in *SlingInput) {
			for i := range in.Range.Points {
				in.Range.Points[i].Loops = loops(care.Colours[:n]...)
				in.Transfer.Loops[i].Left, in.Transfer.Loops[i].Right = (n+1)/2, (n+1)/2
			}
		})
	}
	sling("colours 8 to 14", sixPoint(), func(in *SlingInput) {
		for i := range in.Range.Points {
			in.Range.Points[i].Loops = loops(care.Colours[7:]...)
			in.Transfer.Loops[i].Left, in.Transfer.Loops[i].Right = 2+2*i, 2+2*i
		}
	})
	sling("stopped", sixPoint(), func(in *SlingInput) { in.Stopped = true })
	sling("nothing stated", sixPoint(), func(in *SlingInput) {
		in.Transfer = care.Transfer{Range: in.Range.Ref}
		in.Range.Head = ""
	})
	sling("sides differ, odd colours", fourPoint(), func(in *SlingInput) {
		in.Transfer.Loops = []care.PointLoops{{Point: care.ShoulderPoint, Left: 1, Right: 2}, {Point: care.LegPoint, Left: 3, Right: 0}}
		in.Transfer.Head, in.Range.Head = care.No, care.No
		in.Transfer.Arms = care.ArmsInside
		in.Range.Points[0].Loops = loops("", "mauve", "white")
	})
	sling("clips, arms outside, toileting", fourPoint(), func(in *SlingInput) {
		in.Range.Attachment, in.Range.Kind = care.ClipAttachment, care.ToiletingSling
		in.Range.Points = []care.RangePoint{{Point: care.ShoulderPoint}, {Point: care.LegPoint}}
		in.Transfer.Loops, in.Transfer.Arms = nil, care.ArmsOutside
		in.Transfer.Label = "قميص"
	})
	now := sixPoint()
	now.Transfer.Loops[0].Left, now.Transfer.Loops[0].Right = 3, 3
	now.Transfer.LegStraps, now.Transfer.Carers = care.LegsSeparate, 3
	cd, err := Change(sixPoint(), now)
	add("change", cd, err)
	for name, in := range map[string]PostureInput{
		"upright":  {Shoulder: 250, Leg: 560},
		"reclined": {Shoulder: 400, Leg: 450, Bar: Bar{Shoulder: -150, Leg: 150}},
		"six":      {Shoulder: 300, Leg: 500, Hip: 700, Bar: Bar{Shoulder: -150, Hip: -50, Leg: 150}, HipLeast: 90},
		"clash":    {Shoulder: 250, Leg: 800},
	} {
		h, err := Posture(in)
		add("posture "+name, PostureDrawing(h), err)
	}
	noMass, day1 := quarter(), quarter()
	noMass.Mass = nil
	day1.To, day1.Pain, day1.Mass, day1.Plans = day1.From, day1.Pain[:0], day1.Mass[:1], day1.Plans[:1]
	day1.Mass[0].On = day1.From
	for name, in := range map[string]TimeInput{"quarter": quarter(), "no mass": noMass, "one day": day1} {
		d, err := TimeChart(in)
		add("time "+name, d, err)
	}
	d, err := WeekBars(someWeeks())
	add("weeks 12", d, err)
	d, err = WeekBars(someWeeks()[:1])
	add("weeks 1", d, err)
	return all
}

// TestContactSheet writes every combination for a person to look at: index.html
// with all drawings on light and dark pages, a PNG of each, and strips of four at
// phone width as they are seen in full colour, in grey, and with protanopia and
// deuteranopia.
func TestContactSheet(t *testing.T) {
	if *contactDir == "" {
		t.Skip("give -contact DIR to write the contact sheet")
	}
	all := combinations(t)
	var names []string
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	var page strings.Builder
	page.WriteString("<!doctype html><meta charset=utf-8><title>Contact sheet</title><style>figure{display:inline-block;margin:8px}.dark{background:#111;color:#eee}</style>")
	for _, theme := range []string{"light", "dark"} {
		page.WriteString("<div class=" + theme + ">")
		for _, name := range names {
			page.WriteString("<figure>" + string(all[name].SVG(name)) + "<figcaption>" + name + "</figcaption></figure>")
		}
		page.WriteString("</div>")
	}
	write(t, "index.html", []byte(page.String()))
	var imgs []*image.RGBA
	for _, name := range names {
		b, err := all[name].PNG(PhoneWidth)
		if err != nil {
			t.Fatal(err)
		}
		write(t, strings.ReplaceAll(name, " ", "-")+".png", b)
		t.Logf("%-32s PNG %5d, SVG %5d bytes", name, len(b), len(all[name].SVG("")))
		imgs = append(imgs, all[name].draw(360, new([]byte)))
	}
	for i := 0; i < len(imgs); i += 4 {
		for _, v := range visions {
			var seen []*image.RGBA
			for _, m := range imgs[i:min(i+4, len(imgs))] {
				seen = append(seen, v.image(m))
			}
			montage(t, fmt.Sprintf("strip-%02d-%s.png", i/4, v.name), seen)
		}
	}
}

func write(t *testing.T, name string, b []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(*contactDir, name), b, 0o644); err != nil {
		t.Fatal(err)
	}
}

// montage writes pictures side by side.
func montage(t *testing.T, name string, imgs []*image.RGBA) {
	t.Helper()
	w, h := 0, 0
	for _, m := range imgs {
		w += m.Bounds().Dx() + 8
		h = max(h, m.Bounds().Dy())
	}
	all := image.NewRGBA(image.Rect(0, 0, w, h))
	x := 0
	for _, m := range imgs {
		draw.Draw(all, m.Bounds().Add(image.Pt(x, 0)), m, image.Point{}, draw.Src)
		x += m.Bounds().Dx() + 8
	}
	var b bytes.Buffer
	if err := png.Encode(&b, all); err != nil {
		t.Fatal(err)
	}
	write(t, name, b.Bytes())
}
