// Package sheet lays a plan out on paper: one HTML page that needs nothing from
// anywhere else, one leaf for each transfer, for A4 and Letter alike. It owns the
// layout and no words; it escapes all that it is given but the drawings.
package sheet

import (
	_ "embed"
	"html/template"
	"io"

	"samelift/internal/chat"
	"samelift/internal/picture"
)

// Page is a whole plan in one reader's language.
type Page struct {
	// Lang and RTL say how the page is read.
	Lang  string
	RTL   bool
	Title string
	// Code is the QR code that every leaf carries, and CodeAlt its words.
	Code    picture.Drawing
	CodeAlt string
	Leaves  []Leaf
}

// Leaf is one transfer, complete in itself.
type Leaf struct {
	Who, Checks, Stops []chat.Paragraph
	// Picture is the sling, or nil; Alt says what it shows.
	Picture *picture.Drawing
	Alt     string
	// Cautions stand under the picture, Facts beside it. Blocks are on the back, under
	// Who again; each begins with its title.
	Cautions, Facts []chat.Paragraph
	Blocks          [][]chat.Paragraph
	Foot            []chat.Paragraph
}

//go:embed sheet.html
var layout string

//go:embed sheet.css
var style string

var page = template.Must(template.New("sheet").Funcs(template.FuncMap{
	"style": func() template.CSS { return template.CSS(style) },
	// A drawing is our own marks and figures, escaped where it is made.
	"svg":   func(d picture.Drawing, label string) template.HTML { return template.HTML(d.SVG(label)) },
	"deref": func(d *picture.Drawing) picture.Drawing { return *d },
	"dir": func(rtl bool) string {
		if rtl {
			return "rtl"
		}
		return "ltr"
	},
}).Parse(layout))

// Write writes the page.
func (p Page) Write(w io.Writer) error { return page.Execute(w, p) }
