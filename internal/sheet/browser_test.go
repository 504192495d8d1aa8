//go:build browser

package sheet_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// This test needs a Chromium on the PATH: go test -tags browser ./internal/sheet
// With SHOTS=dir it leaves the printed sheets there.

// A sheet prints on A4 and on Letter with nothing cut off at its sides, and every leaf
// is one sheet of paper, front and back.
func TestSheetPrints(t *testing.T) {
	dir := os.Getenv("SHOTS")
	for _, lang := range []string{"en", "pl", "ar", "es"} {
		for _, client := range []string{"tilda", "wiktor", "rosa"} {
			html := demoSheet(t, client, lang)
			for _, paper := range []struct {
				name          string
				width, height float64
			}{{"a4", 8.27, 11.69}, {"letter", 8.5, 11}} {
				name := fmt.Sprintf("%s-%s-%s", client, lang, paper.name)
				pdf, over := printed(t, html, paper.width, paper.height)
				if over != "" {
					t.Errorf("%s: wider than the paper: %s", name, over)
				}
				leaves := bytes.Count(html, []byte(`<article class="leaf"`))
				if pages := len(regexp.MustCompile(`/Type\s*/Page\b[^s]`).FindAll(pdf, -1)); pages != 2*leaves {
					t.Errorf("%s: %d leaves on %d pages", name, leaves, pages)
				}
				if dir != "" {
					if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o600); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	}
}

// printed prints a page, and names what is wider than the paper.
func printed(t *testing.T, html []byte, width, height float64) (pdf []byte, over string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "sheet.html")
	if err := os.WriteFile(file, html, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := chromedp.NewExecAllocator(context.Background(),
		chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-background-networking", true))
	defer cancel()
	ctx, cancel = context.WithTimeout(ctx, time.Minute)
	defer cancel()
	ctx, cancel = chromedp.NewContext(ctx)
	defer func() { _ = chromedp.Cancel(ctx); cancel() }()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(int64(width*96)-106, 1000), chromedp.Navigate("file://"+file)); err != nil {
		t.Fatal(err)
	}
	over, err := chromedp.Run(ctx, chromedp.Evaluate[string](
		`[...document.querySelectorAll("p, svg")].filter(e => { const r = e.getBoundingClientRect(); return r.left < -1 || r.right > innerWidth + 1 || e.scrollWidth > e.clientWidth + 1 && e.tagName === "P" }).map(e => e.tagName + " " + e.textContent.slice(0, 30)).join("; ")`))
	if err != nil {
		t.Fatal(err)
	}
	pdf, err = chromedp.Run(ctx, chromedp.PrintToPDF(func(p *page.PrintToPDFParams) {
		p.PaperWidth, p.PaperHeight = width, height
		p.MarginTop, p.MarginBottom, p.MarginLeft, p.MarginRight = nil, nil, nil, nil
	}))
	if err != nil {
		t.Fatal(err)
	}
	return pdf, over
}
