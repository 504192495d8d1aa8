package sitefile_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/sitefile"
)

// Each row changes one thing in the reference file and says which fault has to be
// found then. The fault's line is that of the change.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		says     string
		old, new string
		field    string
		problem  string
	}{
		{"a field that the format does not have", "ref: quarry ", "reff: quarry ", "site.reff", `did you mean "ref"?`},
		{"a field that is nothing like any other", "names: initials", "wallpaper: blue", "site.wallpaper", "there is no such field: take it away, or write one of ref, name"},
		{"a field twice", "names: initials", "name: Twice", "site.name", "stands twice"},
		{"a text with a comma and no quotes", `text: "Say his name first, then wait."`, `text: Say his name first, then wait.`, "communication_more.then wait.", "put quotes around"},
		{"a zone that does not exist", "zone: Europe/London", "zone: Europe/Londn", "site.zone", "is no time zone"},
		{"the server's own zone", "zone: Europe/London", "zone: Local", "site.zone", "is no time zone"},
		{"a language that the locales do not have", "language: en   ", "language: xx   ", "site.language", "write one of ar, en, es, pl"},
		{"no emergency number", `emergency_number: "999" `, `emergency_number:  `, "site.emergency_number", "is missing"},
		{"an emergency number with letters", `"999" `, `"call 999" `, "site.emergency_number", "is no number to call"},
		{"a time of day that is none", `start: "07:00"`, `start: "25:00"`, "shifts[0].start", "is no time of day"},
		{"a shift twice", "name: sleep-in", "name: early", "shifts[1].name", "above"},
		{"a role that is none", "role: carer ", "role: boss ", "people[0].role", "write one of carer, coordinator"},
		{"a role nearly right", "role: carer ", "role: Carer ", "people[0].role", `did you mean "carer"?`},
		{"a telephone number with letters", `phone: "01632 960 077"`, `phone: "ask Piet"`, "people[1].phone", "is no number to call"},
		{"a shift that nobody has", "shifts: [early] ", "shifts: [dawn] ", "people[0].shifts[0]", "there is no shift"},
		{"a client that nobody knows", "cares_for: [walter, berit]", "cares_for: [walter, brit]", "people[0].cares_for[1]", `did you mean "berit"?`},
		{"a ref with a space", "ref: nadia", "ref: na dia", "people[0].ref", "is no ref"},
		{"a ref twice", "ref: piet", "ref: nadia", "people[1].ref", "is used by an entry above"},
		{"loops from the longest", "length_mm: 250", "length_mm: 150", "ranges[0].points[0].loops[1].length_mm", "from the shortest to the longest"},
		{"a range without loops", "loops: [{colour: brown}, {colour: turquoise}]", "loops: []", "ranges[0].points[1]", "has no loops"},
		{"a limit of nothing", "safe_working_load_kg: 155", "safe_working_load_kg: 0", "ranges[0].sizes[0].safe_working_load_kg", "above 0"},
		{"a limit below nothing", "safe_working_load_kg: 155", "safe_working_load_kg: -5", "ranges[0].sizes[0].safe_working_load_kg", "is no mass"},
		{"a limit with an exponent", "safe_working_load_kg: 155", "safe_working_load_kg: 1e2", "ranges[0].sizes[0].safe_working_load_kg", "is no mass"},
		{"a mass with a comma", "mass_kg: 78.25", `mass_kg: "78,25"`, "clients[0].mass_kg", "is no mass"},
		{"a label twice, in small letters", "label: QH-1", "label: q-101", "hoists[0].label", "every label must be its own"},
		{"a sling of a range that is not there", "label: Q-102, range: delta-full", "label: Q-102, range: delta-fall", "slings[1].range", `did you mean "delta-full"?`},
		{"a sling in a size that is not there", `label: Q-102, range: delta-full, size: "2"`, `label: Q-102, range: delta-full, size: "9"`, "slings[1].size", "has no size"},
		{"a day that is none", "last_examination: 2026-07-15", "last_examination: 2026-02-30", "hoists[0].last_examination", "is no day of the calendar"},
		{"due before it was examined", "next_due: 2027-01-15", "next_due: 2026-01-15", "hoists[0].next_due", "lies before"},
		{"no state of a hoist", "    state: in_use\n    since: 2024-02-12", "    since: 2024-02-12", "hoists[0].state", "is missing"},
		{"two clients of one name in one room", "name: Berit Nyström\n    room: \"6\"", "name: walter nyström\n    room: \"4\"", "clients[1].name", "in the same room"},
		{"a plan for nobody", "client: walter", "client: walther", "plans[0].client", `did you mean "walter"?`},
		{"a version of nothing", "version: 1", "version: 0", "plans[0].version", "is not a whole number"},
		{"a time that the clock skips", "in_force_from: 2026-11-02T07:00", "in_force_from: 2026-03-29T01:30", "plans[0].in_force_from", "never shows 01:30 on 2026-03-29"},
		{"a time that is none", "in_force_from: 2026-11-02T07:00", "in_force_from: tomorrow", "plans[0].in_force_from", "is no time"},
		{"other without words", `{code: other, lang: en, text: "He laughs when he is in pain."}`, "other", "plans[0].cautions[2]", "says nothing alone"},
		{"from a place to itself", "to: chair", "to: bed", "plans[0].transfers[0].to", "is none"},
		{"a label of another size", `label: Q-101, spare: Q-102}`, `label: Q-102, spare: Q-102}`, "plans[0].transfers[0].sling.spare", "the spare is the sling itself"},
		{"another size than the label's", `sling: {range: delta-full, size: "2"`, `sling: {range: delta-full, size: "3"`, "plans[0].transfers[0].sling.label", `"Q-101" is of size "2"`},
		{"a hoist that is not there", "hoist: QH-1", "hoist: QH-9", "plans[0].transfers[0].hoist", `did you mean "QH-1"?`},
		{"a loop sling on a clip bar", "attachment: loop\n    bar_points", "attachment: clip\n    bar_points", "plans[0].transfers[0].hoist", "the two never mix"},
		{"a loop that the strap does not have", "shoulder: 1 ", "shoulder: 4 ", "plans[0].transfers[0].loops.shoulder", "1 to 3 at the shoulder"},
		{"left and right differ and nobody decided it", "            assessor: Ingrid Salo\n", "", "plans[0].transfers[0].loops.leg", "left and right differ"},
		{"leg straps that the maker does not allow", "leg_straps: [crossed, separate", "leg_straps: [separate", "plans[0].transfers[0].leg_straps", `does not allow "crossed"`},
		{"no carers is no number", "carers: 2", "carers: 0", "plans[0].transfers[0].carers", "leave the field out"},
		{"a preparation of the seat at the bed", "bed: [bed_brakes_on", "bed: [seat_brakes_on", "plans[0].transfers[0].bed[0]", "is not known here"},
		{"a step that is none", "          - test_lift", "          - test_lifting", "plans[0].transfers[0].steps[4]", `did you mean "test_lift"?`},
		{"the same way twice", "        cautions: [may_grab]", "        cautions: [may_grab]\n      - {from: bed, to: chair}", "plans[0].transfers[1]", "already says how to go from bed to chair"},
		{"the way back twice", "        cautions: [may_grab]", "        cautions: [may_grab]\n      - {from: chair, to: bed}", "plans[0].transfers[1]", "already says how to go from chair to bed"},
		{"a version twice", "plans:\n", "plans:\n  - {client: walter, version: 1, in_force_from: 2026-01-01, transfers: []}\n", "plans[1].version", "stands above"},
		{"two loops of one length", "length_mm: 250", "length_mm: 170", "ranges[0].points[0].loops[1].length_mm", "from the shortest to the longest"},
		{"a range without points", "    points:                     # a clip has no loops\n      - point: shoulder\n      - point: leg\n", "    points: []\n", "ranges[1].points", "is empty"},
		{"a point twice", "      - point: hip\n", "      - point: shoulder\n", "ranges[0].points[1].point", "stands twice"},
		{"loops on a clip", "      - point: leg\n    sizes", "      - {point: leg, loops: [{colour: red}]}\n    sizes", "ranges[1].points[1].loops", "has no loops"},
		{"a name that is too long", "name: Berit Nyström", "name: " + strings.Repeat("é", 81), "clients[1].name", "shorten it to 80"},
		{"a name of nothing to see", "name: Berit Nyström", `name: "\u200e \u202e"`, "clients[1].name", "is empty"},
		{"an earlier weighing that is not earlier", "{on: 2026-07-21,", "{on: 2026-10-20,", "clients[0].weighings[1].on", "is not before the last weighing"},
		{"two weighings on one day", "{on: 2026-07-21,", "{on: 2026-04-18,", "clients[0].weighings[1].on", "stands twice"},
		{"a weighing without a mass", "{on: 2026-07-21, mass_kg: 79.5}", "{on: 2026-07-21}", "clients[0].weighings[1].mass_kg", "is missing"},
		{"a last weighing without a day", "    weighed: 2026-10-20\n", "", "clients[0].weighings[0].on", "the last weighing has no day"},
		{"a span that ends before it begins", "mass_kg: {from: 55, to: 85}", "mass_kg: {from: 85, to: 55}", "ranges[0].sizes[0].mass_kg.to", "ends before it begins"},
		{"a span that says nothing", "mass_kg: {from: 55, to: 85}", "mass_kg: {}", "ranges[0].sizes[0].mass_kg", "says nothing"},
		{"a back in centimetres", "back_length_mm: 610", "back_length_mm: 61", "clients[0].back_length_mm", "is not a whole number from 100 to 2000"},
		{"a sign-off for nothing there is", "{for: mobile,", "{for: crane,", "people[0].sign_offs[0].for", ""},
		{"a sign-off without a last day", "{for: mobile, until: 2027-03-31}", "{for: mobile}", "people[0].sign_offs[0].until", "is missing"},
		{"two sign-offs for one thing", "{for: mobile,", "{for: refresher,", "people[0].sign_offs[1].for", "stands twice"},
		{"a year long gone", "weighed: 2026-10-20", "weighed: 1899-12-31", "clients[0].weighed", "the year 1899 cannot be"},
		{"a year far ahead", "weighed: 2026-10-20", "weighed: 2201-01-01", "clients[0].weighed", "the year 2201 cannot be"},
		{"an instant far ahead", "in_force_from: 2026-11-02T07:00", "in_force_from: 2201-01-01T00:00:00Z", "plans[0].in_force_from", "is no time"},
		{"a day far ahead", "in_force_from: 2026-11-02T07:00", "in_force_from: 2201-01-01", "plans[0].in_force_from", "is no time"},
		{"a day long gone", "in_force_from: 2026-11-02T07:00", "in_force_from: 1899-12-31", "plans[0].in_force_from", "is no time"},
		{"a shift without an end", `start: "22:00", end: "07:00"`, `start: "22:00"`, "shifts[1].end", "is missing"},
		{"a long wrong field with a value", "names: initials", "how names are shown: initials", "site.how names are shown", "take it away, or write one of"},
		{"a client twice in a list", "cares_for: [walter, berit]", "cares_for: [walter, walter]", "people[0].cares_for[1]", "stands twice"},
		{"a word twice in a list", "[few_words, needs_time]", "[few_words, few_words]", "clients[0].communication[1]", "stands twice"},
		{"a list that is none", "communication: [few_words, needs_time]", "communication: few_words", "clients[0].communication", "is not a list"},
		{"one value that is many", "carers: 2", "carers: [2]", "plans[0].transfers[0].carers", "is not one value"},
		{"fields that are none", "sling: {range: delta-full, size: \"2\", label: Q-101, spare: Q-102}", "sling: Q-101", "plans[0].transfers[0].sling", "is not a set of fields"},
		{"loops without a range", "sling: {range: delta-full, size: \"2\", label: Q-101, spare: Q-102}\n", "\n", "plans[0].transfers[0].loops", "no range is named"},
		{"neither yes nor no", "both_ways: yes", "both_ways: maybe", "plans[0].transfers[0].both_ways", "write yes or no"},
		{"a language code that is none", "reason: {lang: en, text: New bed.}", "reason: {lang: English, text: New bed.}", "plans[0].reason.lang", "is no language code"},
		{"a step without words", `- {lang: en, text: "Tell him: now the sling."}`, "- {lang: en}", "plans[0].transfers[0].steps[2]", "empty step"},
		{"loops that say nothing", "hip: {left: 2, right: 2}", "hip: {}", "plans[0].transfers[0].loops.hip", "says nothing"},
		{"loops at a point that the range does not have", "      - point: hip\n        loops: [{colour: brown}, {colour: turquoise}]\n", "", "plans[0].transfers[0].loops.hip", "has no loops at the hip"},
		{"an alias", "author: Ingrid Salo", "author: &who Ingrid Salo", "", "is an anchor"},
		{"a tag", "carers: 2", "carers: !!binary 2", "", "is a tag"},
		{"a second document", "# A recorded", "---\n# A recorded", "", "second document"},
		{"a tab for an indent", "  zone: Europe", "\tzone: Europe", "", "this is not YAML here"},
	} {
		t.Run(c.says, func(t *testing.T) {
			good := string(reference(t))
			if !strings.Contains(good, c.old) {
				t.Fatalf("the reference does not hold %q", c.old)
			}
			data := strings.Replace(good, c.old, c.new, 1)
			site, faults := sitefile.Read([]byte(data), sitefile.Known{Languages: []string{"ar", "en", "es", "pl"}})
			if site != nil {
				t.Error("a site was read from a faulty file")
			}
			i := slices.IndexFunc(faults, func(f sitefile.Fault) bool {
				return strings.HasSuffix(f.Field, c.field) && strings.Contains(f.Problem, c.problem)
			})
			if i < 0 {
				t.Fatalf("want %s: %s\ngot %v", c.field, c.problem, faults)
			}
			if faults[i].Line < 1 || faults[i].Column < 1 {
				t.Errorf("the fault has no place: %+v", faults[i])
			}
		})
	}
}

func TestFaultsNameTheirLine(t *testing.T) {
	data := strings.Replace(string(reference(t)), "carers: 2", "carers: two", 1)
	want := 1 + strings.Count(data[:strings.Index(data, "carers: two")], "\n")
	_, faults := sitefile.Read([]byte(data), sitefile.Known{})
	if len(faults) != 1 || faults[0].Line != want || faults[0].Column != 17 {
		t.Errorf("got %v, want one fault at %d:17", faults, want)
	}
}

// What is unusual and yet right.
func TestNoFaults(t *testing.T) {
	for _, c := range []struct {
		says, old, new string
		holds          func(*care.Site) bool
	}{
		{"yes and no as words of YAML", "both_ways: yes", "both_ways: true", func(s *care.Site) bool { return s.Plans[0].Transfers[0].BothWays }},
		{"brakes on, which is a word and no truth value", "hoist_brakes: off", "hoist_brakes: on", func(s *care.Site) bool { return s.Plans[0].Transfers[0].HoistBrakes == care.BrakesOn }},
		{"a mass to the gram", "mass_kg: 78.25", "mass_kg: 62.001", func(s *care.Site) bool { return s.Clients[0].Mass == 62001 }},
		{"only the left loop is stated", "hip: {left: 2, right: 2}", "hip: {left: 2}", func(s *care.Site) bool { return s.Plans[0].Transfers[0].At(care.HipPoint).Right == 0 }},
		{"only the right loop is stated", "hip: {left: 2, right: 2}", "hip: {right: 2}", func(s *care.Site) bool { return s.Plans[0].Transfers[0].At(care.HipPoint).Right == 2 }},
		{"a name of 80 characters", "name: Berit Nyström", "name: " + strings.Repeat("é", 80), func(s *care.Site) bool { return len(s.Clients[1].Name) == 160 }},
		{"another way in the same plan", "        cautions: [may_grab]", "        cautions: [may_grab]\n      - {from: chair, to: car}", func(s *care.Site) bool { return len(s.Plans[0].Transfers) == 2 }},
		{"the first and the last year", "since: 2024-02-12", "since: 1900-01-01", func(s *care.Site) bool { return s.Hoists[0].Since.Year == 1900 }},
		{"an empty field is one that is left out", "carers: 2", "carers:", func(s *care.Site) bool { return s.Plans[0].Transfers[0].Carers == 0 }},
		{"all means those who are still cared for", "ref: quarry ", "ref: quarry ", func(s *care.Site) bool { return slices.Equal(s.People[2].CaresFor, []string{"walter", "berit"}) }},
		{"an ended client may share name and room with a new one", "name: Arne Vale", "name: Berit Nyström\n    room: \"6\"", func(s *care.Site) bool { return s.Clients[2].Ended }},
		{"versions in any order", "plans:\n", "plans:\n  - {client: walter, version: 2, in_force_from: 2027-01-01, transfers: []}\n", func(s *care.Site) bool { return s.Plans[0].Version == 1 && s.Plans[1].Version == 2 }},
	} {
		t.Run(c.says, func(t *testing.T) {
			good := string(reference(t))
			if !strings.Contains(good, c.old) {
				t.Fatalf("the reference does not hold %q", c.old)
			}
			if site := mustRead(t, []byte(strings.Replace(good, c.old, c.new, 1)), nil); !c.holds(site) {
				t.Errorf("it was read, but not as it was meant")
			}
		})
	}
}

func TestFaultsOfYAMLNameTheirLine(t *testing.T) {
	// The library counts from where it began to look, so the line is near and not exact.
	for _, c := range []struct {
		data     string
		from, to int
	}{
		{"site:\n  ref: a\n  name: [b\nshifts: []\n", 2, 4},
		{"site:\n  ref: a\n---\nsite:\n  ref: b\n", 3, 4},
	} {
		_, faults := sitefile.Read([]byte(c.data), sitefile.Known{})
		if len(faults) != 1 || faults[0].Line < c.from || faults[0].Line > c.to {
			t.Errorf("%q: got %v, want a line from %d to %d", c.data, faults, c.from, c.to)
		}
	}
}

func TestWarningsPassOverWhoHasLeftAndWhatIsReplaced(t *testing.T) {
	site := mustRead(t, sitefile.Demo(demoNow), nil)
	count := func(client string, version int) (n int) {
		for _, w := range sitefile.Warnings(site, demoNow) {
			if w.Client == client && w.Version == version {
				n++
			}
		}
		return n
	}
	if count("wiktor", 1) == 0 {
		t.Fatal("wiktor's silent plan gives no warning")
	}
	for i, c := range site.Clients {
		if c.Ref == "wiktor" {
			site.Clients[i].Ended = true
		}
	}
	if n := count("wiktor", 1); n != 0 {
		t.Errorf("%d warnings about somebody who has left", n)
	}
	before := count("edwin", 3)
	for _, p := range site.Plans {
		if p.Client == "edwin" {
			p.Version, p.From = 4, demoNow.Add(-time.Hour)
			site.Plans = append(site.Plans, p)
		}
	}
	if now, next := count("edwin", 3), count("edwin", 4); now != 0 || next != before {
		t.Errorf("%d warnings about a replaced version and %d about the next, want 0 and %d", now, next, before)
	}
}

func TestEveryFaultAtOnceSortedAndBounded(t *testing.T) {
	var b strings.Builder
	b.WriteString("people:\n")
	for i := range 300 {
		fmt.Fprintf(&b, "  - {ref: p%d, name: N, role: boss, language: en}\n", i)
	}
	_, faults := sitefile.Read([]byte(b.String()), sitefile.Known{})
	if len(faults) != sitefile.MaxFaults {
		t.Errorf("got %d faults, want %d", len(faults), sitefile.MaxFaults)
	}
	if !slices.IsSortedFunc(faults, func(a, b sitefile.Fault) int { return a.Line - b.Line }) {
		t.Error("the faults are not sorted by line")
	}
}

func TestAliasesCannotExplode(t *testing.T) {
	var b strings.Builder
	b.WriteString("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n")
	for i := 1; i < 30; i++ {
		fmt.Fprintf(&b, "a%d: &a%d [%s]\n", i, i, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*a%d, ", i-1), 10), ", "))
	}
	site, faults := sitefile.Read([]byte(b.String()), sitefile.Known{})
	if site != nil || len(faults) == 0 || !strings.Contains(faults[0].Problem, "anchor") {
		t.Errorf("got %v", faults)
	}
}

func TestFilesThatAreNone(t *testing.T) {
	for _, c := range []struct{ says, data, problem string }{
		{"empty", "", "is empty"},
		{"a comment only", "# nothing\n", "is empty"},
		{"a list", "- a\n", "is not a set of fields"},
		{"one word", "hello", "is not a set of fields"},
		{"no site", "people: []\n", "is missing"},
		{"too large", strings.Repeat("#", sitefile.MaxBytes+1), "bytes"},
		{"too deep", strings.Repeat("[", 100) + strings.Repeat("]", 100), "nested too deeply"},
		{"no text at all", "\x00\xff\xfe", "is not YAML"},
	} {
		_, faults := sitefile.Read([]byte(c.data), sitefile.Known{})
		if len(faults) == 0 || !strings.Contains(faults[0].Problem, c.problem) {
			t.Errorf("%s: got %v, want %q", c.says, faults, c.problem)
		}
	}
}

func TestHiddenCharactersGo(t *testing.T) {
	data := strings.Replace(string(reference(t)), "name: Walter Nyström", "name: \"Walter\\u202e \\tNyström\\u0007\"", 1)
	site := mustRead(t, []byte(data), nil)
	if got := site.Clients[0].Name; got != "Walter Nyström" {
		t.Errorf("got %q", got)
	}
}

// Handbook 13: 01:30 on 25 October 2026 comes twice in London.
func TestInForceFrom(t *testing.T) {
	for _, c := range []struct{ says, wrote, want string }{
		{"a day starts at midnight on the wall", "2026-07-01", "2026-06-30T23:00:00Z"},
		{"a time on the wall", "2026-11-02T07:00", "2026-11-02T07:00:00Z"},
		{"the first of a repeated hour", "2026-10-25T01:30", "2026-10-25T00:30:00Z"},
		{"the second, with its offset", "2026-10-25T01:30:00Z", "2026-10-25T01:30:00Z"},
		{"an offset", "2026-07-01T09:00:00+02:00", "2026-07-01T07:00:00Z"},
	} {
		data := bytes.Replace(reference(t), []byte("2026-11-02T07:00\n"), []byte(c.wrote+"\n"), 1)
		if got := mustRead(t, data, nil).Plans[0].From.Format(time.RFC3339); got != c.want {
			t.Errorf("%s: got %s, want %s", c.says, got, c.want)
		}
	}
}

func TestWhatIsLeftOutStaysUnknown(t *testing.T) {
	site := mustRead(t, sitefile.Demo(demoNow), nil)
	plan, ok := site.PlanAt("wiktor", demoNow)
	if !ok {
		t.Fatal("no plan")
	}
	x, _ := plan.Transfer("bed>chair")
	if x.Carers != 0 || x.HoistBrakes != "" || x.Head != "" || x.At(care.LegPoint).Left != 0 || x.Stays != "" {
		t.Errorf("something was filled in: %+v", x)
	}
}

func TestAFileMayReferToWhatTheStoreHolds(t *testing.T) {
	base := mustRead(t, sitefile.Demo(demoNow), nil)
	change := sitefile.DemoChange(demoNow)
	if _, faults := sitefile.Read(change, sitefile.Known{}); len(faults) == 0 {
		t.Error("without the store the change refers to nothing, and yet it is read")
	}
	other := *base
	other.Ref = "elsewhere"
	if _, faults := sitefile.Read(change, sitefile.Known{Site: &other}); len(faults) != 1 || faults[0].Field != "site.ref" {
		t.Errorf("the file of another site: got %v", faults)
	}
}

// Nobody can tell two clients apart who are shown by the same letters in the same room:
// not in initials, and not when one of them is in the store already.
func TestClientsAreToldApart(t *testing.T) {
	file := func(names, clients string) []byte {
		return []byte("site: {ref: larch, name: Larch, zone: UTC, language: en, emergency_number: \"999\", names: " + names + "}\nclients:\n" + clients)
	}
	rosa, rita := "  - {ref: rosa, name: Rosa Lind, room: \"3\"}\n", "  - {ref: rita, name: Rita Lang, room: \"3\"}\n"
	if _, faults := sitefile.Read(file("full", rosa+rita), sitefile.Known{}); len(faults) > 0 {
		t.Errorf("by full names they are told apart: %v", faults)
	}
	if _, faults := sitefile.Read(file("initials", rosa+rita), sitefile.Known{}); len(faults) != 1 {
		t.Errorf("both are R. L. in room 3: %v", faults)
	}
	base := mustRead(t, file("full", rosa), nil)
	if _, faults := sitefile.Read(file("full", "  - {ref: other, name: rosa lind, room: \"3\"}\n"), sitefile.Known{Site: base}); len(faults) != 1 {
		t.Errorf("the store has her already: %v", faults)
	}
	if _, faults := sitefile.Read(file("full", rosa), sitefile.Known{Site: base}); len(faults) > 0 {
		t.Errorf("she is the same: %v", faults)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(reference(f))
	f.Add(sitefile.DemoChange(demoNow))
	f.Add([]byte("site: {ref: a}\n---\n"))
	f.Add([]byte("? [a]\n: {b: *c}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		site, faults := sitefile.Read(data, sitefile.Known{})
		if (site == nil) == (len(faults) == 0) {
			t.Fatalf("a site and faults, or neither: %v", faults)
		}
		if site != nil {
			roundTrip(t, site)
		}
	})
}

// large is a file near the size limit: the reference's plan for very many clients.
func large(t testing.TB) []byte {
	t.Helper()
	site := mustReadTB(t, reference(t))
	client, plan := site.Clients[0], site.Plans[0]
	site.Clients, site.Plans = nil, nil
	for i := range 1200 {
		client.Ref, client.Room = fmt.Sprint("c", i), fmt.Sprint(i)
		plan.Client = client.Ref
		site.Clients, site.Plans = append(site.Clients, client), append(site.Plans, plan)
	}
	site.People[0].CaresFor, site.People[2].CaresFor = nil, nil
	var out bytes.Buffer
	if err := sitefile.Write(&out, site); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func mustReadTB(t testing.TB, data []byte) *care.Site {
	t.Helper()
	site, faults := sitefile.Read(data, sitefile.Known{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return site
}

func BenchmarkReadLarge(b *testing.B) {
	data := large(b)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		mustReadTB(b, data)
	}
}
