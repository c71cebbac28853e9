// Package data embeds the tables of facts and rules, each row with its source.
// It holds no code: internal/facts and the packages that own a rule table
// give them types.
package data

import "embed"

// FS holds every table of this folder, read by file name.
//
//go:embed *.csv
var FS embed.FS
