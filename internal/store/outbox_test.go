package store_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"samelift/internal/chat"
	"samelift/internal/store"
)

// queue keeps a message for a person of the demo site.
func queue(tx *store.Tx, person string, lane store.Lane, text string) error {
	_, err := tx.Enqueue(message(person, lane, text))
	return err
}

func message(person string, lane store.Lane, text string) store.Message {
	return store.Message{Site: "larch", Person: person, Lane: lane, Out: chat.Outbound{To: at(person), Body: []chat.Paragraph{{Text: text}}}}
}

// enqueue keeps messages and gives their ids.
func enqueue(t testing.TB, s *store.Store, when time.Time, all ...store.Message) []int64 {
	t.Helper()
	var ids []int64
	do(t, s, when, func(tx *store.Tx) error {
		for _, m := range all {
			id, err := tx.Enqueue(m)
			if err != nil {
				return err
			}
			ids = append(ids, id)
		}
		return nil
	})
	return ids
}

func due(t testing.TB, s *store.Store, when time.Time) []store.Message {
	t.Helper()
	return get(t, s, when, func(tx *store.Tx) ([]store.Message, error) { return tx.Due(100, []string{"post"}) })
}

// texts are the texts of messages, in order.
func texts(all []store.Message) string {
	var out []string
	for _, m := range all {
		out = append(out, m.Out.Body[0].Text)
	}
	return strings.Join(out, " ")
}

// The urgent goes first, and of each person and lane only the first in line.
func TestDueOrder(t *testing.T) {
	s := open(t)
	ids := enqueue(t, s, now,
		message("ann", store.LaneReminder, "a-reminder"), message("ann", store.LaneReply, "a1"), message("ann", store.LaneReply, "a2"),
		message("ben", store.LaneReply, "b1"), message("ben", store.LaneChange, "b-change"), message("ann", store.LaneAlert, "a-alert"),
		message("ann", store.LaneHandover, "a-handover"))
	if have := texts(due(t, s, now)); have != "a-alert a1 b1 b-change a-handover a-reminder" {
		t.Errorf("due is %s", have)
	}
	do(t, s, now, func(tx *store.Tx) error { return tx.Sent(ids[1], "1") })
	if have := texts(due(t, s, now)); have != "a-alert a2 b1 b-change a-handover a-reminder" {
		t.Errorf("after the first reply due is %s", have)
	}
	if have := texts(get(t, s, now, func(tx *store.Tx) ([]store.Message, error) { return tx.Due(2, []string{"post"}) })); have != "a-alert a2" {
		t.Errorf("the two most urgent are %s", have)
	}
}

// A row that is put off holds back what was queued behind it for the same person and
// lane, and nothing else.
func TestLaterRowsWaitBehindAnEarlierOne(t *testing.T) {
	s := open(t)
	ids := enqueue(t, s, now, message("ann", store.LaneReply, "a1"), message("ann", store.LaneReply, "a2"), message("ann", store.LaneAlert, "a-alert"), message("ben", store.LaneReply, "b1"))
	do(t, s, now, func(tx *store.Tx) error { return tx.Later(ids[0], now.Add(time.Minute), "not sent") })
	if have := texts(due(t, s, now.Add(59*time.Second))); have != "a-alert b1" {
		t.Errorf("while the first waits due is %s", have)
	}
	if have := due(t, s, now.Add(time.Minute)); texts(have) != "a-alert a1 b1" || have[1].Attempts != 1 {
		t.Errorf("then due is %s", texts(have))
	}
	do(t, s, now, func(tx *store.Tx) error { return tx.Wait(at("ann"), now.Add(time.Hour)) })
	if have := texts(due(t, s, now.Add(time.Minute))); have != "b1" {
		t.Errorf("while everything for ann waits due is %s", have)
	}
	next, waits, err := time.Time{}, false, error(nil)
	see(t, s, now, func(tx *store.Tx) error { next, waits, err = tx.NextDue(); return err })
	if !waits || !next.Equal(now) {
		t.Errorf("the next is due at %s (%t), want at once", next, waits)
	}
	if have := due(t, s, now.Add(time.Hour)); texts(have) != "a-alert a1 b1" || have[0].Attempts != 0 || have[1].Attempts != 1 {
		t.Errorf("waiting counted as a try: %+v", have)
	}
	// What ended lets the next one pass.
	do(t, s, now, func(tx *store.Tx) error { return tx.Ended(ids[0], false, "refused") })
	if have := texts(due(t, s, now.Add(time.Hour))); have != "a-alert a2 b1" {
		t.Errorf("after the first ended due is %s", have)
	}
}

// Messages for a transport that does not run now wait, and take no place from others.
func TestDueOfTheTransportsThatRun(t *testing.T) {
	s := open(t)
	var all []store.Message
	for i := range 50 {
		m := message(fmt.Sprint("p", i), store.LaneAlert, "elsewhere")
		m.Out.To.Transport = "page"
		all = append(all, m)
	}
	enqueue(t, s, now, append(all, message("ann", store.LaneReminder, "here"))...)
	for _, c := range []struct {
		run   []string
		first string
		n     int
	}{
		{[]string{"post"}, "here", 1}, {[]string{"post", "page"}, "elsewhere", 10}, {nil, "", 0},
	} {
		have := get(t, s, now, func(tx *store.Tx) ([]store.Message, error) { return tx.Due(10, c.run) })
		if len(have) != c.n || c.n > 0 && have[0].Out.Body[0].Text != c.first {
			t.Errorf("with %v running, %d are due: %s", c.run, len(have), texts(have))
		}
	}
	if n := get(t, s, now, (*store.Tx).Queued); n != 51 {
		t.Errorf("%d are queued, want 51", n)
	}
}

// What is sent is what was queued, and every choice carries data that says nothing.
func TestDueGivesTheMessage(t *testing.T) {
	s := withDemo(t)
	out := chat.Outbound{
		To: at("ann"), Lang: "ar", RTL: true, Secret: true, Quiet: true,
		Body:    []chat.Paragraph{{Style: chat.Quote, Text: "مرحبا", Lang: "ar", RTL: true}, {Text: "two"}},
		Choices: [][]chat.Choice{{{Label: "yes"}, {Label: "page", URL: "https://example.org/"}}, {{Label: "no"}}},
		Picture: &chat.Picture{Name: "p", PNG: []byte{1, 2, 3}, Alt: "a sling"},
	}
	m := store.Message{Site: "larch", Person: "magda", Lane: store.LaneChange, Out: out, Actions: []json.RawMessage{[]byte(`"y"`), nil, []byte(`"n"`)}}
	id := enqueue(t, s, now, m)[0]
	have := due(t, s, now.Add(time.Minute))[0]
	want := m
	want.ID, want.Made, want.Actions = id, now, nil
	want.Out.Key = "1"
	want.Out.Choices = [][]chat.Choice{{{Label: "yes", Data: "1.0"}, {Label: "page", URL: "https://example.org/"}}, {{Label: "no", Data: "1.2"}}}
	if !reflect.DeepEqual(have, want) {
		t.Errorf("due is\n%+v\nwant\n%+v", have, want)
	}
	see(t, s, now, func(tx *store.Tx) error {
		offered, when, err := tx.Offered(at("ann"))
		if want := append(slices.Clone(want.Out.Choices[0]), want.Out.Choices[1]...); !reflect.DeepEqual(offered, want) || !when.Equal(now) {
			t.Errorf("offered are %+v at %s", offered, when)
		}
		return err
	})
}

// A press counts only at the address it was sent to, and only what was offered there.
// Nothing else that arrives as data does anything.
func TestPressed(t *testing.T) {
	s := open(t)
	ask := message("ann", store.LaneReply, "?")
	ask.Out.Choices = [][]chat.Choice{{{Label: "yes"}, {Label: "no"}}}
	ask.Actions = []json.RawMessage{[]byte(`{"do":"yes"}`), []byte(`{"do":"no"}`)}
	var many []store.Message
	for range 40 {
		many = append(many, ask)
	}
	id := enqueue(t, s, now, append(many, message("ann", store.LaneReply, "no choice"))...)[36] // "11" in base 36
	for _, c := range []struct {
		says string
		from chat.Address
		data string
		want string
	}{
		{"the first choice", at("ann"), "11.0", `{"do":"yes"}`},
		{"the second choice", at("ann"), "11.1", `{"do":"no"}`},
		{"somebody else", at("ben"), "11.0", ""},
		{"another transport", chat.Address{Transport: "page", Chat: "ann"}, "11.0", ""},
		{"no such choice", at("ann"), "11.2", ""},
		{"no such message", at("ann"), "zz.0", ""},
		{"a message without choices", at("ann"), "15.0", ""},
		{"nothing", at("ann"), "", ""},
		{"no number", at("ann"), "11.", ""},
		{"no message", at("ann"), ".0", ""},
		{"a dot", at("ann"), ".", ""},
		{"two dots", at("ann"), "11.0.0", ""},
		{"a negative choice", at("ann"), "11.-1", ""},
		{"a negative message", at("ann"), "-11.0", ""},
		{"a number too large", at("ann"), "11.99999999999999999999", ""},
		{"a number that wraps round at 16 bits", at("ann"), "11.65536", ""},
		{"a message number too large", at("ann"), "zzzzzzzzzzzzzzzzzzzz.0", ""},
		{"SQL", at("ann"), "11' OR 1=1 --.0", ""},
		{"a zero byte", at("ann"), "11\x00.0", ""},
		{"a megabyte", at("ann"), strings.Repeat("1", 1<<20) + ".0", ""},
		{"a megabyte of a choice", at("ann"), "11." + strings.Repeat("0", 1<<20), ""},
		{"JSON", at("ann"), `{"do":"yes"}`, ""},
	} {
		see(t, s, now, func(tx *store.Tx) error {
			action, message, ok, err := tx.Pressed(c.from, c.data)
			if string(action) != c.want || ok != (c.want != "") || ok && message != id {
				t.Errorf("%s: %s from message %d, %t", c.says, action, message, ok)
			}
			return err
		})
	}
}

// Whatever arrives as data, reading it neither fails nor finds what was never offered.
func FuzzPressed(f *testing.F) {
	s := open(f)
	m := message("ann", store.LaneReply, "?")
	m.Out.Choices = [][]chat.Choice{{{Label: "yes"}}}
	m.Actions = []json.RawMessage{[]byte(`{}`)}
	enqueue(f, s, now, m)
	for _, data := range []string{"1.0", "+1.0", "01.00", "1.1", "١.٠", "", "."} {
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data string) {
		see(t, s, now, func(tx *store.Tx) error {
			_, id, ok, err := tx.Pressed(at("ann"), data)
			if ok && id != 1 {
				t.Errorf("%q is message %d", data, id)
			}
			return err
		})
	})
}

// The choices that a typed label can stand for are those of the last message that had
// any, at this address.
func TestOfferedLast(t *testing.T) {
	s := open(t)
	ask := func(person, label string) store.Message {
		m := message(person, store.LaneReply, "?")
		m.Out.Choices, m.Actions = [][]chat.Choice{{{Label: label}}}, []json.RawMessage{[]byte(`{}`)}
		return m
	}
	enqueue(t, s, now, ask("ann", "older"))
	enqueue(t, s, now.Add(time.Minute), ask("ann", "newer"))
	enqueue(t, s, now.Add(2*time.Minute), message("ann", store.LaneReply, "no choices"), ask("ben", "another's"))
	see(t, s, now, func(tx *store.Tx) error {
		offered, when, err := tx.Offered(at("ann"))
		if len(offered) != 1 || offered[0].Label != "newer" || offered[0].Data != "2.0" || !when.Equal(now.Add(time.Minute)) {
			t.Errorf("offered are %+v at %s", offered, when)
		}
		none, _, err2 := tx.Offered(at("nobody"))
		if none != nil {
			t.Errorf("offered to nobody are %+v", none)
		}
		return errors.Join(err, err2)
	})
}

// An edit finds the message it replaces, along any chain of edits, whether the
// transport edits in place, and gives the same ref, or sends anew. Where the message
// that it replaces never surely arrived, it is a message of its own.
func TestEditsFindTheirMessage(t *testing.T) {
	for _, c := range []struct {
		says string
		refs []string // what the transport returns, in order
		want []string // what each next message edits
	}{
		{"edited in place", []string{"7", "7", "7", "7"}, []string{"", "7", "7", "7"}},
		{"sent anew each time", []string{"7", "8", "9", "10"}, []string{"", "7", "8", "9"}},
		{"once anew", []string{"7", "7", "9", "9"}, []string{"", "7", "7", "9"}},
	} {
		s := open(t)
		var last int64
		for i, ref := range c.refs {
			m := message("ann", store.LaneReply, fmt.Sprint(i))
			m.Edits = last
			last = enqueue(t, s, now, m)[0]
			have := due(t, s, now)
			if len(have) != 1 || have[0].Out.Edit != c.want[i] {
				t.Errorf("%s: message %d edits %q, want %q", c.says, i, have[0].Out.Edit, c.want[i])
			}
			do(t, s, now, func(tx *store.Tx) error { return tx.Sent(last, ref) })
		}
	}
	s := open(t)
	first := enqueue(t, s, now, message("ann", store.LaneReply, "first"))[0]
	do(t, s, now, func(tx *store.Tx) error { return tx.Ended(first, true, "uncertain") })
	m := message("ann", store.LaneReply, "edit")
	m.Edits = first
	enqueue(t, s, now, m)
	if have := due(t, s, now); have[0].Out.Edit != "" {
		t.Errorf("it edits %q, which may not be there", have[0].Out.Edit)
	}
	// Two presses on one message: both edit that message.
	s = open(t)
	first = enqueue(t, s, now, message("ann", store.LaneReply, "first"))[0]
	do(t, s, now, func(tx *store.Tx) error { return tx.Sent(first, "7") })
	m.Edits = first
	for range 2 {
		id := enqueue(t, s, now, m)[0]
		if have := due(t, s, now); have[0].Out.Edit != "7" {
			t.Errorf("it edits %q, want 7", have[0].Out.Edit)
		}
		do(t, s, now, func(tx *store.Tx) error { return tx.Sent(id, "7") })
	}
}

// What did not surely arrive is counted for each person, for a coordinator to see.
func TestUndelivered(t *testing.T) {
	s := withDemo(t)
	stranger := message("", store.LaneReply, "to a stranger")
	stranger.Site = ""
	ids := enqueue(t, s, now, message("magda", store.LaneReply, "1"), message("magda", store.LaneReply, "2"), message("magda", store.LaneReply, "3"),
		message("ines", store.LaneReply, "4"), message("grace", store.LaneReply, "5"), stranger)
	do(t, s, now, func(tx *store.Tx) error {
		return errors.Join(tx.Ended(ids[0], true, "uncertain"), tx.Ended(ids[1], false, "gone"), tx.Sent(ids[2], "1"),
			tx.Later(ids[3], now.Add(time.Second), "not sent"), tx.Ended(ids[4], false, "refused"), tx.Ended(ids[5], false, "refused"))
	})
	have := get(t, s, now, func(tx *store.Tx) (map[string]int, error) { return tx.Undelivered("larch") })
	if want := map[string]int{"magda": 2, "grace": 1}; !reflect.DeepEqual(have, want) {
		t.Errorf("undelivered are %v, want %v", have, want)
	}
	if n := get(t, s, now, (*store.Tx).Queued); n != 1 {
		t.Errorf("%d are queued, want 1", n)
	}
	if have := due(t, s, now.Add(time.Hour)); texts(have) != "4" {
		t.Errorf("what ended is due again: %s", texts(have))
	}
}
