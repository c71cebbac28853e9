package stockroom

import (
	"cmp"
	"context"
	"io"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// StockList asks for the lots that a filter selects.
type StockList struct{ Filter desk.StockFilter }

// StockList returns the lots with what they have, where.
func (room *Room) StockList(ctx context.Context, r StockList) (answer.StockList, error) {
	var out answer.StockList
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		return room.listStock(ctx, tx, r, func(l *answer.StockList, next func() (*answer.StockRow, bool)) error {
			l.Lots = []answer.StockRow{}
			for row, ok := next(); ok; row, ok = next() {
				l.Lots = append(l.Lots, *row)
			}
			out = *l
			return nil
		})
	})
	return out, err
}

// StockFile asks for the list as a file.
type StockFile struct {
	StockList
	CSV bool // else a workbook
	To  io.Writer
}

// StockFile writes the list to a file and returns its head. The lots are read
// page by page while they are written: a list may be too long to be held.
func (room *Room) StockFile(ctx context.Context, r StockFile) (answer.StockList, error) {
	var out answer.StockList
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		return room.listStock(ctx, tx, r.StockList, func(l *answer.StockList,
			next func() (*answer.StockRow, bool)) error {
			var err error
			if r.CSV {
				err = l.WriteCSV(r.To, next)
			} else {
				err = l.WriteXLSX(r.To, next)
			}
			out = *l
			return err
		})
	})
	return out, err
}

// listStock gives use the head of a list and its rows one by one.
func (room *Room) listStock(ctx context.Context, tx store.ReadTx, r StockList,
	use func(l *answer.StockList, next func() (*answer.StockRow, bool)) error) error {
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return err
	}
	head, err := room.desk.Head(ctx, tx, cfg, "", "Stock list")
	if err != nil {
		return err
	}
	then, err := r.Filter.AsOf.Moment(ctx, tx)
	if err != nil {
		return err
	}
	states, err := room.bench.States(ctx, tx, cfg, r.Filter)
	if err != nil {
		return err
	}
	list := answer.StockList{Head: head, Scope: r.Filter.Words(), AsOf: then.Answer, LeftOut: answer.LeftOuts{}}
	r.Filter.Today, r.Filter.LeftOut = cmp.Or(then.Day(), head.On), &list.LeftOut // counted while the rows are read
	void, err := voidLots(ctx, tx, then)
	if err != nil {
		return err
	}
	next, stop, failed := stockRows(ctx, tx, r.Filter, func(row *answer.StockRow) (err error) {
		if row.Identity, err = states(&row.StockLot); err == nil && row.Pieces == 0 {
			row.TakenBack, err = void(row.Lot)
		}
		return err
	})
	defer stop()
	if err := use(&list, next); err != nil {
		return err
	}
	return failed()
}

// voidLots says of a lot which of the entries that count at a moment took it back;
// empty: none did.
func voidLots(ctx context.Context, tx store.ReadTx, then desk.Moment) (func(book.Lot) (string, error), error) {
	reversed, err := tx.Reversals(ctx)
	return func(l book.Lot) (string, error) {
		if len(reversed) == 0 {
			return "", nil
		}
		by, err := lotVoid(ctx, tx, reversed, l)
		if err != nil || by == "" {
			return "", err
		}
		if had, err := then.Has(ctx, tx, by); err != nil || !had {
			return "", err
		}
		return by, nil
	}, err
}

// pageRows is how many rows are read ahead at a time.
const pageRows = 1000

// stockRows turns the walk over the stock into a pull of rows: reading goes on
// beside writing.
func stockRows(ctx context.Context, tx store.ReadTx, filter desk.StockFilter,
	fill func(*answer.StockRow) error) (next func() (*answer.StockRow, bool), stop func(), failed func() error) {
	ctx, cancel := context.WithCancel(ctx)
	pages := make(chan []answer.StockRow, 4)
	var walkErr error
	start := func() {
		go func() {
			defer close(pages)
			page := make([]answer.StockRow, 0, pageRows)
			send := func() bool {
				select {
				case pages <- page:
					page = make([]answer.StockRow, 0, pageRows)
					return true
				case <-ctx.Done():
					return false
				}
			}
			walkErr = filter.Each(ctx, tx, func(s answer.StockLot) error {
				row := answer.StockRow{StockLot: s}
				if err := fill(&row); err != nil {
					return err
				}
				page = append(page, row)
				if len(page) == pageRows && !send() {
					return ctx.Err()
				}
				return nil
			})
			if walkErr == nil && len(page) > 0 {
				send()
			}
		}()
	}
	started := false
	var page []answer.StockRow
	at := 0
	next = func() (*answer.StockRow, bool) {
		if !started {
			started = true
			start()
		}
		for at == len(page) {
			var ok bool
			page, ok = <-pages
			at = 0
			if !ok { // and may be asked again
				return nil, false
			}
		}
		at++
		return &page[at-1], true
	}
	stop = func() {
		cancel()
		if started {
			for range pages { // let the walk end before the transaction does
			}
		}
	}
	return next, stop, func() error { return walkErr }
}

// StockInDoubt asks for the lots that a filter selects and what is not settled
// about them.
type StockInDoubt StockList

// StockInDoubt returns the stock list with what the tests say of each lot that
// they do not settle.
func (room *Room) StockInDoubt(ctx context.Context, r StockInDoubt) (answer.StockInDoubt, error) {
	var out answer.StockInDoubt
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Doubt, err = room.bench.IdentifyIn(ctx, tx, bench.Identify{Filter: r.Filter, Doubt: true,
			Chart: true}); err != nil {
			return err
		}
		return room.listStock(ctx, tx, StockList(r), func(l *answer.StockList, next func() (*answer.StockRow,
			bool)) error {
			for row, ok := next(); ok; row, ok = next() {
				l.Lots = append(l.Lots, *row)
			}
			out.StockList = *l
			return nil
		})
	})
	return out, err
}
