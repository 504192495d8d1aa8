package picture

import (
	"errors"
	"reflect"
	"testing"

	"samelift/internal/care"
)

func withLengths() SlingInput {
	in := fourPoint()
	for i, p := range in.Range.Points {
		for j := range p.Loops {
			in.Range.Points[i].Loops[j].Length = 300 + 200*i + 50*j
		}
	}
	return in
}

func TestPostureOf(t *testing.T) {
	in := withLengths()
	got, err := PostureOf(in.Transfer, in.Range)
	if want := (PostureInput{Shoulder: 300, Leg: 600}); err != nil || got != want {
		t.Errorf("got %+v, %v; want %+v", got, err, want)
	}
	cases := []struct {
		says string
		with func(*SlingInput)
		want Reason
	}{
		{"the range gives no length for the loop", func(in *SlingInput) { in.Range.Points[1].Loops[2].Length = 0 }, BadLength},
		{"the plan leaves the leg loop open", func(in *SlingInput) { in.Transfer.Loops = in.Transfer.Loops[:1] }, NotStated},
		{"left and right differ", func(in *SlingInput) { in.Transfer.Loops[0].Left = 2 }, SidesDiffer},
		{"the plan does not fit the range", func(in *SlingInput) { in.Transfer.Loops[0].Left = 8 }, NoSuchLoop},
	}
	for _, c := range cases {
		in := withLengths()
		c.with(&in)
		_, err := PostureOf(in.Transfer, in.Range)
		var r *Refusal
		if !errors.As(err, &r) || r.Reason != c.want {
			t.Errorf("%s: got %v, want %s", c.says, err, c.want)
		}
	}
}

func TestConcerns(t *testing.T) {
	cases := []struct {
		says string
		hang Hang
		to   care.Place
		head care.YesNo
		want []Concern
	}{
		{"reclined and supported to a bed", Hang{Back: 60, Clear: 200}, care.Bed, care.Yes, nil},
		{"reclined to a chair", Hang{Back: 46, Clear: 200}, care.Chair, care.Yes, []Concern{ReclinedForSeat}},
		{"half way serves a seat and a supported head", Hang{Back: 35, Clear: 200}, care.Commode, care.Yes, nil},
		{"upright with a head that needs support", Hang{Back: 20, Clear: 200}, care.Toilet, care.Yes, []Concern{UprightForHead}},
		{"upright, head held", Hang{Back: 20, Clear: 200}, care.Toilet, care.No, nil},
		{"tipping forward", Hang{Back: -2, Clear: 200}, care.Car, care.No, []Concern{ForwardOfUpright}},
		{"the bar near the head", Hang{Back: 30, Clear: 49}, care.Bed, care.No, []Concern{BarMeetsHead}},
		{"a slack hip strap", Hang{Back: 30, Clear: 50, Slack: []care.Point{care.HipPoint}}, care.Bed, care.No, []Concern{SlackStrap}},
	}
	for _, c := range cases {
		if got := Concerns(c.hang, c.to, c.head); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.says, got, c.want)
		}
	}
}
