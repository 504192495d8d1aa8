package store_test

import (
	"bytes"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

func pictured(to chat.Address, key string) store.Message {
	return store.Message{Lane: store.LaneReply, Out: chat.Outbound{To: to, Body: []chat.Paragraph{{Text: "t"}}, Picture: &chat.Picture{Key: key, Alt: "a"}}}
}

// A message keeps the key of its picture; the picture itself is kept once, and with it
// what each transport calls it.
func TestPictureTravelsByKey(t *testing.T) {
	s := open(t)
	png := []byte("a picture")
	do(t, s, now, func(tx *store.Tx) error {
		if have, err := tx.Picture("k"); have || err != nil {
			t.Errorf("kept before it was: %v, %v", have, err)
		}
		if err := tx.SavePicture("k", png); err != nil {
			return err
		}
		for _, who := range []string{"a", "b"} {
			m := pictured(at(who), "k")
			m.Out.Picture.PNG = []byte("must not be in the row")
			if _, err := tx.Enqueue(m); err != nil {
				return err
			}
			if m.Out.Picture.PNG == nil {
				t.Error("the caller's picture was changed")
			}
		}
		_, err := tx.Enqueue(pictured(at("c"), "gone"))
		return err
	})
	due := get(t, s, now, func(tx *store.Tx) ([]store.Message, error) { return tx.Due(10, []string{"post"}) })
	if len(due) != 3 || due[2].Out.Picture != nil {
		t.Fatalf("due: %+v", due)
	}
	for _, m := range due[:2] {
		if p := m.Out.Picture; p == nil || !bytes.Equal(p.PNG, png) || p.Alt != "a" || p.Sent != "" {
			t.Errorf("on its way: %+v", p)
		}
	}
	do(t, s, now, func(tx *store.Tx) error {
		if err := tx.PictureSent("gone", "post", "f0"); err != nil {
			return err
		}
		if err := tx.PictureSent("k", "post", "f1"); err != nil {
			return err
		}
		return tx.PictureSent("k", "pigeon", "f2")
	})
	due = get(t, s, now, func(tx *store.Tx) ([]store.Message, error) { return tx.Due(10, []string{"post"}) })
	if p := due[0].Out.Picture; p.Sent != "f1" || !bytes.Equal(p.PNG, png) {
		t.Errorf("after it was sent once: %+v", p)
	}
}

// Pictures that nobody wants are dropped, but none that waits to be sent.
func TestForgetPictures(t *testing.T) {
	s := open(t)
	later := now.Add(90 * 24 * time.Hour)
	do(t, s, now, func(tx *store.Tx) error {
		for _, k := range []string{"old", "queued", "wanted"} {
			if err := tx.SavePicture(k, []byte(k)); err != nil {
				return err
			}
		}
		if err := tx.PictureSent("old", "post", "f"); err != nil {
			return err
		}
		_, err := tx.Enqueue(pictured(at("a"), "queued"))
		return err
	})
	do(t, s, later, func(tx *store.Tx) error {
		if have, err := tx.Picture("wanted"); !have || err != nil {
			t.Errorf("wanted: %v, %v", have, err)
		}
		return tx.ForgetPictures(later.Add(-60 * 24 * time.Hour))
	})
	do(t, s, later, func(tx *store.Tx) error {
		for k, want := range map[string]bool{"old": false, "queued": true, "wanted": true} {
			if have, err := tx.Picture(k); have != want || err != nil {
				t.Errorf("%s: kept %v, %v", k, have, err)
			}
		}
		return nil
	})
}

// A person's own choice outlives a file, a site's is the file's, and weighings add up.
func TestPicturesSettingsAndWeighings(t *testing.T) {
	s := open(t)
	site := read(t, sitefile.Demo(now), nil)
	do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(site); return err })
	do(t, s, now, func(tx *store.Tx) error {
		if err := tx.Join("larch", "grace", at("grace"), "en"); err != nil {
			return err
		}
		return tx.SetPictures("larch", "grace", true)
	})
	site.NoPictures = true
	first := site.Clients[0].Weighed
	site.Clients[0].Weighed, site.Clients[0].Mass = first.AddDays(7), 64*care.Kilogram
	do(t, s, now, func(tx *store.Tx) error { _, err := tx.Import(site); return err })
	have := get(t, s, now, func(tx *store.Tx) (*care.Site, error) { return tx.Site("larch") })
	if grace, _ := have.Person("grace"); !grace.NoPictures || !have.NoPictures {
		t.Errorf("grace: %v, the site: %v", grace.NoPictures, have.NoPictures)
	}
	all := get(t, s, now, func(tx *store.Tx) ([]care.Weighing, error) { return tx.Weighings("larch", "tilda", care.Date{}) })
	// Those that the file lists, and the last of each import.
	if n := len(site.Clients[0].Weighings); len(all) != n+2 || all[n] != (care.Weighing{On: first, Mass: 63500}) || all[n+1].Mass != 64*care.Kilogram {
		t.Errorf("weighings: %+v", all)
	}
}
