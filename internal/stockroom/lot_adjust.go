package stockroom

import (
	"cmp"
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// CostRule says what becomes of the cost of lost stones.
type CostRule string

// The rules. A loss within the normal run of cutting and setting stays on what is
// left (IAS 2.12); what was lost, stolen or miscounted is an expense of its day
// (IAS 2.16).
const (
	CostByLoss  CostRule = "" // by the kind of loss
	CostStays   CostRule = "stays"
	CostExpense CostRule = "expense"
)

// LotAdjust asks to book a loss, a find or a scale difference of one lot.
type LotAdjust struct {
	Movement
	Lot    string
	Place  book.Place // empty: safe
	Pieces int64      // change: -1 is one piece less
	Carats num.Carat  // change
	To     book.Place // loss/breakage, loss/count, loss/weighing, loss/cutting
	Cost   CostRule
}

// LotAdjust books a difference of what lies at one place against a loss. Lost
// stones leave with their weight; the last piece leaves with all cost. A find
// brings no cost, and no later charge.
func (room *Room) LotAdjust(ctx context.Context, r LotAdjust) (answer.Moved, error) {
	var out answer.Moved
	r.Place = cmp.Or(r.Place, book.Safe)
	if f := r.check(); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		if r.Pieces > 0 {
			if err := lotStands(ctx, tx, lot.Code); err != nil {
				return err
			}
		}
		e := s.Entry(adjustKind(r.To), "")
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if r.Place, err = m.safeOf(ctx, r.Lot, r.Place, "place"); err != nil {
			return err
		}
		cost, err := r.cost(ctx, m, lot)
		if err != nil {
			return err
		}
		e.Postings = []ledger.Posting{
			{Lot: lot.Code, Place: r.Place, Pieces: r.Pieces, Carats: r.Carats, Cost: cost.Neg()},
			{Lot: lot.Code, Place: r.To, Pieces: -r.Pieces, Carats: -r.Carats, Cost: cost},
		}
		m.lowerAgreed(lot, r.gone())
		if _, err := m.takeAlong(ctx, lot.Lot, r.To); err != nil {
			return err
		}
		out, err = m.post(ctx, lot.Code)
		return err
	})
	return out, err
}

// lotStands refuses a lot that is void: the entry that made it was reversed, so
// nothing can be found of it.
func lotStands(ctx context.Context, tx store.ReadTx, code string) error {
	row, err := tx.Row(ctx, book.KindLot, code)
	if err != nil {
		return err
	}
	reversed, err := tx.Reversals(ctx)
	if by := reversed[row.Since]; err == nil && by != "" {
		err = fault.New(fault.Refused, "lot-void", fmt.Sprintf("%s is void: %s reversed the entry that made it", code,
			by), "name the lot that the stones are of now").AtRef(code).AtField("lot").Do("lot", "history", code)
	}
	return err
}

// check returns what is wrong with the request by itself.
func (r *LotAdjust) check() *fault.Fault {
	switch r.To {
	case book.LossBreakage, book.LossCount, book.LossWeighing, book.LossCutting:
	default:
		return fault.New(fault.Usage, "adjust-to",
			fmt.Sprintf("an adjustment goes to loss/breakage, loss/count, loss/weighing or loss/cutting, not to %q",
				r.To), "name one of these").AtField("to")
	}
	switch {
	case r.Cost != CostByLoss && r.Cost != CostStays && r.Cost != CostExpense:
		return fault.New(fault.Usage, "adjust-cost", fmt.Sprintf("the cost of what is lost stays or is an expense, "+
			"not %q",
			r.Cost), "write stays or expense").AtField("cost")
	case r.Pieces == 0 && r.Carats == 0:
		return fault.New(fault.Usage, "adjust-nothing", "nothing changes", "say how many pieces or carats change").
			AtField("pieces")
	case r.To == book.LossWeighing && r.Pieces != 0:
		return fault.New(fault.Usage, "adjust-weighing", "a scale difference changes no pieces",
			"pieces go to loss/count or loss/breakage").AtField("pieces")
	case r.Pieces > 0 && r.To != book.LossCount:
		return fault.New(fault.Usage, "adjust-find", "stones that are found again go against loss/count",
			"name loss/count").AtField("to")
	case r.Pieces < 0 && r.Carats > 0 || r.Pieces > 0 && r.Carats < 0:
		return fault.New(fault.Refused, "adjust-signs", "pieces and weight change the same way", "check the signs").
			AtRef(r.Lot).
			AtField("carats")
	case r.Reason == "":
		return fault.New(fault.Usage, "reason-missing", "an adjustment needs a reason", "say why").AtField("reason")
	case r.Place.Kind() == book.AtPiece:
		return fault.New(fault.Refused, "place-piece", "stones in a piece are unset before they are adjusted",
			"unset them first").AtRef(r.Place.Name()).AtField("place")
	}
	return inHand(r.Place)
}

// gone is what the change loses.
func (r *LotAdjust) gone() book.Weighed {
	return book.Weighed{Pieces: max(0, -r.Pieces), Carats: max(0, -r.Carats)}
}

// cost is what leaves the place with the change.
func (r *LotAdjust) cost(ctx context.Context, m *mover, lot answer.StockLot) (num.Money, error) {
	here := lot.At(r.Place)
	none := num.Zero(m.tx.Meta().Currency)
	switch {
	case r.Pieces > 0: // a find: the mean of what is then there must be one of its stones
		there := here
		there.Pieces, there.Carats = here.Pieces+r.Pieces, here.Carats+r.Carats
		if r.Carats == 0 {
			return none, fault.New(fault.Usage, "move-weight", "stones that are found are weighed", "weigh them").
				AtRef(lot.Code).AtField("carats")
		}
		return none, m.refuse(ledger.CheckMeans(there, ledger.Leaving{Pieces: r.Pieces, Carats: r.Carats}))
	case here.Pieces == 0:
		return none, nothingAt(lot, r.Place)
	case r.Pieces == 0:
		if left := here.Carats + r.Carats; left <= 0 {
			return none, fault.New(fault.Refused, "adjust-weight",
				fmt.Sprintf("%d pieces would weigh %s ct", here.Pieces,
					left), "check the weight").AtRef(lot.Code).AtField("carats")
		}
		return none, m.refuse(m.scaleDiffers(lot.Code, r.Carats))
	}
	if here.Pieces+r.Pieces == 0 && here.Carats+r.Carats != 0 {
		return none, fault.New(fault.Refused, "adjust-weight",
			fmt.Sprintf("the last piece leaves, so all %s ct leave, but the change is %s ct", here.Carats, r.Carats),
			"give the carats as -"+here.Carats.String()).AtRef(lot.Code).AtField("carats")
	}
	if here.Pieces+r.Pieces > 0 {
		if err := m.refuse(ledger.CheckMeans(here, ledger.Leaving{Pieces: -r.Pieces, Carats: -r.Carats})); err != nil {
			return none, err
		}
	}
	stays := r.Cost == CostStays || r.Cost == CostByLoss && r.To != book.LossCount
	costs, f := ledger.Leave(lot.Places, r.Place, []ledger.Leaving{{Pieces: -r.Pieces, Carats: -r.Carats, Free: stays}})
	if f != nil {
		return none, f
	}
	return costs[0], m.takeHeld(ctx, lot, r.Place, -r.Pieces)
}

// scaleDiffers refuses a scale difference that no two weighings of the same
// stones have.
func (m *mover) scaleDiffers(lot string, diff num.Carat) *fault.Fault {
	tolerance := max(m.config.WeighingTolerance, ledger.Tolerance(m.config.Weighing()))
	if diff <= tolerance && -diff <= tolerance {
		return nil
	}
	return fault.New(fault.Refused, "adjust-differs",
		fmt.Sprintf("a difference of %s ct is more than the tolerance of "+
			"%s ct: stones of %s may have been switched", diff, tolerance, lot),
		"weigh and test the stones; then say why the difference is accepted").AtRef(lot).AtField("accept")
}

func adjustKind(to book.Place) ledger.Kind {
	switch to {
	case book.LossBreakage:
		return ledger.Break
	case book.LossCount:
		return ledger.Lose
	}
	return ledger.Adjust
}
