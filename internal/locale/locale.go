// Package locale puts keys into words. It owns how a language's messages are read
// and how values look in it: dates, times, masses, counts. It decides nothing.
//
// The words are in locales/, one file a language; see locales/README in the
// contributors' guide for their form.
package locale

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	i18ntemplate "github.com/nicksnyder/go-i18n/v2/i18n/template"
	"go.yaml.in/yaml/v3"
	"golang.org/x/text/language"

	"samelift/internal/care"
	"samelift/locales"
)

// Default is the language that every key exists in first.
const Default = "en"

// Language is what a locale file says of itself.
type Language struct {
	// Code is the ISO 639 code, which is also the file's name.
	Code string
	// Autonym is the language's own name in its own script.
	Autonym string
	// RTL is set for a language written from right to left.
	RTL bool
	// Reviewed is set once a native speaker of the trade has signed the words.
	Reviewed bool
}

// Catalog holds the words of every language.
type Catalog struct {
	bundle    *i18n.Bundle
	languages []Language
	printers  map[string]*Printer
	// messages are kept for the test that compares languages.
	messages map[string]map[string]*i18n.Message
}

// parser is strict: a placeholder that is not filled is an error, not "<no value>". A
// template keeps the parser that touched it first, so there is only this one.
var parser = &i18ntemplate.TextParser{Option: "missingkey=error"}

// file is the form of a locale file.
type file struct {
	Language  string         `yaml:"language"`
	Autonym   string         `yaml:"autonym"`
	Direction string         `yaml:"direction"`
	Reviewed  bool           `yaml:"reviewed"`
	Messages  map[string]any `yaml:"messages"`
}

// Load reads the words that the program was built with.
func Load() (*Catalog, error) { return load(locales.Files) }

func load(files fs.FS) (*Catalog, error) {
	names, err := fs.Glob(files, "*.yaml")
	if err != nil {
		return nil, err
	}
	c := &Catalog{bundle: i18n.NewBundle(language.MustParse(Default)), printers: map[string]*Printer{}, messages: map[string]map[string]*i18n.Message{}}
	for _, name := range names {
		b, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		if err := c.add(strings.TrimSuffix(path.Base(name), ".yaml"), b); err != nil {
			return nil, fmt.Errorf("locale %s: %w", name, err)
		}
	}
	// The default language comes first wherever languages are offered, then by code.
	slices.SortFunc(c.languages, func(a, b Language) int {
		if (a.Code == Default) != (b.Code == Default) {
			if a.Code == Default {
				return -1
			}
			return 1
		}
		return strings.Compare(a.Code, b.Code)
	})
	for _, l := range c.languages {
		c.printers[l.Code] = &Printer{Language: l, localizer: i18n.NewLocalizer(c.bundle, l.Code), zone: time.UTC}
	}
	return c, nil
}

func (c *Catalog) add(code string, b []byte) error {
	var f file
	if err := yaml.Unmarshal(b, &f); err != nil {
		return err
	}
	if f.Language != code {
		return fmt.Errorf("it says language %q", f.Language)
	}
	tag, err := language.Parse(code)
	if err != nil {
		return err
	}
	var all []*i18n.Message
	c.messages[code] = map[string]*i18n.Message{}
	for id, v := range f.Messages {
		m, err := i18n.NewMessage(v)
		if err != nil {
			return fmt.Errorf("message %s: %w", id, err)
		}
		m.ID = id
		all = append(all, m)
		c.messages[code][id] = m
	}
	c.languages = append(c.languages, Language{Code: code, Autonym: f.Autonym, RTL: f.Direction == "rtl", Reviewed: f.Reviewed})
	return c.bundle.AddMessages(tag, all...)
}

// Languages lists the languages, the default one first.
func (c *Catalog) Languages() []Language { return c.languages }

// Has reports whether there are words in a language.
func (c *Catalog) Has(code string) bool { return c.printers[code] != nil }

// Printer gives the words of a language, or of the default one where there are none,
// with times in the given zone.
func (c *Catalog) Printer(code string, zone *time.Location) *Printer {
	p, ok := c.printers[code]
	if !ok {
		p = c.printers[Default]
	}
	q := *p
	q.zone = zone
	return &q
}

// Printer words keys in one language.
type Printer struct {
	Language
	localizer *i18n.Localizer
	zone      *time.Location
}

// Term is an argument that is a key itself.
type Term string

// Say words a key. An argument may be a Term, an int, a string shown as it is, a
// care.Date, a care.Mass, a care.Clock or a time.Time; one named Count chooses the
// plural form. It returns an error for a key or an argument that is missing, never
// half a sentence.
func (p *Printer) Say(key string, args map[string]any) (string, error) {
	data := map[string]any{}
	var count any
	for name, v := range args {
		w, err := p.value(v)
		if err != nil {
			return "", fmt.Errorf("%s: argument %s: %w", key, name, err)
		}
		if name == "Count" {
			count = v
		}
		data[name] = w
	}
	s, err := p.localizer.Localize(&i18n.LocalizeConfig{MessageID: key, TemplateData: data, PluralCount: count, TemplateParser: parser})
	if err != nil {
		// go-i18n gives the default language's words together with the error: better
		// than nothing for a reader, but an error all the same.
		return s, fmt.Errorf("%s in %s: %w", key, p.Code, err)
	}
	return s, nil
}

// Isolates keep a name, a number or a code together inside a text of the other
// direction. Only right-to-left texts need them, and U+2068 and U+2069 are not among
// the marks that the messenger removes.
const (
	isolate = "\u2068"
	popped  = "\u2069"
)

func (p *Printer) apart(s string) string {
	if !p.RTL || s == "" {
		return s
	}
	return isolate + s + popped
}

func (p *Printer) value(v any) (any, error) {
	switch v := v.(type) {
	case Term:
		return p.Say(string(v), nil)
	case string:
		return p.apart(v), nil
	case raw:
		return string(v), nil
	case int:
		return v, nil
	case care.Date:
		return p.Date(v)
	case care.Mass:
		return p.Mass(v)
	case care.Clock:
		return p.apart(v.String()), nil
	case time.Time:
		return p.Time(v)
	}
	return nil, fmt.Errorf("a value of type %T has no words", v)
}

// Date words a day, such as "2 Nov 2026". Digits are those on labels, 0 to 9.
func (p *Printer) Date(d care.Date) (string, error) {
	if d.IsZero() {
		return p.Say("date.unknown", nil)
	}
	month, err := p.Say(fmt.Sprintf("month.%d", int(d.Month)), nil)
	if err != nil {
		return "", err
	}
	return p.Say("date", map[string]any{"Day": d.Day, "Month": raw(month), "Year": fmt.Sprint(d.Year)})
}

// Time words an instant by the site's clock on the wall, with its day.
func (p *Printer) Time(t time.Time) (string, error) {
	t = t.In(p.zone)
	day, err := p.Date(care.DateOf(t))
	if err != nil {
		return "", err
	}
	return p.Say("date.time", map[string]any{"Date": raw(day), "Time": t.Format("15:04")})
}

// Mass words a mass in kilograms with the language's decimal mark.
func (p *Printer) Mass(m care.Mass) (string, error) {
	mark, err := p.Say("decimal.mark", nil)
	if err != nil {
		return "", err
	}
	return p.Say("mass.kg", map[string]any{"Kg": strings.ReplaceAll(m.Kilograms(), ".", mark)})
}

// raw is a value that has its form already.
type raw string

// RTL reports whether a language is written from right to left, also one that the
// product has no words in: people write their own.
func RTL(code string) bool {
	tag, err := language.Parse(code)
	if err != nil {
		return false
	}
	script, _ := tag.Script()
	switch script.String() {
	case "Arab", "Hebr", "Syrc", "Thaa", "Nkoo", "Adlm":
		return true
	}
	return false
}
