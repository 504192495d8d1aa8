// Package askwords holds the words by which a carer's question is understood, a
// file per language, for a native speaker to mend. What the words mean to the
// reading is internal/ask; the words the bot says are in locales.
package askwords

import "embed"

// FS holds one YAML file per language and names.yaml.
//
//go:embed *.yaml
var FS embed.FS
