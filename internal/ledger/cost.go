package ledger

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Take is how much of a lot's cost leaves with pieces that leave a place. Cost
// leaves by average over all the real places of the lot, by carats when the
// lot is weighed and by pieces otherwise; what empties a place takes all that
// the place carries, so that nothing is left without pieces. A one-piece lot
// so carries its own cost.
func Take(balances []Balance, from book.Place, pieces int64, carats num.Carat) (num.Money, *fault.Fault) {
	if pieces <= 0 || carats < 0 {
		return num.Money{}, fault.New(fault.Invalid, "take-nothing", "pieces to move must be 1 or more, and their "+
			"weight not negative", "give the count and the weight that move")
	}
	costs, f := Leave(balances, from, []Leaving{{Pieces: pieces, Carats: carats}})
	if f != nil {
		return num.Money{}, f
	}
	return costs[0], nil
}

// Move returns the two postings that carry pieces, carats and cost of one lot
// from one place to another.
func Move(lot string, from, to book.Place, pieces int64, carats num.Carat, cost num.Money) []Posting {
	return []Posting{
		{lot, from, -pieces, -carats, cost.Neg()},
		{lot, to, pieces, carats, cost},
	}
}

// Part is one result of dividing a lot: what goes into one new lot.
type Part struct {
	Lot    string
	Pieces int64
	Carats num.Carat
	Weight num.Dec   // its weight in the sharing of cost: value, NRV, carats or pieces
	Fixed  num.Money // a selection's pick price, or a reject's NRV, taken first; zero: shares
}

// Divide shares what lot has at place over the parts: cost by their weights
// after the fixed amounts, the scale's difference to loss/weighing. Pieces
// must add up. The weighing difference may be at most tolerance carats.
func Divide(from Balance, parts []Part, tolerance num.Carat) ([]Posting, fault.List) {
	var l fault.List
	var pieces int64
	var carats num.Carat
	rest := from.Cost
	weights := make([]num.Dec, len(parts))
	for i, p := range parts {
		if p.Pieces <= 0 || p.Carats <= 0 {
			l.Add(fault.New(fault.Invalid, "part-empty", fmt.Sprintf("part %s has %d pieces and %s ct", p.Lot, p.Pieces,
				p.Carats), "give each part its pieces and weight").AtRef(p.Lot))
		}
		pieces += p.Pieces
		carats += p.Carats
		rest = rest.Sub(p.Fixed)
		if p.Fixed.IsZero() {
			weights[i] = p.Weight
		}
	}
	if pieces != from.Pieces {
		l.Add(fault.New(fault.Refused, "sort-pieces",
			fmt.Sprintf("the parts have %d pieces, but %s has %d at %s", pieces, from.Lot, from.Pieces, from.Place),
			"count again; a lost or broken piece is its own entry").AtRef(from.Lot).Do("lot", "adjust", from.Lot))
	}
	diff := from.Carats - carats
	if diff > tolerance || -diff > tolerance {
		l.Add(fault.New(fault.Refused, "sort-weight",
			fmt.Sprintf("the parts weigh %s ct, but %s has %s ct at %s: the difference of %s ct is over the book's "+
				"tolerance of %s ct", carats, from.Lot, from.Carats, from.Place, diff, tolerance),
			"weigh again, or raise the setting weighing_tolerance").AtRef(from.Lot).Do("config", "set"))
	}
	if rest.Sign() < 0 {
		l.Add(fault.New(fault.Refused, "sort-fixed", fmt.Sprintf("the fixed amounts are %s more than the lot's cost",
			rest.Neg()), "lower the pick prices").AtRef(from.Lot))
	}
	if l.Blocks() {
		return nil, l
	}
	shares := shareOver(rest, weights, parts)
	out := []Posting{{from.Lot, from.Place, -from.Pieces, -from.Carats, from.Cost.Neg()}}
	for i, p := range parts {
		out = append(out, Posting{p.Lot, from.Place, p.Pieces, p.Carats, shares[i].Add(p.Fixed)})
	}
	if diff != 0 {
		out = append(out, Posting{from.Lot, book.LossWeighing, 0, diff, num.Zero(from.Cost.Currency())})
	}
	return out, nil
}

// shareOver shares the rest over the parts without a fixed amount; over all of
// them when each part is fixed and something is still left.
func shareOver(rest num.Money, weights []num.Dec, parts []Part) []num.Money {
	open := false
	for _, p := range parts {
		open = open || p.Fixed.IsZero()
	}
	if !open {
		for i, p := range parts {
			weights[i] = p.Carats.Dec()
		}
		return rest.Share(weights)
	}
	sum := num.Dec{}
	for _, w := range weights {
		sum = sum.Add(w)
	}
	if sum.IsZero() { // no values given: carats decide among the open parts
		for i, p := range parts {
			if p.Fixed.IsZero() {
				weights[i] = p.Carats.Dec()
			}
		}
	}
	return rest.Share(weights)
}
