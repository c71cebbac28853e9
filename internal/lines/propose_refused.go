package lines

import (
	"cmp"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/num"
)

// refused are the free stones that a position asks for by kind, shape and size
// and that its setting refuses: one row for each kind of stone and reason.
func (b *basis) refused() []answer.Refusal {
	out := []answer.Refusal{}
	at := map[string]int{}
	for _, design := range b.task.Designs {
		for _, pos := range design.Positions {
			accept, _ := durability.LevelNamed(cmp.Or(pos.Accept, "care"))
			for _, s := range b.task.Stones {
				lot := b.lots[s.Lot]
				if s.Free <= 0 || s.Fenced != "" || !asksFor(pos, lot.Lot) {
					continue
				}
				j := b.judge.At(lot.Lot, design.Design, pos)
				if j.Err != nil || j.All.Setting <= accept {
					continue
				}
				f := worstOfSetting(j.Verdict().Findings)
				row := answer.Refusal{Design: design.Name, Where: design.Wear + " " + design.Piece + ", " + pos.Setting,
					Position: pos.Name, Lots: s.Lot, Stone: lot.Name(), Pieces: s.Free, Part: string(f.Part),
					Level: f.Level.String(), Reason: j.Reason(), Advice: f.Advice, Mend: f.Mend}
				key := strings.Join([]string{row.Design, row.Position, row.Stone, row.Reason}, "\x00")
				if i, known := at[key]; known {
					out[i].Pieces += row.Pieces
					out[i].Lots += ", " + row.Lots
					continue
				}
				at[key] = len(out)
				out = append(out, row)
			}
		}
	}
	return out
}

// asksFor reports whether a position asks for such a stone by kind, shape and
// size.
func asksFor(p book.Position, l book.Lot) bool {
	inside := func(s book.Size, low, high num.Millimetre) bool {
		return low == 0 && high == 0 || !s.IsZero() && s.Min >= low && (high == 0 || s.Max <= high)
	}
	kind := len(p.Species) == 0 || containsFold(p.Species, l.Species) || l.Variety != "" &&
		containsFold(p.Species, l.Variety)
	return kind && strings.EqualFold(p.Shape, l.Shape) && inside(l.Length, p.LengthMin, p.LengthMax) &&
		inside(l.Width, p.WidthMin, p.WidthMax)
}

// worstOfSetting returns the worst finding of the setting.
func worstOfSetting(findings []durability.Finding) (worst durability.Finding) {
	for _, f := range findings {
		if f.Part == durability.PartSetting && (worst.Rule == "" || f.Level > worst.Level) {
			worst = f
		}
	}
	return worst
}
