package sitefile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"time"

	"go.yaml.in/yaml/v3"

	"samelift/internal/care"
)

// MaxBytes is the size of the largest file that is read.
const MaxBytes = 4 << 20

// Known is what the reader knows beside the file.
type Known struct {
	// Languages are the codes of the languages a person may read; none means any.
	Languages []string
	// Site is what the store holds already, or nil. What it has may be referred to
	// without being repeated in the file.
	Site *care.Site
}

// Read reads a site file. Without faults the site holds exactly what the file names,
// every plan's instant in UTC and the plans ordered by client and version. With
// faults, sorted by line and at most MaxFaults of them, the site is nil.
func Read(data []byte, known Known) (*care.Site, []Fault) {
	r := &reader{}
	root, ok := r.parse(data)
	if ok {
		root.plain(0)
	}
	if !ok || len(r.faults) > 0 {
		sortFaults(r.faults)
		return nil, r.faults
	}
	b := &builder{known: known, site: &care.Site{}, labels: map[string]bool{}, index: newIndex(known.Site)}
	b.read(root)
	if len(r.faults) > 0 {
		sortFaults(r.faults)
		return nil, r.faults
	}
	return b.site, nil
}

var libraryLine = regexp.MustCompile(`^yaml: (?:line (\d+): )?(.*)$`)

func (r *reader) parse(data []byte) (val, bool) {
	fail := func(line int, problem string) (val, bool) {
		r.faults = append(r.faults, Fault{Line: line, Column: 1, Problem: problem})
		return val{}, false
	}
	if len(data) > MaxBytes {
		return fail(1, fmt.Sprintf("the file has %d bytes: at most %d are read; split it, each file names only what it describes", len(data), MaxBytes))
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc, more yaml.Node
	err := dec.Decode(&doc)
	if errors.Is(err, io.EOF) || err == nil && len(doc.Content) == 0 {
		return fail(1, "the file is empty: start it with \"site:\"")
	}
	if err == nil {
		switch err = dec.Decode(&more); {
		case err == nil:
			return fail(max(more.Line, 1), "the file holds a second document: keep one, without a --- between")
		case errors.Is(err, io.EOF):
			err = nil
		}
	}
	if err != nil {
		line, what := 1, err.Error()
		if m := libraryLine.FindStringSubmatch(what); m != nil {
			if n, err := strconv.Atoi(m[1]); err == nil {
				line = n
			}
			what = m[2]
		}
		return fail(line, "this is not YAML here: "+care.Clean(what, 200)+": look at the indents, dashes, colons and quotes at and above this line")
	}
	return val{r, doc.Content[0], ""}, true
}

// builder makes the site. It reads what is referred to before what refers.
type builder struct {
	known Known
	site  *care.Site
	// zone is the site's, or nil where the file names none that can be loaded.
	zone *time.Location
	// labels holds every label of slings and hoists in the file, in small letters.
	labels map[string]bool
	index
}

func (b *builder) read(root val) {
	top, ok := root.object("site", "shifts", "people", "ranges", "slings", "hoists", "clients", "plans")
	if !ok {
		return
	}
	if v, ok := top.must("site", "{ref: larch, name: Larch House, ...}"); ok {
		b.readSite(v)
	}
	b.readShifts(top.get("shifts"))
	b.readRanges(top.get("ranges"))
	b.readSlings(top.get("slings"))
	b.readHoists(top.get("hoists"))
	b.readClients(top.get("clients"))
	b.readPeople(top.get("people"))
	b.readPlans(top.get("plans"))
}

var emergencyForm = regexp.MustCompile(`^[0-9]{2,20}$`)

// phoneForm allows the usual ways of writing a number, with at least two digits.
var phoneForm = regexp.MustCompile(`^\+?[0-9(][0-9 ()-]{0,22}[0-9]$`)

// nameWords are the two ways of showing clients' names.
var nameWords = []string{"full", "initials"}

// usualLead is how long before a shift its handover is sent where the site does not say.
const usualLead = 15 * time.Minute

func (b *builder) readSite(v val) {
	o, ok := v.object("ref", "name", "zone", "language", "emergency_number", "names", "pictures", "handover_minutes")
	if !ok {
		return
	}
	s := b.site
	s.Ref = o.needRef("ref", "larch")
	s.Name = o.needText("name", maxName, "Larch House")
	s.Zone = o.needText("zone", maxName, "Europe/London")
	if s.Zone != "" {
		// Local would be the server's zone, whichever that is.
		if loc, err := time.LoadLocation(s.Zone); err != nil || s.Zone == "Local" {
			o.get("zone").fail("%q is no time zone: write a name from the tz database, such as Europe/London", s.Zone)
		} else {
			b.zone = loc
		}
	}
	if lang, ok := o.must("language", "en"); ok {
		s.Lang = b.language(lang)
	}
	s.EmergencyNumber = o.needText("emergency_number", maxName, `"999"`)
	if s.EmergencyNumber != "" && !emergencyForm.MatchString(s.EmergencyNumber) {
		o.get("emergency_number").fail("%q is no number to call: write 2 to 20 digits in quotes and nothing else, such as \"999\"", s.EmergencyNumber)
	}
	// What a later file leaves out stays as it is: names must not come to light because
	// a line is missing.
	base := b.known.Site
	s.HandoverLead = usualLead
	if base != nil {
		s.InitialsOnly, s.NoPictures, s.HandoverLead = base.InitialsOnly, base.NoPictures, base.HandoverLead
	}
	if v := o.get("names"); !v.absent() {
		s.InitialsOnly = word(v, nameWords) == "initials"
	}
	if v := o.get("pictures"); !v.absent() {
		s.NoPictures = v.without()
	}
	if v := o.get("handover_minutes"); !v.absent() {
		s.HandoverLead = time.Duration(v.number(0, 240)) * time.Minute
	}
	if base != nil && s.Ref != "" && base.Ref != s.Ref {
		o.get("ref").fail("this is the file of %q, but the store holds %q: use the file or the store that belongs", s.Ref, base.Ref)
	}
}

// language reads the code of a language that the locales have.
func (b *builder) language(v val) string {
	if len(b.known.Languages) > 0 {
		return word(v, b.known.Languages)
	}
	s, ok := v.scalar()
	if ok && !langForm.MatchString(s) {
		v.fail("%q is no language code: write a code such as en", care.Clean(s, maxLabel))
		return ""
	}
	return s
}

func (b *builder) readShifts(v val) {
	seen := map[string]bool{}
	for _, e := range v.items(48) {
		o, ok := e.object("name", "start", "end")
		if !ok {
			continue
		}
		s := care.Shift{Name: o.needText("name", maxLabel, "early")}
		start, ok1 := o.must("start", `"07:00"`)
		end, ok2 := o.must("end", `"14:30"`)
		if ok1 && ok2 {
			s.Start, s.End = start.clock(), end.clock()
		}
		if s.Name != "" && seen[s.Name] {
			o.get("name").fail("there is a shift %q above: give each shift its own name", s.Name)
			continue
		}
		seen[s.Name], b.shifts[s.Name] = true, true
		b.site.Shifts = append(b.site.Shifts, s)
	}
}

func (b *builder) readPeople(v val) {
	seen := map[string]bool{}
	for _, e := range v.items(maxEntries) {
		o, ok := e.object("ref", "name", "role", "language", "phone", "shifts", "cares_for", "sign_offs", "pictures", "state")
		if !ok {
			continue
		}
		p := care.Person{
			Ref:     o.needRef("ref", "magda"),
			Name:    o.needText("name", maxName, "Magdalena Wójcik"),
			Role:    needWord(o, "role", care.Roles),
			Removed: word(o.get("state"), []string{"removed"}) != "",
		}
		if lang, ok := o.must("language", "en"); ok {
			p.Lang = b.language(lang)
		}
		phone := o.get("phone")
		if p.Phone = phone.text(maxLabel); p.Phone != "" && !phoneForm.MatchString(p.Phone) {
			phone.fail("%q is no number to call: write digits in quotes, with spaces, hyphens and a + at the start if need be", p.Phone)
		}
		for _, s := range o.get("shifts").items(48) {
			name := s.text(maxLabel)
			switch {
			case name == "":
			case !b.shifts[name]:
				s.fail("there is no shift %q: add it under shifts, or write one that is there", name)
			case slices.Contains(p.Shifts, name):
				s.fail("%q stands twice in the list: keep one of the two", name)
			default:
				p.Shifts = append(p.Shifts, name)
			}
		}
		p.SignOffs = readSignOffs(o.get("sign_offs"))
		p.CaresFor = b.caresFor(o.get("cares_for"))
		p.NoPictures = o.get("pictures").without()
		once(o, "ref", p.Ref, seen)
		b.site.People = append(b.site.People, p)
	}
}

func readSignOffs(v val) []care.SignOff {
	var out []care.SignOff
	for _, e := range v.items(40) {
		o, ok := e.object("for", "until")
		if !ok {
			continue
		}
		s := care.SignOff{For: needWord(o, "for", care.SignOffKinds)}
		if until, ok := o.must("until", "2027-03-31"); ok {
			s.Until = until.date()
		}
		if s.For != "" && slices.ContainsFunc(out, func(x care.SignOff) bool { return x.For == s.For }) {
			o.get("for").fail("%q stands twice in the list: keep the one that lasts longer", s.For)
		}
		out = append(out, s)
	}
	return out
}

// caresFor reads a list of clients' refs, or "all" for every client there is now: those
// of the store first, then those that the file adds.
func (b *builder) caresFor(v val) []string {
	var out []string
	seen := map[string]bool{}
	if !v.absent() && v.n.Kind == yaml.ScalarNode {
		if s, _ := v.scalar(); s != "all" {
			v.fail("%q is not a list: write all, or the refs of clients as [rosa, tilda]", care.Clean(s, maxLabel))
			return nil
		}
		for _, site := range []*care.Site{b.known.Site, b.site} {
			if site == nil {
				continue
			}
			for _, c := range site.Clients {
				if !b.clients[c.Ref].Ended && !seen[c.Ref] {
					seen[c.Ref] = true
					out = append(out, c.Ref)
				}
			}
		}
		return out
	}
	for _, e := range v.items(maxEntries) {
		ref, ok := e.scalar()
		if !ok {
			continue
		}
		if _, found := b.clients[ref]; !found {
			e.fail("there is no client %q: %s", care.Clean(ref, maxLabel), near(e.r, ref, b.clients, "add them under clients, or write the ref of one who is there"))
			continue
		}
		if seen[ref] {
			e.fail("%q stands twice in the list: keep one of the two", ref)
			continue
		}
		seen[ref] = true
		out = append(out, ref)
	}
	return out
}

// once records a fault where a key was used by an entry above.
func once(o obj, key, value string, seen map[string]bool) {
	if value == "" {
		return
	}
	if seen[value] {
		o.get(key).fail("%q is used by an entry above: give each its own", value)
	}
	seen[value] = true
}

func refsOf[T any](all []T, ref func(T) string) []string {
	var out []string
	for _, x := range all {
		out = append(out, ref(x))
	}
	return out
}

// near asks whether a known key was meant, or else gives the other next step.
func near[T any](r *reader, wrote string, known map[string]T, otherwise string) string {
	if r.full() {
		return otherwise
	}
	if key := nearest(wrote, slices.Sorted(maps.Keys(known))); key != "" {
		return fmt.Sprintf("did you mean %q?", key)
	}
	return otherwise
}

// index makes the lookups, which see the file first and then what the store holds.
// Maps, since a long file refers to a long list very often.
type index struct {
	clients map[string]care.Client
	ranges  map[string]care.Range
	slings  map[string]care.Sling
	hoists  map[string]care.Hoist
	shifts  map[string]bool
}

func newIndex(base *care.Site) index {
	x := index{map[string]care.Client{}, map[string]care.Range{}, map[string]care.Sling{}, map[string]care.Hoist{}, map[string]bool{}}
	if base == nil {
		return x
	}
	for _, c := range base.Clients {
		x.clients[c.Ref] = c
	}
	for _, g := range base.Ranges {
		x.ranges[g.Ref] = g
	}
	for _, s := range base.Slings {
		x.slings[s.Label] = s
	}
	for _, h := range base.Hoists {
		x.hoists[h.Label] = h
	}
	for _, s := range base.Shifts {
		x.shifts[s.Name] = true
	}
	return x
}

// Ref gives the ref of the site that a file is about, or an empty string where the
// file cannot be read that far. Read says what is wrong with it.
func Ref(data []byte) string {
	var head struct {
		Site struct {
			Ref string `yaml:"ref"`
		} `yaml:"site"`
	}
	r := &reader{}
	root, ok := r.parse(data)
	if ok {
		root.plain(0)
	}
	if !ok || len(r.faults) > 0 || root.n.Decode(&head) != nil {
		return ""
	}
	return head.Site.Ref
}
