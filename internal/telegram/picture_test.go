package telegram

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
)

// A picture goes up once; then the platform is told its own name for it. One that it has
// forgotten, or that was another bot's, goes up again.
func TestPictureIsSentAgainByItsName(t *testing.T) {
	f := newFake(t)
	tr, _ := f.transport()
	ann, ctx := f.person(), context.Background()
	named := func(w http.ResponseWriter, _ *http.Request) {
		ok(w, map[string]any{"message_id": 1, "photo": []map[string]any{{"file_id": "small", "width": 90}, {"file_id": "large", "width": 720}, {"file_id": "middle", "width": 320}}})
	}
	for _, words := range []string{"short", strings.Repeat("long ", 400)} {
		f.next("sendPhoto", named)
		o := chat.Outbound{To: ann, Body: []chat.Paragraph{{Text: words}}, Picture: &chat.Picture{PNG: chattest.OnePixel, Alt: "x"}}
		sent, err := tr.Send(ctx, o)
		if err != nil || sent.Picture != "large" {
			t.Fatalf("sent as %+v, %v", sent, err)
		}
		o.Picture.Sent = sent.Picture
		if _, err := tr.Send(ctx, o); err != nil {
			t.Fatal(err)
		}
		calls := f.made("sendPhoto")
		if last := calls[len(calls)-1]; last.params["photo"] != "large" || len(last.files) != 0 {
			t.Errorf("the second time: photo %q and %d files", last.params["photo"], len(last.files))
		}
		f.next("sendPhoto", refusal(400, "Bad Request: wrong file identifier/HTTP URL specified", ""))
		f.next("sendPhoto", named)
		if sent, err := tr.Send(ctx, o); err != nil || sent.Picture != "large" {
			t.Fatalf("after it was forgotten: %+v, %v", sent, err)
		}
		calls = f.made("sendPhoto")
		if last := calls[len(calls)-1]; last.params["photo"] != "" || len(last.files) != 1 {
			t.Errorf("after it was forgotten: photo %q and %d files", last.params["photo"], len(last.files))
		}
	}
}

// A card that no longer holds loses its picture too, whether that stands over the words
// or went ahead of them; a card whose picture the platform refused is edited as words.
func TestOldPicturesAreReplaced(t *testing.T) {
	ctx := context.Background()
	for _, words := range []string{"short", strings.Repeat("long ", 400)} {
		f := newFake(t)
		tr, _ := f.transport()
		ann := f.person()
		sent, err := tr.Send(ctx, chat.Outbound{Key: "k", To: ann, Body: []chat.Paragraph{{Text: words}}, Picture: &chat.Picture{PNG: chattest.OnePixel, Alt: "x"}})
		if err != nil {
			t.Fatal(err)
		}
		stale := chat.Outbound{To: ann, Edit: sent.Ref, OnlyEdit: true, Body: []chat.Paragraph{{Text: "old card"}}, Picture: &chat.Picture{PNG: chattest.OnePixel, Alt: "stop"}}
		for range 2 { // an edit may be made again
			again, err := tr.Send(ctx, stale)
			if err != nil || again.Ref != sent.Ref {
				t.Fatalf("edited as %+v, %v", again, err)
			}
		}
		photos, texts := 0, ""
		for _, m := range f.seen(ann) {
			if m.photo {
				photos++
				if m.edits != 2 {
					t.Errorf("the picture was replaced %d times", m.edits)
				}
			}
			texts += m.text
		}
		if photos != 1 || texts != "old card" {
			t.Errorf("%d pictures and the words %q", photos, texts)
		}
		// Without a picture of its own it still changes the words beneath one.
		stale.Picture, stale.Body = nil, []chat.Paragraph{{Text: "older card"}}
		if _, err := tr.Send(ctx, stale); err != nil {
			t.Error(err)
		}
	}
	f := newFake(t)
	tr, _ := f.transport()
	ann := f.person()
	sent, err := tr.Send(ctx, out(ann, "words only"))
	if err != nil {
		t.Fatal(err)
	}
	o := chat.Outbound{To: ann, Edit: sent.Ref, OnlyEdit: true, Body: []chat.Paragraph{{Text: "old card"}}, Picture: &chat.Picture{PNG: chattest.OnePixel, Alt: "stop"}}
	if _, err := tr.Send(ctx, o); err != nil || f.seen(ann)[0].text != "old card" {
		t.Errorf("%v: %+v", err, f.seen(ann))
	}
	o.Edit = "999"
	if _, err := tr.Send(ctx, o); class(err) != "refused" {
		t.Errorf("an edit of nothing: %v", err)
	}
}
