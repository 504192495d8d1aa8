package transcript

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/tools/txtar"

	"samelift/internal/care"
	"samelift/internal/chat"
)

var (
	// A token of the messenger, and a code of ours: 22 characters.
	tokenLike = regexp.MustCompile(`[0-9]{3,}:[A-Za-z0-9_-]{20,}|[A-Za-z0-9_-]{22,}`)
	// What logs say themselves and people may type as well.
	logWords = words(`time level msg error warn info debug transport paper message attempt lane alert reply change handover reminder
		person cannot reached sent network refused arrived uncertain tries kind text choice aside after three have does`)
)

// words gives the words of a text that are long enough to tell something, folded.
func words(s string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsMark(r) }) {
		if len([]rune(w)) >= 4 {
			out[w] = true
		}
	}
	return out
}

// tells lists what a log tells of people: names and their parts, telephone numbers, what
// they wrote, what they were told, and what looks like a token or a code.
func tells(log string, site *care.Site, typed, shown []string) []string {
	var out []string
	low := strings.ToLower(log)
	in := words(log)
	names := func(all ...string) {
		for _, name := range all {
			for part := range words(name) {
				if in[part] && !logWords[part] {
					out = append(out, "a name: "+part)
				}
			}
			if len([]rune(name)) >= 3 && strings.Contains(low, strings.ToLower(name)) && !logWords[strings.ToLower(name)] {
				out = append(out, "a name: "+name)
			}
		}
	}
	if site != nil {
		for _, c := range site.Clients {
			names(append(c.Also, c.Name, c.Ref)...)
		}
		for _, p := range site.People {
			names(p.Name, p.Ref)
			if p.Phone != "" && strings.Contains(log, p.Phone) {
				out = append(out, "a telephone number")
			}
		}
	}
	for _, text := range typed {
		for w := range words(text) {
			if in[w] && !logWords[w] {
				out = append(out, "a word somebody wrote: "+w)
			}
		}
	}
	for _, text := range shown {
		if len([]rune(text)) >= 12 && strings.Contains(log, text) {
			out = append(out, "what somebody was told: "+text)
		}
	}
	for _, s := range tokenLike.FindAllString(log, -1) {
		out = append(out, "a token or a code: "+s)
	}
	return out
}

// told gives every paragraph that was sent or tried.
func (p *player) told() []string {
	var out []string
	for _, a := range p.rec.Attempts() {
		for _, para := range a.Out.Body {
			out = append(out, para.Text)
		}
	}
	return out
}

func (p *player) scan(t *testing.T) {
	t.Helper()
	for _, what := range tells(p.log.String(), p.site, p.typed, p.told()) {
		t.Errorf("the log tells %s\n%s", what, p.log.String())
	}
}

// No log of any story, not even at its most talkative, holds anybody's name, anything
// that was written or told, or a token: as the story is told, and again in a storm in
// which sends fail in every way.
func TestLogsTellNobody(t *testing.T) {
	words, understand := setUp(t)
	files, err := filepath.Glob("../../testdata/transcripts/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatalf("no stories: %v", err)
	}
	storms := 0
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) {
			a := txtar.Parse(data)
			calm := &player{t: t, words: words, understand: understand}
			calm.play(a)
			calm.scan(t)
			storm := &player{t: t, words: words, understand: understand, lang: "en", pressed: calm.pressed, storm: true}
			storm.play(a)
			storm.scan(t)
			storms += strings.Count(storm.log.String(), "\n")
		})
	}
	if storms < 20 {
		t.Errorf("the storms left %d lines: nothing was tried", storms)
	}
}

// A message that can never be taken is set aside after three tries. The error is logged;
// it must not quote the message, nor the damaged row.
func TestLogOfAMessageSetAside(t *testing.T) {
	words, understand := setUp(t)
	p := &player{t: t, words: words, understand: understand}
	p.play(txtar.Parse([]byte("! joined grace magda\nGrace> Tilda bed to chair\n")))
	db, err := sql.Open("sqlite", p.path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`UPDATE plans SET body = 'Tilda Brannock slid forward'; UPDATE sites SET revision = revision + 1`); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	p.open()
	defer p.close()
	in := chat.Inbound{ID: "poison", From: p.address("Grace"), Private: true, Kind: chat.KindText, Text: "Rosa grumbles about Tilda", At: p.now}
	p.typed = append(p.typed, in.Text)
	for try := 1; try <= 3; try++ {
		err := p.bot.Handle(context.Background(), in)
		if err == nil != (try == 3) {
			t.Fatalf("try %d: %v", try, err)
		}
		if err != nil {
			// The transport logs it.
			p.log.WriteString(err.Error() + "\n")
		}
	}
	if !strings.Contains(p.log.String(), "set aside") {
		t.Errorf("nothing is logged: %s", p.log.String())
	}
	p.scan(t)
}

// The scanner finds what it is there to find.
func TestTells(t *testing.T) {
	site := &care.Site{
		Clients: []care.Client{{Ref: "p1", Name: "Nguyễn Thị Hoa", Also: []string{"Bo"}}, {Ref: "tilda", Name: "Tilda Brannock"}},
		People:  []care.Person{{Ref: "elena", Name: "Elena Marsh", Phone: "01632 960 114"}},
	}
	for _, tt := range []struct {
		log  string
		want bool
	}{
		{`level=WARN msg="a message was not sent" message=7 attempt=2 error="no network"`, false},
		{`msg="queued for Nguyễn"`, true},
		{`chat=tilda`, true},
		{`error="no plan of BRANNOCK"`, true},
		{`to="01632 960 114"`, true},
		{`text="very sore heel"`, true},
		{`text="the whole answer that she was told"`, true},
		{`GET /bot123456:AAabcdefghijklmnopqrstuvwxyz0123456/getMe`, true},
		{`code=CVXjxF9z96J9G0M9KRM-pg`, true},
	} {
		got := tells(tt.log, site, []string{"Her heel is very sore today"}, []string{"the whole answer that she was told"})
		if len(got) > 0 != tt.want {
			t.Errorf("%s: %v", tt.log, got)
		}
	}
}
