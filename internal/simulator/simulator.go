// Package simulator is the demo's page: a transport whose phones are panes in a
// browser, so that one viewer can be several members of a team at once. It owns
// the page's files, what the phones show, the queue of what was typed and the
// buttons that move the demo's clock. It leaves to others what the bot says, who
// is in the team, every word on the page and the clock itself, which all come in
// through Config.
//
// The page is for a demo on one machine: history is in memory, and whoever opens
// the page may be anybody. Its guards (see guard.go) keep other web pages out; the
// caller serves it on a loopback address only.
package simulator

import (
	"context"
	"crypto/rand"
	"errors"
	"log/slog"
	"net/http"
	"slices"
	"sync"
	"time"

	"samelift/internal/chat"
)

// Seat is one phone that a viewer may hold: a member of the team, or somebody who
// has not joined yet.
type Seat struct {
	Chat string
	// Name is empty for a phone of somebody unknown; the page then has a word for it.
	Name string
	// Lang and RTL are the phone's language. Where it is empty, the phone has that of
	// the page, as a new phone has its owner's.
	Lang string
	RTL  bool
	// Role is RoleCarer, RoleCoordinator or RoleNew.
	Role string
}

// The roles of seats; the words for them are those of "demo.role_" + role.
const (
	RoleCarer       = "carer"
	RoleCoordinator = "coordinator"
	RoleNew         = "new"
)

// Lang is a language that the page can be read in.
type Lang struct {
	Code    string
	Autonym string
	RTL     bool
}

// Words are the page's own words in one language, by the keys of WordKeys.
type Words map[string]string

// Control is an extra button of the demo, such as one that publishes a plan.
type Control struct {
	ID      string
	WordKey string
	Do      func(context.Context) error
}

// Config is what the page needs from the rest of the program. Seats, Words and
// Langs must be given; without Now the clock is the real one in UTC, and without
// Advance it has no buttons.
type Config struct {
	// Seats lists the phones, and may list others at any later call. A chat that it
	// lists no more cannot be written to.
	Seats func() []Seat
	Words func(lang string) Words
	// Langs has the page's languages; the first is used where none is asked for.
	Langs []Lang
	Now   func() time.Time
	// Advance moves the clock forward by d and does what falls due by then.
	Advance func(ctx context.Context, d time.Duration) error
	// NextShift is the next change of shift, or zero when there is none.
	NextShift func() time.Time
	Zone      func() *time.Location
	// Stamp writes a day and a time of day in a language; without it they are digits.
	Stamp    func(lang string, t time.Time) string
	Controls []Control
	Logger   *slog.Logger
	// Hosts are names, besides loopback ones, by which the page may be asked for.
	Hosts []string
	// Backoff is the wait before a refused message is offered again, counted from 1.
	Backoff func(attempt int) time.Duration
	// Heartbeat is how often an idle stream says that it is alive.
	Heartbeat time.Duration
}

// Name is the word by which addresses name this transport.
const Name = "simulator"

// Limits that keep the demo's memory bounded.
const (
	maxHistory = 500  // messages shown in one chat
	maxQueue   = 100  // messages of one chat that wait to be taken
	maxSeen    = 2000 // ids by which a message sent twice is known
	maxStreams = 64   // pages that listen at the same time
)

// Simulator is the demo page. It is a chat.Transport and an http.Handler.
type Simulator struct {
	cfg   Config
	epoch string // differs at every start, so that a page notices a new one
	mux   *http.ServeMux

	moving    sync.Mutex    // held while the clock moves or a control works
	receiving chan struct{} // held by the one Receive that is running
	arrived   chan struct{} // nudges Receive
	closed    chan struct{}
	closing   sync.Once

	mu      sync.Mutex
	seq     int64 // of the newest change to any chat
	chats   map[string]*conversation
	byRef   map[string]*entry
	streams map[chan struct{}]bool
}

var _ chat.Transport = (*Simulator)(nil)
var _ http.Handler = (*Simulator)(nil)

// New makes a page without any messages.
func New(cfg Config) *Simulator {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Zone == nil {
		cfg.Zone = func() *time.Location { return time.UTC }
	}
	if cfg.NextShift == nil {
		cfg.NextShift = func() time.Time { return time.Time{} }
	}
	if cfg.Stamp == nil {
		cfg.Stamp = func(_ string, t time.Time) string { return t.Format("2006-01-02 15:04") }
	}
	if cfg.Logger == nil {
		cfg.Logger = slog.New(slog.DiscardHandler)
	}
	if cfg.Backoff == nil {
		cfg.Backoff = backoff
	}
	if cfg.Heartbeat <= 0 {
		cfg.Heartbeat = 15 * time.Second
	}
	s := &Simulator{
		cfg:       cfg,
		epoch:     rand.Text()[:10],
		receiving: make(chan struct{}, 1),
		arrived:   make(chan struct{}, 1),
		closed:    make(chan struct{}),
		chats:     map[string]*conversation{},
		byRef:     map[string]*entry{},
		streams:   map[chan struct{}]bool{},
	}
	s.mux = s.routes()
	return s
}

// Name is the word by which addresses name this transport.
func (s *Simulator) Name() string { return Name }

// Close ends every stream to a page, so that an http.Server can shut down. The
// pages try to come back by themselves.
func (s *Simulator) Close() { s.closing.Do(func() { close(s.closed) }) }

// Changed tells the pages that Seats, the clock or the next change of shift may
// differ. A send, a taken message and a moved clock tell them by themselves.
func (s *Simulator) Changed() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.nudge()
}

// Send shows a message on its phone. A new message whose Key was shown before is not
// shown twice. The only error besides that of ctx is chat.ErrGone, for a chat that
// no seat has.
func (s *Simulator) Send(ctx context.Context, out chat.Outbound) (chat.Sent, error) {
	if err := ctx.Err(); err != nil {
		return chat.Sent{}, err
	}
	if out.To.Transport != Name {
		return chat.Sent{}, errors.Join(chat.ErrRefused, errors.New("an address of another transport"))
	}
	if _, ok := s.seat(out.To.Chat); !ok {
		return chat.Sent{}, chat.ErrGone
	}
	now := s.cfg.Now()
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.conversation(out.To.Chat)
	e := s.byRef[out.Edit]
	switch {
	case e != nil && e.chat == out.To.Chat && !e.own:
		// An edit done twice looks like one.
		s.answered(c, e)
		s.touch(e)
	case out.Key != "" && c.byKey[out.Key] != nil:
		return chat.Sent{Ref: c.byKey[out.Key].ref}, nil
	case out.OnlyEdit:
		return chat.Sent{}, errors.Join(chat.ErrRefused, errors.New("there is no message to edit"))
	default:
		e = s.add(c, entry{chat: out.To.Chat, at: now, key: out.Key})
		if out.Key != "" {
			c.byKey[out.Key] = e
		}
	}
	e.lang, e.rtl = out.Lang, out.RTL
	e.body = slices.Clone(out.Body)
	e.choices = nil
	for _, row := range out.Choices {
		e.choices = append(e.choices, slices.Clone(row))
	}
	e.picture = nil
	if out.Picture != nil {
		p := *out.Picture
		e.picture = &p
	}
	s.nudge()
	return chat.Sent{Ref: e.ref}, nil
}

func (s *Simulator) seat(chatID string) (Seat, bool) {
	for _, seat := range s.cfg.Seats() {
		if seat.Chat == chatID {
			return seat, true
		}
	}
	return Seat{}, false
}

// nudge wakes the streams; the caller holds mu.
func (s *Simulator) nudge() {
	for c := range s.streams {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}
