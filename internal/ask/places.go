package ask

import (
	"strings"

	"samelift/internal/care"
)

type role uint8

const (
	roleNone role = iota
	roleFrom
	roleTo
	roleAt
	roleOf // a genitive that may also mean from, as de in Spanish
)

// placed is a place that a message names, and its part in the move.
type placed struct {
	hit
	role role
}

// moveSaid finds where a move starts and ends. Where somebody lies or sits is no move.
func (s *scan) moveSaid() (from, to care.Place) {
	var ps []placed
	for _, h := range s.hits {
		if h.cue.kind == kPlace {
			if n := len(ps); n > 0 && ps[n-1].hit.from < h.to && h.from < ps[n-1].to {
				if h.words > ps[n-1].words || h.words == ps[n-1].words && h.cue.weight > ps[n-1].cue.weight {
					ps[n-1].hit = h
				}
				continue
			}
			ps = append(ps, placed{hit: h})
		}
	}
	for i := range ps {
		low := 0
		if i > 0 {
			low = ps[i-1].to
		}
		ps[i].role = s.roleOf(ps[i].hit, low)
		if ps[i].cue.what == string(care.Floor) && ps[i].role != roleFrom && s.supposed(ps[i].hit.from) {
			ps[i].role = roleFrom // "if she is ever found on the floor": she is raised from there
		}
	}
	for i := range ps {
		p := &ps[i]
		if s.toks[p.hit.from].mark == '>' && i > 0 {
			p.role = roleTo
			if ps[i-1].role != roleTo {
				ps[i-1].role = roleFrom
			}
			continue
		}
		if i == 0 {
			continue
		}
		q := &ps[i-1]
		near := p.hit.from-q.to <= 2 && s.sameSentence(q.to-1, p.hit.from)
		if !near {
			continue
		}
		moved := s.moved(p.hit.from)
		switch {
		case s.toks[p.hit.from].mark == '-' && p.hit.from == q.to && p.role != roleFrom && q.role != roleTo:
			q.role, p.role = roleFrom, roleTo
		case p.role == roleTo && (q.role == roleNone || q.role == roleAt || q.role == roleOf):
			q.role = roleFrom
		case p.role == roleAt && q.role == roleFrom && p.hit.from-q.to <= 1:
			p.role = roleTo
		case p.role == roleFrom && (q.role == roleNone || q.role == roleAt && moved):
			q.role = roleTo
		case p.role == roleNone && q.role == roleFrom && p.hit.from-q.to <= 1 && s.toks[p.hit.from].brk == 0:
			p.role = roleTo
		case p.role == roleNone && (q.role == roleNone || q.role == roleOf) && p.hit.from == q.to && p.cue.what != q.cue.what:
			q.role, p.role = roleFrom, roleTo
		}
	}
	for i := range ps {
		if p := &ps[i]; p.role == roleOf && s.moved(p.hit.from) {
			p.role = roleFrom
		}
		if p := &ps[i]; p.role == roleFrom && from == "" {
			from = care.Place(p.cue.what)
			s.why("from", p.cue.text, p.hit.from, p.to)
		}
	}
	for _, strict := range []bool{true, false} { // a place that is moved to, before one that something is at
		for i := range ps {
			p := &ps[i]
			is := p.role == roleTo
			if !strict && p.role == roleAt {
				is = s.moved(p.hit.from) || s.fitting()
			}
			if place := care.Place(p.cue.what); is && to == "" && place != from {
				to = place
				s.why("to", p.cue.text, p.hit.from, p.to)
			}
		}
	}
	for _, h := range s.hits {
		if h.cue.kind != kBoth {
			continue
		}
		f, t, _ := strings.Cut(h.cue.what, ">")
		if from == "" && f != "" && care.Place(f) != to {
			from = care.Place(f)
		}
		if to == "" && t != "" && care.Place(t) != from {
			to = care.Place(t)
		}
		s.why("move", h.cue.text, h.from, h.to)
	}
	return s.onlyMoves(from, to)
}

// onlyMoves drops a lone place that tells where somebody fell from or lies, or where
// somebody sits.
func (s *scan) onlyMoves(from, to care.Place) (care.Place, care.Place) {
	if from != "" && to != "" || from == "" && to == "" {
		return from, to
	}
	fell, seat, move := false, false, false
	for _, h := range s.hits {
		switch h.cue.kind {
		case kFell, kDanger:
			fell = fell || s.harmless(h) == "" || s.harmless(h) == "is over"
		case kMove:
			move = true
		case kTopic:
			seat = seat || h.cue.what == string(Seat) && h.cue.weight >= 3
		}
	}
	if fell || seat && !move {
		return "", ""
	}
	return from, to
}

// fitting reports whether the message is about the sling and how it is hung: then a
// place it is for is where the move ends.
func (s *scan) fitting() bool {
	for _, h := range s.hits {
		if h.cue.kind == kTopic && (h.cue.what == string(Sling) || h.cue.what == string(Loops) || h.cue.what == string(Legs)) {
			for _, g := range s.hits {
				if g.cue.kind == kTopic && (g.cue.what == string(Seat) || g.cue.what == string(Equipment)) {
					return false
				}
			}
			return true
		}
	}
	return false
}

// roleOf looks for the marker before a place, past articles and the like, and for the
// one after it.
func (s *scan) roleOf(p hit, low int) role {
	if s.toks[p.from].toward {
		return roleTo
	}
	for _, h := range s.hits {
		if h.to == p.from {
			switch h.cue.kind {
			case kFrom:
				return fromRole(h)
			case kTo:
				return roleTo
			}
		}
	}
	for _, h := range s.hits {
		if (h.from == p.to || h.from == p.to+1) && s.sameClause(p.to-1, h.from) {
			switch h.cue.kind {
			case kFromPost:
				return roleFrom
			case kToPost:
				return roleTo
			}
		}
	}
	bestTo, best := -1, roleNone
	for _, h := range s.hits {
		var k role
		switch h.cue.kind {
		case kFrom:
			k = fromRole(h)
		case kTo:
			k = roleTo
		case kAt:
			k = roleAt
		default:
			continue
		}
		if h.from < low || h.to > p.from || p.from-h.to > 3 || !s.sameClause(h.to-1, p.from) {
			continue
		}
		blocked := false
		for i := h.to; i < p.from; i++ {
			blocked = blocked || s.has(i, kMove) || s.has(i, kTopic) && s.toks[i].script != han
		}
		if blocked {
			continue
		}
		if h.to > bestTo || h.to == bestTo && (best == roleAt || h.words > 1) {
			bestTo, best = h.to, k
		}
	}
	if best != roleNone {
		return best
	}
	for _, h := range s.hits {
		if h.from == p.to && h.cue.kind == kAtPost {
			return roleAt
		}
	}
	return roleNone
}

// supposed reports whether a word before token i makes what follows a supposition.
func (s *scan) supposed(i int) bool {
	for _, h := range s.hits {
		if h.cue.kind == kIf && h.to <= i && s.sameSentence(h.from, i) {
			return true
		}
	}
	return false
}

func fromRole(h hit) role {
	if h.cue.weight < 2 {
		return roleOf
	}
	return roleFrom
}

// moved reports whether the sentence around token i moves somebody.
func (s *scan) moved(i int) bool {
	for _, h := range s.hits {
		if h.cue.kind != kMove {
			continue
		}
		a, b := h.from, i
		if a > b {
			a, b = b, a
		}
		if s.sameSentence(a, b) {
			return true
		}
	}
	return false
}
