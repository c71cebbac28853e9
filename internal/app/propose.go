package app

import (
	"context"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/documents"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LinePropose asks for a priced and checked line as documents.
type LinePropose struct {
	LinePlan
	Customer string
	Runs     int       // of the simulation; 0: 10,000
	Within   num.Money // raise the runs until the mean's standard error is at most this
}

// Proposed is what a proposal issued.
type Proposed struct {
	*LinePrice
	Proposal  *documents.Proposal
	Documents []book.Document
}

// LinePropose plans, prices and checks a line, and issues the proposal and the
// care cards. What it was made from is frozen in them.
func (a *App) LinePropose(ctx context.Context, r LinePropose) (*Proposed, error) {
	line, err := a.LinePrice(ctx, r.LinePlan)
	if err != nil {
		return nil, err
	}
	w := &proposalWriter{LinePrice: line, customer: r.Customer}
	w.proposal, err = w.write(r)
	if err != nil {
		return nil, err
	}
	out := &Proposed{LinePrice: line, Proposal: w.proposal}
	err = a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		cards := w.careCards()
		out.Documents, _, err = issue(ctx, tx, s, line.Config, line.Head, "proposed the line "+line.Line, []draft{
			{"PROPOSAL", "Proposal: line " + line.Line, func(h documents.Head) model {
				p := *w.proposal
				p.Head = h
				return &p
			}},
			{"CARE", "Care cards: line " + line.Line, func(h documents.Head) model {
				c := *cards
				c.Head = h
				return &c
			}},
		}, nil)
		return err
	})
	return out, err
}

// proposalWriter turns a priced line into the models of its documents.
type proposalWriter struct {
	*LinePrice
	customer string
	proposal *documents.Proposal
}

func (w *proposalWriter) write(r LinePropose) (*documents.Proposal, error) {
	p := &documents.Proposal{
		Line: w.Line, Customer: w.customer, Inputs: w.inputs(), Designs: []documents.ProposalDesign{}, Stones: []documents.ProposalStone{},
		Short: []documents.Shortage{}, Warnings: w.warnings(), Moves: []documents.Move{}, Profit: w.Earned,
		Plan: documents.PlanFacts{Value: w.Plan.Value, Bound: w.Plan.Bound, Gap: num.Percent{Dec: num.FromFloat(w.Plan.Gap, 2, num.HalfUp)}, Status: w.Plan.Status},
	}
	p.Currency = w.currency
	for i, d := range w.Designs {
		p.Designs = append(p.Designs, w.design(d, w.Planned.Designs[i].Design))
		p.Stones = append(p.Stones, w.stones(d.Design)...)
	}
	for _, s := range w.Plan.Short {
		p.Short = append(p.Short, documents.Shortage{Design: s.Design, Position: s.Position, Missing: s.Missing, Why: s.Why, Worth: s.Worth})
	}
	if err := w.risk(p, r); err != nil {
		return nil, err
	}
	return p, nil
}

// warnings are what stays visible on the Summary beside the warnings that
// follow from stones and prices.
func (w *proposalWriter) warnings() []documents.Warning {
	out := []documents.Warning{}
	for _, f := range w.Warnings {
		out = append(out, documents.Warning{About: orThe(f.Where.Ref, "rates"), Text: f.What, Mend: f.Mend})
	}
	for _, s := range w.input.Stones {
		id := w.Identities[s.Lot]
		if id == nil || !id.Judged.State.Fenced() {
			continue
		}
		out = append(out, documents.Warning{
			About: "lot " + s.Lot, Text: fmt.Sprintf("claimed %s, but its readings say %s: left out of the plan", id.Claim, id.Judged.State),
			Mend: "sort it by identity, or return it to the vendor",
		})
	}
	return out
}

// careCards are one card for each design that is made.
func (w *proposalWriter) careCards() *documents.CareCards {
	c := &documents.CareCards{Line: w.Line, Cards: []documents.CareCard{}}
	c.Currency = w.currency
	for i, d := range w.Designs {
		if d.Made == 0 {
			continue
		}
		design := w.Planned.Designs[i].Design
		card := documents.CareCard{Design: d.Design, Piece: design.Piece, Metal: metalWords(design), CareWords: w.care(design)}
		seen := map[string]int{}
		for _, s := range w.proposal.Stones {
			if s.Design != d.Design || s.Unit != 1 {
				continue
			}
			key := s.Name + s.Treatment.Value + s.Nature.Value
			if at, ok := seen[key]; ok {
				card.Stones[at].Pieces += s.Pieces
				card.Stones[at].Carats += s.Carats
				continue
			}
			seen[key] = len(card.Stones)
			words := s.StoneWords
			card.Stones = append(card.Stones, documents.CareStone{Pieces: s.Pieces, Carats: s.Carats, StoneWords: words})
		}
		c.Cards = append(c.Cards, card)
	}
	return c
}
