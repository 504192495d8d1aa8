package chattest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image/png"
	"testing"
	"time"

	"samelift/internal/chat"
)

func TestRecorder(t *testing.T) {
	Exercise(t, func(t *testing.T) *Harness {
		r := NewRecorder("test")
		n := 0
		errs := map[Fault]error{
			FaultDown:      errors.New("no network"),
			FaultBusy:      &chat.RetryAfter{Wait: time.Second},
			FaultGone:      chat.ErrGone,
			FaultUncertain: chat.ErrUncertain,
			FaultRefused:   chat.ErrRefused,
		}
		return &Harness{
			Transport: r,
			Person: func() chat.Address {
				n++
				return r.Address(fmt.Sprint(n))
			},
			Say:    r.Say,
			Press:  r.Press,
			Other:  func(from chat.Address) { r.Feed(chat.Inbound{From: from, Private: true, Kind: chat.KindOther}) },
			Group:  func(text string) { r.Feed(chat.Inbound{From: r.Address("-1"), Kind: chat.KindText, Text: text}) },
			Leave:  func(from chat.Address) { r.Feed(chat.Inbound{From: from, Private: true, Kind: chat.KindLeft}) },
			Return: func(from chat.Address) { r.Feed(chat.Inbound{From: from, Private: true, Kind: chat.KindReturns}) },
			Fail: func(f Fault) bool {
				r.FailNext(1, errs[f])
				return true
			},
			Seen: func(of chat.Address) []Seen {
				var out []Seen
				for _, a := range r.Screen(of) {
					out = append(out, Seen{Ref: a.Ref, Text: text(a.Out), Choices: a.Out.Choices, Picture: a.Out.Picture != nil})
				}
				return out
			},
		}
	})
}

func TestRecorderWaits(t *testing.T) {
	r := NewRecorder("test")
	got := receive(t, r, nil)
	ann := r.Address("1")
	r.Say(ann, "one")
	r.Say(ann, "two")
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := r.Settled(ctx); err != nil {
		t.Fatal(err)
	}
	if len(got.got) != 2 {
		t.Errorf("%d messages are accepted, want 2", len(got.got))
	}
	got.next()
	two := got.next()
	if !r.Again() {
		t.Fatal("nothing to repeat")
	}
	if in := got.next(); in.ID != two.ID {
		t.Errorf("repeated under id %s, want %s", in.ID, two.ID)
	}

	ended, end := context.WithCancel(context.Background())
	end()
	if err := r.Attempted(ended, 1); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func TestRecorderRemembers(t *testing.T) {
	r := NewRecorder("test")
	ctx := context.Background()
	ann, ben := r.Address("1"), r.Address("2")
	r.LoseAnswers(1)
	if _, err := r.Send(ctx, words(ann, "a")); !errors.Is(err, chat.ErrUncertain) {
		t.Errorf("got %v", err)
	}
	r.FailWhen(func(out chat.Outbound) error {
		if out.To == ben {
			return chat.ErrGone
		}
		return nil
	})
	if _, err := r.Send(ctx, words(ben, "b")); !errors.Is(err, chat.ErrGone) {
		t.Errorf("got %v", err)
	}
	if _, err := r.Send(ctx, words(ann, "c")); err != nil {
		t.Errorf("got %v", err)
	}
	if n := len(r.Attempts()); n != 3 {
		t.Errorf("%d attempts, want 3", n)
	}
	if s := r.Screen(ann); len(s) != 2 || s[0].Ref != "1" || s[1].Ref != "2" {
		t.Errorf("the first person sees %v", s)
	}
	if s := r.Screen(ben); len(s) != 0 {
		t.Errorf("the second person sees %v", s)
	}
}

func TestOnePixel(t *testing.T) {
	if _, err := png.Decode(bytes.NewReader(OnePixel)); err != nil {
		t.Fatal(err)
	}
}
