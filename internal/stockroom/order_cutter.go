package stockroom

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/config"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// skillsOf returns what is believed of the cutters of orders, in their order.
func skillsOf(ctx context.Context, tx store.ReadTx, c config.Config, all []book.Order,
	of ...book.Order) ([]answer.CutterSkill, error) {
	out := []answer.CutterSkill{}
	seen := map[string]bool{"": true}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return nil, err
	}
	for _, o := range of {
		cutter := parties.Of(o.Cutter)
		key := strings.ToLower(cutter)
		if seen[key] {
			continue
		}
		seen[key] = true
		record, err := desk.CutterRecord(ctx, tx, parties, all, cutter)
		if err != nil {
			return nil, err
		}
		skill := skillAnswer(cutter, cutting.SkillOf(c.CutterBreakage, cutting.ExpectedYield(o), record))
		skill.By = workOf(record)
		out = append(out, skill)
	}
	return out, nil
}

// workOf is a cutter's record by material and shape.
func workOf(record []cutting.CutterRecord) []answer.CutterWork {
	out := []answer.CutterWork{}
	for _, r := range record {
		if r.Stones == 0 && r.Lost == 0 {
			continue
		}
		i := slices.IndexFunc(out, func(w answer.CutterWork) bool {
			return w.Material == r.Material &&
				w.Shape == r.Shape
		})
		if i < 0 {
			i = len(out)
			out = append(out, answer.CutterWork{Material: r.Material, Shape: r.Shape})
		}
		w := &out[i]
		w.Stones += r.Stones
		w.Broken += r.Broken
		w.Rejected += r.Rejected
		w.Lost += r.Lost
		w.CaratsIn += r.CaratsIn
		w.CaratsOut += r.CaratsOut
	}
	slices.SortStableFunc(out, func(a, b answer.CutterWork) int {
		return cmp.Or(cmp.Compare(a.Material, b.Material), cmp.Compare(a.Shape, b.Shape))
	})
	return out
}

// believed is the mean of a belief, nil when there is none.
func believed(b chance.Beta) *float64 {
	if b == (chance.Beta{}) {
		return nil
	}
	mean := b.Mean()
	return &mean
}
