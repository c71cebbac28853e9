package app

import (
	"context"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// StockLot is a lot with what it has, where.
type StockLot struct {
	book.Lot
	Places []ledger.Balance `json:"places"`
	Pieces int64            `json:"pieces"`
	Carats num.Carat        `json:"carats"`
	Cost   num.Money        `json:"cost"`
}

// StockFilter selects lots; empty fields select all.
type StockFilter struct {
	Parcel  string
	Species string // species or variety as resolved
	Shape   string
	Place   book.Place
	Owner   string // own, or anything else for lots of others
	All     bool   // also lots that have nothing left
}

// pageLots is how many lots one page of a long list holds.
const pageLots = 1000

// eachStock calls f for every lot that the filter selects, in the order of the
// book, page by page.
func eachStock(ctx context.Context, tx store.ReadTx, filter StockFilter, f func(StockLot) error) error {
	next := balancesByLot(ctx, tx)
	return store.Each(ctx, tx, store.RowFilter{Limit: pageLots}, func(lot book.Lot) error {
		balances, err := next(lot.Code)
		if err != nil {
			return err
		}
		s := StockLot{Lot: lot, Cost: num.Zero(tx.Meta().Currency)}
		for _, b := range balances {
			if filter.Place != "" && b.Place != filter.Place {
				continue
			}
			s.Places = append(s.Places, b)
			s.Pieces += b.Pieces
			s.Carats += b.Carats
			s.Cost = s.Cost.Add(b.Cost)
		}
		if !filter.selects(s) {
			return nil
		}
		return f(s)
	})
}

// balancesByLot walks the real balances beside a walk of the lots: both come
// in the order in which the lots were first written.
func balancesByLot(ctx context.Context, tx store.ReadTx) func(lot string) ([]ledger.Balance, error) {
	var page []ledger.Balance
	last, done := "", false
	return func(lot string) ([]ledger.Balance, error) {
		if len(page) == 0 && !done {
			var err error
			page, err = tx.Balances(ctx, store.BalanceFilter{RealOnly: true, AfterLot: last, Limit: pageLots})
			if err != nil {
				return nil, err
			}
			done = len(page) == 0
		}
		n := 0
		for n < len(page) && strings.EqualFold(page[n].Lot, lot) {
			n++
		}
		mine := page[:n:n]
		if n > 0 {
			last = page[n-1].Lot
		}
		page = page[n:]
		return mine, nil
	}
}

func (f StockFilter) selects(s StockLot) bool {
	switch {
	case !f.All && s.Pieces == 0:
		return false
	case f.Parcel != "" && !strings.EqualFold(f.Parcel, s.Parcel):
		return false
	case f.Species != "" && !strings.EqualFold(f.Species, s.Species) && !strings.EqualFold(f.Species, s.Variety):
		return false
	case f.Shape != "" && !strings.EqualFold(f.Shape, s.Shape):
		return false
	case f.Owner == "own" && !s.Owner.IsOwn(), f.Owner != "" && f.Owner != "own" && s.Owner.IsOwn():
		return false
	}
	return true
}

// StockEach calls f for every lot that the filter selects.
func (a *App) StockEach(ctx context.Context, filter StockFilter, f func(StockLot) error) error {
	return a.view(ctx, func(tx store.ReadTx) error { return eachStock(ctx, tx, filter, f) })
}

// stockOf reads one lot with what it has.
func stockOf(ctx context.Context, tx store.ReadTx, code string) (StockLot, error) {
	lot, err := lotNamed(ctx, tx, code)
	if err != nil {
		return StockLot{}, err
	}
	balances, err := pieceBalances(ctx, tx, lot.Code)
	if err != nil {
		return StockLot{}, err
	}
	s := StockLot{Lot: lot, Places: balances, Cost: num.Zero(tx.Meta().Currency)}
	for _, b := range balances {
		s.Pieces += b.Pieces
		s.Carats += b.Carats
		s.Cost = s.Cost.Add(b.Cost)
	}
	return s, nil
}

// LotShow is one lot: what it is, what it has, what it came from and became.
type LotShow struct {
	StockLot
	Children []string      `json:"children"`
	Readings int           `json:"readings"`
	Reports  []book.Report `json:"reports"`
	Holds    []book.Hold   `json:"holds"`
}

// LotShow returns one lot.
func (a *App) LotShow(ctx context.Context, code string) (LotShow, error) {
	var out LotShow
	err := a.view(ctx, func(tx store.ReadTx) (err error) {
		if out.StockLot, err = stockOf(ctx, tx, code); err != nil {
			return err
		}
		out.Children = []string{}
		err = store.Each(ctx, tx, store.RowFilter{Prefix: out.Code + ".", Limit: pageLots}, func(l book.Lot) error {
			if l.Parent == out.Code {
				out.Children = append(out.Children, l.Code)
			}
			return nil
		})
		if err != nil {
			return err
		}
		readings, err := readingsOf(ctx, tx, out.Code)
		if err != nil {
			return err
		}
		out.Readings = len(readings)
		if out.Reports, err = reportsOf(ctx, tx, out.Code); err != nil {
			return err
		}
		out.Holds, err = holdsOf(ctx, tx, out.Code)
		return err
	})
	return out, err
}

// readingsOf returns the readings of one lot, oldest first.
func readingsOf(ctx context.Context, tx store.ReadTx, lot string) ([]book.Reading, error) {
	out := []book.Reading{}
	err := store.Each(ctx, tx, store.RowFilter{Limit: pageLots}, func(r book.Reading) error {
		if strings.EqualFold(r.Lot, lot) {
			out = append(out, r)
		}
		return nil
	})
	return out, err
}

func reportsOf(ctx context.Context, tx store.ReadTx, lot string) ([]book.Report, error) {
	out := []book.Report{}
	err := store.Each(ctx, tx, store.RowFilter{Limit: pageLots}, func(r book.Report) error {
		if strings.EqualFold(r.Lot, lot) {
			out = append(out, r)
		}
		return nil
	})
	return out, err
}

// holdsOf returns the open holds on one lot; an empty lot asks for all.
func holdsOf(ctx context.Context, tx store.ReadTx, lot string) ([]book.Hold, error) {
	out := []book.Hold{}
	prefix := ""
	if lot != "" {
		prefix = lot + " for "
	}
	err := store.Each(ctx, tx, store.RowFilter{Prefix: prefix, Limit: pageLots}, func(h book.Hold) error {
		if h.Pieces > 0 {
			out = append(out, h)
		}
		return nil
	})
	return out, err
}

// LotHistory is what happened to a lot: its versions and its entries.
type LotHistory struct {
	Lot      string         `json:"lot"`
	Versions []book.Lot     `json:"versions"`
	Entries  []ledger.Entry `json:"entries"`
}

// LotHistory returns every version and every entry of a lot.
func (a *App) LotHistory(ctx context.Context, code string) (LotHistory, error) {
	var out LotHistory
	err := a.view(ctx, func(tx store.ReadTx) error {
		lot, err := lotNamed(ctx, tx, code)
		if err != nil {
			return err
		}
		out.Lot = lot.Code
		if out.Versions, err = store.Versions[book.Lot](ctx, tx, lot.Code); err != nil {
			return err
		}
		out.Entries, err = tx.Entries(ctx, store.EntryFilter{Lot: lot.Code})
		return err
	})
	return out, err
}
