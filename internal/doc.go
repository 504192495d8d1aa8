// Package internal is the house. Its rooms and who may enter which:
//
//	care       -> nothing of ours
//	rules      -> care
//	ask        -> care
//	picture    -> care rules
//	dialog     -> care rules ask picture
//	chat       -> nothing of ours
//	telegram   -> chat
//	simulator  -> chat
//	locale     -> care locales
//	sitefile   -> care rules testdata/sites
//	store      -> care chat migrations
//	sheet      -> chat picture
//	bot        -> care rules ask dialog picture sheet chat locale store sitefile
//	outbox     -> chat store
//	schedule   -> bot store
//	cli        -> anything
//	transcript -> anything (tests only)
//
// A test reads `go list` and compares.
package internal
