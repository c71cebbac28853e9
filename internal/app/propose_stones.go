package app

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/documents"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
)

// stones are the rows of one design: every planned unit, position and lot.
func (w *proposalWriter) stones(design string) []documents.ProposalStone {
	var out []documents.ProposalStone
	var d book.Design
	for _, have := range w.Planned.Designs {
		if have.Name == design {
			d = have.Design
		}
	}
	for _, piece := range w.Plan.Pieces {
		if piece.Design != design {
			continue
		}
		for _, f := range piece.Fills {
			pos, _ := positionOf(d, f.Position)
			for _, s := range f.Stones {
				lot := w.Stones[s.Lot]
				row := documents.ProposalStone{
					Design: design, Unit: int64(piece.Number), Position: f.Position, Setting: pos.Setting, Lot: s.Lot, Pieces: s.Pieces,
					StoneWords: stoneWords(lot, w.Identities[s.Lot]), Carats: s.Carats, ByScale: lot.Pieces == s.Pieces,
					Cost: w.bookCost(s.Lot, s.Pieces), Owner: string(lot.Owner),
				}
				if j := w.judge.at(lot.Lot, d, pos); j.err == nil {
					row.Level = j.all.Setting.String()
				}
				out = append(out, row)
			}
		}
	}
	return out
}

// stoneWords say what a lot's stones are, as published rules ask it to be told.
func stoneWords(lot StockLot, id *LotIdentity) documents.StoneWords {
	facet := func(f book.Facet) documents.Facet { return documents.Facet{Value: f.Value, Basis: f.Basis} }
	s := documents.StoneWords{
		Name: lot.Name(), Shape: lot.Shape, Size: sizeWords(lot.Lot), Color: lot.Color,
		Nature: facet(lot.Facets.Nature), Treatment: facet(lot.Facets.Treatment), Origin: facet(lot.Facets.Origin),
		Established: []string{}, NotEstablished: []string{},
	}
	if lot.Variety != "" {
		s.Species = lot.Species
	}
	if named, f := facts.Resolve(lot.Name()); f == nil {
		d := durability.DisclosureOf(durability.Stone{Material: named.Materials[0], Variety: named.Variety, Treatment: lot.Facets.Treatment.Value, Nature: lot.Facets.Nature.Value})
		if d.Assumed {
			s.Assumed = strings.Join(d.Treatment, "; ")
		} else {
			s.Permanence = strings.Join(d.Treatment, "; ")
		}
		s.SpecialCare = strings.Join(d.Care, " ")
		if d.Value {
			s.ValueEffect = "the treatment affects the value"
		}
	}
	establish(&s, lot, id)
	return s
}

// establish says which facets are established, and how, and which are not.
func establish(s *documents.StoneWords, lot StockLot, id *LotIdentity) {
	s.Identity = string(identify.Stated)
	if id != nil {
		s.Identity = string(id.Judged.State)
	}
	species := "species " + lot.Species
	switch {
	case lot.Facets.Species.Basis == book.LabReported:
		s.Established = append(s.Established, species+" (laboratory report)")
	case id != nil && id.Judged.State == identify.Verified:
		s.Established = append(s.Established, fmt.Sprintf("%s (%d of %d tested)", species, id.Judged.Tested, id.Judged.Of))
	case id != nil && id.Judged.Tested > 0:
		s.NotEstablished = append(s.NotEstablished, fmt.Sprintf("%s (%d of %d tested, others not excluded)", species, id.Judged.Tested, id.Judged.Of))
	default:
		s.NotEstablished = append(s.NotEstablished, species+" (nobody tested it)")
	}
	for _, f := range []struct {
		name string
		book.Facet
	}{{"nature", lot.Facets.Nature}, {"treatment", lot.Facets.Treatment}, {"origin", lot.Facets.Origin}} {
		if f.Basis == book.LabReported {
			s.Established = append(s.Established, f.name+": "+f.Value+" (laboratory report)")
			continue
		}
		if f.name == "origin" && f.Value == "" {
			continue // origin is told only when somebody claims one
		}
		s.NotEstablished = append(s.NotEstablished, f.name)
	}
	if id != nil && id.Report != nil {
		s.OriginBasis = "report " + id.Report.Number + " of " + id.Report.Lab
	}
}

func sizeWords(l book.Lot) string {
	var parts []string
	for _, d := range []book.Size{l.Length, l.Width, l.Depth} {
		if !d.IsZero() {
			parts = append(parts, d.String())
		}
	}
	return strings.Join(parts, " x ")
}

// risk simulates the line's profit and ranks what moves it.
func (w *proposalWriter) risk(p *documents.Proposal, r LinePropose) error {
	model := &costing.Model{Currency: w.currency, Shared: num.Zero(w.currency)}
	var trees []*costing.Node
	for i, d := range w.Designs {
		if d.Made == 0 {
			continue
		}
		design := w.Planned.Designs[i]
		m := costing.DesignModel(costing.LineDesign{Name: d.Design, Quantity: d.Made, Price: design.PriceTrade, Cost: d.Cost, Fixed: design.FixedCost}, d.Unit, w.Card)
		for _, e := range m.Exposed {
			if model.Drivers == nil {
				model.Drivers = map[string]costing.Driver{}
			}
			model.Drivers[e.Driver] = metalDriver
		}
		for j, s := range d.Unit.Stones {
			if s.Breakage.A > 0 {
				m.Stones[j].Breakage = w.belief(model, s)
			}
		}
		model.Designs = append(model.Designs, m)
		trees = append(trees, d.Cost)
	}
	if len(model.Designs) == 0 {
		return nil
	}
	out, faults := costing.Simulate(model, costing.Runs{Seed: r.Seed, First: r.Runs})
	if faults.Blocks() {
		return faults
	}
	money := func(f float64) num.Money {
		return num.MoneyFromDec(num.FromFloat(f, 6, num.HalfUp), w.currency, num.HalfUp)
	}
	p.Risk = &documents.Risk{
		Runs: out.Runs, Seed: int64(out.Seed), P10: money(out.P10.Value), P50: money(out.P50.Value), P90: money(out.P90.Value), Mean: money(out.Mean.Value),
		StandardError: money(out.Mean.SE), LossChance: num.Percent{Dec: num.FromFloat(100*out.Loss.Value, 1, num.HalfUp)},
		Counted: fmt.Sprintf("breakage in setting (beliefs as shown with each stone) and metal prices over %g months (%g %% a year, an estimate); every planned unit is taken as sold", metalDriver.Months, 100*metalDriver.Volatility),
	}
	for _, b := range out.Bins {
		p.Risk.Bins = append(p.Risk.Bins, documents.Bin{Low: money(b.Low), High: money(b.High), Count: b.Count})
	}
	return w.moves(p, trees)
}

// metalDriver is how far metal prices are taken to wander: an estimate, from
// memory of yearly volatilities of gold and silver; a setting of the user once
// the book keeps one.
var metalDriver = costing.Driver{Volatility: 0.15, Months: 6}

// belief names a breakage belief of the model, the same for the same words.
func (w *proposalWriter) belief(m *costing.Model, s costing.StoneInput) string {
	name := "breakage: " + s.Setting + ", " + s.BreakageSource + fmt.Sprintf(" (%g of %g)", s.Breakage.A, s.Breakage.A+s.Breakage.B)
	if m.Beliefs == nil {
		m.Beliefs = map[string]chance.Beta{}
	}
	m.Beliefs[name] = s.Breakage
	return name
}

// moves ranks what each rate does to the profit of the plan as it is.
func (w *proposalWriter) moves(p *documents.Proposal, trees []*costing.Node) error {
	moved, faults := costing.Sensitivity(costing.RateSwings(trees...), func(replaced map[string]num.Dec) (num.Money, fault.List) {
		card := w.Card.Replace(replaced)
		profit := num.Zero(w.currency)
		for i, d := range w.Designs {
			if d.Made == 0 {
				continue
			}
			tree, faults := costing.PieceCost(d.Unit, card)
			if faults.Blocks() {
				return profit, faults
			}
			design := w.Planned.Designs[i]
			profit = profit.Add(design.PriceTrade.Sub(tree.Amount).Times(num.Int(d.Made), num.HalfUp)).Sub(design.FixedCost)
		}
		return profit, nil
	})
	if faults.Blocks() {
		return faults
	}
	for i, m := range moved {
		if i == 12 || m.Span.IsZero() {
			break
		}
		p.Profit = m.AtBase
		p.Moves = append(p.Moves, documents.Move{Input: m.Name + ", " + m.Unit, Low: m.Low.String(), High: m.High.String(), AtLow: m.AtLow, AtHigh: m.AtHigh})
	}
	return nil
}
