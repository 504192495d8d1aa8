// Package bot takes one message in and makes one commit out. It owns the way between
// a transport, the store and the conversations: it loads what a step may know, lets
// dialog decide, has locale word what is said in each reader's language, and writes
// state, records, replies and reminders together or not at all. It never waits for the
// network inside a transaction, and it decides nothing about care itself.
package bot

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"log/slog"
	"runtime"
	"strings"
	"sync"
	"time"

	"samelift/internal/ask"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/dialog"
	"samelift/internal/locale"
	"samelift/internal/picture"
	"samelift/internal/store"
)

// Reader understands questions about the people it was made for.
type Reader interface {
	Read(text, lang string) ask.Reading
}

// Config is what a Bot needs.
type Config struct {
	Store *store.Store
	Words *locale.Catalog
	// Understand makes a reader for a site's clients and team.
	Understand func(clients, colleagues []ask.Name) Reader
	// Now is the clock.
	Now func() time.Time
	// Rand makes invitation codes; nil means the system's own source.
	Rand io.Reader
	// Link makes of a code what the newcomer opens on a transport; nil means the
	// command to type.
	Link func(transport, code string) string
	// Draw makes the PNG of a picture; nil means the drawing's own, as wide as a phone.
	Draw func(p *dialog.Picture) ([]byte, error)
	// Nudge is called after a commit that leaves something to send or to wake for.
	Nudge func()
	Log   *slog.Logger
}

// Bot answers.
type Bot struct {
	Config

	mu      sync.Mutex
	readers map[string]madeReader
	failing string // the message that failed last, and how often in a row
	times   int
}

type madeReader struct {
	revision int64
	reader   Reader
}

// New makes a bot.
func New(c Config) *Bot {
	if c.Rand == nil {
		c.Rand = rand.Reader
	}
	if c.Draw == nil {
		c.Draw = func(p *dialog.Picture) ([]byte, error) { return p.Drawing.PNG(picture.PhoneWidth) }
	}
	if c.Nudge == nil {
		c.Nudge = func() {}
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Link == nil {
		c.Link = func(_, code string) string { return "/start " + code }
	}
	return &Bot{Config: c, readers: map[string]madeReader{}}
}

// maxWords is the most runes of one message that are read.
const maxWords = 4000

// Handle takes one inbound message, whichever transport it came from, and commits all
// that follows from it. A message that was taken before has no effect. An error means
// that nothing was kept, and that the same message may come again.
//
// A message that fails three times is set aside, so that one that can never be taken
// does not stop everybody behind it; the person is asked to send it again.
func (b *Bot) Handle(ctx context.Context, in chat.Inbound) error {
	err := b.handle(ctx, in)
	if err == nil || ctx.Err() != nil {
		return err
	}
	if b.failed(in) < 3 {
		return err
	}
	b.Log.Error("a message is set aside after three tries", "transport", in.From.Transport, "kind", in.Kind, "error", err)
	return b.setAside(ctx, in)
}

// failed counts how often a message has failed in a row.
func (b *Bot) failed(in chat.Inbound) int {
	b.mu.Lock()
	defer b.mu.Unlock()
	key := in.From.Transport + " " + in.ID
	if b.failing != key {
		b.failing, b.times = key, 0
	}
	b.times++
	return b.times
}

// fellOver makes an error of a fault in our own code, so that one message costs one
// answer and not everybody's. What the fault was about may be personal; where it happened
// is not.
func fellOver(err *error) {
	if recover() == nil {
		return
	}
	var at []string
	pcs := make([]uintptr, 16)
	frames := runtime.CallersFrames(pcs[:runtime.Callers(3, pcs)])
	for more := true; more && len(at) < 4; {
		var f runtime.Frame
		if f, more = frames.Next(); strings.HasPrefix(f.Function, "samelift/") {
			at = append(at, fmt.Sprintf("%s:%d", f.Function, f.Line))
		}
	}
	*err = fmt.Errorf("the program fell over in %s", strings.Join(at, ", "))
}

// setAside takes a message that cannot be handled, and says so.
func (b *Bot) setAside(ctx context.Context, in chat.Inbound) error {
	err := b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error {
		if fresh, err := tx.Take(in.From.Transport, in.ID); err != nil || !fresh || !in.Private {
			return err
		}
		_, err := b.turnOf(tx, nil, care.Person{Lang: b.known(in.Lang)}, in.From, 0).
			say(dialog.Say{Lines: []dialog.Line{{Words: dialog.Words{Key: "problem.try_again"}}}})
		return err
	})
	if err == nil {
		b.Nudge()
	}
	return err
}

func (b *Bot) handle(ctx context.Context, in chat.Inbound) (err error) {
	defer fellOver(&err)
	err = b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error {
		fresh, err := tx.Take(in.From.Transport, in.ID)
		if err != nil || !fresh {
			return err
		}
		switch {
		case in.Kind == chat.KindLeft:
			return tx.SetGone(in.From, true)
		case in.Kind == chat.KindReturns:
			who, joined, err := tx.At(in.From)
			if err != nil {
				return err
			}
			if joined {
				if err := tx.SetWake(store.Wake{Site: who.Site, Kind: wakeReturn, Key: who.Person, Due: tx.Now}); err != nil {
					return err
				}
			}
			return tx.SetGone(in.From, false)
		case !in.Private:
			return b.inGroup(tx, in)
		}
		who, joined, err := tx.At(in.From)
		if err != nil {
			return err
		}
		if !joined {
			return b.stranger(tx, in)
		}
		return b.member(tx, in, who)
	})
	if err != nil {
		return fmt.Errorf("handle a message from %s: %w", in.From.Transport, err)
	}
	b.Nudge()
	return nil
}

// inGroup says that the bot works in private chats only, and nothing about anybody.
func (b *Bot) inGroup(tx *store.Tx, in chat.Inbound) error {
	if in.Kind != chat.KindText {
		return nil
	}
	t := b.turnOf(tx, nil, care.Person{Lang: b.known(in.Lang)}, in.From, 0)
	_, err := t.say(dialog.Say{Lines: []dialog.Line{{Words: dialog.Words{Key: "group.private_only"}}}})
	return err
}

// stranger answers somebody who has not joined.
func (b *Bot) stranger(tx *store.Tx, in chat.Inbound) error {
	saved, err := tx.Conversation(in.From)
	if err != nil {
		return err
	}
	state := dialog.Decode(saved)
	event, message, err := b.event(tx, in, state)
	if err != nil {
		return err
	}
	claim, hash := dialog.NoCode, ""
	if event.Command == "start" && event.Rest != "" {
		hash = hashOf(event.Rest)
		if claim, err = b.claim(tx, hash, in.From); err != nil {
			return err
		}
	}
	me := care.Person{Lang: b.known(in.Lang)}
	if state.Form != nil && state.Form.Lang != "" {
		me.Lang = state.Form.Lang
	}
	claimed := ""
	if state.Form != nil {
		claimed = state.Form.Ref
	}
	t := b.turnOf(tx, nil, me, in.From, message)
	t.claimed = claimed
	state, effects := dialog.StepStranger(state, event, t.facts(b), claim, hash)
	if err := t.apply(effects); err != nil {
		return err
	}
	return b.save(tx, in.From, state)
}

// member answers somebody of the team.
func (b *Bot) member(tx *store.Tx, in chat.Inbound, who store.Who) error {
	site, revision, err := tx.SiteRevision(who.Site)
	if err != nil {
		return err
	}
	me, ok := site.Person(who.Person)
	if !ok {
		return fmt.Errorf("a person who has joined is not in their site")
	}
	saved, err := tx.Conversation(in.From)
	if err != nil {
		return err
	}
	state := dialog.Decode(saved)
	event, message, err := b.event(tx, in, state)
	if err != nil {
		return err
	}
	t := b.turnOf(tx, site, me, in.From, message)
	t.revision = revision
	facts := t.facts(b)
	if in.Kind == chat.KindFile {
		if state, effects, taken, err := t.siteFile(state, facts, in.File); err != nil {
			return err
		} else if taken {
			if err := t.apply(effects); err != nil {
				return err
			}
			return b.save(tx, in.From, state)
		}
	}
	if facts.NextNote, err = tx.NextNoteRef(site.Ref); err != nil {
		return err
	}
	if facts.NextIncident, err = tx.NextIncidentRef(site.Ref); err != nil {
		return err
	}
	if event.Label, err = b.label(tx, site, event); err != nil {
		return err
	}
	if code, ok := scanned(event); ok && event.Label == nil {
		if event, err = b.scan(tx, site.Ref, code); err != nil {
			return err
		}
	} else if event.Command == "start" && event.Rest != "" && event.Label == nil {
		return t.apply([]dialog.Effect{dialog.Say{Lines: []dialog.Line{{Words: dialog.Words{Key: "join.already"}}}}})
	}
	state, effects := dialog.Step(state, event, facts)
	if t.records.err != nil {
		return t.records.err
	}
	if err := t.apply(effects); err != nil {
		return err
	}
	return b.save(tx, in.From, state)
}

func (b *Bot) save(tx *store.Tx, a chat.Address, state dialog.State) error {
	saved, err := state.Encode()
	if err != nil {
		return fmt.Errorf("write the conversation's state: %w", err)
	}
	return tx.SaveConversation(a, saved)
}

// event makes of what came in what a step understands. A typed label counts as a press
// of the choice it stands on, so that everything can be done by typing: always while a
// form waits, otherwise for as long as a question without a name is about the last
// client.
func (b *Bot) event(tx *store.Tx, in chat.Inbound, state dialog.State) (dialog.Event, int64, error) {
	var e dialog.Event
	choice, byHand := in.Choice, false
	if in.Kind == chat.KindText {
		e.Text = care.Clean(in.Text, maxWords)
		e.Long = len([]rune(in.Text)) > maxWords
		e.Command, e.Rest = command(e.Text)
		if e.Command == "" && e.Text != "" {
			offered, made, err := tx.Offered(in.From)
			if err != nil {
				return e, 0, err
			}
			if state.Form != nil || tx.Now.Sub(made) <= dialog.FollowUp {
				choice = typed(offered, e.Text)
				byHand = choice != ""
			}
		}
	}
	switch {
	case choice != "":
		action, message, ok, err := b.pressed(tx, in.From, choice)
		if err != nil {
			return e, 0, err
		}
		if !ok {
			action = dialog.Action{Do: "old"}
		}
		if byHand {
			message = 0 // the answer goes beneath what was typed, not in the place of the question
		}
		return dialog.Event{Action: &action}, message, nil
	case in.Kind == chat.KindChoice:
		return dialog.Event{Action: &dialog.Action{Do: "old"}}, 0, nil
	case in.Kind != chat.KindText:
		e.Other = true
	}
	return e, 0, nil
}

// command splits "/note@samelift_bot rest" into its parts.
func command(text string) (name, rest string) {
	if !strings.HasPrefix(text, "/") {
		return "", ""
	}
	name, rest, _ = strings.Cut(text[1:], " ")
	name, _, _ = strings.Cut(name, "@")
	if name == "" {
		return "help", ""
	}
	return strings.ToLower(name), strings.TrimSpace(rest)
}

// typed finds the choice whose label was typed.
func typed(offered []chat.Choice, text string) string {
	found := ""
	for _, c := range offered {
		if c.Data != "" && strings.EqualFold(plainDigits(care.Clean(c.Label, 100)), plainDigits(text)) {
			if found != "" {
				return "" // two choices with one label: nobody can say which
			}
			found = c.Data
		}
	}
	return found
}

// known gives the language to answer in: the one the transport names if there are
// words in it.
func (b *Bot) known(lang string) string {
	code, _, _ := strings.Cut(strings.ToLower(lang), "-")
	if b.Words.Has(code) {
		return code
	}
	return locale.Default
}

// reader gives the reader for a site, made anew when the site has changed.
func (b *Bot) reader(site *care.Site, revision int64) Reader {
	b.mu.Lock()
	defer b.mu.Unlock()
	if have := b.readers[site.Ref]; have.reader != nil && have.revision == revision {
		return have.reader
	}
	r := b.readerOf(site, site.Clients)
	b.readers[site.Ref] = madeReader{revision, r}
	return r
}

// readerOf makes a reader who knows some of a site's clients.
func (b *Bot) readerOf(site *care.Site, known []care.Client) Reader {
	var clients, colleagues []ask.Name
	for _, c := range known {
		if !c.Ended {
			clients = append(clients, ask.Name{Ref: c.Ref, Name: c.Name, Also: c.Also, Room: c.Room})
		}
	}
	for _, p := range site.People {
		colleagues = append(colleagues, ask.Name{Ref: p.Ref, Name: p.Name})
	}
	return b.Understand(clients, colleagues)
}
