package store_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"samelift/internal/chat"
	"samelift/internal/store"
)

// A line is one address and one lane, whose messages keep their order.
type line struct {
	to   chat.Address
	lane store.Lane
}

// Whatever is queued, sent, put off or given up in whatever order: each line's messages
// come out in the order in which they went in, the most urgent line first, and none is
// lost or comes twice.
func TestOutboxOrderHolds(t *testing.T) {
	dir := t.TempDir()
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		s, err := store.Open(context.Background(), filepath.Join(dir, fmt.Sprint(runs, ".db")))
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		clock := now
		waiting := map[line][]int64{} // the model: what has still to come, in order
		held := map[int64]time.Time{} // until when a message is put off
		ended := map[int64]bool{}
		var queued int
		line1 := rapid.Custom(func(t *rapid.T) line {
			return line{
				chat.Address{Transport: rapid.SampledFrom([]string{"post", "page"}).Draw(t, "transport"), Chat: rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "chat")},
				store.Lane(rapid.IntRange(0, 4).Draw(t, "lane")),
			}
		})
		update := func(f func(*store.Tx) error) {
			if err := s.Update(context.Background(), clock, f); err != nil {
				t.Fatal(err)
			}
		}
		// ready lists the ids that the model expects to be due, most urgent first.
		ready := func() []int64 {
			var lines []line
			for l, ids := range waiting {
				if len(ids) > 0 && !clock.Before(held[ids[0]]) {
					lines = append(lines, l)
				}
			}
			slices.SortFunc(lines, func(a, b line) int {
				if a.lane != b.lane {
					return int(a.lane - b.lane)
				}
				return int(waiting[a][0] - waiting[b][0])
			})
			var ids []int64
			for _, l := range lines {
				ids = append(ids, waiting[l][0])
			}
			return ids
		}
		due := func() []store.Message {
			var all []store.Message
			if err := s.View(context.Background(), clock, func(tx *store.Tx) (err error) {
				all, err = tx.Due(100, []string{"post", "page"})
				return err
			}); err != nil {
				t.Fatal(err)
			}
			return all
		}
		// first picks something that is due.
		first := func(t *rapid.T) store.Message {
			all := due()
			if len(all) == 0 {
				t.Skip("nothing is due")
			}
			return all[rapid.IntRange(0, len(all)-1).Draw(t, "which")]
		}
		end := func(t *rapid.T, m store.Message) {
			l := line{m.Out.To, m.Lane}
			if ended[m.ID] {
				t.Fatalf("message %d comes twice", m.ID)
			}
			if len(waiting[l]) == 0 || waiting[l][0] != m.ID {
				t.Fatalf("message %d comes before its turn: %v", m.ID, waiting[l])
			}
			ended[m.ID] = true
			waiting[l] = waiting[l][1:]
		}
		t.Repeat(map[string]func(*rapid.T){
			"queue": func(t *rapid.T) {
				l := line1.Draw(t, "line")
				later := time.Duration(rapid.IntRange(0, 3).Draw(t, "later")) * time.Minute
				update(func(tx *store.Tx) error {
					id, err := tx.Enqueue(store.Message{Lane: l.lane, Due: clock.Add(later), Out: chat.Outbound{To: l.to}})
					waiting[l] = append(waiting[l], id)
					held[id] = clock.Add(later)
					queued++
					return err
				})
			},
			"undone": func(t *rapid.T) {
				l := line1.Draw(t, "line")
				s.Update(context.Background(), clock, func(tx *store.Tx) error {
					tx.Enqueue(store.Message{Lane: l.lane, Out: chat.Outbound{To: l.to}})
					return errUndo
				})
			},
			"send": func(t *rapid.T) {
				m := first(t)
				update(func(tx *store.Tx) error { return tx.Sent(m.ID, "1") })
				end(t, m)
			},
			"give up": func(t *rapid.T) {
				m := first(t)
				update(func(tx *store.Tx) error { return tx.Ended(m.ID, rapid.Bool().Draw(t, "uncertain"), "x") })
				end(t, m)
			},
			"fail": func(t *rapid.T) {
				m := first(t)
				again := clock.Add(time.Duration(rapid.IntRange(1, 300).Draw(t, "seconds")) * time.Second)
				update(func(tx *store.Tx) error { return tx.Later(m.ID, again, "x") })
				held[m.ID] = again
			},
			"wait": func(t *rapid.T) {
				l := line1.Draw(t, "line")
				until := clock.Add(time.Duration(rapid.IntRange(1, 300).Draw(t, "seconds")) * time.Second)
				update(func(tx *store.Tx) error { return tx.Wait(l.to, until) })
				for other, ids := range waiting {
					for _, id := range ids {
						if other.to == l.to && held[id].Before(until) {
							held[id] = until
						}
					}
				}
			},
			"time": func(t *rapid.T) {
				clock = clock.Add(time.Duration(rapid.IntRange(1, 200).Draw(t, "seconds")) * time.Second)
			},
			"": func(t *rapid.T) {
				var have []int64
				for _, m := range due() {
					have = append(have, m.ID)
				}
				if want := ready(); !slices.Equal(have, want) {
					t.Fatalf("due are %v, want %v", have, want)
				}
			},
		})
		// In the end everything comes out.
		clock = clock.Add(24 * time.Hour)
		for all := due(); len(all) > 0; all = due() {
			update(func(tx *store.Tx) error {
				for _, m := range all {
					if err := tx.Sent(m.ID, "1"); err != nil {
						return err
					}
				}
				return nil
			})
			for _, m := range all {
				end(t, m)
			}
		}
		if len(ended) != queued {
			t.Fatalf("%d of %d messages came out", len(ended), queued)
		}
	})
}
