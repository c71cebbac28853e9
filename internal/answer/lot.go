package answer

import (
	"cmp"
	"fmt"
	"strings"

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

// treatment is what is stated of the treatment, in words.
func (s *StockLot) treatment() string { return cmp.Or(s.Facets.Treatment.Value, "not stated") }

// counted says whether the pieces were counted.
func (s *StockLot) counted() string {
	if s.Estimated {
		return "estimated"
	}
	return "counted"
}

// where names the places of the lot; with several, how many pieces lie in each.
func (s *StockLot) where() string {
	if len(s.Places) == 1 {
		return string(s.Places[0].Place)
	}
	var places []string
	for _, b := range s.Places {
		places = append(places, fmt.Sprintf("%s %d", b.Place, b.Pieces))
	}
	return strings.Join(places, ", ")
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
