package ask

import (
	"fmt"
	"os"
	"sort"
	"strings"
	"testing"
)

// TestStrays reads what may be learnt from against sites whose clients nobody in it
// means: whoever is answered for is a stray. SAMELIFT_LEARN prints them.
func TestStrays(t *testing.T) {
	dir := os.Getenv("SAMELIFT_LEARN")
	show := dir != ""
	if !show {
		dir = "../../testdata/questions"
	}
	qs := readQuestions(t, dir)
	if len(qs) == 0 {
		t.Skip("no questions yet")
	}
	names := []string{"alder"}
	for n := range otherSites {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, site := range names {
		r := testReader(t)
		if site != "alder" {
			clients := otherSite(site)
			for i := range clients {
				clients[i].Room = "" // a room is a room: only names are looked at here
			}
			r = NewReader(testLexicon, clients, otherColleagues)
		}
		n, strays, asked := 0, 0, 0
		for _, lang := range sortedLangs(qs) {
			for _, q := range qs[lang] {
				if !q.learnt() || q.Client != nil && site == "alder" {
					continue
				}
				n++
				x := r.Read(q.Text, q.Lang)
				if len(x.Candidates) > 0 {
					asked++
				}
				if x.Client == "" {
					continue
				}
				strays++
				if show {
					fmt.Printf("STRAY %s %s %q -> %s (label %s)\n", site, q.ID, strings.TrimSpace(q.Text), x.Client, str(q.Client))
				}
			}
		}
		t.Logf("%-6s %5d read, %3d strays (%.2f %%), %d asked back", site, n, strays, percent(strays, n), asked)
	}
}

// oneOf are messages in which a name stands alone, in every language.
var oneOf = map[string][]string{
	"en":  {"which sling for %s", "%s loops", "how many carers for %s"},
	"es":  {"qué arnés para %s", "cuánto pesa %s"},
	"pl":  {"jakie nosidło dla %s", "ile waży %s"},
	"de":  {"welches Tuch für %s", "wie schwer ist %s"},
	"fr":  {"quelle sangle pour %s", "combien pèse %s"},
	"pt":  {"que arnês para %s", "quanto pesa %s"},
	"ro":  {"ce ham pentru %s", "cat cantareste %s"},
	"uk":  {"який слінг для %s", "скільки важить %s"},
	"fil": {"anong sling ni %s", "ilang carer kay %s"},
	"hi":  {"%s ki sling kaun si", "%s का वजन कितना है"},
	"ar":  {"أي حمالة لـ %s", "كم وزن %s"},
	"zh":  {"%s用哪个吊兜", "%s要几个人"},
}

// slipsOf lists every way one slip of the thumb may change a word, but for its first letter.
func slipsOf(w string) []string {
	rs := []rune(w)
	var out []string
	put := func(a []rune, mid string, b []rune) { out = append(out, string(a)+mid+string(b)) }
	for i := 1; i < len(rs); i++ {
		put(rs[:i], "", rs[i+1:])
		put(rs[:i], string(rs[i])+string(rs[i]), rs[i+1:])
		if i+1 < len(rs) {
			put(rs[:i], string(rs[i+1])+string(rs[i]), rs[i+2:])
		}
		for _, c := range "aeirsm" {
			put(rs[:i], string(c), rs[i+1:])
		}
	}
	return out
}

// fate counts what became of names.
type fate struct{ n, right, asked, others, none, wrong int }

func (f fate) String() string {
	return fmt.Sprintf("%6d said: %5.1f %% right, %5.1f %% asked back, %4.1f %% asked of others, %5.1f %% unknown or nobody, %d WRONG (%.2f %%)", f.n,
		percent(f.right, f.n), percent(f.asked, f.n), percent(f.others, f.n), percent(f.none, f.n), f.wrong, percent(f.wrong, f.n))
}

func (f *fate) count(x Reading, refs ...string) bool {
	f.n++
	switch {
	case x.Client != "" && contains(refs, x.Client):
		f.right++
	case x.Client != "":
		f.wrong++
		return false
	case len(x.Candidates) > 0 && (len(refs) == 0 || contains(x.Candidates, refs[0])):
		f.asked++
	case len(x.Candidates) > 0:
		f.others++
	default:
		f.none++
	}
	return true
}

// namesOf lists the single words of names with the refs of all who bear them.
func namesOf(r *Reader, clients []Name) map[string][]string {
	out := map[string][]string{}
	for _, c := range clients {
		for _, name := range append([]string{c.Name}, c.Also...) {
			for _, w := range strings.Fields(name) {
				if f := foldWord(w); scriptOf([]rune(f)[0]) == latin && len(f) >= 3 && !r.lex.particle[f] && !strings.ContainsAny(w, "-’'") && !contains(out[w], c.Ref) {
					out[w] = append(out[w], c.Ref)
				}
			}
		}
	}
	return out
}

// TestSlips says every name of every site with every slip of the thumb.
func TestSlips(t *testing.T) {
	show := os.Getenv("SAMELIFT_LEARN") != ""
	for _, site := range []string{"alder", "care", "home", "ward"} {
		clients, colleagues := testSite(t)
		if site != "alder" {
			clients, colleagues = otherSite(site), otherColleagues
		}
		r := NewReader(testLexicon, clients, colleagues)
		var exact, slips fate
		for w, refs := range namesOf(r, clients) {
			for lang, frames := range oneOf {
				x := r.Read(fmt.Sprintf(frames[0], w), lang)
				if !exact.count(x, refs...) && show {
					fmt.Printf("EXACT %s %s %q -> %s\n", site, lang, w, x.Client)
				}
				if lang != "en" && lang != "pl" {
					continue
				}
				for _, slip := range slipsOf(w) {
					if len(r.exact(&token{text: foldWord(slip)})) > 0 {
						continue // another's very name
					}
					x := r.Read(fmt.Sprintf(frames[0], slip), lang)
					if !slips.count(x, refs...) && show {
						fmt.Printf("SLIP %s %s %q for %q -> %s\n", site, lang, slip, w, x.Client)
					}
				}
			}
		}
		t.Logf("%-6s exact %s", site, exact)
		t.Logf("%-6s slips %s", site, slips)
	}
}

// TestOthersNames says names that anybody may have and nobody of the site has.
func TestOthersNames(t *testing.T) {
	show := os.Getenv("SAMELIFT_LEARN") != ""
	var given []string
	for w := range testLexicon.given {
		given = append(given, w)
	}
	for w := range testLexicon.spelled {
		given = append(given, w)
	}
	sort.Strings(given)
	for _, site := range []string{"alder", "care", "home", "ward"} {
		clients, colleagues := testSite(t)
		if site != "alder" {
			clients, colleagues = otherSite(site), otherColleagues
		}
		r := NewReader(testLexicon, clients, colleagues)
		var all fate
		for i, w := range given {
			if len(r.exact(&token{text: w})) > 0 {
				continue
			}
			langs := []string{"en", "pl", "es", "fil"}
			switch scriptOf([]rune(w)[0]) {
			case cyrillic:
				langs = []string{"uk"}
			case arabic:
				langs = []string{"ar"}
			case devanagari:
				langs = []string{"hi"}
			case han:
				langs = []string{"zh"}
			}
			lang := langs[i%len(langs)]
			frames := oneOf[lang]
			x := r.Read(fmt.Sprintf(frames[len(frames)-1], w), lang)
			if !all.count(x) && show {
				fmt.Printf("OTHER %s %s %q -> %s\n", site, lang, w, x.Client)
			}
		}
		t.Logf("%-6s %s", site, all)
	}
}
