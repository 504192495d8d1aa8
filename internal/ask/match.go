package ask

import (
	"sort"
	"strings"
	"unicode/utf8"
)

// hit is a phrase of the lexicon found in a message: tokens from up to, not including, to.
type hit struct {
	cue      *cue
	from, to int
	words    int // tokens that matched, gaps left out
	last     int
}

// prepare fills in the forms a token may also have: Arabic words without their
// proclitics, and the lexicon's word for one that is a slip away.
func (lex *Lexicon) prepare(toks []token, isName func(string) bool) {
	for i := range toks {
		t := &toks[i]
		if t.script == arabic {
			lex.cutClitics(t)
		}
		if t.script == han {
			if v, ok := lex.variants[t.text]; ok {
				t.text = v
				t.forms = []string{v}
			}
		}
		if t.script == digits || t.script == han || t.script == arabic || t.script == devanagari || lex.known(t.text) || isName(t.text) {
			continue
		}
		if f := lex.slip(t.text); f != "" {
			t.fuzzy = f
		}
	}
}

func (lex *Lexicon) cutClitics(t *token) {
	for depth, cur := 0, t.text; depth < 3; depth++ {
		cut := false
		for _, c := range lex.clitics {
			if rest, ok := strings.CutPrefix(cur, c); ok && utf8.RuneCountInString(rest) >= 2 {
				t.toward = t.toward || depth == 0 && lex.toward[c]
				if !contains(t.forms, rest) {
					t.forms = append(t.forms, rest)
				}
				if !cut {
					cur, cut = rest, true
				}
			}
		}
		if !cut {
			return
		}
	}
}

func contains(s []string, w string) bool {
	for _, v := range s {
		if v == w {
			return true
		}
	}
	return false
}

// known reports whether some language has the word, as a word or by a stem of four letters or more.
func (lex *Lexicon) known(w string) bool {
	if lex.vocab[w] != 0 {
		return true
	}
	return lex.langsOf(w) != 0
}

// langsOf tells which languages have the word.
func (lex *Lexicon) langsOf(w string) uint16 {
	return lex.vocab[w] | lex.stemsOf(w)
}

// stemsOf tells which languages have a stem of the word; short stems do not count.
func (lex *Lexicon) stemsOf(w string) uint16 {
	m := lex.stems[w]
	n, least := 0, 4
	if r, _ := utf8.DecodeRuneInString(w); r >= 0x0600 {
		least = 3
	}
	for i := range w {
		if n >= least {
			m |= lex.stems[w[:i]]
		}
		n++
	}
	return m
}

// slip finds the lexicon's word that w is one edit away from, when w is long enough.
func (lex *Lexicon) slip(w string) string {
	n := utf8.RuneCountInString(w)
	if n < 5 {
		return ""
	}
	best := ""
	for _, v := range lex.slips[slipKey(w)] {
		vn := utf8.RuneCountInString(v)
		if lex.stems[v] != 0 && n > vn+1 {
			if vn >= 7 {
				for cut := vn - 1; cut <= vn+1; cut++ {
					if distance(prefixRunes(w, cut), v, 1) <= 1 {
						if best == "" || len(v) > len(best) {
							best = v
						}
						break
					}
				}
			}
			continue
		}
		if vn < n-1 || vn > n+1 {
			continue
		}
		if distance(w, v, 1) <= 1 && (best == "" || len(v) > len(best)) {
			best = v
		}
	}
	return best
}

func prefixRunes(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i]
		}
		n--
	}
	return s
}

func (e elem) matches(t *token, inner bool) bool {
	forms := t.forms
	if inner && t.toward {
		forms = forms[:1]
	}
	for _, a := range e.alts {
		if a.text == t.fuzzy {
			return true
		}
		for _, f := range forms {
			if a.text == f || a.stem && strings.HasPrefix(f, a.text) {
				return true
			}
		}
	}
	return false
}

// find returns every phrase found, in the order of its first token.
func (lex *Lexicon) find(toks []token) []hit {
	var hits []hit
	seen := map[*cue]int{}
	for i := range toks {
		try := func(c *cue) {
			if at, ok := seen[c]; ok && at == i {
				return
			}
			if to, n, ok := matchFrom(c, toks, i); ok {
				seen[c] = i
				hits = append(hits, hit{cue: c, from: i, to: to, words: n, last: to - 1})
			}
		}
		for _, f := range toks[i].forms {
			for _, c := range lex.byWord[f] {
				try(c)
			}
			for j := range f {
				if j > 0 && j <= lex.maxStem {
					for _, c := range lex.byStem[f[:j]] {
						try(c)
					}
				}
			}
			for _, c := range lex.byStem[f] {
				try(c)
			}
		}
		if f := toks[i].fuzzy; f != "" {
			for _, c := range lex.byWord[f] {
				try(c)
			}
			for _, c := range lex.byStem[f] {
				try(c)
			}
		}
	}
	return hits
}

// matchFrom matches a cue whose first element is known to match token i.
func matchFrom(c *cue, toks []token, i int) (to, words int, ok bool) {
	at := i + 1
	for _, e := range c.elems[1:] {
		limit := at
		if e.gap {
			limit = at + maxGap
			if toks[i].script == han {
				limit = at + 3*maxGap
			}
		}
		found := false
		for j := at; j <= limit && j < len(toks); j++ {
			if e.gap && j > i && toks[j].brk == '.' {
				break
			}
			if e.matches(&toks[j], true) {
				at, found = j+1, true
				break
			}
		}
		if !found {
			return 0, 0, false
		}
	}
	return at, len(c.elems), true
}

// covers lists which kinds a longer phrase of another kind takes the place of.
func covers(long, short kind) bool {
	switch short {
	case kPlace:
		return long == kPlace || long == kTrap || long == kRoom
	case kTopic:
		return long == kTopic || long == kTrap
	case kDanger, kFell:
		return long == kTrap || long == kSafe
	case kTrap:
		return long == kTopic || long == kDanger || long == kFell || long == kTrap
	case kNot, kBut:
		return long == kDanger || long == kFell || long == kTopic || long == kPolite || long == kTrap
	case kIf, kOver, kNow:
		return short == kNow && long == kOver || long == kDanger || long == kFell || long == kPolite
	case kFrom, kTo, kAt, kFromPost, kToPost, kAtPost:
		return long == kTrap || long == kFrom || long == kTo || long == kAt
	case kMove:
		return long == kTrap || long == kSafe
	}
	return false
}

// longest drops hits that lie inside a longer phrase.
func longest(hits []hit) []hit {
	out := make([]hit, 0, len(hits))
	for i := range hits {
		h := &hits[i]
		keep := true
		for j := range hits {
			g := &hits[j]
			if i == j || g.words <= h.words && !(g.words == h.words && runes(g) > runes(h) && g.from == h.from && g.to == h.to) {
				continue
			}
			if g.from <= h.from && h.to <= g.to && covers(g.cue.kind, h.cue.kind) {
				keep = false
				break
			}
		}
		if keep {
			out = append(out, *h)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].from < out[j].from })
	return out
}

func runes(h *hit) int {
	n := 0
	for _, e := range h.cue.elems {
		n += len(e.alts[0].text)
	}
	return n
}

func appendRunes(buf []rune, s string) []rune {
	for _, r := range s {
		buf = append(buf, r)
	}
	return buf
}

// distance is the optimal string alignment distance, or limit+1 when it is greater than limit.
func distance(a, b string, limit int) int {
	if a == b {
		return 0
	}
	if d := len(a) - len(b); d > 3*limit || d < -3*limit {
		return limit + 1
	}
	var abuf, bbuf [64]rune
	ra, rb := appendRunes(abuf[:0], a), appendRunes(bbuf[:0], b)
	if len(ra)-len(rb) > limit || len(rb)-len(ra) > limit {
		return limit + 1
	}
	var buf [3][64]int
	if len(rb) >= 63 {
		return limit + 1
	}
	prev2, prev, cur := buf[0][:], buf[1][:], buf[2][:]
	for j := 0; j <= len(rb); j++ {
		prev[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		cur[0] = i
		low := i
		for j := 1; j <= len(rb); j++ {
			cost := 1
			if ra[i-1] == rb[j-1] {
				cost = 0
			}
			v := min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				v = min(v, prev2[j-2]+1)
			}
			cur[j] = v
			low = min(low, v)
		}
		if low > limit {
			return limit + 1
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return min(prev[len(rb)], limit+1)
}
