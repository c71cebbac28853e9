package stockroom

import (
	"fmt"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// agreedPrice is the price that was agreed for a lot on memo in: in the book's
// currency by the rate of the day when it came, and as it was agreed when that
// was in another one.
type agreedPrice struct {
	book    num.Money
	foreign *book.ForeignPrice
}

func agreedOf(lot book.Lot) agreedPrice { return agreedPrice{lot.Agreed, lot.Foreign} }

func (a agreedPrice) put(lot *book.Lot) { lot.Agreed, lot.Foreign = a.book, a.foreign }

// share divides the price over weights by largest remainder, in both currencies.
func (a agreedPrice) share(weights []num.Dec) []agreedPrice {
	out := make([]agreedPrice, len(weights))
	for i, m := range a.book.Share(weights) {
		out[i].book = m
	}
	if a.foreign != nil {
		for i, m := range a.foreign.Amount.Share(weights) {
			out[i].foreign = &book.ForeignPrice{Amount: m, Rate: a.foreign.Rate}
		}
	}
	return out
}

// agreedPart divides a lent lot's agreed price into that of a part and that of
// all the rest, by carats, by pieces where nothing was weighed.
func agreedPart(lot answer.StockLot, part book.Weighed) (price, rest agreedPrice) {
	weights := []num.Dec{part.Carats.Dec(), (lot.Carats - part.Carats).Dec()}
	if lot.Carats == 0 {
		weights = []num.Dec{num.Int(part.Pieces), num.Int(lot.Pieces - part.Pieces)}
	}
	shares := agreedOf(lot.Lot).share(weights)
	return shares[0], shares[1]
}

// divideAgreed gives new lots the part of a lent lot's agreed price that goes
// into them, shared by weights, and leaves the rest with the lot. Without weights
// there is one new lot.
func (m *mover) divideAgreed(lot answer.StockLot, part book.Weighed, into []*book.Lot, weights []num.Dec) {
	if lot.Owner.Lender() == "" || len(into) == 0 {
		return
	}
	price, rest := agreedPart(lot, part)
	shares := []agreedPrice{price}
	if weights != nil {
		shares = price.share(weights)
	}
	for i, to := range into {
		shares[i].put(to)
	}
	rest.put(&lot.Lot)
	m.record(lot.Lot)
}

// lowerAgreed takes the part of stones that are lost or broken off a lender's agreed
// price, as it falls away for what is given back: what is left is owed for itself
// alone. lot is what it was before. What the lender asks for stones that are gone is
// for the two to settle, so it is said.
func (m *mover) lowerAgreed(lot answer.StockLot, gone book.Weighed) {
	lender := lot.Owner.Lender()
	if lender == "" || gone.Pieces == 0 || agreedOf(lot.Lot).named().IsZero() {
		return
	}
	price, rest := agreedPart(lot, gone)
	if gone.Pieces < lot.Pieces {
		rest.put(&lot.Lot)
		m.record(lot.Lot)
	}
	m.warnings.Add(fault.New(fault.Refused, "lent-gone", fmt.Sprintf("%d pieces of %s are gone, for which %s was "+
		"agreed: what %s asks for them is not booked", gone.Pieces, lot.Code, price.words(), lender),
		"settle it with the lender; stones that are bought before they are lost are a loss of your own").
		AtRef(lot.Code).AsWarning())
}

// goneOf is what lines of a batch say is broken or missing of a lot.
func goneOf(lines []book.BatchLine) book.Weighed {
	var gone book.Weighed
	for _, l := range lines {
		if l.Outcome == book.Broken || l.Outcome == book.Missing {
			gone.Pieces += l.Off.Pieces
			gone.Carats += l.Off.Carats
		}
	}
	return gone
}

// cutAgreed gives what was cut of a lender's lot its part of the agreed price, as cost
// follows stones: by the weight that it was cut from, which before has, against what of
// the lot came back uncut or is still out. Rough that is left over and chips take none
// while anything else is there.
func (c *receipt) cutAgreed(lot answer.StockLot, before, lines []book.BatchLine) {
	if lot.Owner.Lender() == "" {
		return
	}
	for _, r := range c.entry.Records { // with what broke taken off its price
		if now, is := r.(book.Lot); is && now.Code == lot.Code {
			lot.Lot = now
		}
	}
	var cut []string
	var weights []num.Dec
	stays := lot.Carats
	for i, l := range lines {
		stays -= l.Off.Carats
		switch l.Outcome {
		case book.Unworked:
			stays += l.Carats
		case book.Accepted, book.Rejected:
			cut, weights = append(cut, l.Into), append(weights, before[i].Off.Carats.Dec())
		}
	}
	if len(cut) == 0 {
		return
	}
	shares := agreedOf(lot.Lot).share(append(weights, stays.Dec()))
	for i, r := range c.entry.Records {
		made, is := r.(book.Lot)
		if at := slices.Index(cut, made.Code); is && at >= 0 {
			shares[at].put(&made)
			c.entry.Records[i] = made
		}
	}
	shares[len(cut)].put(&lot.Lot)
	c.record(lot.Lot)
}

// mergeAgreed adds the part of a lent lot's agreed price that goes into a merged
// lot. The merged lot is due when the first of its parts is.
func (m *mover) mergeAgreed(merged *book.Lot, lot answer.StockLot, part book.Weighed, first bool) *fault.Fault {
	if lot.Owner.Lender() == "" {
		return nil
	}
	price, rest := agreedPart(lot, part)
	if !first {
		sum := agreedOf(*merged)
		if sum.currency() != price.currency() || sum.book.IsZero() != price.book.IsZero() {
			return fault.New(fault.Refused, "merge-agreed",
				fmt.Sprintf("%s was lent for %s, the others for %s: a merged "+
					"lot has one agreed price", lot.Code, agreedOf(lot.Lot).words(), sum.words()),
				"buy or return them apart").AtRef(lot.Code)
		}
		price.book = price.book.Add(sum.book)
		if price.foreign != nil {
			price.foreign = &book.ForeignPrice{Amount: price.foreign.Amount.Add(sum.foreign.Amount),
				Rate: sum.foreign.Rate}
		}
	}
	price.put(merged)
	if merged.Due == "" || lot.Due != "" && lot.Due < merged.Due {
		merged.Due = lot.Due
	}
	rest.put(&lot.Lot)
	m.record(lot.Lot)
	return nil
}

// currency is that of the price as it was agreed.
func (a agreedPrice) currency() num.Currency { return a.named().Currency() }

// named is the price as it was agreed.
func (a agreedPrice) named() num.Money {
	if a.foreign != nil {
		return a.foreign.Amount
	}
	return a.book
}

func (a agreedPrice) words() string {
	if a.named().IsZero() {
		return "no price"
	}
	return a.named().Words()
}

// notInCustody refuses what may never be done with a customer's own stones: act
// says what was asked for.
func notInCustody(lot book.Lot, act string) *fault.Fault {
	customer := lot.Owner.Customer()
	if customer == "" {
		return nil
	}
	return fault.New(fault.Refused, "in-custody", fmt.Sprintf("%s is %s's own: it is in custody and cannot be %s",
		lot.Code, customer, act), "it is worked on and goes back").AtRef(lot.Code).Do("memo", "return", lot.Code)
}
