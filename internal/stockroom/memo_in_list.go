package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// MemoInList asks for the goods of lenders that are here or out with others.
type MemoInList struct{ desk.AsOf }

// MemoInList lists what is on memo in, by lender, what is overdue first. Of a past
// moment, whose the goods were then, and what was agreed then, counts.
func (room *Room) MemoInList(ctx context.Context, r MemoInList) (answer.MemoIn, error) {
	out := answer.MemoIn{Lots: []answer.MemoInLot{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Memo in"); err != nil {
			return err
		}
		then, err := r.Moment(ctx, tx)
		if err != nil {
			return err
		}
		out.AsOf, out.On = then.Answer, room.desk.Today(tx, then.Day())
		parties, err := desk.ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		parcels := map[string]book.Parcel{}
		err = desk.StockFilter{AsOf: r.AsOf, Kind: desk.AnyLot}.Each(ctx, tx, func(s answer.StockLot) error {
			parcel, known := parcels[s.Parcel]
			if !known && s.Parcel != "" {
				if parcel, err = store.Get[book.Parcel](ctx, tx, s.Parcel); err != nil {
					return err
				}
				parcels[s.Parcel] = parcel
			}
			if s.Owner.IsOwn() && (then.IsNow() || parcel.Kind != book.MemoIn) {
				return nil
			}
			if !then.IsNow() { // it may have been bought since, or agreed anew
				row, err := tx.Row(ctx, book.KindLot, s.Code)
				if err != nil {
					return err
				}
				if s.Lot, err = desk.Then[book.Lot](ctx, tx, then, row); err != nil {
					return err
				}
			}
			if s.Owner.Lender() == "" {
				return nil
			}
			l, err := memoInLot(ctx, tx, s, parcel.On, out.On)
			l.Lender = parties.Of(s.Owner.Lender())
			out.Lots = append(out.Lots, l)
			return err
		})
		out.Sort()
		return err
	})
	return out, err
}

// memoInLot is a lent lot on a day, with its agreed price at the rate of that day.
func memoInLot(ctx context.Context, tx store.ReadTx, s answer.StockLot, since, on book.Date) (answer.MemoInLot, error) {
	l := answer.MemoInLot{Lot: s.Code, Parcel: s.Parcel, Name: s.Called(), Places: s.Places, Pieces: s.Pieces,
		Carats: s.Carats, Since: since, Due: s.Due, Days: max(0, on.DaysSince(since))}
	if s.Due != "" {
		l.Overdue = max(0, on.DaysSince(s.Due))
	}
	agreed := agreedOf(s.Lot).named()
	if agreed.IsZero() {
		return l, nil
	}
	value, err := inBookOn(ctx, tx, agreed, s.Lot, on)
	l.Agreed, l.BookValue = &agreed, &value
	return l, err
}

// inBookOn is an agreed price in the book's currency at the rate of a day, or at
// that of the day when it came where the table has none.
func inBookOn(ctx context.Context, tx store.ReadTx, agreed num.Money, lot book.Lot, on book.Date) (num.Money, error) {
	rate, err := rateOn(ctx, tx, on, agreed.Currency(), num.Rate{})
	switch {
	case fault.KindOf(err) == fault.Invalid:
		return lot.Agreed, nil
	case err != nil || agreed.Currency() == tx.Meta().Currency:
		return agreed, err
	}
	return agreed.Convert(rate, tx.Meta().Currency, num.HalfUp), nil
}
