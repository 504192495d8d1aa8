package ask

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// roomKey folds a room label such as "Room 12 b" to "12b".
func roomKey(label string, lex *Lexicon) string {
	var b strings.Builder
	toks := tokenize(bound(label))
	number := false
	for _, t := range toks {
		number = number || t.num >= 0
	}
	for _, t := range toks {
		switch {
		case t.num >= 0:
			b.WriteString(strconv.Itoa(t.num))
		case number && utf8.RuneCountInString(t.text) > 2:
		default:
			b.WriteString(t.text)
		}
	}
	return b.String()
}

// numberAt reads a number at token i, in digits or words, and how many tokens it takes.
func (lex *Lexicon) numberAt(s *scan, i int) (value, n int, ok bool) {
	if t := &s.toks[i]; t.num >= 0 {
		return t.num, 1, true
	}
	if s.toks[i].script == han {
		return hanNumber(s, i)
	}
	for n := 3; n >= 1; n-- {
		if i+n > len(s.toks) {
			continue
		}
		v, ok := lex.numberWord(s, i, n)
		if !ok {
			continue
		}
		if v >= 20 && v < 100 && v%10 == 0 {
			j := i + n
			if j < len(s.toks) && lex.joins[s.toks[j].text] {
				j++
			}
			if j < len(s.toks) && s.toks[j].brk == 0 {
				if u, ok := lex.numberWord(s, j, 1); ok && u > 0 && u < 10 {
					return v + u, j + 1 - i, true
				}
			}
		}
		return v, n, true
	}
	return 0, 0, false
}

func (lex *Lexicon) numberWord(s *scan, i, n int) (int, bool) {
	try := func(w string) (int, bool) {
		for _, num := range lex.numbers[w] {
			if s.active&(1<<num.lang) != 0 {
				return num.value, true
			}
		}
		return 0, false
	}
	if n == 1 {
		for _, f := range s.toks[i].forms {
			if v, ok := try(f); ok {
				return v, true
			}
		}
		return 0, false
	}
	var b strings.Builder
	for j := i; j < i+n; j++ {
		if j > i {
			b.WriteByte(' ')
		}
		b.WriteString(s.toks[j].text)
	}
	return try(b.String())
}

var hanDigit = map[string]int{"〇": 0, "零": 0, "一": 1, "二": 2, "两": 2, "兩": 2, "三": 3, "四": 4, "五": 5, "六": 6, "七": 7, "八": 8, "九": 9, "十": 10}

// hanNumber reads 十七, 二十三, 一二 and the like.
func hanNumber(s *scan, i int) (value, n int, ok bool) {
	cur := -1
	total := 0
	j := i
	for ; j < len(s.toks) && j < i+4; j++ {
		d, is := hanDigit[s.toks[j].text]
		if !is {
			break
		}
		if d == 10 {
			if cur < 0 {
				cur = 1
			}
			total += cur * 10
			cur = -1
			continue
		}
		if cur >= 0 {
			cur = cur*10 + d
		} else {
			cur = d
		}
	}
	if j == i {
		return 0, 0, false
	}
	if cur > 0 {
		total += cur
	}
	return total, j - i, true
}

// roomSaid is a room that the message names.
type roomSaid struct {
	from, to int
	label    string
	who      []int32 // empty when the site has no such room
	sure     bool    // said with the word for room
	lone     bool    // a number and nothing more: it may only raise a doubt
}

// leastLone is the least number that may be a room without saying so; smaller ones count
// carers and loops.
const leastLone = 5

// roomsSaid finds the rooms a message names. A number with a unit after it (carers,
// kilos, o'clock) is no room.
func (r *Reader) roomsSaid(s *scan) []roomSaid {
	var out []roomSaid
	for i := 0; i < len(s.toks); i++ {
		v, n, ok := r.lex.numberAt(s, i)
		if !ok {
			continue
		}
		end := i + n
		label := strconv.Itoa(v)
		if who := r.rooms[s.letterBefore(i)+label]; len(who) > 0 && s.letterBefore(i) != "" { // "B-204"
			out = append(out, roomSaid{i - 1, end, s.letterBefore(i) + label, who, true, false})
			s.why("room", s.letterBefore(i)+label, i-1, end)
			i = end - 1
			continue
		}
		if end < len(s.toks) {
			if t := &s.toks[end]; t.from == s.toks[end-1].to && t.script == latin && len(t.text) == 1 {
				if _, has := r.rooms[label+t.text]; has {
					label += t.text
					end++
				}
			}
		}
		if s.toks[i].num >= 0 && end < len(s.toks) && s.toks[end].from == s.toks[end-1].to && s.toks[end].script == latin && len(s.toks[end].text) <= 2 && !s.has(end, kUnit) && !s.has(end, kRoom) {
			continue // an ordinal, such as 3e or 2nd
		}
		before := s.ends(i, kRoom) || s.toks[i].mark == '#'
		if !before && i > 0 && s.has(i-1, kRoom) {
			before = true
		}
		_, after := s.begins(end, kRoom)
		if h, ok := s.begins(i, kRoom); ok && h.to >= end { // "room twelve" told as one word, such as pl "dwunastka"
			before = true
		}
		unit := false
		if !before {
			if _, is := s.begins(end, kUnit); is && (end >= len(s.toks) || s.toks[end].brk != '.') {
				unit = true
			}
			if end < len(s.toks) && s.toks[end].mark == ':' && s.toks[end].num >= 0 || s.toks[i].mark == ':' && i > 0 && s.toks[i-1].num >= 0 {
				unit = true
			}
			if s.ends(i, kUnitBefore) {
				unit = true
			}
		}
		who := r.rooms[label]
		switch {
		case before || after:
			out = append(out, roomSaid{i, end, label, who, true, false})
			s.why("room", label, i, end)
		case unit && !(s.cloth(end) && v >= leastLone && len(who) > 0): // nobody hangs fourteen loops
		case !unit && len(who) > 0 && s.ends(i, kRoomBefore) && (s.toks[i].num >= 0 || v > 4):
			out = append(out, roomSaid{i, end, label, who, false, false})
			s.why("bare room number", label, i, end)
		case len(who) > 0 && v >= leastLone && (s.toks[i].num >= 0 || s.kinds[i] == 0 || s.toks[i].script == han):
			out = append(out, roomSaid{i, end, label, who, false, true})
		}
		i = end - 1
	}
	return s.leftRooms(out, r)
}

// letterBefore is the single letter that a number at token i is written together with, or "".
func (s *scan) letterBefore(i int) string {
	if i == 0 || s.toks[i].num < 0 {
		return ""
	}
	t := &s.toks[i-1]
	if t.script != latin || len(t.text) != 1 {
		return ""
	}
	if gap := s.text[t.to:s.toks[i].from]; gap != "" && gap != "-" && gap != "." {
		return ""
	}
	return t.text
}

// leftRooms drops rooms that are taken back, as in "room 12, not 21".
func (s *scan) leftRooms(rooms []roomSaid, r *Reader) []roomSaid {
	var out []roomSaid
	for _, rm := range rooms {
		denied := false
		for _, h := range s.hits {
			switch {
			case h.cue.kind == kNot && h.to <= rm.from && rm.from-h.to <= 2 && s.allRoom(h.to, rm.from) && !s.has(h.from, kNotPost),
				h.cue.kind == kNotPost && h.from == rm.to:
				denied = true
				if v, n, ok := r.lex.numberAt(s, min(h.to, len(s.toks)-1)); ok && h.to < len(s.toks) && h.from >= rm.to {
					if who := r.rooms[strconv.Itoa(v)]; len(who) > 0 {
						out = append(out, roomSaid{h.to, h.to + n, strconv.Itoa(v), who, true, false})
					}
				}
			}
		}
		if !denied {
			out = append(out, rm)
		}
	}
	return out
}

func (s *scan) allRoom(a, b int) bool {
	for i := a; i < b; i++ {
		if !s.has(i, kRoom) && !s.has(i, kDet) && !s.has(i, kNameBefore) {
			return false
		}
	}
	return true
}
