package cli

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"samelift/internal/sitefile"
)

// The sheet has a code for every client, sling and hoist, names nobody in clear, needs
// nothing from elsewhere, and is the same when it is printed again.
func TestLabelSheet(t *testing.T) {
	db := filepath.Join(t.TempDir(), "samelift.db")
	now := time.Now()
	do := func(args ...string) string {
		var out, errs bytes.Buffer
		in := bytes.NewReader(sitefile.Demo(now))
		if status := Main(context.Background(), nil, in, &out, &errs, args); status != 0 {
			t.Fatalf("samelift %v: %d: %s", args, status, errs.String())
		}
		return out.String()
	}
	do("import", "--db", db, "-")
	site, _ := sitefile.Read(sitefile.Demo(now), sitefile.Known{})
	all := len(site.Clients) + len(site.Slings) + len(site.Hoists)
	for _, lang := range []string{"en", "pl", "es", "ar"} {
		page := do("labels", "--db", db, "--lang", lang)
		if again := do("labels", "--db", db, "--lang", lang); again != page {
			t.Errorf("%s: the sheet is another one the second time", lang)
		}
		codes := regexp.MustCompile(`/start [A-Za-z0-9_-]{22}\b`).FindAllString(page, -1)
		seen := map[string]bool{}
		for _, c := range codes {
			seen[c] = true
		}
		if n := strings.Count(page, "<svg"); n != all || len(seen) != all {
			t.Errorf("%s: %d drawings and %d codes for %d things", lang, n, len(seen), all)
		}
		for _, c := range site.Clients {
			for _, part := range strings.Fields(c.Name) {
				if strings.Contains(page, ">"+part) || strings.Contains(page, part+" ") || strings.Contains(page, part+"<") {
					t.Errorf("%s: %q stands on the sheet in clear", lang, part)
				}
			}
		}
		for _, outside := range []string{"http://", "https://", "src=", "href=", "@import"} {
			if strings.Contains(strings.ReplaceAll(page, "http://www.w3.org/", ""), outside) {
				t.Errorf("%s: the sheet needs something from elsewhere: %s", lang, outside)
			}
		}
		if lang == "ar" != strings.Contains(page, `dir="rtl"`) {
			t.Errorf("%s: the sheet has the wrong direction", lang)
		}
		d := xml.NewDecoder(strings.NewReader(page))
		d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Errorf("%s: the sheet does not nest: %v", lang, err)
				break
			}
		}
	}
	linked := do("labels", "--db", db, "--link", "https://t.me/example_bot?start=")
	if strings.Contains(linked, "/start ") || strings.Count(linked, "<svg") != all {
		t.Error("with a link the codes still stand as words to write")
	}
}
