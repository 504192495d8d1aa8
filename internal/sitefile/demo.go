package sitefile

import (
	"bytes"
	"text/template"
	"time"

	"samelift/internal/care"
	"samelift/testdata/sites"
)

// demoZone is the zone of the demo site.
const demoZone = "Europe/London"

// Demo gives the invented demo site as a site file whose dates are counted from now.
func Demo(now time.Time) []byte { return fill(sites.Demo, now) }

// DemoChange gives a second version of one demo plan, in force from the start of the
// day of now. It names the site and the plan only, so it is read with Known.Site.
func DemoChange(now time.Time) []byte { return fill(sites.DemoChange, now) }

func fill(text string, now time.Time) []byte {
	zone, err := time.LoadLocation(demoZone)
	if err != nil {
		zone = time.UTC
	}
	today := care.DateOf(now.In(zone))
	t := template.Must(template.New("demo").Option("missingkey=error").Funcs(template.FuncMap{
		"day": func(n int) string { return today.AddDays(n).String() },
	}).Parse(text))
	var out bytes.Buffer
	if err := t.Execute(&out, nil); err != nil {
		panic(err) // the template is ours and a test fills it in
	}
	return out.Bytes()
}
