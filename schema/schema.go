// Package schema embeds the migrations of a book, one folder an engine. They
// are numbered, go forward only, and never change once released: a test pins
// their hashes. Migrations never touch entries.body.
package schema

import "embed"

// SQLite holds the migrations of the SQLite engine in the folder "sqlite".
//
//go:embed sqlite/*.sql
var SQLite embed.FS
