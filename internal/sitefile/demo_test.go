package sitefile_test

import (
	"testing"
	"time"

	"samelift/internal/care"
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

func TestDemoReadsOnEveryDayOfTwoYears(t *testing.T) {
	if testing.Short() {
		t.Skip("reads the demo 730 times")
	}
	for i := range 730 {
		now := demoNow.AddDate(0, 0, i)
		site := mustRead(t, sitefile.Demo(now), nil)
		mustRead(t, sitefile.DemoChange(now), site)
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
