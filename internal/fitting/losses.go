package fitting

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/store"
)

// lossRecord is what the book's own entries say: by kind and level, stones set
// and broken, sold and returned damaged.
type lossRecord map[durability.LossKind]map[durability.Level]durability.Record

func (l lossRecord) add(kind durability.LossKind, level int, n, lost int64) {
	if l[kind] == nil {
		l[kind] = map[durability.Level]durability.Record{}
	}
	r := l[kind][durability.Level(level)]
	r.N += int(n)
	r.Lost += int(lost)
	l[kind][durability.Level(level)] = r
}

// lossesOf reads the book's own record: what setters set and broke at each
// level of the day, and which finished pieces were sold and came back damaged.
func lossesOf(ctx context.Context, tx store.ReadTx) (lossRecord, error) {
	out := lossRecord{}
	inPiece := map[string][]book.Work{}
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return nil, err
	}
	err = store.EachRow(ctx, tx, store.RowFilter{}, func(row store.Row, w book.Work) error {
		if w.Reversed || reversed[row.Since] != "" {
			return nil
		}
		out.add(durability.LossSetting, w.BreakLevel, w.Set+w.Broken, w.Broken)
		if w.Piece != "" {
			key := strings.ToLower(w.Piece + "/" + w.Lot)
			inPiece[key] = append(inPiece[key], w)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, soldPieces(ctx, tx, func(piece, lot string, sold, damaged int64) {
		for _, w := range inPiece[strings.ToLower(piece+"/"+lot)] {
			// a lot may be set in several positions of one piece: each stone counts once
			n, lost := min(w.Set, sold), min(w.Set, damaged)
			sold, damaged = sold-n, damaged-lost
			out.add(durability.LossReturn, w.ReturnLevel, n, lost)
		}
	})
}

// soldPieces calls f for the stones of each lot that were sold in a piece, and
// how many of them came back damaged. Sales that are void do not count.
func soldPieces(ctx context.Context, tx store.ReadTx, f func(piece, lot string, sold, damaged int64)) error {
	void, err := tx.Reversals(ctx)
	if err != nil {
		return err
	}
	damaged := map[string]int64{} // by sale, line and lot
	rows, err := tx.Rows(ctx, book.KindCredit, store.RowFilter{})
	if err != nil {
		return err
	}
	for _, row := range rows {
		c, err := store.Get[book.Credit](ctx, tx, row.Key)
		if err != nil {
			return err
		}
		if void[row.Since] != "" || !c.Damaged {
			continue
		}
		for _, l := range c.Lines {
			damaged[lineOf(c.Sale, l.Line)] += l.Off.Pieces
		}
	}
	rows, err = tx.Rows(ctx, book.KindSale, store.RowFilter{})
	if err != nil {
		return err
	}
	for _, row := range rows {
		s, err := store.Get[book.Sale](ctx, tx, row.Key)
		if err != nil {
			return err
		}
		if void[row.Since] != "" || s.Reversed {
			continue
		}
		for i, l := range s.Lines {
			back := damaged[lineOf(s.Number, i+1)]
			for _, p := range l.Left(s.From) {
				lost := back
				if len(l.Parts) > 0 && back > 0 { // the piece came back, with its stones
					lost = p.Pieces
				}
				if p.From.Kind() == book.AtPiece {
					f(p.From.Name(), p.Lot, p.Pieces, lost)
				}
			}
		}
		if len(s.Lines) > 0 || s.From.Kind() != book.AtPiece {
			continue
		}
		for _, l := range s.Lots {
			lost := int64(0)
			if s.Damaged {
				lost = l.Pieces
			}
			f(s.From.Name(), l.Lot, l.Pieces, lost)
		}
	}
	return nil
}

// lineOf names a line of a sale.
func lineOf(sale string, line int) string { return fmt.Sprintf("%s/%d", strings.ToLower(sale), line) }

// Losses asks for the chances of loss.
type Losses struct{}

// Losses returns the believed chances of loss, by kind and level: which part
// is an estimate and which the book's own record.
func (room *Room) Losses(ctx context.Context, _ Losses) (answer.SettingLosses, error) {
	out := answer.SettingLosses{Rates: []answer.LossRate{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		record, err := lossesOf(ctx, tx)
		if err != nil {
			return err
		}
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		if out.Head, err = room.desk.ListHead(ctx, tx, "Chances of loss"); err != nil {
			return err
		}
		for _, p := range cfg.Losses {
			own := record[p.Kind][p.Level]
			r, f := durability.RateOf(cfg.Losses, p.Kind, p.Level, own)
			if f != nil {
				return f
			}
			out.Rates = append(out.Rates, answer.LossRate{Rate: r, Stones: own.N, Lost: own.Lost})
		}
		return nil
	})
	return out, err
}

// WorkOf judges what a setter did: the levels of the lot in the position that
// it was set into. Without a position nothing is learnt. Its number is that of
// the ticket's batch.
func (room *Room) WorkOf(ctx context.Context, tx store.Tx, r book.Work, in book.LineSpot) (book.Record, error) {
	if in == (book.LineSpot{}) || r.Set+r.Broken == 0 {
		return nil, nil
	}
	d, pos, err := positionOf(ctx, tx, in)
	if err != nil {
		return nil, err
	}
	lot, err := desk.StonesOf(ctx, tx, r.Lot)
	if err != nil {
		return nil, err
	}
	id, err := room.bench.Judge(ctx, tx, lot)
	if err != nil {
		return nil, err
	}
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return nil, err
	}
	j := NewJudge(map[string]*bench.LotIdentity{lot.Code: &id}, cfg).At(lot.Lot, d, pos)
	if j.Err != nil {
		return nil, j.Err
	}
	if r.Number == "" { // it came back before there were tickets
		n, err := tx.Next(ctx, string(book.KindWork))
		if err != nil {
			return nil, err
		}
		r.Number = fmt.Sprintf("W%d", n)
	}
	v := j.All.Verdict()
	return book.Work{
		Number: r.Number, Setter: r.Setter, Lot: lot.Code, Piece: r.Piece, For: d.RecordKey() + "/" +
			pos.Name, Set: r.Set, Broken: r.Broken,
		BreakLevel: int(v.BreakLevel), ReturnLevel: int(v.ReturnLevel), On: r.On,
	}, nil
}

// positionOf finds the position of a line that a name means.
func positionOf(ctx context.Context, tx store.ReadTx, in book.LineSpot) (d book.Design, p book.Position, err error) {
	line, err := desk.Named[book.Line](ctx, tx, in.Line)
	if err != nil {
		return d, p, err
	}
	designs := make([]book.Design, len(line.Designs))
	for i, design := range line.Designs {
		if designs[i], err = store.Get[book.Design](ctx, tx, line.Name+"/"+design); err != nil {
			return d, p, err
		}
	}
	spot, f := in.Spot.Find(designs, false)
	if f != nil {
		return d, p, f.AtField("for")
	}
	d = designs[spot.Design]
	return d, d.Positions[spot.Position], nil
}
