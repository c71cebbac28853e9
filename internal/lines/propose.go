package lines

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Propose asks for a priced and checked line as documents.
type Propose struct {
	Plan
	Customer string
	Runs     int // of the simulation; 0: 10,000
}

// Propose plans, prices and checks a line, and issues the proposal and the
// care cards. What they were made from is frozen in them.
func (room *Room) Propose(ctx context.Context, r Propose) (answer.LineProposed, error) {
	line, err := room.price(ctx, r.Plan)
	if err != nil {
		return answer.LineProposed{}, err
	}
	w := &proposalWriter{pricedLine: line}
	proposal, err := w.proposal(r)
	if err != nil {
		return answer.LineProposed{}, err
	}
	cards := w.careCards(proposal)
	out := answer.LineProposed{Price: line.answer(), Proposal: *proposal, Refused: line.refused()}
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		name := line.line.Name
		issued, err := desk.Issue(ctx, tx, s, desk.Papers{Reason: "proposed the line " + name,
			From: line.readFor(line.plan), Drafts: []desk.Draft{
				{Kind: "PROPOSAL", Title: "Proposal: line " + name, Model: proposal},
				{Kind: "CARE", Title: "Care cards: line " + name, Model: cards},
			}})
		if err != nil {
			return err
		}
		out.Documents = issued.Documents
		return tx.Post(ctx, &issued.Entry)
	})
	return out, err
}

// proposalWriter turns a priced line into the models of its documents.
type proposalWriter struct {
	*pricedLine
}

// proposal is the line as it is offered.
func (w *proposalWriter) proposal(r Propose) (*answer.Proposal, error) {
	p := &answer.Proposal{
		Line: w.line.Name, Customer: r.Customer, Inputs: w.inputs(), Designs: []answer.ProposalDesign{},
		Stones: []answer.ProposalStone{}, Short: []answer.Shortage{}, Warnings: w.warningsTold(),
		Moves: []answer.Move{}, Profit: w.result.Profit,
		Plan: answer.PlanFacts{Value: w.plan.Value, Bound: w.plan.Bound,
			Gap: num.Percent{Dec: num.FromFloat(w.plan.Gap, 2, num.HalfUp)}, Status: w.plan.Status},
	}
	p.Currency = w.currency
	for i := range w.designs {
		d := &w.designs[i]
		p.Designs = append(p.Designs, w.design(d))
		p.Stones = append(p.Stones, w.stones(d)...)
	}
	p.Draw(w.planAnswer(w.plan))
	for _, s := range w.plan.Short {
		p.Short = append(p.Short, answer.Shortage{Design: s.Design, Position: s.Position, Missing: s.Missing,
			Why: s.Why, Worth: s.Worth})
	}
	return p, w.addRisk(p, r)
}

// movesShown is how many inputs a proposal's table of sensitivities lists.
const movesShown = 60

// addRisk simulates the line's profit and ranks what moves it.
func (w *proposalWriter) addRisk(p *answer.Proposal, r Propose) error {
	risk, err := w.risk(Risk{Plan: r.Plan, Runs: r.Runs})
	if err != nil || risk.Outcome.Runs == 0 {
		return err
	}
	p.Risk = answer.RiskOf(risk.Outcome, w.currency, strings.Join(risk.Counted, "; "),
		strings.Join(risk.NotCounted, "; "))
	for _, m := range risk.Moves[:min(len(risk.Moves), movesShown)] {
		p.Moves = append(p.Moves, m.Move())
	}
	return nil
}

// warningsTold are what stays visible on the Summary beside the warnings that
// follow from stones and prices.
func (w *proposalWriter) warningsTold() []answer.Warning {
	out := []answer.Warning{}
	for _, f := range w.told {
		out = append(out, answer.Warning{About: cmp.Or(f.Where.Ref, "rates"), Text: f.What, Mend: f.Mend})
	}
	for _, s := range w.task.Stones {
		id := w.identities[s.Lot]
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

// careCards are one card for each design that is made, with the stones of one
// unit as the proposal words them.
func (w *proposalWriter) careCards(p *answer.Proposal) *answer.CareCards {
	c := &answer.CareCards{Line: w.line.Name, Cards: []answer.CareCard{}}
	c.Currency = w.currency
	for i := range w.designs {
		d := &w.designs[i]
		if d.made == 0 {
			continue
		}
		card := answer.CareCard{Design: d.Name, Piece: d.Piece, Metal: metalWords(d.Design.Design),
			CareWords: w.care(d.Design.Design)}
		seen := map[string]int{}
		for _, s := range p.Stones {
			if s.Design != d.Name || s.Unit != 1 {
				continue
			}
			key := s.Name + s.Treatment.Value + s.Nature.Value
			if at, ok := seen[key]; ok {
				card.Stones[at].Pieces += s.Pieces
				card.Stones[at].Carats += s.Carats
				continue
			}
			seen[key] = len(card.Stones)
			card.Stones = append(card.Stones, answer.CareStone{Pieces: s.Pieces, Carats: s.Carats,
				StoneWords: s.StoneWords})
		}
		c.Cards = append(c.Cards, card)
	}
	return c
}
