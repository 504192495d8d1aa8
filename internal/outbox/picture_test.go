package outbox_test

import (
	"context"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"samelift/internal/chat"
	"samelift/internal/outbox"
	"samelift/internal/store"
)

// naming is a transport that has names of its own for pictures.
type naming struct{ sent []chat.Picture }

func (n *naming) Name() string { return "naming" }

func (n *naming) Receive(context.Context, func(context.Context, chat.Inbound) error) error {
	return nil
}

func (n *naming) Send(_ context.Context, out chat.Outbound) (chat.Sent, error) {
	n.sent = append(n.sent, *out.Picture)
	return chat.Sent{Ref: "1", Picture: "file"}, nil
}

// A picture goes out whole once; the next message that shows it carries the name that
// the transport gave it, also after a restart.
func TestPictureIsNamedOnce(t *testing.T) {
	ctx, now := context.Background(), time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)
	s, err := store.Open(ctx, filepath.Join(t.TempDir(), "outbox.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	n := &naming{}
	for i := range 3 {
		err := s.Update(ctx, now, func(tx *store.Tx) error {
			if i == 0 {
				if err := tx.SavePicture("k", []byte("png")); err != nil {
					return err
				}
			}
			_, err := tx.Enqueue(store.Message{Lane: store.LaneReply, Out: chat.Outbound{
				To: chat.Address{Transport: "naming", Chat: "1"}, Picture: &chat.Picture{Key: "k", Alt: "a"}}})
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		o := outbox.New(s, func() time.Time { return now }, slog.New(slog.DiscardHandler), n)
		if _, err := o.Pass(ctx); err != nil {
			t.Fatal(err)
		}
		want := ""
		if i > 0 {
			want = "file"
		}
		if len(n.sent) != i+1 || n.sent[i].Sent != want || string(n.sent[i].PNG) != "png" {
			t.Errorf("the %dth time: %+v", i+1, n.sent)
		}
	}
}
