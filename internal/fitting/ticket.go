package fitting

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/store"
)

// unknownStone is what is said of a stone that the facts do not know.
const unknownStone = "what it is, is not known: no heat, no bath and no steam until it is"

// AtWork returns what whoever works on a lot must know of it: the order of work,
// what must never touch it, how it breaks, and what of it can hurt people. The lot
// is judged in a position of a line, or else in the setting and piece that are
// named; what is not named is taken at its worst.
func (room *Room) AtWork(ctx context.Context, tx store.ReadTx, code string, in book.LineSpot, named Situation) (
	answer.StoneAtWork, error) {
	out := answer.NoWork()
	out.Setting = named.Setting
	lot, err := desk.StonesOf(ctx, tx, code)
	if err != nil {
		return out, err
	}
	id, err := room.bench.Judge(ctx, tx, lot)
	if err != nil {
		return out, err
	}
	out.People = append(out.People, answer.JewelHazards(HazardsOf(lot.Lot, &id))...)
	stones, unknown := stonesOf(lot.Lot, &id)
	var v durability.Verdict
	switch {
	case in != (book.LineSpot{}):
		d, pos, err := positionOf(ctx, tx, in)
		if err != nil {
			return out, err
		}
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return out, err
		}
		out.Setting, out.Position = pos.Setting, pos.Name
		if unknown != nil {
			break
		}
		j := NewJudge(map[string]*bench.LotIdentity{lot.Code: &id}, cfg).At(lot.Lot, d, pos)
		if j.Err != nil {
			return out, j.Err
		}
		v = j.All.Verdict()
	default:
		s, err := situation(Stone{}, named)
		if err != nil {
			return out, err
		}
		if unknown != nil {
			break
		}
		s.Stone = stones[0]
		if l := durability.Check(s); l.Blocks() {
			return out, atFields(l)
		}
		c := durability.JudgeAll(s, stones)
		v = c.Verdict()
	}
	if unknown != nil {
		out.Risks = []string{unknownStone}
		return out, nil
	}
	out.Level, out.Order, out.Never, out.Guarded = v.BreakLevel, v.WorkOrder, v.Forbidden, v.Guarded
	for _, f := range v.Findings {
		if f.Part == durability.PartSetting && (f.Hazard == durability.Pressure || f.Hazard == durability.Shape) {
			words := f.Reason
			if f.Advice != "" {
				words += " (" + f.Advice + ")"
			}
			out.Risks = append(out.Risks, words)
		}
	}
	return out, nil
}
