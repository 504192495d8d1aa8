// Package transcript plays written conversations against the real bot, store, outbox
// and schedule on a real database file; only the transport and the clock are fakes.
// It is used by tests only. The form of a story is in DEVELOPERS.md.
package transcript
