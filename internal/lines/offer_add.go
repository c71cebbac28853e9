package lines

import (
	"cmp"
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OfferAdd keeps an ask or a bid for a parcel.
type OfferAdd struct {
	desk.Write
	Parcel   string
	Side     string // ask or bid
	Party    string // empty: the parcel's vendor
	Total    num.Money
	PerCarat num.Money // instead of a total
	Rate     num.Rate  // when the amount is in a foreign currency; zero: the book's newest
	Note     string
}

// OfferAdd writes an ask or a bid with its date and party. No stock moves.
func (room *Room) OfferAdd(ctx context.Context, r OfferAdd) (answer.OfferAdded, error) {
	var out answer.OfferAdded
	if r.Side != "ask" && r.Side != "bid" {
		return out, fault.New(fault.Usage, "offer-side", "an offer is an ask or a bid, but is \""+r.Side+"\"",
			"write ask or bid")
	}
	if r.Total.IsZero() == r.PerCarat.IsZero() {
		return out, fault.New(fault.Usage, "offer-amount", "an "+r.Side+" is one amount, in all or per carat",
			"give one of the two").AtField("total")
	}
	if r.Total.Sign() < 0 || r.PerCarat.Sign() < 0 {
		return out, fault.New(fault.Usage, "offer-amount", "an "+r.Side+" is more than 0", "enter a positive amount").
			AtField("total")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		p, err := desk.ParcelNamed(ctx, tx, r.Parcel)
		if err != nil {
			return err
		}
		party := cmp.Or(r.Party, p.Vendor)
		if f := book.CheckName("a party", party); f != nil {
			return asUsageFault(f.AtField("party"))
		}
		if party, err = desk.PartyOf(ctx, tx, "a party", party); err != nil {
			return err
		}
		out.Offer = book.Offer{Parcel: p.Code, Party: party, Side: r.Side, On: s.On, Note: r.Note}
		amount := r.Total
		if !r.PerCarat.IsZero() {
			if p.Carats <= 0 {
				return fault.New(fault.Refused, "weight-missing", "the weight of the parcel "+p.Code+" is not known",
					"give the amount in all").AtField("total")
			}
			amount = r.PerCarat.Times(p.Carats.Dec(), num.HalfUp)
		}
		if out.Total, out.Foreign, err = bookAmount(ctx, tx, amount, r.Rate, s.On); err != nil {
			return err
		}
		earlier, err := offersOf(ctx, tx, p.Code)
		if err != nil {
			return err
		}
		for _, o := range earlier {
			out.Number = max(out.Number, o.Number)
		}
		out.Number++
		e := s.Entry(ledger.Record, fmt.Sprintf("%s of %s for %s by %s", out.Side, out.Total.Words(),
			p.Code, out.Party))
		e.Records = []book.Record{out.Offer}
		return tx.Post(ctx, &e)
	})
	return out, err
}

// asUsageFault is a fault of what a person typed.
func asUsageFault(f *fault.Fault) error {
	g := *f
	g.Kind = fault.Usage
	return &g
}

// bookAmount is an amount in the book's currency, with the foreign one beside
// it when it is in another.
func bookAmount(ctx context.Context, tx store.ReadTx, amount num.Money, rate num.Rate, on book.Date) (num.Money,
	*book.ForeignPrice, error) {
	own, foreign := tx.Meta().Currency, amount.Currency()
	if foreign == own || foreign == "" {
		if rate != (num.Rate{}) {
			return amount, nil, fault.New(fault.Usage, "fx-same", "an amount in "+string(own)+" needs no rate",
				"leave the rate out").AtField("rate")
		}
		return num.Zero(own).Add(amount), nil, nil
	}
	if rate == (num.Rate{}) {
		card, err := desk.LoadRates(ctx, tx, on)
		if err != nil {
			return amount, nil, err
		}
		known, ok, f := card.FX(foreign)
		if f != nil {
			return amount, nil, f
		}
		if !ok {
			return amount, nil, fault.New(fault.Invalid, "fx-missing",
				fmt.Sprintf("no rate is known from %s to %s on %s", foreign, own, on),
				fmt.Sprintf("give the rate, in %s per %s, or import a dated rate: kind fx, name %s", own, foreign,
					foreign)).AtField("rate")
		}
		rate = known
	}
	x, f := costing.Exchange(amount, rate, own)
	if f != nil {
		return amount, nil, f
	}
	return x.Amount, &book.ForeignPrice{Amount: amount, Rate: rate}, nil
}
