package ask

import "strings"

// The letters of other scripts by their nearest Latin sounds. They serve only to
// compare names by ear and are never shown.
var soundOf = map[rune]string{
	'а': "a", 'б': "b", 'в': "v", 'г': "h", 'д': "d", 'е': "e", 'ж': "zh", 'з': "z", 'и': "i", 'і': "i", 'к': "k", 'л': "l", 'м': "m", 'н': "n",
	'о': "o", 'п': "p", 'р': "r", 'с': "s", 'т': "t", 'у': "u", 'ф': "f", 'х': "h", 'ц': "ts", 'ч': "ch", 'ш': "sh", 'щ': "sh", 'ь': "", 'ю': "yu", 'я': "ya",
	'ا': "a", 'ب': "b", 'ت': "t", 'ث': "th", 'ج': "j", 'ح': "h", 'خ': "kh", 'د': "d", 'ذ': "d", 'ر': "r", 'ز': "z", 'س': "s", 'ش': "sh", 'ص': "s", 'ض': "d",
	'ط': "t", 'ظ': "z", 'ع': "", 'غ': "gh", 'ف': "f", 'ق': "k", 'ك': "k", 'ل': "l", 'م': "m", 'ن': "n", 'ه': "h", 'و': "u", 'ي': "i", 'ء': "",
	'अ': "a", 'आ': "a", 'इ': "i", 'उ': "u", 'ए': "e", 'ऐ': "ai", 'ओ': "o", 'औ': "au", 'ऑ': "o",
	'क': "k", 'ख': "kh", 'ग': "g", 'घ': "gh", 'ङ': "n", 'च': "ch", 'छ': "ch", 'ज': "j", 'झ': "jh", 'ञ': "n", 'ट': "t", 'ठ': "t", 'ड': "d", 'ढ': "d", 'ण': "n",
	'त': "t", 'थ': "t", 'द': "d", 'ध': "d", 'न': "n", 'प': "p", 'फ': "f", 'ब': "b", 'भ': "b", 'म': "m", 'य': "y", 'र': "r", 'ल': "l", 'व': "v", 'श': "sh", 'ष': "sh", 'स': "s", 'ह': "h",
	'ा': "a", 'ि': "i", 'ु': "u", 'े': "e", 'ै': "ai", 'ो': "o", 'ौ': "au", 'ॉ': "o", 'ं': "n", 'ः': "", '्': "",
}

// romanize writes a folded word in Latin letters; Devanagari consonants carry their
// short a. Latin words come back as they are.
func romanize(w string, s script) string {
	if s == latin || s == digits || s == han {
		return w
	}
	var b strings.Builder
	rs := []rune(w)
	for i, r := range rs {
		switch {
		case r == 'ю' && i > 0:
			b.WriteByte('u')
		case r == 'я' && i > 0:
			b.WriteByte('a')
		default:
			b.WriteString(soundOf[r])
		}
		if s == devanagari && r >= 'क' && r <= 'ह' && i+1 < len(rs) {
			if n := rs[i+1]; n >= 'अ' && n <= 'ह' || n == 'ं' {
				b.WriteByte('a')
			}
		}
	}
	return b.String()
}

var soundPairs = strings.NewReplacer(
	"shch", "s", "tsch", "s", "sch", "s", "sh", "s", "ch", "s", "sz", "s", "cz", "s", "rz", "s", "zh", "s", "ts", "s", "tz", "s", "th", "t", "dh", "d",
	"kh", "h", "gh", "g", "bh", "b", "jh", "j", "ph", "f", "ck", "k", "cq", "k", "qu", "kv", "ks", "x", "ce", "se", "ci", "si", "cy", "si", "c", "k", "q", "k",
	"ge", "je", "gi", "ji", "gy", "ji", "w", "v", "z", "s", "x", "ks", "lh", "l", "nh", "n", "gn", "n", "ll", "l")

// skeleton keeps the consonants of a romanized name in rough classes, so that one name
// in several spellings and scripts comes out the same. An initial vowel is kept as 'a'.
func skeleton(latin string) string {
	s := soundPairs.Replace(latin)
	var b strings.Builder
	var prev byte
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch c {
		case 'a', 'e', 'i', 'o', 'u', 'y':
			if i == 0 {
				b.WriteByte('a')
			}
			prev = 0
			continue
		case 'h':
			if i > 0 {
				continue
			}
		}
		if c < 'a' || c > 'z' {
			continue
		}
		if c == prev {
			continue
		}
		b.WriteByte(c)
		prev = c
	}
	return b.String()
}
