package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

// StockLot is a lot with what it has, where.
type StockLot struct {
	book.Lot
	Places []ledger.Balance `json:"places"`
	Pieces int64            `json:"pieces"`
	Carats num.Carat        `json:"carats"`
	Cost   num.Money        `json:"cost"`
}

// LotShow is one lot: what it is, what it has, what it came from and became.
type LotShow struct {
	StockLot
	Children []string      `json:"children"`
	Readings int           `json:"readings"`
	Reports  []book.Report `json:"reports"`
	Holds    []book.Hold   `json:"holds"`
}

// LotHistory is what happened to a lot: its versions and its entries.
type LotHistory struct {
	Lot      string         `json:"lot"`
	Versions []book.Lot     `json:"versions"`
	Entries  []ledger.Entry `json:"entries"`
}
