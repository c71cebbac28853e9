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

// LotAdjust asks to book a loss, a find or a scale difference of one lot.
type LotAdjust struct {
	Movement
	Lot      string
	Place    book.Place // empty: safe
	Pieces   int64      // change: -1 is one piece less
	Carats   num.Carat  // change
	To       book.Place // loss/breakage, loss/count, loss/weighing, loss/cutting
	Abnormal bool       // the cost of what is lost leaves the lot; else it stays on what is left
}

// LotAdjust books a difference against a loss boundary. Cost stays on what is
// left unless the loss is abnormal or takes the last piece.
func (room *Room) LotAdjust(ctx context.Context, r LotAdjust) (answer.Moved, error) {
	var out answer.Moved
	r.Place = cmp.Or(r.Place, book.Safe)
	if f := inHand(r.Place); f != nil {
		return out, f
	}
	switch r.To {
	case book.LossBreakage, book.LossCount, book.LossWeighing, book.LossCutting:
	default:
		return out, fault.New(fault.Usage, "adjust-to",
			fmt.Sprintf("an adjustment goes to loss/breakage, loss/count, loss/weighing or loss/cutting, not to %q",
				r.To), "name one of these").AtField("to")
	}
	if r.Pieces == 0 && r.Carats == 0 {
		return out, fault.New(fault.Usage, "adjust-nothing", "nothing changes", "say how many pieces or carats change").
			AtField("pieces")
	}
	if r.To == book.LossWeighing && r.Pieces != 0 {
		return out, fault.New(fault.Usage, "adjust-weighing", "a scale difference changes no pieces",
			"pieces go to loss/count or loss/breakage").AtField("pieces")
	}
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "an adjustment needs a reason", "say why").
			AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		here := lot.At(r.Place)
		cost := num.Zero(tx.Meta().Currency)
		switch {
		case here.Pieces+r.Pieces == 0 && r.Pieces < 0:
			cost = here.Cost
			if here.Carats+r.Carats != 0 {
				return fault.New(fault.Refused, "adjust-weight",
					fmt.Sprintf("the last piece leaves, so all %s ct leave, but the change is %s ct", here.Carats,
						r.Carats), "give the carats as -"+here.Carats.String()).AtField("carats")
			}
		case r.Abnormal && r.Pieces < 0:
			var f *fault.Fault
			if cost, f = ledger.Take(lot.Places, r.Place, -r.Pieces, -r.Carats); f != nil {
				return f
			}
		}
		e := s.Entry(adjustKind(r.To), "")
		e.Postings = []ledger.Posting{
			{Lot: lot.Code, Place: r.Place, Pieces: r.Pieces, Carats: r.Carats, Cost: cost.Neg()},
			{Lot: lot.Code, Place: r.To, Pieces: -r.Pieces, Carats: -r.Carats, Cost: cost},
		}
		out, err = post(ctx, tx, &e, lot.Code)
		return err
	})
	return out, err
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
