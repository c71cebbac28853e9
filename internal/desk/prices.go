package desk

import (
	"context"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// PricesImport asks to read a price list from a sheet.
type PricesImport struct {
	Write
	File Input
}

// PricesImport reads a price list into the book.
func (desk *Desk) PricesImport(ctx context.Context, r PricesImport) (answer.Imported, error) {
	return ImportRows(ctx, desk, r.Write, r.File, "prices",
		func(tx store.ReadTx, f *sheet.File) ([]intake.Price, fault.List) {
			return intake.ReadPrices(f, tx.Meta().Currency)
		},
		func(_ store.Tx, _ int, row intake.Price) (book.Record, *fault.Fault, error) {
			return row.Price, nil, nil
		})
}

// PricesShow asks for the price list: as of a date, or all of it.
type PricesShow struct{ On book.Date }

// PricesShow returns the rows of the price list, oldest first.
func (desk *Desk) PricesShow(ctx context.Context, r PricesShow) (answer.PricesShow, error) {
	out := answer.PricesShow{Prices: []book.Price{}}
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = desk.ListHead(ctx, tx, "Price list"); err != nil {
			return err
		}
		list, err := LoadPrices(ctx, tx, r.On)
		out.Prices = append(out.Prices, list.rows...)
		return err
	})
	return out, err
}

// PriceList answers what a stone of a kind would bring, by the newest rows
// that are valid on a date.
type PriceList struct{ rows []book.Price }

// LoadPrices reads the price list as of a date; an empty date takes all.
func LoadPrices(ctx context.Context, tx store.ReadTx, on book.Date) (PriceList, error) {
	var l PriceList
	err := store.Each(ctx, tx, store.RowFilter{}, func(p book.Price) error {
		if on == "" || p.On <= on {
			l.rows = append(l.rows, p)
		}
		return nil
	})
	return l, err
}

// Find returns the price row that fits lot best: the variety before the
// species, a named shape before any, a size window before none, a grade before
// none; among equals the newest.
func (l PriceList) Find(lot book.Lot) (book.Price, bool) {
	var best book.Price
	bestRank := -1
	for _, p := range l.rows {
		rank, fits := priceRank(p, lot)
		if fits && (rank > bestRank || rank == bestRank && p.On > best.On) {
			best, bestRank = p, rank
		}
	}
	return best, bestRank >= 0
}

func priceRank(p book.Price, lot book.Lot) (rank int, fits bool) {
	switch {
	case p.Variety != "":
		if !strings.EqualFold(p.Variety, lot.Variety) {
			return 0, false
		}
		rank += 8
	case !strings.EqualFold(p.Species, lot.Species):
		return 0, false
	}
	if p.Shape != "" {
		if !strings.EqualFold(p.Shape, lot.Shape) {
			return 0, false
		}
		rank += 4
	}
	if p.LengthMin > 0 || p.LengthMax > 0 {
		if lot.Length.IsZero() || lot.Length.Min < p.LengthMin || p.LengthMax > 0 && lot.Length.Max > p.LengthMax {
			return 0, false
		}
		rank += 2
	}
	if p.Grade != "" {
		if !strings.EqualFold(p.Grade, lot.Clarity) {
			return 0, false
		}
		rank++
	}
	return rank, true
}

// StoneValue is what using one carat of the lot costs a plan, by the book's
// rule; known is false when the price list has no row and the book cost stands
// in.
func (l PriceList) StoneValue(rule string, s answer.StockLot) (perCarat num.UnitPrice, known bool) {
	if rule != "book_cost" {
		if p, ok := l.Find(s.Lot); ok {
			if rule == "replacement" && !p.Replacement.IsZero() {
				return p.Replacement, true
			}
			if rule == "loose_price" {
				return p.Loose, true
			}
		}
	}
	currency := s.Cost.Currency()
	q, ok := s.Cost.Dec().Div(s.Carats.Dec(), 6, num.HalfUp)
	if !ok {
		return num.UnitPriceFromDec(num.Dec{}, currency, num.HalfUp), false
	}
	return num.UnitPriceFromDec(q, currency, num.HalfUp), rule == "book_cost"
}
