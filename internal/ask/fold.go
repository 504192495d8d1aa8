package ask

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// maxRunes bounds how much of a message is read; the rest is ignored.
const maxRunes = 1000

// script is the writing a token is in.
type script uint8

const (
	latin script = iota
	cyrillic
	arabic
	devanagari
	han
	digits
	otherScript
)

// token is one folded word of a message.
type token struct {
	text   string   // folded
	forms  []string // text first, then what is left when a proclitic is cut off
	fuzzy  string   // a word of the lexicon that text is one slip away from
	from   int      // byte offsets in the bounded message
	to     int
	script script
	upper  bool // begins with a capital letter
	caps   bool // is all capitals, two or more
	brk    byte // 0, ',' or '.': the break before this token
	mark   byte // the last sign before this token, such as '>' or '#'
	toward bool // carries a proclitic that means "to"
	num    int  // value of a number written in digits, else -1
}

// bound cuts text to maxRunes and mends broken UTF-8.
func bound(text string) string {
	n := 0
	for i := range text {
		if n == maxRunes {
			text = text[:i]
			break
		}
		n++
	}
	if !utf8.ValidString(text) {
		text = strings.ToValidUTF8(text, " ")
	}
	return text
}

// letters that do not decompose, and letters that writers use for one another.
var foldRunes = map[rune]string{
	'ł': "l", 'ø': "o", 'đ': "d", 'ð': "d", 'þ': "th", 'ß': "ss", 'æ': "ae", 'œ': "oe", 'ı': "i", 'ħ': "h", 'ŋ': "n",
	'ى': "ي", 'ة': "ه", 'ک': "ك", 'ی': "ي", 'ٱ': "ا", 'ہ': "ه", 'ھ': "ه", 'ے': "ي", 'گ': "ك", 'پ': "ب", 'چ': "ج", 'ڤ': "ف",
	'ـ': "", '\u200c': "", '\u200d': "", '\u200e': "", '\u200f': "", '\u061c': "", '\ufeff': "", '\u00ad': "",
	'ґ': "г", 'ъ': "", 'ы': "и", 'э': "е", 'є': "е",
	'ई': "इ", 'ऊ': "उ", 'ी': "ि", 'ू': "ु", 'ँ': "ं", 'ऋ': "रि",
}

// foldWord folds case, diacritics, letter variants and digits of one word.
func foldWord(s string) string {
	ascii := true
	for i := 0; i < len(s); i++ {
		if s[i] >= utf8.RuneSelf {
			ascii = false
			break
		}
	}
	if ascii {
		return strings.ToLower(s)
	}
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range norm.NFKD.String(strings.ToLower(s)) {
		r = unicode.ToLower(r)
		if f, ok := foldRunes[r]; ok {
			b.WriteString(f)
			continue
		}
		if r >= 0x0900 && r <= 0x097f {
			switch {
			case r == 0x093c: // nukta
			case r >= 0x0966 && r <= 0x096f:
				b.WriteByte(byte('0' + r - 0x0966))
			default:
				b.WriteRune(r)
			}
			continue
		}
		if unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Cf, r) {
			continue
		}
		if unicode.Is(unicode.Nd, r) {
			if v := digitValue(r); v >= 0 {
				b.WriteByte(byte('0' + v))
				continue
			}
		}
		b.WriteRune(r)
	}
	return b.String()
}

func digitValue(r rune) int {
	switch {
	case r >= '0' && r <= '9':
		return int(r - '0')
	case r >= 0x0660 && r <= 0x0669:
		return int(r - 0x0660)
	case r >= 0x06f0 && r <= 0x06f9:
		return int(r - 0x06f0)
	case r >= 0x0966 && r <= 0x096f:
		return int(r - 0x0966)
	}
	return -1
}

func scriptOf(r rune) script {
	switch {
	case r < 0x0250 && unicode.IsLetter(r), r >= 0x1e00 && r <= 0x1eff:
		return latin
	case unicode.Is(unicode.Nd, r):
		return digits
	case unicode.Is(unicode.Cyrillic, r):
		return cyrillic
	case unicode.Is(unicode.Arabic, r):
		return arabic
	case unicode.Is(unicode.Devanagari, r):
		return devanagari
	case unicode.Is(unicode.Han, r):
		return han
	}
	return otherScript
}

func wordRune(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsNumber(r) || unicode.Is(unicode.M, r) || r == '\u200c' || r == '\u200d'
}

func apostrophe(r rune) bool {
	return r == '\'' || r == '’' || r == 'ʼ' || r == '`' || r == '´' || r == '‘' || r == 'ʻ'
}

// tokenize splits a message into folded words. Words are split at hyphens, between
// letters and digits, and around a short elided article; Han characters stand alone.
func tokenize(text string) []token {
	toks := make([]token, 0, len(text)/5+1)
	var brk, mark byte
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRuneInString(text[i:])
		if !wordRune(r) {
			brk, mark = breakOf(r, brk), markOf(r, mark)
			i += n
			continue
		}
		end := i + n
		for end < len(text) {
			r, n := utf8.DecodeRuneInString(text[end:])
			if !wordRune(r) && !(apostrophe(r) && end+n < len(text)) {
				break
			}
			end += n
		}
		k := len(toks)
		toks = splitWord(toks, text[i:end], i)
		if len(toks) > k {
			toks[k].brk, toks[k].mark = brk, mark
			brk, mark = 0, 0
		}
		i = end
	}
	if len(toks) > 0 {
		toks[0].brk = '.'
	}
	return toks
}

// breakOf tells the break after a sign: a full stop outweighs a comma.
func breakOf(r rune, brk byte) byte {
	switch r {
	case '.', '!', '?', '\n', '…', '؟', '。', '！', '？', '।', '¿', '¡', ';', '；':
		return '.'
	case ',', '،', '，', '、', ':', '：', '(', ')', '—', '–', '/', '؛':
		if brk == 0 {
			return ','
		}
	}
	return brk
}

// markOf remembers the signs that mean something before a place or a number.
func markOf(r rune, mark byte) byte {
	switch r {
	case '>', '→', '➡', '⇒':
		return '>'
	case '#', '№':
		return '#'
	case ':', '：':
		return ':'
	case '-', '–', '—', '/':
		if mark == 0 {
			return '-'
		}
	}
	return mark
}

// splitWord appends the tokens of one word that begins at byte start.
func splitWord(toks []token, seg string, start int) []token {
	from := 0
	kind := otherScript
	flush := func(to int) {
		if to > from {
			toks = appendToken(toks, seg[from:to], start+from)
		}
		from = to
	}
	for i, r := range seg {
		switch {
		case apostrophe(r):
			before, after := seg[from:i], seg[i+utf8.RuneLen(r):]
			fa := foldWord(after)
			if utf8.RuneCountInString(before) <= 2 || fa == "s" || fa == "a" || fa == "t" && !strings.HasSuffix(strings.ToLower(before), "n") || fa == "y" || fa == "yung" || fa == "re" || fa == "ll" {
				flush(i)
				from = i + utf8.RuneLen(r)
			}
			continue
		case !wordRune(r):
			flush(i)
			from = i + utf8.RuneLen(r)
			kind = otherScript
			continue
		}
		if unicode.Is(unicode.M, r) {
			continue
		}
		k := scriptOf(r)
		if k == han || kind == han || (k == digits) != (kind == digits) && kind != otherScript {
			flush(i)
		}
		kind = k
	}
	flush(len(seg))
	return toks
}

func appendToken(toks []token, raw string, at int) []token {
	folded := foldWord(raw)
	if strings.ContainsFunc(folded, apostrophe) {
		folded = strings.Map(func(r rune) rune {
			if apostrophe(r) {
				return -1
			}
			return r
		}, folded)
	}
	if folded == "" {
		return toks
	}
	r, _ := utf8.DecodeRuneInString(raw)
	t := token{text: folded, from: at, to: at + len(raw), script: scriptOf(r), upper: unicode.IsUpper(r), num: -1}
	t.caps = t.upper && utf8.RuneCountInString(raw) > 1 && strings.ToUpper(raw) == raw
	if folded[0] >= '0' && folded[0] <= '9' {
		t.script = digits
		n := 0
		for _, c := range folded {
			if c < '0' || c > '9' || n > 99999 {
				n = -1
				break
			}
			n = n*10 + int(c-'0')
		}
		t.num = n
	}
	t.forms = append(make([]string, 0, 2), folded)
	return append(toks, t)
}

// foldPhrase folds a phrase of the lexicon the way a message is folded.
func foldPhrase(s string) []string {
	plain := s != ""
	for _, r := range s {
		if !unicode.IsLetter(r) && !unicode.Is(unicode.M, r) || unicode.Is(unicode.Han, r) || apostrophe(r) {
			plain = false
			break
		}
	}
	if plain { // one word, as most are
		return []string{foldWord(s)}
	}
	toks := tokenize(s)
	out := make([]string, len(toks))
	for i, t := range toks {
		out[i] = t.text
	}
	return out
}
