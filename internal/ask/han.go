package ask

import (
	"strings"
)

// hanGroups finds names written in Han: whole, given name alone, or surname with a title.
func (r *Reader) hanGroups(s *scan, used []bool) []group {
	var out []group
	for i := 0; i < len(s.toks); i++ {
		if s.toks[i].script != han || used[i] {
			continue
		}
		var g group
		if who := r.hanTitle[s.toks[i].text]; len(who) > 0 && s.has(i+1, kTitleAfter) && s.toks[i+1].brk == 0 {
			g = group{from: i, to: i + 1, who: who, weight: evenly(who, weightEnding)}
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
					g = group{from: i, to: i + n, who: []int32{int32(id)}, weight: map[int32]int{int32(id): weightText}}
				case i+n == g.to:
					g.who = union(g.who, []int32{int32(id)})
					if g.weight == nil {
						g.weight = map[int32]int{}
					}
					g.weight[int32(id)] = weightText
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
		if !free {
			continue
		}
		for _, name := range r.lex.spelled[hanText(s.toks[i:i+n])] {
			if id, ok := r.byText[name]; ok {
				for _, o := range r.parts[id].owners {
					g.who = union(g.who, []int32{o.who})
				}
			}
		}
		if len(g.who) > 0 {
			g.from, g.to, g.weight = i, i+n, evenly(g.who, weightText)
			return g
		}
		said := r.lex.pinyinOf(s.toks[i : i+n])
		if said == "" {
			continue
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
		g = group{from: i, to: i + n, weight: map[int32]int{}}
		for _, h := range found {
			for _, o := range r.parts[h.part].owners {
				g.who = union(g.who, []int32{o.who})
				g.weight[o.who] = max(g.weight[o.who], weightHeard(hanDoubt*h.d, &r.parts[h.part]))
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
