package telegram

import (
	"context"
	"slices"
	"strings"
	"testing"
)

func TestMenu(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ctx := context.Background()
	list := []Command{{"start", "Begin"}, {"help", "Help"}}
	sets := []CommandSet{
		{Lang: "", Commands: list, About: "What I do", Short: "Short"},
		{Lang: "pt-BR", Commands: list},
		{Lang: "pt", Commands: list},
		{Lang: "fil", Commands: list},
		{Lang: "ar", Commands: []Command{{"start", "ابدأ"}}, About: "ماذا أفعل"},
	}
	f.next("setMyDescription", refusal(429, "Too Many Requests: retry after 3", `,"parameters":{"retry_after":3}`))
	if err := tr.RegisterCommands(ctx, sets); class(err) != "wait 3s" {
		t.Fatalf("got %v", err)
	}
	if err := tr.RegisterCommands(ctx, sets); err != nil {
		t.Fatal(err)
	}
	var langs []string
	for _, c := range f.made("setMyCommands") {
		langs = append(langs, c.params["language_code"])
		if c.params["scope"] != `{"type":"all_private_chats"}` {
			t.Errorf("scope %q", c.params["scope"])
		}
	}
	if want := []string{"", "pt", "ar"}; !slices.Equal(langs, want) {
		t.Errorf("menus for %q, want %q", langs, want)
	}
	if a, b := len(f.made("setMyDescription")), len(f.made("setMyShortDescription")); a != 3 || b != 1 {
		t.Errorf("%d and %d calls for descriptions, want 3 and 1", a, b)
	}
	for _, bad := range []CommandSet{
		{Commands: []Command{{"Start", "a"}}},
		{Commands: []Command{{"start", ""}}},
		{Commands: []Command{{"start", strings.Repeat("a", 257)}}},
		{Commands: slices.Repeat(list, 51)},
		{About: strings.Repeat("ж", 513)},
		{Short: strings.Repeat("ж", 121)},
	} {
		if err := tr.RegisterCommands(ctx, []CommandSet{bad}); err == nil {
			t.Errorf("%+v is taken", bad)
		}
	}
}

func TestMe(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	me, err := tr.Me(context.Background())
	if err != nil || me.Username != "samelift_bot" || me.ID != 123456789 {
		t.Fatalf("got %+v, %v", me, err)
	}
	if link, err := me.Link("aB3_-"); err != nil || link != "https://t.me/samelift_bot?start=aB3_-" {
		t.Errorf("got %q, %v", link, err)
	}
	for _, bad := range []string{"", "a b", "ä", strings.Repeat("a", 65)} {
		if _, err := me.Link(bad); err == nil || bad != "" && strings.Contains(err.Error(), bad) {
			t.Errorf("%q: got %v", bad, err)
		}
	}
}
