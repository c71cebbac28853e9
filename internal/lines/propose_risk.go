package lines

import (
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/costing"
	"lotpaper/internal/num"
)

// movesShown is how many inputs a proposal's table of sensitivities lists.
const movesShown = 60

// risk simulates the line's profit and ranks what moves it.
func (w *ProposalWriter) risk(p *answer.Proposal, r LinePropose) error {
	risked, err := w.LinePrice.risk(LineRisk{LinePlan: r.LinePlan, Runs: r.Runs, Within: r.Within})
	if err != nil {
		return err
	}
	if risked.Outcome.Runs == 0 {
		return nil
	}
	p.Risk = riskOf(risked.Outcome, w.currency, strings.Join(risked.Counted, "; "), strings.Join(risked.Not, "; "))
	for i, m := range risked.Moves {
		if i == movesShown {
			break
		}
		p.Profit = m.AtBase
		p.Moves = append(p.Moves, answer.Move{Input: m.Name + ", " + m.Unit, Low: m.Low.String(), High: m.High.String(),
			AtLow: m.AtLow, AtHigh: m.AtHigh})
	}
	return nil
}

// riskOf is an outcome as documents carry it, in exact money.
func riskOf(o costing.Outcome, c num.Currency, counted, not string) *answer.Risk {
	money := func(f float64) num.Money { return num.MoneyFromDec(num.FromFloat(f, 6, num.HalfUp), c, num.HalfUp) }
	share := func(f float64) num.Percent { return num.Percent{Dec: num.FromFloat(100*f, 2, num.HalfUp)} }
	out := &answer.Risk{
		Runs: o.Runs, Seed: int64(o.Seed), P10: money(o.P10.Value), P50: money(o.P50.Value), P90: money(o.P90.Value),
		Mean:     money(o.Mean.Value),
		P10Error: money(o.P10.SE), P50Error: money(o.P50.SE), P90Error: money(o.P90.SE),
		StandardError: money(o.Mean.SE),
		LossChance:    share(o.Loss.Value), LossError: share(o.Loss.SE), Counted: counted, NotCounted: not,
	}
	for _, b := range o.Bins {
		out.Bins = append(out.Bins, answer.Bin{Low: money(b.Low), High: money(b.High), Count: b.Count})
	}
	return out
}
