package lines

import (
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// planAnswer returns a plan as an answer.
func (b *basis) planAnswer(p *solution) answer.LinePlan {
	amount := func(m num.Money) answer.Amount { return answer.Amount{Money: m} }
	out := answer.LinePlan{
		Head: b.answerHead("Plan of the line " + b.line.Name), Line: b.line.Name,
		Value: amount(p.Value), Bound: amount(p.Bound), BoundOf: answer.AllPairs, BoundAll: amount(p.BoundAll),
		GapPercent: p.Gap, Status: p.Status, Mismatch: amount(p.Mismatch), Basis: b.stoneBasis(), Notes: b.notes(p),
		Designs: []answer.PlanDesign{}, Pieces: []answer.PlanPiece{}, Short: []answer.PlanShort{},
		Unmade: []answer.PlanUnmade{}, Changes: []answer.PlanChange{}, Warnings: b.warnings,
	}
	if len(p.Capped) > 0 {
		out.BoundOf = answer.CandidatePairs
	}
	for _, d := range p.task.Designs {
		out.Designs = append(out.Designs, answer.PlanDesign{Design: d.Name, Piece: d.Piece, Wanted: d.Quantity,
			Planned: p.Made[d.Name], Before: amount(d.Margin)})
	}
	for _, piece := range p.Pieces {
		x := answer.PlanPiece{Design: piece.Design, Number: int64(piece.Number), Earns: amount(piece.Earns),
			Stones: []answer.PlanStone{}}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				x.Stones = append(x.Stones, b.planStone(f, s))
			}
		}
		out.Pieces = append(out.Pieces, x)
	}
	for _, s := range p.Short {
		x := answer.PlanShort{Design: s.Design, Position: s.Position, Missing: s.Missing, Why: s.Why,
			Worth: amount(s.Worth), Together: answer.List(s.Together), Relaxed: []answer.PlanWidened{}}
		for _, r := range s.Relaxed {
			x.Relaxed = append(x.Relaxed, answer.PlanWidened{Rule: r.Rule, Admits: r.Admits, AtMost: amount(r.AtMost)})
		}
		out.Short = append(out.Short, x)
	}
	for _, u := range p.Unmade {
		out.Unmade = append(out.Unmade, answer.PlanUnmade(u))
	}
	for _, c := range p.changes {
		out.Changes = append(out.Changes, answer.PlanChange(c))
	}
	return out
}

// answerHead is the head of an answer that was worked out from the basis.
func (b *basis) answerHead(title string) answer.Head {
	return answer.Head{Title: title, On: b.on, Dealer: b.config.Name, Facts: facts.Version(), Book: b.head.Hash,
		Currency: b.currency, Carats: b.config.CaratRule}
}

// planStone is one lot of a fill, with its outline.
func (b *basis) planStone(f lineplan.Fill, s lineplan.Placed) answer.PlanStone {
	lot := b.lots[s.Lot].Lot
	return answer.PlanStone{Position: f.Position, Lot: s.Lot, Name: b.nameOf(s.Lot), Shape: lot.Shape,
		Size: answer.SizeWords(lot), Pieces: s.Pieces, Carats: s.Carats, Cost: answer.Amount{Money: s.Cost},
		Mismatch: f.Mismatch, Note: s.Note, Outline: outlineOf(lot)}
}

// outlineOf is a stone of a lot seen from above, at its middle size.
func outlineOf(lot book.Lot) []answer.Point {
	out := []answer.Point{}
	shape, f := cutting.ParseShape(lot.Shape)
	if f != nil {
		return out
	}
	length, width := (lot.Length.Min+lot.Length.Max)/2, (lot.Width.Min+lot.Width.Max)/2
	if width == 0 {
		width = length
	}
	for _, q := range cutting.Outline(shape, length.Float(), width.Float()) {
		out = append(out, answer.Point{X: num.MillimetreFromFloat(q.X, num.HalfUp),
			Y: num.MillimetreFromFloat(q.Y, num.HalfUp)})
	}
	return out
}

// stoneBasis says what using a stone costs the plan.
func (b *basis) stoneBasis() string {
	rule := map[string]string{
		"loose_price": "what they would bring loose by the price list: what was paid is sunk and does not steer",
		"replacement": "what it costs to replace them by the price list",
		"book_cost":   "their cost in the book",
	}[b.config.StoneValue]
	return rule + "; stones on memo in at their agreed price"
}

// notes are what a reader of the plan must know besides.
func (b *basis) notes(p *solution) []string {
	var out, unpriced []string
	for _, s := range b.task.Stones {
		if p.Used[s.Lot] > 0 && strings.HasPrefix(s.Basis, "book cost:") {
			unpriced = append(unpriced, s.Lot)
		}
	}
	if len(unpriced) > 0 {
		out = append(out, "The price list has no row for "+strings.Join(unpriced, ", ")+": their book cost stands in.")
	}
	if len(p.Capped) > 0 {
		out = append(out, "Of the many stones that fit, each was matched with its nearest only in "+
			strings.Join(p.Capped, ", ")+": the bound holds for those matches. With every other pair that the "+
			"tolerances allow, no plan is worth more than "+p.BoundAll.Words()+".")
	}
	if p.freely != nil {
		out = append(out, fmt.Sprintf("Stones stay where they were unless moving one gains more than %s; a plan that "+
			"moves any stone is worth %s.", p.keepWorth.Words(), p.freely.Value.Words()))
	}
	return append(out, "What a further stone or a wider rule is worth holds for that one change. A wider rule is the "+
		"designer's to grant, and a worse setting verdict is a risk to the stone.")
}
