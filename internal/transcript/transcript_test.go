package transcript

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/tools/txtar"

	"samelift/internal/ask"
	"samelift/internal/bot"
	"samelift/internal/locale"
	askwords "samelift/locales/ask"
)

var update = flag.Bool("update", false, "write the stories as they are played now")

func setUp(t testing.TB) (*locale.Catalog, func(clients, colleagues []ask.Name) bot.Reader) {
	t.Helper()
	words, err := locale.Load()
	if err != nil {
		t.Fatal(err)
	}
	lexicon, err := ask.Load(askwords.FS)
	if err != nil {
		t.Fatal(err)
	}
	return words, func(clients, colleagues []ask.Name) bot.Reader { return ask.NewReader(lexicon, clients, colleagues) }
}

// Every story is played and compared whole with what is written; -update accepts what
// is played now, and the diff is then read as a change of behaviour. Each is played
// again in every language: nothing may be missing, unfilled or too long for a button.
func TestStories(t *testing.T) {
	words, understand := setUp(t)
	files, err := filepath.Glob("../../testdata/transcripts/*.txtar")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 15 {
		t.Errorf("%d stories; there must be at least fifteen", len(files))
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) {
			t.Parallel()
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			a := txtar.Parse(data)
			first := &player{t: t, words: words, understand: understand}
			script := first.play(a)
			got := string(txtar.Format(&txtar.Archive{Comment: []byte(script), Files: a.Files}))
			if got != string(data) {
				if *update {
					if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
						t.Fatal(err)
					}
				} else {
					t.Errorf("the story is told differently now; see it with -update and git diff\n%s", firstDifference(string(data), got))
				}
			}
			for _, l := range words.Languages() {
				t.Run(l.Code, func(t *testing.T) {
					p := &player{t: t, words: words, understand: understand, lang: l.Code, pressed: first.pressed}
					p.play(a)
				})
			}
		})
	}
}

func firstDifference(want, got string) string {
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range max(len(a), len(b)) {
		x, y := "(nothing)", "(nothing)"
		if i < len(a) {
			x = a[i]
		}
		if i < len(b) {
			y = b[i]
		}
		if x != y {
			return "written: " + x + "\nplayed:  " + y
		}
	}
	return ""
}
