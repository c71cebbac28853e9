package lines

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Offer asks for the most to pay for a parcel, given what a line can earn with
// it. The parcel may be only on offer, or be in the book already.
type Offer struct {
	Plan
	Parcel string
	Per    string    // carat, piece or total; empty: carat
	Ask    num.Money // the seller's price in all; zero: the newest ask that the book keeps
	Target num.Money // profit wanted of the parcel
	Terms  OfferTerms
	Runs   int      // of each simulation; 0: 10,000
	Only   []string // doubts that are counted; empty: all; of Risk.Doubts
	Whole  bool     // count the whole line's profit, not only what the parcel adds to it
}

// OfferTerms replace the book's settings; nil keeps them.
type OfferTerms struct {
	PayDays      *int64
	CashDiscount *num.Percent
	SellMonths   *num.Dec
	MoneyCost    *num.Percent
	Haircut      *num.Percent
}

// in returns the terms of an offer in a book with these settings.
func (t OfferTerms) in(c config.Config) costing.Terms {
	out := costing.Terms{CashDiscount: c.CashDiscount, PayDays: c.PayDays, SellMonths: c.SellMonths,
		MoneyCost: c.MoneyCost}
	if t.PayDays != nil {
		out.PayDays = *t.PayDays
	}
	if t.CashDiscount != nil {
		out.CashDiscount = *t.CashDiscount
	}
	if t.SellMonths != nil {
		out.SellMonths = *t.SellMonths
	}
	if t.MoneyCost != nil {
		out.MoneyCost = *t.MoneyCost
	}
	return out
}

// check reports terms outside what is possible.
func (t OfferTerms) check() fault.List {
	if t.Haircut != nil && (t.Haircut.Sign() < 0 || t.Haircut.Cmp(num.Int(100)) > 0) {
		return fault.List{fault.New(fault.Invalid, "haircut-range", "a haircut must lie between 0 and 100 %, but is "+
			t.Haircut.String(), "enter percent, e.g. 30").AtField("haircut")}
	}
	return nil
}

// Offer finds the highest prices that meet the aims, and what the ask earns.
// The answer is a working paper to carry into a negotiation: it takes no
// number, nothing is written, and no stone moves.
func (room *Room) Offer(ctx context.Context, r Offer) (answer.ParcelOffer, error) {
	var out answer.ParcelOffer
	if l := append(r.Terms.check(), r.Plan.check()...); l.Blocks() {
		return out, l
	}
	if r.Parcel == "" {
		return out, fault.New(fault.Usage, "parcel-missing", "an offer is for a parcel", "name it").AtField("parcel")
	}
	if r.Per == "" {
		r.Per = "carat"
	}
	b, err := room.read(ctx, r.Plan, r.Parcel)
	if err != nil {
		return out, err
	}
	if r.Terms.Haircut != nil {
		b.config.Haircut = *r.Terms.Haircut
	}
	b.parcel.setLeftovers(b.config)
	terms := r.Terms.in(b.config)
	pieces, carats := b.parcel.holds()
	ask, askIs := b.ask(r)
	search := &offerSearch{ctx: ctx, request: r, base: b, known: map[string]costing.Planned{}}
	if err := search.start(); err != nil {
		return out, err
	}
	found, err := costing.OfferOf(costing.OfferInput{
		Carats: carats, Pieces: pieces, Per: r.Per, Terms: terms, Target: r.Target, Currency: b.currency,
		Runs: costing.Runs{Seed: r.Seed, First: r.Runs}, Ask: ask, Plan: search.at,
	})
	if err != nil {
		return out, err
	}
	out = answer.ParcelOffer{
		Head:   b.answerHead("Offer for parcel " + b.parcel.Code + ", line " + b.line.Name),
		Parcel: b.parcel.Code, Vendor: b.parcel.Vendor, Kind: string(b.parcel.Kind), Line: b.line.Name,
		Lots: int64(len(b.parcel.lots)), Pieces: pieces, Weight: carats, Per: r.Per,
		Terms: answer.OfferTerms{CashDiscount: terms.CashDiscount, PayDays: terms.PayDays,
			SellMonths: terms.SellMonths, MoneyCost: terms.MoneyCost},
		Target: num.Zero(b.currency).Add(r.Target), Haircut: b.config.Haircut, Counted: answer.List(search.counted),
		NotCounted: answer.List(search.not), Notes: search.notes(terms), History: b.parcel.history(),
		Warnings: distinct(append(b.warnings, search.warnings...)),
	}
	addFound(&out, found, askIs)
	return out, nil
}

// ask returns the seller's price on the quoted basis, rounded half up, and says
// where it comes from; zero when no price is known.
func (b *basis) ask(r Offer) (num.Money, string) {
	total, words := r.Ask, "the ask"
	known := total.Sign() > 0
	if !known {
		for _, o := range b.parcel.offers {
			if o.Side == "ask" {
				total, known = o.Total, true
			}
		}
	}
	if !known && b.parcel.Kind != book.OfferOnly {
		for i := range b.parcel.lots {
			total = total.Add(b.parcel.lots[i].Cost)
		}
		words = "its cost in the book"
	}
	pieces, carats := b.parcel.holds()
	by := num.Int(1)
	switch r.Per {
	case "carat":
		by = carats.Dec()
	case "piece":
		by = num.Int(pieces)
	}
	q, ok := total.Dec().Div(by, b.currency.Digits(), num.HalfUp)
	if !ok {
		return num.Zero(b.currency), words
	}
	return num.MoneyFromDec(q, b.currency, num.HalfUp), words
}

// addFound adds the limits, the ask and the table to negotiate by, with the
// plan behind the price of zero expected profit, or behind the first row of the
// table when there is no such price.
func addFound(out *answer.ParcelOffer, found costing.Offer, askIs string) {
	marks := map[string]string{}
	mark := func(price num.Money, words string) {
		if have := marks[price.String()]; have != "" {
			words = have + "; " + words
		}
		marks[price.String()] = words
	}
	out.Limits, out.Table = []answer.OfferLimit{}, []answer.OfferRow{}
	out.Designs, out.Uses = []answer.OfferDesign{}, []answer.OfferUse{}
	if out.Ask = offerRow(found.Ask); out.Ask != nil {
		out.Ask.Mark = askIs
		mark(found.Ask.Price, askIs)
	}
	short := []string{"zero expected profit", "target at 50 %", "target at 90 %"}
	for i, l := range found.Limits {
		x := answer.OfferLimit{Aim: l.Aim, Found: l.Found, Reason: l.Reason, PerCarat: l.PerCarat,
			PerPiece: l.PerPiece, Met: offerRow(l.Met), Missed: offerRow(l.Missed)}
		if l.Found {
			switch out.Per {
			case "carat":
				x.PerCarat = l.Met.Price.Dec()
			case "piece":
				x.PerPiece = l.Met.Price.Dec()
			}
			mark(l.Met.Price, short[i])
		}
		out.Limits = append(out.Limits, x)
	}
	for i := range found.Table {
		row := offerRow(&found.Table[i])
		row.Mark = marks[row.Price.String()]
		out.Table = append(out.Table, *row)
		out.Runs, out.Seed = found.Table[i].Outcome.Runs, int64(found.Table[i].Outcome.Seed)
	}
	var data any
	switch {
	case len(found.Limits) > 0 && found.Limits[0].Met != nil:
		data = found.Limits[0].Met.Data
	case len(found.Table) > 0:
		data = found.Table[0].Data
	}
	if plan, ok := data.(*offerPlan); ok {
		out.Designs, out.Uses = plan.designs, plan.uses
	}
}

// offerRow is what is earned at one price.
func offerRow(v *costing.Evaluation) *answer.OfferRow {
	if v == nil {
		return nil
	}
	r := answer.RiskOf(v.Outcome, v.Total.Currency(), "", "")
	row := &answer.OfferRow{
		Price: v.Price, Total: v.Total, Cost: v.Cost, Profit: r.Mean, Earns: r.Mean.Add(v.Cost),
		Error: r.StandardError, P10: r.P10, P90: r.P90, Loss: r.LossChance,
		Reached: num.Percent{Dec: num.FromFloat(100*v.Reached.Value, 2, num.HalfUp)}, Plan: v.Words,
		Brings: num.Zero(v.Total.Currency()),
	}
	if plan, ok := v.Data.(*offerPlan); ok {
		row.Made, row.Set, row.Left, row.Brings = plan.made, plan.set, plan.left, plan.brings
	}
	return row
}

// notes say what stands behind the figures.
func (s *offerSearch) notes(terms costing.Terms) []string {
	c, out := s.base.config, []string{}
	if s.request.Whole {
		out = append(out, "profit is the whole line's: what it earns from stones that are in stock already counts too")
	} else {
		out = append(out, "profit is what the parcel adds: the line with it, less the line without it ("+
			s.alone.Words()+"), less the parcel")
	}
	out = append(out, "the fixed cost of a design counts only when the design is made")
	left := "leftovers bring the loose price of the price list less a haircut of " + c.Haircut.String() + " %"
	if c.Haircut.Sign() == 0 {
		left += " (setting haircut: nothing is taken off)"
	}
	out = append(out, left)
	var unpriced []string
	for i := range s.base.parcel.lots {
		if l := &s.base.parcel.lots[i]; !l.priced {
			unpriced = append(unpriced, l.Code)
		}
	}
	if len(unpriced) > 0 {
		out = append(out, fmt.Sprintf("no loose price is known of %s: left over they count as nothing",
			strings.Join(unpriced, ", ")))
	}
	if terms.MoneyCost.Sign() == 0 {
		out = append(out, "money is taken to cost nothing (setting money_cost)")
	}
	if c.StoneValue == "book_cost" {
		return append(out, "stone_value is book_cost: a dearer parcel makes each of its stones dearer to the plan, "+
			"by its share of the price")
	}
	return append(out, "once the parcel is paid, its stones cost the plan what they would bring loose: its price "+
		"steers the plan only through price ceilings per carat")
}
