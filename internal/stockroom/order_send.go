package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// OrderSend asks to send an order to its cutter, with material when the dealer
// supplies it.
type OrderSend struct {
	Movement
	Number string
	From   book.Place  // the safe that they leave; empty: the one where each lot lies
	Bid    int64       // the bid that is taken; 0: the only one, or none
	Lots   []Supplying // stones supplied; none: as the draft plans it
}

// OrderSend marks an order as sent to the cutter whose bid is taken, moves the
// supplied stones onto its paper and issues the paper that goes with them.
func (room *Room) OrderSend(ctx context.Context, r OrderSend) (answer.OrderSent, error) {
	var out answer.OrderSent
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		o, err := draftOrder(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		if err := takeBid(ctx, tx, &o, r.Bid); err != nil {
			return err
		}
		e := s.Entry(ledger.Issue, "sent "+o.Number+" to the cutter "+o.Cutter)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if len(r.Lots) == 0 {
			for _, x := range o.Planned {
				r.Lots = append(r.Lots, Supplying{Moving{x.Lot, x.Pieces, x.Carats}, x.Item})
			}
		}
		for _, x := range r.Lots {
			if _, err := desk.StonesOf(ctx, tx, x.Lot); err != nil {
				return err
			}
		}
		o.At, o.State, o.SentOn = book.PaperPlace(o.Number), "sent", s.On
		if o.Supplied, err = m.supply(ctx, o, r.From, r.Lots); err != nil {
			return err
		}
		for i := range o.Lines {
			o.Lines[i].MinYield = cutting.LeastYield(o, i)
		}
		m.record(o)
		if out.OrderIssued, err = room.issueOrder(ctx, m, s, o); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx)
		return err
	})
	return out, err
}

// draftOrder reads an order that was not sent yet.
func draftOrder(ctx context.Context, tx store.ReadTx, number string) (book.Order, error) {
	o, err := desk.Named[book.Order](ctx, tx, number)
	if err == nil && o.State != "draft" {
		err = fault.New(fault.Refused, "order-state", fmt.Sprintf("order %s is %s, not a draft", o.Number, o.State),
			"draft a new one for further stones").AtRef(o.Number)
	}
	return o, err
}

// takeBid gives an order to the cutter whose bid is taken.
func takeBid(ctx context.Context, tx store.ReadTx, o *book.Order, number int64) error {
	bids, err := bidsFor(ctx, tx, o.Number)
	if err != nil {
		return err
	}
	if number == 0 && len(bids) == 1 && (o.Cutter == "" || strings.EqualFold(o.Cutter, bids[0].Cutter)) {
		number = bids[0].Number
	}
	switch i := slices.IndexFunc(bids, func(b book.Bid) bool { return b.Number == number }); {
	case i >= 0:
		b := bids[i]
		o.Cutter, o.Bid, o.Claims = b.Cutter, b.Number, o.Claims || b.Claims
		o.Breakage = cutting.Terms(o.Claims)
	case number != 0:
		return fault.New(fault.NotFound, "bid-unknown", fmt.Sprintf("order %s has no bid %d", o.Number, number),
			"see the bids").AtField("bid").AtRef(o.Number).Do("order", "compare", o.Number)
	case len(bids) > 0:
		return fault.New(fault.Refused, "order-bid", fmt.Sprintf("order %s has %d bids, and none is taken", o.Number,
			len(bids)), "compare them and name the one that is taken").AtField("bid").AtRef(o.Number).Do("order",
			"compare",
			o.Number)
	case o.Cutter == "":
		return fault.New(fault.Refused, "order-cutter", "order "+o.Number+" has no cutter yet",
			"note the bids of cutters "+
				"and name the one that is taken").AtField("bid").AtRef(o.Number).Do("order", "bid", o.Number)
	}
	return nil
}

// supply moves stones onto the paper of an order, each for its item. A lot that is
// not what its item asks for is refused until it is accepted.
func (m *mover) supply(ctx context.Context, o book.Order, from book.Place, lots []Supplying) ([]book.Supply, error) {
	out := []book.Supply{}
	from, err := leaves(from)
	if err != nil {
		return nil, err
	}
	for _, x := range lots {
		item, f := itemFor(o, x.Item)
		if f != nil {
			return nil, f.AtRef(x.Lot)
		}
		lot, err := desk.StockOf(ctx, m.tx, x.Lot)
		if err != nil {
			return nil, err
		}
		name := cmp.Or(lot.Variety, lot.Species)
		if line := o.Item(item); line != nil && name != "" && !isOneOf(name, line.Species) {
			if err := m.refuse(fault.New(fault.Refused, "send-material",
				fmt.Sprintf("%s is %s, but item %s of %s asks for %s",
					lot.Code, lot.Name(), item, o.Number, strings.Join(line.Species, " or ")),
				"supply it for another item; or say why it is right").AtField("accept").AtRef(lot.Code)); err != nil {
				return nil, err
			}
		}
		sent, err := m.carry(ctx, from, o.At, x.Moving)
		if err != nil {
			return nil, err
		}
		for _, l := range sent {
			out = append(out, book.Supply{SuppliedLot: book.SuppliedLot{Lot: l.Lot, Pieces: l.Pieces, Carats: l.Carats},
				Item: item})
		}
	}
	return out, nil
}
