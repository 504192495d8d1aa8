//go:build browser

package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"samelift/internal/locale"
)

// These tests need a Chromium on the PATH: go test -tags browser ./internal/cli
// They play the demo as a viewer does, on the real bot, store, outbox and schedule;
// only the hour at which it starts is chosen. With SHOTS=dir they leave pictures.

// patience is how long a condition may take on a slow machine; none is waited for
// longer than it needs.
const patience = 20 * time.Second

// A viewer is one headless browser on the page of a demo of its own.
type viewer struct {
	t     *testing.T
	ctx   context.Context
	words *locale.Catalog
	url   string
}

// watch starts the demo at a fixed hour, when the early shift is at work, and opens
// its page.
func watch(t *testing.T, width, height int64, query string) *viewer {
	t.Helper()
	words, err := locale.Load()
	if err != nil {
		t.Fatal(err)
	}
	v := &viewer{t: t, words: words, url: demoAt(t, time.Date(2026, 3, 10, 10, 0, 0, 0, time.UTC))}
	opts := []chromedp.ExecAllocatorOption{
		chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("hide-scrollbars", true), chromedp.Flag("lang", "en"),
	}
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 4*patience)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(func() { _ = chromedp.Cancel(ctx); cancel() })
	v.ctx = ctx
	v.run(chromedp.EmulateViewport(width, height), chromedp.Navigate(v.url+query))
	v.until("the panes", `document.querySelectorAll(".pane h2").length === 3`)
	return v
}

// demoAt runs the demo command, its clock going on from start, until the test ends,
// and gives the address that it prints.
func demoAt(t *testing.T, start time.Time) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	out, printed := io.Pipe()
	began := time.Now()
	e := &Env{ctx: ctx, vars: map[string]string{}, stdout: printed, stderr: io.Discard,
		log: slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelWarn})),
		now: func() time.Time { return start.Add(time.Since(began)) }}
	ended := make(chan error, 1)
	go func() {
		err := (&Demo{Addr: "127.0.0.1:0", DB: filepath.Join(t.TempDir(), "demo.db")}).Run(e)
		printed.CloseWithError(err)
		ended <- err
	}()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("the demo ended with %v", err)
		}
	})
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, address, ok := strings.Cut(lines.Text(), "http://"); ok {
			go io.Copy(io.Discard, out)
			return "http://" + address
		}
	}
	t.Fatalf("the demo prints no address: %v", lines.Err())
	return ""
}

func (v *viewer) run(steps ...chromedp.Action[chromedp.Void]) {
	v.t.Helper()
	if err := chromedp.Do(v.ctx, steps...); err != nil {
		v.t.Fatal(err)
	}
}

// until waits for a JavaScript condition.
func (v *viewer) until(what, condition string) {
	v.t.Helper()
	if err := chromedp.Do(v.ctx, chromedp.Poll[chromedp.Void](condition, chromedp.WithPollingTimeout(patience))); err != nil {
		seen, _ := chromedp.Run(v.ctx, chromedp.Evaluate[string]("document.body.innerText"))
		v.t.Fatalf("does not come: %s: %v\n%s\nthe page reads:\n%s", what, err, condition, seen)
	}
}

func value[T any](v *viewer, js string) T {
	v.t.Helper()
	got, err := chromedp.Run(v.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		v.t.Fatalf("%s: %v", js, err)
	}
	return got
}

func (v *viewer) js(s string) { v.t.Helper(); v.run(chromedp.Evaluate[chromedp.Void](s)) }

func (v *viewer) shot(name string) {
	v.t.Helper()
	dir := os.Getenv("SHOTS")
	if dir == "" {
		return
	}
	buf, err := chromedp.Run(v.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		v.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), buf, 0o600); err != nil {
		v.t.Fatal(err)
	}
}

// A phone is the pane on which a seat is seen.
type phone struct {
	*viewer
	seat string
	lang string
}

func (v *viewer) phone(seat, lang string) phone {
	p := phone{v, seat, lang}
	v.until("the phone of "+seat, p.js1("!!p"))
	return p
}

func quote(s string) string { b, _ := json.Marshal(s); return string(b) }

// js1 is an expression about the pane p, its log and its newest message of the bot,
// bot. Text is compared without the invisible marks of direction.
func (p phone) js1(expression string) string {
	return fmt.Sprintf(`(() => {
		const p = [...document.querySelectorAll(".pane")].find((e) => e.querySelector(".who").value === %s);
		const log = p?.querySelector(".log"), bots = [...(log?.querySelectorAll(".bot") ?? [])], bot = bots.at(-1);
		const plain = (e) => (e?.innerText ?? "").replace(/[\u2066-\u2069]/g, "");
		const button = (label) => [...(bot?.querySelectorAll("button.choice") ?? [])].find((b) => plain(b) === label);
		return %s;
	})()`, quote(p.seat), expression)
}

// word is the text of a key in the phone's language.
func (p phone) word(key string, args ...any) string {
	p.t.Helper()
	named := map[string]any{}
	for i := 0; i < len(args); i += 2 {
		named[args[i].(string)] = args[i+1]
	}
	s, err := p.words.Printer(p.lang, time.UTC).Say(key, named)
	if err != nil {
		p.t.Fatal(err)
	}
	return strings.Map(func(r rune) rune {
		if r >= 0x2066 && r <= 0x2069 {
			return -1
		}
		return r
	}, s)
}

// write sends a text and waits for what comes of it.
func (p phone) write(text string) {
	p.t.Helper()
	p.answered("an answer to "+text, func() {
		p.js(p.js1(fmt.Sprintf(`(p.querySelector("textarea").value = %s, p.querySelector(".send").click())`, quote(text))))
	})
}

// press presses a button of the newest message and waits for what comes of it.
func (p phone) press(label string) {
	p.t.Helper()
	p.until("a button "+label, p.js1(fmt.Sprintf(`!!button(%s) && !bot.matches(".settling")`, quote(label))))
	p.answered("an answer to the button "+label, func() {
		p.js(p.js1(fmt.Sprintf(`button(%s).click()`, quote(label))))
	})
}

// answered does something and waits until the bot has said something new, whose
// beginning must then be in sight.
func (p phone) answered(what string, do func()) {
	p.t.Helper()
	state := p.js1(`bots.length + "|" + plain(bot)`)
	before := value[string](p.viewer, state)
	do()
	p.until(what, state+" !== "+quote(before)+" && "+p.js1(`!log.querySelector(".waiting")`))
	p.until("the beginning of "+what+" in sight, or a word that it is below", p.js1(`(() => {
		const r = bot.getBoundingClientRect(), l = log.getBoundingClientRect();
		return r.top >= l.top - 1 && r.top < l.bottom - 20 || !p.querySelector(".newest").hidden;
	})()`))
}

// reads waits until the newest message of the bot has all these words, in this order.
func (p phone) reads(what string, words ...string) {
	p.t.Helper()
	for _, w := range words {
		if w == "" {
			p.t.Fatal("nothing to look for")
		}
	}
	b, _ := json.Marshal(words)
	p.until(p.seat+" reads "+what, p.js1(fmt.Sprintf(`(() => {
		let at = 0;
		const text = plain(bot);
		return %s.every((w) => (at = text.indexOf(w, at)) >= 0 && (at += w.length));
	})()`, b)))
}

// layout is the language of the newest message and the direction in which it and
// what is typed run.
func (p phone) layout() string {
	p.t.Helper()
	return value[string](p.viewer, p.js1(`(() => {
		const paper = bot.querySelector(".paper"), first = paper.querySelector("p");
		return [paper.lang, getComputedStyle(paper).direction, getComputedStyle(first).textAlign, getComputedStyle(p.querySelector(".composer")).direction].join(" ");
	})()`))
}

func (p phone) wantLayout(want string) {
	p.t.Helper()
	if got := p.layout(); got != want {
		p.t.Errorf("%s: language and directions are %q, want %q", p.seat, got, want)
	}
}

func TestBrowserAskInPolish(t *testing.T) {
	v := watch(t, 1400, 900, "")
	magda := v.phone("magda", "pl")
	magda.write("jakie pętle dla pani Brannock z łóżka na fotel?")
	magda.reads("the loops first, the position before the colour, then whose they are",
		magda.word("loop.shortest", "Point", magda.word("point.shoulder"), "Of", 3, "Colour", magda.word("colour.teal")),
		magda.word("loop.nth", "Point", magda.word("point.leg"), "Number", 3, "Of", 4, "Colour", magda.word("colour.grey")),
		magda.word("client.named", "Client", "Tilda Brannock", "Room", "3"),
		magda.word("transfer.named", "From", magda.word("place.bed"), "To", magda.word("place.chair")),
		magda.word("plan.version.number", "Version", 1))
	magda.wantLayout("pl ltr start ltr")
	v.shot("ask-polish")
	// Nobody else's phone heard of it.
	if n := value[float64](v, `document.querySelectorAll(".pane:not(:first-child) .bot").length`); n != 0 {
		t.Errorf("%v messages on other phones", n)
	}
	magda.press(magda.word("card.button.steps"))
	magda.reads("the steps", magda.word("steps.title"), "1. ", "29. ")
}

func TestBrowserNoteInArabic(t *testing.T) {
	v := watch(t, 1400, 900, "")
	youssef := v.phone("youssef", "ar")
	youssef.write("/note")
	youssef.wantLayout("ar rtl start rtl")
	youssef.press(youssef.word("client.button", "Client", "Tilda Brannock", "Room", "3"))
	youssef.press(youssef.word("transfer.button", "From", youssef.word("place.bed"), "To", youssef.word("place.chair")))
	youssef.press(youssef.word("note.outcome.as_planned"))
	youssef.press(youssef.word("note.borne.well"))
	youssef.press("2")
	youssef.press(youssef.word("note.skin.nothing_new"))
	youssef.press(youssef.word("note.mood.calm"))
	const words = "كانت هادئة وعدت معي."
	youssef.write(words)
	youssef.reads("the note back", youssef.word("form.review"), words)
	if got := value[string](v, youssef.js1(`(() => { const q = bot.querySelector(".quote"); return q.lang + " " + getComputedStyle(q).direction; })()`)); got != "ar rtl" {
		t.Errorf("the note's own words are laid out as %q", got)
	}
	v.shot("note-arabic")
	youssef.press(youssef.word("form.save"))
	youssef.reads("that it is saved", youssef.word("note.saved", "Ref", "N-1"))
	// Only the way in and the words stand beside the bot's messages: presses are answered in their place.
	if got := value[float64](v, youssef.js1(`log.querySelectorAll(".own").length`)); got != 2 {
		t.Errorf("%v messages of his own are shown, want 2", got)
	}
	// What he wrote is handed over in his words, its language named in the reader's.
	magda := v.phone("magda", "pl")
	magda.write("/handover")
	magda.reads("the note", words, magda.word("own.language", "Language", magda.word("language.ar")))
}

// control presses a control of the page, once the one before is done.
func (v *viewer) control(q string) {
	v.t.Helper()
	v.until("the control "+q, `!document.querySelector("#works [aria-disabled=true]") && !!document.querySelector(`+quote(q)+`)`)
	v.run(chromedp.Click(chromedp.CSS(q)))
}

// incident has Youssef report that Tilda slipped from the sling.
func incident(youssef phone, words string) {
	youssef.t.Helper()
	youssef.write("/incident")
	youssef.reads("the first actions before any question", youssef.word("incident.ask.kind"))
	youssef.press(youssef.word("incident.kind.slip_from_sling"))
	youssef.press(youssef.word("client.button", "Client", "Tilda Brannock", "Room", "3"))
	youssef.press(youssef.word("place.commode"))
	youssef.press(youssef.word("incident.harm.mild"))
	youssef.press("S-021")
	youssef.write(words)
	youssef.press(youssef.word("form.save"))
}

// An incident reaches the coordinator at once, a handover has it first, and each
// reads in their own language.
func TestBrowserIncidentAndHandover(t *testing.T) {
	v := watch(t, 1400, 900, "")
	youssef, elena := v.phone("youssef", "ar"), v.phone("elena", "en")
	const words = "انزلقت قليلا ثم جلست."
	incident(youssef, words)
	elena.reads("the incident", elena.word("incident.alert", "Ref", "I-1"), "Youssef Mansour", "Tilda Brannock",
		elena.word("incident.kind.slip_from_sling"), elena.word("incident.harm.mild"), "S-021", words)
	elena.wantLayout("en ltr start ltr")
	youssef.reads("that it is reported", youssef.word("incident.saved", "Ref", "I-1"))
	v.shot("incident")

	v.control("#shift")
	v.until("the clock at the handover of the late shift", `document.querySelector("#now").textContent.includes("13:45")`)
	v.until("the handover", youssef.js1(`plain(bot).includes(`+quote(youssef.word("handover.incident"))+`)`))
	youssef.reads("the incident first, then the equipment", youssef.word("shift.late"), youssef.word("handover.incident"), "I-1",
		"Tilda Brannock", words, youssef.word("handover.equipment"))
	youssef.wantLayout("ar rtl start rtl")
	v.shot("handover-arabic")
	if got := value[bool](v, v.phone("magda", "pl").js1(`bots.length > 0`)); got {
		t.Error("who is not coming on was given a handover")
	}

	// On through the night: Magda works the next early shift.
	magda := v.phone("magda", "pl")
	v.control("#shift")
	v.until("the clock at the handover of the night", `document.querySelector("#now").textContent.includes("20:45")`)
	v.control("#shift")
	v.until("the clock at the next morning", `document.querySelector("#now").textContent.includes("06:45")`)
	v.until("Magda's handover", magda.js1(`!!bot`))
	magda.reads("the incident first", magda.word("shift.early"), magda.word("handover.incident"), "I-1", magda.word("incident.kind.slip_from_sling"), words,
		magda.word("own.language", "Language", magda.word("language.ar")), magda.word("handover.quiet"))
	magda.wantLayout("pl ltr start ltr")
}

func TestBrowserPlanChange(t *testing.T) {
	v := watch(t, 1400, 900, "")
	magda, youssef, elena := v.phone("magda", "pl"), v.phone("youssef", "ar"), v.phone("elena", "en")
	v.control(`[data-word="demo.publish"]`)
	for _, p := range []phone{magda, youssef} {
		leg := func(key string, args ...any) string {
			return p.word(key, append([]any{"Point", p.word("point.leg"), "Of", 4}, args...)...)
		}
		p.reads("the change, old beside new", p.word("change.title"), "Tilda Brannock",
			p.word("change.before"), leg("loop.nth", "Number", 3, "Colour", p.word("colour.grey")),
			p.word("change.now"), leg("loop.longest", "Colour", p.word("colour.pink")))
	}
	magda.wantLayout("pl ltr start ltr")
	youssef.wantLayout("ar rtl start rtl")
	elena.reads("the change", elena.word("change.title"))
	for _, p := range []phone{magda, youssef, elena} {
		v.until("the beginning of the change in sight", p.js1(`bot.getBoundingClientRect().top >= log.getBoundingClientRect().top - 1`))
	}
	v.shot("change")

	magda.press(magda.word("change.confirm"))
	// One fact of the change is asked back before it counts as read.
	magda.reads("the question", magda.word("readback.loops", "Point", magda.word("point.leg")))
	magda.press(magda.word("readback.loop.longest", "Number", 4, "Colour", magda.word("colour.pink")))
	magda.reads("the thanks", magda.word("change.confirmed", "Version", 2))
	elena.write("/changes")
	elena.press("Tilda Brannock · 1/6")
	elena.reads("who has and who has not", elena.word("change.not_confirmed"), "Youssef Mansour", elena.word("change.confirmed_by"), "Magdalena Wójcik")
	v.shot("changes")
	// The shifts outlive an import that does not name them.
	v.until("the next change of shift", `!document.querySelector("#shift").hidden`)
	// Published twice, it changes nothing.
	n := value[float64](v, magda.js1(`bots.length`))
	v.control(`[data-word="demo.publish"]`)
	v.until("the word that it is done", `document.querySelector("#notice").textContent !== ""`)
	magda.write("/help")
	if got := value[float64](v, magda.js1(`bots.length`)); got != n+1 {
		t.Errorf("%v messages, want %v", got, n+1)
	}
}

func TestBrowserJoin(t *testing.T) {
	v := watch(t, 1400, 900, "")
	elena := v.phone("elena", "en")
	v.js(`(() => { const s = document.querySelectorAll(".who")[2]; s.value = "new-1"; s.dispatchEvent(new Event("change")); })()`)
	priya := v.phone("new-1", "es")
	priya.lang = "en"
	priya.write("which loops for Rosa?")
	priya.reads("nothing about anybody", priya.word("stranger.hello"))

	elena.write("/team")
	elena.press("Priya Nair – not joined")
	elena.press("Invite")
	code := value[string](v, elena.js1(`plain(bot).match(/\/start [A-Za-z0-9_-]+/)?.[0] ?? ""`))
	if code == "" {
		t.Fatal("the invitation has no code")
	}
	priya.write(code)
	priya.reads("the languages in their own scripts", "English", "العربية", "Español", "Polski")
	priya.press("Español")
	priya.lang = "es"
	priya.reads("what is kept", priya.word("join.privacy.title"), priya.word("join.privacy.kept"), priya.word("join.privacy.open"))
	priya.press(priya.word("join.agree"))
	priya.reads("the welcome", priya.word("join.welcome", "Name", "Priya Nair", "Site", "Larch House"), priya.word("join.not_reviewed"))
	v.until("the plate has her name and language", priya.js1(`p.querySelector("h2").textContent === "Priya Nair" && p.querySelector(".about").textContent.includes("Español") && p.querySelector(".send").textContent === `+quote(priya.word("demo.send"))))
	priya.wantLayout("es ltr start ltr")
	v.shot("joined")

	// The code works once.
	v.js(`(() => { const s = document.querySelectorAll(".who")[0]; s.value = "new-2"; s.dispatchEvent(new Event("change")); })()`)
	other := v.phone("new-2", "en")
	other.write(code)
	other.reads("that it was used", other.word("invitation.used"))
}

// Who presses twice answers one question, not the next one as well; who opens the
// page twice sees the same on both; a button of an earlier question answers none.
func TestBrowserPressTwice(t *testing.T) {
	v := watch(t, 1400, 900, "")
	magda := v.phone("magda", "pl")
	magda.write("/note")
	magda.press(magda.word("client.button", "Client", "Rosa Lindqvist", "Room", "12"))
	magda.press(magda.word("transfer.button", "From", magda.word("place.bed"), "To", magda.word("place.wheelchair")))
	v.until("the end of the echo", magda.js1(`!bot.matches(".settling")`))
	// Twice on the button, and at once on what comes in its place.
	v.js(magda.js1(`(() => {
		const b = button(` + quote(magda.word("note.outcome.as_planned")) + `);
		b.click();
		b.click();
		window.echo = new MutationObserver(() => [...log.querySelectorAll(".bot")].at(-1).querySelector(".choice").click());
		echo.observe(log, { childList: true });
	})()`))
	magda.reads("the next question", magda.word("note.ask.borne"))
	v.js(`echo.disconnect()`)
	v.until("the end of the echo", magda.js1(`!bot.matches(".settling")`))
	magda.reads("still that question", magda.word("note.ask.borne"))
	if got := value[float64](v, magda.js1(`bots.length`)); got != 1 {
		t.Errorf("%v messages, want the one question", got)
	}

	// The same phone on a second pane, as in a second window.
	v.js(`(() => { const s = document.querySelectorAll(".who")[1]; s.value = "magda"; s.dispatchEvent(new Event("change")); })()`)
	v.until("the same question on both, ready", `(() => { const [a, b] = [...document.querySelectorAll(".pane")].map((p) => p.querySelector(".log").innerText); return a !== "" && a === b && !document.querySelector(".settling"); })()`)
	// Both answer; whichever is taken second answers no other question.
	v.js(`(() => { for (const i of [0, 1]) document.querySelectorAll(".pane")[i].querySelectorAll(".bot .choice")[i].click(); })()`)
	magda.reads("that the second press came too late", magda.word("button.old.question"), magda.word("note.ask.pain"))
}

// Markup, marks of direction and words without end stay text and stay in their column.
func TestBrowserHostileText(t *testing.T) {
	v := watch(t, 360, 740, "")
	magda := v.phone("magda", "pl")
	magda.write("/note")
	magda.press(magda.word("client.button", "Client", "Rosa Lindqvist", "Room", "12"))
	magda.press(magda.word("transfer.button", "From", magda.word("place.bed"), "To", magda.word("place.wheelchair")))
	magda.press(magda.word("note.outcome.refused"))
	magda.write("<img src=x onerror=\"document.title='bad'\"><script>document.title='bad'</script>\u202e" + strings.Repeat("W", 900))
	magda.press(magda.word("note.mood.calm"))
	magda.press(magda.word("form.skip"))
	magda.reads("the words as they are", magda.word("form.review"), "<img src=x onerror=", "<script>")
	if got := value[string](v, `document.title + document.querySelectorAll(".log img, .log script").length`); got != (phone{v, "", "en"}).word("demo.title")+"0" {
		t.Errorf("the text was taken for markup: %q", got)
	}
	if got := value[float64](v, `Math.max(document.scrollingElement.scrollWidth - 360, ...[...document.querySelectorAll(".log")].map((e) => e.scrollWidth - e.clientWidth))`); got > 0 {
		t.Errorf("the page is %v too wide", got)
	}
}
