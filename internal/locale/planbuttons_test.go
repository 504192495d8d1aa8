package locale

import (
	"strings"
	"testing"
	"time"

	"samelift/internal/chat"
)

// The buttons for changing a plan are short, also with the longest colour on them: what
// is cut off could be what tells two loops apart.
func TestPlanButtonsAreShort(t *testing.T) {
	c := catalog(t)
	for _, l := range c.Languages() {
		p := c.Printer(l.Code, time.UTC)
		check := func(key string, args map[string]any) {
			s, err := p.Say(key, args)
			if n := len([]rune(s)); err != nil || n > chat.MaxLabel {
				t.Errorf("%s: the button %s has %d letters: %q %v", l.Code, key, n, s, err)
			}
		}
		for id := range c.messages[l.Code] {
			if strings.HasPrefix(id, "colour.") {
				for _, key := range []string{"planedit.loop.shortest", "planedit.loop.nth", "planedit.loop.longest"} {
					check(key, map[string]any{"Number": 8, "Of": 9, "Colour": Term(id)})
				}
			}
		}
		for _, id := range []string{"button", "transfer.whole", "transfer.other", "go_on", "sling.other", "spare.none", "legs.crossed", "legs.separate", "legs.under_both",
			"legs.each_own_abducted", "brakes.on", "brakes.off", "loops.differ", "caution.add", "urgent", "ordinary", "from.now", "from.first", "from.second",
			"more", "decide", "publish", "who", "title.urgency", "title.from", "title.why"} {
			check("planedit."+id, nil)
		}
		check("planfile.take", nil)
		for _, id := range []string{"version.now", "version.later", "again"} {
			check("planedit."+id, map[string]any{"Version": 199})
		}
	}
}
