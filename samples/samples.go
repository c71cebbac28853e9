// Package samples holds the files of an invented dealer who plans a small line
// in sea colours from a mixed blue-to-green parcel. Every name, place, price
// and reading is invented; sizes, weights and constants are those that such
// stones have.
package samples

import "embed"

// FS holds the files: the parcel (parcel.csv, stones.csv), the lot on memo in
// (memo.csv), the bench (readings.csv), the dealer's rates and prices
// (rates.csv, prices.csv) and the line (designs.csv, positions.csv).
//
//go:embed *.csv
var FS embed.FS
