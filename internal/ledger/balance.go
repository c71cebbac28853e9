package ledger

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Balance is what one lot has at one place.
type Balance struct {
	Lot    string     `json:"lot"`
	Place  book.Place `json:"place"`
	Pieces int64      `json:"pieces"`
	Carats num.Carat  `json:"carats"`
	Cost   num.Money  `json:"cost"`
}

// Check returns the faults of a balance: at a real place nothing is below
// zero, and no pieces means no carats and no cost.
func (b Balance) Check() *fault.Fault {
	if !b.Place.IsReal() {
		return nil
	}
	switch {
	case b.Pieces < 0 || b.Carats < 0 || b.Cost.Sign() < 0:
		return fault.New(fault.Refused, "balance-below-zero",
			fmt.Sprintf("%s at %s would fall below zero: %d pieces, %s ct, %s", b.Lot, b.Place, b.Pieces,
				b.Carats, b.Cost),
			"see what is there").AtRef(b.Lot).Do("lot", "show", b.Lot)
	case b.Pieces == 0 && (b.Carats != 0 || !b.Cost.IsZero()):
		return fault.New(fault.Refused, "balance-without-pieces",
			fmt.Sprintf("%s at %s would have no pieces but %s ct and %s", b.Lot, b.Place, b.Carats, b.Cost),
			"move the whole weight and cost with the last piece").AtRef(b.Lot)
	}
	return nil
}

type spot struct {
	lot   string
	place book.Place
}

// Balances is the state of a book: what each lot has at each place.
type Balances struct{ at map[spot]Total }

// NewBalances returns an empty state.
func NewBalances() *Balances { return &Balances{at: map[spot]Total{}} }

// Put sets what a lot has at a place, as loaded from a store.
func (b *Balances) Put(x Balance) { b.at[spot{x.Lot, x.Place}] = Total{x.Pieces, x.Carats, x.Cost} }

// Apply checks the law for the state after the whole entry and, when it holds,
// takes the entry in; otherwise the state is as before.
func (b *Balances) Apply(e Entry, currency num.Currency) fault.List {
	l := e.Check(currency)
	next := make(map[spot]Total, len(e.Postings))
	order := make([]spot, 0, len(e.Postings))
	for _, p := range e.Postings {
		k := spot{p.Lot, p.Place}
		t, seen := next[k]
		if !seen {
			t = b.at[k]
			order = append(order, k)
		}
		next[k] = t.Add(p)
	}
	for _, k := range order {
		t := next[k]
		l.Add(Balance{k.lot, k.place, t.Pieces, t.Carats, t.Cost}.Check())
	}
	if l.Blocks() {
		return l
	}
	for k, t := range next {
		if t.IsZero() {
			delete(b.at, k)
		} else {
			b.at[k] = t
		}
	}
	return nil
}
