package sheet_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"samelift/internal/bot"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/locale"
	"samelift/internal/sheet"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

var update = flag.Bool("update", false, "write the sheets as they are laid out now")

var now = time.Date(2026, 11, 2, 9, 30, 0, 0, time.UTC)

// letters gives codes that are the same in every run.
type letters struct{}

func (letters) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(17 * i)
	}
	return len(b), nil
}

var _ io.Reader = letters{}

// house is a bot with the demo site, changed as a test likes.
func house(t testing.TB, change func(*care.Site)) (*bot.Bot, *store.Store) {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "sheet.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	words, err := locale.Load()
	if err != nil {
		t.Fatal(err)
	}
	b := bot.New(bot.Config{Store: s, Words: words, Now: func() time.Time { return now }, Rand: letters{}})
	site, faults := sitefile.Read(sitefile.Demo(now), b.Known(nil))
	if len(faults) > 0 {
		t.Fatal(faults[0])
	}
	if change != nil {
		change(site)
	}
	if _, err := b.Import(context.Background(), site); err != nil {
		t.Fatal(err)
	}
	return b, s
}

func written(t testing.TB, p sheet.Page) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := p.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func demoSheet(t testing.TB, client, lang string) []byte {
	t.Helper()
	b, _ := house(t, nil)
	p, err := b.Sheet(context.Background(), "larch", client, lang, nil)
	if err != nil {
		t.Fatal(err)
	}
	return written(t, p)
}

var (
	drawings = regexp.MustCompile(`(?s)(<svg[^>]*>).*?</svg>`)
	tags     = regexp.MustCompile(`<([a-z]+)[^>]*>`)
	styles   = regexp.MustCompile(`(?s)<style>.*?</style>`)
)

// What stands on a sheet is written down; the drawings have tests of their own.
func TestSheetIsAsWritten(t *testing.T) {
	for _, name := range []string{"rosa-en", "tilda-ar", "wiktor-pl"} {
		client, lang, _ := strings.Cut(name, "-")
		got := drawings.ReplaceAll(styles.ReplaceAll(demoSheet(t, client, lang), nil), []byte("$1</svg>"))
		file := filepath.Join("testdata", name+".html")
		if *update {
			if err := os.WriteFile(file, got, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s differs from what is written: see it with -update and git diff", name)
		}
	}
}

// A sheet needs nothing from anywhere, in every language, and reads in its direction.
func TestSheetStandsAlone(t *testing.T) {
	for _, lang := range []string{"en", "pl", "ar", "es"} {
		for _, client := range []string{"tilda", "rosa", "oskar", "amal", "edwin", "wiktor", "hoa"} {
			page := demoSheet(t, client, lang)
			leaves, codes := 0, bytes.Count(page, []byte(`<div class="code"><svg`))
			for _, tag := range tags.FindAllSubmatch(page, -1) {
				switch string(tag[1]) {
				case "script", "link", "img", "iframe", "object", "a", "image", "use":
					t.Errorf("%s %s: <%s> wants something from elsewhere or does something", client, lang, tag[1])
				case "html":
					want := `<html lang="` + lang + `" dir="ltr">`
					if lang == "ar" {
						want = `<html lang="ar" dir="rtl">`
					}
					if string(tag[0]) != want {
						t.Errorf("%s %s: the page is read as %s", client, lang, tag[0])
					}
				case "article":
					leaves++
				}
			}
			if leaves == 0 || codes != leaves {
				t.Errorf("%s %s: %d leaves and %d codes", client, lang, leaves, codes)
			}
			for _, bad := range []string{"<no value>", "{{", "ZgotmplZ", "url("} {
				if bytes.Contains(page, []byte(bad)) {
					t.Errorf("%s %s: the page holds %q", client, lang, bad)
				}
			}
		}
	}
}

// Words that people typed act as words only.
func TestSheetEscapes(t *testing.T) {
	evil := `<script>alert(1)</script>"'&`
	b, _ := house(t, func(s *care.Site) {
		s.Clients[1].Name = evil
		s.Plans[1].Cautions = append(s.Plans[1].Cautions, care.Caution{Code: "other", Text: care.Text{Lang: "en", Words: evil}})
		s.Plans[1].Transfers[0].SetUpMore = care.Text{Lang: `"><b>`, Words: evil}
	})
	p, err := b.Sheet(context.Background(), "larch", "rosa", "en", nil)
	if err != nil {
		t.Fatal(err)
	}
	if page := written(t, p); bytes.Contains(page, []byte("<script")) || bytes.Contains(page, []byte("<b>")) {
		t.Error("typed words became markup")
	}
}

func TestSheetNamesByInitials(t *testing.T) {
	b, _ := house(t, func(s *care.Site) { s.InitialsOnly = true })
	p, err := b.Sheet(context.Background(), "larch", "rosa", "en", nil)
	if err != nil {
		t.Fatal(err)
	}
	page := string(written(t, p))
	if strings.Contains(page, "Lindqvist") || !strings.Contains(page, care.Initials("Rosa Lindqvist")) {
		t.Errorf("the site shows initials only, and the sheet says otherwise: %q", page[:600])
	}
}

// A plan that is not in force does not go on paper.
func TestSheetRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		client string
		change func(*care.Site)
	}{
		"no such client":          {"nobody", nil},
		"a plan that comes later": {"june", nil},
		"a client who has left":   {"rosa", func(s *care.Site) { s.Clients[1].Ended = true }},
	} {
		b, _ := house(t, c.change)
		if _, err := b.Sheet(context.Background(), "larch", c.client, "en", nil); !errors.Is(err, bot.ErrNoSheet) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// What a sheet's code stands for is known, and short enough for a link.
func TestSheetCode(t *testing.T) {
	b, s := house(t, nil)
	var code string
	p, err := b.Sheet(context.Background(), "larch", "rosa", "en", func(c string) string { code = c; return c })
	if err != nil {
		t.Fatal(err)
	}
	if len(code) > chat.MaxData || !regexp.MustCompile(`^plan_[a-z0-9]{16}$`).MatchString(code) {
		t.Errorf("the code is %q", code)
	}
	if !bytes.Contains(written(t, p), []byte(code)) {
		t.Error("the sheet does not say its code in letters")
	}
	err = s.View(context.Background(), now, func(tx *store.Tx) error {
		have, ok, err := tx.Sheet("larch", code)
		if !ok || have.Client != "rosa" || have.Version != 1 {
			t.Errorf("the code stands for %+v, %v", have, ok)
		}
		if _, ok, _ := tx.Sheet("another", code); ok {
			t.Error("another site knows the code")
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func BenchmarkSheet(b *testing.B) {
	h, _ := house(b, nil)
	h.Rand = nil
	n := 0
	for b.Loop() {
		n++
		h.Rand = counted(n)
		p, err := h.Sheet(context.Background(), "larch", "tilda", "en", nil)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(written(b, p))), "bytes/sheet")
	}
}

// counted gives another code each time.
type counted int

func (c counted) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(int(c) >> (8 * (i % 4)))
	}
	return len(b), nil
}
