package outbox_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/time/rate"

	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
	"samelift/internal/outbox"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// A world is an outbox with a real store, a recorder and a clock that a test moves.
type world struct {
	*testing.T
	path  string
	store *store.Store
	post  *chattest.Recorder
	out   *outbox.Outbox
	log   strings.Builder
	now   time.Time
}

func newWorld(t *testing.T) *world {
	w := &world{T: t, path: filepath.Join(t.TempDir(), "s.db"), post: chattest.NewRecorder("post"), now: time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)}
	s, err := store.Open(context.Background(), w.path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	w.store = s
	site, faults := sitefile.Read(sitefile.Demo(w.now), sitefile.Known{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	w.do(func(tx *store.Tx) error {
		_, err := tx.Import(site)
		return errors.Join(err, tx.Join("larch", "magda", w.post.Address("magda"), "pl"), tx.Join("larch", "ines", w.post.Address("ines"), "es"))
	})
	w.out = outbox.New(s, func() time.Time { return w.now }, slog.New(slog.NewTextHandler(&w.log, nil)), w.post)
	return w
}

func (w *world) do(f func(*store.Tx) error) {
	w.Helper()
	if err := w.store.Update(context.Background(), w.now, f); err != nil {
		w.Fatal(err)
	}
}

// queue keeps a message and gives its id.
func (w *world) queue(who string, lane store.Lane, text string, edits int64) (id int64) {
	w.Helper()
	w.do(func(tx *store.Tx) (err error) {
		id, err = tx.Enqueue(store.Message{Site: "larch", Person: who, Lane: lane, Edits: edits,
			Out: chat.Outbound{To: w.post.Address(who), Body: []chat.Paragraph{{Text: text}}}})
		return err
	})
	return id
}

// pass sends what is due, and wants so many messages tried.
func (w *world) pass(want int) {
	w.Helper()
	if n, err := w.out.Pass(context.Background()); err != nil || n != want {
		w.Errorf("a pass at %s tried %d messages, want %d (%v)", w.now.Format(time.TimeOnly), n, want, err)
	}
}

// arrived are the texts that arrived, in order.
func (w *world) arrived() string {
	var all []string
	for _, a := range w.post.Arrivals() {
		all = append(all, a.Out.Body[0].Text)
	}
	return strings.Join(all, " ")
}

func (w *world) undelivered() (n map[string]int) {
	w.do(func(tx *store.Tx) (err error) { n, err = tx.Undelivered("larch"); return err })
	return n
}

func (w *world) queued() (n int) {
	w.do(func(tx *store.Tx) (err error) { n, err = tx.Queued(); return err })
	return n
}

// What is queued arrives once, each person's lane in order.
func TestPassSends(t *testing.T) {
	w := newWorld(t)
	w.pass(0)
	w.queue("magda", store.LaneReply, "m1", 0)
	w.queue("magda", store.LaneReply, "m2", 0)
	w.pass(1)
	w.pass(1)
	w.pass(0)
	if have := w.arrived(); have != "m1 m2" || w.queued() != 0 {
		t.Errorf("%s arrived and %d are queued", have, w.queued())
	}
}

// An answer's message changes in place for as long as buttons are pressed, and no
// screen fills with copies.
func TestEditsChangeInPlace(t *testing.T) {
	w := newWorld(t)
	var last int64
	for i := range 5 {
		last = w.queue("magda", store.LaneReply, fmt.Sprint("page", i), last)
		w.pass(1)
	}
	if s := w.post.Screen(w.post.Address("magda")); len(s) != 1 || s[0].Out.Body[0].Text != "page4" {
		t.Errorf("the screen shows %+v", s)
	}
}

// A transport that says "wait" is left alone as a whole: going on asks for a ban. Other
// transports go on, and it counts as no try of the message.
func TestRetryAfterPausesTheTransport(t *testing.T) {
	w := newWorld(t)
	page := chattest.NewRecorder("page")
	w.out.Transports["page"] = page
	w.queue("magda", store.LaneReply, "m1", 0)
	w.post.FailNext(1, fmt.Errorf("send: %w", &chat.RetryAfter{Wait: 10 * time.Second}))
	w.pass(1)
	w.queue("ines", store.LaneAlert, "i1", 0)
	w.do(func(tx *store.Tx) error {
		_, err := tx.Enqueue(store.Message{Lane: store.LaneReply, Out: chat.Outbound{To: page.Address("x"), Body: []chat.Paragraph{{Text: "x"}}}})
		return err
	})
	w.now = w.now.Add(9 * time.Second)
	w.pass(1)
	if len(page.Arrivals()) != 1 || w.arrived() != "" {
		t.Errorf("%q arrived by a transport that wants nothing", w.arrived())
	}
	w.now = w.now.Add(time.Second)
	w.do(func(tx *store.Tx) error {
		due, err := tx.Due(10, []string{"post"})
		if len(due) != 2 || due[1].Attempts != 0 {
			t.Errorf("due are %+v", due)
		}
		return err
	})
	w.pass(2)
	if have := w.arrived(); have != "i1 m1" && have != "m1 i1" {
		t.Errorf("%s arrived", have)
	}
}

// What a failed send means for the message, for the person and for those who look after
// the delivery.
func TestWhatAFailedSendMeans(t *testing.T) {
	personal := "Magdalena"
	for _, c := range []struct {
		says        string
		err         error
		queued      int // whether it will be tried again
		undelivered int
		unreachable bool
	}{
		{"gone", fmt.Errorf("send: %w", chat.ErrGone), 0, 1, true},
		{"uncertain", fmt.Errorf("send: %w", chat.ErrUncertain), 0, 1, false},
		{"refused", fmt.Errorf("send: %w", chat.ErrRefused), 0, 1, false},
		{"anything else", errors.New("connection reset"), 1, 0, false},
	} {
		w := newWorld(t)
		w.queue("magda", store.LaneReply, personal, 0)
		w.post.FailNext(1, c.err)
		w.pass(1)
		if n := w.queued(); n != c.queued {
			t.Errorf("%s: %d are queued, want %d", c.says, n, c.queued)
		}
		if n := w.undelivered()["magda"]; n != c.undelivered {
			t.Errorf("%s: %d undelivered, want %d", c.says, n, c.undelivered)
		}
		w.do(func(tx *store.Tx) error {
			_, reached, err := tx.Address("larch", "magda")
			wake, ok, err2 := tx.TakeWake()
			if reached == c.unreachable || ok != c.unreachable || ok && (wake.Kind != store.WakeUnreachable || wake.Key != "magda") {
				t.Errorf("%s: she is reached %t, and planned is %+v", c.says, reached, wake)
			}
			return errors.Join(err, err2)
		})
		w.now = w.now.Add(48 * time.Hour)
		w.pass(c.queued)
		if strings.Contains(w.log.String(), personal) || strings.Contains(w.log.String(), "larch") {
			t.Errorf("%s: the log names somebody: %s", c.says, w.log.String())
		}
	}
}

// A message whose answer was lost did arrive; sending it again would be a second
// instruction to a carer.
func TestLostAnswerIsNotRepeated(t *testing.T) {
	w := newWorld(t)
	w.post.LoseAnswers(1)
	w.queue("magda", store.LaneChange, "m1", 0)
	w.queue("magda", store.LaneChange, "m2", 0)
	w.pass(1)
	w.now = w.now.Add(time.Hour)
	w.pass(1)
	w.pass(0)
	if have := w.arrived(); have != "m1 m2" {
		t.Errorf("%s arrived", have)
	}
}

// An alert that may not have arrived is sent again, a few times and no more; if one of
// them surely arrives that is the end of it.
func TestUncertainAlertIsRepeated(t *testing.T) {
	for _, c := range []struct {
		says               string
		lost, sent, unsure int
	}{
		{"one reset", 1, 2, 0},
		{"nothing but resets", 10, 4, 1},
	} {
		w := newWorld(t)
		w.queue("magda", store.LaneAlert, "alert", 0)
		w.post.FailNext(c.lost, fmt.Errorf("send: %w", chat.ErrUncertain))
		for range 10 {
			if _, err := w.out.Pass(context.Background()); err != nil {
				t.Fatal(err)
			}
			w.now = w.now.Add(time.Minute)
		}
		if n := len(w.post.Attempts()); n != c.sent {
			t.Errorf("%s: sent %d times, want %d", c.says, n, c.sent)
		}
		if n := w.undelivered()["magda"]; n != c.unsure || w.queued() != 0 {
			t.Errorf("%s: %d undelivered, want %d; %d queued", c.says, n, c.unsure, w.queued())
		}
	}
}

// Several messages to somebody who is gone tell the coordinators once.
func TestGoneIsToldOnce(t *testing.T) {
	w := newWorld(t)
	w.post.FailWhen(func(chat.Outbound) error { return chat.ErrGone })
	wakes := 0
	for _, lane := range []store.Lane{store.LaneAlert, store.LaneReply, store.LaneReply} {
		w.queue("magda", lane, "m", 0)
	}
	for _, n := range []int{2, 1, 0} {
		w.pass(n)
		w.do(func(tx *store.Tx) error {
			_, ok, err := tx.TakeWake()
			if ok {
				wakes++
			}
			return err
		})
	}
	if wakes != 1 || w.undelivered()["magda"] != 3 {
		t.Errorf("it was told %d times, and %v are undelivered", wakes, w.undelivered())
	}
}

// The wait doubles from a second to two minutes and never overflows.
func TestBackoff(t *testing.T) {
	for attempts, want := range map[int]time.Duration{
		0: time.Second, 1: 2 * time.Second, 2: 4 * time.Second, 3: 8 * time.Second, 4: 16 * time.Second, 5: 32 * time.Second,
		6: 64 * time.Second, 7: 2 * time.Minute, 8: 2 * time.Minute, 1000: 2 * time.Minute, 1 << 40: 2 * time.Minute,
	} {
		if have := outbox.Backoff(attempts); have != want {
			t.Errorf("after %d tries the wait is %s, want %s", attempts, have, want)
		}
	}
}

// What surely did not arrive is tried again after the wait and not before, under the
// same key, and what was queued behind it does not overtake it.
func TestTriesAgainInOrder(t *testing.T) {
	w := newWorld(t)
	w.queue("magda", store.LaneReply, "m1", 0)
	w.queue("magda", store.LaneReply, "m2", 0)
	w.queue("magda", store.LaneReminder, "reminder", 0)
	w.post.FailWhen(func(out chat.Outbound) error {
		if out.Body[0].Text == "m1" {
			return errors.New("no network")
		}
		return nil
	})
	w.pass(2)
	for tries := range 9 {
		w.now = w.now.Add(outbox.Backoff(tries) - time.Microsecond)
		w.pass(0)
		w.now = w.now.Add(time.Microsecond)
		w.pass(1)
	}
	w.post.FailWhen(nil)
	w.now = w.now.Add(time.Hour)
	w.pass(1)
	w.pass(1)
	if have := w.arrived(); have != "reminder m1 m2" {
		t.Errorf("%s arrived", have)
	}
	keys := map[string]bool{}
	for _, a := range w.post.Attempts() {
		if a.Out.Body[0].Text == "m1" {
			keys[a.Out.Key] = true
		}
	}
	if len(keys) != 1 {
		t.Errorf("one message was tried under the keys %v", keys)
	}
}

// After a day of trying the outbox gives up where a coordinator sees it, and the next
// message has its turn.
func TestGivesUpAloud(t *testing.T) {
	w := newWorld(t)
	w.post.FailWhen(func(chat.Outbound) error { return errors.New("no network") })
	w.queue("magda", store.LaneReply, "m1", 0)
	start := w.now
	tries := 0
	for w.queued() > 0 {
		if tries++; tries > 1000 {
			t.Fatal("it never gives up")
		}
		w.pass(1)
		w.now = w.now.Add(2 * time.Minute)
	}
	if after := w.now.Sub(start); after < 24*time.Hour || after > 24*time.Hour+10*time.Minute {
		t.Errorf("it gave up after %s and %d tries", after, tries)
	}
	if n := w.undelivered(); n["magda"] != 1 {
		t.Errorf("undelivered are %v", n)
	}
	w.post.FailWhen(nil)
	w.queue("magda", store.LaneReply, "m2", 0)
	w.pass(1)
	if have := w.arrived(); have != "m2" {
		t.Errorf("%s arrived", have)
	}
}

// Alerts and replies pass where bulk is held back, and bulk is only late, not lost.
func TestBulkIsHeldBack(t *testing.T) {
	w := newWorld(t)
	w.out.Bulk = rate.NewLimiter(1, 2)
	for i := range 5 {
		w.do(func(tx *store.Tx) error {
			_, err := tx.Enqueue(store.Message{Lane: store.LaneHandover, Out: chat.Outbound{To: w.post.Address(fmt.Sprint(i)), Body: []chat.Paragraph{{Text: "bulk"}}}})
			return err
		})
	}
	w.pass(2)
	w.queue("magda", store.LaneAlert, "alert", 0)
	w.queue("ines", store.LaneReply, "reply", 0)
	w.pass(2)
	for range 3 {
		w.now = w.now.Add(time.Second)
		w.pass(1)
	}
	if n := len(w.post.Arrivals()); n != 7 || w.queued() != 0 {
		t.Errorf("%d arrived and %d are queued", n, w.queued())
	}
}

// A batch full of messages for a transport that does not run holds back nobody.
func TestForeignMessagesWait(t *testing.T) {
	w := newWorld(t)
	for i := range 100 {
		w.do(func(tx *store.Tx) error {
			_, err := tx.Enqueue(store.Message{Lane: store.LaneAlert, Out: chat.Outbound{To: chat.Address{Transport: "page", Chat: fmt.Sprint(i)}, Body: []chat.Paragraph{{Text: "p"}}}})
			return err
		})
	}
	w.queue("magda", store.LaneReminder, "m1", 0)
	w.pass(1)
	if w.arrived() != "m1" || w.queued() != 100 {
		t.Errorf("%q arrived and %d are queued", w.arrived(), w.queued())
	}
}

// What is on the wire while the process is told to stop is finished and kept, so that
// it is not sent again at the next start.
func TestStoppingFinishesWhatIsOnTheWire(t *testing.T) {
	w := newWorld(t)
	ctx, stop := context.WithCancel(context.Background())
	w.post.FailWhen(func(chat.Outbound) error { stop(); return nil })
	w.queue("magda", store.LaneReply, "m1", 0)
	if n, err := w.out.Pass(ctx); n != 1 || err != nil {
		t.Errorf("the pass tried %d (%v)", n, err)
	}
	w.pass(0)
	if w.arrived() != "m1" {
		t.Errorf("%q arrived", w.arrived())
	}
}

// Somebody removed while their message is on the wire is no error.
func TestRemovedWhileOnTheWire(t *testing.T) {
	w := newWorld(t)
	w.queue("magda", store.LaneReply, "m1", 0)
	w.post.FailWhen(func(chat.Outbound) error {
		return w.store.Update(context.Background(), w.now, func(tx *store.Tx) error { return tx.Remove("larch", "magda") })
	})
	w.pass(1)
	w.pass(0)
}

// While the database takes nothing, what was sent is remembered and nothing more is
// sent: a full disk must not send carers the same message every few seconds.
func TestFullDiskRepeatsNothing(t *testing.T) {
	w := newWorld(t)
	w.queue("magda", store.LaneReply, "m1", 0)
	w.queue("ines", store.LaneReply, "i1", 0)
	db, err := sql.Open("sqlite", w.path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(`CREATE TRIGGER full BEFORE UPDATE ON outbox BEGIN SELECT RAISE(ABORT, 'the disk is full'); END`); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, err := w.out.Pass(context.Background()); err == nil {
			t.Error("the failure is not told")
		}
	}
	if _, err := db.Exec(`DROP TRIGGER full`); err != nil {
		t.Fatal(err)
	}
	w.pass(0)
	if n := len(w.post.Attempts()); n != 2 || w.queued() != 0 {
		t.Errorf("two messages were sent %d times and %d are queued", n, w.queued())
	}
}

// Run sends what is nudged and ends with its context.
func TestRun(t *testing.T) {
	w := newWorld(t)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- w.out.Run(ctx) }()
	w.queue("magda", store.LaneReply, "m1", 0)
	w.out.Nudge()
	wait, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if err := w.post.Attempted(wait, 1); err != nil {
		t.Fatal(err)
	}
	stop()
	if err := <-ended; err != nil {
		t.Errorf("Run ends with %v", err)
	}
	if w.arrived() != "m1" || w.queued() != 0 {
		t.Errorf("%q arrived and %d are queued", w.arrived(), w.queued())
	}
}

// A slow transport is one whose sends to some chats wait for the test.
type slow struct {
	*chattest.Recorder
	release chan struct{}
}

func (s slow) Send(ctx context.Context, out chat.Outbound) (chat.Sent, error) {
	if out.To.Chat == "magda" {
		<-s.release
	}
	return s.Recorder.Send(ctx, out)
}

// A send that hangs holds back nobody else: an alert must not wait for another person's
// network. The one that hangs keeps its place, and is not sent a second time meanwhile.
func TestSlowSendHoldsBackNobodyElse(t *testing.T) {
	w := newWorld(t)
	release := make(chan struct{})
	w.out.Transports["post"] = slow{w.post, release}
	w.queue("magda", store.LaneReply, "m1", 0)
	w.queue("magda", store.LaneReply, "m2", 0)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- w.out.Run(ctx) }()
	wait, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	for i := range 3 {
		w.queue("ines", store.LaneAlert, fmt.Sprint("i", i), 0)
		w.out.Nudge()
		if err := w.post.Attempted(wait, i+1); err != nil {
			t.Fatal("another's alert waits for a send that hangs")
		}
	}
	close(release)
	if err := w.post.Attempted(wait, 5); err != nil {
		t.Fatal(err)
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if have := w.arrived(); have != "i0 i1 i2 m1 m2" || w.queued() != 0 {
		t.Errorf("%s arrived and %d are queued", have, w.queued())
	}
}

// Stopping waits for what hangs on the wire and keeps what became of it.
func TestRunStopsAfterTheWireIsEmpty(t *testing.T) {
	w := newWorld(t)
	release := make(chan struct{})
	w.out.Transports["post"] = slow{w.post, release}
	w.queue("magda", store.LaneReply, "m1", 0)
	w.queue("ines", store.LaneReply, "i1", 0)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- w.out.Run(ctx) }()
	wait, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if err := w.post.Attempted(wait, 1); err != nil {
		t.Fatal(err)
	}
	stop()
	close(release)
	<-ended
	if w.arrived() != "i1 m1" || w.queued() != 0 {
		t.Errorf("%q arrived and %d are queued", w.arrived(), w.queued())
	}
}

// However little may be on the wire at once, a pass sends everything that is due.
func TestNarrowWire(t *testing.T) {
	w := newWorld(t)
	w.out.Wire = 1
	for i := range 10 {
		w.do(func(tx *store.Tx) error {
			_, err := tx.Enqueue(store.Message{Lane: store.LaneReply, Out: chat.Outbound{To: w.post.Address(fmt.Sprint(i)), Body: []chat.Paragraph{{Text: fmt.Sprint(i)}}}})
			return err
		})
	}
	w.pass(10)
	if have := w.arrived(); have != "0 1 2 3 4 5 6 7 8 9" {
		t.Errorf("%s arrived", have)
	}
}
