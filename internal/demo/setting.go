package demo

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/fitting"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
)

// refusals are the stones that a position asks for and its setting refuses,
// one row for each kind of stone and reason.
func (d *demo) refusals() {
	p := d.line.Planned
	out := []Refusal{}
	at := map[string]int{}
	for _, design := range p.Designs {
		for _, pos := range design.Positions {
			accept, _ := durability.LevelNamed(cmp.Or(pos.Accept, "care"))
			for _, s := range p.Input.Stones {
				lot, held := p.Stones[s.Lot]
				if !held || s.Free <= 0 || s.Fenced != "" || !asksFor(pos, lot.Lot) {
					continue
				}
				j := p.Judge.At(lot.Lot, design.Design, pos)
				if j.Err != nil || j.All.Setting <= accept {
					continue
				}
				f := worstOf(j, durability.PartSetting)
				row := Refusal{Design: design.Name, Where: whereWords(design.Design, pos), Position: pos.Name,
					Lots: s.Lot, Stone: lot.Name(), Pieces: s.Free,
					Part: string(f.Part), Level: f.Level.String(), Reason: j.Reason(), Mend: f.Mend}
				key := row.Design + row.Position + row.Stone + row.Reason
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
	d.report.Refused = out
}

// asksFor tells whether a position asks for such a stone by kind, shape and
// size.
func asksFor(p book.Position, l book.Lot) bool {
	inside := func(s book.Size, low, high num.Millimetre) bool {
		return low == 0 && high == 0 || !s.IsZero() && s.Min >= low && (high == 0 || s.Max <= high)
	}
	kind := len(p.Species) == 0 || desk.ContainsFold(p.Species, l.Species) || l.Variety != "" &&
		desk.ContainsFold(p.Species, l.Variety)
	return kind && strings.EqualFold(p.Shape, l.Shape) && inside(l.Length, p.LengthMin, p.LengthMax) &&
		inside(l.Width, p.WidthMin, p.WidthMax)
}

func whereWords(d book.Design, p book.Position) string {
	return d.Wear + " " + d.Piece + ", " + p.Setting
}

// worstOf is the worst finding of one part.
func worstOf(j *fitting.Judgement, part durability.Part) durability.Finding {
	var worst durability.Finding
	for _, f := range j.All.Worst.Verdict.Findings {
		if f.Part == part && (worst.Rule == "" || f.Level > worst.Level) {
			worst = f
		}
	}
	return worst
}

// cautions are the findings at caution or worse of the bench and the showcase
// on stones that the plan uses, and what is assumed of their treatment.
func (d *demo) cautions() {
	w := &lines.ProposalWriter{LinePrice: d.line.LinePrice}
	d.report.Caution, d.report.Assumed = []Refusal{}, []Assuming{}
	seen := map[string]bool{}
	for _, design := range d.line.Planned.Designs {
		w.Judged(design.Design, func(pos book.Position, lot answer.StockLot, j *fitting.Judgement) {
			for _, part := range []durability.Part{durability.PartBench, durability.PartDisplay} {
				f := worstOf(j, part)
				key := design.Name + pos.Name + lot.Name() + string(part)
				if f.Level < durability.Caution || seen[key] {
					continue
				}
				seen[key] = true
				where := "the bench: " + cmp.Or(strings.Join(design.Bench, ", "), "no step stated")
				if part == durability.PartDisplay {
					where = "on show: no light stated, so a lit showcase is assumed"
					if design.Lux.Sign() > 0 {
						where = fmt.Sprintf("on show: %s lux, %s h a day", design.Lux, design.HoursPerDay)
					}
				}
				d.report.Caution = append(d.report.Caution, Refusal{Design: design.Name, Where: where,
					Position: pos.Name, Lots: lot.Code, Stone: lot.Name(),
					Pieces: d.line.Plan.Used[lot.Code], Part: string(part), Level: f.Level.String(), Reason: f.Reason,
					Mend: f.Mend})
			}
			if lot.Facets.Treatment.Value == "" && !seen["treatment "+paper(lot.Lot)] {
				seen["treatment "+paper(lot.Lot)] = true
				d.report.Assumed = append(d.report.Assumed, Assuming{Lots: paper(lot.Lot), Stone: lot.Name(),
					Assumed: assumedTreatment(lot.Lot)})
			}
		})
	}
}
