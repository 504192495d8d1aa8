package telegram

import (
	"strings"
	"unicode"
	"unicode/utf16"

	"golang.org/x/text/unicode/bidi"

	"samelift/internal/chat"
)

// Limits of one message.
const (
	// maxRunes is the most code points of text (Bot API 10.1; the unit from TDLib).
	maxRunes = 4096
	// maxCaption is the most UTF-16 units of a caption that we send; the API's limit of
	// 1024 may count code points, of which there are never more.
	maxCaption = 1024
	// maxRaw is the most bytes of text with markup (server source, 10.0).
	maxRaw = 32768
)

// rlm starts a paragraph whose first letter would otherwise turn it left to right.
const rlm = '\u200f'

// rendered is a body in the two forms in which it can be sent.
type rendered struct {
	html  string
	plain string // the same without markup, as it is read
	// bare is what is sent where markup is not possible: marks stand around somebody's own
	// words, so that nothing a person typed can be taken for the bot's.
	bare string
}

// caption tells whether the text fits under a picture.
func (r rendered) caption() bool {
	return len(utf16.Encode([]rune(r.plain))) <= maxCaption
}

// render writes a body a paragraph a line. Paragraphs of one style that follow each
// other share one pair of tags, since only 100 pairs count.
func render(out chat.Outbound) rendered {
	r := renderMarked(out, true)
	if len([]rune(r.plain)) > maxRunes {
		// Better read in the wrong direction than not at all.
		r = renderMarked(out, false)
	}
	return r
}

func renderMarked(out chat.Outbound, marks bool) rendered {
	var html, plain, bare strings.Builder
	open := ""
	for i, p := range out.Body {
		text := clean(p.Text)
		if marks && (p.RTL || p.Lang == "" && out.RTL) {
			text = turn(text)
		}
		tag := tagOf(p.Style)
		if strings.TrimSpace(text) == "" {
			tag = ""
		}
		if i > 0 {
			plain.WriteByte('\n')
			bare.WriteByte('\n')
		}
		if tag != open && open != "" {
			html.WriteString("</" + open + ">")
		}
		if i > 0 {
			html.WriteByte('\n')
		}
		if tag != open && tag != "" {
			html.WriteString("<" + tag + ">")
		}
		open = tag
		html.WriteString(escape(text))
		plain.WriteString(text)
		if p.Style == chat.Quote {
			text = "“" + text + "”"
		}
		bare.WriteString(text)
	}
	if open != "" {
		html.WriteString("</" + open + ">")
	}
	return rendered{html: html.String(), plain: plain.String(), bare: bare.String()}
}

func tagOf(s chat.Style) string {
	switch s {
	case chat.Strong, chat.Alert:
		return "b"
	case chat.Quote:
		return "blockquote"
	case chat.Small:
		return "i"
	}
	return ""
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")

// escape makes a text mean nothing but itself in HTML mode.
func escape(s string) string { return escaper.Replace(s) }

// clean takes out what the platform takes out (TDLib), so that both agree on lengths:
// embedding and override marks, carriage returns; other controls become spaces.
// Isolates and single direction marks stay.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\r' || r >= '\u2028' && r <= '\u202e':
			return -1
		case unicode.IsControl(r):
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}

// turn puts a right-to-left mark before each line that does not start right to left by
// itself. Readers' apps take a line's direction from its first strong letter (from
// memory, unverified; the rule is P2 of the Unicode bidirectional algorithm).
func turn(s string) string {
	lines := strings.Split(s, "\n")
	for i, line := range lines {
		if line != "" && !startsRTL(line) {
			lines[i] = string(rlm) + line
		}
	}
	return strings.Join(lines, "\n")
}

// startsRTL tells whether the first strong letter outside isolates is right to left.
func startsRTL(s string) bool {
	depth := 0
	for _, r := range s {
		p, _ := bidi.LookupRune(r)
		switch c := p.Class(); {
		case c == bidi.LRI || c == bidi.RLI || c == bidi.FSI || r >= '\u2066' && r <= '\u2068':
			depth++
		case c == bidi.PDI || r == '\u2069':
			depth = max(0, depth-1)
		case depth > 0:
		case c == bidi.L:
			return false
		case c == bidi.R || c == bidi.AL:
			return true
		}
	}
	return false
}
