package sitefile_test

import (
	"slices"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/rules"
	"samelift/internal/sitefile"
)

var demoNow = time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)

// mustRead reads a file that has to be without faults.
func mustRead(t *testing.T, data []byte, base *care.Site) *care.Site {
	t.Helper()
	site, faults := sitefile.Read(data, sitefile.Known{Site: base})
	for _, f := range faults {
		t.Error(f)
	}
	if site == nil {
		t.FailNow()
	}
	return site
}

func TestDemoReadsOnAnyDay(t *testing.T) {
	for i := 0; i < 730; i += 13 {
		now := demoNow.AddDate(0, 0, i)
		site := mustRead(t, sitefile.Demo(now), nil)
		mustRead(t, sitefile.DemoChange(now), site)
	}
}

// What the demo is there to show, by the findings it has to give.
func TestDemoShows(t *testing.T) {
	site := mustRead(t, sitefile.Demo(demoNow), nil)
	warnings := sitefile.Warnings(site, demoNow)
	for _, want := range []struct{ says, client, key string }{
		{"a sling in the wash with a named spare", "edwin", "sling_take_spare"},
		{"a mass near the limit", "edwin", "load_near"},
		{"a weighing that is old", "edwin", "mass_old"},
		{"a hoist overdue for examination", "hoa", "hoist_not_usable"},
		{"a difference between left and right with its reason", "amal", "loops_differ"},
		{"a plan that is silent", "wiktor", "not_stated"},
		{"a plan past its review", "oskar", "review_overdue"},
		{"an examination due within a week", "oskar", "examination_soon"},
		{"a service that is no examination", "hoa", "service_no_examination"},
		{"a person between two sizes", "amal", "size_between"},
		{"hip precautions and leg straps to look at", "oskar", "legs_hips_look"},
		{"a loss of weight within months", "tilda", "weight_loss"},
		{"a client who was never weighed", "june", "load_mass_unknown"},
	} {
		if !slices.ContainsFunc(warnings, func(w sitefile.Warning) bool { return w.Client == want.client && w.Key == want.key }) {
			t.Errorf("%s: %s has no %s", want.says, want.client, want.key)
		}
	}
	var due []string
	for _, d := range rules.SignOffsDue(site, demoNow) {
		due = append(due, d.Person.Ref+" "+string(d.For))
	}
	if want := []string{"youssef full_body", "ines refresher"}; !slices.Equal(due, want) {
		t.Errorf("the sign-offs to look at are %q, want %q", due, want)
	}
	if _, ok := site.PlanAt("june", demoNow); ok {
		t.Error("june has a plan in force, and the demo needs somebody without")
	}
	for _, w := range warnings {
		if (w.Client == "tilda" || w.Client == "rosa") && w.Severity > rules.Advice {
			t.Errorf("with %s all should be well, but %s is found: %s %v", w.Client, w.Transfer, w.Key, w.Args)
		}
	}
}

func TestDemoChangesOneLoopAndTheCarers(t *testing.T) {
	site := mustRead(t, sitefile.Demo(demoNow), nil)
	change := mustRead(t, sitefile.DemoChange(demoNow), site)
	if len(change.Plans) != 1 || len(change.Clients) != 0 {
		t.Fatalf("the change names %d plans and %d clients, want one plan alone", len(change.Plans), len(change.Clients))
	}
	after := change.Plans[0]
	before, ok := site.PlanAt(after.Client, demoNow)
	if !ok || before.Version != 1 || after.Version != 2 || after.From.After(demoNow) {
		t.Fatalf("want version 2 in force at once after version 1, got %d from %s after %d", after.Version, after.From, before.Version)
	}
	b, _ := before.Transfer("bed>chair")
	a, _ := after.Transfer("bed>chair")
	if b.At(care.LegPoint).Left == a.At(care.LegPoint).Left || b.Carers == a.Carers {
		t.Errorf("want another loop at the leg and another number of carers, got %v and %d", a.Loops, a.Carers)
	}
}
