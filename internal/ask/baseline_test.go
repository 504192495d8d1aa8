package ask

import (
	"math"
	"sort"
	"strings"
	"unicode"
)

// bayes is the general-purpose reader we measure ourselves against: naive Bayes over
// words and pairs of words, trained on the learning part. It knows nothing of the trade.
type bayes struct {
	class  map[string]int
	names  []string
	docs   []float64
	total  []float64
	counts []map[string]float64
	vocab  map[string]bool
}

func newBayes() *bayes { return &bayes{class: map[string]int{}, vocab: map[string]bool{}} }

func bayesWords(text string) []string {
	var words, out []string
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.Is(unicode.M, r) && !unicode.IsDigit(r) }) {
		w = foldWord(w)
		if strings.ContainsFunc(w, func(r rune) bool { return unicode.Is(unicode.Han, r) }) {
			for _, c := range w {
				words = append(words, string(c))
			}
			continue
		}
		words = append(words, w)
	}
	for i, w := range words {
		out = append(out, w)
		if i > 0 {
			out = append(out, words[i-1]+" "+w)
		}
	}
	return out
}

func (b *bayes) learn(text, class string) {
	id, ok := b.class[class]
	if !ok {
		id = len(b.names)
		b.class[class] = id
		b.names = append(b.names, class)
		b.docs = append(b.docs, 0)
		b.total = append(b.total, 0)
		b.counts = append(b.counts, map[string]float64{})
	}
	b.docs[id]++
	for _, w := range bayesWords(text) {
		b.counts[id][w]++
		b.total[id]++
		b.vocab[w] = true
	}
}

func (b *bayes) guess(text string) string {
	words := bayesWords(text)
	var all float64
	for _, d := range b.docs {
		all += d
	}
	order := make([]int, len(b.names))
	score := make([]float64, len(b.names))
	for c := range b.names {
		order[c] = c
		score[c] = math.Log(b.docs[c] / all)
		for _, w := range words {
			if b.vocab[w] {
				score[c] += math.Log((b.counts[c][w] + 0.1) / (b.total[c] + 0.1*float64(len(b.vocab))))
			}
		}
	}
	sort.SliceStable(order, func(i, j int) bool { return score[order[i]] > score[order[j]] })
	return b.names[order[0]]
}

// baseline reads topics, emergencies and clients by three such guesses; it has no places.
type baseline struct{ topic, client *bayes }

func newBaseline(qs map[string][]question) *baseline {
	b := &baseline{newBayes(), newBayes()}
	for _, lang := range sortedLangs(qs) {
		for _, q := range qs[lang] {
			if q.learnt() && len(q.Topics) > 0 {
				b.topic.learn(q.Text, string(q.Topics[0]))
				b.client.learn(q.Text, str(q.Client))
			}
		}
	}
	return b
}

func (b *baseline) read(text string) Reading {
	t := Topic(b.topic.guess(text))
	x := Reading{Topics: []Topic{t}, Emergency: t == Emergency}
	switch c := b.client.guess(text); {
	case strings.HasPrefix(c, "ambiguous:"):
		x.Candidates = strings.Split(strings.TrimPrefix(c, "ambiguous:"), ",")
	case strings.HasPrefix(c, "none:"):
		x.UnknownName = strings.TrimPrefix(c, "none:")
	default:
		x.Client = c
	}
	return x
}
