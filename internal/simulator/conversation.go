package simulator

import (
	"strconv"
	"time"

	"samelift/internal/chat"
)

// conversation is one chat: what its phone shows and what the bot has yet to take.
type conversation struct {
	entries []*entry
	byKey   map[string]*entry

	queue    []*waiting
	attempts int       // at the head of the queue
	notUntil time.Time // the head is not offered again before

	seen      map[string]bool
	seenOrder []string
}

// entry is one message on a phone. It is changed only under the simulator's mu.
type entry struct {
	chat string
	ref  string
	n    int64 // its place, which an edit keeps
	seq  int64 // its latest change
	own  bool  // the person's, not the bot's
	at   time.Time

	lang    string
	rtl     bool
	body    []chat.Paragraph
	choices [][]chat.Choice
	picture *chat.Picture
	key     string

	text    string // typed, or the label of the pressed choice
	pressed bool
	on      string // the message whose choice was pressed
	gone    bool   // a press whose answer stands in the place of that message
	chosen  string // of a message edited so: what was pressed on it last
	file    string
	size    int
	waiting bool // not yet taken by the bot
}

type waiting struct {
	in    chat.Inbound
	entry *entry
}

// conversation finds or begins a chat; the caller holds mu.
func (s *Simulator) conversation(id string) *conversation {
	c := s.chats[id]
	if c == nil {
		c = &conversation{byKey: map[string]*entry{}, seen: map[string]bool{}}
		s.chats[id] = c
	}
	return c
}

// add puts an entry below the others and lets go of the oldest beyond the bound;
// the caller holds mu.
func (s *Simulator) add(c *conversation, e entry) *entry {
	p := &e
	s.touch(p)
	p.n = p.seq
	p.ref = s.epoch + "-" + strconv.FormatInt(p.n, 36)
	s.byRef[p.ref] = p
	c.entries = append(c.entries, p)
	if len(c.entries) > maxHistory {
		old := c.entries[0]
		c.entries = append([]*entry(nil), c.entries[1:]...)
		delete(s.byRef, old.ref)
		delete(c.byKey, old.key)
	}
	return p
}

// touch marks an entry as the newest change; the caller holds mu.
func (s *Simulator) touch(e *entry) {
	s.seq++
	e.seq = s.seq
}

// answered takes the presses on a message away once their answer stands in its place:
// the next question would otherwise move out of sight above them. What was pressed last
// stays with the message. The caller holds mu.
func (s *Simulator) answered(c *conversation, e *entry) {
	for _, p := range c.entries {
		if p.pressed && p.on == e.ref && !p.gone {
			p.gone = true
			e.chosen = p.text
			s.touch(p)
		}
	}
}

// known reports whether a message with that id was taken in before, and remembers
// it; the caller holds mu.
func (c *conversation) known(id string) bool {
	if c.seen[id] {
		return true
	}
	c.seen[id] = true
	c.seenOrder = append(c.seenOrder, id)
	if len(c.seenOrder) > maxSeen {
		delete(c.seen, c.seenOrder[0])
		c.seenOrder = append([]string(nil), c.seenOrder[1:]...)
	}
	return false
}
