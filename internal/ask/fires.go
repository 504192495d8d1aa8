package ask

import (
	"strings"
)

// wordKind tells how much a word is also an everyday word in the languages of the message.
type wordKind uint8

const (
	onlyName wordKind = iota // no language of the message has it
	alsoWord                 // a word that people are also called, such as rose
	everyday                 // a word the language cannot do without, such as will
)

// kindOf looks at a word as written and, when it is a declined name, at the name.
func (r *Reader) kindOf(s *scan, i int, ms []match) wordKind {
	k := onlyName
	look := func(w string) {
		switch {
		case r.lex.everyday[w]&s.active != 0:
			k = max(k, everyday)
		case r.lex.ordinary[w]&s.active != 0, s.mixed && (r.lex.ordinary[w]|r.lex.everyday[w])&r.lex.bit("en") != 0:
			k = max(k, alsoWord)
		}
	}
	for _, f := range s.toks[i].forms {
		look(f)
	}
	if t := &s.toks[i]; k == alsoWord && t.script == arabic && strings.HasPrefix(t.text, "ال") {
		k = everyday // with the article it is the word
	}
	if len(ms) > 0 && ms[0].q == qDeclined { // the least everyday of the names it may be
		own, least := k, everyday
		for _, m := range ms {
			if m.q == qDeclined {
				k = own
				look(r.parts[m.part].text)
				least = min(least, k)
			}
		}
		k = least
	}
	return k
}

type fire uint8

const (
	fireNo fire = iota
	fireDoubt
	fireYes
)

// fires decides whether words that are also everyday words name somebody here.
func (s *scan) fires(from, to, together int, kind wordKind) fire {
	titled := from > 0 && s.has(from-1, kTitle) || to < len(s.toks) && s.has(to, kTitleAfter) && s.toks[to].brk == 0
	if titled {
		return fireYes
	}
	next := to < len(s.toks) && s.toks[to].brk == 0
	owned := false
	if _, ok := s.begins(to, kNameAfter); ok && next {
		owned = true
	}
	prep, firm := false, false // a firm preposition stands before names only
	for _, h := range s.hits {
		if h.cue.kind == kNameBefore && h.to == from {
			prep, firm = true, firm || h.cue.weight >= 3
		}
		if h.from == to && next {
			switch h.cue.kind {
			case kNameAfter:
				firm = firm || h.cue.weight >= 3
			case kDanger, kFell:
				firm = firm || s.toks[from].brk != 0
			}
		}
	}
	starts := s.toks[from].brk != 0
	ends := !next
	capital := !s.shout && !s.german
	inner := true
	for i := from; i < to; i++ {
		capital = capital && s.toks[i].upper
		inner = inner && !s.first(i)
	}
	det := from > 0 && s.has(from-1, kDet)
	pronoun := next && (s.has(to, kPronoun) || s.has(to, kDet))
	before := from > 0 && s.has(from-1, kPronoun) && !starts
	told := s.told()
	switch {
	case capital && inner && !det:
		return fireYes
	case kind == everyday && together >= 2 && !capital && before && !prep:
		return fireDoubt // "I will hope for the best"
	case kind == everyday && !capital && together < 2 && (len(s.toks[from].text) < 3 || s.has(from, kPlace) || s.has(from, kTopic) && s.toks[from].script == latin):
		return fireNo
	case together < 2 && !starts && !firm && !capital && s.after && s.clothBefore(from):
		return fireDoubt // "la tira rosa", where rosa is a colour
	case together < 2 && s.german && next && !firm && s.cloth(to) && !owned:
		return fireDoubt // "rosa Schlaufe"
	case firm && told && !pronoun:
		return fireYes
	case det || before && !prep:
		return fireNo
	case together >= 2 && (kind < everyday || prep || owned || told && !before && (starts || capital)):
		return fireYes
	case together >= 2:
		return fireDoubt
	case starts && ends:
		return fireDoubt
	case kind == alsoWord:
		switch {
		case pronoun && !prep && !owned:
			return fireNo
		case !told:
			return fireNo
		case next && !firm && !starts && s.cloth(to): // "the pink loop", where pink is also a name
			return fireDoubt
		case !starts && !prep && !owned && !capital && !s.tells(from-1) && !s.tells(to): // "the price rose again"
			return fireDoubt
		case starts && next && !owned && !prep && !s.tells(to) && !s.has(to+1, kDanger) && !s.has(to+1, kFell):
			return fireDoubt
		}
		return fireYes
	case prep && told && !pronoun && (owned || ends || s.has(to, kIf) || s.has(to, kTo) || s.has(to, kAt)):
		return fireYes
	case owned && told && !pronoun && (starts || capital):
		return fireYes
	case prep && ends:
		return fireDoubt
	}
	return fireNo
}

// cloth reports whether a phrase about slings or loops begins at token i.
func (s *scan) cloth(i int) bool {
	for _, h := range s.hits {
		if h.from == i && h.cue.kind == kTopic && (h.cue.what == string(Loops) || h.cue.what == string(Sling) || h.cue.what == string(Legs)) {
			return true
		}
	}
	return false
}

// tells reports whether a phrase of the trade begins at token i.
func (s *scan) tells(i int) bool {
	for _, k := range []kind{kTopic, kPlace, kFrom, kTo, kMove, kDanger, kFell, kIf, kRoom, kRoomBefore, kTrap, kOver} {
		if s.has(i, k) {
			return true
		}
	}
	return false
}

// clothBefore reports whether a word for a sling, a loop or a cushion ends just before token i.
func (s *scan) clothBefore(i int) bool {
	for _, h := range s.hits {
		if h.to == i && h.words == 1 && h.cue.kind == kTopic && (h.cue.what == string(Loops) || h.cue.what == string(Sling) || h.cue.what == string(Legs) || h.cue.what == string(Seat)) {
			return true
		}
	}
	return false
}

// told reports whether the message says something of the trade at all, and more of it
// than of other things.
func (s *scan) told() bool {
	var trade, other float32
	for _, h := range s.hits {
		switch h.cue.kind {
		case kTopic:
			if h.cue.weight >= 1.4 {
				trade += h.cue.weight
			}
		case kPlace, kMove:
			trade++
		case kDanger, kFell, kRoom:
			trade += 4
		case kTrap:
			other += h.cue.weight
		}
	}
	return trade > 0 && trade >= other
}

// bit is the bit of a language, or 0.
func (lex *Lexicon) bit(lang string) uint16 {
	for i, l := range lex.langs {
		if l == lang {
			return 1 << i
		}
	}
	return 0
}
