package app

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// CountDifference is one lot that a physical count found otherwise.
type CountDifference struct {
	Lot        string     `json:"lot"`
	Place      book.Place `json:"place"`
	BookPieces int64      `json:"book_pieces"`
	Counted    int64      `json:"counted"`
	BookCarats num.Carat  `json:"book_carats"`
	Weighed    num.Carat  `json:"weighed"`
	What       string     `json:"what"`
}

// StockCount is a physical count held against the book.
type StockCount struct {
	Counted     int               `json:"counted"`
	Differences []CountDifference `json:"differences"`
	Missing     []string          `json:"missing"` // lots in the safe that nobody counted
	Warnings    fault.List        `json:"warnings"`
}

// StockCount compares a count with the book. It writes nothing: what differs
// is booked by hand, with its reason.
func (a *App) StockCount(ctx context.Context, in Input) (StockCount, error) {
	out := StockCount{Differences: []CountDifference{}, Missing: []string{}, Warnings: fault.List{}}
	f, faults := in.open()
	if faults.Blocks() {
		return out, faults
	}
	rows, faults := intake.ReadCount(f)
	out.Warnings = append(out.Warnings, faults...)
	err := a.view(ctx, func(tx store.ReadTx) error {
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		counted := map[string]bool{}
		var l fault.List
		if faults.Blocks() {
			l.Add(faults...)
		}
		for _, row := range rows {
			if row.Lot == "" { // told already
				continue
			}
			s, err := stockOf(ctx, tx, row.Lot)
			if fault.KindOf(err) == fault.NotFound {
				l.Add(fault.New(fault.Invalid, "lot-unknown", fmt.Sprintf("there is no lot %q in this book", row.Lot), "use the book's code: lotpaper lot list").At(row.Where))
				continue
			}
			if err != nil {
				return err
			}
			place := book.Safe
			if row.Place != "" {
				var f *fault.Fault
				if place, f = book.ParsePlace(row.Place); f != nil {
					l.Add(f.At(fault.Where{File: in.Name, Sheet: row.Where.Sheet, Row: row.Where.Row, Header: "place"}))
					continue
				}
			}
			counted[strings.ToLower(s.Code)+string(place)] = true
			out.Counted++
			here := balanceAt(s.Places, s.Code, place)
			if what := countWords(here, row.Pieces, row.Carats, config.WeighingTolerance); what != "" {
				out.Differences = append(out.Differences, CountDifference{s.Code, place, here.Pieces, row.Pieces, here.Carats, row.Carats, what})
			}
		}
		if l.Blocks() {
			return l
		}
		return eachStock(ctx, tx, StockFilter{Place: book.Safe}, func(s StockLot) error {
			if !counted[strings.ToLower(s.Code)+string(book.Safe)] {
				out.Missing = append(out.Missing, s.Code)
			}
			return nil
		})
	})
	return out, err
}

// countWords says how a count differs from a balance; empty when it does not.
// A weight of 0 was not taken.
func countWords(b ledger.Balance, pieces int64, carats, tolerance num.Carat) string {
	var parts []string
	if pieces != b.Pieces {
		parts = append(parts, fmt.Sprintf("%+d pieces", pieces-b.Pieces))
	}
	if diff := carats - b.Carats; carats > 0 && (diff > tolerance || -diff > tolerance) {
		parts = append(parts, fmt.Sprintf("%s ct", diff))
	}
	return strings.Join(parts, ", ")
}
