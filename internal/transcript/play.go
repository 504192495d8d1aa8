package transcript

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/tools/txtar"

	"samelift/internal/ask"
	"samelift/internal/bot"
	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/chat/chattest"
	"samelift/internal/dialog"
	"samelift/internal/locale"
	"samelift/internal/outbox"
	"samelift/internal/picture"
	"samelift/internal/schedule"
	"samelift/internal/sitefile"
	"samelift/internal/store"
)

// A player plays one story.
type player struct {
	t     testing.TB
	files map[string][]byte
	words *locale.Catalog
	// understand makes the reader of questions.
	understand func(clients, colleagues []ask.Name) bot.Reader
	// lang, if set, makes everybody read this language whatever the story says.
	lang string
	// pressed are the presses of a first playing, by number, so that the same buttons
	// can be pressed in another language.
	pressed []press
	replay  int

	path  string
	now   time.Time
	ids   int
	last  *chat.Inbound
	store *store.Store
	bot   *bot.Bot
	out   *outbox.Outbox
	sched *schedule.Schedule
	rec   *chattest.Recorder
	site  *care.Site
	code  string
	// labels are the marks of labels' codes, each followed by its code.
	labels []string
	shown  int // how many attempts have been written down
	log    strings.Builder
	// typed is everything that people wrote, in order.
	typed []string
	// storm, if set, has sends go wrong in every way in turn.
	storm bool
	gusts int
}

// A press is a button by where it stood: the how-manieth message on the screen from the
// end, and the how-manieth button of it.
type press struct{ message, choice int }

// transport is the recorder's name.
const transport = "paper"

var (
	spoken = regexp.MustCompile(`^(\w+)> ?(.*)$`)
	heard  = regexp.MustCompile(`^(\w+<=? ?.*| {2,}\| .*|\s*\(.*\))$`)
)

// play runs a story and returns its script with everything that people then saw.
func (p *player) play(a *txtar.Archive) string {
	p.files = map[string][]byte{}
	for _, f := range a.Files {
		p.files[f.Name] = f.Data
	}
	p.rec = chattest.NewRecorder(transport)
	p.path = filepath.Join(p.t.TempDir(), "story.db")
	p.now = time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC)
	defer func() { p.close() }()
	var out strings.Builder
	for _, line := range strings.Split(strings.TrimRight(string(a.Comment), "\n"), "\n") {
		line = strings.TrimRight(line, " ")
		if heard.MatchString(line) {
			continue
		}
		fmt.Fprintln(&out, line)
		out.WriteString(p.line(line))
	}
	return out.String()
}

// line does what one line of the script says, and returns what was then seen.
func (p *player) line(line string) string {
	switch {
	case line == "", strings.HasPrefix(line, "#"):
		return ""
	case strings.HasPrefix(line, "@ "):
		p.clock(strings.TrimSpace(line[2:]))
	case strings.HasPrefix(line, "! "):
		p.command(strings.Fields(line[2:]))
	default:
		m := spoken.FindStringSubmatch(line)
		if m == nil {
			p.t.Fatalf("a line that means nothing: %q", line)
		}
		p.acts(m[1], m[2])
	}
	return p.seen()
}

// open opens what a process has: store, bot, outbox and schedule.
func (p *player) open() {
	s, err := store.Open(context.Background(), p.path)
	p.must(err)
	now := func() time.Time { return p.now }
	log := slog.New(slog.NewTextHandler(&p.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	p.rec.SetNow(now)
	p.store = s
	p.bot = bot.New(bot.Config{Store: s, Words: p.words, Understand: p.understand, Now: now, Rand: counting{p}, Draw: drawOnce, Log: log})
	p.out = outbox.New(s, now, log, p.rec)
	p.out.Wire = 1
	p.sched = &schedule.Schedule{Bot: p.bot, Store: s, Now: now, Log: log}
}

func (p *player) close() {
	if p.store != nil {
		p.must(p.store.Close())
		p.store = nil
	}
}

// ready opens the house and imports the story's site, the first time it is needed.
func (p *player) ready() {
	if p.store == nil {
		p.open()
	}
	if p.site != nil {
		return
	}
	data, ok := p.files["site.yaml"]
	if !ok {
		data = sitefile.Demo(p.now)
	}
	p.load(data)
}

func (p *player) load(data []byte) {
	known := p.bot.Known(p.site)
	site, faults := sitefile.Read(data, known)
	for _, f := range faults {
		p.t.Errorf("site: %v", f)
	}
	if len(faults) > 0 {
		p.t.FailNow()
	}
	if p.lang != "" {
		for i := range site.People {
			site.People[i].Lang = p.lang
		}
	}
	_, err := p.bot.Import(context.Background(), site)
	p.must(err)
	p.must(p.store.View(context.Background(), p.now, func(tx *store.Tx) error {
		p.site, err = tx.Site(site.Ref)
		return err
	}))
}

// clock moves the clock forward and lets what is due happen.
func (p *player) clock(to string) {
	zone := time.UTC
	if p.site != nil {
		zone = p.site.Location()
	} else if loc, err := time.LoadLocation("Europe/London"); err == nil {
		zone = loc
	}
	before := p.now
	switch {
	case strings.HasPrefix(to, "+"):
		d, err := time.ParseDuration(to[1:])
		p.must(err)
		p.now = p.now.Add(d)
	case strings.Contains(to, "-"):
		t, err := time.ParseInLocation("2006-01-02 15:04", to, zone)
		p.must(err)
		p.now = t
	default:
		c, err := care.ParseClock(to)
		p.must(err)
		day := care.DateOf(p.now.In(zone))
		for p.now = c.On(day, zone); !p.now.After(before); p.now = c.On(day, zone) {
			day = day.AddDays(1)
		}
	}
	if p.store == nil {
		return
	}
	if p.now.Before(before) {
		p.t.Fatalf("the clock cannot go back: %s", to)
	}
	// What falls due on the way happens at its own time.
	ctx, end := context.Background(), p.now
	for {
		var next time.Time
		var planned bool
		p.must(p.store.View(ctx, end, func(tx *store.Tx) (err error) {
			next, planned, err = tx.NextWake()
			return err
		}))
		if !planned || next.After(end) {
			break
		}
		if p.now = next; p.now.Before(before) {
			p.now = before
		}
		p.must(p.sched.Pass(ctx))
	}
	p.now = end
	p.must(p.sched.Pass(ctx))
}

// command does what a line with an exclamation mark says.
func (p *player) command(words []string) {
	ctx := context.Background()
	switch words[0] {
	case "sends": // ! sends fail|lost|gone|busy N
		n, err := strconv.Atoi(words[2])
		p.must(err)
		switch words[1] {
		case "fail":
			p.rec.FailNext(n, errors.New("no network"))
		case "lost":
			p.rec.LoseAnswers(n)
		case "gone":
			p.rec.FailNext(n, chat.ErrGone)
		case "busy":
			p.rec.FailNext(1, &chat.RetryAfter{Wait: time.Duration(n) * time.Second})
		}
	case "restart":
		p.ready()
		p.close()
		p.open()
	case "again":
		p.must(p.bot.Handle(ctx, *p.last))
	case "joined": // ! joined grace magda ...
		p.ready()
		for _, name := range words[1:] {
			p.must(p.store.Update(ctx, p.now, func(tx *store.Tx) error {
				who, ok := p.site.Person(strings.ToLower(name))
				if !ok {
					return fmt.Errorf("nobody is called %s", name)
				}
				return tx.Join(p.site.Ref, who.Ref, p.address(name), who.Lang)
			}))
		}
	case "labels": // ! labels: the operator prints the sheet; {label tilda} is then a code
		p.ready()
		_, labels, err := p.bot.Labels(ctx, p.site.Ref)
		p.must(err)
		for _, l := range labels {
			p.labels = append(p.labels, "{label "+l.Ref+"}", l.Code)
		}
	case "invite": // ! invite elena: the operator's invitation
		p.ready()
		code, err := p.bot.Invite(ctx, p.site.Ref, words[1])
		p.must(err)
		p.code = code
	case "sheet": // ! sheet rosa: somebody prints her plan
		p.ready()
		_, err := p.bot.Sheet(ctx, p.site.Ref, words[1], "", func(code string) string { p.code = code; return code })
		p.must(err)
	case "import": // ! import FILE, or change for the demo's second version
		p.ready()
		data := p.files[words[1]]
		if words[1] == "change" {
			data = sitefile.DemoChange(p.now)
		}
		p.load(data)
	default:
		p.t.Fatalf("a command that means nothing: %q", words)
	}
}

func (p *player) address(name string) chat.Address {
	return chat.Address{Transport: transport, Chat: strings.ToLower(name)}
}

// acts does what a person does.
func (p *player) acts(name, what string) {
	p.ready()
	in := chat.Inbound{From: p.address(name), Private: true, Kind: chat.KindText, At: p.now}
	if p.lang != "" {
		in.Lang = p.lang
	}
	switch {
	case strings.HasPrefix(what, "[") && strings.HasSuffix(what, "]"):
		data, ok := p.find(in.From, what[1:len(what)-1])
		if !ok {
			if p.lang != "" {
				return // another language's words led elsewhere; only what is said counts there
			}
			var seen []string
			for _, a := range p.rec.Screen(in.From) {
				seen = append(seen, fmt.Sprint(a.Out.Choices))
			}
			p.t.Fatalf("%s sees no button %s, but %s", name, what, strings.Join(seen, "; "))
		}
		in.Kind, in.Choice = chat.KindChoice, data
	case what == "<sticker>":
		in.Kind = chat.KindOther
	case what == "<leaves>":
		in.Kind = chat.KindLeft
	case what == "<returns>":
		in.Kind = chat.KindReturns
	case strings.HasPrefix(what, "<presses "):
		in.Kind, in.Choice = chat.KindChoice, strings.TrimSuffix(strings.TrimPrefix(what, "<presses "), ">")
	case strings.HasPrefix(what, "<file "):
		name := strings.TrimSuffix(strings.TrimPrefix(what, "<file "), ">")
		data := p.files[name]
		if name == "change.yaml" && data == nil {
			data = sitefile.DemoChange(p.now)
		}
		in.Kind, in.File = chat.KindFile, &chat.File{Name: name, Data: data}
	case strings.HasPrefix(what, "<group> "):
		in.Private, in.Text = false, strings.TrimPrefix(what, "<group> ")
		in.From.Chat = "group"
	case strings.HasPrefix(what, "<long>"):
		in.Text = strings.Repeat("word ", 2000)
	default:
		in.Text = strings.NewReplacer(append(p.labels, "{code}", p.code)...).Replace(what)
	}
	p.ids++
	in.ID = strconv.Itoa(p.ids)
	p.last = &in
	p.typed = append(p.typed, in.Text)
	if err := p.bot.Handle(context.Background(), in); err != nil {
		p.t.Fatalf("%s> %s: %v", name, what, err)
	}
}

// find gives the data of a button on a person's screen: by its label, the newest first,
// or, in a replay, by where the same press was in the first playing.
func (p *player) find(of chat.Address, label string) (string, bool) {
	screen := p.rec.Screen(of)
	if p.lang != "" {
		if p.replay >= len(p.pressed) {
			return "", false
		}
		at := p.pressed[p.replay]
		p.replay++
		i := len(screen) - 1 - at.message
		if i < 0 {
			return "", false
		}
		n := 0
		for _, row := range screen[i].Out.Choices {
			for _, c := range row {
				if n == at.choice {
					return c.Data, true
				}
				n++
			}
		}
		return "", false
	}
	for i := len(screen) - 1; i >= 0; i-- {
		n := 0
		for _, row := range screen[i].Out.Choices {
			for _, c := range row {
				if plain(c.Label) == label {
					p.pressed = append(p.pressed, press{len(screen) - 1 - i, n})
					return c.Data, true
				}
				n++
			}
		}
	}
	// An old button that an edit has taken away can still be pressed on a slow phone.
	all := p.rec.Arrivals()
	for i := len(all) - 1; i >= 0; i-- {
		for _, row := range all[i].Out.Choices {
			for _, c := range row {
				if all[i].Out.To == of && plain(c.Label) == label {
					p.pressed = append(p.pressed, press{len(all), 0})
					return c.Data, true
				}
			}
		}
	}
	return "", false
}

// plain drops the isolates that keep values together in right-to-left texts.
func plain(label string) string {
	return strings.NewReplacer("\u2068", "", "\u2069", "").Replace(label)
}

// seen sends what is due and writes down what arrived.
func (p *player) seen() string {
	if p.store == nil {
		return ""
	}
	for {
		if p.storm {
			p.gust()
		}
		n, err := p.out.Pass(context.Background())
		p.must(err)
		p.must(p.sched.Pass(context.Background()))
		if n == 0 {
			break
		}
	}
	var b strings.Builder
	attempts := p.rec.Attempts()
	for _, a := range attempts[p.shown:] {
		p.check(a.Out)
		if !a.Arrived {
			fmt.Fprintf(&b, "  (to %s: not sent: %v)\n", p.nameAt(a.Out.To), a.Err)
			continue
		}
		p.write(&b, a)
	}
	p.shown = len(attempts)
	return b.String()
}

// gust makes the next send go wrong, every time in another way, and lets every fifth be.
func (p *player) gust() {
	p.gusts++
	switch p.gusts % 5 {
	case 1:
		p.rec.FailNext(1, errors.New("no network"))
	case 2:
		p.rec.LoseAnswers(1)
	case 3:
		p.rec.FailNext(1, chat.ErrRefused)
	case 4:
		p.rec.FailNext(1, chat.ErrGone)
	}
}

func (p *player) nameAt(a chat.Address) string {
	return strings.ToUpper(a.Chat[:1]) + a.Chat[1:]
}

func (p *player) write(b *strings.Builder, a chattest.Attempt) {
	name := p.nameAt(a.Out.To)
	mark := "< "
	if a.Edited {
		mark = "<="
	}
	var lines []string
	for _, para := range a.Out.Body {
		text := para.Text
		if p.code == "" || strings.Contains(text, "/start ") {
			if _, code, ok := strings.Cut(text, "/start "); ok && !strings.Contains(code, " ") {
				p.code = strings.Trim(code, "\u2068\u2069")
			}
		}
		if p.code != "" {
			text = strings.ReplaceAll(text, p.code, "{code}")
		}
		switch para.Style {
		case chat.Strong:
			text = "*" + text + "*"
		case chat.Alert:
			text = "!! " + text
		case chat.Quote:
			text = "“" + text + "”"
		case chat.Small:
			text = "~ " + text
		}
		lines = append(lines, text)
	}
	for _, row := range a.Out.Choices {
		var labels []string
		for _, c := range row {
			labels = append(labels, "["+c.Label+"]")
		}
		lines = append(lines, strings.Join(labels, " "))
	}
	if a.Out.Picture != nil {
		fmt.Fprintf(b, "%s<  (picture: %s)\n", name, strings.ReplaceAll(a.Out.Picture.Alt, "\n", " / "))
	}
	for i, l := range lines {
		if i == 0 {
			fmt.Fprintf(b, "%s%s %s\n", name, mark, l)
		} else {
			fmt.Fprintf(b, "%s| %s\n", strings.Repeat(" ", len(name)+1), l)
		}
	}
}

// check holds every message to what is safe on every transport.
func (p *player) check(out chat.Outbound) {
	if pic := out.Picture; pic != nil && (len(pic.PNG) == 0 || pic.Alt == "") {
		p.t.Errorf("a picture without an image or without words")
	}
	if len(out.Body) == 0 {
		p.t.Errorf("a message without words")
	}
	if len(out.Choices) > chat.MaxRows {
		p.t.Errorf("%d rows of buttons under %q", len(out.Choices), out.Body[0].Text)
	}
	for _, para := range out.Body {
		if strings.TrimSpace(para.Text) == "" || strings.Contains(para.Text, "<no value>") || strings.Contains(para.Text, "{{") {
			p.t.Errorf("in %s: words that are missing or unfilled: %q", out.Lang, para.Text)
		}
	}
	for _, row := range out.Choices {
		for _, c := range row {
			if n := len([]rune(c.Label)); n == 0 || n > chat.MaxLabel {
				p.t.Errorf("in %s: a label of %d letters: %q", out.Lang, n, c.Label)
			}
			if len(c.Data) == 0 && c.URL == "" || len(c.Data) > chat.MaxData {
				p.t.Errorf("choice data %q", c.Data)
			}
		}
	}
}

func (p *player) must(err error) {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
}

// drawOnce draws each picture once for all stories and languages.
func drawOnce(pic *dialog.Picture) ([]byte, error) {
	if png, ok := drawn.Load(pic.Key); ok {
		return png.([]byte), nil
	}
	png, err := pic.Drawing.PNG(picture.PhoneWidth)
	if err == nil {
		drawn.Store(pic.Key, png)
	}
	return png, err
}

var drawn sync.Map // key, PNG

// counting makes codes that are alike in every playing.
type counting struct{ p *player }

// Read fills b from the story's own count of codes.
func (c counting) Read(b []byte) (int, error) {
	c.p.ids++
	sum := sha256.Sum256([]byte(strconv.Itoa(c.p.ids)))
	return copy(b, sum[:]), nil
}

var _ io.Reader = counting{}
