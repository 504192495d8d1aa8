// Package locales holds the words that people read, one file a language.
package locales

import "embed"

// Files holds the locale files.
//
//go:embed *.yaml
var Files embed.FS
