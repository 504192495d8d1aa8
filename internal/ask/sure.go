package ask

import (
	"strings"
	"unicode/utf8"
)

// How sure a name must be before anybody is answered for by it. This file alone decides
// between an answer and a question back; the rest of the package only gathers evidence.
// A word of a name carries a weight, the weights of several words that fit one client add
// up, and whoever reaches enough is meant. Whoever does not is asked about, even alone.
const (
	weightText   = 4 // the name itself
	weightEnding = 2 // the name with an ending of the language, or what sounds just like it
	weightLong   = 2 // a long name with one slip
	weightNear   = 1 // anything else that resembles it
	enough       = 2

	shortName  = 4 // letters below which an ending makes another word of a small one
	longName   = 6 // letters from which one slip leaves no doubt
	rivalEdits = 1 // whoever is at most so many edits further away is a rival
	maxEdits   = 2 // beyond which nobody is a rival

	// How unlike a name in another script may sound and still be that name: the fewer
	// consonants, the less. Measured on names of other sites that nobody means.
	sameSound, sameLetters = 0.02, 4 // two consonants among so many sounds
	clearSound             = 0.09    // three consonants
	longSound              = 0.12    // four or more
	hanDoubt               = 1.5     // Han characters tell sounds so much more roughly
)

// weightOf tells how much a word says for a part of a name that it was taken for.
func (r *Reader) weightOf(s *scan, t *token, m match) int {
	p := &r.parts[m.part]
	n := min(utf8.RuneCountInString(t.text), utf8.RuneCountInString(p.text))
	strange := r.lex.given[t.text] // a name of its own, not a garbled one
	switch m.by {
	case byText:
		return weightText
	case byEnding:
		if !strange && (n >= shortName || t.upper) {
			return weightEnding
		}
	case bySlip, bySound:
		if n >= longName && !strange && p.script == t.script && firstRune(p.text) == firstRune(t.text) {
			return weightLong
		}
	case byEar:
		if d := (qSound - m.q) * 2; !strange || d <= sameSound {
			return weightHeard(d, p)
		}
	}
	return weightNear
}

// weightHeard tells how much a word in another script says for a name that it sounds
// like, d unlike.
func weightHeard(d float32, p *part) int {
	clear := p.cons >= 2 && len(p.sound) >= sameLetters && d <= sameSound || p.cons >= 3 && d <= clearSound || p.cons >= 4 && d <= longSound
	if clear {
		return weightEnding
	}
	return weightNear
}

func firstRune(s string) rune {
	c, _ := utf8.DecodeRuneInString(s)
	return c
}

// rivals lists whom else a misspelt word may mean: all who bear a name that is hardly
// further away from it than the one it was taken for.
func (r *Reader) rivals(s *scan, t *token, m match) []int32 {
	said := romanize(t.text, t.script)
	limit := rivalEdits
	switch m.by {
	case byText, byEar, byForm:
		return nil // by ear there is a margin of its own, see hear
	case byEnding:
		if s.declines(r.lex) && regular(t.text, r.parts[m.part].text) {
			return nil
		}
	case bySlip, bySound, bySlips:
		limit = min(distance(said, r.parts[m.part].latin, maxEdits)+rivalEdits, maxEdits, max(1, len(said)-3))
	}
	var out []int32
	for id := range r.parts {
		p := &r.parts[id]
		if d := len(p.latin) - len(said); int32(id) == m.part || d > limit || d < -limit {
			continue
		}
		if distance(said, p.latin, limit) <= limit {
			for _, o := range p.owners {
				out = union(out, []int32{o.who})
			}
		}
	}
	return out
}

// regular reports whether a word can be a name with an ending: no ending follows a vowel.
func regular(w, name string) bool {
	n := 0
	for n < len(w) && n < len(name) && w[n] == name[n] {
		n++
	}
	last, _ := utf8.DecodeLastRuneInString(w[:n])
	return !strings.ContainsRune("aeiouyаеиіоуюя", last)
}

// declines reports whether the message may be in a language that declines names.
func (s *scan) declines(lex *Lexicon) bool {
	for i, lang := range lex.langs {
		if declines[lang] && s.active&(1<<i) != 0 {
			return true
		}
	}
	return false
}

// sure reports whether the one who is left is named clearly enough to be answered for. The
// words of one name add up; the same guess made twice is no surer.
func sure(who int32, groups []group) bool {
	best := 0
	for _, g := range groups {
		best = max(best, g.weight[who])
	}
	return best >= enough
}

// besideStrange reports whether a name has a word next to it that may be the rest of another
// person's: a name that anybody may have, or a word that no language has.
func (r *Reader) besideStrange(s *scan, used []bool, groups []group) bool {
	strange := func(i int) bool {
		if i < 0 || i >= len(s.toks) || used[i] || s.kinds[i] != 0 {
			return false
		}
		t := &s.toks[i]
		if t.script != latin && t.script != cyrillic && t.script != devanagari || utf8.RuneCountInString(t.text) < shortName || r.isName(t.text) {
			return false
		}
		if r.lex.given[t.text] {
			return r.lex.everyday[t.text]&s.active == 0
		}
		if t.script == devanagari {
			return false
		}
		return t.upper && !s.first(i) && !s.german && !s.shout && !r.lex.knownIn(s, i) || (i == len(s.toks)-1 || i == 0) && t.fuzzy == "" && !r.lex.known(t.text)
	}
	for _, g := range groups {
		if g.to < len(s.toks) && s.toks[g.to].brk == 0 && strange(g.to) || s.toks[g.from].brk == 0 && strange(g.from-1) {
			s.why("beside a strange name", s.text[s.toks[g.from].from:s.toks[g.to-1].to], g.from, g.to)
			return true
		}
	}
	return false
}

// withRivals adds to the one who is left the clients whose name is hardly further away from
// what was said; a colleague's makes a doubt of it.
func (r *Reader) withRivals(cur []int32, groups []group) []int32 {
	if len(groups) != 1 {
		return cur
	}
	for _, who := range groups[0].rivals {
		if !r.people[who].colleague {
			cur = union(cur, []int32{who})
		}
	}
	return cur
}

// evenly gives all who fit the same weight.
func evenly(who []int32, weight int) map[int32]int {
	out := make(map[int32]int, len(who))
	for _, w := range who {
		out[w] = weight
	}
	return out
}
