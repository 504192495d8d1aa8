//go:build browser

package simulator_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"samelift/internal/chat"
)

// These tests need a Chromium on the PATH: go test -tags browser ./internal/simulator
// With SHOTS=dir they also leave pictures of the page in that directory.

// browser is one headless browser for a test, on the page of a house whose bot
// follows a small script.
type browser struct {
	*house
	ctx context.Context
}

func browse(t *testing.T, width, height int64, query string) *browser {
	t.Helper()
	h := open(t)
	h.receive(h.script)
	opts := []chromedp.ExecAllocatorOption{
		chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("hide-scrollbars", true), chromedp.Flag("lang", "en"),
	}
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 3*patience)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(func() { _ = chromedp.Cancel(ctx); cancel() })
	b := &browser{h, ctx}
	b.run(chromedp.EmulateViewport(width, height), chromedp.Navigate(h.srv.URL+"/"+query))
	b.until("the panes", `document.querySelectorAll(".pane h2").length === 3`)
	return b
}

func (b *browser) run(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// until waits for a JavaScript condition.
func (b *browser) until(what, condition string) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, chromedp.Poll[chromedp.Void](condition, chromedp.WithPollingTimeout(patience))); err != nil {
		seen, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string]("document.body.innerText"))
		b.t.Fatalf("does not come: %s: %v\nthe page reads:\n%s", what, err, seen)
	}
}

func (b *browser) number(js string) float64 { b.t.Helper(); return value[float64](b, js) }

func (b *browser) text(js string) string { b.t.Helper(); return value[string](b, js) }

func value[T any](b *browser, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// js does something in the page.
func js(s string) chromedp.Action[chromedp.Void] { return chromedp.Evaluate[chromedp.Void](s) }

// click presses the first element that is found so.
func click(q string) chromedp.Action[chromedp.Void] { return chromedp.Click(chromedp.CSS(q)) }

func (b *browser) keys(s string) {
	b.t.Helper()
	b.run(chromedp.KeyEvent(s))
}

// tabTo presses Tab until the focus is where the condition on e says.
func (b *browser) tabTo(what, condition string) {
	b.t.Helper()
	for range 80 {
		b.keys(kb.Tab)
		if value[bool](b, `((e) => !!(`+condition+`))(document.activeElement)`) {
			return
		}
	}
	b.t.Fatalf("the keyboard does not reach %s", what)
}

func (b *browser) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("SHOTS")
	if dir == "" {
		return
	}
	b.run(chromedp.Evaluate[chromedp.Void](`new Promise((r) => setTimeout(r, 600))`, chromedp.EvalAwaitPromise))
	buf, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), buf, 0o600); err != nil {
		b.t.Fatal(err)
	}
}

// script is the bot: it answers with a plan, tells the others what was said, and
// puts an answer in the place of a question when a choice is pressed.
func (h *house) script(ctx context.Context, in chat.Inbound) error {
	seat := h.seat(in.From.Chat)
	switch {
	case in.Kind == chat.KindChoice:
		out := text(in.From.Chat, "You chose "+in.Choice)
		out.Edit = in.Message
		out.Choices = [][]chat.Choice{{{Label: "Again", Data: "again"}, {Label: "Stop", Data: "stop"}}}
		h.send(out)
	case in.Kind == chat.KindFile:
		h.send(text(in.From.Chat, fmt.Sprintf("%s: %d bytes", in.File.Name, len(in.File.Data))))
	case strings.HasPrefix(in.Text, "tell "):
		for _, s := range h.seats {
			if s.Chat != in.From.Chat {
				h.send(text(s.Chat, seat.Name+": "+in.Text[5:]))
			}
		}
	case seat.RTL:
		h.send(arabicPlan(in.From.Chat))
	default:
		h.send(plan(in.From.Chat))
	}
	return nil
}

func (h *house) seat(chatID string) (s struct {
	Name string
	RTL  bool
}) {
	for _, x := range h.seats {
		if x.Chat == chatID {
			s.Name, s.RTL = x.Name, x.RTL
		}
	}
	return s
}

// card is a picture big enough to see.
func card() *chat.Picture {
	img := image.NewRGBA(image.Rect(0, 0, 480, 200))
	for y := range 200 {
		for x := range 480 {
			c := color.RGBA{255, 255, 255, 255}
			if x > 200 && x < 280 && y > 30 && y < 170 {
				c = color.RGBA{30, 90, 95, 255}
			}
			img.Set(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err)
	}
	return &chat.Picture{Name: "card.png", PNG: b.Bytes(), Alt: "Sling seen from behind"}
}

func plan(chatID string) chat.Outbound {
	return chat.Outbound{To: to(chatID), Lang: "en", Picture: card(), Body: []chat.Paragraph{
		{Style: chat.Alert, Text: "Stop. A change of the plan waits for your answer."},
		{Style: chat.Strong, Text: "Bed to chair: shoulder loop 1, leg loop 3"},
		{Text: "Two carers. The sling with the label S-014."},
		{Style: chat.Quote, Text: "Langsam, bitte, und warme Hände.", Lang: "de"},
		{Style: chat.Small, Text: "Plan 3, in force since 20 Feb. Not stated: stop and ask."},
	}, Choices: [][]chat.Choice{{{Label: "Understood", Data: "yes"}, {Label: "Ask a colleague", Data: "ask"}},
		{{Label: "Open the guide", URL: "https://example.org/guide"}}}}
}

func arabicPlan(chatID string) chat.Outbound {
	return chat.Outbound{To: to(chatID), Lang: "ar", RTL: true, Picture: card(), Body: []chat.Paragraph{
		{Style: chat.Alert, Text: "توقف. هناك تغيير في الخطة ينتظر جوابك."},
		{Style: chat.Strong, Text: "من السرير إلى الكرسي: حلقة الكتف 1، حلقة الفخذ 3"},
		{Text: "شخصان. حمالة الرفع S-014."},
		{Style: chat.Quote, Text: "Slowly, please, and warm hands.", Lang: "en"},
		{Style: chat.Small, Text: "الخطة 3، سارية منذ 20 فبراير."},
	}, Choices: [][]chat.Choice{{{Label: "فهمت", Data: "yes"}, {Label: "اسأل زميلًا", Data: "ask"}}}}
}

const pane = `document.querySelectorAll(".pane")`

// write types into a pane and presses Enter.
func (b *browser) write(i int, s string) {
	b.t.Helper()
	b.run(js(fmt.Sprintf(`%s[%d].querySelector("textarea").focus()`, pane, i)), chromedp.KeyEvent(s), chromedp.KeyEvent("\r"))
}

func TestBrowserPanesAreLive(t *testing.T) {
	b := browse(t, 1280, 800, "")
	if n := b.number(`[...` + pane + `].filter((p) => p.offsetParent).length`); n != 3 {
		t.Fatalf("%v panes are seen, want 3", n)
	}
	b.write(0, "tell the sling is in the wash")
	for _, i := range []int{1, 2} {
		b.until("the others see it", fmt.Sprintf(`%s[%d].querySelector(".bot")?.innerText.includes("Oskar: the sling is in the wash")`, pane, i))
	}
	b.until("it counts as taken", `!document.querySelector(".waiting")`)
	// A lost connection: what came meanwhile is there once, and nothing twice.
	b.srv.CloseClientConnections()
	for i := range 5 {
		b.send(text("oskar", fmt.Sprintf("while away %d", i)))
	}
	b.until("what was missed", pane+`[0].querySelector(".log").innerText.includes("while away 4")`)
	if n := b.number(pane + `[0].querySelectorAll(".bot").length`); n != 5 {
		t.Errorf("%v messages, want 5", n)
	}
	b.until("the notice goes", `document.querySelector("#notice").textContent === ""`)
}

func TestBrowserEditsInPlace(t *testing.T) {
	b := browse(t, 1280, 800, "")
	b.write(0, "plan")
	b.until("the plan", pane+`[0].querySelectorAll(".bot button.choice").length === 2`)
	if got := b.text(pane + `[0].querySelector(".bot .paper > p:nth-of-type(3)").textContent + "|" + ` + pane + `[0].querySelector(".label").textContent`); got != "Two carers. The sling with the label S-014.|S-014" {
		t.Errorf("the paragraph reads %q", got)
	}
	b.send(text("oskar", "a later message"))
	b.run(click(".bot button.choice"))
	b.until("the edit", pane+`[0].querySelector(".bot").innerText.includes("You chose yes")`)
	if got := b.text(`[...` + pane + `[0].querySelectorAll(".bot .paper")].map((e) => e.querySelector("p").innerText).join("|")`); got != "You chose yes|a later message" {
		t.Errorf("got %q", got)
	}
	// The press does not stand between the reader and what answers it.
	if got := b.text(pane + `[0].querySelector(".chosen").innerText + "|" + ` + pane + `[0].querySelectorAll(".pressed").length`); got != "Understood|0" {
		t.Errorf("the press shows as %q", got)
	}
}

func TestBrowserKeyboardOnly(t *testing.T) {
	b := browse(t, 1280, 800, "")
	b.tabTo("the skip link", `e.classList.contains("skip")`)
	b.tabTo("the clock", `e.dataset.minutes === "15"`)
	b.keys(" ")
	b.until("the clock moved", `document.querySelector("#now").textContent.includes("13:55")`)
	b.tabTo("whose phone", `e.matches(".who")`)
	b.tabTo("the text", `e.matches("textarea")`)
	b.keys("plan")
	b.keys("\r")
	b.until("the plan", pane+`[0].querySelectorAll(".bot button.choice").length === 2`)
	b.run(js(pane + `[0].querySelector(".log").focus()`))
	b.tabTo("a choice", `e.matches("button.choice")`)
	outline := b.text(`getComputedStyle(document.activeElement).outlineStyle`)
	if outline != "solid" {
		t.Errorf("the focus is not seen: outline %q", outline)
	}
	b.keys("\r")
	b.until("the edit", pane+`[0].querySelector(".bot").innerText.includes("You chose yes")`)
	if got := b.text(`document.activeElement.textContent`); got != "Again" {
		t.Errorf("after the edit the focus is on %q", got)
	}
	if n := b.number(`[...document.querySelectorAll("button, input, select, textarea")].filter((e) => e.offsetParent && !e.labels?.length && !e.textContent.trim() && !e.ariaLabel).length`); n != 0 {
		t.Errorf("%v controls have no label", n)
	}
}

func TestBrowserRightToLeft(t *testing.T) {
	b := browse(t, 1280, 800, "?lang=ar")
	b.until("whole page", `document.dir === "rtl" && document.documentElement.lang === "ar"`)
	b.until("Arabic pane", pane+`[1].querySelector("h2").textContent !== ""`)
	b.run(js(`(() => { const s = ` + pane + `[1].querySelector(".who"); s.value = "nadia"; s.dispatchEvent(new Event("change")); })()`))
	b.until("the phone's direction", pane+`[1].querySelector(".phone").dir === "rtl" && `+pane+`[0].querySelector(".phone").dir === "ltr"`)
	b.write(1, "خطة")
	b.write(0, "plan")
	b.until("the answer", pane+`[1].querySelector(".bot .quote")?.lang === "en"`)
	if got := b.text(`(() => { const q = ` + pane + `[1].querySelector(".quote"); return getComputedStyle(q).direction + " " + getComputedStyle(q.closest(".paper")).direction; })()`); got != "ltr rtl" {
		t.Errorf("quote and message run %q", got)
	}
	b.shot("wide-arabic")
}

// The narrowest phone and text of twice the size need no sideways scrolling.
func TestBrowserFits(t *testing.T) {
	for _, lang := range []string{"en", "de", "ar"} {
		b := browse(t, 360, 640, "?lang="+lang)
		b.write(0, "plan")
		b.until("the plan", pane+`[0].querySelectorAll(".bot button.choice").length === 2`)
		if n := b.number(`document.scrollingElement.scrollWidth`); n > 360 {
			t.Errorf("%s: the page is %v wide", lang, n)
		}
		if n := b.number(`Math.max(...[...document.querySelectorAll(".log")].map((e) => e.scrollWidth - e.clientWidth))`); n > 0 {
			t.Errorf("%s: a log is %v too wide", lang, n)
		}
		if got := b.text(`[...document.querySelectorAll("button, select, input[type=number], textarea, a.choice")].filter((e) => e.offsetParent && e.offsetHeight < 44).map((e) => e.outerHTML).join()`); got != "" {
			t.Errorf("%s: less than 44 high: %s", lang, got)
		}
		b.shot("phone-" + lang)
		b.send(text("mary", "for the other phone"))
		b.until("the tab tells", `document.querySelectorAll("#tabs button")[1].querySelector(".count").textContent === "1"`)
		b.shot("phone-unread-" + lang)
		b.run(click("#tabs button:nth-child(2)"))
		b.until("it is seen", `document.querySelectorAll("#tabs button")[1].querySelector(".count").hidden`)
		b.until("the other phone", `!`+pane+`[0].offsetParent && `+pane+`[1].innerText.includes("for the other phone")`)
		b.run(click("#clock"))
		b.until("the clock's buttons", `document.querySelector("#shift").offsetParent`)
		if n := b.number(`document.querySelector("#custom span").offsetWidth`); n < 20 {
			t.Errorf("%s: the label of the minutes is not seen", lang)
		}
		if n := b.number(`document.scrollingElement.scrollWidth`); n > 360 {
			t.Errorf("%s: with the clock open the page is %v wide", lang, n)
		}
		b.shot("phone-clock-" + lang)
	}
	b := browse(t, 1280, 800, "")
	b.run(js(`document.documentElement.style.fontSize = "225%"`))
	b.write(0, "plan")
	b.until("the plan", pane+`[0].querySelectorAll(".bot button.choice").length === 2`)
	if n := b.number(`document.scrollingElement.scrollWidth`); n > 1280 {
		t.Errorf("with large text the page is %v wide", n)
	}
	b.shot("large-text")
}

func TestBrowserClock(t *testing.T) {
	b := browse(t, 800, 900, "")
	b.until("the time", `document.querySelector("#now").textContent.includes("13:40")`)
	b.run(click("#shift"))
	b.until("the change of shift", `document.querySelector("#now").textContent.includes("14:00")`)
	b.run(click(`[data-minutes="60"]`))
	b.until("an hour later", `document.querySelector("#now").textContent.includes("15:00")`)
	b.run(chromedp.SetValue(chromedp.CSS("#custom input"), "-10"), click("#custom button"))
	b.until("the refusal", `document.querySelector("#notice").textContent === "Time only moves forward."`)
	b.run(chromedp.SetValue(chromedp.CSS("#custom input"), "45"), click("#custom button"))
	b.until("the custom time", `document.querySelector("#now").textContent.includes("15:45")`)
	b.run(click(".controls button"))
	b.until("the control", `document.querySelector("#notice").textContent === "Done"`)
	if n := b.number(`[...` + pane + `].filter((p) => p.offsetParent).length`); n != 2 {
		t.Errorf("%v panes are seen on a tablet, want 2", n)
	}
	b.shot("tablet")
	b.run(chromedp.EmulateViewport(1366, 640))
	b.write(0, "plan")
	b.shot("laptop")
}

// contrast lists texts whose contrast with the colour behind them is below 4.5
// (WCAG 2.2, success criterion 1.4.3).
const contrast = `(() => {
	const rgb = (s) => s.match(/[\d.]+/g).map(Number);
	const lum = ([r, g, b]) => [r, g, b].map((v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
		.reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
	const behind = (e) => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c.length < 4 || c[3] === 1) return c; } return [255, 255, 255]; };
	const bad = [];
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	let seen = 0;
	while (walk.nextNode()) {
		const e = walk.currentNode.parentElement;
		if (!walk.currentNode.textContent.trim() || !e.offsetParent) continue;
		seen++;
		const [a, b] = [lum(rgb(getComputedStyle(e).color)), lum(behind(e))].sort((x, y) => y - x);
		const ratio = (a + 0.05) / (b + 0.05);
		if (ratio < 4.5) bad.push(e.tagName + "." + e.className + " " + ratio.toFixed(2));
	}
	return seen < 20 ? "only " + seen + " texts were seen" : bad.join(", ");
})()`

func TestBrowserContrast(t *testing.T) {
	for _, scheme := range []string{"light", "dark"} {
		b := browse(t, 1280, 900, "")
		_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		if err != nil {
			t.Fatal(err)
		}
		b.write(0, "Which loops for Mrs Vale, bed to chair?")
		b.write(1, "tell the plan has changed")
		b.until("the plan", pane+`[0].querySelectorAll(".bot button.choice").length === 2`)
		b.until("the news", pane+`[2].querySelector(".bot")`)
		if bad := b.text(contrast); bad != "" {
			t.Errorf("%s: %s", scheme, bad)
		}
		b.shot("wide-" + scheme)
	}
}

// What could not be sent stays to be sent again; sent twice, it arrives once.
func TestBrowserSendsAgain(t *testing.T) {
	b := browse(t, 1280, 800, "")
	const box = pane + `[0].querySelector("textarea")`
	b.run(js(`window.real = window.fetch; window.fetch = (...a) => window.real(...a).then(() => Promise.reject(new Error("the answer is lost")))`))
	b.write(0, "tell once")
	b.until("the notice", pane+`[0].querySelector(".phone .notice").textContent !== "" && `+box+`.value === "tell once"`)
	b.run(js(`window.fetch = () => Promise.reject(new Error("no network"))`))
	b.write(0, "")
	b.until("the text again", box+`.value === "tell once"`)
	b.run(js(`window.fetch = window.real`))
	b.write(0, "")
	b.until("it is sent", pane+`[0].querySelector(".phone .notice").textContent === "" && `+box+`.value === ""`)
	b.write(0, "tell end")
	b.until("the end", pane+`[1].querySelector(".log").innerText.includes("Oskar: end")`)
	if n := b.number(pane + `[1].querySelectorAll(".bot").length`); n != 2 {
		t.Errorf("%v messages came, want 2", n)
	}
}

// History comes in the order of its changes, and is shown in that of the messages.
func TestBrowserShowsHistoryInOrder(t *testing.T) {
	b := browse(t, 1280, 800, "")
	b.write(0, "one")
	b.until("the answer", pane+`[0].querySelector(".bot") && !`+pane+`[0].querySelector(".waiting")`)
	b.run(click("#works [data-minutes='60']"), js(`document.querySelector("#custom input").value = 1440`), click("#custom button"))
	b.until("tomorrow", `document.querySelector("#now").textContent.startsWith("2027-03-02")`)
	b.write(0, "two")
	b.until("the second answer", pane+`[0].querySelectorAll(".bot").length === 2 && !`+pane+`[0].querySelector(".waiting")`)
	const seen = `[...` + pane + `[0].querySelector(".log").children].map((e) => e.className).join()`
	const want = "day,entry own,entry bot,day,entry own,entry bot"
	if got := b.text(seen); got != want {
		t.Errorf("got %q", got)
	}
	b.run(chromedp.Reload())
	b.until("all again", pane+`[0]?.querySelectorAll(".entry").length === 4`)
	if got := b.text(seen); got != want {
		t.Errorf("after a reload got %q", got)
	}
}

// A link with a start code, as a choice or in the address, ends up at somebody who
// has not joined yet.
func TestBrowserStartLink(t *testing.T) {
	b := browse(t, 1280, 800, "?start=abc-123")
	b.until("the code", pane+`[2].querySelector("textarea").value === "/start abc-123"`)
	if got := b.text(`location.search + ` + pane + `[2].querySelector("h2").textContent`); got != "New phone" {
		t.Errorf("got %q", got)
	}
	out := text("oskar", "Somebody new")
	out.Choices = [][]chat.Choice{{{Label: "Hand over", URL: b.srv.URL + "/?start=xyz"}, {Label: "Elsewhere", URL: "https://example.org/?start=no"},
		{Label: "Bad", URL: "javascript:alert(1)"}}}
	b.send(out)
	b.until("the choice", pane+`[0].querySelector("button.choice")?.textContent === "Hand over"`)
	if n := b.number(`document.querySelectorAll("a.choice[target=_blank][rel~=noopener]").length`); n != 1 {
		t.Errorf("%v links, want 1", n)
	}
	if n := b.number(`document.querySelectorAll("button.choice:disabled").length`); n != 1 {
		t.Errorf("%v choices are dead, want that of the script", n)
	}
	b.run(click(".bot button.choice"))
	b.until("the new code", pane+`[2].querySelector("textarea").value === "/start xyz" && document.activeElement === `+pane+`[2].querySelector("textarea")`)
	b.keys("\r")
	b.until("it is sent", pane+`[2].querySelector(".own")?.innerText.includes("/start xyz")`)
}

// A viewer sees in the list of phones who got something while not in sight.
func TestBrowserCountsUnread(t *testing.T) {
	b := browse(t, 1280, 800, "")
	b.send(text("oskar", "zero"))
	b.until("the stream", pane+`[0].querySelector(".bot")`)
	b.send(text("new", "one"))
	b.send(text("new", "two"))
	b.until("the count", pane+`[0].querySelectorAll("option")[3].textContent.endsWith(": 2")`)
	b.run(js(`(() => { const s = ` + pane + `[0].querySelector(".who"); s.value = "new"; s.dispatchEvent(new Event("change")); })()`))
	b.until("it is seen", `!`+pane+`[1].querySelectorAll("option")[3].textContent.includes(":")`)
	b.run(chromedp.Reload())
	b.until("the phone is kept, and history is not new", pane+`[0]?.querySelectorAll(".bot").length === 2 && !document.querySelector("option[value=new]").textContent.includes(":")`)
}

func TestBrowserAttachesAFile(t *testing.T) {
	b := browse(t, 1280, 800, "")
	name := filepath.Join(t.TempDir(), "site.yaml")
	if err := os.WriteFile(name, []byte("name: Rowan House\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.run(chromedp.SetUploadFiles(chromedp.CSS(".pane input[type=file]"), []string{name}, chromedp.NodeReady))
	b.until("the answer", pane+`[0].querySelector(".bot")?.innerText.includes("site.yaml: 18 bytes")`)
}
