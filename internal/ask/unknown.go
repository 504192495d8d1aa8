package ask

import "unicode/utf8"

// unknownName finds a name that nobody of the site has: after a title, after a word such
// as "for" when it is a first name or begins with a capital, or a capitalised word that no
// language has. beside is set when it stands next to a name that somebody has.
func (r *Reader) unknownName(s *scan, used []bool, groups []group) (name string, beside bool) {
	for i := range s.toks {
		if !used[i] && s.toks[i].script == han && len(groups) == 0 {
			if n := r.hanSurname(s, i); n > 0 {
				return s.text[s.toks[i].from:s.toks[i+n-1].to], false
			}
		}
		if used[i] || !r.nameLike(s, i) {
			continue
		}
		from, to := i, i+1
		for to < len(s.toks) && !used[to] && s.toks[to].brk == 0 && s.toks[to].upper && !s.german && !r.lex.knownIn(s, to) {
			to++
		}
		for _, g := range groups {
			if g.to == from && s.toks[from].brk == 0 {
				from, beside = g.from, true
			}
			if g.from == to && s.toks[to].brk == 0 {
				to, beside = g.to, true
			}
		}
		name = s.text[s.toks[from].from:s.toks[to-1].to]
		s.why("name nobody has", name, from, to)
		return name, beside
	}
	return "", false
}

// hanSurname tells how many tokens a Han surname and its title take at token i, or 0.
func (r *Reader) hanSurname(s *scan, i int) int {
	for n := 2; n >= 1; n-- {
		if i+n >= len(s.toks) || !r.lex.families[hanText(s.toks[i:i+n])] {
			continue
		}
		if h, ok := s.begins(i+n, kTitleAfter); ok {
			return h.to - i
		}
	}
	return 0
}

func (r *Reader) nameLike(s *scan, i int) bool {
	t := &s.toks[i]
	if t.script == digits || t.script == han || utf8.RuneCountInString(t.text) < 2 && t.script != arabic || s.has(i, kTitle) || s.has(i, kRoom) {
		return false
	}
	known := r.lex.knownIn(s, i)
	ordinary := r.lex.ordinary[t.text]&s.active != 0
	given := false
	for _, f := range t.forms {
		given = given || r.lex.given[f]
	}
	titled := i > 0 && s.has(i-1, kTitle) && t.brk == 0 || s.has(i+1, kTitleAfter) && s.toks[i+1].brk == 0
	firm := false
	for _, h := range s.hits {
		firm = firm || h.cue.kind == kNameBefore && h.to == i && h.cue.weight >= 3
	}
	if len(r.byForm[t.text]) > 0 || len(r.exact(t)) > 0 {
		return false
	}
	// After a title even a word that some language has is a name, as in "Mr Nobody".
	capital := t.upper && !s.shout && !t.caps && t.script != arabic
	if known && !(titled && (given || ordinary && t.upper || capital && !s.german)) || ordinary && !titled && !(firm && t.upper) {
		return false
	}
	if utf8.RuneCountInString(t.text) < 3 {
		return titled && t.upper
	}
	prep := s.ends(i, kNameBefore)
	_, owned := s.begins(i+1, kNameAfter)
	if (t.fuzzy != "" || !s.told()) && !titled && !(given && (capital || prep || owned)) {
		return false
	}
	switch {
	case titled, firm && ordinary && t.upper:
		return true
	case given:
		return capital || prep || owned || t.script == arabic || t.script == devanagari
	case capital && !s.german && (!s.first(i) || prep || owned):
		return true
	}
	return false
}

// strangeWord finds a word that no language has, or a short one with a capital that the
// writer's own have not. Arabic is left out: its words have too many forms for that to
// say anything. Where whole is set, a word that only begins like one of a language is
// strange too.
func (r *Reader) strangeWord(s *scan, whole bool) string {
	for i := range s.toks {
		t := &s.toks[i]
		if t.script != latin && t.script != cyrillic || t.fuzzy != "" {
			continue
		}
		long := utf8.RuneCountInString(t.text) >= 4 && r.lex.vocab[t.text] == 0 && (whole || !r.lex.known(t.text))
		short := utf8.RuneCountInString(t.text) >= 2 && t.upper && !s.shout && !t.caps && !r.lex.knownIn(s, i)
		if long || short {
			return s.text[t.from:t.to]
		}
	}
	return ""
}

// mentions reports whether a word of a client's name stands in a message that was not
// read as naming anybody: it may be meant for the name all the same.
func (r *Reader) mentions(s *scan) bool {
	for i := range s.toks {
		id, ok := r.byText[s.toks[i].text]
		if !ok {
			continue
		}
		for _, o := range r.parts[id].owners {
			if !r.people[o.who].colleague {
				return true
			}
		}
	}
	return false
}
