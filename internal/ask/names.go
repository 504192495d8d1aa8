package ask

import (
	"slices"
	"sort"
	"strings"
	"unicode/utf8"
)

// group is a run of words that name somebody: "Mrs Rosa Lindqvist".
type group struct {
	from, to int
	who      []int32       // all it may be
	form     bool          // unsure, however well it fits
	denied   bool          // "not Rosa"
	q        float32       // how well it fits
	rivals   []int32       // who bears a name hardly further away
	weight   map[int32]int // how much it says for each, see sure.go
}

// said is who a message names.
type said struct {
	who     []int32 // one is the client; several are candidates
	doubt   bool    // ask back even if there is only one
	unknown string  // a name that nobody has, as written
}

// whoSaid finds who is meant. Nothing here guesses: whatever fits more than one person
// comes back as all of them.
func (r *Reader) whoSaid(s *scan) said {
	var out said
	used := make([]bool, len(s.toks))
	groups := r.hanGroups(s, used)
	for i := 0; i < len(s.toks); {
		g, end, mine := r.groupAt(s, i, used)
		if end == i {
			i++
			continue
		}
		for j := i; j < end; j++ {
			used[j] = true
		}
		if mine {
			groups = append(groups, g)
		}
		i = end
	}
	sort.SliceStable(groups, func(i, j int) bool { return groups[i].from < groups[j].from })
	groups, gone := s.correct(groups)

	groups = s.sturdy(groups)
	cur := []int32(nil)
	form := false
	for _, g := range groups {
		switch {
		case cur == nil:
			cur, form = g.who, g.form
		default:
			if both := intersect(cur, g.who); len(both) > 0 {
				cur = both
				form = form && g.form
			} else {
				cur = union(cur, g.who)
			}
		}
	}
	if left := without(cur, gone); len(left) > 0 {
		cur = left
	}
	unknown, beside := r.unknownName(s, used, groups)
	rooms := r.roomsSaid(s)
	var inRooms []int32
	strange := ""
	var lone []int32
	for _, rm := range rooms {
		if rm.lone {
			lone = union(lone, rm.who)
			continue
		}
		if len(rm.who) == 0 && rm.sure {
			from := rm.from
			for from > 0 && s.has(from-1, kRoom) {
				from--
			}
			strange = s.text[s.toks[from].from:s.toks[rm.to-1].to]
		}
		inRooms = union(inRooms, rm.who)
	}
	switch {
	case cur == nil && len(inRooms) > 0:
		cur = inRooms
		if len(without(s.passed, inRooms)) > 0 { // "the pink one in 14", where Rosa is another
			out.doubt = true
		}
		if unknown != "" {
			out.doubt, out.unknown = true, unknown
		}
	case cur == nil && unknown != "":
		out.unknown = unknown
	case cur == nil && strange != "":
		out.unknown = strange
	case cur != nil && len(inRooms) > 0:
		if both := intersect(cur, inRooms); len(both) > 0 {
			cur, form = both, false
		} else {
			cur = union(cur, inRooms)
		}
	case cur != nil && strange != "":
		out.doubt = true
	}
	if len(cur) == 1 && len(inRooms) == 0 {
		out.doubt = out.doubt || !sure(cur[0], groups) || r.besideStrange(s, used, groups)
		cur = r.withRivals(cur, groups)
		if len(lone) > 0 && len(intersect(cur, lone)) == 0 { // "Rosa from 14", where 14 is another's
			cur = union(cur, lone)
		}
	}
	if cur != nil && unknown != "" && beside {
		out.doubt, out.unknown = true, unknown
	}
	out.who = cur
	out.doubt = out.doubt || form
	return out
}

// sturdy drops what merely sounds like a name when another name fits far better.
func (s *scan) sturdy(groups []group) []group {
	var best float32
	for _, g := range groups {
		best = max(best, g.q)
	}
	var out []group
	for _, g := range groups {
		if g.q > 0 && g.q < 0.77 && best-g.q > 0.05 {
			s.why("only resembles a name", s.text[s.toks[g.from].from:s.toks[g.to-1].to], g.from, g.to)
			continue
		}
		out = append(out, g)
	}
	return out
}

func intersect(a, b []int32) []int32 {
	var out []int32
	for _, x := range a {
		for _, y := range b {
			if x == y {
				out = append(out, x)
				break
			}
		}
	}
	return out
}

func without(a, gone []int32) []int32 {
	var out []int32
	for _, x := range a {
		if !slices.Contains(gone, x) {
			out = append(out, x)
		}
	}
	return out
}

func union(a, b []int32) []int32 {
	out := append([]int32(nil), a...)
next:
	for _, y := range b {
		for _, x := range a {
			if x == y {
				continue next
			}
		}
		out = append(out, y)
	}
	return out
}

// correct drops the groups that the message takes back: "not Rosa, Oskar", "Rosa, I mean Oskar".
func (s *scan) correct(groups []group) (kept []group, gone []int32) {
	last := -1
	for i := range groups {
		g := &groups[i]
		for _, h := range s.hits {
			switch h.cue.kind {
			case kNot:
				if h.to <= g.from && s.onlyBefore(h.to, g.from) && s.sameClause(h.to-1, g.from) && !s.ends(h.from, kOr) && !s.follows(groups, h) {
					between := false
					for j := range groups {
						between = between || j != i && groups[j].from >= h.to && groups[j].from < g.from
					}
					g.denied = g.denied || !between
				}
			case kNotPost:
				if h.from >= g.to && h.from-g.to <= 1 && s.sameClause(g.to-1, h.from) {
					g.denied = true
				}
			case kInstead:
				if h.to <= g.from && g.from-h.to <= 2 && i > 0 {
					last = i
				}
			}
		}
	}
	for i, g := range groups {
		if !g.denied && i >= last {
			kept = append(kept, g)
			continue
		}
		gone = union(gone, g.who)
		s.why("taken back", s.text[s.toks[g.from].from:s.toks[g.to-1].to], g.from, g.to)
	}
	if len(kept) == 0 { // only taken back: ask who is meant instead
		for i := range groups {
			groups[i].form = true
		}
		return groups, nil
	}
	return kept, gone
}

// onlyBefore reports whether nothing but titles and the like stands between a and b.
func (s *scan) onlyBefore(a, b int) bool {
	for i := a; i < b; i++ {
		if !s.has(i, kTitle) && !s.has(i, kNameBefore) && !s.has(i, kDet) {
			return false
		}
	}
	return b-a <= 2
}

// follows reports whether a negator belongs to the name before it, as in Hindi.
func (s *scan) follows(groups []group, h hit) bool {
	if !s.has(h.from, kNotPost) {
		return false
	}
	for _, g := range groups {
		if g.to == h.from {
			return true
		}
	}
	return false
}

// groupAt reads a name that begins at token i. mine is false when it is a colleague's.
func (r *Reader) groupAt(s *scan, i int, used []bool) (g group, end int, mine bool) {
	type word struct {
		at      int
		matches []match
		initial string
		kind    wordKind
	}
	var words []word
	last := i
	for j := i; j < len(s.toks) && j < i+7; j++ {
		t := &s.toks[j]
		if used[j] || j > i && (t.brk == '.' && !initialBefore(s, j) || t.brk == ',') {
			break
		}
		if t.script == digits || t.script == han {
			break
		}
		if utf8.RuneCountInString(t.text) == 1 && (t.script == latin || t.script == cyrillic) && (t.upper && (len(words) > 0 || r.lex.vocab[t.text]&s.active == 0 || j+1 < len(s.toks) && s.toks[j+1].brk == '.') || len(words) > 0 && r.lex.vocab[t.text]&s.active == 0 && t.text != "s") {
			words = append(words, word{at: j, initial: romanize(t.text, t.script)})
			continue
		}
		if r.lex.particle[t.text] && len(words) > 0 {
			continue
		}
		if s.has(j, kTitle) && len(r.exact(t)) == 0 {
			if len(words) > 0 {
				break
			}
			if j == i {
				return g, i, false
			}
			continue
		}
		ms := r.matchesOf(s, t, r.mayBeMisspelt(s, j))
		if len(ms) > 0 && ms[0].q < qDeclined-0.1 && !s.told() && !s.has(j-1, kTitle) && !s.has(j+1, kTitleAfter) {
			ms = nil // what only resembles a name names nobody in small talk
		}
		if len(ms) == 0 {
			break
		}
		words = append(words, word{at: j, matches: ms, kind: r.kindOf(s, j, ms)})
		last = j + 1
	}
	for len(words) > 0 && words[len(words)-1].initial != "" && words[len(words)-1].at >= last {
		w := words[len(words)-1]
		if len(words) > 1 && s.toks[w.at].brk == 0 && words[len(words)-2].matches != nil {
			last = w.at + 1
			break
		}
		words = words[:len(words)-1]
	}
	full := words[:0:0]
	kind := everyday
	for _, w := range words {
		if w.matches != nil {
			full = append(full, w)
			kind = min(kind, w.kind)
		}
	}
	if len(full) == 0 {
		return r.initialsAt(s, i)
	}
	count := map[int32]int{}
	total := map[int32]float32{}
	weight := map[int32]int{}
	for _, w := range full {
		q := map[int32]match{}
		for _, m := range w.matches {
			for _, o := range r.parts[m.part].owners {
				if old, ok := q[o.who]; !ok || m.q > old.q {
					q[o.who] = m
				}
			}
		}
		for who, m := range q {
			weight[who] += r.weightOf(s, &s.toks[w.at], m)
			count[who]++
			total[who] += m.q
		}
	}
	most := 0
	var top float32
	for who, n := range count {
		if n > most || n == most && total[who] > top {
			most, top = n, total[who]
		}
	}
	margin := float32(0.2)
	switch {
	case top > float32(most)-0.001:
		margin = 0.001
	case top >= 0.9*float32(most):
		margin = 0.05
	}
	var best []int32
	for who, n := range count {
		if n == most && total[who] >= top-margin {
			best = append(best, who)
		}
	}
	sort.Slice(best, func(a, b int) bool { return best[a] < best[b] })
	if most < len(full) { // the words disagree: everybody they name
		for _, w := range full {
			fits := false
			for _, m := range w.matches {
				for _, o := range r.parts[m.part].owners {
					fits = fits || len(intersect(best, []int32{o.who})) > 0 && m.q >= w.matches[0].q-0.2
				}
			}
			if fits {
				continue
			}
			for _, m := range w.matches {
				if m.q < w.matches[0].q-0.1 {
					continue
				}
				for _, o := range r.parts[m.part].owners {
					if !r.people[o.who].colleague {
						best = union(best, []int32{o.who})
					}
				}
			}
		}
	}
	for _, w := range full { // a local form of one person's name that is another's very name
		formOnly, exact := true, []int32(nil)
		for _, m := range w.matches {
			for _, o := range r.parts[m.part].owners {
				if m.q >= qExact {
					exact = union(exact, []int32{o.who})
				}
				if m.by != byForm && slices.Contains(best, o.who) {
					formOnly = false
				}
			}
		}
		if formOnly && len(full) > 1 {
			best = union(best, exact)
		}
	}
	for _, w := range words { // initials narrow, and never widen
		if w.initial == "" {
			continue
		}
		var fit []int32
		for _, who := range best {
			for _, ini := range r.people[who].initials {
				if strings.Contains(ini, w.initial) {
					fit = append(fit, who)
					break
				}
			}
		}
		if len(fit) > 0 {
			best = fit
		}
	}
	g = group{from: i, to: last, q: top / float32(most), weight: weight}
	if len(best) == 1 && len(words) == 1 { // a slip may land between two names
		g.rivals = r.rivals(s, &s.toks[full[0].at], full[0].matches[0])
		for _, m := range full[0].matches[1:] { // or be one's name and another's with an ending
			name := r.parts[m.part].text
			if w := s.toks[full[0].at].text; m.by == byEnding && strings.HasPrefix(w, name) && regular(w, name) {
				for _, o := range r.parts[m.part].owners {
					g.rivals = append(g.rivals, o.who)
				}
			}
		}
	}
	var others bool
	for _, who := range best {
		if r.people[who].colleague {
			others = others || count[who] == most && total[who] >= top-margin && most == len(full)
			continue
		}
		g.who = append(g.who, who)
	}
	if kind != onlyName {
		switch s.fires(i, last, most, kind) {
		case fireNo:
			if kind == alsoWord {
				s.passed = append(s.passed, g.who...)
			}
			return group{}, i, false
		case fireDoubt:
			g.form = true
		}
	}
	if kind == onlyName && most == 1 && !s.told() && !s.alarm && len(s.toks) > 2 && !s.has(i-1, kTitle) && !s.ends(i, kNameBefore) && !s.has(last, kTitleAfter) {
		g.form = true // small talk may speak of anybody
	}
	if len(g.who) == 0 {
		s.why("colleague", s.text[s.toks[i].from:s.toks[last-1].to], i, last)
		return g, last, false
	}
	g.form = g.form || others
	s.why("name", s.text[s.toks[i].from:s.toks[last-1].to], i, last)
	return g, last, true
}

func initialBefore(s *scan, j int) bool {
	return j > 0 && utf8.RuneCountInString(s.toks[j-1].text) == 1 && s.toks[j-1].upper
}

func (r *Reader) exact(t *token) []match {
	if id, ok := r.byText[t.text]; ok {
		return []match{{id, qExact, byText}}
	}
	return nil
}

// knownIn reports whether the languages of the message have token i as a word.
func (lex *Lexicon) knownIn(s *scan, i int) bool {
	t := &s.toks[i]
	if (lex.everyday[t.text]|lex.stemsOf(t.text))&s.active != 0 || t.script == latin && lex.vocab[t.text]&s.active != 0 && lex.ordinary[t.text]&s.active == 0 {
		return true
	}
	for _, f := range t.forms[1:] {
		if (lex.everyday[f]|lex.stems[f])&s.active != 0 {
			return true
		}
	}
	return false
}

// mayBeMisspelt reports whether token i may be a name in another spelling: words that
// the message's languages have are what they are.
func (r *Reader) mayBeMisspelt(s *scan, i int) bool {
	return !r.lex.knownIn(s, i)
}

// initialsAt reads "R.L." or "RL", and a single initial after a title.
func (r *Reader) initialsAt(s *scan, i int) (group, int, bool) {
	var b strings.Builder
	j := i
	for ; j < len(s.toks) && j < i+3; j++ {
		t := &s.toks[j]
		if t.script == latin && t.upper && len(t.text) == 1 && (j == i || t.from-s.toks[j-1].to <= 2 && t.brk != ',') {
			b.WriteString(t.text)
			continue
		}
		break
	}
	t := &s.toks[i]
	switch {
	case b.Len() >= 2:
	case b.Len() == 1 && i > 0 && s.has(i-1, kTitle):
		var who []int32
		for id, p := range r.people {
			for _, ini := range p.initials {
				if !p.colleague && strings.HasSuffix(ini, b.String()) {
					who = append(who, int32(id))
					break
				}
			}
		}
		if len(who) > 0 {
			return group{from: i, to: j, who: who, weight: evenly(who, weightNear)}, j, true
		}
		return group{}, i, false
	case t.caps && len(t.text) >= 2 && len(t.text) <= 3 && !s.shout && !r.lex.knownIn(s, i) && r.lex.langsOf(t.text) == 0:
		b.Reset()
		b.WriteString(t.text)
		j = i + 1
	default:
		return group{}, i, false
	}
	var who []int32
	for id, p := range r.people {
		for _, ini := range p.initials {
			if !p.colleague && ini == b.String() {
				who = append(who, int32(id))
				break
			}
		}
	}
	if len(who) == 0 {
		return group{}, i, false
	}
	s.why("initials", b.String(), i, j)
	weight := weightEnding
	if t.caps { // without full stops it may be short for anything
		weight = weightNear
	}
	return group{from: i, to: j, who: who, weight: evenly(who, weight)}, j, true
}
