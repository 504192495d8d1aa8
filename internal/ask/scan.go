package ask

// scan is one message under the lexicon: its tokens, the phrases found in it, and
// which languages it seems to be in.
type scan struct {
	text   string
	toks   []token
	hits   []hit
	kinds  []uint64 // per token: bits of the kinds whose phrases cover it
	active uint16   // bits of the languages it seems to be in
	german bool     // capitals say nothing about names
	mixed  bool     // in a language whose speakers mix English words into every sentence
	after  bool     // in a language whose adjectives follow what they tell of
	shout  bool     // written in capitals throughout, or every word capitalised
	alarm  bool     // tells of danger now
	passed []int32  // whose names were read as the everyday words they also are
	why    func(rule, phrase string, from, to int)
}

func (s *scan) has(i int, k kind) bool {
	return i >= 0 && i < len(s.kinds) && s.kinds[i]&(1<<k) != 0
}

// ends reports whether a phrase of kind k ends just before token i.
func (s *scan) ends(i int, k kind) bool {
	for _, h := range s.hits {
		if h.cue.kind == k && h.to == i {
			return true
		}
	}
	return false
}

// begins returns a phrase of kind k that begins at token i.
func (s *scan) begins(i int, k kind) (hit, bool) {
	for _, h := range s.hits {
		if h.cue.kind == k && h.from == i {
			return h, true
		}
	}
	return hit{}, false
}

// first reports whether token i begins a sentence.
func (s *scan) first(i int) bool { return s.toks[i].brk == '.' }

// sameSentence and sameClause report whether no break stands between tokens a < b.
func (s *scan) sameSentence(a, b int) bool { return s.unbroken(a, b, '.') }
func (s *scan) sameClause(a, b int) bool   { return s.unbroken(a, b, ',') }

func (s *scan) unbroken(a, b int, strongest byte) bool {
	for i := a + 1; i <= b && i < len(s.toks); i++ {
		if s.toks[i].brk == '.' || strongest == ',' && s.toks[i].brk == ',' {
			return false
		}
	}
	return true
}

func (lex *Lexicon) scan(text, hint string, isName func(string) bool, why func(string, string, int, int)) *scan {
	s := &scan{text: bound(text), why: why}
	s.toks = tokenize(s.text)
	lex.prepare(s.toks, isName)
	lex.guess(s, hint)
	hits := lex.find(s.toks)
	kept := hits[:0]
	for _, h := range hits {
		if s.active&(1<<h.cue.lang) != 0 || h.cue.solid && h.cue.kind >= kPlace && h.cue.kind != kTrap || h.cue.kind == kTitle {
			kept = append(kept, h)
		}
	}
	s.hits = longest(kept)
	for _, h := range s.hits { // "M. Fournier": no sentence ends at a title's stop
		if h.cue.kind == kTitle && h.to < len(s.toks) && h.to-h.from == 1 && len(s.toks[h.from].text) <= 4 && s.toks[h.to].brk == '.' {
			s.toks[h.to].brk = 0
		}
	}
	s.kinds = make([]uint64, len(s.toks))
	for _, h := range s.hits {
		for i := h.from; i < h.to; i++ {
			s.kinds[i] |= 1 << h.cue.kind
		}
	}
	return s
}

// guess tells which languages a message is in: by its script, and in Latin script by
// how many of its words each language knows. The hint breaks ties.
func (lex *Lexicon) guess(s *scan, hint string) {
	var score [16]float32
	var scripts [8]int
	low, letters := 0, 0
	for i := range s.toks {
		t := &s.toks[i]
		scripts[t.script]++
		if t.script == latin {
			letters++
			if !t.upper {
				low++
			}
		}
		if t.script == digits {
			continue
		}
		m := lex.langsOf(t.text)
		if m == 0 && t.fuzzy != "" {
			m = lex.langsOf(t.fuzzy)
		}
		if m == 0 {
			for _, f := range t.forms[1:] {
				m |= lex.langsOf(f)
			}
		}
		n := 0
		for l := range lex.langs {
			if m&(1<<l) != 0 {
				n++
			}
		}
		for l := range lex.langs {
			if m&(1<<l) != 0 {
				score[l] += 1 / float32(n)
				score[l] += 0.3
			}
		}
	}
	s.shout = letters > 1 && low == 0
	best, top := float32(0), -1
	for l, name := range lex.langs {
		if name == hint {
			score[l] += 0.9
		}
		if score[l] > best {
			best, top = score[l], l
		}
	}
	for l, name := range lex.langs {
		if best > 0 && score[l] >= 0.62*best || name == hint && score[l] >= 0.4*best {
			s.active |= 1 << l
		}
	}
	s.after = s.active&(lex.bit("es")|lex.bit("fr")|lex.bit("pt")|lex.bit("ro")|lex.bit("ar")) != 0
	s.mixed = s.active&(lex.bit("fil")|lex.bit("hi")) != 0
	if top >= 0 {
		s.german = lex.langs[top] == "de"
	}
}
