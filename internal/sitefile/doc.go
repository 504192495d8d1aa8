// Package sitefile reads and writes the one file that describes a site: its shifts,
// its people, its slings and hoists, its clients and their transfer plans.
// testdata/sites/reference.yaml shows every field with a word about each.
//
// The file is YAML 1.2 in plain style: one document of at most 4 MiB, no anchors,
// no aliases and no tags. Every scalar is read as the text that stands in the file,
// so yes, no, on and off are words like any other and 63.50 is sixty-three and a half
// kilograms exactly. A field that the format does not have is a fault, and so is a
// field that stands twice.
//
// A file describes what it names and is silent about the rest: what it does not name
// stays in the store as it is. Somebody leaves by "state: removed", a client by
// "state: ended". A field left out of an entry is unknown or not stated; nothing is
// ever filled in. A plan that is silent, or that cannot be used today, is no fault
// here: package rules speaks of that.
//
// Whether the store takes a version it has already, and what becomes of changes, is
// the importer's to decide.
package sitefile
