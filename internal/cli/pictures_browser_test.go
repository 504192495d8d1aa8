//go:build browser

package cli_test

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"samelift/internal/cli"
)

// These tests need a Chromium on the PATH: go test -tags browser ./internal/cli
// With SHOTS=dir they leave pictures of the demo there.

// demo runs the demo and gives its address.
func demo(t *testing.T) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r, w := io.Pipe()
	done := make(chan int, 1)
	go func() { done <- cli.Main(ctx, nil, nil, w, io.Discard, []string{"demo", "--addr", "127.0.0.1:0"}) }()
	t.Cleanup(func() {
		stop()
		if status := <-done; status != 0 {
			t.Errorf("the demo ended with status %d", status)
		}
	})
	buf := make([]byte, 400)
	n, err := r.Read(buf)
	go io.Copy(io.Discard, r)
	at := regexp.MustCompile(`http://[0-9.:]+/`).Find(buf[:n])
	if err != nil || at == nil {
		t.Fatalf("the demo says %q (%v)", buf[:n], err)
	}
	return string(at)
}

// On the narrowest phone the words that matter come before any scrolling: a warning
// before its picture, the answer before its own; and the whole picture fits the width.
func TestPicturesOnPhone(t *testing.T) {
	at := demo(t)
	ctx, cancel := chromedp.NewExecAllocator(context.Background(),
		chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-background-networking", true), chromedp.Flag("hide-scrollbars", true))
	defer cancel()
	ctx, cancel = context.WithTimeout(ctx, 2*time.Minute)
	defer cancel()
	ctx, cancel = chromedp.NewContext(ctx)
	defer func() { _ = chromedp.Cancel(ctx); cancel() }()
	do := func(steps ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, steps...); err != nil {
			t.Fatal(err)
		}
	}
	js := func(s string) string {
		t.Helper()
		v, err := chromedp.Run(ctx, chromedp.Evaluate[string](s))
		if err != nil {
			t.Fatalf("%s: %v", s, err)
		}
		return v
	}
	shot := func(name string) {
		if dir := os.Getenv("SHOTS"); dir != "" {
			buf, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, name+".png"), buf, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	scrolled := func(i int, who string) {
		if os.Getenv("SHOTS") != "" {
			do(chromedp.Evaluate[chromedp.Void](`[...document.images].at(-1)?.scrollIntoView({block: "center"})`))
			shot(fmt.Sprintf("phone-%d-%s-picture", i, who))
		}
	}
	do(chromedp.EmulateViewport(360, 740), chromedp.Navigate(at))
	do(chromedp.Poll[chromedp.Void](`document.querySelectorAll(".pane h2").length === 3`))
	pane := `document.querySelector(".pane")`
	for i, c := range []struct{ who, says string }{
		{"grace", "Rosa bed to wheelchair loops"}, {"tomasz", "Wiktor bed to chair loops"}, {"elena", "Tilda bed to chair whole plan"}, {"elena", "/charts"},
		{"youssef", "Edwin bed to chair loops"},
	} {
		do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`(() => { const s = %s.querySelector(".who"); s.value = %q; s.dispatchEvent(new Event("change")); })()`, pane, c.who)))
		do(chromedp.Evaluate[chromedp.Void](pane+`.querySelector("textarea").focus()`), chromedp.KeyEvent(c.says), chromedp.KeyEvent("\r"))
		do(chromedp.Poll[chromedp.Void](pane + `.querySelector(".log").lastElementChild?.classList.contains("bot")`))
		do(chromedp.Poll[chromedp.Void](`[...document.images].every((i) => i.complete && i.naturalWidth > 0)`))
		shot(fmt.Sprintf("phone-%d-%s", i, c.who))
		// The first line of the answer is on the screen, and the picture is not cut.
		if i > 2 {
			scrolled(i, c.who)
			continue
		}
		if got := js(`(() => { const m = ` + pane + `.querySelector(".log").lastElementChild; const p = m.querySelector(".paper > p").getBoundingClientRect();
			const img = m.querySelector("img"); const r = img.getBoundingClientRect();
			if (!img.alt) return "no words for the picture";
			if (p.top < 0 || p.bottom > innerHeight) return "the first line is at " + p.top;
			if (p.bottom > r.top) return "the picture stands before the words";
			return r.left < 0 || r.right > innerWidth ? "the picture is cut" : ""; })()`); got != "" {
			t.Errorf("%s: %s", c.says, got)
		}
		scrolled(i, c.who)
	}
}
