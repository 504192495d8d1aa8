// Package picture draws what a transfer plan says for people who would rather
// look than read: the sling with the loop to take at each point, how a person
// will hang with these loops, and a coordinator's charts.
//
// It owns the drawings, the facts a text alternative is made of, and the
// reckoning of how a person hangs. It leaves words to locale, judgements on a
// plan to rules, and pages and messages to those who send them. A picture holds
// no words: figures, dates, and the size and label as they are printed.
//
// The package knows no clock, no disk, no network and no language. A drawing is
// true to the plan or it is not made: what the plan does not state is a question
// mark at that place, and a plan that does not fit its sling range is a *Refusal.
//
// One list of vector marks gives SVG and PNG alike, by gonum.org/v1/plot/vg.
// Letters are drawn as outlines of the Go font, so that they look the same
// everywhere and nothing has to be fetched.
package picture
