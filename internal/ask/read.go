package ask

// Read reads one message. lang is a hint, the language its writer is answered in; the
// message may be in any language the lexicon has, or in several.
func (r *Reader) Read(text, lang string) Reading {
	return r.read(text, lang, func(string, string, int, int) {})
}

// isName reports whether a word is part of somebody's name, exactly or nearly.
func (r *Reader) isName(w string) bool {
	if _, ok := r.byText[w]; ok {
		return true
	}
	if n := len(w); n > 4 {
		for _, cut := range []int{1, 2} {
			if _, ok := r.byText[w[:n-cut]]; ok {
				return true
			}
		}
	}
	return false
}

func (r *Reader) read(text, lang string, why func(string, string, int, int)) Reading {
	s := r.lex.scan(text, lang, r.isName, why)
	var out Reading
	if len(s.toks) == 0 {
		out.Topics = []Topic{Unknown}
		return out
	}
	out.From, out.To = s.moveSaid()
	out.Emergency = s.danger()
	s.alarm = out.Emergency
	if out.Emergency && (out.From == "" || out.To == "") {
		out.From, out.To = "", "" // where somebody fell or lies is no move
	}
	scores := s.topicsSaid(out.From != "" || out.To != "")
	who := r.whoSaid(s)
	if len(who.who) == 0 && who.unknown == "" {
		// A word that is said alone can hardly be anything but a name.
		out.Strange = r.mentions(s)
		alone := len(scores) == 0 && len(s.toks) <= 2 && !out.Emergency
		if word := r.strangeWord(s, alone); word != "" {
			out.Strange = true
			if alone {
				who.unknown = word
			}
		}
	}
	out.UnknownName = who.unknown
	switch {
	case len(who.who) == 1 && !who.doubt:
		out.Client = r.people[who.who[0]].ref
	case len(who.who) > 0:
		for _, id := range who.who {
			out.Candidates = append(out.Candidates, r.people[id].ref)
		}
	}
	named := len(who.who) > 0 || who.unknown != ""
	if named { // about somebody of the site: less likely to be small talk
		for i := range scores {
			if scores[i].topic == Unknown {
				scores[i].score -= 2
			}
		}
		rank(scores)
	}
	out.Topics = choose(scores)
	if len(out.Topics) == 0 && (len(scores) == 0 || scores[0].topic != Unknown) {
		switch {
		case len(scores) > 0 && named:
			out.Topics = []Topic{scores[0].topic}
		case out.From != "" && out.To != "" || (out.From != "" || out.To != "") && named:
			out.Topics = []Topic{Plan}
		case named && len(s.toks) <= 4:
			out.Topics = []Topic{Plan}
		}
	}
	if len(out.Topics) == 0 {
		out.Topics = []Topic{Unknown}
	}
	if out.Emergency {
		first := []Topic{Emergency}
		if len(scores) > 0 && out.Topics[0] != Emergency && out.Topics[0] != Unknown && scores[0].score >= 3 {
			first = append(first, out.Topics[0])
		}
		out.Topics = first
	}
	return out
}
