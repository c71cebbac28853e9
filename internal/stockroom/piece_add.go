package stockroom

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// PieceAdd asks to take a finished piece into stock: bought from a vendor, or one
// that was there before the book, for its metal and making.
type PieceAdd struct {
	Movement
	Code          string // empty: the next number
	Jewel         book.Jewel
	Vendor        string
	Customer      string // whose own it is, and who leaves it in custody; empty: it is the dealer's
	Price         Paid   // what the vendor is paid, with the stones that came in it
	Metal, Making Paid
	Lots          []Moving // stones of the safe that are in it
	Note          string
}

// PieceAdd takes a finished piece into the safe, with stones of the safe that are in
// it. Without an office it comes to that of its stones. Stones that came in a bought
// piece and are no lots are part of its price.
func (room *Room) PieceAdd(ctx context.Context, r PieceAdd) (answer.PieceMoved, error) {
	var out answer.PieceMoved
	bought := r.Price.Amount.Sign() != 0
	switch {
	case r.Customer != "" && (bought || r.Vendor != "" || r.Metal != Paid{} || r.Making != Paid{}):
		return out, fault.New(fault.Usage, "custody-cost", "a customer's own piece is not bought and has no cost in "+
			"the "+
			"book", "leave the vendor, the price and the costs out").AtField("customer")
	case bought == (r.Vendor == ""):
		return out, fault.New(fault.Usage, "piece-vendor", "a bought piece has a vendor and a price",
			"give both, or the "+
				"cost of metal and making alone").AtField("vendor")
	case r.Jewel.Is == "":
		return out, fault.New(fault.Usage, "piece-is", "nobody said what kind of piece it is",
			"write ring, pendant ...").
			AtField("is")
	}
	if _, f := facts.PieceNamed(r.Jewel.Is); f != nil {
		return out, f.AtField("is")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Buy, "a finished piece that was there")
		if bought {
			var err error
			if r.Vendor, err = desk.PartyOf(ctx, tx, "a vendor", r.Vendor); err != nil {
				return err
			}
			e.Reason = s.Entry(ledger.Buy, "a finished piece bought from "+r.Vendor).Reason
		}
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		code := r.Code
		if code == "" {
			code = NewPiece
		}
		if known, err := tx.Known(ctx, book.KindLot, []string{code}); err != nil || len(known) > 0 {
			if err == nil {
				err = fault.New(fault.Refused, "piece-known", "the book has "+code+" already",
					"choose another code, or none").
					AtRef(code).AtField("code")
			}
			return err
		}
		lot, err := m.newPiece(ctx, code, r.Jewel)
		if err != nil {
			return err
		}
		lot.Note = r.Note
		if r.Customer != "" {
			return m.takeIntoCustody(ctx, s, lot, r, &out)
		}
		m.record(lot)
		zero := num.Zero(tx.Meta().Currency)
		safe, err := m.pieceOffice(ctx, lot.Code, r.Lots)
		if err != nil {
			return err
		}
		if bought {
			rate, err := rateOn(ctx, tx, s.On, r.Price.Amount.Currency(), r.Price.Rate)
			if err != nil {
				return err
			}
			price, foreign, f := inBook(tx.Meta().Currency, r.Price.Amount, rate)
			if f != nil {
				return f
			}
			if price.Sign() < 0 {
				return fault.New(fault.Invalid, "piece-price", "a price is more than 0", "give the net price").
					AtField("price")
			}
			lot.Agreed, lot.Foreign = price, foreign
			m.record(lot)
			e.Postings = ledger.Move(lot.Code, book.PlaceOf(book.AtVendor, r.Vendor), safe, 1, 0, price)
		} else {
			e.Postings = ledger.Move(lot.Code, book.MadePiece, safe, 1, 0, zero)
		}
		for _, c := range []struct {
			kind string
			paid Paid
		}{{metalCharge, r.Metal}, {makingCharge, r.Making}} {
			if err := m.addCost(ctx, lot, safe, c.kind, c.paid, "", e.Reason); err != nil {
				return err
			}
		}
		if _, err := m.carry(ctx, safe, lot.Inside(), r.Lots...); err != nil {
			return err
		}
		if out.Moved, err = m.post(ctx, lot.Code); err != nil {
			return err
		}
		out.Piece, err = pieceAnswer(ctx, tx, lot.Code)
		return err
	})
	return out, err
}

// pieceOffice is the safe that a piece comes to with stones of a safe: that of the
// office that is named, else the one where its stones lie.
func (m *mover) pieceOffice(ctx context.Context, piece string, lots []Moving) (book.Place, error) {
	if m.office != "" {
		return m.office, nil
	}
	var found []book.Place
	for _, x := range lots {
		s, err := m.stockOf(ctx, x.Lot)
		if err != nil {
			return "", err
		}
		for _, b := range s.Places {
			if b.Place.Kind() == book.AtOffice {
				found = append(found, b.Place)
			}
		}
	}
	return m.oneOffice(piece, "the stones of "+piece+" come", found)
}

// takeIntoCustody takes a customer's own piece into the safe, with a receipt. Lots
// that are in it are the customer's too.
func (m *mover) takeIntoCustody(ctx context.Context, s desk.Stamp, lot book.Lot, r PieceAdd,
	out *answer.PieceMoved) error {
	customer, err := desk.PartyOf(ctx, m.tx, "a customer", r.Customer)
	if err != nil {
		return err
	}
	from := book.PlaceOf(book.AtCustomer, customer)
	lot.Owner = book.Owner(from)
	m.record(lot)
	m.entry.Kind, m.entry.Reason = ledger.MemoIn, s.Entry(ledger.MemoIn, "into custody: "+lot.Code+" of "+customer).
		Reason
	m.entry.Postings = ledger.Move(lot.Code, from, m.config.Home(), 1, 0, num.Zero(m.tx.Meta().Currency))
	for _, x := range r.Lots {
		in, err := desk.Named[book.Lot](ctx, m.tx, x.Lot)
		if err != nil {
			return err
		}
		if in.Owner != lot.Owner {
			return fault.New(fault.Refused, "custody-owner", fmt.Sprintf("%s is not %s's, but the piece is", in.Code,
				customer), "have it set by work out, then it is sold out of the piece").AtRef(in.Code)
		}
	}
	if _, err := m.carry(ctx, book.Safe, lot.Inside(), r.Lots...); err != nil {
		return err
	}
	stone, err := m.paperStone(ctx, lot, book.Weighed{Pieces: 1})
	if err != nil {
		return err
	}
	receipt := &answer.Receipt{Way: answer.TakenIn, Party: customer, Still: []answer.PaperStone{},
		Lines: []answer.ReceiptStone{{PaperStone: stone,
			Outcome: "received", Note: r.Note}}}
	issued, err := m.paper(ctx, s, "RECEIPT", "Piece taken into custody from "+customer, receipt)
	if err != nil {
		return err
	}
	if out.Moved, err = m.post(ctx, lot.Code); err != nil {
		return err
	}
	out.Document = issued
	out.Piece, err = pieceAnswer(ctx, m.tx, lot.Code)
	return err
}

// PieceUnset asks to take stones out of a finished piece.
type PieceUnset struct {
	Movement
	Piece  string
	Lines  []UnsetLine
	Making Paid // what taking them out cost: it goes into the piece
}

// UnsetLine is what became of stones of one lot that were taken out.
type UnsetLine struct {
	Moving               // out, counted and weighed
	Broken  book.Weighed // broken while they were taken out
	Damaged string       // why those that came out are damaged; empty: they are sound
}

// PieceUnset takes stones out of a finished piece into the safe where it lies, weighed again;
// the piece keeps its metal and making. Stones in pieces that are no lots, as older
// books have them, come out likewise.
func (room *Room) PieceUnset(ctx context.Context, r PieceUnset) (answer.PieceMoved, error) {
	var out answer.PieceMoved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		inside, safe := book.PlaceOf(book.AtPiece, r.Piece), book.Safe
		is, err := desk.IsPiece(ctx, tx, r.Piece)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Return, "taken out of "+r.Piece)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if is {
			piece, err := desk.PieceOf(ctx, tx, r.Piece)
			if err != nil {
				return err
			}
			inside, r.Piece = piece.Inside(), piece.Code
			if safe, err = m.pieceInSafe(ctx, piece.Code); err != nil {
				return err
			}
			if m.office != "" && m.office != safe {
				return fault.New(fault.Refused, "unset-office", fmt.Sprintf("%s lies in %s, so its stones come out "+
					"there", piece.Code, safe), "leave the office out; or send the piece or the stones there").
					AtRef(piece.Code).AtField("office")
			}
		}
		held, err := desk.StonesIn(ctx, tx, inside)
		if err != nil {
			return err
		}
		if len(held) == 0 {
			if !is {
				_, err = oldPiece(ctx, tx, inside)
				return err
			}
			return fault.New(fault.Refused, "piece-empty", "no stones lie in "+r.Piece, "see the piece").AtRef(r.Piece).
				Do("piece", "show", r.Piece)
		}
		if len(r.Lines) == 0 {
			return unweighed(r.Piece, held)
		}
		if err := m.unset(ctx, s, inside, safe, r.Lines); err != nil {
			return err
		}
		if err := m.payUnset(ctx, r, is); err != nil {
			return err
		}
		if out.Moved, err = m.post(ctx, m.madeLots()...); err != nil {
			return err
		}
		if is {
			out.Piece, err = pieceAnswer(ctx, tx, r.Piece)
			return err
		}
		out.Piece, err = oldPiece(ctx, tx, inside)
		if _, gone := fault.From(err); gone {
			out.Piece.State, err = "gone", nil
		}
		return err
	})
	return out, err
}

// unweighed refuses to take stones out that nobody weighed.
func unweighed(piece string, held []ledger.Balance) *fault.Fault {
	words := ""
	for _, b := range held {
		words += fmt.Sprintf(" %s:%d:%s", b.Lot, b.Pieces, b.Carats)
	}
	return fault.New(fault.Usage, "unset-what", "stones that come out of "+piece+" are weighed again; by the book "+
		"there are"+
		words, "name the lots, each with what was counted and weighed").AtRef(piece)
}

// pieceInSafe is the safe where a piece lies; one that is somewhere else is
// refused.
func (m *mover) pieceInSafe(ctx context.Context, code string) (book.Place, error) {
	at, err := m.whereIs(ctx, code)
	if err != nil || at.Kind() == book.AtOffice {
		return at, err
	}
	return at, fault.New(fault.Refused, "piece-elsewhere", fmt.Sprintf("%s lies on %s, not in the safe",
		code, at.Name()),
		"take it back first").AtRef(code)
}

// unset books what came out of a piece.
func (m *mover) unset(ctx context.Context, s desk.Stamp, inside, safe book.Place, lines []UnsetLine) error {
	for _, x := range lines {
		_, here, err := m.lotAt(ctx, x.Lot, inside)
		if err != nil {
			return err
		}
		if x.Pieces == 0 && x.Broken.Pieces == 0 {
			x.Pieces = here.Pieces
		}
		var out []book.BatchLine
		if x.Broken.Pieces > 0 {
			out = append(out, book.BatchLine{Outcome: book.Broken, Weighed: x.Broken})
		}
		if x.Pieces > 0 {
			out = append(out, book.BatchLine{Outcome: book.Accepted, To: safe, Weighed: book.Weighed{Pieces: x.Pieces,
				Carats: x.Carats}})
		}
		if _, err := m.bring(ctx, inside, x.Lot, out); err != nil {
			return err
		}
		if x.Damaged != "" && x.Pieces > 0 {
			if err := m.damageSome(ctx, s, x.Moving, safe, x.Damaged); err != nil {
				return err
			}
		}
	}
	return nil
}

// payUnset books what taking stones out cost.
func (m *mover) payUnset(ctx context.Context, r PieceUnset, is bool) error {
	if r.Making.Amount.Sign() == 0 {
		return nil
	}
	if !is {
		return fault.New(fault.Refused, "cost-no-piece", r.Piece+" has no lot of its own that could carry a cost",
			"book it as an expense outside this book").AtField("making_cost")
	}
	at, err := m.whereIs(ctx, r.Piece)
	if err != nil {
		return err
	}
	piece, err := m.stockOf(ctx, r.Piece)
	if err != nil {
		return err
	}
	return m.addCost(ctx, piece.Lot, at, makingCharge, r.Making, "", "stones taken out")
}

// madeLots are the lots that the entry makes or changes.
func (m *mover) madeLots() []string {
	var out []string
	for _, r := range m.entry.Records {
		if l, ok := r.(book.Lot); ok {
			out = append(out, l.Code)
		}
	}
	return out
}
