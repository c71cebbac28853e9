package stockroom

import (
	"context"
	"encoding/json"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LedgerReverse asks to cancel an entry.
type LedgerReverse struct {
	desk.Write
	Entry string
}

// LedgerReverse cancels one entry with its negated postings, and writes the
// papers and lots that it changed as they were before it. Without a date it is
// dated as the entry, when that one's month is open. An entry that changed
// lots and moved nothing is taken back by one that writes them as they were.
func (room *Room) LedgerReverse(ctx context.Context, r LedgerReverse) (answer.Moved, error) {
	var out answer.Moved
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a reversal needs a reason", "say why").AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		e, err := desk.EntryNamed(ctx, tx, r.Entry)
		if err != nil {
			return err
		}
		if r.On == "" {
			if s.On, err = desk.ReversalDate(ctx, tx, e, s.On); err != nil {
				return err
			}
		}
		if len(e.Postings) == 0 {
			out, err = reverseUnmoved(ctx, tx, s, e)
			return err
		}
		reversal := e.Reversed(s.On, s.Reason, s.Who)
		if reversal.Records, err = reversedRecords(ctx, tx, e); err != nil {
			return err
		}
		out, err = post(ctx, tx, &reversal)
		return err
	})
	return out, err
}

// reverseUnmoved takes back an entry that moved nothing. A payment or a credit
// that only lowered a price is void then; its record is written again as it is,
// because an entry is never empty.
func reverseUnmoved(ctx context.Context, tx store.Tx, s desk.Stamp, e ledger.Entry) (answer.Moved, error) {
	wrote, err := recordsOf(ctx, tx, e)
	if err != nil {
		return answer.Moved{}, err
	}
	reversal := e.Reversed(s.On, s.Reason, s.Who)
	for _, r := range wrote {
		var again book.Record
		switch r.Kind {
		case book.KindPayment: // what it left on account may have been used
			if err = nothingFollows(ctx, tx, r.Key); err == nil {
				again, err = store.Get[book.Payment](ctx, tx, r.Key)
			}
		case book.KindCredit:
			again, err = store.Get[book.Credit](ctx, tx, r.Key)
		default:
			continue
		}
		if err != nil {
			return answer.Moved{}, err
		}
		reversal.Records = append(reversal.Records, again)
	}
	if len(reversal.Records) == 0 {
		return restoreLots(ctx, tx, s, e)
	}
	return post(ctx, tx, &reversal)
}

// nothingFollows refuses to take back a sale, a purchase, a charge or a claim
// while a credit or a payment of it stands.
func nothingFollows(ctx context.Context, tx store.ReadTx, number string) error {
	void, err := tx.Reversals(ctx)
	if err != nil {
		return err
	}
	for _, k := range []book.Kind{book.KindCredit, book.KindPayment, book.KindCharge} {
		rows, err := tx.Rows(ctx, k, store.RowFilter{Ref: book.ToPaper(number)})
		if err != nil {
			return err
		}
		for _, row := range rows {
			if void[row.Since] == "" {
				return fault.New(fault.Refused, "followed",
					fmt.Sprintf("%s cannot be reversed: %s %s of it stands, booked by "+
						"%s", number, k, row.Key, row.Since),
					"reverse that one first, or correct it by a credit note").AtRef(number)
			}
		}
	}
	return nil
}

// restoreLots writes lots as they were before an entry that changed them and
// moved nothing, such as a rename by identity. An entry that wrote anything else
// is refused: what it wrote is corrected by a newer one.
func restoreLots(ctx context.Context, tx store.Tx, s desk.Stamp, e ledger.Entry) (answer.Moved, error) {
	wrote, err := recordsOf(ctx, tx, e)
	if err != nil {
		return answer.Moved{}, err
	}
	back := s.Entry(ledger.Record, "")
	back.Reason = "takes " + e.Code + " back: " + s.Reason
	var lots []string
	for _, r := range wrote {
		var before book.Record
		switch r.Kind {
		case book.KindLot:
			before, err = reversedLot(ctx, tx, e, r.Key)
		case book.KindAlias:
			if before, err = unwritten(ctx, tx, e, book.Alias{Name: r.Key, On: back.PostedOn}); before == nil &&
				err == nil {
				err = fault.New(fault.Refused, "entry-built-on",
					fmt.Sprintf("%s cannot be taken back: what %s is called was "+
						"changed after it", e.Code, r.Key), "rename it once more").AtRef(e.Code)
			}
		case book.KindParty:
			if before, err = unwritten(ctx, tx, e, book.Party{Name: r.Key}); before == nil && err == nil {
				continue // what was set since then stays
			}
		}
		if err != nil {
			return answer.Moved{}, err
		}
		if before == nil {
			back.Records = nil
			break
		}
		back.Records = append(back.Records, before)
		if r.Kind == book.KindLot {
			lots = append(lots, before.RecordKey())
		}
	}
	if len(back.Records) == 0 {
		return answer.Moved{}, fault.New(fault.Refused, "reverse-nothing",
			e.Code+" moved nothing, so there is nothing "+
				"to reverse", "write the corrected reading, rate or setting: the newest counts").AtRef(e.Code)
	}
	out, err := post(ctx, tx, &back, lots...)
	if out.Words = back.Reason; len(lots) > 0 {
		out.Words = ""
	}
	return out, err
}

// unwritten is a record that an entry wrote, as it was before: the version before
// it, or blank. It is nil when a later entry has changed the record again.
func unwritten[T book.Record](ctx context.Context, tx store.ReadTx, e ledger.Entry, blank T) (book.Record, error) {
	rows, err := tx.History(ctx, blank.RecordKind(), blank.RecordKey())
	if err != nil || rows[len(rows)-1].Entry != e.Code {
		return nil, err
	}
	versions, err := store.Versions[T](ctx, tx, blank.RecordKey())
	if err != nil || len(versions) == 1 {
		return blank, err
	}
	return versions[len(versions)-2], nil
}

// written is a record that an entry wrote.
type written struct {
	Kind book.Kind       `json:"kind"`
	Key  string          `json:"key"`
	Doc  json.RawMessage `json:"doc"`
}

// decoded is the record as the entry wrote it.
func decoded[T book.Record](w written) (T, error) {
	var r T
	if err := json.Unmarshal(w.Doc, &r); err != nil {
		return r, fmt.Errorf("read %s %s: %w", w.Kind, w.Key, err)
	}
	return r, nil
}

// recordsOf is what an entry wrote beside its postings.
func recordsOf(ctx context.Context, tx store.ReadTx, e ledger.Entry) ([]written, error) {
	bodies, err := tx.Bodies(ctx, e.Sequence-1, 1)
	if err != nil || len(bodies) == 0 {
		return nil, err
	}
	var sealed struct {
		Records []written `json:"records"`
	}
	if err := json.Unmarshal(bodies[0].Body, &sealed); err != nil {
		return nil, fmt.Errorf("read the body of %s: %w", e.Code, err)
	}
	return sealed.Records, nil
}

// reversedRecords are what an entry's reversal writes beside its postings: an
// order, a memo, a sale, a setter's work or a changed lot is again as the
// stones now lie. Lots that the entry made stay, empty.
func reversedRecords(ctx context.Context, tx store.ReadTx, e ledger.Entry) ([]book.Record, error) {
	wrote, err := recordsOf(ctx, tx, e)
	if err != nil {
		return nil, err
	}
	var out []book.Record
	for _, r := range wrote {
		var restored book.Record
		switch r.Kind {
		case book.KindOrder:
			restored, err = reversedOrder(ctx, tx, e, r.Key)
		case book.KindMemo:
			restored, err = reversedMemo(ctx, tx, e, r.Key)
		case book.KindSale:
			restored, err = reversedSale(ctx, tx, e, r.Key)
		case book.KindLot:
			restored, err = reversedLot(ctx, tx, e, r.Key)
		case book.KindParcel:
			if restored, err = versionBefore[book.Parcel](ctx, tx, e, r.Key); restored == nil && err == nil {
				err = nothingFollows(ctx, tx, r.Key)
			}
		case book.KindOffer:
			restored, err = versionBefore[book.Offer](ctx, tx, e, r.Key)
		case book.KindCharge, book.KindClaim:
			err = nothingFollows(ctx, tx, r.Key)
		case book.KindHold:
			restored, err = reversedHold(ctx, tx, e, r.Key)
		}
		if err != nil {
			return nil, err
		}
		if restored != nil {
			out = append(out, restored)
		}
	}
	return out, nil
}

// reversedOrder is an order that the entry changed, as it was before; nil when a
// later entry changed it again. The order of a receipt stays sent: its stones are out
// again by the balance of its place. An entry of the time before papers says by
// its kind what the order was.
func reversedOrder(ctx context.Context, tx store.ReadTx, e ledger.Entry, key string) (book.Record, error) {
	versions, err := tx.History(ctx, book.KindOrder, key)
	if err != nil || len(versions) < 2 {
		return nil, err
	}
	orders, err := store.Versions[book.Order](ctx, tx, key)
	if err != nil {
		return nil, err
	}
	if versions[len(versions)-1].Entry == e.Code {
		return orders[len(orders)-2], nil
	}
	o := orders[len(orders)-1]
	switch e.Kind {
	case ledger.Cut:
		o.State = "sent"
	case ledger.Issue:
		o.State, o.Supplied, o.At, o.SentOn = "draft", nil, "", ""
		for i := range o.Lines {
			o.Lines[i].MinYield = num.Percent{}
		}
	}
	return o, nil
}

// versionBefore is a record that the entry changed, as it was before; nil when the
// entry wrote its first version. When a later entry changed it again, that one must
// be reversed first.
func versionBefore[T book.Record](ctx context.Context, tx store.ReadTx, e ledger.Entry, key string) (book.Record,
	error) {
	var zero T
	versions, err := tx.History(ctx, zero.RecordKind(), key)
	if err != nil || len(versions) == 0 || versions[0].Entry == e.Code {
		return nil, err
	}
	if last := versions[len(versions)-1]; last.Entry != e.Code {
		return nil, fault.New(fault.Refused, "entry-built-on",
			fmt.Sprintf("%s cannot be reversed: %s changed the %s %s after it", e.Code, last.Entry, zero.RecordKind(),
				key), "reverse that one first, or correct the "+string(zero.RecordKind())+
				" with a new entry").AtRef(e.Code)
	}
	all, err := store.Versions[T](ctx, tx, key)
	if err != nil {
		return nil, err
	}
	return all[len(all)-2], nil
}

// reversedSale is the sale of a reversed return, as it was before it. A sale itself
// is void as its entry is, and nothing is written; what was credited or paid keeps it
// from being reversed: it is corrected by a credit note.
func reversedSale(ctx context.Context, tx store.ReadTx, e ledger.Entry, key string) (book.Record, error) {
	s, err := store.Get[book.Sale](ctx, tx, key)
	if err != nil {
		return nil, err
	}
	if e.Kind != ledger.Return {
		return nil, nothingFollows(ctx, tx, s.Number)
	}
	s.Returned, s.Damaged = false, false
	return s, nil
}

// reversedHold is a hold that the entry lowered, as it was before, unless a later
// entry changed it.
func reversedHold(ctx context.Context, tx store.ReadTx, e ledger.Entry, key string) (book.Record, error) {
	versions, err := tx.History(ctx, book.KindHold, key)
	if err != nil || len(versions) == 0 || versions[len(versions)-1].Entry != e.Code {
		return nil, err
	}
	holds, err := store.Versions[book.Hold](ctx, tx, key)
	if err != nil {
		return nil, err
	}
	if len(holds) == 1 { // of a lot that the entry made: it is empty now
		holds[0].Pieces = 0
		return holds[0], nil
	}
	return holds[len(holds)-2], nil
}

// reversedLot is a lot that the entry changed, as it was before. When a later
// entry changed it again, that one must be reversed first.
func reversedLot(ctx context.Context, tx store.ReadTx, e ledger.Entry, key string) (book.Record, error) {
	return versionBefore[book.Lot](ctx, tx, e, key)
}
