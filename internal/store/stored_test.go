package store_test

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
)

var (
	words = care.Text{Lang: "en", Words: "w"}
	day   = care.Date{Year: 2026, Month: 12, Day: 24}
	pain  = 4
)

// stored lists the values that the database holds as JSON, and that JSON. Every field
// of a value is filled, so that a new field is missed here and gets pinned too.
//
// A recorded plan never changes, and neither may the names it is recorded under: a
// renamed Go field would read old plans as silent about it. Whoever has to change one
// of these lines needs a migration for what is on record.
var stored = []struct {
	value any
	json  string
}{
	{care.Plan{
		Client: "tilda", Version: 3, From: time.Date(2026, 11, 2, 9, 30, 0, 5000, time.UTC), AuthorRole: "therapist", Author: "Marion",
		Reason: words, NextReview: day,
		Transfers: []care.Transfer{{
			From: care.Bed, To: care.Chair, BothWays: true, Range: "harbour-full", Size: "Middle", Label: "S-014", Spare: "S-015", Hoist: "H-01",
			Loops:     []care.PointLoops{{Point: care.LegPoint, Left: 2, Right: 3, Reason: words, Assessor: "Marion"}},
			LegStraps: care.LegsCrossed, Arms: care.ArmsInside, HoistBrakes: care.BrakesOff, Carers: 2, OneCarerAssessed: day, Head: care.Yes,
			BedSetUp: []care.SetUp{"bed_flat"}, SeatSetUp: []care.SetUp{"seat_upright"}, SetUpMore: words, Stays: care.No,
			Steps:    []care.Step{{Code: "test_lift", Text: words}},
			Cautions: []care.Caution{{Code: "pain", Side: care.Left, Part: care.Knee, Text: words}},
		}},
		Cautions:  []care.Caution{{Code: "spasm", Side: care.Right, Part: care.Leg, Text: words}},
		Decisions: []care.Decision{{Finding: "head_support_unknown", About: "range=Harbour", Transfer: "bed>chair", Reason: words, Assessor: "Marion"}},
		Draft:     true, Urgent: true,
	}, `{"Client":"tilda","Version":3,"From":"2026-11-02T09:30:00.000005Z","AuthorRole":"therapist","Author":"Marion",` +
		`"Reason":{"lang":"en","words":"w"},"NextReview":"2026-12-24",` +
		`"Transfers":[{"From":"bed","To":"chair","BothWays":true,"Range":"harbour-full","Size":"Middle","Label":"S-014","Spare":"S-015","Hoist":"H-01",` +
		`"Loops":[{"Point":"leg","Left":2,"Right":3,"Reason":{"lang":"en","words":"w"},"Assessor":"Marion"}],` +
		`"LegStraps":"crossed","Arms":"inside","HoistBrakes":"off","Carers":2,"OneCarerAssessed":"2026-12-24","Head":"yes",` +
		`"BedSetUp":["bed_flat"],"SeatSetUp":["seat_upright"],"SetUpMore":{"lang":"en","words":"w"},"Stays":"no",` +
		`"Steps":[{"Code":"test_lift","Text":{"lang":"en","words":"w"}}],` +
		`"Cautions":[{"Code":"pain","Side":"left","Part":"knee","Text":{"lang":"en","words":"w"}}]}],` +
		`"Cautions":[{"Code":"spasm","Side":"right","Part":"leg","Text":{"lang":"en","words":"w"}}],` +
		`"Draft":true,"Urgent":true,"Decisions":[{"Finding":"head_support_unknown","About":"range=Harbour","Transfer":"bed\u003echair","Reason":{"lang":"en","words":"w"},"Assessor":"Marion"}]}`},
	{care.Range{
		Ref: "harbour-full", Name: "Harbour", Kind: care.FullBodySling, Attachment: care.LoopAttachment, Head: care.Yes,
		Points:    []care.RangePoint{{Point: care.LegPoint, Loops: []care.Loop{{Colour: "teal", Length: 300}}}},
		LegStraps: []care.LegStraps{care.LegsCrossed}, Sizes: []care.Size{{Name: "Middle", Limit: 160 * care.Kilogram,
			Mass: care.Span[care.Mass]{From: 1, To: 2}, Back: care.Span[int]{From: 3, To: 4}, Hips: care.Span[int]{From: 5, To: 6}}},
	}, `{"Ref":"harbour-full","Name":"Harbour","Kind":"full_body","Attachment":"loop","Head":"yes",` +
		`"Points":[{"Point":"leg","Loops":[{"Colour":"teal","Length":300}]}],"LegStraps":["crossed"],"Sizes":[{"Name":"Middle","Limit":160000,` +
		`"Mass":{"From":1,"To":2},"Back":{"From":3,"To":4},"Hips":{"From":5,"To":6}}]}`},
	{[]care.Weighing{{On: day, Mass: 1}}, `[{"On":"2026-12-24","Mass":1}]`},
	{[]care.SignOff{{For: care.Refresher, Until: day}}, `[{"For":"refresher","Until":"2026-12-24"}]`},
	{[]care.Shift{{Name: "early", Start: 7 * 60, End: 14*60 + 30}}, `[{"Name":"early","Start":420,"End":870}]`},
	{care.Note{
		PlanVersion: 3, Transfer: "bed>chair", Outcome: care.Changed, Difference: "loops", Why: words, Borne: care.BorneWell, Pain: &pain,
		Skin: care.SkinRed, SkinPart: care.Heel, SkinSide: care.Left, Mood: care.MoodCalm, Text: words,
	}, `{"plan_version":3,"transfer":"bed\u003echair","outcome":"changed","difference":"loops","why":{"lang":"en","words":"w"},"borne":"well","pain":4,` +
		`"skin":"red","skin_part":"heel","skin_side":"left","mood":"calm","text":{"lang":"en","words":"w"}}`},
	{care.Incident{
		Kind: care.NearMiss, Harm: care.HarmNone, Where: care.Bed, Equipment: []string{"S-014"}, Text: words, PlanVersion: 3,
	}, `{"kind":"near_miss","harm":"none","where":"bed","equipment":["S-014"],"text":{"lang":"en","words":"w"},"plan_version":3}`},
	{chat.Outbound{
		Key: "k", To: chat.Address{Transport: "post", Chat: "1"}, Edit: "7", Lang: "ar", RTL: true,
		Body:    []chat.Paragraph{{Style: chat.Strong, Text: "t", Lang: "en", RTL: true}},
		Choices: [][]chat.Choice{{{Label: "l", Data: "1.0", URL: "u"}}},
		Picture: &chat.Picture{Key: "p", Name: "n", PNG: []byte{1}, Alt: "a"}, Quiet: true, Secret: true, OnlyEdit: true,
	}, `{"Key":"k","To":{"Transport":"post","Chat":"1"},"Edit":"7","OnlyEdit":true,"Lang":"ar","RTL":true,` +
		`"Body":[{"Style":"strong","Text":"t","Lang":"en","RTL":true}],"Choices":[[{"Label":"l","Data":"1.0","URL":"u"}]],` +
		`"Picture":{"Key":"p","Name":"n","PNG":"AQ==","Alt":"a"},"Quiet":true,"Secret":true}`},
}

// The stored form of what is on record is pinned, in both directions.
func TestStoredForm(t *testing.T) {
	for _, c := range stored {
		name := reflect.TypeOf(c.value).String()
		unset(t, name, reflect.ValueOf(c.value))
		have, err := json.Marshal(c.value)
		if err != nil || string(have) != c.json {
			t.Errorf("%s is stored as\n%s\nand on record as\n%s", name, have, c.json)
		}
		back := reflect.New(reflect.TypeOf(c.value))
		if err := json.Unmarshal([]byte(c.json), back.Interface()); err != nil || !reflect.DeepEqual(back.Elem().Interface(), c.value) {
			t.Errorf("%s reads back as %+v (%v)", name, back.Elem(), err)
		}
	}
}

// unset complains about stored fields that the golden values leave empty.
func unset(t *testing.T, path string, v reflect.Value) {
	switch {
	case v.Type() == reflect.TypeFor[time.Time](), v.Type() == reflect.TypeFor[care.Date]():
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.Tag.Get("json") != "-" {
				unset(t, path+"."+f.Name, v.Field(i))
			}
		}
		return
	case v.Kind() == reflect.Slice && v.Len() > 0:
		unset(t, path+"[0]", v.Index(0))
		return
	case v.Kind() == reflect.Pointer && !v.IsNil():
		unset(t, path, v.Elem())
		return
	}
	if v.IsZero() {
		t.Errorf("%s is not pinned: fill it in here", path)
	}
}
