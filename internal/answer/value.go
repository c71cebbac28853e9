package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// ValueRow is the valuation of one lot.
type ValueRow struct {
	Lot       string     `json:"lot"`
	Parcel    string     `json:"parcel"`
	Name      string     `json:"name"`
	Pieces    int64      `json:"pieces"`
	Carats    num.Carat  `json:"carats"`
	Cost      num.Money  `json:"cost"`
	NRV       *num.Money `json:"nrv"`        // null: the price list does not know it
	WriteDown num.Money  `json:"write_down"` // item by item, never by class
	Days      int        `json:"days"`       // since the parcel's date
}

// StockValue is the valuation of the dealer's own stock. Lots of others are
// counted and carry no value.
type StockValue struct {
	On        book.Date  `json:"on"`
	Rows      []ValueRow `json:"rows"`
	Cost      num.Money  `json:"cost"`
	WriteDown num.Money  `json:"write_down"`
	Value     num.Money  `json:"value"`    // lower of cost and net realisable value
	Unpriced  int        `json:"unpriced"` // rows without a price: held at cost
	Others    int        `json:"others"`   // lots of others, out of the valuation
}
