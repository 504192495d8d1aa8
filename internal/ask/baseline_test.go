package ask

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// examples learns from labelled questions which words speak for which topic. It backs
// the phrases of the lexicon where they are silent or disagree; a native speaker mends
// it by adding a question with its topic.
type examples struct {
	feature map[string]int32
	counts  [][]float32 // feature -> topic -> questions that have it
	odds    [][]float32 // feature -> topic -> log odds
	topics  []float32   // questions per topic
	n       float32
}

const smoothing = 0.35

var topicIndex = func() map[Topic]int {
	m := map[Topic]int{}
	for i, t := range Topics {
		m[t] = i
	}
	return m
}()

func newExamples() *examples {
	return &examples{feature: map[string]int32{}, topics: make([]float32, len(Topics))}
}

// exampleWords splits a question roughly and fast; it need only be the same for an
// example and for a question.
func exampleWords(text string) []string {
	var out []string
	for _, w := range strings.FieldsFunc(text, func(r rune) bool {
		return !(unicode.IsLetter(r) || unicode.Is(unicode.M, r) || apostrophe(r))
	}) {
		if r, _ := utf8.DecodeRuneInString(w); unicode.Is(unicode.Han, r) {
			for _, c := range w {
				out = append(out, string(c))
			}
			continue
		}
		out = append(out, foldWord(w))
	}
	return out
}

// features are words, pairs of words, and the beginnings of words, each once.
func features(words []string) []string {
	seen := make(map[string]bool, 4*len(words))
	var out []string
	add := func(f string) {
		if !seen[f] {
			seen[f] = true
			out = append(out, f)
		}
	}
	for i, w := range words {
		add(w)
		if p := prefixRunes(w, 5); p != w {
			add(p + "*")
		}
		if i > 0 {
			add(words[i-1] + " " + w)
		}
	}
	return out
}

func (x *examples) learn(words []string, topics []Topic) {
	x.n++
	for _, f := range features(words) {
		id, ok := x.feature[f]
		if !ok {
			id = int32(len(x.counts))
			x.feature[f] = id
			x.counts = append(x.counts, make([]float32, len(Topics)))
		}
		for i, t := range topics {
			if i == 0 {
				x.counts[id][topicIndex[t]]++
			}
		}
	}
	if len(topics) > 0 {
		x.topics[topicIndex[topics[0]]]++
	}
}

func (x *examples) finish() {
	x.odds = make([][]float32, len(x.counts))
	for id, c := range x.counts {
		var all float32
		for _, v := range c {
			all += v
		}
		o := make([]float32, len(Topics))
		for t := range o {
			in := float64((c[t] + smoothing*0.2) / (x.topics[t] + smoothing))
			out := float64((all - c[t] + smoothing) / (x.n - x.topics[t] + 2*smoothing))
			o[t] = float32(math.Log(in / out))
		}
		x.odds[id] = o
	}
}

// weigh gives each topic the evidence of the words of a question.
func (x *examples) weigh(words []string) []float32 {
	sum := make([]float32, len(Topics))
	if x == nil || x.n == 0 {
		return sum
	}
	n := 0
	for _, f := range features(words) {
		id, ok := x.feature[f]
		if !ok {
			continue
		}
		n++
		for t, o := range x.odds[id] {
			sum[t] += o
		}
	}
	if n == 0 {
		return sum
	}
	k := float32(1 / math.Sqrt(float64(n)))
	for t := range sum {
		sum[t] *= k
	}
	return sum
}
