package picture

import (
	"reflect"
	"testing"

	"samelift/internal/care"
)

// What changed is named and framed, and nothing else.
func TestChange(t *testing.T) {
	changed := func(key FactKey, p care.Point) Fact {
		return Fact{Key: FactChanged, Word: string(key), Point: p}
	}
	cases := []struct {
		says string
		with func(*SlingInput)
		want []Fact
	}{
		{"nothing", func(*SlingInput) {}, nil},
		{"the leg loop, both sides", func(in *SlingInput) { in.Transfer.Loops[1].Left, in.Transfer.Loops[1].Right = 2, 2 }, []Fact{changed(FactLoop, care.LegPoint)}},
		{"the shoulder loop, left only", func(in *SlingInput) { in.Transfer.Loops[0].Left = 3 }, []Fact{changed(FactLoop, care.ShoulderPoint)}},
		{"the colour the range has for the loop", func(in *SlingInput) { in.Range.Points[0].Loops = loops("red", "pink", "orange") }, []Fact{changed(FactLoop, care.ShoulderPoint)}},
		{"size and label", func(in *SlingInput) { in.Transfer.Size, in.Transfer.Label = "XL", "S-020" }, []Fact{changed(FactSize, ""), changed(FactLabel, "")}},
		{"carers and leg straps", func(in *SlingInput) { in.Transfer.Carers, in.Transfer.LegStraps = 3, care.LegsSeparate }, []Fact{changed(FactCarers, ""), changed(FactLegStraps, "")}},
		{"a sling with hip points now", func(in *SlingInput) {
			in.Range.Points = append(in.Range.Points, care.RangePoint{Point: care.HipPoint, Loops: loops("red")})
		}, []Fact{changed(FactLoop, care.HipPoint)}},
	}
	for _, c := range cases {
		now := fourPoint()
		c.with(&now)
		d, err := Change(fourPoint(), now)
		if err != nil {
			t.Fatalf("%s: %v", c.says, err)
		}
		var got []Fact
		for _, f := range d.Alt {
			if f.Key == FactChanged {
				got = append(got, f)
			}
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: got %+v, want %+v", c.says, got, c.want)
		}
		frames := 0
		for _, m := range d.marks {
			if m.colour == signal && m.width == 4 && len(m.dash) == 2 && m.dash[0] == 9 {
				frames++
			}
		}
		want := 0
		for _, f := range c.want {
			want++
			if f.Word == string(FactLoop) {
				want++
			}
		}
		if frames != want {
			t.Errorf("%s: %d frames, want %d", c.says, frames, want)
		}
	}
}

// A plan of before that no longer fits its range does not keep the new one from
// being shown; a new one that does not fit is refused.
func TestChangeUntrue(t *testing.T) {
	bad := fourPoint()
	bad.Transfer.Loops[0].Left = 9
	d, err := Change(bad, fourPoint())
	if err != nil {
		t.Fatal(err)
	}
	alone, _ := Sling(fourPoint())
	if string(d.SVG("")) != string(alone.SVG("")) {
		t.Error("beside an old plan without a true picture the new one is not alone")
	}
	if _, err := Change(fourPoint(), bad); err == nil {
		t.Error("a new plan that does not fit was drawn")
	}
}

func TestChangeGolden(t *testing.T) {
	now := fourPoint()
	now.Transfer.Loops[0].Left, now.Transfer.Loops[0].Right = 2, 2
	d, err := Change(fourPoint(), now)
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "change", d)
}
