package simulator_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"samelift/internal/chat"
)

// However often a page loses its stream, what it shows in the end is what a page
// shows that opens then, and it was told no more than what changed.
func TestResumingLosesAndDoublesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := open(t)
		defer h.srv.Close()
		defer h.sim.Close()
		chats := []string{"oskar", "nadia", "mary"}
		refs := map[string][]string{}
		p := h.listen("")
		changes := 0
		for i := range rapid.IntRange(1, 30).Draw(rt, "steps") {
			c := rapid.SampledFrom(chats).Draw(rt, "chat")
			switch rapid.SampledFrom([]string{"send", "send", "edit", "say", "drop"}).Draw(rt, "step") {
			case "send":
				refs[c] = append(refs[c], h.send(text(c, fmt.Sprint(i))).Ref)
			case "edit":
				out := text(c, fmt.Sprint("edit ", i))
				if len(refs[c]) > 0 {
					out.Edit = rapid.SampledFrom(refs[c]).Draw(rt, "ref")
				}
				ref := h.send(out).Ref
				if out.Edit == "" {
					refs[c] = append(refs[c], ref)
				} else if ref != out.Edit {
					rt.Fatalf("an edit of %s became %s", out.Edit, ref)
				}
			case "say":
				h.say(c, fmt.Sprint(i))
			case "drop":
				// As much as happens to have been read by now; none is as good.
				n := rapid.IntRange(0, 3).Draw(rt, "read")
				for len(p.events) > 0 && n > 0 {
					p.take(<-p.events)
					n--
				}
				p.cancel()
				q := h.listen(p.last)
				q.msgs, q.order, q.got = p.msgs, p.order, p.got
				p = q
				continue
			}
			changes++
		}
		last := h.send(chat.Outbound{To: to("mary"), Body: []chat.Paragraph{{Text: "end"}}})
		changes++
		p.until("the end", func() bool { return p.msgs[last.Ref].Ref != "" })
		whole := h.listen("")
		whole.until("everything", func() bool { return whole.clock != "" })
		if p.got > changes {
			rt.Errorf("%d messages came for %d changes", p.got, changes)
		}
		for _, c := range chats {
			if got, want := p.in(c), whole.in(c); !slices.EqualFunc(got, want, func(a, b shown) bool { return reflect.DeepEqual(a, b) }) {
				rt.Errorf("%s: shown %v, want %v", c, got, want)
			}
		}
		p.cancel()
		whole.cancel()
	})
}
