package demo

import (
	"context"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
)

// Report is what the demo did and found. Every number in it comes out of
// the book.
type Report struct {
	Folder  string           `json:"folder"` // where its files were written; Demo leaves it empty
	Dealer  string           `json:"dealer"`
	Bought  []Parcel         `json:"bought"`
	States  []State          `json:"states"` // of the lots as bought
	Found   []Finding        `json:"found"`
	Facets  []Facet          `json:"facets"`  // how each facet of the stones is known, at the end
	Refused []Refusal        `json:"refused"` // what may not be set where it was asked for
	Caution []Refusal        `json:"caution"` // what was planned and needs care at the bench or in the showcase
	Line    Line             `json:"line"`
	Orders  []Order          `json:"orders"`
	Files   []File           `json:"files"`
	Check   desk.LedgerCheck `json:"ledger"`
	Assumed []Assuming       `json:"assumed"` // treatments that nobody stated, in planned stones
}

// Parcel is what came in.
type Parcel struct {
	Code     string       `json:"parcel"`
	Label    string       `json:"label"`
	Kind     string       `json:"kind"`
	Vendor   string       `json:"vendor"`
	Lots     int          `json:"lots"`
	Pieces   int64        `json:"pieces"`
	Carats   num.Carat    `json:"carats"`
	Price    num.Money    `json:"price"`
	Currency num.Currency `json:"currency"` // of the invoice
	Rate     num.Rate     `json:"rate"`
	Charges  num.Money    `json:"charges"`
	Held     num.Money    `json:"held"` // landed cost of what is left
	Agreed   num.Money    `json:"agreed"`
}

// State counts the lots in one state of identity.
type State struct {
	State  string `json:"state"`
	Lots   int    `json:"lots"`
	Pieces int64  `json:"pieces"`
}

// Finding is one thing that was found out about a lot. Kind is
// contradicted, mixed, undecided, untested, treatment, verified or report.
type Finding struct {
	Kind   string   `json:"kind"`
	Lot    string   `json:"lot"`
	Claim  string   `json:"claim"`
	Pieces int64    `json:"pieces"`
	Tested int      `json:"tested"`
	Of     int      `json:"of"`
	Others int      `json:"others"` // tested stones that are not the claim
	What   string   `json:"what"`   // what the others most likely are, or what is assumed
	Why    string   `json:"why"`
	Next   string   `json:"next"`
	Into   []string `json:"into"` // lots that a sort made
}

// Facet counts pieces by how one facet is known.
type Facet struct {
	Facet  string `json:"facet"`
	Report int64  `json:"lab_reported"`
	Tested int64  `json:"tested"`
	Stated int64  `json:"stated"`
	Silent int64  `json:"unknown"`
}

// Refusal is a stone that must not go where it was asked for, or that
// needs care there.
type Refusal struct {
	Design   string `json:"design"`
	Where    string `json:"where"` // "daily ring, prong"
	Position string `json:"position"`
	Lots     string `json:"lots"`
	Stone    string `json:"stone"`
	Pieces   int64  `json:"pieces"`
	Part     string `json:"part"`
	Level    string `json:"level"`
	Reason   string `json:"reason"`
	Mend     string `json:"mend"`
}

// Assuming is a treatment that nobody stated.
type Assuming struct {
	Lots    string `json:"lots"`
	Stone   string `json:"stone"`
	Assumed string `json:"assumed"`
}

// Line is what the line costs and earns.
type Line struct {
	Name       string    `json:"line"`
	Designs    []Design  `json:"designs"`
	Cost       num.Money `json:"cost"`
	Sales      num.Money `json:"sales"`
	Fixed      num.Money `json:"fixed"`
	Earned     num.Money `json:"earned"`
	Drop       string    `json:"drop"`
	Bound      num.Money `json:"bound"`
	GapPercent float64   `json:"gap_percent"`
	Status     string    `json:"status"`
	Low        num.Money `json:"p10"`
	High       num.Money `json:"p90"`
	LossChance string    `json:"loss_chance_percent"`
	Runs       int       `json:"runs"`
	Short      []Short   `json:"short"`
}

// Design is one design as planned.
type Design struct {
	Design string    `json:"design"`
	Metal  string    `json:"metal"`
	Wanted int64     `json:"wanted"`
	Made   int64     `json:"made"`
	Cost   num.Money `json:"cost"`
	Price  num.Money `json:"price_trade"`
	Margin string    `json:"margin_percent"`
	Earned num.Money `json:"earned"`
}

// Short is what the plan lacks.
type Short struct {
	Design   string    `json:"design"`
	Position string    `json:"position"`
	Missing  int64     `json:"missing"`
	Why      string    `json:"why"`
	Worth    num.Money `json:"worth"`
}

// Order is one item of a cutter order.
type Order struct {
	Number   string         `json:"order"`
	Document string         `json:"document"`
	Cutter   string         `json:"cutter"`
	Due      book.Date      `json:"due"`
	Design   string         `json:"design"`
	Position string         `json:"position"`
	Material string         `json:"material"`
	Shape    string         `json:"shape"`
	Length   num.Millimetre `json:"length_mm"`
	Width    num.Millimetre `json:"width_mm"`
	Count    int64          `json:"count"`
	Spare    int64          `json:"spare"`
	Weight   num.Carat      `json:"weight_each"`
	PriceMax num.Money      `json:"price_max_each"`
}

// look reads the report out of the book and the plan.
func (d *demo) look(ctx context.Context) error {
	if err := d.bought(ctx); err != nil {
		return err
	}
	if err := d.found(ctx); err != nil {
		return err
	}
	if err := d.facets(ctx); err != nil {
		return err
	}
	d.refusals()
	d.cautions()
	d.money()
	d.report.Orders = []Order{}
	for _, o := range d.orders {
		for _, l := range o.Lines {
			d.report.Orders = append(d.report.Orders, Order{
				Number: o.Number, Document: o.Document, Cutter: o.Cutter, Due: o.Due, Design: l.Design,
				Position: l.Position, Material: strings.Join(l.Species, " or "),
				Shape: l.Shape, Length: l.Length, Width: l.Width, Count: l.Count, Spare: l.Spare, Weight: l.Weight,
				PriceMax: l.PriceMax,
			})
		}
	}
	var err error
	d.report.Check, err = d.Desk.LedgerCheck(ctx)
	return err
}

func (d *demo) bought(ctx context.Context) error {
	parcels, err := d.Stockroom.ParcelShow(ctx, "")
	if err != nil {
		return err
	}
	for _, p := range parcels {
		full, err := d.Stockroom.ParcelShow(ctx, p.Code)
		if err != nil {
			return err
		}
		p := full[0]
		row := Parcel{Code: p.Code, Label: p.Label, Kind: string(p.Kind), Vendor: p.Vendor, Lots: p.Lots,
			Pieces: p.Pieces, Carats: p.Carats,
			Price: p.Price, Currency: p.Currency, Rate: p.Rate, Charges: num.Zero(p.Price.Currency()), Held: p.Held,
			Agreed: num.Zero(p.Price.Currency())}
		for _, c := range p.Charges {
			row.Charges = row.Charges.Add(c.Amount)
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
	l := d.line
	out := Line{Name: l.Line, Cost: l.Cost, Sales: l.Sales, Fixed: l.Fixed, Earned: l.Earned, Drop: l.Drop,
		Bound: l.Plan.Bound, GapPercent: l.Plan.Gap, Status: l.Plan.Status, Designs: []Design{}, Short: []Short{}}
	if r := l.Proposal.Risk; r != nil {
		out.Low, out.High, out.LossChance, out.Runs = r.P10, r.P90, r.LossChance.Fixed(1), int(r.Runs)
	}
	for i, p := range l.LinePrice.Designs {
		design := l.Planned.Designs[i].Design
		out.Designs = append(out.Designs, Design{Design: p.Design, Metal: lines.MetalWords(design), Wanted: p.Wanted,
			Made: p.Made, Cost: p.Cost.Amount,
			Price: p.Trade.Price, Margin: p.Trade.Margin.Fixed(1), Earned: p.Earned})
	}
	for _, s := range l.Plan.Short {
		out.Short = append(out.Short, Short{s.Design, s.Position, s.Missing, s.Why, s.Worth})
	}
	d.report.Line = out
}
