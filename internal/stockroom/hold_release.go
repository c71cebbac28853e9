package stockroom

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// HoldRelease asks to free held stones.
type HoldRelease struct {
	desk.Write
	Of  string // a line or a lot
	For string // of a lot: only what is held for this line or customer
}

// HoldRelease frees what is held for a line, or what is held of a lot.
func (room *Room) HoldRelease(ctx context.Context, r HoldRelease) (answer.Holds, error) {
	out := answer.Holds{Holds: []answer.Hold{}}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		holds, err := r.holds(ctx, tx, s.On)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "released what was held of or for "+r.Of)
		for _, h := range holds {
			if r.For != "" && !h.Serves(r.For) {
				continue
			}
			lot, err := desk.StockOf(ctx, tx, h.Lot)
			if err != nil {
				return err
			}
			h.Pieces = 0
			out.Holds = append(out.Holds, answer.HoldOf(&lot, h, s.On))
			e.Records = append(e.Records, h)
		}
		if len(e.Records) == 0 {
			what := "nothing is held of or for " + r.Of
			if r.For != "" {
				what = fmt.Sprintf("nothing of %s is held for %s", r.Of, r.For)
			}
			return fault.New(fault.Refused, "release-nothing", what, "see what is held").AtRef(r.Of).Do("hold", "list")
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry = e.Code
		return nil
	})
	return out, err
}

// holds are the open holds for the line, or else those on the lot.
func (r *HoldRelease) holds(ctx context.Context, tx store.ReadTx, on book.Date) ([]book.Hold, error) {
	line, err := store.Get[book.Line](ctx, tx, r.Of)
	isLine := err == nil
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, err
	}
	lot, err := store.Get[book.Lot](ctx, tx, r.Of)
	switch {
	case err == nil && isLine && r.For == "":
		return nil, fault.New(fault.Usage, "release-both", fmt.Sprintf("%s is a line and a lot", r.Of),
			"say for whom: then it is the lot").AtRef(r.Of).AtField("for")
	case err == nil:
		return desk.HoldsOn(ctx, tx, lot.Code, on)
	case !errors.Is(err, store.ErrNotFound):
		return nil, err
	case !isLine:
		return nil, fault.New(fault.NotFound, "release-unknown",
			fmt.Sprintf("there is no line and no lot %q in this book",
				r.Of), "see what is held").AtRef(r.Of).Do("hold", "list")
	}
	all, err := desk.HoldsOn(ctx, tx, "", on)
	var out []book.Hold
	for _, h := range all {
		if name, _, _ := strings.Cut(h.For, "/"); strings.EqualFold(name, line.Name) {
			out = append(out, h)
		}
	}
	return out, err
}
