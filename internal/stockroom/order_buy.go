package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// bid is the bid that was taken for the order; nil when none was.
func (c *receipt) bid(ctx context.Context) (*book.Bid, error) {
	if c.order.Bid == 0 {
		return nil, nil
	}
	b, err := store.Get[book.Bid](ctx, c.tx, book.BidKey(c.order.Number, c.order.Bid))
	return &b, err
}

// wanted is how many stones the order asks for, spares included.
func wanted(o book.Order) int64 {
	n := int64(0)
	for _, l := range o.Lines {
		n += l.Count + l.Spare
	}
	return n
}

// buy takes the stones that the cutter supplied as a purchase from the cutter: a
// parcel of its own, at the price that was asked or bid, in the cutter's currency.
// The invoice is converted once and shared over its lots.
func (c *receipt) buy(ctx context.Context, r OrderReceive) error {
	var came []Came
	for _, x := range r.Came {
		if x.Lot == "" {
			came = append(came, x)
		}
	}
	if len(came) == 0 {
		return nil
	}
	lots := make([]book.Lot, len(came))
	var l fault.List
	for i, x := range came {
		lot, f := c.boughtLot(x)
		l.Add(f)
		lots[i] = lot
		if c.Accept == "" {
			for _, f := range c.asOrdered(x, answer.StockLot{}) {
				l.Add(f)
			}
		}
		if x.Treatment == "" {
			c.warned.Add(at(fault.New(fault.Invalid, "return-treatment", "the treatment of item "+x.Item+
				" is not stated",
				"ask the cutter: an unstated treatment is a reason to return stones"), x, "treatment").AsWarning())
		}
	}
	if l.Blocks() {
		return l
	}
	prices, err := c.prices(ctx, r, came)
	if err != nil {
		return err
	}
	total := num.Zero(prices[0].Currency())
	parts := make([]num.Dec, len(prices))
	for i, p := range prices {
		total = total.Add(p)
		parts[i] = p.Dec()
	}
	inBook, foreign, err := c.inBook(ctx, total, r.Rate)
	if err != nil {
		return err
	}
	n, err := c.tx.Next(ctx, string(book.KindParcel))
	if err != nil {
		return err
	}
	safe := cmp.Or(c.office, c.config.Home())
	p := book.Parcel{Code: fmt.Sprintf("P%d", n), Label: c.order.Number, Kind: book.Purchase, Vendor: c.order.Cutter,
		On: c.on, Currency: total.Currency(), Lots: len(lots), Price: inBook, Invoice: total,
		Source: "order " + c.order.Number}
	if foreign != nil {
		p.Rate = foreign.Rate
	} else {
		p.Rate, _ = num.ParseRate("1", 1)
	}
	for i, cost := range inBook.Share(parts) {
		lot, x := lots[i], came[i]
		lot.Code, lot.Parcel, lot.Agreed = fmt.Sprintf("%s-%d", p.Code, i+1), p.Code, cost
		if foreign != nil {
			lot.Foreign = &book.ForeignPrice{Amount: prices[i], Rate: foreign.Rate}
		}
		p.Pieces += x.Pieces
		p.Carats += x.Carats
		c.record(lot)
		c.lots = append(c.lots, lot.Code)
		c.entry.Postings = append(c.entry.Postings, ledger.Move(lot.Code, book.PlaceOf(book.AtVendor, c.order.Cutter),
			safe, x.Pieces, x.Carats, cost)...)
		c.lines = append(c.lines, book.BatchLine{Outcome: book.Bought, Weighed: x.Weighed, Into: lot.Code, Item: x.Item,
			To: safe, Length: x.Length, Width: x.Width, Depth: x.Depth, Note: x.Remarks})
	}
	c.record(p)
	c.parcel = &p
	return nil
}

// boughtLot is the lot of stones that the cutter supplied.
func (c *receipt) boughtLot(x Came) (book.Lot, *fault.Fault) {
	item := c.order.Item(x.Item)
	name := x.Material
	if name == "" && len(item.Species) == 1 {
		name = item.Species[0]
	}
	if name == "" {
		return book.Lot{}, at(fault.New(fault.Invalid, "return-material", "what the stones of item "+x.Item+
			" are is not "+
			"said, and the order accepts "+strings.Join(item.Species, " or "), "name the material"), x, "material")
	}
	named, f := facts.Resolve(name)
	if f != nil {
		return book.Lot{}, at(f, x, "material")
	}
	species, variety := named.SpeciesVariety()
	return book.Lot{Owner: book.Own, Species: species, Variety: variety, Claim: name, Shape: strings.ToLower(x.Shape),
		Length: x.Length, Width: x.Width, Depth: x.Depth, Calibrated: true, Color: item.Color, Clarity: item.Clarity,
		Facets: book.Facets{Species: book.StatedFacet(species), Treatment: book.StatedFacet(x.Treatment)},
		Note:   x.Remarks}, nil
}

// prices are what the stones of each line cost, in the cutter's currency: the
// price of the request shared by weight, else by the bid that was taken.
func (c *receipt) prices(ctx context.Context, r OrderReceive, came []Came) ([]num.Money, error) {
	weights := make([]num.Dec, len(came))
	for i, x := range came {
		weights[i] = x.Carats.Dec()
	}
	if r.Price.Sign() > 0 {
		return r.Price.Share(weights), nil
	}
	b, err := c.bid(ctx)
	if err != nil {
		return nil, err
	}
	if b == nil {
		return nil, fault.New(fault.Invalid, "return-price", "stones that the cutter supplied are bought, but no bid "+
			"was "+
			"taken for "+c.order.Number, "give the price of all of them").AtField("price").AtRef(c.order.Number)
	}
	out := make([]num.Money, len(came))
	for i, x := range came {
		out[i] = b.For(x.Pieces, x.Carats, wanted(c.order))
	}
	return out, nil
}

// inBook turns an amount into the book's currency, by the rate that is given or the
// rates table's of the day, and keeps what it was.
func (c *receipt) inBook(ctx context.Context, m num.Money, rate num.Rate) (num.Money, *book.ForeignPrice, error) {
	currency := c.tx.Meta().Currency
	if m.Currency() != currency && rate == (num.Rate{}) {
		card, err := desk.LoadRates(ctx, c.tx, c.on)
		if err != nil {
			return m, nil, err
		}
		known, ok, f := card.FX(m.Currency())
		if f != nil {
			return m, nil, f
		}
		if ok {
			rate = known
		}
	}
	out, foreign, f := inBook(currency, m, rate)
	if f != nil {
		return m, nil, f
	}
	return out, foreign, nil
}
