package sitetest_test

import (
	"bytes"
	"reflect"
	"testing"
	"time"

	"samelift/internal/rules"
	"samelift/internal/sitefile"
	"samelift/internal/sitefile/sitetest"
)

// A large site is one that a file can describe, and nothing stands in the way of its
// transfers, so that a benchmark measures the usual card.
func TestLargeIsASiteFile(t *testing.T) {
	now := time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
	site := sitetest.Large(now, 1000, 200)
	var out bytes.Buffer
	if err := sitefile.Write(&out, site); err != nil {
		t.Fatal(err)
	}
	back, faults := sitefile.Read(out.Bytes(), sitefile.Known{})
	if len(faults) > 0 {
		t.Fatalf("%d faults, the first: %v", len(faults), faults[0])
	}
	if len(back.Clients) != 1000 || len(back.People) != 204 || len(back.Plans) != 1000 {
		t.Fatalf("%d clients, %d people, %d plans", len(back.Clients), len(back.People), len(back.Plans))
	}
	if !reflect.DeepEqual(site.People, back.People) || !reflect.DeepEqual(site.Clients, back.Clients) {
		t.Error("what is read back is another site")
	}
	names := map[string]bool{}
	for _, c := range site.Clients {
		names[c.Name] = true
	}
	for _, p := range site.People {
		names[p.Name] = true
	}
	if len(names) != 1204 {
		t.Errorf("%d different names", len(names))
	}
	for _, w := range sitefile.Warnings(site, now) {
		if w.Severity >= rules.Stop {
			t.Fatalf("%s %s: %s", w.Client, w.Transfer, w.Key)
		}
	}
}
