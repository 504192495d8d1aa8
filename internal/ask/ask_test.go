package ask

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"
	"unicode"

	"pgregory.net/rapid"

	askwords "samelift/locales/ask"
)

var testLexicon = func() *Lexicon {
	lex, err := Load(askwords.FS)
	if err != nil {
		panic(err)
	}
	return lex
}()

func TestLoadAllLanguages(t *testing.T) {
	want := []string{"ar", "de", "en", "es", "fil", "fr", "hi", "pl", "pt", "ro", "uk", "zh"}
	if got := testLexicon.Languages(); !reflect.DeepEqual(got, want) {
		t.Errorf("languages = %v, want %v", got, want)
	}
}

// Every language must say something about every topic and place, and have every list
// that the reading cannot do without.
func TestLexiconIsComplete(t *testing.T) {
	lex := testLexicon
	have := make([]map[string]int, len(lex.langs))
	for i := range have {
		have[i] = map[string]int{}
	}
	seen := map[*cue]bool{}
	for _, m := range []map[string][]*cue{lex.byWord, lex.byStem} {
		for _, cs := range m {
			for _, c := range cs {
				if seen[c] {
					continue
				}
				seen[c] = true
				have[c.lang][fmt.Sprintf("%d:%s", c.kind, c.what)]++
			}
		}
	}
	for i, lang := range lex.langs {
		for _, topic := range Topics {
			if topic == Unknown || topic == Emergency {
				continue
			}
			if n := have[i][fmt.Sprintf("%d:%s", kTopic, topic)]; n < 20 {
				t.Errorf("%s: topic %s has %d phrases", lang, topic, n)
			}
		}
		for _, k := range []kind{kDanger, kFell, kSafe, kTrap, kNot, kIf, kOver, kNow, kRoom, kUnit, kPolite} {
			if n := have[i][fmt.Sprintf("%d:", k)]; n < 3 {
				t.Errorf("%s: list %d has %d phrases", lang, k, n)
			}
		}
	}
}

func TestLoadSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct{ name, data, want string }{
		{"en.yaml", "lang: fr\n", "it must be the file's name"},
		{"en.yaml", "lang: en\nlists: {nonsense: a}\n", "unknown list"},
		{"en.yaml", "lang: en\ntopics: {nonsense: a}\n", "unknown topic"},
		{"en.yaml", "lang: en\nplaces: {moon: a}\n", "unknown place"},
		{"en.yaml", "lang: en\ntopics: {sling: 'a = b'}\n", "weight"},
		{"en.yaml", "lang: en\nnumbers: one\n", "word=number"},
		{"en.yaml", "lang: en\ntopics: {sling: '!!!'}\n", "no letters"},
		{"en.yaml", "lang: [", "read en.yaml"},
		{"readme.txt", "", "no language file"},
	} {
		_, err := Load(fstest.MapFS{c.name: {Data: []byte(c.data)}})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %q: error %v, want %q", c.name, c.data, err, c.want)
		}
	}
}

// Rules in plain words, so that somebody who knows the trade can check them.
func TestRead(t *testing.T) {
	clients := []Name{
		{Ref: "rosa", Name: "Rosa Lindqvist", Also: []string{"Rosie"}, Room: "12"},
		{Ref: "oskar", Name: "Oskar Lindqvist", Room: "14"},
		{Ref: "mueller", Name: "Jürgen Müller", Room: "2"},
		{Ref: "miller", Name: "George Miller", Room: "20"},
		{Ref: "field", Name: "Rose Field", Room: "21"},
		{Ref: "hope", Name: "Will Hope", Room: "23b"},
		{Ref: "haddad", Name: "Layla Haddad", Room: "9"},
		{Ref: "petrenko", Name: "Oleksandr Petrenko", Room: "4"},
		{Ref: "petrescu", Name: "Maria Petrescu", Room: "6"},
		{Ref: "wang", Name: "Wang Xiuying", Also: []string{"王秀英"}, Room: "17"},
	}
	r := NewReader(testLexicon, clients, []Name{{Ref: "magda", Name: "Magdalena Wójcik"}})
	for _, c := range []struct{ why, text, want string }{
		{"a full name", "which sling for Rosa Lindqvist", "rosa sling"},
		{"a first name in small letters", "which sling for rosa", "rosa sling"},
		{"a surname two clients share is asked back", "lindqvist weight", "?rosa,oskar weight"},
		{"a surname and its room are one person", "lindqvist room 12 weight", "rosa weight"},
		{"a name and a room that disagree are asked back", "rosa room 14 weight", "?rosa,oskar weight"},
		{"a room by itself", "sling for room 9", "haddad sling"},
		{"a room in words", "loops for room twenty", "miller loops"},
		{"a room with a letter", "loops for room 23b", "hope loops"},
		{"a room in Arabic-Indic digits", "غرفة ١٢ أي حمالة", "rosa sling"},
		{"a room in Devanagari digits", "कमरा १२ की स्लिंग कौन सी", "rosa sling"},
		{"a room that nobody has is said", "sling for room 99", "!room 99 sling"},
		{"a number of carers is no room", "do i need 2 carers", " staff"},
		{"an hour is no room", "who is on at 12", " unknown"},
		{"a missing diacritic", "jurgen loops", "mueller loops"},
		{"two letters for an umlaut", "Mueller loops", "mueller loops"},
		{"a slip between two sound-alikes is asked back", "mller weight", "?mueller,miller weight"},
		{"a slip between two names is asked back", "petresko weight", "?petrenko,petrescu weight"},
		{"a declined form", "ile waży Oskara", "oskar weight"},
		{"a name in Cyrillic", "скільки важить Петренко", "petrenko weight"},
		{"a name in Arabic", "كم وزن ليلى حداد", "haddad weight"},
		{"a name in Devanagari", "हद्दाद का वजन कितना है", "haddad weight"},
		{"a name in Han", "王奶奶体重多少", "wang weight"},
		{"a name that nobody has", "weight of Mr Fitzgerald", "!Fitzgerald weight"},
		{"a colleague is no client", "magda asks for the handover", " handover"},
		{"an everyday word is no name", "i hope the hoist battery will do", " hoist"},
		{"a name that is an everyday word, after a title", "mr hope weight", "hope weight"},
		{"not this one but that one", "not Rosa, Oskar, which loops", "oskar loops"},
		{"what is ruled out is not asked for", "not the sling, which loops", " loops"},
		{"from and to", "rosa bed to chair how", "rosa steps bed>chair"},
		{"where somebody sits is no move", "rosa is in the chair, is the cushion right", "rosa seat"},
		{"a fall now", "rosa fell", "rosa emergency"},
		{"danger mildly put", "nothing serious but he is on the floor", " emergency"},
		{"a fall that is over", "rosa fell yesterday, need the incident form", "rosa incident"},
		{"a fall that might be", "what if rosa falls when we hoist her", "rosa"},
		{"small talk", "what is the weather like", " unknown"},
		{"nothing at all", "", " unknown"},
		{"no letters", "?!… 🙂", " unknown"},
	} {
		if got := short(r.Read(c.text, "en")); got != c.want && !(c.want == "rosa" && strings.HasPrefix(got, "rosa") && !strings.Contains(got, "emergency")) {
			t.Errorf("%s: %q = %q, want %q", c.why, c.text, got, c.want)
		}
	}
}

func short(x Reading) string {
	s := x.Client
	if len(x.Candidates) > 0 {
		s = "?" + strings.Join(x.Candidates, ",")
	} else if x.UnknownName != "" {
		s = "!" + x.UnknownName
	}
	s += " " + string(x.Topics[0])
	if x.From != "" || x.To != "" {
		s += " " + string(x.From) + ">" + string(x.To)
	}
	return s
}

func TestExplain(t *testing.T) {
	r := testReader(t)
	x, why := r.Explain("nicht die Schlaufen, welches Tuch für Rosa vom Bett in den Rollstuhl", "de")
	if x.Client != "rosa" || x.From != "bed" || x.To != "wheelchair" || x.Topics[0] != Sling {
		t.Errorf("reading = %+v", x)
	}
	var rules []string
	for _, w := range why {
		rules = append(rules, w.Rule)
		if w.Text == "" || w.String() == "" {
			t.Errorf("reason without words: %+v", w)
		}
	}
	for _, want := range []string{"name", "from", "to", "topic sling", "ruled out: loops"} {
		if !contains(rules, want) {
			t.Errorf("no reason %q in %v", want, rules)
		}
	}
}

func TestLines(t *testing.T) {
	r := testReader(t)
	in := `{"id":"a1","lang":"en","text":"which sling for Oskar"}
not json
{"id":7,"lang":"en"}

{"id":"long","text":"` + strings.Repeat("x", maxLine) + `"}
{"id":2,"lang":"en","text":"lindqvist is on the floor"}`
	var out bytes.Buffer
	if err := Lines(r, strings.NewReader(in), &out); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if len(lines) != 5 {
		t.Fatalf("%d lines, want 5:\n%s", len(lines), out.String())
	}
	for i, want := range []string{`"id":"a1","client":"oskar"`, `"error"`, `"id":7,"error"`, `"error"`, `"id":2,"client":null,"candidates":["rosa","oskar"]`} {
		if !strings.Contains(lines[i], want) {
			t.Errorf("line %d = %s, want %s", i, lines[i], want)
		}
		if !json.Valid([]byte(lines[i])) {
			t.Errorf("line %d is no JSON", i)
		}
	}
}

// Case, spaces, punctuation, diacritics and courtesy never change one client into
// another: the same one, or a question back.
func TestNeverAnotherClient(t *testing.T) {
	clients, colleagues := testSite(t)
	r := NewReader(testLexicon, clients, colleagues)
	frames := map[string][]string{
		"en": {"which sling for %s", "%s bed to chair loops", "how many carers for %s", "%s fell"},
		"es": {"qué arnés para %s", "cuánto pesa %s", "de la cama a la silla con %s"},
		"de": {"welches Tuch für %s", "wie viele Leute bei %s"},
		"pl": {"jakie nosidło dla %s", "ile osób do %s"},
		"fr": {"quelle sangle pour %s"}, "pt": {"que arnês para %s"}, "ro": {"ce ham pentru %s"},
		"uk": {"який слінг для %s"}, "fil": {"anong sling ni %s"}, "hi": {"%s की स्लिंग कौन सी"}, "ar": {"حمالة %s"}, "zh": {"%s用哪个吊兜"},
	}
	var langs []string
	for l := range frames {
		langs = append(langs, l)
	}
	rapid.Check(t, func(t *rapid.T) {
		lang := rapid.SampledFrom(langs).Draw(t, "lang")
		client := rapid.SampledFrom(clients).Draw(t, "client")
		name := rapid.SampledFrom(append([]string{client.Name}, client.Also...)).Draw(t, "name")
		text := fmt.Sprintf(rapid.SampledFrom(frames[lang]).Draw(t, "frame"), name)
		before := r.Read(text, lang)
		if before.Client != "" && before.Client != client.Ref {
			t.Fatalf("%q is %s, not %s", text, before.Client, client.Ref)
		}
		changed := text
		switch rapid.IntRange(0, 5).Draw(t, "change") {
		case 0:
			changed = strings.ToUpper(text)
		case 1:
			changed = strings.ToLower(text)
		case 2:
			changed = "  " + strings.ReplaceAll(text, " ", "   ") + "\n"
		case 3:
			changed = text + rapid.SampledFrom([]string{"?", "!!", "…", " ?", "。", "؟"}).Draw(t, "mark")
		case 4:
			changed = strings.Map(func(r rune) rune {
				if r < 0x0250 {
					if f := foldWord(string(r)); len(f) == 1 {
						if unicode.IsUpper(r) {
							return unicode.ToUpper(rune(f[0]))
						}
						return rune(f[0])
					}
				}
				return r
			}, text)
		case 5:
			changed = rapid.SampledFrom([]string{"please, ", "hello, ", "bitte, ", "por favor, ", "proszę, ", "من فضلك، ", "请问,"}).Draw(t, "courtesy") + text
		}
		if after := r.Read(changed, lang); after.Client != "" && after.Client != client.Ref {
			t.Fatalf("%q is %s, not %s", changed, after.Client, client.Ref)
		}
	})
}

func TestReadNeverPanics(t *testing.T) {
	r := testReader(t)
	words := []string{"rosa", "Müller", "R.", "12", "١٢", "room", "غرفة", "王", "秀英", "from", "bed", "→", "नहीं", "не", "😀", "\u200d", "'s", "l'", "-", "…", "\xff"}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12).Draw(t, "n")
		var b strings.Builder
		for i := 0; i < n; i++ {
			if rapid.Bool().Draw(t, "known") {
				b.WriteString(rapid.SampledFrom(words).Draw(t, "word"))
			} else {
				b.WriteString(rapid.String().Draw(t, "any"))
			}
			b.WriteString(rapid.SampledFrom([]string{" ", "", ", ", ". "}).Draw(t, "gap"))
		}
		text := b.String()
		x, _ := r.Explain(text, "en")
		if y := r.Read(text, "en"); !reflect.DeepEqual(x, y) {
			t.Fatalf("two readings of %q: %+v and %+v", text, x, y)
		}
		if len(x.Topics) == 0 || len(x.Topics) > 2 || x.Client != "" && len(x.Candidates) > 0 {
			t.Fatalf("reading of %q = %+v", text, x)
		}
	})
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"which sling for Rosa", "غرفة ١٢ أي حمالة", "从床到轮椅", "кімната 7, Роза", "कमरा १२", "R.L. 3e 12b", "not rosa, oskar", strings.Repeat("ab ", 5000)} {
		f.Add(s, "en")
	}
	r := testReader(f)
	f.Fuzz(func(t *testing.T, text, lang string) {
		if x := r.Read(text, lang); len(x.Topics) == 0 {
			t.Fatal("no topic")
		}
	})
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := Load(askwords.FS); err != nil {
			b.Fatal(err)
		}
	}
}

// thousand is a site of a thousand clients with names put together from many.
func thousand() []Name {
	first := strings.Fields("Rosa Oskar Maria Jürgen George Layla Folasade Stanisław Oleksandr Sunita João Ángel Claire Xiuying Corazon Basil Elena Tomasz Priya Grace Ahmed Fatima Ion Petru Ingrid Hans Marie Pierre Luis Carmen Olena Ivan")
	last := strings.Fields("Lindqvist Adeyemi Kowalczyk Haddad Nguyen Field Hope Petrenko Petrescu Sharma Silva García Müller Miller Dupont Wang Santos Pike Nowak Schmidt Popescu Martin Ivanov Khan Rossi Smith Jones Brown Taylor Reyes Cruz Chen")
	var out []Name
	for i := 0; len(out) < 1000; i++ {
		f, l := first[i%len(first)], last[(i/len(first)+i)%len(last)]
		out = append(out, Name{Ref: fmt.Sprint("c", i), Name: f + " " + l + string(rune('a'+i%26)) + string(rune('a'+i/26%26)), Room: fmt.Sprint(i)})
	}
	return out
}

func BenchmarkNewReader(b *testing.B) {
	clients := thousand()
	for b.Loop() {
		NewReader(testLexicon, clients, nil)
	}
}

func BenchmarkRead(b *testing.B) {
	r := NewReader(testLexicon, thousand(), nil)
	for _, q := range []struct{ name, lang, text string }{
		{"en", "en", "how do i get rosa from the bed to the wheelchair, which loops"},
		{"uk", "uk", "скільки людей треба щоб пересадити Петренка з ліжка на візок"},
		{"ar", "ar", "كم شخص لنقل ليلى حداد من السرير إلى الكرسي المتحرك"},
		{"hi", "hi", "शर्मा जी को बेड से व्हीलचेयर में कैसे शिफ्ट करें"},
		{"zh", "zh", "王秀英从床到轮椅用哪个吊兜,要几个人"},
		{"long", "en", strings.Repeat("oskr lindqist bde chiar ", 500)},
	} {
		b.Run(q.name, func(b *testing.B) {
			for b.Loop() {
				r.Read(q.text, q.lang)
			}
		})
	}
}

// A way with its preposition is no emergency: in Spanish every second way has an "a".
func TestAWayIsNoEmergency(t *testing.T) {
	r := NewReader(testLexicon, nil, nil)
	for _, text := range []string{"de la cama a la silla de ruedas", "from the bed to a wheelchair", "z łóżka na wózek", "من السرير إلى الكرسي المتحرك"} {
		if got := r.Read(text, ""); got.Emergency {
			t.Errorf("%q is read as an emergency", text)
		}
	}
}
