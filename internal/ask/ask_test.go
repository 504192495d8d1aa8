package ask

import (
	"testing"

	askwords "samelift/locales/ask"
)

var testLexicon = func() *Lexicon {
	lex, err := Load(askwords.FS)
	if err != nil {
		panic(err)
	}
	return lex
}()

func TestLoad(t *testing.T) {
	if n := len(testLexicon.Languages()); n < 1 {
		t.Fatalf("languages = %d", n)
	}
}
