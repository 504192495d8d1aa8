package ask

import (
	"fmt"
	"sort"
	"strings"
)

// Reason is one thing that was found in a message and what it was taken for.
type Reason struct {
	Rule   string // what it was taken for, such as "topic sling" or "no danger: is over"
	Phrase string // the phrase of the lexicon, or the name
	Text   string // the words of the message
	At     int    // byte offset of the words in the message
}

// String is one line for `samelift ask --explain`.
func (x Reason) String() string { return fmt.Sprintf("%q: %s (%s)", x.Text, x.Rule, x.Phrase) }

// Explain reads one message and tells what fired and why, in the order of the message.
// The reasons hold the message's own words: show them to its writer, never log them.
func (r *Reader) Explain(text, lang string) (Reading, []Reason) {
	type raw struct {
		rule, phrase string
		from, to     int
	}
	var found []raw
	reading := r.read(text, lang, func(rule, phrase string, from, to int) {
		found = append(found, raw{rule, phrase, from, to})
	})
	text = bound(text)
	toks := tokenize(text)
	var out []Reason
	for _, f := range found {
		if f.from >= len(toks) || f.to < 1 || f.to > len(toks) {
			continue
		}
		a := toks[f.from].from
		out = append(out, Reason{Rule: f.rule, Phrase: f.phrase, Text: strings.TrimSpace(text[a:toks[f.to-1].to]), At: a})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].At < out[j].At })
	return reading, out
}
