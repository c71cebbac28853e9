package stockroom

import (
	"context"
	"io"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// StockFile writes the stock list to w as a workbook, or as CSV. The lots are
// read page by page while they are written.
func (room *Room) StockFile(ctx context.Context, w io.Writer, filter desk.StockFilter, on book.Date, csv bool) error {
	return room.desk.View(ctx, func(tx store.ReadTx) error {
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		on = room.desk.Today(tx, on)
		l := &answer.StockList{Head: desk.DocumentHead(config, tx.Meta(), head, on, "", "Stock list"),
			Scope: filter.Words(), Costs: true}
		states, err := bench.LotStates(ctx, tx, config)
		if err != nil {
			return err
		}
		next, stop, failed := stockRows(ctx, tx, filter, states)
		defer stop()
		if csv {
			err = l.WriteCSV(w, next)
		} else {
			err = l.WriteXLSX(w, next)
		}
		if err == nil {
			err = failed()
		}
		return err
	})
}

// stockRows turns the walk over the stock into a pull of rows: reading goes on
// beside writing.
func stockRows(ctx context.Context, tx store.ReadTx, filter desk.StockFilter, state func(*answer.StockLot) (string,
	error)) (next func() (*answer.StockRow, bool), stop func(), failed func() error) {
	ctx, cancel := context.WithCancel(ctx)
	pages := make(chan []answer.StockRow, 4)
	var walkErr error
	start := func() {
		go func() {
			defer close(pages)
			page := make([]answer.StockRow, 0, desk.PageLots)
			send := func() bool {
				select {
				case pages <- page:
					page = make([]answer.StockRow, 0, desk.PageLots)
					return true
				case <-ctx.Done():
					return false
				}
			}
			walkErr = desk.EachStock(ctx, tx, filter, func(s answer.StockLot) error {
				row := stockRow(&s)
				var err error
				if row.Identity, err = state(&s); err != nil {
					return err
				}
				page = append(page, row)
				if len(page) == desk.PageLots && !send() {
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

func stockRow(s *answer.StockLot) answer.StockRow {
	r := answer.StockRow{
		Lot: s.Code, Parcel: s.Parcel, Label: s.Label, Name: s.Name(), Species: s.Species,
		Nature: s.Facets.Nature.Value, Treatment: s.Facets.Treatment.Value,
		Shape: s.Shape, Length: s.Length, Width: s.Width, Depth: s.Depth, Color: s.Color, Clarity: s.Clarity,
		Owner: string(s.Owner), Pieces: s.Pieces, Estimated: s.Estimated, Carats: s.Carats, Cost: s.Cost, Note: s.Note,
	}
	for i, b := range s.Places {
		if i > 0 {
			r.Place += ", "
		}
		r.Place += string(b.Place)
	}
	return r
}

// StockInDoubt is the stock list as a workbook with a sheet and a chart for
// each lot whose tests do not settle what it is.
func (room *Room) StockInDoubt(ctx context.Context, filter desk.StockFilter, on book.Date) (*sheet.Workbook, error) {
	doubt, err := room.bench.DoubtReport(ctx, filter, on)
	if err != nil {
		return nil, err
	}
	l := &answer.StockList{Head: doubt.Head, Scope: filter.Words(), Costs: true}
	l.Title = "Stock list"
	var rows []answer.StockRow
	err = room.desk.View(ctx, func(tx store.ReadTx) error {
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		states, err := bench.LotStates(ctx, tx, config)
		if err != nil {
			return err
		}
		next, stop, failed := stockRows(ctx, tx, filter, states)
		defer stop()
		for r, ok := next(); ok; r, ok = next() {
			rows = append(rows, *r)
		}
		return failed()
	})
	if err != nil {
		return nil, err
	}
	return l.Workbook(rows, doubt)
}
