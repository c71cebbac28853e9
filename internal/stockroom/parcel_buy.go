package stockroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// PricedLot is a lot of an offer, with its own price when one was agreed.
type PricedLot struct {
	Lot   string
	Price num.Money // zero: its part of the whole
}

// AskKey shares a price by what the vendor asked for each lot.
const AskKey book.ShareKey = "ask"

// BuyKeys lists what a price can be shared by.
var BuyKeys = []string{string(AskKey), string(book.ByValue), string(book.ByCarats)}

// ParcelBuy asks to buy lots of a parcel that is on offer.
type ParcelBuy struct {
	desk.Write
	Parcel  string
	Lots    []PricedLot // none: all that is on offer
	Price   num.Money   // of all of them; zero: each has its own
	Rate    num.Rate    // book units per unit; zero for the book's currency
	Key     book.ShareKey
	Decline bool       // what is not bought is no longer on offer
	Office  book.Place // the safe that they come to; empty: that of the first office
}

// ParcelBuy turns lots that are on offer into stock under their codes. The invoice
// is converted once; what it says of no lot is shared over the lots by what was
// asked for them, by the price list or by weight. The parcel is a purchase from
// then on; what was not bought stays on offer, or is declined.
func (room *Room) ParcelBuy(ctx context.Context, r ParcelBuy) (answer.ParcelBought, error) {
	var out answer.ParcelBought
	if r.Key == "" {
		r.Key = AskKey
	}
	if !slices.Contains(BuyKeys, string(r.Key)) {
		return out, fault.New(fault.Usage, "buy-key", fmt.Sprintf("a price is shared by %s, not by %q",
			strings.Join(BuyKeys, ", "), r.Key), "choose one of them").AtField("by")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := desk.ParcelNamed(ctx, tx, r.Parcel)
		if err != nil {
			return err
		}
		b := parcelBuyer{ParcelBuy: r, ctx: ctx, tx: tx, on: s.On, parcel: p}
		if err := b.read(); err != nil {
			return err
		}
		prices, err := b.prices()
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Buy, "bought "+p.Code+" from "+p.Vendor)
		if err := b.book(&e, prices); err != nil {
			return err
		}
		out = answer.ParcelBought{Parcel: b.parcel, Bid: b.bid, Rest: answer.List(b.restCodes())}
		out.Moved, err = post(ctx, tx, &e, b.codes...)
		return err
	})
	return out, err
}

// parcelBuyer buys lots of one offer.
type parcelBuyer struct {
	ParcelBuy
	ctx    context.Context
	tx     store.Tx
	on     book.Date
	parcel book.Parcel
	list   book.Offer  // the vendor's list
	bid    *book.Offer // the newest bid
	last   int         // number of the newest offer
	lots   []book.Lot  // that are bought
	parts  []book.SuppliedLot
	rest   []book.SuppliedLot
	codes  []string
}

// read finds the list, the newest bid, and the lots that are bought.
func (b *parcelBuyer) read() error {
	offers, err := store.All[book.Offer](b.ctx, b.tx, b.parcel.Code+"/")
	if err != nil {
		return err
	}
	for _, o := range offers {
		if !strings.EqualFold(o.Parcel, b.parcel.Code) {
			continue
		}
		b.last = max(b.last, o.Number)
		if len(o.Lots) > 0 {
			b.list = o
		}
		if o.Side == "bid" {
			b.bid = &o
		}
	}
	if len(b.list.Lots) == 0 {
		return fault.New(fault.Refused, "buy-no-offer", "nothing of "+b.parcel.Code+" is on offer",
			"see what the parcel is").AtRef(b.parcel.Code).Do("parcel", "show", b.parcel.Code)
	}
	if len(b.Lots) == 0 {
		for _, l := range b.list.Lots {
			b.Lots = append(b.Lots, PricedLot{Lot: l.Lot})
		}
	}
	var l fault.List
	wanted := map[string]bool{}
	for _, x := range b.Lots {
		key := strings.ToLower(x.Lot)
		at := slices.IndexFunc(b.list.Lots, func(o book.SuppliedLot) bool { return strings.EqualFold(o.Lot, x.Lot) })
		switch {
		case at < 0:
			l.Add(fault.New(fault.NotFound, "buy-lot", fmt.Sprintf("%s is not on offer in %s", x.Lot, b.parcel.Code),
				"see what is").AtRef(x.Lot).Do("parcel", "show", b.parcel.Code))
			continue
		case wanted[key]:
			l.Add(fault.New(fault.Usage, "buy-twice", x.Lot+" is named twice", "name each lot once").AtRef(x.Lot))
		}
		wanted[key] = true
		lot, err := desk.Named[book.Lot](b.ctx, b.tx, x.Lot)
		if err != nil {
			return err
		}
		b.lots, b.parts, b.codes = append(b.lots, lot), append(b.parts, b.list.Lots[at]), append(b.codes, lot.Code)
	}
	if l.Blocks() {
		return l
	}
	for _, o := range b.list.Lots {
		if !wanted[strings.ToLower(o.Lot)] {
			b.rest = append(b.rest, o)
		}
	}
	return nil
}

func (b *parcelBuyer) restCodes() []string {
	if b.Decline {
		return nil
	}
	var out []string
	for _, l := range b.rest {
		out = append(out, l.Lot)
	}
	return out
}

// prices are what each lot costs, in the currency of the invoice.
func (b *parcelBuyer) prices() ([]num.Money, error) {
	out := make([]num.Money, len(b.lots))
	currency := b.Price.Currency()
	for _, x := range b.Lots {
		if currency == "" {
			currency = x.Price.Currency()
		}
	}
	fixed := num.Zero(currency)
	var open []int
	for i, x := range b.Lots {
		if x.Price.Currency() == "" {
			open = append(open, i)
			continue
		}
		out[i] = x.Price
		fixed = fixed.Add(x.Price)
	}
	switch {
	case b.Price.Currency() == "" && len(open) > 0:
		return nil, fault.New(fault.Usage, "buy-price", b.lots[open[0]].Code+" has no price",
			"give the price of all, or one for each lot").AtRef(b.lots[open[0]].Code).AtField("price")
	case b.Price.Currency() == "":
		b.Price = fixed
		return out, nil
	}
	rest := b.Price.Sub(fixed)
	if rest.Sign() < 0 || len(open) == 0 && !rest.IsZero() {
		return nil, fault.New(fault.Usage, "buy-sum", fmt.Sprintf("the lots cost %s together, but the price is %s",
			fixed.Words(), b.Price.Words()), "correct one of them").AtField("price")
	}
	weights, err := b.weights(open)
	if err != nil {
		return nil, err
	}
	for i, part := range rest.Share(weights) {
		out[open[i]] = part
	}
	return out, nil
}

// weights are what the price is shared by, for the lots without one of their own.
func (b *parcelBuyer) weights(open []int) ([]num.Dec, error) {
	var v *valuer
	var err error
	if b.Key == book.ByValue {
		if v, err = openValuer(b.ctx, b.tx, desk.Moment{}, b.on); err != nil {
			return nil, err
		}
	}
	out := make([]num.Dec, len(open))
	for i, at := range open {
		lot := b.lots[at]
		switch b.Key {
		case book.ByCarats:
			out[i] = b.parts[at].Carats.Dec()
		case AskKey:
			out[i] = lot.Agreed.Dec()
		case book.ByValue:
			held, _ := v.held(lot, b.parts[at].Carats, num.Zero(b.tx.Meta().Currency))
			out[i] = held.Price.Dec()
		}
		if out[i].Sign() <= 0 {
			what := map[book.ShareKey]string{AskKey: "no price was asked for it", book.ByCarats: "it has no weight",
				book.ByValue: "the price list does not know it"}[b.Key]
			return nil, fault.New(fault.Refused, "buy-share",
				fmt.Sprintf("the price cannot be shared by %s over %s: %s",
					b.Key, lot.Code, what), "share it by another key, or give the lot a price").AtRef(
				lot.Code).AtField("by")
		}
	}
	return out, nil
}

// book adds the purchase to the entry: lots with their prices, the parcel, what is
// left of the list, and what was agreed.
func (b *parcelBuyer) book(e *ledger.Entry, prices []num.Money) error {
	own := b.tx.Meta().Currency
	total, foreign, f := inBook(own, b.Price, b.Rate)
	if f != nil {
		return f
	}
	cfg, err := config.Load(b.ctx, b.tx)
	if err != nil {
		return err
	}
	home, err := newGoods(cfg, b.Office)
	if err != nil {
		return err
	}
	weights := make([]num.Dec, len(prices))
	for i, p := range prices {
		weights[i] = p.Dec()
	}
	costs := total.Share(weights)
	first := b.parcel.Kind == book.OfferOnly
	p := &b.parcel
	if first {
		p.Kind, p.On, p.Currency, p.Rate = book.Purchase, b.on, b.Price.Currency(), b.Rate
		p.Lots, p.Pieces, p.Carats, p.Price = 0, 0, 0, num.Zero(own)
		p.Invoice = num.Zero(p.Currency)
	}
	for i, lot := range b.lots {
		lot.Agreed, lot.Foreign = costs[i], nil
		if foreign != nil {
			lot.Foreign = &book.ForeignPrice{Amount: prices[i], Rate: b.Rate}
		}
		lot.Owner = book.Own
		x := b.parts[i]
		e.Records = append(e.Records, lot)
		e.Postings = append(e.Postings, ledger.Move(lot.Code, book.PlaceOf(book.AtVendor, p.Vendor), home,
			x.Pieces, x.Carats, costs[i])...)
		p.Lots++
		p.Pieces += x.Pieces
		p.Carats += x.Carats
		p.Price = p.Price.Add(costs[i])
	}
	if p.Invoice.Currency() == b.Price.Currency() {
		p.Invoice = p.Invoice.Add(b.Price)
	} else {
		p.Invoice = num.Money{} // of two currencies there is no sum
	}
	b.list.Lots = b.rest
	if b.Decline {
		b.list.Lots = nil
	}
	agreed := book.Offer{Parcel: p.Code, Number: b.last + 1, Party: p.Vendor, Side: "bought", Total: total,
		Foreign: foreign, On: b.on, Note: b.note()}
	e.Records = append(e.Records, b.parcel, b.list, agreed)
	return nil
}

// note says what was bought, after which bid, and what became of the rest.
func (b *parcelBuyer) note() string {
	words := fmt.Sprintf("%d of %d lots", len(b.lots), len(b.lots)+len(b.rest))
	if b.bid != nil {
		words += fmt.Sprintf(", after bid %d of %s", b.bid.Number, b.bid.Total.Words())
	}
	switch {
	case len(b.rest) == 0:
	case b.Decline:
		words += ", the rest declined"
	default:
		words += ", the rest still on offer"
	}
	return words
}
