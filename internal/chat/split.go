package chat

import (
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// Split parts a body at paragraph borders so that no part is longer than limit
// UTF-16 code units; a paragraph that is longer by itself is parted at a sentence
// or word border. Nothing is left out. Paragraphs to be kept with the one before stay in
// one part with it if the part can hold them all.
func Split(body []Paragraph, limit int) [][]Paragraph {
	var out [][]Paragraph
	var part []Paragraph
	size := 0
	for i, p := range body {
		if !p.Keep && len(part) > 0 {
			block := units(p.Text) + 1
			for _, q := range body[i+1:] {
				if !q.Keep {
					break
				}
				block += units(q.Text) + 1
			}
			if size+block > limit+1 && block <= limit+1 {
				out, part, size = append(out, part), nil, 0
			}
		}
		for _, piece := range splitText(p.Text, limit) {
			q := p
			q.Text = piece
			n := units(piece) + 1
			if size+n > limit+1 && len(part) > 0 {
				out, part, size = append(out, part), nil, 0
			}
			part = append(part, q)
			size += n
		}
	}
	if len(part) > 0 {
		out = append(out, part)
	}
	return out
}

func units(s string) int {
	n := 0
	for _, r := range s {
		n += max(1, utf16.RuneLen(r))
	}
	return n
}

func splitText(s string, limit int) []string {
	var out []string
	for units(s) > limit {
		n, end, space, sentence := 0, 0, 0, 0
		var before rune
		for i, r := range s {
			w := max(1, utf16.RuneLen(r))
			if n+w > limit {
				break
			}
			n += w
			_, size := utf8.DecodeRuneInString(s[i:]) // one byte where it is no character
			end = i + size
			switch r {
			case ' ', '\n':
				space = end
				// A full stop alone ends no sentence: it may stand within 72.5 kg.
				if strings.ContainsRune(".!?؟।", before) {
					sentence = end
				}
			case '。', '！', '？':
				sentence = end
			}
			before = r
		}
		cut := end
		if sentence > end/2 {
			cut = sentence
		} else if space > 0 {
			cut = space
		}
		out = append(out, s[:cut])
		s = s[cut:]
	}
	return append(out, s)
}
