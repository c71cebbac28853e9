package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// StockList heads a list of lots, or of lots by place. Its rows are streamed:
// a book may hold a million.
type StockList struct {
	Head
	Scope   string `json:"scope"`    // what was asked for, in words: "all lots in the safe"
	ByPlace bool   `json:"by_place"` // one row per lot and place
	Costs   bool   `json:"costs"`    // whether costs are shown
}

// StockRow is one lot, at one place when the list is by place.
type StockRow struct {
	Lot       string    `json:"lot"`
	Parcel    string    `json:"parcel"`
	Label     string    `json:"label"`
	Name      string    `json:"name"`
	Species   string    `json:"species"`
	Nature    string    `json:"nature"`
	Treatment string    `json:"treatment"`
	Identity  string    `json:"identity"`
	Shape     string    `json:"shape"`
	Length    book.Size `json:"length"`
	Width     book.Size `json:"width"`
	Depth     book.Size `json:"depth"`
	Color     string    `json:"color"`
	Clarity   string    `json:"clarity"`
	Place     string    `json:"place"`
	Owner     string    `json:"owner"`
	Pieces    int64     `json:"pieces"`
	Estimated bool      `json:"estimated"` // pieces estimated, not counted
	Carats    num.Carat `json:"carats"`
	Cost      num.Money `json:"cost"`
	Note      string    `json:"note"`
}

// Valuation is the stock at cost, at net realisable value and at the lower of
// the two, item by item (IAS 2), grouped by parcel, species or place.
type Valuation struct {
	Head
	Scope string         `json:"scope"`
	By    string         `json:"by"` // parcel, species, place
	Rows  []ValuationRow `json:"rows"`
}

// ValuationRow is one lot. A lot without a price in the price list has no NRV.
type ValuationRow struct {
	Group  string     `json:"group"` // the parcel, species or place
	Lot    string     `json:"lot"`
	Name   string     `json:"name"`
	Place  string     `json:"place"`
	Owner  string     `json:"owner"`
	Pieces int64      `json:"pieces"`
	Carats num.Carat  `json:"carats"`
	Cost   num.Money  `json:"cost"`
	NRV    *num.Money `json:"nrv"` // null: no price known
	Price  string     `json:"price"`
	Bought book.Date  `json:"bought"`
	Days   int64      `json:"days"` // held
}

// WriteDown is what the lot stands above its net realisable value; zero when
// that is not known.
func (r ValuationRow) WriteDown() num.Money {
	if r.NRV == nil || r.NRV.Cmp(r.Cost) >= 0 {
		return num.Zero(r.Cost.Currency())
	}
	return r.Cost.Sub(*r.NRV)
}

// JSON is the model's canonical form: lotpaper/stock-valuation/1.
func (v *Valuation) JSON() ([]byte, error) { return encode("lotpaper/stock-valuation/1", v) }
