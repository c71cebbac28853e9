package lines

import (
	"fmt"
	"io"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// Document is the plan as a document: workbook, picture, text.
func (p *Planned) Document(line string) *answer.LinePlan {
	out := &answer.LinePlan{
		Head: answer.Head{Title: "Plan of the line " + line, On: p.On, Dealer: p.Config.Name, Facts: facts.Version(),
			Book: p.Head.Hash, Currency: p.currency, Carats: p.Config.CaratRule},
		Line: line, Mismatch: p.Plan.Mismatch, Basis: p.StoneBasis(), Notes: p.Notes(),
		Plan: answer.PlanFacts{Value: p.Plan.Value, Bound: p.Plan.Bound,
			Gap: num.Percent{Dec: num.FromFloat(p.Plan.Gap, 2, num.HalfUp)}, Status: p.Plan.Status},
		Designs: []answer.PlanDesign{}, Pieces: []answer.PlanPiece{}, Short: []answer.PlanShort{},
		Changes: []answer.PlanChange{},
	}
	before := map[string]num.Money{}
	for _, d := range p.Designs {
		x := answer.PlanDesign{Design: d.Name, Piece: d.Piece, Wanted: d.Quantity, Planned: p.Plan.Made[d.Name],
			Before: d.Margin}
		for _, u := range p.Plan.Unmade {
			if u.Design == d.Name {
				x.Note = fmt.Sprintf("%d more are wanted: %s", u.Pieces, u.Why)
			}
		}
		before[d.Name] = d.Margin
		out.Designs = append(out.Designs, x)
	}
	for _, piece := range p.Plan.Pieces {
		x := answer.PlanPiece{Design: piece.Design, Number: int64(piece.Number), Before: before[piece.Design],
			Stones: []answer.PlanStone{}}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				x.Stones = append(x.Stones, p.planned(f, s))
			}
		}
		out.Pieces = append(out.Pieces, x)
	}
	for _, s := range p.Plan.Short {
		x := answer.PlanShort{Shortage: answer.Shortage{Design: s.Design, Position: s.Position, Missing: s.Missing,
			Why: s.Why, Worth: s.Worth}, Together: answer.List(s.Together), Relaxed: []answer.PlanWidened{}}
		for _, r := range s.Relaxed {
			x.Relaxed = append(x.Relaxed, answer.PlanWidened{Rule: r.Rule, Admits: r.Admits, AtMost: r.AtMost})
		}
		out.Short = append(out.Short, x)
	}
	for _, c := range p.Changes {
		out.Changes = append(out.Changes, answer.PlanChange(c))
	}
	return out
}

// MPS writes the model that was solved, for other solvers.
func (p *Planned) MPS(w io.Writer) error { return p.model.MPS(w) }

// planned is one lot of a fill, with its outline.
func (p *Planned) planned(f lineplan.Fill, s lineplan.Placed) answer.PlanStone {
	lot := p.Stones[s.Lot].Lot
	for i := range p.Input.Stones {
		if st := &p.Input.Stones[i]; st.Lot == s.Lot {
			lot.Shape, lot.Length, lot.Width = st.Shape, st.Length, st.Width
		}
	}
	out := answer.PlanStone{Position: f.Position, Lot: s.Lot, Name: p.nameOf(s.Lot), Shape: lot.Shape,
		Size: answer.SizeWords(lot), Pieces: s.Pieces, Carats: s.Carats, Cost: s.Cost, Match: f.Mismatch, Note: s.Note,
		Outline: []answer.Point{}}
	shape, fail := cutting.ParseShape(lot.Shape)
	if fail != nil {
		return out
	}
	length, width := (lot.Length.Min+lot.Length.Max)/2, (lot.Width.Min+lot.Width.Max)/2
	if width == 0 {
		width = length
	}
	for _, q := range cutting.Outline(shape, length.Float(), width.Float()) {
		out.Outline = append(out.Outline, answer.Point{X: num.MillimetreFromFloat(q.X, num.HalfUp),
			Y: num.MillimetreFromFloat(q.Y, num.HalfUp)})
	}
	return out
}

// StoneBasis says what using a stone costs the plan.
func (p *Planned) StoneBasis() string {
	rule := map[string]string{
		"loose_price": "what they would bring loose by the price list: what was paid is sunk and does not steer",
		"replacement": "what it costs to replace them by the price list",
		"book_cost":   "their cost in the book",
	}[p.Config.StoneValue]
	return rule + "; stones on memo in at their agreed price"
}

// Notes are what a reader of the plan must know besides.
func (p *Planned) Notes() []string {
	var out []string
	var bare []string
	for _, s := range p.Input.Stones {
		if p.Plan.Used[s.Lot] > 0 && strings.HasPrefix(s.Basis, "book cost:") {
			bare = append(bare, s.Lot)
		}
	}
	if len(bare) > 0 {
		out = append(out, "The price list has no row for "+strings.Join(bare, ", ")+": their book cost stands in.")
	}
	if len(p.Plan.Capped) > 0 {
		out = append(out, "Of the many stones that fit, each was matched with its nearest only in "+
			strings.Join(p.Plan.Capped, ", ")+": the bound holds for those matches. With every other pair that the "+
			"tolerances allow, no plan is worth more than "+p.Plan.BoundAll.Words()+".")
	}
	if p.Most != nil {
		out = append(out, fmt.Sprintf("Stones stay where they were unless moving one gains more than %s; a plan that "+
			"moves what it likes is worth %s.", p.KeepWorth.Words(), p.Most.Value.Words()))
	}
	out = append(out, "What a further stone or a wider rule is worth holds for that one change. A wider rule is the "+
		"designer's to grant, and a worse setting verdict is a risk to the stone.")
	return out
}
