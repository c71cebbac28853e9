package answer

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Opening is the stock that a dealer starts with, as it was taken into the book.
type Opening struct {
	On       book.Date      `json:"on"`
	Lots     int            `json:"lots"`
	Pieces   int64          `json:"pieces"`
	Carats   num.Carat      `json:"carats"`
	Cost     num.Money      `json:"cost"` // of the dealer's own
	Parcels  []book.Parcel  `json:"parcels"`
	Papers   []OpeningPaper `json:"papers"` // that hold what was out
	Entries  []string       `json:"entries"`
	Warnings fault.List     `json:"warnings"`
}

// OpeningPaper is a paper that stones were out on already.
type OpeningPaper struct {
	Number string    `json:"number"`
	Party  string    `json:"party"`
	Due    book.Date `json:"due"`
	Lots   int       `json:"lots"`
	Pieces int64     `json:"pieces"`
	Carats num.Carat `json:"carats"`
}

// Screen is the sums, then parcel by parcel, then what is out.
func (o *Opening) Screen() Screen {
	var s Screen
	s.line("opening stock of %s: %d lots, %d pieces, %s ct, %s; %d parcels, %d papers", o.On, o.Lots, o.Pieces,
		o.Carats, o.Cost.Words(), len(o.Parcels), len(o.Papers))
	parcels := &Table{Header: []string{"parcel", "vendor", "bought", "lots", "pieces", "carats", "cost"},
		Right: []bool{3: true, 4: true, 5: true, 6: true}}
	for _, p := range o.Parcels {
		parcels.Rows = append(parcels.Rows, []string{p.Code, p.Vendor, string(p.On), fmt.Sprint(p.Lots),
			fmt.Sprint(p.Pieces), p.Carats.String(), p.Price.String()})
	}
	s.table(parcels)
	if len(o.Papers) == 0 {
		return s
	}
	papers := &Table{Header: []string{"out on", "with", "due", "lots", "pieces", "carats"},
		Right: []bool{3: true, 4: true, 5: true}}
	for _, p := range o.Papers {
		papers.Rows = append(papers.Rows, []string{p.Number, p.Party, string(p.Due), fmt.Sprint(p.Lots),
			fmt.Sprint(p.Pieces), p.Carats.String()})
	}
	s.table(papers)
	return s
}
