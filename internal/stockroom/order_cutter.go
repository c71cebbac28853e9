package stockroom

import (
	"context"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// CutterRecord reads from the ledger what a cutter was given and what came back
// of it, over all orders. Entries that were reversed do not count.
func CutterRecord(ctx context.Context, tx store.ReadTx, orders []book.Order, cutter string) ([]cutting.CutterRecord,
	error) {
	var out []cutting.CutterRecord
	at := book.PlaceOf(book.AtCutter, cutter)
	seen := map[string]bool{}
	for _, o := range orders {
		if !strings.EqualFold(o.Cutter, cutter) {
			continue
		}
		for _, s := range o.Supplied {
			key := strings.ToLower(s.Lot)
			if seen[key] {
				continue
			}
			seen[key] = true
			entries, err := tx.Entries(ctx, store.EntryFilter{Lot: s.Lot})
			if err != nil {
				return nil, err
			}
			reversed := map[string]bool{}
			for _, e := range entries {
				reversed[e.Reverses] = true
			}
			for _, e := range entries {
				if e.Kind != ledger.Cut || reversed[e.Code] {
					continue
				}
				if r := recordOf(e, s.Lot, at); r.Stones > 0 {
					out = append(out, r)
				}
			}
		}
	}
	return out, nil
}

// recordOf reads one cutting: what went back uncut was not cut.
func recordOf(e ledger.Entry, lot string, at book.Place) cutting.CutterRecord {
	var r cutting.CutterRecord
	for _, p := range e.Postings {
		same := strings.EqualFold(p.Lot, lot)
		switch {
		case same && p.Place == at || same && p.Place == book.Safe:
			r.Stones -= p.Pieces
			r.CaratsIn -= p.Carats
		case same && p.Place == book.LossBreakage:
			r.Broken += p.Pieces
		case !same && p.Place == book.Safe:
			r.CaratsOut += p.Carats
		}
	}
	return r
}

// skillsOf returns what is believed of the cutters of orders, in their order.
func skillsOf(ctx context.Context, tx store.ReadTx, c desk.Config, all []book.Order,
	of ...book.Order) ([]answer.CutterSkill, error) {
	out := []answer.CutterSkill{}
	seen := map[string]bool{}
	for _, o := range of {
		key := strings.ToLower(o.Cutter)
		if seen[key] {
			continue
		}
		seen[key] = true
		record, err := CutterRecord(ctx, tx, all, o.Cutter)
		if err != nil {
			return nil, err
		}
		s := cutting.SkillOf(c.CutterBreakage, ExpectedYield(o), record)
		skill := answer.CutterSkill{Cutter: o.Cutter, Stones: s.Stones, Broken: s.Broken, Words: s.Words}
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

// ExpectedYield is what an order expects of the material that was supplied: the
// weight of the stones that it names over the weight sent.
func ExpectedYield(o book.Order) cutting.Prior {
	finished, sent := orderWeights(o, func(l book.OrderLine) num.Carat { return l.Weight })
	if sent == 0 {
		return cutting.Prior{}
	}
	return cutting.Prior{Rate: finished.Float() / sent.Float(), Stones: desk.OrderTrials}
}

// leastYield is the yield that an order's own least weights ask of the material
// supplied; zero when it cannot be told.
func leastYield(o book.Order) num.Percent {
	least, sent := orderWeights(o, func(l book.OrderLine) num.Carat { return l.WeightLow })
	if sent == 0 {
		return num.Percent{}
	}
	return num.Percent{Dec: least.Dec().Mul(num.Int(100)).Over(sent.Dec(), 0, num.Down)}
}

// orderWeights adds up what the stones of an order weigh, each as told, and
// what was supplied for them; zero both when that is no yield.
func orderWeights(o book.Order, each func(book.OrderLine) num.Carat) (finished, sent num.Carat) {
	for _, l := range o.Lines {
		finished += each(l) * num.Carat(l.Count)
	}
	for _, s := range o.Supplied {
		sent += s.Carats
	}
	if finished <= 0 || sent <= finished {
		return 0, 0
	}
	return finished, sent
}
