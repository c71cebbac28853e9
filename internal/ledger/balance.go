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

// Spot is a lot at a place.
type Spot struct {
	Lot   string
	Place book.Place
}

// Balances is the state of a book: what each lot has at each place, without
// zeros.
type Balances struct{ Held map[Spot]Total }

// NewBalances returns an empty state.
func NewBalances() *Balances { return &Balances{Held: map[Spot]Total{}} }

// Put sets what a lot has at a place, as loaded from a store.
func (b *Balances) Put(x Balance) { b.Held[Spot{x.Lot, x.Place}] = Total{x.Pieces, x.Carats, x.Cost} }

// Apply checks the law for the state after the whole entry and, when it holds,
// takes the entry in; otherwise the state is as before.
func (b *Balances) Apply(e Entry, currency num.Currency) fault.List {
	l := e.Check(currency)
	next := make(map[Spot]Total, len(e.Postings))
	order := make([]Spot, 0, len(e.Postings))
	for _, p := range e.Postings {
		k := Spot{p.Lot, p.Place}
		t, seen := next[k]
		if !seen {
			t = b.Held[k]
			order = append(order, k)
		}
		next[k] = t.Add(p)
	}
	for _, k := range order {
		t := next[k]
		l.Add(Balance{k.Lot, k.Place, t.Pieces, t.Carats, t.Cost}.Check())
	}
	if l.Blocks() {
		return l
	}
	for k, t := range next {
		if t.IsZero() {
			delete(b.Held, k)
		} else {
			b.Held[k] = t
		}
	}
	return nil
}
