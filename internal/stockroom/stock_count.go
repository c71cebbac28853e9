package stockroom

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// StockCount asks how a physical count compares with the book.
type StockCount struct{ File desk.Input }

// StockCount compares a count with the book. It writes nothing: what differs
// is booked by hand, with its reason.
func (room *Room) StockCount(ctx context.Context, r StockCount) (answer.StockCount, error) {
	out := answer.StockCount{Differences: []answer.CountDifference{}, Missing: []string{}, Warnings: fault.List{}}
	f, faults := r.File.Open()
	if faults.Blocks() {
		return out, faults
	}
	rows, faults := intake.ReadCount(f)
	out.Warnings = append(out.Warnings, faults...)
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		if out.Head, err = room.desk.Head(ctx, tx, cfg, "", "Stock count"); err != nil {
			return err
		}
		counted := map[string]bool{}
		var l fault.List
		if faults.Blocks() {
			l.Add(faults...)
		}
		for _, row := range rows {
			if row.Lot == "" { // its fault stands in faults
				continue
			}
			s, err := desk.StockOf(ctx, tx, row.Lot)
			unknown, err := desk.OfRow(err, row.Where)
			if err != nil {
				return err
			}
			if unknown != nil {
				l.Add(unknown)
				continue
			}
			place := book.Safe
			if row.Place != "" {
				var f *fault.Fault
				if place, f = book.ParsePlace(row.Place); f != nil {
					l.Add(f.At(fault.Where{File: r.File.Name, Sheet: row.Where.Sheet, Row: row.Where.Row,
						Header: "place"}))
					continue
				}
			}
			counted[strings.ToLower(s.Code)+string(place)] = true
			out.Counted++
			here := s.At(place)
			if what := countWords(here, row.Pieces, row.Carats, cfg.WeighingTolerance); what != "" {
				out.Differences = append(out.Differences, answer.CountDifference{Lot: s.Code, Place: place,
					BookPieces: here.Pieces, Counted: row.Pieces, BookCarats: here.Carats,
					Weighed: row.Carats, What: what})
			}
		}
		if l.Blocks() {
			return l
		}
		return desk.StockFilter{Place: book.Safe}.Each(ctx, tx, func(s answer.StockLot) error {
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
