package bot

import (
	"context"
	"encoding/base32"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/dialog"
	"samelift/internal/picture"
	"samelift/internal/sheet"
	"samelift/internal/store"
)

// sheetPrefix begins what the code on a paper sheet says. The rest is drawn by lot: it
// tells nothing, and opens nothing to anybody who may not see the client.
const sheetPrefix = "plan_"

// sheetLetters avoid those that are mistaken for one another on paper.
var sheetLetters = base32.NewEncoding("abcdefghjkmnpqrstuvwxyz023456789").WithPadding(base32.NoPadding)

// ErrNoSheet says why there is no sheet.
var ErrNoSheet = errors.New("the site has no such client with a plan in force: there is nothing that may go on paper")

// Sheet makes the paper sheet of a client's plan in a language; an empty one means the
// site's. link makes of the sheet's code what the QR code holds; nil means the code.
func (b *Bot) Sheet(ctx context.Context, site, client, lang string, link func(code string) string) (sheet.Page, error) {
	var page sheet.Page
	err := b.Store.Update(ctx, b.Now(), func(tx *store.Tx) error {
		s, err := tx.Site(site)
		if err != nil {
			return err
		}
		if s == nil {
			return ErrNoSheet
		}
		if lang == "" {
			lang = s.Lang
		}
		if !b.Words.Has(lang) {
			return fmt.Errorf("there are no words in the language %q", lang)
		}
		p, ok := dialog.SheetOf(dialog.Facts{Now: tx.Now, Site: s, Me: care.Person{Lang: lang}}, client)
		if !ok {
			return ErrNoSheet
		}
		raw := make([]byte, 10)
		if _, err := io.ReadFull(b.Rand, raw); err != nil {
			return fmt.Errorf("make a code: %w", err)
		}
		code := sheetPrefix + sheetLetters.EncodeToString(raw)
		if err := tx.SaveSheet(code, store.Sheet{Site: site, Client: client, Version: p.Version}); err != nil {
			return err
		}
		holds := code
		if link != nil {
			holds = link(code)
		}
		page, err = wording{printer: b.Words.Printer(lang, s.Location()), code: code}.page(p, holds)
		return err
	})
	return page, err
}

func (w wording) page(p dialog.PlanSheet, code string) (sheet.Page, error) {
	out := sheet.Page{Lang: w.printer.Code, RTL: w.printer.RTL}
	var err error
	if out.Code, err = picture.QR(code); err != nil {
		return out, err
	}
	if out.Title, err = w.words(dialog.Words{Key: "sheet.title"}); err != nil {
		return out, err
	}
	out.CodeAlt = code
	for _, l := range p.Leaves {
		var leaf sheet.Leaf
		for _, part := range []struct {
			to   *[]chat.Paragraph
			from []dialog.Line
		}{{&leaf.Who, l.Who}, {&leaf.Checks, l.Checks}, {&leaf.Stops, l.Stops}, {&leaf.Facts, l.Facts}, {&leaf.Cautions, l.Cautions}, {&leaf.Foot, l.Foot}} {
			if *part.to, err = w.body(part.from); err != nil {
				return out, err
			}
		}
		for i := range leaf.Foot {
			leaf.Foot[i].Text = inOnePiece(leaf.Foot[i].Text)
		}
		for i := range leaf.Stops {
			leaf.Stops[i].Text = inOnePiece(leaf.Stops[i].Text)
		}
		for _, lines := range l.Blocks {
			block, err := w.body(lines)
			if err != nil {
				return out, err
			}
			leaf.Blocks = append(leaf.Blocks, block)
		}
		if l.Picture != nil {
			if leaf.Alt, err = w.alt(l.Picture.Alt); err != nil {
				return out, err
			}
			leaf.Picture = &l.Picture.Drawing
		}
		out.Leaves = append(out.Leaves, leaf)
	}
	return out, nil
}

// inOnePiece keeps a telephone number from being parted at the end of a line.
func inOnePiece(s string) string { return betweenDigits.ReplaceAllString(s, "$1\u00a0$2") }

var betweenDigits = regexp.MustCompile(`([0-9]) ([0-9])`)

// scanned reads the code of a paper sheet out of what was opened, scanned or typed.
func scanned(e dialog.Event) (string, bool) {
	code := e.Text
	if e.Command == "start" {
		code = e.Rest
	}
	code = strings.ToLower(strings.TrimSpace(code))
	return code, strings.HasPrefix(code, sheetPrefix) && !strings.ContainsAny(code, " \n")
}

// scan makes of the code of a sheet the event of looking that sheet up.
func (b *Bot) scan(tx *store.Tx, site, code string) (dialog.Event, error) {
	s, ok, err := tx.Sheet(site, code)
	if err != nil || !ok {
		return dialog.Event{Action: &dialog.Action{Do: "sheet.unknown"}}, err
	}
	return dialog.Event{Action: &dialog.Action{Do: "sheet", Client: s.Client, Version: s.Version}}, nil
}
