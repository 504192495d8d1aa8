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
	who      []int32 // all it may be
	form     bool    // only by a local form of a first name, or otherwise unsure
	denied   bool    // "not Rosa"
	q        float32 // how well it fits
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
	for _, rm := range rooms {
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
		if utf8.RuneCountInString(t.text) == 1 && (t.script == latin || t.script == cyrillic) && (t.upper || len(words) > 0 && r.lex.vocab[t.text]&s.active == 0 && t.text != "s") {
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
	byForm := map[int32]bool{}
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
			if count[who] == 0 {
				byForm[who] = m.form
			} else {
				byForm[who] = byForm[who] && m.form
			}
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
				if !m.form && slices.Contains(best, o.who) {
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
	g = group{from: i, to: last, q: top / float32(most)}
	var others bool
	for _, who := range best {
		if r.people[who].colleague {
			others = others || count[who] == most && total[who] >= top-margin && most == len(full)
			continue
		}
		g.who = append(g.who, who)
		g.form = g.form || byForm[who]
	}
	if kind != onlyName {
		switch s.fires(i, last, most, kind) {
		case fireNo:
			return group{}, i, false
		case fireDoubt:
			g.form = true
		}
	}
	if len(g.who) == 0 {
		s.why("colleague", s.text[s.toks[i].from:s.toks[last-1].to], i, last)
		return g, last, false
	}
	if q := top / float32(most); most == 1 && s.toks[i].script != latin && q < qSound-heardDoubt {
		g.form = true // it only sounds something like it
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
		return []match{{id, qExact, false}}
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
		case r.lex.ordinary[w]&s.active != 0:
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

// heardDoubt is how far below a perfect match by ear a name may be before we ask.
const heardDoubt = 0.05

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
	case kind == everyday && !capital && together < 2 && (len(s.toks[from].text) < 3 || s.has(from, kPlace) || s.has(from, kTopic) && s.toks[from].script == latin):
		return fireNo
	case firm && told && !pronoun:
		return fireYes
	case det || before && !prep:
		return fireNo
	case together >= 2 && (kind < everyday || prep || owned || told && !before):
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
		case starts && next && !owned && !prep && s.kinds[to] == 0 && !s.has(to+1, kDanger) && !s.has(to+1, kFell):
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
			return group{from: i, to: j, who: who}, j, true
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
	return group{from: i, to: j, who: who}, j, true
}

// hanGroups finds names written in Han: whole, given name alone, or surname with a title.
func (r *Reader) hanGroups(s *scan, used []bool) []group {
	var out []group
	for i := 0; i < len(s.toks); i++ {
		if s.toks[i].script != han || used[i] {
			continue
		}
		var g group
		if who := r.hanTitle[s.toks[i].text]; len(who) > 0 && s.has(i+1, kTitleAfter) && s.toks[i+1].brk == 0 {
			g = group{from: i, to: i + 1, who: who}
		}
		for id := range r.people {
			p := &r.people[id]
			for _, name := range p.hanNames {
				n := hanMatch(s, i, name, r)
				if n == 0 {
					continue
				}
				switch {
				case g.to == 0 || i+n > g.to:
					g = group{from: i, to: i + n, who: []int32{int32(id)}}
				case i+n == g.to:
					g.who = union(g.who, []int32{int32(id)})
				}
			}
		}
		if g.to == 0 && s.told() {
			g = r.hanHeard(s, i, used)
		}
		if g.to == 0 {
			continue
		}
		for j := g.from; j < g.to; j++ {
			used[j] = true
		}
		var mine []int32
		for _, who := range g.who {
			if !r.people[who].colleague {
				mine = append(mine, who)
			}
		}
		if len(mine) > 0 {
			g.who = mine
			out = append(out, g)
			s.why("name", s.text[s.toks[g.from].from:s.toks[g.to-1].to], g.from, g.to)
		}
		i = g.to - 1
	}
	return out
}

// hanHeard finds a name from abroad spelled in Han characters by its sound.
func (r *Reader) hanHeard(s *scan, i int, used []bool) group {
	var g group
	best := float32(1)
	for n := 7; n >= 2; n-- {
		if i+n > len(s.toks) || s.covered(i, i+n) || r.cutShort(s, i-1, -1) || r.cutShort(s, i+n, 1) {
			continue
		}
		free := true
		for j := i; j < i+n; j++ {
			free = free && !used[j] && (j == i || s.toks[j].brk == 0)
		}
		said := ""
		if free {
			said = r.lex.pinyinOf(s.toks[i : i+n])
		}
		if said == "" {
			continue
		}
		if id, ok := r.byText[r.lex.spelled[hanText(s.toks[i:i+n])]]; ok {
			g = group{from: i, to: i + n}
			for _, o := range r.parts[id].owners {
				g.who = append(g.who, o.who)
			}
			return g
		}
		found := r.hear([]string{said}, han)
		if len(found) == 0 {
			continue
		}
		low := found[0].d
		for _, h := range found {
			low = min(low, h.d)
		}
		if low-0.02*float32(n) >= best {
			continue
		}
		best = low - 0.02*float32(n)
		g = group{from: i, to: i + n}
		for _, h := range found {
			for _, o := range r.parts[h.part].owners {
				g.who = union(g.who, []int32{o.who})
			}
		}
	}
	return g
}

// cutShort reports whether a run that spells sounds goes on beyond a name that ends, or
// begins, at token i: 安赫尔 does not hold the name 赫尔. Another name may stand there.
func (r *Reader) cutShort(s *scan, i, step int) bool {
	from, to := i, i
	for j := i; j >= 0 && j < len(s.toks) && r.spellsSound(s, j, step); j += step {
		from, to = min(from, j), max(to, j+1)
		if to-from > 7 {
			break
		}
	}
	if to == from {
		return false
	}
	said := r.lex.pinyinOf(s.toks[from:to])
	return !r.lex.particle[said] && (to-from == 1 || len(r.hear([]string{said}, han)) == 0)
}

func (r *Reader) spellsSound(s *scan, j, step int) bool {
	if s.toks[j].script != han || s.kinds[j] != 0 || r.lex.pinyin[s.toks[j].text] == "" {
		return false
	}
	if step < 0 {
		return j+1 >= len(s.toks) || s.toks[j].to == s.toks[j+1].from
	}
	return j == 0 || s.toks[j-1].to == s.toks[j].from
}

func hanText(toks []token) string {
	var b strings.Builder
	for i := range toks {
		b.WriteString(toks[i].text)
	}
	return b.String()
}

// covered reports whether a phrase of two words or more lies on tokens from up to to.
func (s *scan) covered(from, to int) bool {
	for _, h := range s.hits {
		if h.words >= 2 && h.from < to && from < h.to && h.cue.kind != kNameBefore && h.cue.kind != kSafe {
			return true
		}
	}
	return false
}

// hanMatch tells how many tokens from i on are the name: all of it, its given part of
// two characters, or its surname beside a title.
func hanMatch(s *scan, i int, name string, r *Reader) int {
	rs := []rune(name)
	at := func(part []rune) bool {
		for k, c := range part {
			if i+k >= len(s.toks) || s.toks[i+k].text != string(c) {
				return false
			}
		}
		return len(part) > 0
	}
	switch {
	case at(rs):
		return len(rs)
	case len(rs) >= 3 && at(rs[1:]):
		return len(rs) - 1
	case at(rs[:1]):
		if _, ok := s.begins(i+1, kTitleAfter); ok {
			return 1
		}
		if i > 0 && s.ends(i, kTitle) {
			return 1
		}
	}
	return 0
}
