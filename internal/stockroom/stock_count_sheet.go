package stockroom

import (
	"cmp"
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// StockCountSheet asks for a sheet to count a place by.
type StockCountSheet struct {
	desk.Write
	Place book.Place // empty: safe
}

// StockCountSheet issues a sheet with what should lie at a place, to be filled in
// with what is counted and weighed there.
func (room *Room) StockCountSheet(ctx context.Context, r StockCountSheet) (answer.CountIssued, error) {
	r.Place = cmp.Or(r.Place, book.Safe)
	out := answer.CountIssued{Place: r.Place}
	if !r.Place.IsReal() {
		return out, fault.New(fault.Usage, "count-place", "\""+string(r.Place)+"\" is no place where stones lie",
			"name the safe, an office, a paper or a piece").AtField("sheet")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		place, f := sheetPlace(cfg, r.Place)
		if f != nil {
			return f
		}
		r.Place = place
		out = answer.CountIssued{Place: r.Place}
		model := answer.CountSheet{Place: r.Place, Lots: []answer.CountLot{}}
		err = desk.StockFilter{Place: r.Place, Kind: desk.AnyLot}.Each(ctx, tx, func(s answer.StockLot) error {
			name := s.Called()
			if s.IsPiece() {
				name = answer.PieceWords(s.Lot)
			}
			model.Lots = append(model.Lots, answer.CountLot{Lot: s.Code, Name: name,
				Size:   answer.SizeWords(s.Lot),
				Pieces: s.Pieces, Carats: s.Carats})
			out.Lots++
			out.Pieces += s.Pieces
			out.Carats += s.Carats
			return nil
		})
		if err != nil {
			return err
		}
		if out.Lots == 0 {
			return fault.New(fault.Refused, "count-nothing", "nothing lies at "+string(r.Place), "see what lies where").
				AtField("sheet").Do("stock", "list")
		}
		e := s.Entry(ledger.Record, "issued a count sheet of "+string(r.Place))
		m, err := newMover(ctx, tx, s, Movement{Write: r.Write}, &e)
		if err != nil {
			return err
		}
		doc, err := m.issue(ctx, s, desk.Draft{Kind: "COUNT", Title: "Stock count of " + string(r.Place),
			Model: &model})
		if err != nil {
			return err
		}
		out.Document = answer.FileOf(doc)
		return tx.Post(ctx, &e)
	})
	return out, err
}

// sheetPlace is the place of a count sheet as the book spells it: where there are
// several offices, each is counted by itself.
func sheetPlace(cfg config.Config, place book.Place) (book.Place, *fault.Fault) {
	if place.Kind() != book.AtOffice || len(cfg.Offices) == 0 {
		return place, nil
	}
	to, f := officeNamed(cfg, place)
	if f != nil {
		return "", f.AtField("sheet")
	}
	return to, nil
}
