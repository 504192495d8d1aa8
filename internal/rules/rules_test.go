package rules_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/care"
	"samelift/internal/rules"
)

var (
	now   = time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)
	today = care.DateOf(now)
)

func day(s string) care.Date {
	d, err := care.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func kg(s string) care.Mass {
	m, err := care.ParseMass(s)
	if err != nil {
		panic(err)
	}
	return m
}

// scene is a transfer with which all is well, for a test to spoil.
type scene struct {
	site   *care.Site
	client care.Client
	plan   care.Plan
	t      care.Transfer
}

func allWell() *scene {
	loops := []care.Loop{{Colour: "teal"}, {Colour: "orange"}, {Colour: "grey"}}
	examined := care.Examined{Last: today.AddDays(-30), Due: today.AddDays(150)}
	s := &scene{}
	s.t = care.Transfer{
		From: care.Bed, To: care.Chair,
		Range: "harbour", Size: "Middle", Label: "S-1", Spare: "S-2", Hoist: "H-1",
		Loops:     []care.PointLoops{{Point: care.ShoulderPoint, Left: 1, Right: 1}, {Point: care.LegPoint, Left: 3, Right: 3}},
		LegStraps: care.LegsCrossed, Arms: care.ArmsInside, HoistBrakes: care.BrakesOff, Carers: 2, Head: care.Yes, Stays: care.No,
		BedSetUp: []care.SetUp{"bed_brakes_on"}, SeatSetUp: []care.SetUp{"seat_brakes_on"}, Steps: []care.Step{{Code: "ask_agreement"}},
	}
	s.client = care.Client{Ref: "tilda", Name: "Tilda Brannock", Mass: kg("63.5"), Weighed: today.AddDays(-10)}
	s.plan = care.Plan{Client: "tilda", Version: 1, From: now.AddDate(0, 0, -20), NextReview: today.AddDays(60), Transfers: []care.Transfer{s.t}}
	s.site = &care.Site{
		Zone: "Europe/London",
		Ranges: []care.Range{
			{Ref: "harbour", Name: "Harbour", Kind: care.FullBodySling, Attachment: care.LoopAttachment, Head: care.Yes,
				Points:    []care.RangePoint{{Point: care.ShoulderPoint, Loops: loops}, {Point: care.LegPoint, Loops: loops}},
				LegStraps: []care.LegStraps{care.LegsCrossed}, Sizes: []care.Size{{Name: "Middle", Limit: kg("160")}, {Name: "Wide"}}},
			{Ref: "ridge", Name: "Ridge", Attachment: care.LoopAttachment, Points: []care.RangePoint{{Point: care.ShoulderPoint, Loops: loops}, {Point: care.HipPoint, Loops: loops}, {Point: care.LegPoint, Loops: loops}},
				LegStraps: []care.LegStraps{care.LegsCrossed}, Sizes: []care.Size{{Name: "Middle", Limit: kg("160")}}},
			{Ref: "cove", Name: "Cove", Attachment: care.ClipAttachment, Head: care.Yes, Points: []care.RangePoint{{Point: care.ShoulderPoint}, {Point: care.LegPoint}},
				LegStraps: []care.LegStraps{care.LegsCrossed}, Sizes: []care.Size{{Name: "Middle", Limit: kg("160")}}},
		},
		Slings: []care.Sling{
			{Label: "S-1", Range: "harbour", Size: "Middle", State: care.InUse, Examined: examined},
			{Label: "S-2", Range: "harbour", Size: "Middle", State: care.InUse, Examined: examined},
			{Label: "S-3", Range: "harbour", Size: "Wide", State: care.InUse, Examined: examined},
		},
		Hoists:  []care.Hoist{{Label: "H-1", Kind: care.MobileHoist, Attachment: care.LoopAttachment, BarPoints: 4, Limit: kg("180"), BarLimit: kg("180"), State: care.InUse, Examined: examined}},
		Clients: []care.Client{s.client},
		Plans:   []care.Plan{s.plan},
	}
	return s
}

func (s *scene) check() []rules.Finding { return rules.Check(s.site, s.client, s.plan, s.t, now) }

func (s *scene) slingRange() *care.Range { return &s.site.Ranges[0] }

// found writes findings as "stop load_over", in order.
func found(all []rules.Finding) []string {
	var out []string
	for _, f := range all {
		key := f.Key
		if f.Key == "not_stated" {
			key += " " + f.Args["field"].(string)
		}
		out = append(out, f.Severity.String()+" "+key)
	}
	return out
}

// Each row spoils a transfer with which all is well, and says in plain words what has
// to be found then. The rules' own comments name the sources.
func TestCheck(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(*scene)
		want  []string
	}{
		{"nothing is wrong, so nothing is said", func(*scene) {}, nil},

		{"the client has left", func(s *scene) { s.client.Ended = true }, []string{"stop client_ended"}},
		{"the plan starts tomorrow", func(s *scene) { s.plan.From = now.AddDate(0, 0, 1) }, []string{"stop plan_not_yet"}},
		{"the plan starts this very moment", func(s *scene) { s.plan.From = now }, nil},
		{"a later version is in force already", func(s *scene) {
			s.site.Plans = append(s.site.Plans, care.Plan{Client: "tilda", Version: 2, From: now.Add(-time.Hour)})
		}, []string{"stop plan_superseded"}},
		{"a later version comes in seven days", func(s *scene) {
			s.site.Plans = append(s.site.Plans, care.Plan{Client: "tilda", Version: 2, From: now.AddDate(0, 0, 7)})
		}, []string{"advice plan_next_soon"}},
		{"a later version comes in eight days, which is not soon", func(s *scene) {
			s.site.Plans = append(s.site.Plans, care.Plan{Client: "tilda", Version: 2, From: now.AddDate(0, 0, 8)})
		}, nil},
		{"the review is today, which is not past", func(s *scene) { s.plan.NextReview = today }, nil},
		{"the review was yesterday: flagged, not hidden", func(s *scene) { s.plan.NextReview = today.AddDays(-1) }, []string{"caution review_overdue"}},
		{"no review is named", func(s *scene) { s.plan.NextReview = care.Date{} }, []string{"advice not_stated next_review"}},

		// Source: HSE inspector after a death in 2013: size and type of sling and how it
		// is attached; FDA: how many caregivers.
		{"the sling is not stated, and so nothing about it can be right", func(s *scene) { s.t.Range, s.t.Size, s.t.Label, s.t.Spare = "", "", "", "" },
			[]string{"stop not_stated sling", "stop not_stated size", "stop not_stated sling_label", "advice not_stated spare"}},
		{"nothing is said about the bed", func(s *scene) { s.t.BedSetUp = nil }, []string{"advice not_stated bed"}},
		{"nothing is said about the bed that the way leads back to", func(s *scene) { s.t.BedSetUp, s.t.From, s.t.To = nil, care.Chair, care.Bed }, []string{"advice not_stated bed"}},
		{"no bed is used, so none is missed", func(s *scene) { s.t.BedSetUp, s.t.From = nil, care.Wheelchair }, nil},
		{"nothing is said about the seat", func(s *scene) { s.t.SeatSetUp = nil }, []string{"advice not_stated seat"}},
		{"no seat is used, so none is missed", func(s *scene) { s.t.SeatSetUp, s.t.To = nil, care.Floor }, nil},
		{"no steps are stated", func(s *scene) { s.t.Steps = nil }, []string{"advice not_stated steps"}},
		{"the number of carers is not stated, and is never taken to be two", func(s *scene) { s.t.Carers = 0 }, []string{"stop not_stated carers"}},
		{"one carer, because the plan says so and a risk assessment of a year ago allows it", func(s *scene) { s.t.Carers, s.t.OneCarerAssessed = 1, today.AddMonths(-12) }, nil},
		{"the assessment is a day older: look again", func(s *scene) { s.t.Carers, s.t.OneCarerAssessed = 1, today.AddMonths(-12).AddDays(-1) }, []string{"caution one_carer_assessed_long_ago"}},
		{"one carer, and no dated risk assessment allows it", func(s *scene) { s.t.Carers = 1 }, []string{"stop one_carer_not_assessed"}},
		{"one carer, and the assessment is dated tomorrow", func(s *scene) { s.t.Carers, s.t.OneCarerAssessed = 1, today.AddDays(1) }, []string{"stop one_carer_not_assessed"}},
		{"the leg straps are not stated", func(s *scene) { s.t.LegStraps = "" }, []string{"stop not_stated leg_straps"}},
		{"no loops are stated", func(s *scene) { s.t.Loops = nil }, []string{"stop not_stated loops"}},
		{"the loops at the leg are not stated", func(s *scene) { s.t.Loops = s.t.Loops[:1] }, []string{"stop loop_not_stated"}},
		{"the right loop at the leg is not stated", func(s *scene) { s.t.Loops[1].Right = 0 }, []string{"stop loop_not_stated"}},
		{"the size is not stated", func(s *scene) { s.t.Size = "" }, []string{"stop not_stated size"}},
		{"the label is not stated", func(s *scene) { s.t.Label, s.t.Spare = "", "" }, []string{"stop not_stated sling_label", "advice not_stated spare"}},
		{"the hoist is not stated", func(s *scene) { s.t.Hoist = "" }, []string{"stop not_stated hoist"}},
		{"brakes, arms and whether the sling stays are not stated", func(s *scene) { s.t.HoistBrakes, s.t.Arms, s.t.Stays = "", "", "" },
			[]string{"advice not_stated arms", "advice not_stated hoist_brakes", "advice not_stated sling_stays"}},
		{"a ceiling hoist has no brakes to miss", func(s *scene) { s.t.HoistBrakes = ""; s.site.Hoists[0].Kind = care.CeilingHoist }, nil},
		{"whether the head is supported is not stated", func(s *scene) { s.t.Head = "" }, []string{"caution not_stated head_support"}},

		// Handbook 2, worked: hoist 180, bar 180, sling 160.
		{"158 kg is allowed and near the limit", func(s *scene) { s.client.Mass = kg("158") }, []string{"caution load_near"}},
		{"160 kg is allowed, exactly at the limit", func(s *scene) { s.client.Mass = kg("160") }, []string{"caution load_near"}},
		{"160.5 kg is refused", func(s *scene) { s.client.Mass = kg("160.5") }, []string{"stop load_over"}},
		{"one gram too much is refused", func(s *scene) { s.client.Mass = kg("160.001") }, []string{"stop load_over"}},
		{"a tenth below the limit is near it", func(s *scene) { s.client.Mass = kg("144") }, []string{"caution load_near"}},
		{"a gram less is not", func(s *scene) { s.client.Mass = kg("143.999") }, nil},
		{"the bar bears less than the rest", func(s *scene) { s.site.Hoists[0].BarLimit = kg("60") }, []string{"stop load_over"}},
		{"the bar has no mark of its own", func(s *scene) { s.site.Hoists[0].BarLimit = 0 }, nil},
		{"the sling's limit is unknown", func(s *scene) { s.slingRange().Sizes[0].Limit = 0 }, []string{"stop load_limit_unknown"}},
		{"the hoist's limit is unknown", func(s *scene) { s.site.Hoists[0].Limit = 0 }, []string{"stop load_limit_unknown"}},
		{"one limit is unknown and the other is passed", func(s *scene) { s.site.Hoists[0].Limit = 0; s.client.Mass = kg("170") },
			[]string{"stop load_limit_unknown", "stop load_over"}},
		{"the person was never weighed", func(s *scene) { s.client.Mass, s.client.Weighed = 0, care.Date{} }, []string{"stop load_mass_unknown"}},
		{"weighed 90 days ago", func(s *scene) { s.client.Weighed = today.AddDays(-90) }, nil},
		{"weighed 91 days ago", func(s *scene) { s.client.Weighed = today.AddDays(-91) }, []string{"caution mass_old"}},
		{"weighed nobody knows when", func(s *scene) { s.client.Weighed = care.Date{} }, []string{"caution mass_date_unknown"}},

		{"the hoist is in date but the sling is not: the spare", func(s *scene) { s.site.Slings[0].Examined = care.Examined{Last: day("2026-01-05")} },
			[]string{"caution sling_take_spare"}},
		{"the same, and no spare is named", func(s *scene) { s.site.Slings[0].Examined = care.Examined{Last: day("2026-01-05")}; s.t.Spare = "" },
			[]string{"stop sling_not_usable", "advice not_stated spare"}},
		{"the sling is in the wash: the spare", func(s *scene) { s.site.Slings[0].State = care.InWash }, []string{"caution sling_take_spare"}},
		{"the sling and its spare are in the wash", func(s *scene) { s.site.Slings[0].State = care.InWash; s.site.Slings[1].State = care.InWash },
			[]string{"stop sling_and_spare_not_usable"}},
		{"the spare is of another size", func(s *scene) { s.site.Slings[0].State = care.Missing; s.t.Spare = "S-3" }, []string{"stop sling_and_spare_not_usable"}},
		{"the sling is withdrawn and was never judged again", func(s *scene) { s.site.Slings[0].State = care.Withdrawn; s.t.Spare = "" },
			[]string{"stop sling_not_usable", "advice not_stated spare"}},
		{"exceptional circumstances: in date, and waits to be examined", func(s *scene) { s.site.Hoists[0].State = care.AwaitingExamination }, []string{"stop hoist_not_usable"}},
		{"nobody knows the hoist's state", func(s *scene) { s.site.Hoists[0].State = "" }, []string{"stop hoist_not_usable"}},
		{"no date of examination is known, which is never in date", func(s *scene) { s.site.Hoists[0].Examined = care.Examined{} }, []string{"stop hoist_not_usable"}},
		{"the examination lies in the future, so it is not known", func(s *scene) { s.site.Hoists[0].Last = today.AddDays(1) }, []string{"stop hoist_not_usable"}},
		// LOLER 1998 reg 9(3)(a)(iv); handbook 1.2: in date, but "exceptional circumstance"
		// after the last examination: not usable until examined again.
		{"the hoist was dropped after its examination", func(s *scene) { s.site.Hoists[0].Exceptional = today.AddDays(-5) }, []string{"stop hoist_not_usable"}},
		{"the hoist was examined on the day it was dropped: nobody knows which came first", func(s *scene) { s.site.Hoists[0].Exceptional = s.site.Hoists[0].Last }, []string{"stop hoist_not_usable"}},
		{"the hoist was examined the day after it was dropped", func(s *scene) { s.site.Hoists[0].Exceptional = s.site.Hoists[0].Last.AddDays(-1) }, nil},
		{"the sling was repaired after its examination: the spare", func(s *scene) { s.site.Slings[0].Exceptional = today }, []string{"caution sling_take_spare"}},
		// Handbook 1.2: a service is not a thorough examination.
		{"a service yesterday does not renew an examination of long ago", func(s *scene) {
			s.site.Hoists[0].Examined = care.Examined{Last: today.AddMonths(-7), Serviced: today.AddDays(-1)}
		}, []string{"stop hoist_not_usable", "advice service_no_examination"}},
		{"a service alone is no examination", func(s *scene) { s.site.Hoists[0].Examined = care.Examined{Serviced: today.AddDays(-1)} },
			[]string{"stop hoist_not_usable", "advice service_no_examination"}},
		{"a service long before the examination runs out says nothing", func(s *scene) { s.site.Hoists[0].Serviced = today.AddDays(-1) }, nil},
		{"the hoist is due in seven days", func(s *scene) { s.site.Hoists[0].Due = today.AddDays(7) }, []string{"caution examination_soon"}},
		{"the hoist is due in eight days", func(s *scene) { s.site.Hoists[0].Due = today.AddDays(8) }, nil},
		{"only a printed date is known, and it is ahead", func(s *scene) { s.site.Hoists[0].Last = care.Date{} }, nil},
		{"only the last examination is known", func(s *scene) { s.site.Hoists[0].Due = care.Date{} }, nil},
		{"the hoist is due tomorrow", func(s *scene) { s.site.Hoists[0].Due = today.AddDays(1) }, []string{"caution examination_soon"}},
		{"the hoist is due today: by the stricter reading out of date", func(s *scene) { s.site.Hoists[0].Due = today }, []string{"stop hoist_not_usable"}},
		{"a printed date later than six months does not count", func(s *scene) {
			s.site.Hoists[0].Examined = care.Examined{Last: today.AddMonths(-7), Due: today.AddMonths(5)}
		}, []string{"stop hoist_not_usable"}},
		{"a printed date later than six months is said while both are ahead", func(s *scene) {
			s.site.Hoists[0].Examined = care.Examined{Last: today.AddMonths(-1), Due: today.AddMonths(11)}
		}, []string{"advice examination_printed_later"}},
		{"a hoist that the site does not have", func(s *scene) { s.t.Hoist = "H-9" }, []string{"stop hoist_not_known", "stop load_limit_unknown"}},

		{"a range that the site does not have", func(s *scene) { s.t.Range = "gone" }, []string{"stop sling_and_spare_not_usable", "stop range_not_known", "stop load_limit_unknown"}},
		{"a size that the range does not come in", func(s *scene) { s.t.Size = "Tall" }, []string{"stop sling_and_spare_not_usable", "stop size_not_known", "stop load_limit_unknown"}},
		{"a label that the site does not have", func(s *scene) { s.t.Label = "S-9"; s.t.Spare = "" }, []string{"stop sling_not_usable", "advice not_stated spare"}},
		{"a loop sling on a clip bar", func(s *scene) { s.site.Hoists[0].Attachment = care.ClipAttachment }, []string{"stop attachment_mismatch"}},
		{"four straps on a bar with two places", func(s *scene) { s.site.Hoists[0].BarPoints = 2 }, []string{"caution bar_points_fewer"}},
		{"a bar of which the places are not known", func(s *scene) { s.site.Hoists[0].BarPoints = 0 }, []string{"advice bar_points_unknown"}},
		{"a sling without head support where it is asked for", func(s *scene) { s.slingRange().Head = care.No }, []string{"stop head_support_missing"}},
		{"a sling of which nobody knows", func(s *scene) { s.slingRange().Head = "" }, []string{"stop head_support_unknown"}},
		{"leg straps that the range is not made for", func(s *scene) { s.t.LegStraps = care.LegsUnderBoth }, []string{"stop leg_straps_not_allowed"}},
		{"a fourth loop on a strap with three", func(s *scene) { s.t.Loops[1].Left, s.t.Loops[1].Right = 4, 4 }, []string{"stop loop_not_in_range"}},
		{"a loop at the hip of a sling with four points", func(s *scene) {
			s.t.Loops = append(s.t.Loops, care.PointLoops{Point: care.HipPoint, Left: 1, Right: 1})
		},
			[]string{"stop loop_no_such_point"}},
		{"left and right differ and nobody says why", func(s *scene) { s.t.Loops[0].Right = 2 }, []string{"stop loops_differ_unexplained"}},
		{"left and right differ with a reason but without a name", func(s *scene) { s.t.Loops[0].Right = 2; s.t.Loops[0].Reason.Words = "Curved spine." },
			[]string{"stop loops_differ_unexplained"}},
		{"left and right differ, with a reason and a name", func(s *scene) {
			s.t.Loops[0].Right, s.t.Loops[0].Assessor, s.t.Loops[0].Reason.Words = 2, "Idris Fennimore", "Curved spine."
		}, []string{"caution loops_differ"}},
		{"a six-point sling without a word about the hip", func(s *scene) {
			s.t.Range, s.t.Label, s.t.Spare, s.t.Head, s.site.Hoists[0].BarPoints = "ridge", "S-9", "", care.No, 6
			s.site.Slings = append(s.site.Slings, care.Sling{Label: "S-9", Range: "ridge", Size: "Middle", State: care.InUse, Examined: s.site.Slings[0].Examined})
		}, []string{"stop loop_not_stated", "advice not_stated spare"}},
		{"a clip sling has no loops to miss", func(s *scene) {
			s.t.Range, s.t.Label, s.t.Spare, s.t.Loops, s.site.Hoists[0].Attachment = "cove", "S-9", "S-10", nil, care.ClipAttachment
			for _, l := range []string{"S-9", "S-10"} {
				s.site.Slings = append(s.site.Slings, care.Sling{Label: l, Range: "cove", Size: "Middle", State: care.InUse, Examined: s.site.Slings[0].Examined})
			}
		}, nil},
	} {
		t.Run(c.says, func(t *testing.T) {
			s := allWell()
			c.spoil(s)
			if got := found(s.check()); !slices.Equal(got, c.want) {
				t.Errorf("found %q, want %q", got, c.want)
			}
			for _, f := range s.check() {
				wantArgs(t, f)
			}
		})
	}
}

// wantArgs sees that a finding has the arguments that Keys promises, and a source.
func wantArgs(t testing.TB, f rules.Finding) {
	t.Helper()
	want, ok := rules.Keys[f.Key]
	if !ok {
		t.Errorf("%s is not among rules.Keys", f.Key)
	}
	if got := slices.Sorted(maps.Keys(f.Args)); !slices.Equal(got, slices.Sorted(slices.Values(want))) {
		t.Errorf("%s has arguments %q, rules.Keys says %q", f.Key, got, want)
	}
	if f.Source == "" || f.Severity < rules.Advice || f.Severity > rules.Stop {
		t.Errorf("%s has source %q and severity %d", f.Key, f.Source, f.Severity)
	}
}

func TestWhichSideIsNotStated(t *testing.T) {
	for _, c := range []struct {
		left, right int
		want        care.Side
	}{{0, 0, care.BothSides}, {0, 1, care.Left}, {1, 0, care.Right}} {
		s := allWell()
		s.t.Loops[0].Left, s.t.Loops[0].Right = c.left, c.right
		if all := s.check(); len(all) != 1 || all[0].Args["side"] != string(c.want) {
			t.Errorf("left %d, right %d: got %v, want %s", c.left, c.right, all, c.want)
		}
	}
}

// The least limit counts, and the part it belongs to is named.
func TestSafeLoad(t *testing.T) {
	for _, c := range []struct {
		says             string
		hoist, bar, size string
		limit, part      string
	}{
		{"handbook 2: 180, 180 and 160", "180", "180", "160", "160", "sling"},
		{"the bar is weakest", "180", "150", "160", "150", "bar"},
		{"the hoist is weakest", "140", "150", "160", "140", "hoist"},
		{"all alike: the sling is named", "160", "160", "160", "160", "sling"},
		{"the bar has no mark", "150", "0", "160", "150", "hoist"},
		{"nothing is known", "0", "0", "0", "0", ""},
	} {
		limit, part := rules.SafeLoad(care.Hoist{Limit: kg(c.hoist), BarLimit: kg(c.bar)}, care.Size{Limit: kg(c.size)})
		if limit != kg(c.limit) || part != c.part {
			t.Errorf("%s: got %s kg of the %s", c.says, limit.Kilograms(), part)
		}
	}
}

func TestTheSourceFollowsTheReason(t *testing.T) {
	s := allWell()
	s.site.Hoists[0].Examined = care.Examined{Due: today}
	if src := s.check()[0].Source; !strings.Contains(src, "LOLER") {
		t.Errorf("overdue: the source is %q", src)
	}
	s.site.Hoists[0].Examined = care.Examined{}
	if src := s.check()[0].Source; !strings.Contains(src, "LOLER") {
		t.Errorf("not known: the source is %q", src)
	}
	s.site.Hoists[0].State = care.Withdrawn
	if src := s.check()[0].Source; !strings.Contains(src, "Devon") {
		t.Errorf("withdrawn: the source is %q", src)
	}
}

// Handbook 1.2, worked due dates: six calendar months, clamped to the month's last day.
// Source of the interval: LOLER 1998 reg 9(3)(a)(i); of the clamp: SI 2018/1082 art 1.4.
func TestDueInSixMonths(t *testing.T) {
	for _, c := range []struct{ examined, due string }{
		{"2025-01-15", "2025-07-15"}, {"2025-02-28", "2025-08-28"}, {"2025-03-31", "2025-09-30"}, {"2025-05-31", "2025-11-30"},
		{"2025-08-28", "2026-02-28"}, {"2025-08-29", "2026-02-28"}, {"2025-08-30", "2026-02-28"}, {"2025-08-31", "2026-02-28"},
		{"2023-08-31", "2024-02-29"}, {"2025-12-31", "2026-06-30"}, {"2024-02-29", "2024-08-29"},
	} {
		due := day(c.due)
		e := care.Examined{Last: day(c.examined)}
		if got := rules.Due(e); got != due {
			t.Errorf("examined %s: due %s, want %s", c.examined, got, due)
		}
		if why := rules.Unusable(care.InUse, e, due.AddDays(-1)); why != "" {
			t.Errorf("examined %s: the day before it is due it is %s", c.examined, why)
		}
		if why := rules.Unusable(care.InUse, e, due); why != rules.WhyExaminationOverdue {
			t.Errorf("examined %s: on the day it is due it is %q", c.examined, why)
		}
	}
}

func TestDueTakesTheEarlierDate(t *testing.T) {
	for _, c := range []struct{ says, last, printed, want string }{
		{"the printed date is earlier and wins", "2026-01-10", "2026-04-10", "2026-04-10"},
		{"the printed date is later and does not", "2026-01-10", "2027-01-10", "2026-07-10"},
		{"only a printed date is known", "", "2026-04-10", "2026-04-10"},
		{"nothing is known", "", "", ""},
	} {
		var e care.Examined
		_ = e.Last.UnmarshalText([]byte(c.last))
		_ = e.Due.UnmarshalText([]byte(c.printed))
		if got := rules.Due(e).String(); got != c.want {
			t.Errorf("%s: got %q, want %q", c.says, got, c.want)
		}
	}
}

// Handbook 2: 160 kg is 352.7 lb and 350 lb is 158.8 kg; a person is never made lighter
// and a limit never higher by rounding. The pound is 0.45359237 kg by definition
// (international yard and pound agreement, 1959).
func TestRounding(t *testing.T) {
	for _, c := range []struct {
		says      string
		got, want int64
	}{
		{"a person of 350 lb, in grams, up", int64(rules.MassFromPounds(3500)), 158758},
		{"a limit of 350 lb, in grams, down", int64(rules.LimitFromPounds(3500)), 158757},
		{"a limit of 160 kg in tenths of a pound, down", rules.PoundsDown(kg("160")), 3527},
		{"a person of 160 kg in tenths of a pound, up", rules.PoundsUp(kg("160")), 3528},
		{"a person of 158.758 kg in tenths, up", int64(rules.RoundMassUp(kg("158.758"))), int64(kg("158.8"))},
		{"a person of exactly 158.8 kg stays", int64(rules.RoundMassUp(kg("158.8"))), int64(kg("158.8"))},
		{"a limit of 159.9 kg is shown as 159", int64(rules.RoundLimitDown(kg("159.9"))), int64(kg("159"))},
	} {
		if c.got != c.want {
			t.Errorf("%s: got %d, want %d", c.says, c.got, c.want)
		}
	}
}

func TestRoundingIsNeverUnsafe(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := care.Mass(rapid.Int64Range(1, 1_000_000).Draw(t, "grams"))
		lb := rapid.Int64Range(1, 20_000).Draw(t, "tenths of a pound")
		if rules.RoundMassUp(m) < m || rules.RoundLimitDown(m) > m {
			t.Fatalf("%d g: shown as %d and %d", m, rules.RoundMassUp(m), rules.RoundLimitDown(m))
		}
		if rules.MassFromPounds(rules.PoundsUp(m)) < m || rules.LimitFromPounds(rules.PoundsDown(m)) > m {
			t.Fatalf("%d g: there and back through pounds is unsafe", m)
		}
		if up, down := rules.MassFromPounds(lb), rules.LimitFromPounds(lb); down > up || up-down > 1 {
			t.Fatalf("%d tenths of a pound: %d and %d g", lb, up, down)
		}
	})
}

// anyScene draws a transfer that may have much wrong with it.
func anyScene(t *rapid.T) *scene {
	s := allWell()
	s.client.Mass = care.Mass(rapid.Int64Range(0, 220_000).Draw(t, "mass"))
	s.client.Weighed = today.AddDays(-rapid.IntRange(0, 200).Draw(t, "weighed days ago"))
	s.slingRange().Sizes[0].Limit = care.Mass(rapid.Int64Range(0, 220).Draw(t, "sling")) * care.Kilogram
	s.site.Hoists[0].Limit = care.Mass(rapid.Int64Range(0, 220).Draw(t, "hoist")) * care.Kilogram
	s.site.Hoists[0].BarLimit = care.Mass(rapid.Int64Range(0, 220).Draw(t, "bar")) * care.Kilogram
	examined := func(what string) care.Examined {
		e := care.Examined{Last: today.AddDays(-rapid.IntRange(0, 250).Draw(t, what+" examined days ago"))}
		if rapid.Bool().Draw(t, what+" has a printed date") {
			e.Due = e.Last.AddDays(rapid.IntRange(0, 370).Draw(t, what+" printed"))
		}
		return e
	}
	s.site.Hoists[0].Examined = examined("hoist")
	s.site.Hoists[0].State = rapid.SampledFrom(care.EquipmentStates).Draw(t, "hoist state")
	for i := range s.site.Slings {
		s.site.Slings[i].Examined = examined(fmt.Sprint("sling ", i))
		s.site.Slings[i].State = rapid.SampledFrom(care.EquipmentStates).Draw(t, "sling state")
	}
	s.t.Spare = rapid.SampledFrom([]string{"", "S-2", "S-3"}).Draw(t, "spare")
	for i := range s.t.Loops {
		s.t.Loops[i].Left = rapid.IntRange(0, 4).Draw(t, "left")
		s.t.Loops[i].Right = rapid.IntRange(0, 4).Draw(t, "right")
	}
	s.t.Carers = rapid.IntRange(0, 3).Draw(t, "carers")
	s.plan.NextReview = today.AddDays(rapid.IntRange(-20, 20).Draw(t, "review"))
	return s
}

// What gets worse is never judged milder: a heavier client, a lower limit, a later day.
func TestSeverityNeverFallsWhenSomethingGetsWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyScene(t)
		load := func() rules.Severity { return rules.Worst(rules.Load(s.site, s.client, s.t, today)) }
		before := load()
		if s.client.Mass > 0 {
			s.client.Mass += care.Mass(rapid.Int64Range(0, 50_000).Draw(t, "heavier"))
			if after := load(); after < before {
				t.Fatalf("a heavier client: %s became %s", before, after)
			}
		}
		before = load()
		for _, limit := range []*care.Mass{&s.slingRange().Sizes[0].Limit, &s.site.Hoists[0].Limit, &s.site.Hoists[0].BarLimit} {
			if *limit > 1 {
				*limit -= care.Mass(rapid.Int64Range(0, int64(*limit)-1).Draw(t, "lower by"))
			}
		}
		if after := load(); after < before {
			t.Fatalf("a lower limit: %s became %s", before, after)
		}
		before = rules.Worst(s.check())
		struck := []*care.Examined{&s.site.Hoists[0].Examined, &s.site.Slings[0].Examined}[rapid.IntRange(0, 1).Draw(t, "struck")]
		struck.Exceptional = today.AddDays(-rapid.IntRange(0, 300).Draw(t, "struck days ago"))
		if after := rules.Worst(s.check()); after < before {
			t.Fatalf("an exceptional event: %s became %s", before, after)
		}
		later := now.AddDate(0, 0, rapid.IntRange(0, 400).Draw(t, "days later"))
		before = rules.Worst(s.check())
		if after := rules.Worst(rules.Check(s.site, s.client, s.plan, s.t, later)); after < before {
			t.Fatalf("a later day: %s became %s", before, after)
		}
	})
}

func TestEveryFindingIsDeclaredAndGravestFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyScene(t)
		last := rules.Stop
		for _, f := range append(s.check(), rules.SlingInHand(s.site, s.t, "S-3", today)...) {
			if _, ok := rules.Keys[f.Key]; !ok || f.Source == "" {
				t.Fatalf("%s is not declared or has no source", f.Key)
			}
			if f.Key == "sling_other_than_plan" {
				break
			}
			if f.Severity > last {
				t.Fatalf("%s comes after something milder", f.Key)
			}
			last = f.Severity
		}
	})
}

func TestSlingInHand(t *testing.T) {
	for _, c := range []struct {
		says, label string
		spoil       func(*scene)
		want        []string
	}{
		{"the planned sling", "S-1", nil, nil},
		{"its spare", "S-2", nil, nil},
		{"a sling of another size", "S-3", nil, []string{"stop sling_other_than_plan"}},
		{"a sling of the same range and size that the plan does not name", "S-2", func(s *scene) { s.t.Spare = "" }, []string{"stop sling_not_in_plan"}},
		{"a label that nobody knows", "S-77", nil, []string{"stop sling_in_hand_not_usable"}},
		{"the planned sling, withdrawn", "S-1", func(s *scene) { s.site.Slings[0].State = care.Withdrawn }, []string{"stop sling_in_hand_not_usable"}},
	} {
		t.Run(c.says, func(t *testing.T) {
			s := allWell()
			if c.spoil != nil {
				c.spoil(s)
			}
			got := rules.SlingInHand(s.site, s.t, c.label, today)
			if !slices.Equal(found(got), c.want) {
				t.Errorf("found %q, want %q", found(got), c.want)
			}
			for _, f := range got {
				wantArgs(t, f)
			}
		})
	}
}
