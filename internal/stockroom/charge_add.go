package stockroom

import (
	"cmp"
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// chargeKeys are the kinds of landed cost and the key that each follows when
// none is given: insurance and duty follow value, freight carats.
var chargeKeys = map[string]book.ShareKey{
	"freight": book.ByCarats, "insurance": book.ByCost, "duty": book.ByCost, "tax": book.ByCost,
	"laboratory": book.ByPieces, "cutting": book.ByCarats, "broker": book.ByCost, "bank": book.ByCost,
	"other": book.ByCost, metalCharge: book.ByPieces, makingCharge: book.ByPieces,
}

// chargeKinds are the kinds of landed cost.
var chargeKinds = []string{"freight", "insurance", "duty", "tax", "laboratory", "cutting", "broker", "bank", "other",
	metalCharge, makingCharge}

// ChargeAdd asks to put a landed cost on a parcel or on one lot.
type ChargeAdd struct {
	desk.Write
	Parcel string
	Lot    string // laboratory fees belong to the tested stone
	Kind   string
	Amount num.Money // in its own currency, without recoverable tax
	Tax    num.Money // recoverable: noted, outside cost
	Rate   num.Rate  // book units per unit; zero for the book's currency
	Key    book.ShareKey
	Party  string // who bills it; may be empty
	// Invoiced is the date of its invoice; empty: the business date. A charge that
	// comes late is posted on the day on which it is booked, since cost follows what is
	// held, at the rate of its invoice's day (IAS 21.21).
	Invoiced book.Date
	Note     string
}

// ChargeAdd shares a landed cost over what the parcel's own lots still hold,
// wherever it lies; the part of what was sold or lost goes to charge/variance.
func (room *Room) ChargeAdd(ctx context.Context, r ChargeAdd) (answer.Charged, error) {
	var out answer.Charged
	if _, known := chargeKeys[r.Kind]; !known {
		mend := fault.DidYouMean(r.Kind, chargeKinds)
		if mend == "" {
			mend = fmt.Sprintf("write one of %v", chargeKinds)
		}
		return out, fault.New(fault.Usage, "charge-kind", fmt.Sprintf("%q is no kind of charge", r.Kind), mend).
			AtField("kind")
	}
	if r.Amount.Sign() <= 0 {
		return out, fault.New(fault.Invalid, "charge-amount", "a charge is more than 0",
			"give the amount without recoverable tax").AtField("amount")
	}
	if r.Key == "" {
		r.Key = chargeKeys[r.Kind]
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		if r.Invoiced > s.On {
			return fault.New(fault.Usage, "charge-invoiced", fmt.Sprintf("the invoice is of %s, but is booked on %s",
				r.Invoiced, s.On), "give the date that stands on the invoice").AtField("invoiced")
		}
		rate, err := rateOn(ctx, tx, cmp.Or(r.Invoiced, s.On), r.Amount.Currency(), r.Rate)
		if err != nil {
			return err
		}
		if r.Party != "" {
			if r.Party, err = desk.PartyOf(ctx, tx, "a party", r.Party); err != nil {
				return err
			}
		}
		amount, foreign, f := inBook(tx.Meta().Currency, r.Amount, rate)
		if f != nil {
			return f
		}
		tax, _, f := inBook(tx.Meta().Currency, r.Tax, rate)
		if f != nil {
			return f
		}
		number, err := tx.Next(ctx, string(book.KindCharge))
		if err != nil {
			return err
		}
		c := book.Charge{
			Code: fmt.Sprintf("C%d", number), Party: r.Party, Parcel: r.Parcel, Lot: r.Lot, Kind: r.Kind,
			Amount: amount, Tax: tax,
			Foreign: foreign, Key: r.Key, On: s.On, Note: r.Note,
		}
		if r.Invoiced != s.On {
			c.Invoiced = r.Invoiced
		}
		if foreign != nil {
			c.ForeignTax = r.Tax
		}
		spots, held, err := chargeSpots(ctx, tx, &c)
		if err != nil {
			return err
		}
		if !held {
			return fault.New(fault.Refused, "charge-nothing", "nothing of "+cmp.Or(c.Lot, c.Parcel)+
				" is held any more, so no lot can carry the charge", "book it as an expense outside this book").AtRef(
				c.Parcel)
		}
		e := s.Entry(ledger.Charge, fmt.Sprintf("%s for %s", r.Kind, cmp.Or(c.Parcel, c.Lot)))
		e.Postings, c.Variance = chargePostings(c, spots, book.PlaceOf(book.AtCharge, c.Kind))
		e.Records = []book.Record{c}
		out.Charge = c
		out.Moved, err = post(ctx, tx, &e)
		return err
	})
	return out, err
}

// chargeSpots are the balances that a charge on a lot or a parcel is shared
// over: real places and what went out by sale or loss; and whether anything is
// held of it.
func chargeSpots(ctx context.Context, tx store.Tx, c *book.Charge) (out []ledger.Balance, held bool, err error) {
	var lots []book.Lot
	if c.Lot != "" {
		lot, err := desk.Named[book.Lot](ctx, tx, c.Lot)
		if err != nil {
			return nil, false, err
		}
		if !lot.Owner.IsOwn() {
			return nil, false, fault.New(fault.Refused, "charge-not-own",
				fmt.Sprintf("%s belongs to %s and carries no cost",
					lot.Code, lot.Owner), "book it as an expense outside this book").AtRef(lot.Code)
		}
		c.Lot, c.Parcel = lot.Code, lot.Parcel
		if f := ofPiece(c.Kind, lot); f != nil {
			return nil, false, f
		}
		lots = []book.Lot{lot}
	} else {
		parcel, err := desk.ParcelNamed(ctx, tx, c.Parcel)
		if err != nil {
			return nil, false, err
		}
		c.Parcel = parcel.Code
		if f := ofPiece(c.Kind, book.Lot{Code: parcel.Code}); f != nil {
			return nil, false, f
		}
		if lots, err = store.Of[book.Lot](ctx, tx, book.ToParcel(parcel.Code)); err != nil {
			return nil, false, err
		}
	}
	for _, lot := range lots {
		if !lot.Owner.IsOwn() {
			continue
		}
		balances, err := tx.Balances(ctx, store.BalanceFilter{Lot: lot.Code})
		if err != nil {
			return nil, false, err
		}
		spots := withoutFinds(balances)
		for _, b := range spots {
			held = held || b.Place.IsReal()
		}
		out = append(out, spots...)
	}
	return out, held, nil
}

// ofPiece refuses metal and making on stones: they are the cost of a finished piece,
// and a lot's average would carry them to other stones.
func ofPiece(kind string, lot book.Lot) *fault.Fault {
	if kind != metalCharge && kind != makingCharge || lot.IsPiece() {
		return nil
	}
	return fault.New(fault.Usage, "charge-piece", fmt.Sprintf("%s is the cost of a finished piece, but %s is stones",
		kind, lot.Code), "name the piece").AtRef(lot.Code).AtField("lot").Do("piece", "list")
}

// withoutFinds are the spots of one lot that a charge is shared over: what it
// has, and what was sold or lost of it. Stones that were found again take no
// charge: they come off what was lost, then off what is held, so that a lot never
// counts for more than was bought.
func withoutFinds(balances []ledger.Balance) []ledger.Balance {
	var spots []ledger.Balance
	var found ledger.Total
	for _, b := range balances {
		switch {
		case gone(b.Place) && (b.Pieces < 0 || b.Carats < 0):
			found.Pieces -= min(0, b.Pieces)
			found.Carats -= min(0, b.Carats)
		case b.Place.IsReal() && b.Pieces > 0 || gone(b.Place):
			spots = append(spots, b)
		}
	}
	for _, lost := range []bool{true, false} {
		for i, b := range spots {
			if gone(b.Place) == lost && b.Place.Kind() != book.AtCustomer {
				p, c := min(found.Pieces, b.Pieces), min(found.Carats, b.Carats)
				spots[i].Pieces -= p
				spots[i].Carats -= c
				found.Pieces -= p
				found.Carats -= c
			}
		}
	}
	return spots
}

// gone reports whether pieces at p were sold, lost or claimed, so that their
// part of a late charge is a variance.
func gone(p book.Place) bool {
	return p.Kind() == book.AtCustomer || p == book.LossBreakage || p == book.LossCount || p == chargedClaim
}

// chargedClaim takes the cost of stones that a party owes.
const chargedClaim book.Place = book.AtCharge + "/claim"

// chargePostings share a charge over its spots, from the boundary that it comes
// in by, and say what of it fell on what is gone. A rebate takes no more off a lot
// than it carries, such as one that was written down: the rest is a variance too.
func chargePostings(c book.Charge, spots []ledger.Balance, from book.Place) ([]ledger.Posting, num.Money) {
	weights := make([]num.Dec, len(spots))
	for i, b := range spots {
		switch c.Key {
		case book.ByCarats:
			weights[i] = b.Carats.Dec()
		case book.ByPieces:
			weights[i] = num.Int(b.Pieces)
		default:
			weights[i] = b.Cost.Dec()
		}
	}
	shares := c.Amount.Share(weights)
	variance := num.Zero(c.Amount.Currency())
	var out []ledger.Posting
	add := func(b ledger.Balance, to book.Place, cost num.Money) {
		if cost.IsZero() {
			return
		}
		if to == book.ChargeVariance {
			variance = variance.Add(cost)
		}
		out = append(out, ledger.Move(b.Lot, from, to, 0, 0, cost)...)
	}
	for i, b := range spots {
		switch {
		case gone(b.Place):
			add(b, book.ChargeVariance, shares[i])
		case shares[i].Add(b.Cost).Sign() < 0: // no more comes off than is there
			add(b, b.Place, b.Cost.Neg())
			add(b, book.ChargeVariance, shares[i].Add(b.Cost))
		default:
			add(b, b.Place, shares[i])
		}
	}
	return out, variance
}

// inBook turns an amount into the book's currency and keeps what it was.
func inBook(currency num.Currency, m num.Money, rate num.Rate) (num.Money, *book.ForeignPrice, *fault.Fault) {
	if m.Currency() == "" {
		return num.Zero(currency), nil, nil
	}
	if m.Currency() == currency {
		return m.Round(num.HalfUp), nil, nil
	}
	if rate == (num.Rate{}) {
		return num.Money{}, nil, fault.New(fault.Invalid, "rate-missing",
			fmt.Sprintf("an amount in %s needs a rate to %s", m.Currency(), currency), "give the rate, or import the "+
				"day's rates").AtField("rate").Do("rates", "import")
	}
	return m.Convert(rate, currency, num.HalfUp), &book.ForeignPrice{Amount: m, Rate: rate}, nil
}
