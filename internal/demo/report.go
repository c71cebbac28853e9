package demo

import (
	"context"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// look reads the report out of the book and the plan.
func (d *demo) look(ctx context.Context) error {
	if err := d.bought(ctx); err != nil {
		return err
	}
	if err := d.found(ctx); err != nil {
		return err
	}
	d.report.Refused = d.line.Refused
	if err := d.cautions(ctx); err != nil {
		return err
	}
	d.money()
	d.report.Orders = []answer.DemoOrder{}
	for _, o := range d.orders {
		for _, l := range o.Lines {
			d.report.Orders = append(d.report.Orders, answer.DemoOrder{
				Number: o.Number, Document: o.Document, Cutter: o.Cutter, Due: o.Due, Design: l.Design,
				Position: l.Position, Material: strings.Join(l.Species, " or "),
				Shape: l.Shape, Length: l.Length, Width: l.Width, Count: l.Count, Spare: l.Spare, Weight: l.Weight,
				PriceMax: l.PriceMax,
			})
		}
	}
	var err error
	d.report.Check, err = d.Desk.LedgerCheck(ctx, desk.LedgerCheck{})
	return err
}

func (d *demo) bought(ctx context.Context) error {
	parcels, err := d.Stockroom.ParcelList(ctx, stockroom.ParcelList{})
	if err != nil {
		return err
	}
	for _, p := range parcels.Parcels {
		full, err := d.Stockroom.ParcelShow(ctx, stockroom.ParcelShow{Parcel: p.Code})
		if err != nil {
			return err
		}
		p := full.Parcels[0]
		row := answer.DemoParcel{Code: p.Code, Label: p.Label, Kind: string(p.Kind), Vendor: p.Vendor, Lots: p.Lots,
			Pieces: p.Pieces, Carats: p.Carats,
			Price: p.Price, Currency: p.Currency, Rate: p.Rate, Charges: num.Zero(p.Price.Currency()), Held: p.Held,
			Agreed: num.Zero(p.Price.Currency())}
		for _, c := range p.Charges {
			if c.Void == "" {
				row.Charges = row.Charges.Add(c.Amount)
			}
		}
		for _, l := range p.Left {
			if !l.Owner.IsOwn() && !l.Agreed.IsZero() {
				row.Agreed = row.Agreed.Add(l.Agreed)
			}
		}
		d.report.Bought = append(d.report.Bought, row)
	}
	return nil
}

// money is the line as proposed.
func (d *demo) money() {
	l := d.line.Price
	out := answer.DemoLine{Name: l.Line, Cost: l.Cost.Money, Sales: l.Sales.Money, Fixed: l.Fixed.Money,
		Earned: l.Earned.Money, Drop: l.Drop, Bound: l.Plan.Bound.Money, GapPercent: l.Plan.GapPercent,
		Status: l.Plan.Status, Designs: []answer.DemoDesign{}, Short: []answer.DemoShort{}}
	if r := d.line.Proposal.Risk; r != nil {
		out.Low, out.High, out.LossChance, out.Runs = r.P10, r.P90, r.LossChance.Fixed(1), int(r.Runs)
	}
	for i, p := range l.Designs {
		out.Designs = append(out.Designs, answer.DemoDesign{Design: p.Design, Metal: d.line.Proposal.Designs[i].Metal,
			Wanted: p.Wanted, Made: p.Made, Cost: p.Cost.Amount, Price: p.Trade.Money,
			Margin: p.TradeMargin.Fixed(1), Earned: p.Earned.Money})
	}
	for _, s := range l.Plan.Short {
		out.Short = append(out.Short, answer.DemoShort{Design: s.Design, Position: s.Position, Missing: s.Missing,
			Why: s.Why, Worth: s.Worth.Money})
	}
	d.report.Line = out
}
