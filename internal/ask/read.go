package ask

// Read reads one message. lang is a hint, the language its writer is answered in; the
// message may be in any language the lexicon has, or in several.
func (r *Reader) Read(text, lang string) Reading {
	return r.read(text, lang, func(string, string, int, int) {})
}

func (r *Reader) read(text, lang string, why func(string, string, int, int)) Reading {
	s := r.lex.scan(text, lang, why)
	var out Reading
	if len(s.toks) == 0 {
		out.Topics = []Topic{Unknown}
		return out
	}
	out.From, out.To = s.moveSaid()
	out.Emergency = s.danger()
	scores := s.topicsSaid()
	who := r.whoSaid(s)
	if len(who.who) == 0 && who.unknown == "" {
		if word := r.strangeWord(s); word != "" {
			out.Strange = true
			if len(scores) == 0 && len(s.toks) <= 2 && !out.Emergency {
				who.unknown = word // said alone it can hardly be anything else
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
	out.Topics = choose(scores)
	named := len(who.who) > 0 || who.unknown != ""
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
