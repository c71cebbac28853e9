package stockroom

import (
	"context"
	"fmt"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OrderBid asks to note what a cutter asks for the work of an order.
type OrderBid struct {
	desk.Write
	Number  string // of the order
	Cutter  string
	Basis   book.PriceBasis
	Price   num.Money // in the cutter's currency
	Freight num.Money // both ways; zero: none
	Days    int64     // from sending to coming back; 0: not said
	Claims  bool      // the cutter bears the breakage of what is supplied
	Note    string
}

// OrderBid notes a cutter's bid for a draft, and compares all of its bids.
func (room *Room) OrderBid(ctx context.Context, r OrderBid) (answer.OrderCompared, error) {
	var out answer.OrderCompared
	var l fault.List
	l.Add(cutterNamed(r.Cutter))
	if !slices.Contains(book.BidBases, string(r.Basis)) {
		l.Add(fault.New(fault.Usage, "bid-basis", fmt.Sprintf("a price is for one of %v, but is for %q", book.BidBases,
			r.Basis), "say what the price is for").AtField("basis"))
	}
	if r.Price.Sign() <= 0 || r.Freight.Sign() < 0 || r.Days < 0 {
		l.Add(fault.New(fault.Usage, "bid-price", "a bid has a price above 0, and a freight and days that are not "+
			"negative",
			"give what the cutter asks").AtField("price"))
	}
	if l.Blocks() {
		return out, l
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		o, err := draftOrder(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		cutter, err := desk.PartyOf(ctx, tx, "a cutter", r.Cutter)
		if err != nil {
			return err
		}
		n, err := tx.Next(ctx, book.BidSeries(o.Number))
		if err != nil {
			return err
		}
		if r.Freight.Currency() == "" {
			r.Freight = num.Zero(r.Price.Currency())
		}
		b := book.Bid{Order: o.Number, Number: n, Cutter: cutter, On: s.On, Basis: r.Basis, Price: r.Price,
			Freight: r.Freight, Days: r.Days, Claims: r.Claims, Note: r.Note}
		e := s.Entry(ledger.Record, "noted the bid "+b.RecordKey()+" of "+b.Cutter)
		e.Records = []book.Record{b}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out, err = room.compare(ctx, tx, o, s.On)
		return err
	})
	return out, err
}

// bidsFor are the bids for an order, in the order in which they came.
func bidsFor(ctx context.Context, tx store.ReadTx, order string) ([]book.Bid, error) {
	return store.Of[book.Bid](ctx, tx, book.ToPaper(order))
}
