package stockroom

import (
	"context"
	"fmt"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// MemoOut asks to send lots out on approval.
type MemoOut struct {
	desk.Write
	Party string
	Due   book.Date
	Lots  []Moving
	Note  string
}

// MemoOut sends lots out on approval: they stay in the book, at memo/PARTY.
func (room *Room) MemoOut(ctx context.Context, r MemoOut) (answer.MemoMoved, error) {
	var out answer.MemoMoved
	if f := book.CheckName("a party", r.Party); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		n, err := tx.Next(ctx, string(book.KindMemo))
		if err != nil {
			return err
		}
		m := book.Memo{Number: fmt.Sprintf("M%d", n), Party: r.Party, State: "out", On: s.On, Due: r.Due, Note: r.Note}
		e := s.Entry(ledger.Issue, "out on memo to "+r.Party)
		if m.Lots, err = carry(ctx, tx, &e, book.Safe, book.PlaceOf(book.AtMemo, r.Party), r.Lots...); err != nil {
			return err
		}
		e.Records = []book.Record{m}
		out.Memo = m
		out.Moved, err = post(ctx, tx, &e)
		return err
	})
	return out, err
}

// MemoBack asks to take back what was out on memo. Every lot is counted and
// weighed again.
type MemoBack struct {
	desk.Write
	Number string
	Lots   []Moving // as counted and weighed
	Accept string   // why a difference is accepted
}

// MemoBack takes lots back from a memo.
func (room *Room) MemoBack(ctx context.Context, r MemoBack) (answer.MemoMoved, error) {
	var out answer.MemoMoved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		m, err := memoNamed(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Return, "back from memo "+m.Number)
		if r.Accept != "" {
			e.Reason += "; accepted: " + r.Accept
		}
		for _, lot := range r.Lots {
			postings, err := bring(ctx, tx, returned{Moving: lot, accept: r.Accept}, book.PlaceOf(book.AtMemo, m.Party),
				cfg.WeighingTolerance)
			if err != nil {
				return err
			}
			e.Postings = append(e.Postings, postings...)
		}
		follow(&m, e.Postings)
		e.Records = []book.Record{m}
		out.Memo = m
		out.Moved, err = post(ctx, tx, &e)
		return err
	})
	return out, err
}

// follow moves a memo's lots as postings move the stones at its party; a memo
// that is left with none is closed.
func follow(m *book.Memo, postings []ledger.Posting) {
	place := book.PlaceOf(book.AtMemo, m.Party)
	lots := slices.Clone(m.Lots)
	for _, p := range postings {
		if p.Place != place {
			continue
		}
		at := slices.IndexFunc(lots, func(l book.SuppliedLot) bool { return l.Lot == p.Lot })
		if at < 0 {
			at = len(lots)
			lots = append(lots, book.SuppliedLot{Lot: p.Lot})
		}
		lots[at].Pieces += p.Pieces
		lots[at].Carats += p.Carats
	}
	m.Lots = slices.DeleteFunc(lots, func(l book.SuppliedLot) bool { return l.Pieces <= 0 })
	m.State = "out"
	if len(m.Lots) == 0 {
		m.Lots, m.State = nil, "closed"
	}
}

func memoNamed(ctx context.Context, tx store.ReadTx, number string) (book.Memo, error) {
	m, err := desk.Named[book.Memo](ctx, tx, number)
	if err != nil {
		return m, err
	}
	if m.State == "closed" {
		return m, fault.New(fault.Refused, "memo-closed", "memo "+m.Number+" is closed", "list the open ones").
			AtRef(m.Number).Do("memo", "list")
	}
	return m, nil
}

// MemoSell asks to sell what is out on a memo.
type MemoSell struct {
	desk.Write
	Number string
	Lots   []Moving // none: all that is out
	Price  num.Money
	Rate   num.Rate // book units per unit; zero for the book's currency
}

// MemoSell sells what is out on a memo to the party that has it.
func (room *Room) MemoSell(ctx context.Context, r MemoSell) (answer.Sold, error) {
	var out answer.Sold
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		m, err := memoNamed(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		lots := r.Lots
		if len(lots) == 0 {
			for _, l := range m.Lots {
				lots = append(lots, Moving{l.Lot, l.Pieces, l.Carats})
			}
		}
		e := s.Entry(ledger.Sell, "sold from memo "+m.Number)
		sale, err := sell(ctx, tx, &e, s, m.Party, lots, book.PlaceOf(book.AtMemo, m.Party), r.Price,
			r.Rate)
		if err != nil {
			return err
		}
		sale.Memo = m.Number
		follow(&m, e.Postings)
		e.Records = []book.Record{sale, m}
		out.Sale = sale
		if out.Opinions, err = room.opinionsOf(ctx, tx, sale.Lots); err != nil {
			return err
		}
		out.Moved, err = post(ctx, tx, &e)
		return err
	})
	return out, err
}

// MemoList asks for the memos.
type MemoList struct {
	All bool // also the closed ones
}

// MemoList lists the memos.
func (room *Room) MemoList(ctx context.Context, r MemoList) (answer.Memos, error) {
	out := answer.Memos{Memos: []book.Memo{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Memos"); err != nil {
			return err
		}
		return store.Each(ctx, tx, store.RowFilter{}, func(m book.Memo) error {
			if r.All || m.State != "closed" {
				out.Memos = append(out.Memos, m)
			}
			return nil
		})
	})
	return out, err
}
