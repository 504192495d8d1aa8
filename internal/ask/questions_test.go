package ask

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"samelift/internal/care"
)

// question is one labelled line of testdata/questions.
type question struct {
	ID     string  `json:"id"`
	Lang   string  `json:"lang"`
	Text   string  `json:"text"`
	Client *string `json:"client"`
	From   *string `json:"from"`
	To     *string `json:"to"`
	Topics []Topic `json:"topics"`
}

// learnt reports whether the understanding may learn from the question: by the number
// at the end of its id, three of five may be learnt from and two are held out.
func (q question) learnt() bool {
	i := len(q.ID)
	for i > 0 && q.ID[i-1] >= '0' && q.ID[i-1] <= '9' {
		i--
	}
	n, _ := strconv.Atoi(q.ID[i:])
	return n%5 < 3
}

func (q question) emergency() bool { return len(q.Topics) > 0 && q.Topics[0] == Emergency }

// tally counts what was read right in one language.
type tally struct {
	n, wrong, client, main     int
	emergencies, found, alarms int
	places, placesRight        int
	strays                     int // a place read where none was said
}

func (t *tally) add(o tally) {
	t.n += o.n
	t.wrong += o.wrong
	t.client += o.client
	t.main += o.main
	t.emergencies += o.emergencies
	t.found += o.found
	t.alarms += o.alarms
	t.places += o.places
	t.placesRight += o.placesRight
	t.strays += o.strays
}

func percent(a, b int) float64 {
	if b == 0 {
		return 100
	}
	return 100 * float64(a) / float64(b)
}

func (t tally) row() string {
	return fmt.Sprintf("%5d %6d %7.1f %7.1f %4d/%-4d %6.1f %7.1f %6d", t.n, t.wrong, percent(t.client, t.n), percent(t.main, t.n),
		t.found, t.emergencies, percent(t.alarms, t.n-t.emergencies), percent(t.placesRight, t.places), t.strays)
}

const header = "part  lang      n  wrong  client    main    emerg  alarms  places strays"

func str(p *string) string {
	if p == nil {
		return ""
	}
	return *p
}

// judge compares a reading with its label, and names what is amiss.
func judge(q question, x Reading) (tally, []string) {
	t := tally{n: 1}
	var amiss []string
	miss := func(what string) { amiss = append(amiss, what) }
	label := str(q.Client)
	switch {
	case label == "":
		if x.Client == "" && len(x.Candidates) == 0 && x.UnknownName == "" {
			t.client = 1
		}
	case strings.HasPrefix(label, "ambiguous:"):
		t.client = 1
		for _, ref := range strings.Split(strings.TrimPrefix(label, "ambiguous:"), ",") {
			if !contains(x.Candidates, ref) {
				t.client = 0
			}
		}
	case strings.HasPrefix(label, "none:"):
		if x.Client == "" && x.UnknownName != "" {
			t.client = 1
		}
	case x.Client == label:
		t.client = 1
	}
	if x.Client != "" && x.Client != label {
		t.wrong = 1
		miss("WRONG CLIENT")
	} else if t.client == 0 {
		miss("client")
	}
	if len(q.Topics) > 0 && len(x.Topics) > 0 && q.Topics[0] == x.Topics[0] {
		t.main = 1
	} else {
		miss("topic")
	}
	if q.emergency() {
		t.emergencies = 1
		if x.Emergency {
			t.found = 1
		} else {
			miss("MISSED EMERGENCY")
		}
	} else if x.Emergency {
		t.alarms = 1
		miss("false alarm")
	}
	from, to := str(q.From), str(q.To)
	if from != "" || to != "" {
		t.places = 1
		if string(x.From) == from && string(x.To) == to {
			t.placesRight = 1
		} else {
			miss("places")
		}
	} else if x.From != "" || x.To != "" {
		t.strays = 1
		miss("stray place")
	}
	return t, amiss
}

func readQuestions(t *testing.T, dir string) map[string][]question {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]question{}
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		sc := bufio.NewScanner(f)
		for line := 1; sc.Scan(); line++ {
			if len(strings.TrimSpace(sc.Text())) == 0 {
				continue
			}
			var q question
			if err := json.Unmarshal(sc.Bytes(), &q); err != nil {
				t.Fatalf("%s:%d: %v", filepath.Base(name), line, err)
			}
			out[q.Lang] = append(out[q.Lang], q)
		}
		f.Close()
		if err := sc.Err(); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// testSite reads the names of the site that the questions speak of.
func testSite(t testing.TB) (clients, colleagues []Name) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/questions/site.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var site struct {
		People, Clients []struct {
			Ref, Name, Room string
			Also            []string
		}
	}
	if err := yaml.Unmarshal(data, &site); err != nil {
		t.Fatal(err)
	}
	for _, c := range site.Clients {
		clients = append(clients, Name{Ref: c.Ref, Name: c.Name, Also: c.Also, Room: c.Room})
	}
	for _, p := range site.People {
		colleagues = append(colleagues, Name{Ref: p.Ref, Name: p.Name, Also: p.Also})
	}
	return clients, colleagues
}

func testReader(t testing.TB) *Reader {
	clients, colleagues := testSite(t)
	return NewReader(testLexicon, clients, colleagues)
}

func sortedLangs(m map[string][]question) []string {
	var out []string
	for l := range m {
		out = append(out, l)
	}
	sort.Strings(out)
	return out
}

func p(s care.Place) string {
	if s == "" {
		return "-"
	}
	return string(s)
}

// TestLearn is for whoever mends the lexicon: with SAMELIFT_LEARN naming a folder of
// questions that may be learnt from, it prints the table and every failure.
// SAMELIFT_ONLY restricts it to languages or failures that contain a word.
func TestLearn(t *testing.T) {
	dir := os.Getenv("SAMELIFT_LEARN")
	if dir == "" {
		t.Skip("SAMELIFT_LEARN names no folder")
	}
	only := strings.Fields(os.Getenv("SAMELIFT_ONLY"))
	r := testReader(t)
	qs := readQuestions(t, dir)
	var all tally
	var b strings.Builder
	fmt.Fprintln(&b, header)
	for _, lang := range sortedLangs(qs) {
		var sum tally
		for _, q := range qs[lang] {
			x := r.Read(q.Text, q.Lang)
			one, amiss := judge(q, x)
			sum.add(one)
			if len(amiss) == 0 {
				continue
			}
			what := strings.Join(amiss, ", ")
			show := len(only) == 0
			langs, match := true, true
			for _, o := range only {
				if len(o) <= 3 {
					langs = lang == o || langs && lang == o
				} else {
					match = strings.Contains(what, o)
				}
			}
			if show || langs && match {
				fmt.Printf("%s | %s | %s\n    want %s %s>%s %v  got %s%v%s %s>%s %v\n", q.ID, what, q.Text, str(q.Client), str(q.From), str(q.To), q.Topics,
					x.Client, x.Candidates, x.UnknownName, p(x.From), p(x.To), x.Topics)
			}
		}
		fmt.Fprintf(&b, "learn %-4s %s\n", lang, sum.row())
		all.add(sum)
	}
	fmt.Fprintf(&b, "learn all  %s\n", all.row())
	fmt.Print(b.String())
}

// floors are what CI holds us to, over all languages together, in percent; set by
// measurement, a little below it. Only raise them.
var floors = map[string]struct {
	wrong                          int // most wrong clients
	client, main, emergency, place float64
	alarms                         float64 // most false alarms
}{
	"learn": {wrong: 1, client: 97.5, main: 97.5, emergency: 99.5, place: 95.5, alarms: 1},
	"held":  {wrong: 8, client: 95, main: 87, emergency: 97, place: 92, alarms: 2},
}

// TestQuestions measures the reading on the labelled questions, on the part it may learn
// from and on the part that is held out, beside the baseline. It prints figures only: no
// held-out question is ever shown, so that nobody tunes on it.
func TestQuestions(t *testing.T) {
	qs := readQuestions(t, "../../testdata/questions")
	if len(qs) == 0 {
		t.Skip("no questions yet")
	}
	r := testReader(t)
	base := newBaseline(qs)
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", header)
	for _, part := range []string{"learn", "held"} {
		var all, ours tally
		for _, lang := range sortedLangs(qs) {
			var sum tally
			for _, q := range qs[lang] {
				if q.learnt() != (part == "learn") {
					continue
				}
				one, _ := judge(q, r.Read(q.Text, q.Lang))
				sum.add(one)
				one, _ = judge(q, base.read(q.Text))
				all.add(one)
			}
			fmt.Fprintf(&b, "%-5s %-4s %s\n", part, lang, sum.row())
			ours.add(sum)
		}
		fmt.Fprintf(&b, "%-5s all  %s\n%-5s base %s\n", part, ours.row(), part, all.row())
		f := floors[part]
		if ours.n == 0 {
			continue
		}
		if ours.wrong > f.wrong {
			t.Errorf("%s: %d wrong clients, at most %d allowed", part, ours.wrong, f.wrong)
		}
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"client right or rightly asked back", percent(ours.client, ours.n), f.client},
			{"main topic", percent(ours.main, ours.n), f.main},
			{"emergencies found", percent(ours.found, ours.emergencies), f.emergency},
			{"both places right", percent(ours.placesRight, ours.places), f.place},
			{"no false alarm", 100 - percent(ours.alarms, ours.n-ours.emergencies), 100 - f.alarms},
		} {
			if c.got < c.want {
				t.Errorf("%s: %s %.1f %%, below the floor of %.1f %%", part, c.what, c.got, c.want)
			}
		}
	}
	t.Log("\n" + b.String())
}
