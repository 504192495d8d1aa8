package telegram

import (
	"net/url"
	"strings"
	"testing"
)

// A link is made of a payload that comes back as it is, or not at all.
func FuzzLink(f *testing.F) {
	for _, s := range []string{"abc_-9", "", "a b", "a&start=b", "a#b", "é", "a\n", strings.Repeat("a", 64), strings.Repeat("a", 65), "../x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, payload string) {
		link, err := Bot{Username: "samelift_bot"}.Link(payload)
		if err != nil {
			if payload != "" && strings.Contains(err.Error(), payload) && len(payload) > 8 {
				t.Errorf("the error shows the payload %q", payload)
			}
			return
		}
		u, err := url.Parse(link)
		if err != nil || u.Host != "t.me" || u.Path != "/samelift_bot" || u.Fragment != "" || len(u.Query()) != 1 || u.Query().Get("start") != payload {
			t.Errorf("%q makes the link %q: %v", payload, link, err)
		}
	})
}
