package store

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"samelift/internal/chat"
)

// Lane is how urgent a message is; a lower number goes first.
type Lane int

// The lanes.
const (
	LaneAlert Lane = iota
	LaneReply
	LaneChange
	LaneHandover
	LaneReminder
	// LaneEdit says on an old message that it is old: nobody waits for it, and one that
	// cannot be edited any more is left alone.
	LaneEdit
)

// Message is one message to be sent, in the words its reader will see.
type Message struct {
	ID     int64
	Site   string
	Person string
	Lane   Lane
	// Out is the message; its Key and the Data of its choices are set by Enqueue.
	Out chat.Outbound
	// Actions holds, for each choice in order, what it means: JSON of the caller's.
	Actions []json.RawMessage
	// Edits is the id of the message that this one takes the place of, or zero.
	Edits int64
	// Client and PlanVersion say what the message is about, if about a plan.
	Client      string
	PlanVersion int
	Due         time.Time
	// Made is when it was queued.
	Made     time.Time
	Attempts int
}

// Enqueue keeps a message to be sent, and returns its id.
func (tx *Tx) Enqueue(m Message) (int64, error) {
	due := m.Due
	if due.IsZero() {
		due = tx.Now
	}
	var edits any
	if m.Edits != 0 {
		edits = m.Edits
		if m.Lane != LaneEdit {
			// Something newer takes the place of the old message, so it need not say that
			// it is old; the edit would come after and hide what is new.
			if err := tx.exec(`DELETE FROM outbox WHERE state = 'queued' AND lane = 5 AND edits = $1`, m.Edits); err != nil {
				return 0, err
			}
		}
	}
	var version any
	if m.PlanVersion != 0 {
		version = m.PlanVersion
	}
	var picture any
	if p := m.Out.Picture; p != nil && p.Key != "" {
		picture, m.Out.Picture = p.Key, &chat.Picture{Key: p.Key, Name: p.Name, Alt: p.Alt}
	}
	var id int64
	_, err := tx.one(`INSERT INTO outbox (site, person, transport, chat, lane, message, actions, edits, client, plan_version, state, made_at, due_at, picture)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, 'queued', $11, $12, $13) RETURNING id`,
		[]any{null(m.Site), null(m.Person), m.Out.To.Transport, m.Out.To.Chat, int(m.Lane), toJSON(m.Out), toJSON(nonNil(m.Actions)), edits,
			null(m.Client), version, micros(tx.Now), micros(due), picture}, &id)
	return id, err
}

// theirs holds of a message o unless it was sent to somebody else than the member who is
// at its address now: to whoever had the phone before, or as another site's. Refs mean
// something within one site only.
const theirs = `NOT EXISTS (SELECT 1 FROM people p WHERE p.transport = o.transport AND p.chat = o.chat AND p.removed = 0
	AND (p.site <> o.site OR p.ref <> o.person))`

// Pressed finds what a choice meant, by its data, for the address that was sent it.
// It reports false for data that is malformed, unknown or somebody else's.
func (tx *Tx) Pressed(a chat.Address, data string) (action json.RawMessage, message int64, ok bool, err error) {
	id, n, found := parseData(data)
	if !found {
		return nil, 0, false, nil
	}
	var actions []json.RawMessage
	found, err = tx.one(`SELECT o.actions FROM outbox o WHERE o.id = $1 AND o.transport = $2 AND o.chat = $3 AND `+theirs, []any{id, a.Transport, a.Chat}, asJSON{&actions})
	if err != nil || !found || n >= len(actions) {
		return nil, 0, false, err
	}
	return actions[n], id, true, nil
}

// Offered gives the labels and data of the choices that an address was sent last, and
// when, so that typing a label can stand for pressing it.
func (tx *Tx) Offered(a chat.Address) ([]chat.Choice, time.Time, error) {
	var id, made int64
	var out chat.Outbound
	ok, err := tx.one(`SELECT o.id, o.made_at, o.message FROM outbox o WHERE o.transport = $1 AND o.chat = $2 AND o.actions <> '[]' AND o.lane <> 5 AND `+theirs+` ORDER BY o.id DESC LIMIT 1`,
		[]any{a.Transport, a.Chat}, &id, &made, asJSON{&out})
	if err != nil || !ok {
		return nil, time.Time{}, err
	}
	label(&out, id)
	var all []chat.Choice
	for _, row := range out.Choices {
		all = append(all, row...)
	}
	return all, instant(made), nil
}

// ToldOfOthers reports whether an address has been told from an instant on, without being
// asked, what is not about this client, or not about this client alone.
func (tx *Tx) ToldOfOthers(a chat.Address, client string, after time.Time) (bool, error) {
	var n int
	return tx.one(`SELECT 1 FROM outbox WHERE transport = $1 AND chat = $2 AND made_at >= $3 AND lane IN (0, 2, 3, 4)
		AND (client IS NULL OR client <> $4) LIMIT 1`, []any{a.Transport, a.Chat, micros(after), client}, &n)
}

// A choice's data is the message's id and the choice's number, and nothing else: it
// says nothing to anybody, and the press counts only from the address it was sent to.
func label(out *chat.Outbound, id int64) {
	n := 0
	for i := range out.Choices {
		for j := range out.Choices[i] {
			if out.Choices[i][j].URL == "" {
				out.Choices[i][j].Data = strconv.FormatInt(id, 36) + "." + strconv.Itoa(n)
			}
			n++
		}
	}
}

func parseData(data string) (id int64, n int, ok bool) {
	a, b, ok := strings.Cut(data, ".")
	if !ok || len(data) > chat.MaxData {
		return 0, 0, false
	}
	id, err := strconv.ParseInt(a, 36, 64)
	if err != nil {
		return 0, 0, false
	}
	u, err := strconv.ParseUint(b, 10, 16)
	return id, int(u), err == nil
}

// Due lists messages that may be sent now on some transports: the most urgent first,
// and of each address and lane only the first in line.
func (tx *Tx) Due(limit int, transports []string) ([]Message, error) {
	if len(transports) == 0 {
		return nil, nil
	}
	in, args := placeholders(transports, 3)
	due, err := list(tx, `
		SELECT o.id, o.site, o.person, o.transport, o.chat, o.lane, o.message, o.attempts, o.made_at, e.remote_ref, e.picture
		FROM outbox o LEFT JOIN outbox e ON e.id = o.edits
		WHERE o.state = 'queued' AND o.due_at <= $1 AND o.transport IN (`+in+`) AND NOT EXISTS (
			SELECT 1 FROM outbox b
			WHERE b.state = 'queued' AND b.transport = o.transport AND b.chat = o.chat AND b.lane = o.lane AND b.id < o.id)
		ORDER BY o.lane, o.id LIMIT $2`, append([]any{micros(tx.Now), limit}, args...),
		func(m *Message, scan func(...any) error) error {
			var site, person, ref, was *string
			var made int64
			var to chat.Address
			if err := scan(&m.ID, &site, &person, &to.Transport, &to.Chat, &m.Lane, asJSON{&m.Out}, &m.Attempts, &made, &ref, &was); err != nil {
				return err
			}
			m.Site, m.Person, m.Made = deref(site), deref(person), instant(made)
			m.Out.To, m.Out.Edit = to, deref(ref) // its reader may have moved since
			if m.Out.OnlyEdit && was == nil {
				m.Out.Picture = nil // it only takes the place of another
			}
			m.Out.Key = strconv.FormatInt(m.ID, 36)
			label(&m.Out, m.ID)
			return nil
		})
	for i := range due {
		if err == nil {
			err = tx.fillPicture(&due[i].Out)
		}
	}
	return due, err
}

// NextDue gives when the next queued message falls due, and false if none waits.
func (tx *Tx) NextDue() (time.Time, bool, error) {
	var at *int64
	_, err := tx.one(`SELECT min(due_at) FROM outbox WHERE state = 'queued'`, nil, &at)
	if err != nil || at == nil {
		return time.Time{}, false, err
	}
	return instant(*at), true, nil
}

// Sent keeps that a message was delivered and under which ref. An edit is found under
// the ref of the message it replaced.
//
// A message about a plan that was replaced or stopped while it waited is sent as it
// was, and a wake of the kind WakeStale sees to it.
func (tx *Tx) Sent(id int64, ref string) error {
	if err := tx.exec(`UPDATE outbox SET state = 'sent', sent_at = $2, remote_ref = $3, error = NULL, attempts = attempts + 1 WHERE id = $1`, id, micros(tx.Now), ref); err != nil {
		return err
	}
	var site, client string
	late, err := tx.one(`SELECT o.site, o.client FROM outbox o
		WHERE o.id = $1 AND o.plan_version IS NOT NULL AND o.site IS NOT NULL AND (
			EXISTS (SELECT 1 FROM plans p WHERE p.site = o.site AND p.client = o.client AND p.version > o.plan_version AND p.draft = 0 AND p.from_at <= $2)
			OR EXISTS (SELECT 1 FROM plan_events e WHERE e.site = o.site AND e.client = o.client AND e.act <> 'resumed' AND e.up_to >= o.plan_version
				AND NOT EXISTS (SELECT 1 FROM plan_events l WHERE l.site = e.site AND l.client = e.client AND l.number > e.number)))`,
		[]any{id, micros(tx.Now)}, &site, &client)
	if err != nil || !late {
		return err
	}
	return tx.KeepWake(Wake{Site: site, Kind: WakeStale, Key: client, Due: tx.Now})
}

// Later keeps that a message was not delivered and when to try again. The reason is
// for operators and holds nothing personal.
func (tx *Tx) Later(id int64, due time.Time, reason string) error {
	return tx.exec(`UPDATE outbox SET due_at = $2, error = $3, attempts = attempts + 1 WHERE id = $1`, id, micros(due), reason)
}

// Wait puts off everything queued for an address without counting it as a try.
func (tx *Tx) Wait(a chat.Address, due time.Time) error {
	return tx.exec(`UPDATE outbox SET due_at = $3 WHERE transport = $1 AND chat = $2 AND state = 'queued' AND due_at < $3`, a.Transport, a.Chat, micros(due))
}

// Ended keeps that a message will not be tried again: uncertain or undeliverable.
func (tx *Tx) Ended(id int64, uncertain bool, reason string) error {
	state := "undeliverable"
	if uncertain {
		state = "uncertain"
	}
	return tx.exec(`UPDATE outbox SET state = $2, error = $3, attempts = attempts + 1 WHERE id = $1`, id, state, reason)
}

// Undelivered counts, for each person, the messages that did not surely arrive.
func (tx *Tx) Undelivered(site string) (map[string]int, error) {
	out := map[string]int{}
	err := tx.each(`SELECT person, count(*) FROM outbox WHERE site = $1 AND state IN ('uncertain', 'undeliverable') AND lane <> 5 AND person IS NOT NULL GROUP BY person`, []any{site},
		func(scan func(...any) error) error {
			var p string
			var n int
			if err := scan(&p, &n); err != nil {
				return err
			}
			out[p] = n
			return nil
		})
	return out, err
}

// Queued counts what waits to be sent.
func (tx *Tx) Queued() (int, error) {
	var n int
	_, err := tx.one(`SELECT count(*) FROM outbox WHERE state = 'queued'`, nil, &n)
	return n, err
}

func deref[T any](p *T) T {
	var v T
	if p != nil {
		v = *p
	}
	return v
}

// String names the lane for logs.
func (l Lane) String() string {
	if l >= 0 && int(l) < 6 {
		return [...]string{"alert", "reply", "change", "handover", "reminder", "edit"}[l]
	}
	return fmt.Sprintf("lane %d", int(l))
}
