package ask

import "sort"

// minTopic is the weight a topic needs to be named; second the share of the main
// topic's weight that makes a second one worth naming.
const (
	minTopic = 1.5
	second   = 0.6
)

type scored struct {
	topic Topic
	score float32
	at    int
}

// topicsSaid weighs the phrases of each topic, leaving out what is ruled out.
func (s *scan) topicsSaid(moved bool) []scored {
	sums := map[Topic]*scored{}
	add := func(t Topic, w float32, at int) {
		sc := sums[t]
		if sc == nil {
			sc = &scored{topic: t, at: at}
			sums[t] = sc
		}
		sc.score += w
	}
	type span struct {
		t        Topic
		from, to int
	}
	taken := map[span]float32{}
	for _, h := range s.hits {
		var t Topic
		switch h.cue.kind {
		case kTopic:
			t = Topic(h.cue.what)
		case kTrap:
			t = Unknown
		default:
			continue
		}
		if h.cue.kind == kTopic && s.ruledOut(h) {
			s.why("ruled out: "+string(t), h.cue.text, h.from, h.to)
			continue
		}
		// Several phrases of one topic on the same words count once.
		dup := false
		for sp := range taken {
			if sp.t == t && sp.from < h.to && h.from < sp.to {
				dup = true
			}
		}
		w := h.cue.weight
		if dup {
			w *= 0.25
		}
		taken[span{t, h.from, h.to}] = w
		add(t, w, h.from)
		s.why("topic "+string(t), h.cue.text, h.from, h.to)
	}
	// Harm that is over is to be reported; harm that might be is to be guarded against.
	over, might := false, false
	for _, h := range s.hits {
		if h.cue.kind == kDanger || h.cue.kind == kFell {
			switch s.harmless(h) {
			case "is over":
				over = true
			case "might happen":
				might = true
			}
		}
	}
	if over {
		add(Incident, 2.5, len(s.toks))
	}
	if might {
		add(Cautions, 1.5, len(s.toks))
	}
	if sc := sums[Steps]; sc != nil && moved { // "from shower to bed, how"
		sc.score++
	}
	out := make([]scored, 0, len(sums))
	for _, sc := range sums {
		out = append(out, *sc)
	}
	rank(out)
	return out
}

// rank puts the heaviest topic first; of equals, the one said first.
func rank(out []scored) {
	sort.Slice(out, func(i, j int) bool {
		if out[i].score != out[j].score {
			return out[i].score > out[j].score
		}
		if out[i].at != out[j].at {
			return out[i].at < out[j].at
		}
		return out[i].topic < out[j].topic
	})
}

// ruledOut reports whether a phrase is named only to be ruled out: "not the sling, the hoist".
func (s *scan) ruledOut(t hit) bool {
	for _, h := range s.hits {
		if h.cue.kind == kNotPost && h.cue.weight >= 3 && h.from >= t.to && h.from-t.to <= 1 && s.sameClause(t.to-1, h.from) {
			return true
		}
		if h.cue.kind == kNot && !s.has(h.from, kNotPost) && h.cue.weight >= 3 && h.to <= t.from && t.from-h.to <= 2 && s.sameClause(h.to-1, t.from) {
			return true
		}
	}
	return false
}

// choose names one or two topics.
func choose(sc []scored) []Topic {
	if len(sc) == 0 || sc[0].score < minTopic || sc[0].topic == Unknown {
		return nil
	}
	out := []Topic{sc[0].topic}
	if len(sc) > 1 && sc[1].topic != Unknown && sc[1].score >= minTopic && sc[1].score >= second*sc[0].score {
		out = append(out, sc[1].topic)
	}
	return out
}
