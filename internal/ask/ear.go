package ask

import (
	"strings"
	"unicode/utf8"
)

// sounds spells a romanized word in rough sounds, one byte each: vowels as a, e, i, o
// and u, consonants in classes. It serves to compare names across scripts.
func sounds(latin string) string {
	s := soundSpelling.Replace(latin)
	var b strings.Builder
	var prev byte
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c < 'a' || c > 'z' && c != '{' {
			if c != 'S' {
				continue
			}
		}
		if c == prev {
			continue
		}
		b.WriteByte(c)
		prev = c
	}
	s = b.String()
	if strings.HasSuffix(s, "ng") {
		s = s[:len(s)-1]
	}
	return s
}

var soundSpelling = strings.NewReplacer(
	"shch", "S", "tsch", "S", "sch", "S", "sh", "S", "tch", "S", "ch", "S", "sz", "S", "cz", "S", "rz", "S", "zh", "S",
	"ph", "f", "ck", "k", "qv", "kv", "qu", "kv", "kh", "h", "gh", "g", "th", "t", "dh", "d", "bh", "b", "jh", "j",
	"ce", "se", "ci", "si", "cy", "si", "c", "k", "q", "k", "xi", "si", "x", "ks", "w", "v", "z", "s", "y", "i", "ts", "s", "tz", "s", "lh", "l")

func vowel(c byte) bool { return c == 'a' || c == 'e' || c == 'i' || c == 'o' || c == 'u' }

// near tells how unlike two sounds are, from 0 to 1. soft says that the script blurs
// voiced and unvoiced sounds, as Arabic does with b and p and Chinese with l and r.
func near(a, b byte, soft bool) float32 {
	if a == b {
		return 0
	}
	if vowel(a) && vowel(b) {
		if soft && (a == 'u' && b == 'o' || a == 'o' && b == 'u' || a == 'i' && b == 'e' || a == 'e' && b == 'i') {
			return 0.1
		}
		return 0.3
	}
	pair := func(x, y byte) bool { return a == x && b == y || a == y && b == x }
	switch {
	case pair('b', 'p'), pair('v', 'f'), pair('d', 't'), pair('g', 'k'), pair('s', 'S'), pair('j', 'S'), pair('g', 'h'), pair('u', 'v'), pair('i', 'j'), pair('k', 'h'):
		if soft {
			return 0.15
		}
		return 0.45
	case pair('l', 'r'), pair('j', 'g'), pair('j', 'h'), pair('b', 'v'), pair('k', 'S'), pair('s', 'j'), pair('m', 'n'):
		if soft {
			return 0.3
		}
		return 0.7
	}
	return 1
}

func lone(c byte, soft bool) float32 {
	switch {
	case vowel(c) && soft:
		return 0.2
	case vowel(c):
		return 0.3
	case soft && (c == 'r' || c == 'h' || c == 'l'):
		return 0.45
	case c == 'h':
		return 0.4
	}
	return 1
}

// unlike is how far apart two words sound, as a share of their length: 0 is the same.
func unlike(a, b string, soft bool, limit float32) float32 {
	if len(a) == 0 || len(b) == 0 || len(a) > 30 || len(b) > 30 {
		return 1
	}
	n := float32(len(a)+len(b)) / 2
	var buf [2][32]float32
	prev, cur := &buf[0], &buf[1]
	for j := 1; j <= len(b); j++ {
		prev[j] = prev[j-1] + lone(b[j-1], soft)
	}
	for i := 1; i <= len(a); i++ {
		la := lone(a[i-1], soft)
		cur[0] = prev[0] + la
		low := cur[0]
		for j := 1; j <= len(b); j++ {
			cur[j] = min(prev[j]+la, cur[j-1]+lone(b[j-1], soft), prev[j-1]+near(a[i-1], b[j-1], soft))
			low = min(low, cur[j])
		}
		if low > limit*n {
			return 1
		}
		prev, cur = cur, prev
	}
	return prev[len(b)] / n
}

// crowd counts the consonants of a word by rough class, four bits a class, so that words
// that cannot sound alike are told apart at a glance.
type crowd uint32

func crowdOf(s string) crowd {
	var c crowd
	for i := 0; i < len(s); i++ {
		k := 0
		switch s[i] {
		case 'b', 'p':
			k = 0
		case 'v', 'f':
			k = 1
		case 'd', 't':
			k = 2
		case 'l', 'r':
			k = 3
		case 'm', 'n':
			k = 4
		case 'a', 'e', 'i', 'o', 'u':
			continue
		default:
			k = 5
		}
		if c>>(4*k)&15 < 15 {
			c += 1 << (4 * k)
		}
	}
	return c
}

func (c crowd) differ(d crowd) int {
	n := 0
	for k := 0; k < 24; k += 4 {
		a, b := int(c>>k&15), int(d>>k&15)
		if k == 4 {
			continue // v comes and goes with u
		}
		if a > b {
			n += a - b
		} else {
			n += b - a
		}
	}
	return n
}

// consonants counts the consonants of a word of sounds.
func consonants(s string) int {
	n := 0
	for i := 0; i < len(s); i++ {
		if !vowel(s[i]) {
			n++
		}
	}
	return n
}

// earLimit is how unlike a name in another script may sound; earMargin how much
// worse than the best a rival may be and still be asked about.
const (
	earLimit  = 0.24
	earMargin = 0.02 // and a quarter of the best on top
)

type heard struct {
	part int32
	d    float32
}

// strictness is how unlike a name of n consonants may sound: the shorter, the less, since
// short names are easily mistaken for one another.
func strictness(s script, n int) float32 {
	var by [4]float32 // 1, 2, 3, and 4 consonants or more
	switch s {
	case arabic:
		by = [4]float32{0.05, 0.08, 0.16, 0.25}
	case han:
		by = [4]float32{0.05, 0.16, 0.22, 0.27}
	default:
		by = [4]float32{0.05, 0.1, 0.15, 0.2}
	}
	return by[max(0, min(n, 4)-1)]
}

// hear finds the parts of names that sound like a word in another script, the best and
// what comes close to it.
func (r *Reader) hear(words []string, s script) []heard {
	soft := s == arabic || s == han
	limit := float32(earLimit)
	if s == han {
		limit = 0.27
	}
	var out []heard
	best := limit
	for _, w := range words {
		said := sounds(w)
		n := consonants(said)
		if n == 0 {
			continue
		}
		first, crowd := opening(said), crowdOf(said)
		for id := range r.parts {
			p := &r.parts[id]
			if p.script == s || p.script != latin && s != latin {
				continue
			}
			if !mayOpen(first, p.open) {
				continue
			}
			if crowd.differ(p.crowd) > 2 {
				continue
			}
			if d := p.cons - n; d > 2 || d < -2 || d < -1 && !soft {
				continue
			}
			u := unlike(said, p.sound, soft, limit)
			if u > strictness(s, min(n, p.cons)) {
				continue
			}
			if u <= 1.25*best+earMargin && u <= limit {
				best = min(best, u)
				out = append(out, heard{int32(id), u})
			}
		}
	}
	kept := out[:0]
	for _, h := range out {
		if h.d <= 1.25*best+earMargin {
			kept = append(kept, h)
		}
	}
	return kept
}

// byEar adds the parts of names that a word in another script sounds like.
func (r *Reader) byEar(s *scan, t *token, add func(int32, float32, way)) {
	words := make([]string, 0, 4)
	given := false
	for _, f := range t.forms {
		given = given || r.lex.given[f]
	}
	for _, f := range t.forms {
		if utf8.RuneCountInString(f) >= 2 {
			words = append(words, romanize(f, t.script))
		}
	}
	spelled := func(w string, q float32, by way) (found bool) {
		for _, name := range r.lex.spelled[w] {
			if id, ok := r.byText[name]; ok {
				add(id, q, by)
				found = true
			}
		}
		return found
	}
	for _, f := range t.forms {
		if spelled(f, qExact, byText) {
			return
		}
	}
	if t.script == cyrillic {
		for _, e := range r.lex.endings {
			if stem, ok := strings.CutSuffix(t.text, e.text); ok && utf8.RuneCountInString(stem) >= 3 {
				for _, back := range []string{"", "а", "о", "и", "ь"} {
					if spelled(stem+back, qDeclined, byEnding) {
						return
					}
				}
				w := romanize(stem, t.script)
				words = append(words, w, w+"a", w+"o")
			}
		}
	}
	found := r.hear(words, t.script)
	if given { // a name of its own, not a garbled one
		kept := found[:0]
		for _, h := range found {
			if h.d < 0.08 {
				kept = append(kept, h)
			}
		}
		found = kept
	}
	exact := false
	for _, h := range found {
		exact = exact || h.d == 0
		add(h.part, qSound-h.d*0.5, byEar)
	}
	if exact || t.script == arabic {
		return
	}
	for id := range r.parts { // one letter away from another name: ask
		if p := &r.parts[id]; len(p.latin) >= 7 && p.script == latin && distance(words[0], p.latin, 1) == 1 {
			add(int32(id), qSound-0.02, bySlip)
		}
	}
}

// pinyinOf spells a run of Han characters by the sounds they stand for in names, or
// returns "" when one of them is not used so.
func (lex *Lexicon) pinyinOf(toks []token) string {
	var b strings.Builder
	for i := range toks {
		p := lex.pinyin[toks[i].text]
		if p == "" {
			return ""
		}
		b.WriteString(strings.TrimSuffix(p, "g"))
	}
	return pinyinSpelling.Replace(b.String())
}

var pinyinSpelling = strings.NewReplacer("zh", "ch", "x", "s", "q", "ch", "sh", "sh", "z", "s", "c", "s", "ch", "ch")

// opening is the rough class of a word's first sound; words that open differently are
// not compared.
func opening(s string) byte {
	switch s[0] {
	case 'b', 'p':
		return 'b'
	case 'd', 't':
		return 'd'
	case 'g', 'k':
		return 'g'
	case 'l', 'r':
		return 'l'
	case 'f':
		return 'f'
	case 's', 'S':
		return 's'
	case 'm':
		return 'm'
	case 'n':
		return 'n'
	case 'h', 'j', 'v':
		return 'j'
	}
	return 'a'
}

func mayOpen(a, b byte) bool {
	if a == b {
		return true
	}
	pair := func(x, y byte) bool { return a == x && b == y || a == y && b == x }
	return pair('a', 'j') || pair('j', 'g') || pair('j', 'f') || pair('s', 'j') || pair('g', 's')
}
