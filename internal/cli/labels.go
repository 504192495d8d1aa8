package cli

import (
	"bytes"
	"fmt"
	"html/template"
	"os"
	"strings"

	"samelift/internal/bot"
	"samelift/internal/care"
	"samelift/internal/locale"
	"samelift/internal/picture"
)

// Labels writes a sheet of labels.
type Labels struct {
	Database
	Site string `help:"The site, where the database has several." placeholder:"REF"`
	Lang string `help:"The language of the sheet; the site's own if left out." placeholder:"xx"`
	Link string `help:"What a code is opened with, such as https://t.me/BOT?start= with the bot's own name; without it the code is the words to write to the bot." placeholder:"URL"`
	Out  string `help:"Where to write; standard output if left out." placeholder:"FILE"`
}

// A printedLabel is one label of the sheet. It names nobody in clear.
type printedLabel struct {
	QR   template.HTML
	Name string
	More string
	Type string
}

// Run writes one page of HTML that needs nothing else, with the codes drawn in it.
func (c *Labels) Run(e *Env) error {
	if _, err := os.Stat(c.DB); err != nil {
		return fmt.Errorf("there is no database %s: name it with --db, or make one with samelift import FILE", c.DB)
	}
	h, err := e.build(c.DB, e.now)
	if err != nil {
		return err
	}
	defer h.store.Close()
	ref, err := onlySite(e.ctx, h.store, e.now(), c.Site)
	if err != nil {
		return err
	}
	site, labels, err := h.bot.Labels(e.ctx, ref)
	if err != nil {
		return err
	}
	lang := c.Lang
	if lang == "" {
		lang = site.Lang
	}
	if !h.words.Has(lang) {
		return fmt.Errorf("there are no words in the language %q: choose another with --lang", lang)
	}
	page, err := labelSheet(h.words.Printer(lang, site.Location()), site, labels, c.Link)
	if err != nil {
		return err
	}
	if c.Out == "" || c.Out == "-" {
		_, err = e.stdout.Write(page)
		return err
	}
	// The sheet has initials and rooms on it: only its owner may read it.
	return os.WriteFile(c.Out, page, 0o600)
}

// labelSheet lays the labels out.
func labelSheet(p *locale.Printer, site *care.Site, labels []bot.Label, link string) ([]byte, error) {
	said := func(key string, args map[string]any) string {
		s, _ := p.Say(key, args) // a key without words is found by the test of the locales
		return s
	}
	sheet := struct {
		Lang, Dir, Title, How, Or string
		Labels                    []printedLabel
	}{Lang: p.Code, Dir: "ltr", Title: said("labels.title", map[string]any{"Site": site.Name}), How: said("labels.how", nil), Or: said("labels.type", nil)}
	if p.RTL {
		sheet.Dir = "rtl"
	}
	for _, l := range labels {
		text := "/start " + l.Code
		x := printedLabel{Name: l.Ref, Type: text}
		if link != "" {
			text, x.Type = link+l.Code, ""
		}
		switch l.Kind {
		case care.ClientLabel:
			client, _ := site.Client(l.Ref)
			x.Name = care.Initials(client.Name)
			if client.Room != "" {
				x.More = said("labels.client", map[string]any{"Room": client.Room})
			}
		default:
			x.More = said("equipment."+string(l.Kind), nil)
		}
		code, err := picture.QR(text)
		if err != nil {
			return nil, fmt.Errorf("draw a code: %w: is --link too long?", err)
		}
		svg := string(code.SVG(""))
		if i := strings.Index(svg, "<svg"); i > 0 {
			svg = svg[i:] // inside a page nothing stands before the drawing
		}
		x.QR = template.HTML(svg)
		sheet.Labels = append(sheet.Labels, x)
	}
	var out bytes.Buffer
	err := labelPage.Execute(&out, sheet)
	return out.Bytes(), err
}

// labelPage fits A4 and Letter: its width is that of the paper less the printer's
// margin, and no label is torn by the end of a page. A code of 34 mm is read from an
// arm's length.
var labelPage = template.Must(template.New("labels").Parse(`<!DOCTYPE html>
<html lang="{{.Lang}}" dir="{{.Dir}}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<meta name="robots" content="noindex">
<title>{{.Title}}</title>
<style>
@page { margin: 12mm }
body { font: 12pt/1.3 system-ui, sans-serif; color: #000; background: #fff; margin: 1rem auto; max-width: 190mm }
h1 { font-size: 14pt; margin: 0 }
p { margin: 0 0 4mm }
.labels { display: grid; grid-template-columns: repeat(3, 1fr); gap: 4mm }
.label { border: 1px dashed #777; padding: 3mm; text-align: center; break-inside: avoid; overflow-wrap: anywhere }
.label svg { width: 34mm; height: 34mm; display: block; margin: 0 auto }
.label b { display: block; font-size: 16pt }
.label small { display: block; font-size: 7.5pt }
.label code { font-size: 7.5pt }
@media print { body { margin: 0; max-width: none } }
</style>
</head>
<body>
<h1>{{.Title}}</h1>
<p>{{.How}}</p>
<div class="labels">
{{- $or := .Or}}
{{- range .Labels}}
<div class="label">{{.QR}}<b><bdi>{{.Name}}</bdi></b>{{.More}}{{if .Type}}<small>{{$or}}</small><code dir="ltr">{{.Type}}</code>{{end}}</div>
{{- end}}
</div>
</body>
</html>
`))
