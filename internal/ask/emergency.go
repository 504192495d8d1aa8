package ask

import "samelift/internal/care"

// danger reports whether the message tells of somebody hurt, fallen, slipping, stuck
// or not breathing now. Recall comes first: only a plain sign that it is denied, only
// might happen, or is over, lets a phrase of danger pass.
func (s *scan) danger() bool {
	found := false
	for _, h := range s.hits {
		if h.cue.kind != kDanger && h.cue.kind != kFell {
			continue
		}
		if why := s.harmless(h); why != "" {
			s.why("no danger: "+why, h.cue.text, h.from, h.to)
			continue
		}
		s.why("danger", h.cue.text, h.from, h.to)
		found = true
	}
	return found
}

// harmless tells why a phrase of danger tells of none, or "".
func (s *scan) harmless(d hit) string {
	if s.thing(d) {
		return "a thing"
	}
	now := false
	for _, h := range s.hits {
		if h.cue.kind == kNow {
			now = true
		}
	}
	for _, h := range s.hits {
		inside := h.from >= d.from && h.to <= d.to
		switch h.cue.kind {
		case kNot:
			if inside || h.to > d.from || d.from-h.to > 2 || !s.sameClause(h.from, d.from) || s.butBetween(h.to, d.from) {
				continue
			}
			if now && d.cue.kind == kFell && s.first(h.from) || s.newSubject(h.to, d.from) {
				continue // "no she fell just now", "without warning she collapsed"
			}
			return "denied"
		case kNotPost:
			if inside || h.from < d.to || h.from-d.to > 1 || !s.sameClause(d.to-1, h.from) {
				continue
			}
			return "denied"
		case kIf:
			if inside && h.words < d.words {
				continue
			}
			a, b := h.from, d.from
			if a > b {
				a, b = b, a
			}
			if d.cue.weight < 8 && s.sameClause(a, b) && !s.butBetween(a, b) {
				return "might happen"
			}
		case kOver:
			if now || d.cue.weight >= 8 {
				continue
			}
			a, b := h.from, d.from
			if a > b {
				a, b = b, a
			}
			// A fall is over when anything says when it was; a state of danger only when
			// that stands beside it. A mere past tense (weight 1) must stand beside a fall.
			near := s.sameClause(a, b)
			if h.cue.weight >= 2 && (d.cue.kind == kFell || near) || d.cue.kind == kFell && near {
				return "is over"
			}
		}
	}
	return ""
}

// newSubject reports whether a word and then a pronoun stand between a negator and what
// it might deny: then that is somebody's doing and not denied.
func (s *scan) newSubject(a, b int) bool {
	return b-a == 2 && s.has(b-1, kPronoun) && !s.has(a, kPronoun) && !s.has(a, kDet)
}

// thing reports whether it is a sling, not a person, that fell or lies on the floor: the
// clause begins with it. A hoist that falls is always danger.
func (s *scan) thing(d hit) bool {
	if d.cue.weight >= 8 {
		return false
	}
	floor := d.cue.kind == kFell
	for _, h := range s.hits {
		floor = floor || h.cue.kind == kPlace && h.cue.what == string(care.Floor) && h.from < d.to && d.from < h.to
	}
	if !floor {
		return false
	}
	for _, h := range s.hits {
		if h.cue.kind != kTopic || h.words > 1 {
			continue
		}
		switch Topic(h.cue.what) {
		case Sling, Seat:
		default:
			continue
		}
		if h.to <= d.from && d.from-h.to <= 3 && s.sameClause(h.from, d.from) && !s.has(h.to, kPronoun) &&
			(s.toks[h.from].brk != 0 || h.from > 0 && s.toks[h.from-1].brk != 0) {
			return true
		}
		if d.cue.kind == kFell && s.toks[d.from].brk != 0 && h.from == d.to && s.sameClause(d.from, h.from) {
			return true
		}
	}
	return false
}

func (s *scan) butBetween(a, b int) bool {
	for _, h := range s.hits {
		if h.cue.kind == kBut && h.from >= a && h.to <= b {
			return true
		}
	}
	return false
}
