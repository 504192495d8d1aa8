package picture

import (
	"flag"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strconv"
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

func TestContactSheet(t *testing.T) {
	if *contactDir == "" {
		t.Skip("give -contact DIR to write the contact sheet")
	}
	all := map[string]SlingInput{"four": fourPoint(), "six": sixPoint()}
	for _, l := range append([]care.LegStraps{""}, care.LegStrapsAll...) {
		in := fourPoint()
		in.Transfer.LegStraps = l
		all["legs-"+string(l)] = in
	}
	st := sixPoint()
	st.Stopped = true
	all["stopped"] = st
	st.Stopped = false
	st.Transfer.Size, st.Transfer.Label, st.Transfer.Carers, st.Transfer.Loops, st.Transfer.LegStraps, st.Range.Head, st.Transfer.Head = "", "", 0, nil, "", "", ""
	all["nothing"] = st
	df := fourPoint()
	df.Transfer.Loops = []care.PointLoops{{Point: care.ShoulderPoint, Left: 1, Right: 2}, {Point: care.LegPoint, Left: 3, Right: 0}}
	df.Transfer.Head, df.Range.Head = care.No, care.No
	df.Transfer.Arms = care.ArmsInside
	df.Range.Points[0].Loops = loops("", "mauve", "white")
	all["differ"] = df
	cl := fourPoint()
	cl.Range.Attachment = care.ClipAttachment
	cl.Range.Points = []care.RangePoint{{Point: care.ShoulderPoint}, {Point: care.LegPoint}}
	cl.Transfer.Loops = nil
	cl.Transfer.Arms = care.ArmsOutside
	cl.Transfer.Carers = 5
	cl.Transfer.Label = "قميص"
	all["clip"] = cl
	var names []string
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	var imgs []*image.RGBA
	for _, name := range names {
		d, err := Sling(all[name])
		if err != nil {
			t.Fatal(err)
		}
		b, err := d.PNG(720)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(name, len(b), len(d.SVG("")))
		imgs = append(imgs, d.draw(360, new([]byte)))
	}
	for _, in := range []PostureInput{
		{Shoulder: 250, Leg: 600},
		{Shoulder: 400, Leg: 450, Bar: Bar{Shoulder: -150, Leg: 150}},
		{Shoulder: 300, Leg: 500, Hip: 700, Bar: Bar{Shoulder: -150, Hip: -50, Leg: 150}, HipLeast: 90},
		{Shoulder: 250, Leg: 800},
	} {
		h, err := Posture(in)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%+v", PostureDrawing(h).Alt)
		imgs = append(imgs, PostureDrawing(h).draw(360, new([]byte)))
	}
	for i := 0; i < len(imgs); i += 4 {
		montage(t, filepath.Join(*contactDir, "sheet-"+strconv.Itoa(i/4)+".png"), imgs[i:min(i+4, len(imgs))])
	}
}

// montage writes pictures side by side.
func montage(t *testing.T, file string, imgs []*image.RGBA) {
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
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, all); err != nil {
		t.Fatal(err)
	}
}
