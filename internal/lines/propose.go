package lines

import (
	"cmp"
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
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
	Proposal  *answer.Proposal
	Refused   []answer.Refusal // stones that the line asks for and its settings refuse
	Documents []book.Document
}

// LinePropose plans, prices and checks a line, and issues the proposal and the
// care cards. What it was made from is frozen in them.
func (room *Room) LinePropose(ctx context.Context, r LinePropose) (*Proposed, error) {
	line, err := room.LinePrice(ctx, r.LinePlan)
	if err != nil {
		return nil, err
	}
	w := &ProposalWriter{LinePrice: line, customer: r.Customer}
	w.proposal, err = w.write(r)
	if err != nil {
		return nil, err
	}
	out := &Proposed{LinePrice: line, Proposal: w.proposal, Refused: line.refused()}
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		cards := w.careCards()
		out.Documents, _, err = desk.Issue(ctx, tx, s, line.Config, line.basis(), "proposed the line "+line.Line,
			[]desk.Draft{
				{Kind: "PROPOSAL", Title: "Proposal: line " + line.Line, Make: func(h answer.Head) desk.Model {
					p := *w.proposal
					p.Head = h
					return &p
				}},
				{Kind: "CARE", Title: "Care cards: line " + line.Line, Make: func(h answer.Head) desk.Model {
					c := *cards
					c.Head = h
					return &c
				}},
			}, nil)
		return err
	})
	return out, err
}

// ProposalWriter turns a priced line into the models of its documents.
type ProposalWriter struct {
	*LinePrice
	customer string
	proposal *answer.Proposal
}

func (w *ProposalWriter) write(r LinePropose) (*answer.Proposal, error) {
	p := &answer.Proposal{
		Line: w.Line, Customer: w.customer, Inputs: w.inputs(), Designs: []answer.ProposalDesign{},
		Stones: []answer.ProposalStone{},
		Short:  []answer.Shortage{}, Warnings: w.warnings(), Moves: []answer.Move{}, Profit: w.Earned,
		Plan: answer.PlanFacts{Value: w.Plan.Value, Bound: w.Plan.Bound, Gap: num.Percent{Dec: num.FromFloat(w.Plan.Gap,
			2, num.HalfUp)}, Status: w.Plan.Status},
	}
	p.Currency = w.currency
	for i, d := range w.Designs {
		p.Designs = append(p.Designs, w.design(d, w.Planned.Designs[i].Design))
		p.Stones = append(p.Stones, w.stones(d.Design)...)
	}
	for _, s := range w.Plan.Short {
		p.Short = append(p.Short, answer.Shortage{Design: s.Design, Position: s.Position, Missing: s.Missing,
			Why: s.Why, Worth: s.Worth})
	}
	if err := w.risk(p, r); err != nil {
		return nil, err
	}
	return p, nil
}

// warnings are what stays visible on the Summary beside the warnings that
// follow from stones and prices.
func (w *ProposalWriter) warnings() []answer.Warning {
	out := []answer.Warning{}
	for _, f := range w.Warnings {
		out = append(out, answer.Warning{About: cmp.Or(f.Where.Ref, "rates"), Text: f.What, Mend: f.Mend})
	}
	for _, s := range w.Input.Stones {
		id := w.Identities[s.Lot]
		if id == nil || !id.Judged.State.Fenced() {
			continue
		}
		out = append(out, answer.Warning{
			About: "lot " + s.Lot, Text: fmt.Sprintf("claimed %s, but its readings say %s: left out of the plan",
				id.Claim, id.Judged.State),
			Mend: "sort it by identity, or return it to the vendor",
		})
	}
	return out
}

// careCards are one card for each design that is made.
func (w *ProposalWriter) careCards() *answer.CareCards {
	c := &answer.CareCards{Line: w.Line, Cards: []answer.CareCard{}}
	c.Currency = w.currency
	for i, d := range w.Designs {
		if d.Made == 0 {
			continue
		}
		design := w.Planned.Designs[i].Design
		card := answer.CareCard{Design: d.Design, Piece: design.Piece, Metal: MetalWords(design),
			CareWords: w.care(design)}
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
			card.Stones = append(card.Stones, answer.CareStone{Pieces: s.Pieces, Carats: s.Carats, StoneWords: words})
		}
		c.Cards = append(c.Cards, card)
	}
	return c
}
