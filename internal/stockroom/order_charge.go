package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

// The kinds of charges that a cutter bills with what came.
const (
	cuttingCharge = "cutting"
	freightCharge = "freight"
)

// charge puts the cutter's charge on the stones that were cut: by pieces when the
// bid is by the piece, else by carats. The freight goes on all that came as wanted
// or was bought, by carats. Both stay in the cutter's currency beside the book's.
func (c *receipt) charge(ctx context.Context, r OrderReceive) error {
	var cut, carried []book.BatchLine
	var pieces int64
	var carats num.Carat
	for _, l := range c.lines {
		if l.Into == "" || l.Outcome == book.Rough {
			continue
		}
		carried = append(carried, l)
		if l.Lot != "" {
			cut = append(cut, l)
		}
		if l.Outcome == book.Accepted {
			pieces += l.Pieces
			carats += l.Carats
		}
	}
	b, err := c.bid(ctx)
	if err != nil {
		return err
	}
	key := book.ByCarats
	if b != nil {
		c.askBill(b, r, pieces, carats)
		if b.Basis == book.PerPiece {
			key = book.ByPieces
		}
	}
	if err := c.bill(ctx, cuttingCharge, r.Charge, r.Rate, key, cut); err != nil {
		return err
	}
	return c.bill(ctx, freightCharge, r.Freight, r.Rate, book.ByCarats, carried)
}

// askBill warns of what is not billed as the bid that was taken says.
func (c *receipt) askBill(b *book.Bid, r OrderReceive, pieces int64, carats num.Carat) {
	warn := func(code, field, what, mend string) {
		c.warned.Add(fault.New(fault.Invalid, code, what, mend).AtRef(c.order.Number).AtField(field).
			Do("charge", "add").
			AsWarning())
	}
	if b.Freight.Sign() > 0 && r.Freight.IsZero() && len(c.batches) == 0 {
		warn("freight-open", "freight", fmt.Sprintf("the bid has a freight of %s, and none is booked",
			b.Freight.Words()), "give it with what it is billed with, or add it when its invoice comes")
	}
	if pieces == 0 {
		return
	}
	quoted := b.For(pieces, carats, wanted(c.order))
	switch {
	case r.Charge.Sign() <= 0:
		warn("charge-open", "charge", fmt.Sprintf("by bid %s the cutter's charge for these %d stones is %s, and none "+
			"is booked", b.RecordKey(), pieces, quoted.Words()),
			"reverse this and give the charge, or add it to the new lots when the invoice comes")
	case quoted.Currency() == r.Charge.Currency() && quoted.Cmp(r.Charge) != 0:
		warn("charge-quoted", "charge", fmt.Sprintf("the charge is %s, but by bid %s it would be %s", r.Charge.Words(),
			b.RecordKey(), quoted.Words()), "ask the cutter")
	}
}

// bill shares what the cutter bills of one kind over the lots of lines, and keeps a
// charge for each.
func (c *receipt) bill(ctx context.Context, kind string, billed num.Money, rate num.Rate, key book.ShareKey,
	lines []book.BatchLine) error {
	switch {
	case billed.IsZero():
		return nil
	case billed.Sign() < 0:
		return fault.New(fault.Usage, "charge-amount", "what the cutter bills is more than 0", "give the net amount").
			AtField(billedAs[kind])
	case len(lines) == 0:
		return fault.New(fault.Usage, "charge-nothing", "nothing came that could carry the cutter's "+billedAs[kind],
			"leave it out, or book it as a charge of its own").AtField(billedAs[kind]).Do("charge", "add")
	}
	weights := make([]num.Dec, len(lines))
	for i, l := range lines {
		if weights[i] = l.Carats.Dec(); key == book.ByPieces {
			weights[i] = num.Int(l.Pieces)
		}
	}
	amount, foreign, err := c.inBook(ctx, billed, rate)
	if err != nil {
		return err
	}
	n, err := c.tx.Next(ctx, string(book.KindCharge))
	if err != nil {
		return err
	}
	n += int64(len(c.charges))
	invoiced := billed.Share(weights)
	for i, part := range amount.Share(weights) {
		l := lines[i]
		x := book.Charge{Code: fmt.Sprintf("C%d", n+int64(i)), Lot: l.Into, Kind: kind, Amount: part,
			Tax: num.Zero(part.Currency()), Variance: num.Zero(part.Currency()), Key: key, On: c.on,
			Party: c.order.Cutter, Note: kind + " under " + c.order.Number}
		if l.Lot == "" {
			x.Parcel = c.parcel.Code
		} else {
			lot, err := desk.Named[book.Lot](ctx, c.tx, l.Lot)
			if err != nil {
				return err
			}
			x.Parcel = lot.Parcel
		}
		if foreign != nil {
			x.Foreign = &book.ForeignPrice{Amount: invoiced[i], Rate: foreign.Rate}
		}
		c.record(x)
		c.charges = append(c.charges, x)
		if !part.IsZero() {
			c.entry.Postings = append(c.entry.Postings, ledger.Move(x.Lot, book.PlaceOf(book.AtCharge, kind), l.To, 0,
				0,
				part)...)
		}
	}
	return nil
}

// billedAs is what a kind is called, and the field of the request that it is given
// in.
var billedAs = map[string]string{cuttingCharge: "charge", freightCharge: "freight"}

// takeNRV gives rough left over its net realisable value out of the cost that leaves
// with it (IAS 2.14: a by-product that is immaterial is often measured so, and its
// value deducted from the cost of the main product).
func takeNRV(lot string, lines []book.BatchLine, costs []num.Money) *fault.Fault {
	for i, l := range lines {
		if l.NRV == nil {
			continue
		}
		weights := make([]num.Dec, len(costs))
		all := l.NRV.Sub(*l.NRV)
		for j, cost := range costs {
			if lines[j].NRV == nil {
				weights[j], all = cost.Dec(), all.Add(cost)
			}
		}
		if l.NRV.Cmp(all) > 0 {
			return fault.New(fault.Refused, "nrv-over-cost",
				fmt.Sprintf("the rough left over of %s would bring %s, but "+
					"only %s leaves with what came", lot, l.NRV.Words(), all.Words()), "give at most that").AtRef(lot).
				AtField("rough_nrv")
		}
		if l.NRV.IsZero() {
			continue
		}
		for j, part := range l.NRV.Share(weights) {
			costs[j] = costs[j].Sub(part)
		}
		costs[i] = costs[i].Add(*l.NRV)
	}
	return nil
}
