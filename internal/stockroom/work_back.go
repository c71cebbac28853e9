package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// WorkLine is what became of stones of one lot, or of a finished piece, that were
// out for work.
type WorkLine struct {
	Moving               // unset stones that come back, counted and weighed
	Rest    bool         // all that is not told otherwise came back
	Set     int64        // stones set into the piece
	SetRest bool         // all that is not told otherwise was set
	Broken  book.Weighed // stones that broke, with their weight when it is known
	Spot    book.LineSpot
}

// Paid is an amount that is paid for work, in its own currency.
type Paid struct {
	Amount num.Money
	Rate   num.Rate // book units per unit; zero for the book's currency
}

// WorkBack is what came back in one go of what was out for work.
type WorkBack struct {
	Movement
	Ticket string // empty: the open one of Party that holds the lots
	Party  string
	Lines  []WorkLine
	Claim  bool // the cost of what broke is claimed from the party

	Piece         string     // the piece they were set into: NewPiece, or its code
	Jewel         book.Jewel // what is known of a new piece
	Metal, Making Paid       // what the piece costs beside its stones

	Report *WorkReport // of a laboratory
	Fee    Paid        // of a laboratory: goes into the cost of its stones
}

// NewPiece asks for a piece with the next number.
const NewPiece = "new"

// WorkBack books what was done, as a batch of the ticket: stones set lie in their
// piece with their own cost, broken ones are a loss that the loss rates learn from,
// metal and making are the cost of the piece. A receipt is issued with it.
func (room *Room) WorkBack(ctx context.Context, r WorkBack) (answer.WorkMoved, error) {
	out := answer.WorkMoved{Pieces: []answer.Piece{}}
	if len(r.Lines) == 0 {
		return out, fault.New(fault.Usage, "work-nothing", "nothing came back",
			"name the lots, or what was set or broke").
			AtField("set")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		out = answer.WorkMoved{Pieces: []answer.Piece{}}
		p, err := r.paper(ctx, tx)
		if err != nil {
			return err
		}
		e := s.Entry(r.kind(), "back from "+p.Party)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		b := &workBatch{WorkBack: r, mover: m, paper: p}
		if p.Number != "" {
			if b.ticket, err = store.Get[book.Ticket](ctx, tx, p.Number); err != nil {
				return err
			}
		}
		if err := b.takePiece(ctx); err != nil {
			return err
		}
		if err := b.bringLines(ctx); err != nil {
			return err
		}
		if err := b.learn(ctx, room); err != nil {
			return err
		}
		if err := b.pay(ctx); err != nil {
			return err
		}
		if err := b.report(ctx, s); err != nil {
			return err
		}
		if err := b.receipt(ctx, s, &out); err != nil {
			return err
		}
		out.Moved, err = m.post(ctx, b.lots...)
		out.Warnings = append(out.Warnings, b.warnings...)
		if err := m.showTicket(ctx, &out.Ticket, p.Number, err); err != nil || b.piece == "" {
			return err
		}
		piece, err := pieceAnswer(ctx, tx, b.piece)
		out.Pieces = append(out.Pieces, piece)
		return err
	})
	return out, err
}

func (r *WorkBack) kind() ledger.Kind {
	kind := ledger.Return
	for _, l := range r.Lines {
		switch {
		case l.Broken.Pieces > 0:
			return ledger.Break
		case l.Set > 0 || l.SetRest:
			kind = ledger.Set
		}
	}
	return kind
}

// sets reports whether stones were set.
func (r *WorkBack) sets() bool {
	for _, l := range r.Lines {
		if l.Set > 0 || l.SetRest {
			return true
		}
	}
	return false
}

// paper is the ticket that the lots are on: the one that is named, the only open
// one of the party that holds the first of them, or, without a number, the place
// where a setter's stones lay before there were tickets.
func (r *WorkBack) paper(ctx context.Context, tx store.ReadTx) (desk.Paper, error) {
	if r.Ticket != "" {
		return desk.PaperNamed(ctx, tx, book.KindTicket, "work", r.Ticket)
	}
	if r.Party == "" {
		return desk.Paper{}, fault.New(fault.Usage, "work-ticket", "what came back was on a ticket, or with a setter",
			"name the ticket").AtField("ticket").Do("work", "list")
	}
	lot, err := desk.StockOf(ctx, tx, r.Lines[0].Lot)
	if err != nil {
		return desk.Paper{}, err
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return desk.Paper{}, err
	}
	var old desk.Paper
	var found []desk.Paper
	var numbers []string
	for _, name := range append(parties.Names(r.Party), r.Party) {
		old = desk.Paper{Party: name, Place: book.PlaceOf(book.AtSetter, name), Old: true}
		if here := lot.At(old.Place); here.Pieces > 0 && !slices.Contains(numbers, string(old.Place)) {
			found, numbers = append(found, old), append(numbers, string(old.Place))
		}
	}
	err = desk.EachPaper(ctx, tx, store.RowFilter{Ref: book.ToLot(lot.Code)}, func(p desk.Paper) error {
		here := lot.At(p.Place)
		if p.Kind == book.KindTicket && parties.Same(p.Party, r.Party) && here.Pieces > 0 {
			found, numbers = append(found, p), append(numbers, p.Number)
		}
		return nil
	})
	switch {
	case err != nil:
		return old, err
	case len(found) == 1:
		return found[0], nil
	case len(found) == 0:
		return old, fault.New(fault.Refused, "move-nothing", fmt.Sprintf("%s has nothing of %s", r.Party, lot.Code),
			"see where it is").AtRef(lot.Code).Do("lot", "show", lot.Code)
	}
	return old, fault.New(fault.Usage, "work-several", fmt.Sprintf("%s has stones of %s on %s", r.Party, lot.Code,
		strings.Join(numbers, ", ")), "name the ticket").AtRef(lot.Code).AtField("ticket")
}

// workBatch is what came back, while its entry is made.
type workBatch struct {
	WorkBack
	*mover
	paper    desk.Paper
	ticket   book.Ticket // zero: what was out before there were tickets
	piece    string      // the finished piece that stones were set into, or that came back; empty: none
	inside   book.Place  // where stones that were set lie
	lines    []book.BatchLine
	batch    book.Batch
	lots     []string // that the entry makes
	warnings fault.List
}

// bringLines books each lot, and the piece that stones were set into when it was
// out with them.
func (b *workBatch) bringLines(ctx context.Context) error {
	for _, x := range b.Lines {
		s, here, err := b.lotAt(ctx, x.Lot, b.paper.Place)
		if err != nil {
			return err
		}
		if s.IsPiece() && x.Set+x.Broken.Pieces == 0 && !x.SetRest {
			b.piece = cmp.Or(b.piece, s.Code)
		}
		lines, err := b.bring(ctx, b.paper.Place, x.Lot, b.linesOf(x, here.Pieces))
		if err != nil {
			return err
		}
		b.lines = append(b.lines, lines...)
	}
	if b.piece != "" && b.sets() && !b.named(b.piece) {
		if _, _, err := b.lotAt(ctx, b.piece, b.paper.Place); err == nil {
			lines, err := b.bring(ctx, b.paper.Place, b.piece, []book.BatchLine{{Outcome: book.Accepted,
				Weighed: book.Weighed{Pieces: 1}}})
			if err != nil {
				return err
			}
			b.lines = append(b.lines, lines...)
		}
	}
	if b.paper.Number == "" {
		return nil
	}
	var err error
	if b.batch, err = b.mover.batch(ctx, b.paper.Number, b.paper.Party, b.lines); err != nil {
		return err
	}
	b.record(b.batch)
	return nil
}

// named reports whether a line is about the lot.
func (b *workBatch) named(lot string) bool {
	for _, l := range b.Lines {
		if strings.EqualFold(l.Lot, lot) {
			return true
		}
	}
	for _, r := range b.entry.Records {
		if l, ok := r.(book.Lot); ok && strings.EqualFold(l.Code, lot) {
			return true // it was made just now
		}
	}
	return false
}

// linesOf are what a request says became of the stones of one lot, of which here
// were out.
func (b *workBatch) linesOf(x WorkLine, here int64) []book.BatchLine {
	rest := here - x.Broken.Pieces - x.Pieces - x.Set
	set, back := x.Set, book.Weighed{Pieces: x.Pieces, Carats: x.Carats}
	switch {
	case x.SetRest:
		set += rest
	case x.Rest:
		back.Pieces += rest
	}
	var out []book.BatchLine
	add := func(o book.Outcome, w book.Weighed, to book.Place) {
		if w.Pieces != 0 {
			out = append(out, book.BatchLine{Outcome: o, Weighed: w, To: to, Claim: o == book.Broken && b.partyBears()})
		}
	}
	add(book.Broken, x.Broken, "")
	add(book.Accepted, back, "")
	add(book.Placed, book.Weighed{Pieces: set}, b.inside)
	return out
}

// partyBears reports whether the party bears what broke.
func (b *workBatch) partyBears() bool { return b.Claim || b.ticket.Breakage == BearsParty }

// learn keeps what the loss rates learn from, lot by lot: what was set and broke in
// a position whose verdict is known.
func (b *workBatch) learn(ctx context.Context, room *Room) error {
	worked := 0
	for _, x := range b.Lines {
		var set, broken int64
		code := ""
		for _, l := range b.lines {
			if !strings.EqualFold(l.Lot, x.Lot) {
				continue
			}
			code = l.Lot
			switch l.Outcome {
			case book.Placed:
				set += l.Pieces
			case book.Broken:
				broken += l.Pieces
			}
		}
		spot := x.Spot
		if spot == (book.LineSpot{}) {
			spot = b.ticket.SpotOf(code)
		}
		key := ""
		if b.paper.Number != "" {
			if key = b.batch.RecordKey(); worked > 0 {
				key += "/" + code
			}
		}
		work, err := room.fitting.WorkOf(ctx, b.tx, book.Work{Number: key, Setter: b.paper.Party, Lot: code,
			Piece: b.inside.Name(), Set: set, Broken: broken, On: b.on}, spot)
		if err != nil {
			return err
		}
		if work != nil {
			b.record(work)
			worked++
		}
	}
	return nil
}

// receipt issues what came back as a paper; what came back before there were
// tickets has none.
func (b *workBatch) receipt(ctx context.Context, s desk.Stamp, out *answer.WorkMoved) error {
	if b.paper.Number == "" {
		return nil
	}
	model := &answer.WorkReceipt{Ticket: b.paper.Number, Batch: b.batch.Number, From: b.paper.Party, Piece: b.piece,
		Lines: []answer.WorkReceiptLine{}, Out: []answer.WorkReceiptLine{}, Accept: b.batch.Accept}
	for _, l := range b.lines {
		line := answer.WorkReceiptLine{Lot: l.Lot, Outcome: answer.WorkedWords[l.Outcome], Pieces: l.Pieces,
			Carats: max(l.Carats, 0), Claim: l.Claim, Note: l.Note}
		if l.Outcome == book.Placed {
			line.Note = "in " + l.To.Name()
		}
		model.Lines = append(model.Lines, line)
	}
	still, err := b.stillOn(ctx, b.paper)
	if err != nil {
		return err
	}
	for _, x := range still {
		model.Out = append(model.Out, answer.WorkReceiptLine{Lot: x.Lot, Outcome: "out", Pieces: x.Pieces,
			Carats: x.Carats})
	}
	doc, err := b.issue(ctx, s, desk.Draft{Kind: "RECEIPT", Title: fmt.Sprintf("Receipt %d of work ticket %s",
		b.batch.Number, b.paper.Number), Model: model})
	out.Document = answer.FileOf(doc)
	return err
}
