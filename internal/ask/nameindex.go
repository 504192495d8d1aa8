package ask

import (
	"sort"
	"strings"
	"unicode/utf8"
)

// Reader reads questions for one site: its clients, its colleagues, all languages.
// It is read-only after NewReader and may be shared.
type Reader struct {
	lex      *Lexicon
	people   []person
	parts    []part
	byText   map[string]int32
	hanTitle map[string][]int32 // a Han surname that stands for a Latin one, as 阮 for Nguyen
	byDrop   map[string][]int32 // a part with one letter left out
	byBone   map[string][]int32 // strict skeleton
	byForm   map[string][]int32 // local forms of a first name
	rooms    map[string][]int32
	han      map[string][]int32 // first Han character of a name written in Han
}

type person struct {
	ref       string
	colleague bool
	initials  []string // per spelling of the name, in order
	hanNames  []string
}

// part is one word of somebody's name.
type part struct {
	text   string
	script script
	latin  string // romanized
	bone   string // skeleton of consonants
	sound  string // rough sounds
	cons   int    // consonants in sound
	open   byte   // class of the first sound
	crowd  crowd
	owners []owner
}

type owner struct {
	who  int32
	slot int8 // position in the name; words of other spellings count from 16
}

// NewReader indexes the names of a site. Empty names and refs are skipped.
func NewReader(lex *Lexicon, clients, colleagues []Name) *Reader {
	r := &Reader{lex: lex, hanTitle: map[string][]int32{}, byText: map[string]int32{}, byDrop: map[string][]int32{}, byBone: map[string][]int32{}, byForm: map[string][]int32{}, rooms: map[string][]int32{}, han: map[string][]int32{}}
	for _, n := range clients {
		r.add(n, false)
	}
	for _, n := range colleagues {
		r.add(n, true)
	}
	for i := range r.parts {
		p := &r.parts[i]
		n := utf8.RuneCountInString(p.text)
		if n >= 4 {
			for _, d := range drops(p.text) {
				r.byDrop[d] = append(r.byDrop[d], int32(i))
			}
		}
		for _, h := range r.lex.hanOf[p.text] {
			for _, o := range p.owners {
				if o.who >= 0 {
					r.hanTitle[h] = union(r.hanTitle[h], []int32{o.who})
				}
			}
		}
		r.byBone[p.bone] = append(r.byBone[p.bone], int32(i))
		for _, f := range r.lex.forms[p.text] {
			if f != p.text {
				r.byForm[f] = append(r.byForm[f], int32(i))
			}
		}
	}
	return r
}

func (r *Reader) add(n Name, colleague bool) {
	if n.Ref == "" {
		return
	}
	who := int32(len(r.people))
	p := person{ref: n.Ref, colleague: colleague}
	slot := int8(0)
	for i, spelling := range append([]string{n.Name}, n.Also...) {
		if i > 0 {
			slot = int8(min(16+8*i, 112))
		}
		spelling = bound(spelling)
		toks := tokenize(spelling)
		var ini strings.Builder
		var hanName strings.Builder
		for j, t := range toks {
			switch {
			case t.script == digits:
				continue
			case t.script == han:
				if v, ok := r.lex.variants[t.text]; ok {
					hanName.WriteString(v)
				} else {
					hanName.WriteString(t.text)
				}
				continue
			case r.isTitle(t.text) && len(toks) > 1 && j < len(toks)-1:
				continue
			case r.lex.particle[t.text] && len(toks) > 1:
				continue
			}
			first, _ := utf8.DecodeRuneInString(t.text)
			ini.WriteRune(first)
			if utf8.RuneCountInString(t.text) < 2 {
				continue
			}
			r.addPart(t.text, t.script, who, slot)
			raw := spelling[t.from:t.to]
			if strings.ContainsAny(raw, "äöüÄÖÜøØåÅ") {
				if v := foldWord(digraphs.Replace(raw)); v != t.text {
					r.addPart(v, t.script, who, slot)
				}
			}
			if slot < 120 {
				slot++
			}
		}
		if s := ini.String(); len(s) > 1 {
			p.initials = append(p.initials, s)
		}
		if h := hanName.String(); h != "" {
			p.hanNames = append(p.hanNames, h)
			f, _ := utf8.DecodeRuneInString(h)
			r.han[string(f)] = append(r.han[string(f)], who)
		}
	}
	r.people = append(r.people, p)
	if n.Room != "" && !colleague {
		if key := roomKey(n.Room, r.lex); key != "" {
			r.rooms[key] = append(r.rooms[key], who)
		}
	}
}

var digraphs = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ø", "oe", "Ø", "Oe", "å", "aa", "Å", "Aa")

func (r *Reader) addPart(text string, s script, who int32, slot int8) {
	id, ok := r.byText[text]
	if !ok {
		id = int32(len(r.parts))
		l := romanize(text, s)
		r.parts = append(r.parts, part{text: text, script: s, latin: l, bone: skeleton(l), sound: sounds(l)})
		if snd := r.parts[id].sound; snd != "" {
			r.parts[id].cons, r.parts[id].open, r.parts[id].crowd = consonants(snd), opening(snd), crowdOf(snd)
		}
		r.byText[text] = id
	}
	p := &r.parts[id]
	for _, o := range p.owners {
		if o.who == who {
			return
		}
	}
	p.owners = append(p.owners, owner{who, slot})
}

func (r *Reader) isTitle(w string) bool {
	for _, c := range r.lex.byWord[w] {
		if c.kind == kTitle && len(c.elems) == 1 {
			return true
		}
	}
	return false
}

// drops lists w with each one of its letters left out.
func drops(w string) []string {
	out := make([]string, 0, len(w))
	for i, c := range w {
		out = append(out, w[:i]+w[i+utf8.RuneLen(c):])
	}
	return out
}

// quality of a match of a word with a part of a name.
const (
	qExact    = 1.0
	qDeclined = 0.96
	qSlip     = 0.85
	qSound    = 0.8
	qSlip2    = 0.7
	qForm     = 0.6
)

// way tells how a word came to be taken for a part of a name.
type way uint8

const (
	byText   way = iota // written so, but for case and diacritics, or in a spelling that the lexicon has
	byEnding            // with an ending of its language
	byGuess             // with an ending that may stand for several names
	bySlip              // one letter away
	bySound             // sounds the same, in the same script
	bySlips             // two letters away
	byEar               // sounds so in another script
	byForm              // a local form of the first name
)

type match struct {
	part int32
	q    float32
	by   way
}

// matchesOf finds the parts of names that a word may be. exact holds only what is
// spelled so; the rest is by ending, slip, sound and local form.
func (r *Reader) matchesOf(s *scan, t *token, sure bool) []match {
	var out []match
	add := func(id int32, q float32, by way) {
		for i := range out {
			if out[i].part == id {
				if q > out[i].q {
					out[i] = match{id, q, by}
				}
				return
			}
		}
		out = append(out, match{id, q, by})
	}
	for i, f := range t.forms {
		if id, ok := r.byText[f]; ok && (i == 0 || utf8.RuneCountInString(f) >= 3) {
			add(id, qExact, byText)
		}
	}
	if !sure {
		return out
	}
	n := utf8.RuneCountInString(t.text)
	if n < 3 || t.script == han || t.script == digits {
		return out
	}
	for _, f := range t.forms {
		r.declined(s, f, func(id int32, q float32) {
			if q < qDeclined {
				add(id, q, byGuess)
			} else {
				add(id, q, byEnding)
			}
		})
	}
	given := r.lex.given[t.text] && len(out) == 0
	if len(out) == 0 || out[0].q < qExact {
		for _, f := range t.forms {
			fn := utf8.RuneCountInString(f)
			if fn < 4 {
				continue
			}
			try := func(id int32) {
				p := &r.parts[id]
				d := distance(f, p.text, 1)
				if d > 1 || given && p.bone != skeleton(romanize(f, t.script)) {
					return
				}
				pn := utf8.RuneCountInString(p.text)
				if pn < 4 || min(fn, pn) == 4 && !gentle(f, p.text) {
					return
				}
				add(id, qSlip, bySlip)
			}
			for _, id := range r.byDrop[f] {
				try(id)
			}
			for _, d := range drops(f) {
				if id, ok := r.byText[d]; ok {
					try(id)
				}
				for _, id := range r.byDrop[d] {
					try(id)
				}
			}
		}
	}
	if t.script == latin && !given && (len(out) == 0 || out[0].q < qExact) {
		b := skeleton(t.text)
		for _, id := range r.byBone[b] {
			p := &r.parts[id]
			if p.script == latin && len(b) >= 3 && n >= 4 {
				if d := distance(soundVowels(t.text), soundVowels(p.text), 2); d <= 1 || d == 2 && len(b) >= 4 {
					add(id, qSound, bySound)
				}
			}
		}
	}
	if t.script != latin {
		r.byEar(s, t, add)
	} else if (len(out) == 0 || out[0].q < qDeclined) && n >= 7 && !given {
		for id := range r.parts {
			p := &r.parts[id]
			if p.script == latin && len(p.text) >= 7 && p.text[0] == t.text[0] && distance(t.text, p.text, 2) == 2 {
				add(int32(id), qSlip2, bySlips)
			}
		}
	}
	for _, f := range t.forms {
		for _, id := range r.byForm[f] {
			add(id, qForm, byForm)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].q > out[j].q })
	return out
}

// gentle tells whether two short words differ only by a swap or a doubled letter.
func gentle(a, b string) bool {
	if len(a) == len(b) {
		sa, sb := []byte(a), []byte(b)
		sort.Slice(sa, func(i, j int) bool { return sa[i] < sa[j] })
		sort.Slice(sb, func(i, j int) bool { return sb[i] < sb[j] })
		return string(sa) == string(sb)
	}
	return squeeze(a) == squeeze(b)
}

func squeeze(s string) string {
	var b strings.Builder
	var prev rune
	for _, r := range s {
		if r != prev {
			b.WriteRune(r)
		}
		prev = r
	}
	return b.String()
}

var vowelSounds = strings.NewReplacer("ph", "f", "ck", "k", "qu", "kv", "ee", "i", "ie", "i", "ei", "i", "ai", "e", "ay", "e", "ey", "e", "oo", "u", "ou", "u", "y", "i", "c", "k", "w", "v", "z", "s", "sh", "s", "ch", "s", "h", "")

// soundVowels spells a Latin word roughly by ear, vowels kept.
func soundVowels(w string) string { return squeeze(vowelSounds.Replace(w)) }

// restored are what may have stood where an ending of a language that declines names now is.
var restored = []string{"", "a", "o", "e", "i", "y", "ia", "ka", "ga", "ek", "а", "о", "я", "е", "и", "ь", "ка", "га", "ха", "ко"}

// fleeting are the vowels that come and go before the last consonant: pl Staszek, Staszka,
// uk Стілець, Стільця.
var fleeting = []string{"e", "ie", "е", "о"}

func (r *Reader) declined(s *scan, w string, add func(int32, float32)) {
	for _, e := range r.lex.endings {
		stem, ok := strings.CutSuffix(w, e.text)
		if !ok || s.active&(1<<e.lang) == 0 || utf8.RuneCountInString(stem) < 3 {
			continue
		}
		back := restored
		if !declines[r.lex.langs[e.lang]] {
			back = back[:1]
		}
		for _, a := range back {
			if id, ok := r.byText[stem+a]; ok {
				q := float32(qDeclined)
				if a == "e" || a == "i" || a == "y" {
					q -= 0.08
				}
				add(id, q)
			}
		}
		if last, n := utf8.DecodeLastRuneInString(stem); len(back) > 1 && last != utf8.RuneError {
			for _, v := range fleeting {
				if id, ok := r.byText[stem[:len(stem)-n]+v+stem[len(stem)-n:]]; ok {
					add(id, qDeclined)
				}
			}
		}
	}
}

// declines are the languages whose endings take the place of a name's own.
var declines = map[string]bool{"pl": true, "uk": true, "ro": true}
