// Package rules holds the trade's judgements: may this transfer be done now, with this
// sling and this hoist, and what does a handover say first. It answers with findings,
// a key with arguments, a severity and the source of the fact, and never with a
// sentence; locale has the words.
//
// The rules never make an instruction. They compare what the plan says with what is
// known of the person and the equipment, and where either is silent they say so: what
// is not stated or not known is never taken to be right.
//
// The package reads no clock: a day or an instant is always an argument, and a day is
// a day on the site's own calendar.
package rules
