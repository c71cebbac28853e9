package stockroom

import (
	"context"
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
	seen := map[string]bool{}
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
		s := cutting.SkillOf(c.CutterBreakage, cutting.ExpectedYield(o), record)
		skill := answer.CutterSkill{Cutter: cutter, Stones: s.Stones, Broken: s.Broken, Words: s.Words}
		skill.Breakage, skill.Yield = believed(s.Breakage), believed(s.Yield)
		out = append(out, skill)
	}
	return out, nil
}

// believed is the mean of a belief, nil when there is none.
func believed(b chance.Beta) *float64 {
	if b == (chance.Beta{}) {
		return nil
	}
	mean := b.Mean()
	return &mean
}
