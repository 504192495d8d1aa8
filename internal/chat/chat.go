// Package chat is the port between the bot and whatever carries its messages: a
// messenger, the demo page, a recorder in a test. It owns the shape of a message
// in and a message out and what a failed send means. It knows nothing of care,
// of languages or of any one messenger; adapters translate and the bot decides.
package chat

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Transport carries messages between people and the bot.
type Transport interface {
	// Name is the word by which addresses name this transport.
	Name() string

	// Receive gives f each inbound message, one person's messages in order, and
	// moves past it once f returns nil; otherwise the same message comes again. It
	// returns when ctx ends or when going on is pointless, as with a revoked token.
	Receive(ctx context.Context, f func(context.Context, Inbound) error) error

	// Send delivers one message. Its error says what to do next: ErrGone ends it
	// for this address, *RetryAfter waits, ErrUncertain may have been delivered,
	// ErrRefused will never be accepted as it is, and any other error was surely
	// not delivered and may be tried again.
	Send(ctx context.Context, out Outbound) (Sent, error)
}

// Address is one person's private chat on one transport.
type Address struct {
	Transport string
	Chat      string
}

// Inbound is something that a person did.
type Inbound struct {
	// ID is unique for the transport; a message delivered again has the same one.
	ID   string
	From Address
	// Private is false in a group, where the bot says nothing about anybody.
	Private bool
	Kind    Kind
	// At is when the person did it, by the transport's clock.
	At time.Time
	// Text is what was typed, commands included, as it arrived: not yet cleaned.
	Text string
	// Choice is the Data of the pressed choice, and Message the ref of the message
	// that carried it.
	Choice  string
	Message string
	// Lang is the language that the transport thinks the person uses, or empty.
	Lang string
	// File is what was sent with KindFile.
	File *File
}

// Kind is what sort of thing came in.
type Kind string

// The kinds of inbound messages.
const (
	KindText    Kind = "text"
	KindChoice  Kind = "choice"
	KindFile    Kind = "file"
	KindOther   Kind = "other"   // a sticker, a location: nothing the bot reads
	KindLeft    Kind = "left"    // the person blocked the bot
	KindReturns Kind = "returns" // and unblocked it
)

// File is a document that a person sent.
type File struct {
	Name string
	Data []byte
}

// MaxFile is the largest file, in bytes, that a transport passes on.
const MaxFile = 1 << 20

// MaxText is the longest text, in runes, that a transport passes on; what is
// longer is cut there, and the bot says so.
const MaxText = 10000

// Outbound is one message for one address.
type Outbound struct {
	// Key is the bot's own id for this message, the same at every try.
	Key string
	To  Address
	// Edit is the ref of an earlier message to put this one in the place of. A
	// transport that cannot do so sends a new message.
	Edit string
	// OnlyEdit makes the message worth nothing as a new one: where the earlier message
	// cannot be edited, it is refused.
	OnlyEdit bool `json:",omitempty"`
	// Lang and RTL say how the text as a whole is read.
	Lang string
	RTL  bool
	Body []Paragraph
	// Choices are rows of buttons beneath the text.
	Choices [][]Choice
	// Picture goes above the text, or is nil.
	Picture *Picture
	// Quiet asks for no sound at the other end.
	Quiet bool
	// Secret messages name a client: they must not be forwarded or saved where the
	// transport can prevent it.
	Secret bool
}

// Paragraph is one line of a message, styled as a whole, so that no words a person
// typed can ever act as markup.
type Paragraph struct {
	Style Style
	Text  string
	// Lang is set where the paragraph holds somebody's own words in another
	// language than the message's.
	Lang string
	RTL  bool
	// Keep says that the paragraph means little without the one before: Split leaves
	// them in one message where it can.
	Keep bool `json:"-"`
}

// Style is how a paragraph looks. It never carries meaning that the words lack.
type Style string

// The styles.
const (
	Plain  Style = ""
	Strong Style = "strong" // the asked-for fact, a heading
	Alert  Style = "alert"  // a stop or an emergency
	Quote  Style = "quote"  // somebody's own words
	Small  Style = "small"  // sources, dates, the usual cautions
)

// Choice is one button.
type Choice struct {
	Label string
	// Data comes back as Inbound.Choice: at most 64 bytes of plain ASCII, meaning
	// nothing to anybody but the bot.
	Data string
	// URL makes the button open a page instead; Data is then empty.
	URL string
}

// Picture is an image with the words that replace it.
type Picture struct {
	// Key stands for what the picture shows: the same key, the same picture. It is
	// empty for a picture that is not kept.
	Key  string `json:",omitempty"`
	Name string
	PNG  []byte `json:",omitempty"`
	Alt  string
	// Sent is the transport's own ref of this picture from an earlier message, or
	// empty. A transport that no longer has it sends the PNG.
	Sent string `json:"-"`
}

// Sent is what the transport says of a delivered message.
type Sent struct {
	// Ref names the message for a later Edit, unique within its chat.
	Ref string
	// Picture names the picture of the message for a later Picture.Sent, empty where
	// the transport has no such names.
	Picture string
}

// What a failed send means for the next step.
var (
	// ErrGone: nothing can be sent to this address until the person returns.
	ErrGone = errors.New("the person cannot be reached at this address")
	// ErrUncertain: the message left, and nobody knows whether it arrived.
	ErrUncertain = errors.New("sent, but not known to have arrived")
	// ErrRefused: the message as it is will be refused at every try.
	ErrRefused = errors.New("the transport refuses this message")
)

// RetryAfter says that the transport wants no more messages for a while.
type RetryAfter struct{ Wait time.Duration }

// Error tells how long.
func (e *RetryAfter) Error() string { return fmt.Sprintf("told to wait for %s", e.Wait) }

// Limits of one message, safe on every transport we have.
const (
	// MaxBody is the most UTF-16 code units of text in one message.
	MaxBody = 3800
	// MaxLabel is the most runes on a button that two columns of a phone show whole.
	MaxLabel = 40
	// MaxData is the most bytes of a choice's data.
	MaxData = 64
	// MaxRows is the most rows of buttons under one message.
	MaxRows = 12
)
