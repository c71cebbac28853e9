package desk

import (
	"context"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Words says in words what a filter selects.
func (f StockFilter) Words() string {
	parts := []string{"all lots"}
	switch f.Kind {
	case book.PieceLot:
		parts[0] = "all finished pieces"
	case AnyLot:
		parts[0] = "all lots and finished pieces"
	}
	if f.Species != "" {
		parts = append(parts, "of "+f.Species)
	}
	if f.Shape != "" {
		parts = append(parts, "in "+f.Shape)
	}
	if f.Parcel != "" {
		parts = append(parts, "of parcel "+f.Parcel)
	}
	if f.Place != "" {
		parts = append(parts, "at "+string(f.Place))
	}
	if f.Owner != "" {
		parts = append(parts, "owner "+f.Owner)
	}
	if f.Party != "" {
		parts = append(parts, "with "+f.Party)
	}
	parts = append(parts, f.Find.words()...)
	return strings.Join(parts, " ")
}

// StockFilter selects lots; empty fields select all.
type StockFilter struct {
	Parcel  string
	Species string // species or variety as resolved
	Shape   string
	Place   book.Place
	Owner   string       // own, or anything else for lots of others
	Party   string       // who has the stones now, by any of its names
	All     bool         // also lots that have nothing left
	Kind    book.LotKind // empty: stones; book.PieceLot: finished pieces; AnyLot: both
	AsOf    AsOf         // what they have
	Find
	Today   book.Date        // from which ages are counted
	LeftOut *answer.LeftOuts // counts lots of which is not known whether they fit; nil: nobody asks

	named *facts.Named // what Species is read as
}

// AnyLot selects stones and finished pieces.
const AnyLot book.LotKind = "any"

// pageLots is how many lots have their balances read at a time.
const pageLots = 1000

// Each calls take for every lot that the filter selects, in the order of the book,
// page by page. The lots of a parcel, and those away from the safe, are found by
// index. A word that the book does not know, such as a parcel or a shape, is a
// fault.
func (f StockFilter) Each(ctx context.Context, tx store.ReadTx, take func(answer.StockLot) error) error {
	f, err := f.known(ctx, tx)
	if err != nil {
		return err
	}
	find, err := f.openFind(ctx, tx)
	if err != nil {
		return err
	}
	if f.Parcel != "" {
		p, err := ParcelNamed(ctx, tx, f.Parcel)
		if err != nil {
			return err
		}
		f.Parcel = p.Code
	}
	then, err := f.AsOf.Moment(ctx, tx)
	if err != nil {
		return err
	}
	each := func(row store.Row, lot book.Lot, balances []ledger.Balance) error {
		if f.All && len(balances) == 0 { // a lot that was written later is none of that moment
			if had, err := then.Has(ctx, tx, row.Since); err != nil || !had {
				return err
			}
		}
		s := answer.StockLot{Lot: lot, Cost: num.Zero(tx.Meta().Currency)}
		for _, b := range balances {
			if !f.at(b.Place) {
				continue
			}
			s.Places = append(s.Places, b)
			s.Pieces += b.Pieces
			s.Carats += b.Carats
			s.Cost = s.Cost.Add(b.Cost)
		}
		if !f.selects(s) || !find.finds(&s) {
			return nil
		}
		return take(s)
	}
	switch {
	case f.Party != "":
		return eachOfParty(ctx, tx, then, f.Party, each)
	case f.away() && !f.All:
		return eachAt(ctx, tx, then, f.Place, each)
	case f.Parcel != "":
		return eachOfParcel(ctx, tx, then, f.Parcel, each)
	}
	next := balancesByLot(ctx, tx, then)
	return store.EachRow(ctx, tx, store.RowFilter{}, func(row store.Row, lot book.Lot) error {
		balances, err := next(lot.Code)
		if err != nil {
			return err
		}
		return each(row, lot, balances)
	})
}

// at reports whether the filter selects what lies at a place: the safe is that of
// all offices.
func (f StockFilter) at(place book.Place) bool {
	return f.Place == "" || f.Place == place || f.Place == book.Safe && place.Kind() == book.AtOffice
}

func (f StockFilter) away() bool { return f.Place != "" && f.Place != book.Safe }

// Few reports whether the filter selects lots that are found by index, as a rule
// a small part of the book.
func (f StockFilter) Few() bool { return f.Parcel != "" || f.Party != "" || f.away() && !f.All }

// eachAt walks the lots that have something at a place.
func eachAt(ctx context.Context, tx store.ReadTx, then Moment, at book.Place,
	f func(store.Row, book.Lot, []ledger.Balance) error) error {
	filter := then.Balances(store.BalanceFilter{Place: at, RealOnly: true, Limit: pageLots})
	for {
		page, err := tx.Balances(ctx, filter)
		if err != nil || len(page) == 0 {
			return err
		}
		for _, b := range page {
			lot, err := store.Get[book.Lot](ctx, tx, b.Lot)
			if err != nil {
				return err
			}
			if err := f(store.Row{}, lot, []ledger.Balance{b}); err != nil {
				return err
			}
		}
		if filter.Limit == 0 {
			return nil
		}
		filter.AfterLot = page[len(page)-1].Lot
	}
}

// eachOfParcel walks the lots of a parcel.
func eachOfParcel(ctx context.Context, tx store.ReadTx, then Moment, parcel string,
	f func(store.Row, book.Lot, []ledger.Balance) error) error {
	balances, err := tx.Balances(ctx, then.Balances(store.BalanceFilter{Ref: book.ToParcel(parcel), RealOnly: true}))
	if err != nil {
		return err
	}
	of := map[string][]ledger.Balance{}
	for _, b := range balances {
		of[b.Lot] = append(of[b.Lot], b)
	}
	filter := store.RowFilter{Ref: book.ToParcel(parcel)}
	return store.EachRow(ctx, tx, filter, func(row store.Row, lot book.Lot) error {
		return f(row, lot, of[lot.Code])
	})
}

// balancesByLot walks the real balances beside a walk of the lots: both come
// in the order in which the lots were first written.
func balancesByLot(ctx context.Context, tx store.ReadTx, then Moment) func(lot string) ([]ledger.Balance, error) {
	var page []ledger.Balance
	last, done := "", false
	return func(lot string) ([]ledger.Balance, error) {
		if len(page) == 0 && !done {
			var err error
			filter := then.Balances(store.BalanceFilter{RealOnly: true, AfterLot: last, Limit: pageLots})
			if page, err = tx.Balances(ctx, filter); err != nil {
				return nil, err
			}
			done = len(page) == 0 || filter.Limit == 0
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

func (f StockFilter) selects(s answer.StockLot) bool {
	switch {
	case !f.All && s.Pieces == 0:
		return false
	case f.Kind != AnyLot && s.IsPiece() != (f.Kind == book.PieceLot):
		return false
	case f.Parcel != "" && !strings.EqualFold(f.Parcel, s.Parcel):
		return false
	case f.Species != "" && !f.isSpecies(s.Lot):
		return false
	case f.Shape != "" && !strings.EqualFold(f.Shape, s.Shape):
		return false
	case f.Owner == "own" && !s.Owner.IsOwn(), f.Owner != "" && f.Owner != "own" && s.Owner.IsOwn():
		return false
	}
	return true
}

// StockOf reads one lot with what it has.
func StockOf(ctx context.Context, tx store.ReadTx, code string) (answer.StockLot, error) {
	lot, err := Named[book.Lot](ctx, tx, code)
	if err != nil {
		return answer.StockLot{}, err
	}
	balances, err := tx.Balances(ctx, store.BalanceFilter{Lot: lot.Code, RealOnly: true})
	if err != nil {
		return answer.StockLot{}, err
	}
	s := answer.StockLot{Lot: lot, Places: balances, Cost: num.Zero(tx.Meta().Currency)}
	for _, b := range balances {
		s.Pieces += b.Pieces
		s.Carats += b.Carats
		s.Cost = s.Cost.Add(b.Cost)
	}
	return s, nil
}

// HoldsOn returns the holds on one lot that are open on a day; an empty lot asks
// for all. Stones that broke or were lost where they were out are held no more: of
// several holds on a lot, the first ones by their names keep theirs.
func HoldsOn(ctx context.Context, tx store.ReadTx, lot string, on book.Date) ([]book.Hold, error) {
	var filter store.RowFilter
	if lot != "" {
		filter.Ref = book.ToLot(lot)
	}
	out := []book.Hold{}
	left := map[string]int64{} // what can be held, by folded lot
	err := store.Each(ctx, tx, filter, func(h book.Hold) error {
		if !h.Open(on) {
			return nil
		}
		key := strings.ToLower(h.Lot)
		if _, known := left[key]; !known {
			lies, err := tx.Balances(ctx, store.BalanceFilter{Lot: h.Lot, RealOnly: true})
			if err != nil {
				return err
			}
			left[key] = 0
			for _, b := range lies {
				if b.Place.Kind() != book.AtPiece {
					left[key] += b.Pieces
				}
			}
		}
		if h.Pieces = min(h.Pieces, left[key]); h.Pieces > 0 {
			left[key] -= h.Pieces
			out = append(out, h)
		}
		return nil
	})
	return out, err
}
