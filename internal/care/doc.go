// Package care holds the nouns of the work: people, clients, slings, hoists,
// transfer plans, visit notes, incidents and shifts, with the small logic that
// belongs to one value alone.
//
// A zero field of a plan means "the plan does not say". It is never given a
// default here or anywhere else: what is not stated is shown as such, and the
// carer stops and asks.
//
// The package imports the standard library only. It knows no clock, no disk, no
// network and no language: words a person reads are chosen by locale from the
// codes held here.
package care
