package stockroom

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// HoldAdd asks to hold stones of a lot.
type HoldAdd struct {
	desk.Write
	Lot    string
	Pieces int64     // 0: all that are free
	For    string    // a line, LINE/DESIGN or LINE/DESIGN/POSITION, or customer/NAME, or a party of the book
	Until  book.Date // the last day; empty: until it is released
	Note   string
}

// HoldAdd holds stones for a customer or a line. What is held already for the
// same purpose is added to; more than there are is refused.
func (room *Room) HoldAdd(ctx context.Context, r HoldAdd) (answer.Holds, error) {
	out := answer.Holds{Holds: []answer.Hold{}}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		if r.Until != "" && r.Until < s.On {
			return fault.New(fault.Usage, "hold-until", fmt.Sprintf("a hold of %s cannot end on %s", s.On, r.Until),
				"give a later day").AtField("until")
		}
		whom, err := heldFor(ctx, tx, r.For)
		if err != nil {
			return err
		}
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		if f := notInCustody(lot.Lot, "held for another"); f != nil {
			return f
		}
		holds, err := desk.HoldsOn(ctx, tx, lot.Code, s.On)
		if err != nil {
			return err
		}
		h := book.Hold{Lot: lot.Code, For: whom, Until: r.Until, Note: r.Note}
		free := freeToHold(lot, holds)
		for _, other := range holds {
			if other.RecordKey() == h.RecordKey() {
				h.Pieces = other.Pieces
			}
		}
		if r.Pieces == 0 {
			r.Pieces = max(free, 0)
		}
		if r.Pieces == 0 || r.Pieces > free {
			return fault.New(fault.Refused, "hold-too-many", fmt.Sprintf("%d of %s cannot be held: %s",
				max(r.Pieces, 1),
				lot.Code, heldWords(free, holds)), "hold fewer, or release another hold").AtRef(lot.Code).
				Do("line", "release", lot.Code)
		}
		h.Pieces += r.Pieces
		e := s.Entry(ledger.Record, "held "+h.Words())
		e.Records = []book.Record{h}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry = e.Code
		out.Holds = append(out.Holds, answer.HoldOf(&lot, h, s.On))
		return nil
	})
	return out, err
}

// freeToHold is how many stones of a lot nobody holds. What is set in a piece is
// held by it.
func freeToHold(lot answer.StockLot, holds []book.Hold) int64 {
	var free int64
	for _, b := range lot.Places {
		if b.Place.Kind() != book.AtPiece {
			free += b.Pieces
		}
	}
	for _, h := range holds {
		free -= h.Pieces
	}
	return free
}

func heldWords(free int64, holds []book.Hold) string {
	var held []string
	for _, h := range holds {
		held = append(held, h.Words())
	}
	if len(held) == 0 {
		return fmt.Sprintf("there are %d", free)
	}
	return fmt.Sprintf("%s are held, which leaves %d", strings.Join(held, ", "), max(free, 0))
}

// heldFor is whom a hold is for, as it is kept: a customer, a line of the book, or
// a part of one. A name that only a party has is a customer; line/NAME is a line
// whose name a party has too.
func heldFor(ctx context.Context, tx store.ReadTx, text string) (string, error) {
	text = strings.TrimSpace(text)
	kind, rest, _ := strings.Cut(text, "/")
	if strings.EqualFold(kind, book.AtCustomer) {
		if f := book.CheckName("a customer", rest); f != nil {
			return "", f.AtField("for")
		}
		return string(book.PlaceOf(book.AtCustomer, rest)), nil
	}
	line, err := store.Get[book.Line](ctx, tx, kind)
	asLine := errors.Is(err, store.ErrNotFound) && strings.EqualFold(kind, "line") && rest != ""
	if asLine {
		kind, rest, _ = strings.Cut(rest, "/")
		line, err = store.Get[book.Line](ctx, tx, kind)
	}
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return "", err
	}
	party := ""
	if !asLine && !strings.Contains(text, "/") {
		var failed error
		if party, failed = partyOrNone(ctx, tx, text); failed != nil {
			return "", failed
		}
	}
	switch {
	case err != nil && party != "":
		return string(book.PlaceOf(book.AtCustomer, party)), nil
	case err != nil:
		return "", fault.New(fault.Usage, "hold-for", fmt.Sprintf("%q is no line and no party of this book", kind),
			"write customer/NAME for a person, or name a line").AtField("for")
	case party != "":
		return "", fault.New(fault.Usage, "hold-for-both", fmt.Sprintf("%s is a line and a party of this book", text),
			"write line/"+line.Name+" or customer/"+party).AtField("for")
	case rest == "":
		return line.Name, nil
	}
	designs, err := store.Of[book.Design](ctx, tx, book.ToLine(line.Name))
	if err != nil {
		return "", err
	}
	if _, f := book.SpotName(rest).Find(designs, true); f != nil {
		return "", f.AtField("for")
	}
	return line.Name + "/" + rest, nil
}

// partyOrNone is the name that a party of the book has today; empty: the book does not
// know it.
func partyOrNone(ctx context.Context, tx store.ReadTx, name string) (string, error) {
	if name == "" {
		return "", nil
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return "", err
	}
	party, err := desk.PartyNamed(ctx, tx, parties, name)
	if fault.KindOf(err) == fault.NotFound {
		return "", nil
	}
	return party, err
}
