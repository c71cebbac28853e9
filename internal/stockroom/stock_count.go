package stockroom

import (
	"context"
	"fmt"
	"slices"
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

// StockCount asks how a physical count compares with the book, and with Post to
// book what differs.
type StockCount struct {
	Movement
	File desk.Input
	Post bool
}

// StockCount compares a count with the book. Without Post it writes nothing. With
// it, what differs is booked in one entry: missing stones as an expense, stones
// that were found without cost, weights beyond the tolerance as a scale
// difference. A lot that nobody counted is not booked: it is counted as 0 first.
// What lies on papers and in pieces is settled by them.
func (room *Room) StockCount(ctx context.Context, r StockCount) (answer.StockCount, error) {
	var out answer.StockCount
	f, faults := r.File.Open()
	if faults.Blocks() {
		return out, faults
	}
	rows, faults := intake.ReadCount(f)
	if !r.Post {
		err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
			out, err = room.counted(ctx, tx, r, rows, faults)
			return err
		})
		return out, err
	}
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a count that is booked needs a reason", "say why").
			AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) (err error) {
		if out, err = room.counted(ctx, tx, r, rows, faults); err != nil || len(out.Differences) == 0 {
			return err
		}
		e := s.Entry(ledger.Adjust, "")
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		var l fault.List
		for _, d := range out.Differences {
			err := m.bookCount(ctx, d)
			if f, isFault := fault.From(err); isFault {
				l.Add(f...)
			} else if err != nil {
				return err
			}
			if d.Note != "" {
				e.Reason += "; " + d.Lot + ": " + d.Note
			}
		}
		if l.Blocks() {
			return l
		}
		moved, err := m.post(ctx)
		out.Warnings, moved.Warnings = append(out.Warnings, moved.Warnings...), fault.List{}
		out.Moved = &moved
		return err
	})
	return out, err
}

// bookCount books one difference of a count.
func (m *mover) bookCount(ctx context.Context, d answer.CountDifference) error {
	if d.Place.Kind() != book.AtOffice {
		return fault.New(fault.Refused, "count-away", fmt.Sprintf("%s differs at %s: what is out is settled by its "+
			"paper",
			d.Lot, d.Place), "book what came back, or close the paper").AtRef(d.Lot)
	}
	lot, err := desk.StockOf(ctx, m.tx, d.Lot)
	if err != nil {
		return err
	}
	a := LotAdjust{Movement: m.Movement, Lot: lot.Code, Place: d.Place, Pieces: d.Counted - d.BookPieces,
		To: book.LossCount}
	switch {
	case d.Weighed > 0 || d.Counted == 0:
		a.Carats = d.Weighed - d.BookCarats
	case a.Pieces < 0: // not weighed: their part of the mean
		a.Carats = -d.BookCarats.ShareCarats([]num.Dec{num.Int(-a.Pieces), num.Int(d.Counted)})[0]
	}
	if a.Pieces == 0 {
		a.To = book.LossWeighing
	}
	if f := a.check(); f != nil {
		return f
	}
	cost, err := a.cost(ctx, m, lot)
	if err != nil {
		return err
	}
	m.entry.Postings = append(m.entry.Postings,
		ledger.Posting{Lot: lot.Code, Place: d.Place, Pieces: a.Pieces, Carats: a.Carats, Cost: cost.Neg()},
		ledger.Posting{Lot: lot.Code, Place: a.To, Pieces: -a.Pieces, Carats: -a.Carats, Cost: cost})
	if a.Pieces < 0 {
		m.lowerAgreed(lot, a.gone())
		_, err = m.takeAlong(ctx, lot.Lot, a.To)
	}
	return err
}

// counted compares the rows of a count with the book.
func (room *Room) counted(ctx context.Context, tx store.ReadTx, r StockCount, rows []intake.Count,
	faults fault.List) (answer.StockCount, error) {
	out := answer.StockCount{Differences: []answer.CountDifference{}, Missing: []string{}, Warnings: fault.List{}}
	out.Warnings = append(out.Warnings, faults...)
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return out, err
	}
	if out.Head, err = room.desk.Head(ctx, tx, cfg, "", "Stock count"); err != nil {
		return out, err
	}
	seen := map[string]bool{}
	var safes []book.Place // that were counted
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
			return out, err
		}
		if unknown != nil {
			l.Add(unknown)
			continue
		}
		place, f := countedAt(cfg, s, row.Place)
		if f != nil {
			l.Add(f.At(fault.Where{File: r.File.Name, Sheet: row.Where.Sheet, Row: row.Where.Row, Header: "place"}))
			continue
		}
		seen[strings.ToLower(s.Code)+string(place)] = true
		if place.Kind() == book.AtOffice && !slices.Contains(safes, place) {
			safes = append(safes, place)
		}
		out.Counted++
		here := s.At(place)
		if what := countWords(here, row.Pieces, row.Carats, cfg.WeighingTolerance); what != "" {
			out.Differences = append(out.Differences, answer.CountDifference{Lot: s.Code, Place: place,
				BookPieces: here.Pieces, Counted: row.Pieces, BookCarats: here.Carats,
				Weighed: row.Carats, What: what, Note: row.Note})
		}
	}
	if l.Blocks() {
		return out, l
	}
	if len(safes) == 0 {
		safes = append(safes, cfg.Home())
	}
	for _, safe := range safes {
		err := desk.StockFilter{Place: safe, Kind: desk.AnyLot}.Each(ctx, tx, func(s answer.StockLot) error {
			if s.At(safe).Pieces > 0 && !seen[strings.ToLower(s.Code)+string(safe)] {
				out.Missing = append(out.Missing, s.Code)
			}
			return nil
		})
		if err != nil {
			return out, err
		}
	}
	return out, nil
}

// countedAt is the place that a row of a count names. The safe, and no place at all,
// is the safe where the lot lies; of several offices one must be named.
func countedAt(cfg config.Config, s answer.StockLot, text string) (book.Place, *fault.Fault) {
	place := book.Safe
	if text != "" {
		var f *fault.Fault
		if place, f = book.ParsePlace(text); f != nil {
			return "", f
		}
	}
	switch {
	case place.Kind() != book.AtOffice || len(cfg.Offices) == 0:
		return place, nil
	case place != book.Safe:
		to, f := officeNamed(cfg, place)
		if f != nil {
			f.Kind = fault.Invalid
		}
		return to, f
	}
	var found []string
	for _, b := range s.Places {
		if b.Place.Kind() == book.AtOffice {
			found = append(found, string(b.Place))
		}
	}
	switch len(found) {
	case 0:
		return cfg.Home(), nil
	case 1:
		return book.Place(found[0]), nil
	}
	return "", fault.New(fault.Invalid, "office-several", fmt.Sprintf("%s lies in %s", s.Code,
		strings.Join(found, " and in ")), "say in which it was counted, e.g. "+found[0]).AtRef(s.Code)
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
