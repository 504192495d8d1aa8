package sitefile

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"samelift/internal/care"
)

// Limits on what one file may hold, in characters and entries.
const (
	maxName    = 80
	maxLabel   = 40
	maxText    = 500
	maxEntries = 5000
	maxSteps   = 60
	maxDepth   = 20
)

// reader gathers faults while the tree is walked.
type reader struct {
	faults []Fault
}

// full reports whether no more faults are kept, so that none need be worked out.
func (r *reader) full() bool { return len(r.faults) >= MaxFaults }

// val is one node of the file and the path that leads to it.
type val struct {
	r    *reader
	n    *yaml.Node
	path string
}

// obj is a mapping whose keys have been checked.
type obj struct {
	val
	fields map[string]val
}

// fail records a fault at the node.
func (v val) fail(format string, args ...any) {
	if !v.r.full() {
		v.r.faults = append(v.r.faults, Fault{v.n.Line, v.n.Column, v.path, fmt.Sprintf(format, args...)})
	}
}

// plain refuses what the format does without: anchors and aliases, which can make a
// small file stand for a vast one, tags, and deep nesting.
func (v val) plain(depth int) {
	switch {
	case depth > maxDepth:
		v.fail("is nested too deeply: a site file needs far fewer levels")
		return
	case v.n.Kind == yaml.AliasNode:
		v.fail("*%s is an alias: write the value out where it is used", v.n.Value)
		return
	case v.n.Anchor != "":
		v.fail("&%s is an anchor: take it away and write the value out where it is used", v.n.Anchor)
	case v.n.Style&yaml.TaggedStyle != 0:
		v.fail("%s is a tag: take it away", v.n.Tag)
	}
	for _, c := range v.n.Content {
		val{v.r, c, v.path}.plain(depth + 1)
	}
}

// absent reports whether nothing was written: no field, or an empty one.
func (v val) absent() bool {
	return v.n == nil || v.n.Kind == yaml.ScalarNode && v.n.Tag == "!!null"
}

// object checks that the node is a mapping with no other keys than those allowed.
func (v val) object(allowed ...string) (obj, bool) {
	o := obj{v, map[string]val{}}
	if v.n.Kind != yaml.MappingNode {
		v.fail("is not a set of fields: write fields such as %q under it", allowed[0]+":")
		return o, false
	}
	for i := 0; i+1 < len(v.n.Content); i += 2 {
		k, n := v.n.Content[i], v.n.Content[i+1]
		name := k.Value
		key := val{v.r, k, v.join(care.Clean(name, maxLabel))}
		if k.Kind != yaml.ScalarNode {
			key.fail("is no field name: write a plain word")
			continue
		}
		if !slices.Contains(allowed, name) {
			if v.r.full() {
				continue
			}
			if strings.Contains(name, " ") && n.Kind == yaml.ScalarNode && n.Value == "" {
				key.fail("is taken for a field: put quotes around a text that holds a comma or a colon")
			} else if near := nearest(name, allowed); near != "" {
				key.fail("there is no such field: did you mean %q?", near)
			} else {
				key.fail("there is no such field: take it away, or write one of %s", strings.Join(allowed, ", "))
			}
			continue
		}
		if _, twice := o.fields[name]; twice {
			key.fail("stands twice: keep one of the two")
			continue
		}
		o.fields[name] = val{v.r, n, key.path}
	}
	return o, true
}

func (v val) join(key string) string {
	if v.path == "" {
		return key
	}
	return v.path + "." + key
}

// get gives a field, or an absent value.
func (o obj) get(key string) val {
	if v, ok := o.fields[key]; ok {
		return v
	}
	return val{o.r, nil, o.join(key)}
}

// must gives a field and records a fault where it is missing.
func (o obj) must(key, example string) (val, bool) {
	v := o.get(key)
	if !v.absent() {
		return v, true
	}
	at := v
	if at.n == nil {
		at.n = o.n
	}
	at.fail("is missing: write it, such as %s: %s", key, example)
	return v, false
}

// items gives the entries of a list; an absent list has none.
func (v val) items(most int) []val {
	if v.absent() {
		return nil
	}
	if v.n.Kind != yaml.SequenceNode {
		v.fail("is not a list: write each entry on a line of its own after a dash")
		return nil
	}
	if len(v.n.Content) > most {
		v.fail("has %d entries: at most %d are read", len(v.n.Content), most)
		return nil
	}
	var out []val
	for i, n := range v.n.Content {
		out = append(out, val{v.r, n, fmt.Sprintf("%s[%d]", v.path, i)})
	}
	return out
}

// scalar gives the text of the node as it stands in the file.
func (v val) scalar() (string, bool) {
	if v.absent() {
		return "", false
	}
	if v.n.Kind != yaml.ScalarNode {
		v.fail("is not one value: write a single word, number or text")
		return "", false
	}
	return v.n.Value, true
}

// text gives cleaned words of at most limit characters.
func (v val) text(limit int) string {
	s, ok := v.scalar()
	if !ok {
		return ""
	}
	s = care.Clean(s, len(s)+1)
	if n := utf8.RuneCountInString(s); n > limit {
		v.fail("has %d characters: shorten it to %d at most", n, limit)
		return ""
	}
	return s
}

// needText is text that may not be empty.
func (o obj) needText(key string, limit int, example string) string {
	v, ok := o.must(key, example)
	if !ok {
		return ""
	}
	before := len(v.r.faults)
	s := v.text(limit)
	if s == "" && len(v.r.faults) == before {
		v.fail("is empty: write it, such as %s", example)
	}
	return s
}

var refForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,39}$`)

// needRef reads a ref: what other entries and the store know the thing by.
func (o obj) needRef(key, example string) string {
	v, ok := o.must(key, example)
	if !ok {
		return ""
	}
	s, ok := v.scalar()
	if ok && !refForm.MatchString(s) {
		v.fail("%q is no ref: write 1 to 40 small letters a-z, digits and hyphens, such as %s", care.Clean(s, maxLabel), example)
		return ""
	}
	return s
}

// word reads one of the words allowed; an absent one is the zero value.
func word[T ~string](v val, allowed []T) T {
	s, ok := v.scalar()
	if !ok {
		return ""
	}
	if slices.Contains(allowed, T(s)) {
		return T(s)
	}
	if v.r.full() {
		return ""
	}
	plain := make([]string, len(allowed))
	for i, a := range allowed {
		plain[i] = string(a)
	}
	if near := nearest(s, plain); near != "" {
		v.fail("%q is not known here: did you mean %q?", care.Clean(s, maxLabel), near)
	} else {
		v.fail("%q is not known here: write one of %s", care.Clean(s, maxLabel), strings.Join(plain, ", "))
	}
	return ""
}

// needWord is a word that may not be absent.
func needWord[T ~string](o obj, key string, allowed []T) T {
	v, ok := o.must(key, string(allowed[0]))
	if !ok {
		return ""
	}
	return word(v, allowed)
}

// words reads a list of different words.
func words[T ~string](v val, allowed []T) []T {
	var out []T
	for _, e := range v.items(len(allowed)) {
		w := word(e, allowed)
		if w == "" {
			continue
		}
		if slices.Contains(out, w) {
			e.fail("%q stands twice in the list: keep one of the two", w)
			continue
		}
		out = append(out, w)
	}
	return out
}

// number reads a whole number within bounds; an absent one is zero.
func (v val) number(low, high int) int {
	s, ok := v.scalar()
	if !ok {
		return 0
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < low || n > high {
		v.fail("%q is not a whole number from %d to %d: write one, or leave the field out if it is not known", care.Clean(s, maxLabel), low, high)
		return 0
	}
	return n
}

// without reads yes or no for something that is there unless it is refused.
func (v val) without() bool { return !v.absent() && !v.flag() }

// flag reads yes or no for a field that is either; an absent one is no.
func (v val) flag() bool {
	s, ok := v.scalar()
	switch {
	case !ok, s == "no", s == "false":
		return false
	case s == "yes", s == "true":
		return true
	}
	v.fail("%q is neither: write yes or no", care.Clean(s, maxLabel))
	return false
}

// mass reads kilograms; an absent mass is unknown.
func (v val) mass() care.Mass {
	s, ok := v.scalar()
	if !ok {
		return 0
	}
	m, err := care.ParseMass(s)
	if err != nil {
		v.fail("%q is no mass: write kilograms with at most three decimals, such as 63.5", care.Clean(s, maxLabel))
		return 0
	}
	if m <= 0 || m > 1000*care.Kilogram {
		v.fail("%s kg cannot be: write kilograms above 0 and up to 1000, or leave the field out if it is not known", m.Kilograms())
		return 0
	}
	return m
}

// date reads a day; an absent one is unknown.
func (v val) date() care.Date {
	s, ok := v.scalar()
	if !ok {
		return care.Date{}
	}
	d, err := care.ParseDate(s)
	if err != nil {
		v.fail("%q is no day of the calendar: write it as 2026-02-28", care.Clean(s, maxLabel))
		return care.Date{}
	}
	if d.Year < 1900 || d.Year > 2200 {
		v.fail("the year %d cannot be: write the year with four digits, such as 2026", d.Year)
		return care.Date{}
	}
	return d
}

// clock reads a time of day.
func (v val) clock() care.Clock {
	s, ok := v.scalar()
	if !ok {
		return 0
	}
	c, err := care.ParseClock(s)
	if err != nil {
		v.fail("%q is no time of day: write it as \"07:30\"", care.Clean(s, maxLabel))
	}
	return c
}

var langForm = regexp.MustCompile(`^[a-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}$`)

// ownWords reads somebody's own words: a plain text, or {lang: en, text: ...}.
func (v val) ownWords() care.Text {
	if v.absent() {
		return care.Text{}
	}
	if v.n.Kind == yaml.ScalarNode {
		return care.Text{Words: v.text(maxText)}
	}
	o, ok := v.object("text", "lang")
	if !ok {
		return care.Text{}
	}
	return o.ownWords()
}

// ownWords reads the fields text and lang of a mapping that may hold others.
func (o obj) ownWords() care.Text {
	t := care.Text{Words: o.get("text").text(maxText)}
	lang := o.get("lang")
	if s, ok := lang.scalar(); ok {
		if !langForm.MatchString(s) {
			lang.fail("%q is no language code: write a code such as en or pt-BR", care.Clean(s, maxLabel))
		} else if t.Words != "" {
			t.Lang = s
		}
	}
	return t
}
