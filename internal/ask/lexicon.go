package ask

import (
	"fmt"
	"io/fs"
	"path"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"samelift/internal/care"
)

// kind is what a phrase of the lexicon is for.
type kind uint8

const (
	kCommon     kind = iota // an everyday word: tells the language, is no name by itself
	kOrdinary               // a word that people are also called
	kPolite                 // adds courtesy and nothing else
	kTitle                  // comes before a name
	kTitleAfter             // comes after a name
	kNameBefore             // a preposition after which a name may come
	kNameAfter              // a particle that follows a name
	kRoom                   // names a room
	kRoomBefore             // makes a bare number a room
	kUnit                   // makes the number before it no room
	kUnitBefore             // makes the number after it no room
	kPlace
	kFrom     // before a place: the move starts there
	kTo       // before a place: the move ends there
	kAt       // before a place: ends there if something is moved, else mere position
	kFromPost // the same, after the place
	kToPost
	kAtPost
	kMove // somebody is moved
	kBoth // a phrase that tells from or to by itself, such as "下床"
	kTopic
	kTrap   // words of the trade about something else, and small talk
	kDanger // a state of danger now
	kFell   // a harmful event; now, unless told as past
	kNot    // rules out what comes after it
	kNotPost
	kIf   // might happen
	kOver // has happened and is over
	kNow
	kBut     // ends the reach of a negation
	kSafe    // a phrase that holds danger words and tells of none
	kInstead // takes back the name before it
	kOr      // between alternatives: "or not" rules nothing out
	kDet     // before a word that is also a name: the word is meant
	kPronoun // after a word that is also a name: the word is meant
)

var kindNames = map[string]kind{
	"common": kCommon, "ordinary": kOrdinary, "polite": kPolite, "titles": kTitle, "titles_after": kTitleAfter,
	"name_before": kNameBefore, "name_after": kNameAfter, "room": kRoom, "room_before": kRoomBefore, "unit": kUnit, "unit_before": kUnitBefore,
	"from": kFrom, "to": kTo, "at": kAt, "from_after": kFromPost, "to_after": kToPost, "at_after": kAtPost, "move": kMove, "moves": kBoth,
	"traps": kTrap, "danger": kDanger, "fell": kFell, "not": kNot, "not_after": kNotPost, "if": kIf, "over": kOver, "now": kNow, "but": kBut, "safe": kSafe, "instead": kInstead, "pronouns": kPronoun, "determiners": kDet, "or": kOr,
}

// elem is one word of a phrase; a stem matches every word that begins with it.
type elem struct {
	alts []alt
	gap  bool // up to maxGap words may stand before it
}

type alt struct {
	text string
	stem bool
}

const maxGap = 3

// cue is one phrase of the lexicon.
type cue struct {
	kind   kind
	lang   uint8
	weight float32
	what   string // topic, place, or the from>to of kBoth
	text   string // as written in the data
	elems  []elem
	solid  bool // long or of several words, so that it is unlikely to be another language's word
}

// Lexicon holds the words of all languages, compiled. It is read-only after Load.
type Lexicon struct {
	langs    []string
	byWord   map[string][]*cue
	byStem   map[string][]*cue
	maxStem  int
	vocab    map[string]uint16 // folded word -> bit per language
	stems    map[string]uint16
	numbers  map[string][]number
	endings  []ending
	spelled  map[string][]string // a name in another script -> its Latin spellings, where the sound does not tell
	hanOf    map[string][]string // a Latin name -> Han spellings of it
	families map[string]bool     // Han surnames
	toward   map[string]bool
	clitics  []string // proclitics of Arabic script, longest first
	joins    map[string]bool
	given    map[string]bool     // first names and surnames anybody may have
	forms    map[string][]string // a first name -> its local forms
	particle map[string]bool
	pinyin   map[string]string
	slips    map[string][]string // deletion neighbours of long words
	ordinary map[string]uint16   // words that people are also called
	everyday map[string]uint16   // words that a language needs for anything else
	variants map[string]string   // Han characters written in more than one way
}

type ending struct {
	text string
	lang uint8
}

type number struct {
	value int
	lang  uint8
}

// file is the form of one language's data.
type file struct {
	Lang    string            `yaml:"lang"`
	Lists   map[string]string `yaml:"lists"`
	Numbers string            `yaml:"numbers"`
	Joins   string            `yaml:"number_joins"`
	Endings string            `yaml:"name_endings"`
	Clitics string            `yaml:"proclitics"`
	Places  map[string]string `yaml:"places"`
	Topics  map[string]string `yaml:"topics"`
	// Toward lists the proclitics that mean "to".
	Toward string `yaml:"to_proclitics"`
	// Variants are pairs of Han characters, the first read as the second.
	Variants string `yaml:"variants"`
}

type namesFile struct {
	Forms     string `yaml:"forms"`
	Given     string `yaml:"given"`
	Particles string `yaml:"particles"`
	Pinyin    string `yaml:"pinyin"`
	Spellings string `yaml:"spellings"`
	Families  string `yaml:"han_surnames"`
}

// Load reads the words of every language from *.yaml. Its error names the file and
// the list at fault.
func Load(fsys fs.FS) (*Lexicon, error) {
	names, err := fs.Glob(fsys, "*.yaml")
	if err != nil {
		return nil, err
	}
	sort.Strings(names)
	lex := &Lexicon{
		byWord: make(map[string][]*cue, 20000), byStem: make(map[string][]*cue, 4000), vocab: make(map[string]uint16, 30000), stems: map[string]uint16{},
		numbers: map[string][]number{}, joins: map[string]bool{}, given: map[string]bool{}, forms: map[string][]string{},
		particle: map[string]bool{}, pinyin: map[string]string{}, slips: map[string][]string{}, ordinary: map[string]uint16{}, everyday: make(map[string]uint16, 20000), variants: map[string]string{},
		toward: map[string]bool{}, spelled: map[string][]string{}, hanOf: map[string][]string{}, families: map[string]bool{},
	}
	for _, name := range names {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		if name == "names.yaml" {
			var f namesFile
			if err := yaml.Unmarshal(data, &f); err != nil {
				return nil, fmt.Errorf("read %s: %w", name, err)
			}
			lex.addNames(&f)
			continue
		}
		var f file
		if err := yaml.Unmarshal(data, &f); err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		if f.Lang != strings.TrimSuffix(path.Base(name), ".yaml") {
			return nil, fmt.Errorf("read %s: lang is %q; it must be the file's name", name, f.Lang)
		}
		if err := lex.add(&f); err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
	}
	if len(lex.langs) == 0 {
		return nil, fmt.Errorf("no language file found; expected files such as en.yaml")
	}
	lex.finish()
	return lex, nil
}

// Languages lists the languages that were loaded.
func (lex *Lexicon) Languages() []string { return append([]string(nil), lex.langs...) }

func (lex *Lexicon) add(f *file) error {
	for _, pair := range strings.Fields(f.Variants) {
		if a, b, ok := runePair(pair); ok {
			lex.variants[a] = b
		}
	}
	lang := uint8(len(lex.langs))
	if lang >= 16 {
		return fmt.Errorf("more than 16 languages")
	}
	lex.langs = append(lex.langs, f.Lang)
	for _, list := range sortedKeys(f.Lists) {
		text := f.Lists[list]
		k, ok := kindNames[list]
		if !ok {
			return fmt.Errorf("unknown list %q", list)
		}
		if err := lex.addPhrases(lang, k, "", text); err != nil {
			return fmt.Errorf("list %s: %w", list, err)
		}
	}
	for _, place := range sortedKeys(f.Places) {
		text := f.Places[place]
		if !validPlace(care.Place(place)) {
			return fmt.Errorf("unknown place %q", place)
		}
		if err := lex.addPhrases(lang, kPlace, place, text); err != nil {
			return fmt.Errorf("place %s: %w", place, err)
		}
	}
	for _, topic := range sortedKeys(f.Topics) {
		text := f.Topics[topic]
		if !validTopic(Topic(topic)) {
			return fmt.Errorf("unknown topic %q", topic)
		}
		if err := lex.addPhrases(lang, kTopic, topic, text); err != nil {
			return fmt.Errorf("topic %s: %w", topic, err)
		}
	}
	for _, item := range items(f.Numbers) {
		word, value, ok := strings.Cut(item, "=")
		n, err := strconv.Atoi(strings.TrimSpace(value))
		if !ok || err != nil {
			return fmt.Errorf("numbers: %q is not word=number", item)
		}
		for _, w := range strings.Split(word, "/") {
			t := strings.Join(foldPhrase(w), " ")
			lex.numbers[t] = append(lex.numbers[t], number{n, lang})
			for _, p := range foldPhrase(w) {
				lex.vocab[p] |= 1 << lang
				lex.everyday[p] |= 1 << lang
			}
		}
	}
	for _, item := range strings.Fields(f.Joins) {
		lex.joins[foldWord(item)] = true
	}
	for _, item := range strings.Fields(f.Endings) {
		lex.endings = append(lex.endings, ending{foldWord(item), lang})
	}
	for _, item := range strings.Fields(f.Toward) {
		lex.toward[foldWord(item)] = true
	}
	for _, item := range strings.Fields(f.Clitics) {
		lex.clitics = append(lex.clitics, foldWord(item))
	}
	return nil
}

func runePair(s string) (a, b string, ok bool) {
	rs := []rune(s)
	if len(rs) != 2 {
		return "", "", false
	}
	return string(rs[0]), string(rs[1]), true
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

func validPlace(p care.Place) bool {
	for _, q := range care.Places {
		if p == q {
			return true
		}
	}
	return false
}

func validTopic(t Topic) bool {
	for _, u := range Topics {
		if t == u {
			return true
		}
	}
	return false
}

// items splits a list at semicolons and line ends; '#' begins a remark.
func items(text string) []string {
	var out []string
	for _, line := range strings.Split(text, "\n") {
		if i := strings.Index(line, "# "); i >= 0 {
			line = line[:i]
		}
		for _, item := range strings.Split(line, ";") {
			if item = strings.TrimSpace(item); item != "" {
				out = append(out, item)
			}
		}
	}
	return out
}

func (lex *Lexicon) addPhrases(lang uint8, k kind, what, text string) error {
	if k == kCommon || k == kOrdinary {
		for _, w := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' || r == ';' }) {
			for _, p := range foldPhrase(w) {
				lex.vocab[p] |= 1 << lang
				if k == kOrdinary {
					lex.ordinary[p] |= 1 << lang
				} else {
					lex.everyday[p] |= 1 << lang
				}
			}
		}
		return nil
	}
	for _, item := range items(text) {
		phrase, weight := item, float32(2)
		if i := strings.LastIndex(item, "="); i > 0 {
			w, err := strconv.ParseFloat(strings.TrimSpace(item[i+1:]), 32)
			if err == nil {
				phrase, weight = strings.TrimSpace(item[:i]), float32(w)
			} else if k != kBoth {
				return fmt.Errorf("%q: the weight is not a number", item)
			}
		}
		w := what
		if k == kBoth {
			left, right, ok := strings.Cut(item, "=")
			if !ok {
				return fmt.Errorf("%q is not phrase = from>to", item)
			}
			phrase, w = strings.TrimSpace(left), strings.TrimSpace(right)
		}
		variants, err := parsePhrase(phrase)
		if err != nil {
			return fmt.Errorf("%q: %w", item, err)
		}
		for _, elems := range variants {
			lex.addCue(&cue{kind: k, lang: lang, weight: weight, what: w, text: phrase, elems: elems})
		}
	}
	return nil
}

// parsePhrase compiles "a/b c* .. d". An alternative of several tokens (Han, hyphens)
// makes a phrase of its own.
func parsePhrase(phrase string) ([][]elem, error) {
	variants := [][]elem{nil}
	gap := false
	for _, word := range strings.Fields(phrase) {
		if word == ".." {
			gap = true
			continue
		}
		var single []alt
		var multi [][]alt
		for _, a := range strings.Split(word, "/") {
			stem := strings.HasSuffix(a, "*")
			toks := foldPhrase(strings.TrimSuffix(a, "*"))
			switch len(toks) {
			case 0:
				return nil, fmt.Errorf("%q holds no letters", a)
			case 1:
				single = append(single, alt{toks[0], stem})
				if strings.ContainsAny(a, "äöüÄÖÜ") {
					single = append(single, alt{foldWord(umlauts.Replace(strings.TrimSuffix(a, "*"))), stem})
				}
			default:
				var as []alt
				for i, t := range toks {
					as = append(as, alt{t, stem && i == len(toks)-1})
				}
				multi = append(multi, as)
			}
		}
		var next [][]elem
		for _, v := range variants {
			if single != nil {
				next = append(next, append(append([]elem(nil), v...), elem{single, gap}))
			}
			for _, as := range multi {
				w := append([]elem(nil), v...)
				for i, a := range as {
					w = append(w, elem{[]alt{a}, gap && i == 0})
				}
				next = append(next, w)
			}
		}
		variants = next
		gap = false
		if len(variants) > 200 {
			return nil, fmt.Errorf("too many alternatives")
		}
	}
	if len(variants[0]) == 0 {
		return nil, fmt.Errorf("empty phrase")
	}
	variants[0][0].gap = false
	return variants, nil
}

var umlauts = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue")

func (lex *Lexicon) addCue(c *cue) {
	n := 0
	for _, e := range c.elems {
		for i := range e.alts {
			if v, ok := lex.variants[e.alts[i].text]; ok {
				e.alts[i].text = v
			}
		}
		n += utf8.RuneCountInString(e.alts[0].text)
		for _, a := range e.alts {
			if a.stem {
				if len(c.elems) == 1 {
					lex.stems[a.text] |= 1 << c.lang
				}
			} else {
				lex.vocab[a.text] |= 1 << c.lang
				if len(c.elems) == 1 {
					lex.everyday[a.text] |= 1 << c.lang
				}
			}
		}
	}
	c.solid = len(c.elems) > 1 && n >= 6 || n >= 6
	for _, a := range c.elems[0].alts {
		if a.stem {
			lex.byStem[a.text] = append(lex.byStem[a.text], c)
			lex.maxStem = max(lex.maxStem, len(a.text))
		} else {
			lex.byWord[a.text] = append(lex.byWord[a.text], c)
		}
	}
}

func (lex *Lexicon) addNames(f *namesFile) {
	for _, line := range strings.Split(f.Forms, "\n") {
		var group []string
		for _, w := range strings.Fields(line) {
			group = append(group, foldPhrase(w)...)
		}
		for _, w := range group {
			lex.forms[w] = append(lex.forms[w], group...)
			lex.given[w] = true
		}
	}
	for _, w := range strings.Fields(f.Given) {
		for _, p := range foldPhrase(w) {
			lex.given[p] = true
		}
	}
	for _, line := range strings.Split(f.Spellings, "\n") {
		words := strings.Fields(line)
		for i, w := range words {
			if i == 0 {
				continue
			}
			for _, name := range strings.Split(foldWord(words[0]), "/") {
				if text := strings.Join(foldPhrase(w), ""); len([]rune(text)) > 1 {
					lex.spelled[text] = append(lex.spelled[text], name)
				} else {
					lex.hanOf[name] = append(lex.hanOf[name], text)
				}
			}
		}
	}
	for _, w := range strings.Fields(f.Families) {
		lex.families[w] = true
	}
	for _, w := range strings.Fields(f.Particles) {
		lex.particle[foldWord(w)] = true
	}
	for _, line := range strings.Fields(f.Pinyin) {
		sound, chars, _ := strings.Cut(line, "=")
		for _, r := range chars {
			lex.pinyin[string(r)] = sound
		}
	}
}

// finish builds what needs all languages: endings longest first, and the words
// that a slip of the thumb may have meant.
func (lex *Lexicon) finish() {
	byLen := func(s []string) {
		sort.Slice(s, func(i, j int) bool {
			if len(s[i]) != len(s[j]) {
				return len(s[i]) > len(s[j])
			}
			return s[i] < s[j]
		})
	}
	sort.SliceStable(lex.endings, func(i, j int) bool { return len(lex.endings[i].text) > len(lex.endings[j].text) })
	byLen(lex.clitics)
	words := make([]string, 0, len(lex.vocab)+len(lex.stems))
	for w := range lex.vocab {
		words = append(words, w)
	}
	for w := range lex.stems {
		words = append(words, w)
	}
	sort.Strings(words)
	for i, w := range words {
		if i > 0 && words[i-1] == w || utf8.RuneCountInString(w) < 5 {
			continue
		}
		key := slipKey(w)
		lex.slips[key] = append(lex.slips[key], w)
	}
}

// slipKey groups words that are worth comparing: those with the same first letter.
func slipKey(w string) string {
	r, n := utf8.DecodeRuneInString(w)
	if r < utf8.RuneSelf && len(w) > n {
		return w[:1]
	}
	return w[:n]
}
