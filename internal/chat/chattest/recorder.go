// Package chattest owns what tests need of a transport: a Recorder that plays one,
// and Exercise, the suite that every transport passes. It knows nothing of the bot.
package chattest

import (
	"context"
	"slices"
	"strconv"
	"sync"
	"time"

	"samelift/internal/chat"
)

// Recorder is a transport without a network. It remembers in order what it was told
// to send, and hands Receive's f what the test feeds it. All methods may be called
// from any goroutine. The zero value is not usable; see NewRecorder.
type Recorder struct {
	name string

	mu       sync.Mutex
	changed  chan struct{} // closed and replaced at every change
	now      func() time.Time
	queue    []chat.Inbound // not yet accepted; the first may be with f now
	last     *chat.Inbound  // accepted last
	nextID   int
	attempts []Attempt
	refs     map[chat.Address]int
	failing  []error
	when     func(chat.Outbound) error
}

// Attempt is one call of Send and its end.
type Attempt struct {
	Out chat.Outbound
	// Ref is what Send returned; empty if it failed.
	Ref string
	// Edited tells that an earlier message was changed and no new one was sent.
	Edited bool
	// Arrived is false for a failed send, unless its answer only was lost.
	Arrived bool
	Err     error
}

// NewRecorder is a transport of that name, with nothing fed and nothing sent.
func NewRecorder(name string) *Recorder {
	return &Recorder{
		name:    name,
		changed: make(chan struct{}),
		now:     time.Now,
		refs:    map[chat.Address]int{},
	}
}

// Name is the name it was made with.
func (r *Recorder) Name() string { return r.name }

// SetNow sets the clock that stamps what Say, Press and Feed hand in.
func (r *Recorder) SetNow(now func() time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.now = now
}

// Address is the private chat of that name on this transport.
func (r *Recorder) Address(chatID string) chat.Address {
	return chat.Address{Transport: r.name, Chat: chatID}
}

// Feed queues inbound messages. An empty ID, a zero At and an empty From.Transport
// are filled in; all else is handed on as it is.
func (r *Recorder) Feed(ins ...chat.Inbound) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, in := range ins {
		if in.ID == "" {
			r.nextID++
			in.ID = "r" + strconv.Itoa(r.nextID)
		}
		if in.At.IsZero() {
			in.At = r.now()
		}
		if in.From.Transport == "" {
			in.From.Transport = r.name
		}
		r.queue = append(r.queue, in)
	}
	r.change()
}

// Say feeds a typed text from a private chat.
func (r *Recorder) Say(from chat.Address, text string) {
	r.Feed(chat.Inbound{From: from, Private: true, Kind: chat.KindText, Text: text})
}

// Press feeds the pressing of a choice under the message that ref names.
func (r *Recorder) Press(from chat.Address, ref, data string) {
	r.Feed(chat.Inbound{From: from, Private: true, Kind: chat.KindChoice, Choice: data, Message: ref})
}

// Again feeds the message that was accepted last once more, under the same ID, as a
// transport does that was cut off before it could note the acceptance. It reports
// whether there was one.
func (r *Recorder) Again() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.last == nil {
		return false
	}
	r.queue = append(r.queue, *r.last)
	r.change()
	return true
}

// Settled waits until all that was fed has been accepted, or returns ctx's error.
func (r *Recorder) Settled(ctx context.Context) error {
	return r.await(ctx, func() bool { return len(r.queue) == 0 })
}

// Receive implements chat.Transport. A message that f refuses comes again at once.
func (r *Recorder) Receive(ctx context.Context, f func(context.Context, chat.Inbound) error) error {
	for {
		if err := r.await(ctx, func() bool { return len(r.queue) > 0 }); err != nil {
			return err
		}
		r.mu.Lock()
		in := r.queue[0]
		r.mu.Unlock()
		if err := f(ctx, in); err != nil {
			// A pause, so that an f which always fails does not eat a processor.
			select {
			case <-ctx.Done():
			case <-time.After(time.Millisecond):
			}
			continue
		}
		r.mu.Lock()
		r.queue = slices.Delete(r.queue, 0, 1)
		r.last = &in
		r.change()
		r.mu.Unlock()
	}
}

// FailNext makes the next n sends fail with err; nothing of them arrives. Calls add
// up, in order.
func (r *Recorder) FailNext(n int, err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for range n {
		r.failing = append(r.failing, err)
	}
}

// FailWhen makes a send fail with what f returns for it, where that is not nil. It
// stays until it is called again; nil removes it. FailNext goes first.
func (r *Recorder) FailWhen(f func(chat.Outbound) error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.when = f
}

// LoseAnswers makes the next n sends arrive and yet fail with chat.ErrUncertain.
func (r *Recorder) LoseAnswers(n int) { r.FailNext(n, answerLost{}) }

type answerLost struct{}

func (answerLost) Error() string { return "answer lost: " + chat.ErrUncertain.Error() }
func (answerLost) Unwrap() error { return chat.ErrUncertain }

// Send implements chat.Transport. Refs count up from 1 in each chat.
func (r *Recorder) Send(ctx context.Context, out chat.Outbound) (chat.Sent, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	a := Attempt{Out: clone(out)}
	switch {
	case ctx.Err() != nil:
		a.Err = ctx.Err()
	case len(r.failing) > 0:
		a.Err = r.failing[0]
		r.failing = r.failing[1:]
	case r.when != nil:
		a.Err = r.when(out)
	}
	if a.Err == nil && out.OnlyEdit && !r.arrived(out.To, out.Edit) {
		a.Err = chat.ErrRefused
	}
	lost := a.Err == error(answerLost{})
	if a.Err == nil || lost {
		a.Arrived = true
		a.Ref = out.Edit
		a.Edited = out.Edit != "" && r.arrived(out.To, out.Edit)
		if !a.Edited {
			r.refs[out.To]++
			a.Ref = strconv.Itoa(r.refs[out.To])
		}
	}
	r.attempts = append(r.attempts, a)
	r.change()
	if a.Err != nil {
		return chat.Sent{}, a.Err
	}
	return chat.Sent{Ref: a.Ref}, nil
}

func clone(out chat.Outbound) chat.Outbound {
	out.Body = slices.Clone(out.Body)
	out.Choices = slices.Clone(out.Choices)
	for i := range out.Choices {
		out.Choices[i] = slices.Clone(out.Choices[i])
	}
	return out
}

func (r *Recorder) arrived(to chat.Address, ref string) bool {
	return slices.ContainsFunc(r.attempts, func(a Attempt) bool {
		return a.Arrived && a.Out.To == to && a.Ref == ref
	})
}

// Attempts is every call of Send so far, in order, failed ones included.
func (r *Recorder) Attempts() []Attempt {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.attempts)
}

// Arrivals is every attempt that arrived, in order, edits included.
func (r *Recorder) Arrivals() []Attempt {
	var out []Attempt
	for _, a := range r.Attempts() {
		if a.Arrived {
			out = append(out, a)
		}
	}
	return out
}

// Screen is what stands in one chat now: each message once, in the order in which
// they first came, as its last edit left it.
func (r *Recorder) Screen(of chat.Address) []Attempt {
	var out []Attempt
	for _, a := range r.Arrivals() {
		if a.Out.To != of {
			continue
		}
		if a.Edited {
			i := slices.IndexFunc(out, func(b Attempt) bool { return b.Ref == a.Ref })
			out[i] = a
			continue
		}
		out = append(out, a)
	}
	return out
}

// Attempted waits until Send has been called n times in all, or returns ctx's error.
func (r *Recorder) Attempted(ctx context.Context, n int) error {
	return r.await(ctx, func() bool { return len(r.attempts) >= n })
}

// change wakes all who wait; the caller holds mu.
func (r *Recorder) change() {
	close(r.changed)
	r.changed = make(chan struct{})
}

// await waits until ok, which is called with mu held, or returns ctx's error.
func (r *Recorder) await(ctx context.Context, ok func() bool) error {
	for {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		r.mu.Lock()
		done, changed := ok(), r.changed
		r.mu.Unlock()
		if done {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-changed:
		}
	}
}
