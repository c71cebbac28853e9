package app

import (
	"context"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// orderTrials is how many stones of record the yield that an order expects
// weighs as much as (a judgement).
const orderTrials = 20

// cutterRecord reads from the ledger what a cutter was given and what came back
// of it, over all orders. Entries that were reversed do not count.
func cutterRecord(ctx context.Context, tx store.ReadTx, orders []book.Order, cutter string) ([]cutting.CutterRecord, error) {
	var out []cutting.CutterRecord
	at := book.PlaceOf(book.AtCutter, cutter)
	seen := map[string]bool{}
	for _, o := range orders {
		if !strings.EqualFold(o.Cutter, cutter) {
			continue
		}
		for _, s := range o.Supplied {
			if key := strings.ToLower(s.Lot); seen[key] {
				continue
			} else {
				seen[key] = true
			}
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

// CutterSkill is what the book believes of a cutter.
type CutterSkill struct {
	Cutter string `json:"cutter"`
	Stones int64  `json:"stones"` // cut, of the book's own record
	Broken int64  `json:"broken"`
	// Shares; null: there is neither a record nor an estimate.
	Breakage *float64 `json:"breakage"`
	Yield    *float64 `json:"yield"`
	Words    string   `json:"words"`
}

// skillsOf returns what is believed of the cutters of orders, in their order.
func skillsOf(ctx context.Context, tx store.ReadTx, c Config, all []book.Order, of ...book.Order) ([]CutterSkill, error) {
	out := []CutterSkill{}
	seen := map[string]bool{}
	for _, o := range of {
		if key := strings.ToLower(o.Cutter); seen[key] {
			continue
		} else {
			seen[key] = true
		}
		record, err := cutterRecord(ctx, tx, all, o.Cutter)
		if err != nil {
			return nil, err
		}
		s := cutting.SkillOf(c.CutterBreakage, expectedYield(o), record)
		skill := CutterSkill{Cutter: o.Cutter, Stones: s.Stones, Broken: s.Broken, Words: s.Words}
		if s.Breakage.B > 0 {
			mean := s.Breakage.Mean()
			skill.Breakage = &mean
		}
		if s.Yield.B > 0 {
			mean := s.Yield.Mean()
			skill.Yield = &mean
		}
		out = append(out, skill)
	}
	return out, nil
}

// expectedYield is what an order expects of the material that was supplied: the
// weight of the stones that it names over the weight sent.
func expectedYield(o book.Order) cutting.Prior {
	var finished, sent num.Carat
	for _, l := range o.Lines {
		finished += l.Weight * num.Carat(l.Count)
	}
	for _, s := range o.Supplied {
		sent += s.Carats
	}
	if finished <= 0 || sent <= finished {
		return cutting.Prior{}
	}
	return cutting.Prior{Rate: finished.Float() / sent.Float(), Stones: orderTrials}
}

// leastYield is the yield that an order's own least weights ask of the material
// supplied; zero when it cannot be told.
func leastYield(o book.Order) num.Percent {
	var least, sent num.Carat
	for _, l := range o.Lines {
		least += l.WeightLow * num.Carat(l.Count)
	}
	for _, s := range o.Supplied {
		sent += s.Carats
	}
	if least <= 0 || sent <= least {
		return num.Percent{}
	}
	q, _ := least.Dec().Mul(num.Int(100)).Div(sent.Dec(), 0, num.Down)
	return num.Percent{Dec: q}
}

// cutterBreakage reads the estimate that stands for every cutter: empty, RATE
// or RATE:STONES.
func cutterBreakage(c *Config, v string) *fault.Fault {
	c.CutterBreakage = cutting.Prior{}
	if v == "" {
		return nil
	}
	rate, stones, weighed := strings.Cut(v, ":")
	p, f := num.ParsePercent(strings.TrimSpace(rate))
	n := num.Int(orderTrials)
	if f == nil && weighed {
		n, f = num.ParseDec(strings.TrimSpace(stones))
	}
	if f != nil || p.Sign() <= 0 || p.Cmp(num.Int(100)) >= 0 || n.Sign() <= 0 {
		return fault.New(fault.Invalid, "config-value", "the estimate is a rate between 0 and 100 % and the stones that it is worth, but is \""+v+"\"", "write it like 3:20, or leave it empty")
	}
	c.CutterBreakage = cutting.Prior{Rate: p.Float() / 100, Stones: n.Float()}
	return nil
}
