package demo

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/lines"
)

// cautions are the findings at caution or worse of the bench and the showcase
// on stones that the plan uses, and what is assumed of their treatment.
func (d *demo) cautions(ctx context.Context) error {
	shown, err := d.Lines.Show(ctx, lines.Show{Line: demoLine})
	if err != nil {
		return err
	}
	d.report.Caution, d.report.Assumed = []answer.Refusal{}, []answer.DemoAssumed{}
	assumed := map[string]bool{}
	for i, design := range d.line.Proposal.Designs {
		of := shown.Lines[0].Designs[i]
		for _, s := range d.stonesOf(of) {
			for _, part := range []string{"bench", "display"} {
				if c, ok := d.cautionOf(design, of, s, part); ok {
					d.report.Caution = append(d.report.Caution, c)
				}
			}
			if paper := d.paper(s.Lot); s.Treatment.Value == "" && !assumed[paper] {
				assumed[paper] = true
				d.report.Assumed = append(d.report.Assumed, answer.DemoAssumed{Lots: paper, Stone: s.Name,
					Assumed: s.Assumed})
			}
		}
	}
	return nil
}

// stonesOf are the stones that the proposal puts into a design, position by
// position, each lot once.
func (d *demo) stonesOf(of book.Design) []answer.ProposalStone {
	var out []answer.ProposalStone
	for i, p := range of.Positions {
		for _, s := range d.line.Proposal.Stones {
			again := slices.ContainsFunc(out, func(have answer.ProposalStone) bool {
				return have.Position == s.Position && have.Lot == s.Lot
			})
			if s.Design == of.Name && s.Position == book.PositionName(p, i) && !again {
				out = append(out, s)
			}
		}
	}
	return out
}

// cautionOf is the worst finding on a stone in its position, at the bench or on
// show. The proposal tells it once, of the first lot of such stones.
func (d *demo) cautionOf(design answer.ProposalDesign, of book.Design, s answer.ProposalStone, part string) (
	answer.Refusal, bool) {
	i := slices.IndexFunc(design.Cautions, func(c answer.Caution) bool {
		return c.Position == s.Position && c.Lot == s.Lot && c.Part == part && c.Level != "care"
	})
	if i < 0 {
		return answer.Refusal{}, false
	}
	where := "the bench: " + cmp.Or(strings.Join(of.Bench, ", "), "no step stated")
	if part == "display" {
		where = "on show: no light stated, so a lit showcase is assumed"
		if of.Lux.Sign() > 0 {
			where = fmt.Sprintf("on show: %s lux, %s h a day", of.Lux, of.HoursPerDay)
		}
	}
	pieces := int64(0)
	for _, x := range d.line.Proposal.Stones {
		if x.Lot == s.Lot {
			pieces += x.Pieces
		}
	}
	c := design.Cautions[i]
	return answer.Refusal{Design: design.Design, Where: where, Position: s.Position, Lots: s.Lot, Stone: s.Name,
		Pieces: pieces, Part: part, Level: c.Level, Reason: c.Reason, Advice: c.Advice, Mend: c.Mend}, true
}
