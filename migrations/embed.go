// Package migrations holds the numbered schema changes, one folder for each
// database engine. They only go forward.
package migrations

import "embed"

// SQLite holds the migrations for SQLite.
//
//go:embed sqlite/*.sql
var SQLite embed.FS
