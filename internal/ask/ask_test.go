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

// A way with its preposition is no emergency: in Spanish every second way has an "a".
func TestAWayIsNoEmergency(t *testing.T) {
	r := NewReader(testLexicon, nil, nil)
	for _, text := range []string{"de la cama a la silla de ruedas", "from the bed to a wheelchair", "z łóżka na wózek", "من السرير إلى الكرسي المتحرك"} {
		if got := r.Read(text, ""); got.Emergency {
			t.Errorf("%q is read as an emergency", text)
		}
	}
}
