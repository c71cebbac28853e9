package stockroom

import (
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

// chargedDown takes the cost that lots were written down by.
const chargedDown book.Place = book.AtCharge + "/write-down"

// LotWriteDown asks to carry a lot at less than it cost.
type LotWriteDown struct {
	desk.Write
	Lot string
	To  num.Money // what the lot is carried at from now on
}

// LotWriteDown lowers the cost of a lot to what can be had for it (IAS 2.28, an
// expense of the day: 2.34). A lot that gained again is written up, at most by
// what it was written down (2.33).
func (room *Room) LotWriteDown(ctx context.Context, r LotWriteDown) (answer.Moved, error) {
	var out answer.Moved
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a write-down needs a reason", "say why").
			AtField("reason")
	}
	if r.To.Sign() < 0 {
		return out, fault.New(fault.Usage, "write-down-negative", "a lot is carried at 0 or more", "give the amount").
			AtField("to")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		if !lot.Owner.IsOwn() || lot.Pieces == 0 {
			return fault.New(fault.Refused, "write-down-nothing", lot.Code+" has no cost: it is not your own, or "+
				"nothing "+
				"of it is held", "see what it has").AtRef(lot.Code).Do("lot", "show", lot.Code)
		}
		down, err := tx.Balances(ctx, store.BalanceFilter{Lot: lot.Code, Place: chargedDown})
		if err != nil {
			return err
		}
		before := num.Zero(tx.Meta().Currency)
		for _, b := range down {
			before = before.Add(b.Cost)
		}
		change := lot.Cost.Sub(r.To.Round(num.HalfUp))
		if change.IsZero() || change.Neg().Cmp(before) > 0 {
			return fault.New(fault.Refused, "write-down-up",
				fmt.Sprintf("%s is carried at %s and was written down by %s: it can be carried at %s at most", lot.Code,
					lot.Cost, before, lot.Cost.Add(before)), "give another amount").AtRef(lot.Code).AtField("to")
		}
		e := s.Entry(ledger.Adjust, "")
		weights := make([]num.Dec, len(lot.Places))
		for i, b := range lot.Places {
			weights[i] = b.Cost.Dec()
		}
		for i, part := range change.Share(weights) {
			if !part.IsZero() {
				e.Postings = append(e.Postings, ledger.Move(lot.Code, lot.Places[i].Place, chargedDown, 0, 0, part)...)
			}
		}
		out, err = post(ctx, tx, &e, lot.Code)
		return err
	})
	return out, err
}
