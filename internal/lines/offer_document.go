package lines

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OfferDocument is the offer as a document to carry into a negotiation. It is
// a working paper: it takes no number and is not kept in the book.
func (room *Room) OfferDocument(ctx context.Context, o *ParcelOffer, on book.Date) (*answer.ParcelOffer, error) {
	out := &answer.ParcelOffer{
		Parcel: o.Parcel.Code, Vendor: o.Parcel.Vendor, Kind: string(o.Parcel.Kind), Line: o.Line, Lots: int64(o.Lots),
		Pieces: o.Pieces, Weight: o.Carats, Per: o.Per,
		Terms: answer.OfferTerms{CashDiscount: o.Terms.CashDiscount, PayDays: o.Terms.PayDays,
			SellMonths: o.Terms.SellMonths, MoneyCost: o.Terms.MoneyCost},
		Target: num.Zero(o.currency).Add(o.Target), Haircut: o.Haircut, Limits: []answer.OfferLimit{},
		Table: []answer.OfferRow{}, Designs: []answer.OfferDesign{}, Uses: []answer.OfferUse{},
		History: []answer.OfferHistory{},
		Counted: answer.List(o.Counted), NotCounted: answer.List(o.Not), Notes: answer.List(o.Notes),
	}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		head, err := tx.Head(ctx)
		out.Head = desk.DocumentHead(o.Config, tx.Meta(), head, room.desk.Today(tx, on), "", "Offer for parcel "+
			o.Parcel.Code+", line "+o.Line)
		return err
	})
	if err != nil {
		return nil, err
	}
	marks := map[string]string{}
	mark := func(price num.Money, words string) {
		if have := marks[price.String()]; have != "" {
			words = have + "; " + words
		}
		marks[price.String()] = words
	}
	if o.Ask != nil {
		mark(o.Ask.Price, o.AskIs)
	}
	short := []string{"zero expected profit", "target at 50 %", "target at 90 %"}
	for i, l := range o.Limits {
		x := answer.OfferLimit{Aim: l.Aim, Found: l.Found, Reason: l.Reason, PerCarat: l.PerCarat, PerPiece: l.PerPiece,
			Met: offerRow(l.Met), Missed: offerRow(l.Missed)}
		if l.Found {
			switch o.Per {
			case "carat":
				x.PerCarat = l.Met.Price.Dec()
			case "piece":
				x.PerPiece = l.Met.Price.Dec()
			}
			mark(l.Met.Price, short[i])
		}
		out.Limits = append(out.Limits, x)
	}
	if out.Ask = offerRow(o.Ask); out.Ask != nil {
		out.Ask.Mark = o.AskIs
	}
	for i := range o.Table {
		row := offerRow(&o.Table[i])
		row.Mark = marks[row.Price.String()]
		row.CostExpr = costing.CostOf(formula.Of(answer.OfferTotal(i), "in all"), o.currency.Digits())
		out.Table = append(out.Table, *row)
		out.Runs, out.Seed = o.Table[i].Outcome.Runs, int64(o.Table[i].Outcome.Seed)
	}
	if plan := o.planAtLimit(); plan != nil {
		for _, d := range plan.Designs {
			out.Designs = append(out.Designs, answer.OfferDesign{Design: d.Design, Wanted: d.Wanted, Made: d.Made,
				Without: d.Without})
		}
		for _, u := range plan.Lots {
			out.Uses = append(out.Uses, answer.OfferUse{Lot: u.Lot, Name: u.Name, Pieces: u.Pieces, Set: u.Used,
				Each: u.Each, Left: u.Left, Known: u.Priced})
		}
	}
	for _, h := range o.Asks {
		x := answer.OfferHistory{On: h.On, Party: h.Party, Side: h.Side, Total: h.Total, Note: h.Note}
		if h.Foreign != nil {
			x.Foreign = fmt.Sprintf("%s at %s", h.Foreign.Amount.Words(), h.Foreign.Rate)
		}
		out.History = append(out.History, x)
	}
	return out, nil
}

// planAtLimit is the plan behind the price of zero expected profit, or behind
// the first row of the table when there is no such price.
func (o *ParcelOffer) planAtLimit() *OfferPlan {
	var data any
	switch {
	case len(o.Limits) > 0 && o.Limits[0].Met != nil:
		data = o.Limits[0].Met.Data
	case len(o.Table) > 0:
		data = o.Table[0].Data
	}
	plan, _ := data.(*OfferPlan)
	return plan
}

func offerRow(v *costing.Evaluation) *answer.OfferRow {
	if v == nil {
		return nil
	}
	r := riskOf(v.Outcome, v.Total.Currency(), "", "")
	row := &answer.OfferRow{
		Price: v.Price, Total: v.Total, Cost: v.Cost, Profit: r.Mean, Earns: r.Mean.Add(v.Cost), Error: r.StandardError,
		P10: r.P10, P90: r.P90,
		Loss: r.LossChance, Reached: num.Percent{Dec: num.FromFloat(100*v.Reached.Value, 2, num.HalfUp)}, Plan: v.Words,
		Brings: num.Zero(v.Total.Currency()),
	}
	if plan, ok := v.Data.(*OfferPlan); ok {
		row.Made, row.Set, row.Left, row.Brings = plan.Made, plan.Used, plan.Left, plan.Brings
	}
	return row
}
