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
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// WorkOut asks to give lots, or finished pieces, to a setter, a goldsmith or a
// laboratory.
type WorkOut struct {
	Movement
	Party    string
	Due      book.Date
	From     book.Place // the safe that they leave; empty: the one where each lot lies
	Lots     []Moving
	Work     book.WorkKind // empty: set
	Into     string        // the finished piece that they are set into: it goes out with them
	Design   string        // LINE/DESIGN that a piece is made by
	Spots    []book.TicketSpot
	Setting  string // without a design: what they are set in
	Is       string // without a design: ring, pendant ...
	Breakage string // who bears it: BearsDealer or BearsParty; empty: the dealer
	Note     string
}

// Who bears the breakage.
const (
	BearsDealer = "dealer"
	BearsParty  = "party"
)

// WorkOut gives lots out on a work ticket, which is issued with the entry. Its paper
// says what goes where, the order of the work, what breaks the stones and what of
// them can hurt people.
func (room *Room) WorkOut(ctx context.Context, r WorkOut) (answer.WorkMoved, error) {
	out := answer.WorkMoved{Pieces: []answer.Piece{}}
	if f := r.check(); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		var err error
		if r.Party, err = desk.PartyOf(ctx, tx, "a setter", r.Party); err != nil {
			return err
		}
		n, err := tx.Next(ctx, string(book.KindWork))
		if err != nil {
			return err
		}
		number := fmt.Sprintf("W%d", n)
		ticket := book.Ticket{Number: number, Party: r.Party, On: s.On, Due: r.Due, At: book.PaperPlace(number),
			Work: r.Work, Design: r.Design, Setting: r.Setting, Breakage: r.Breakage, Note: r.Note}
		e := s.Entry(ledger.Issue, "out on work ticket "+number+" to "+r.Party)
		move := r.Movement
		move.For = cmp.Or(move.For, r.Design)
		m, err := newMover(ctx, tx, s, move, &e)
		if err != nil {
			return err
		}
		lots, err := r.withPiece(ctx, tx, &ticket)
		if err != nil {
			return err
		}
		if ticket.Spots, err = r.spots(ctx, m); err != nil {
			return err
		}
		from, err := leaves(r.From)
		if err != nil {
			return err
		}
		if ticket.Sent, err = m.carry(ctx, from, ticket.At, lots...); err != nil {
			return err
		}
		model, err := room.ticketModel(ctx, tx, ticket, r.Is)
		if err != nil {
			return err
		}
		doc, err := m.issue(ctx, s, desk.Draft{Kind: "TICKET", Title: "Work ticket " + number, Model: model})
		if err != nil {
			return err
		}
		ticket.Document = doc.Number
		m.record(ticket)
		out.Moved, err = m.post(ctx)
		out.Document = answer.FileOf(doc)
		for _, x := range model.Stones {
			for _, words := range answer.HazardWords(x.People) {
				out.Warnings.Add(fault.New(fault.Refused, "people-hazard", words,
					"tell whoever works on it; local rules "+
						"come first").AtRef(x.Lot).AsWarning())
			}
		}
		return m.showTicket(ctx, &out.Ticket, number, err)
	})
	return out, err
}

// check returns the fault of a request that names what no ticket has.
func (r *WorkOut) check() *fault.Fault {
	r.Work, r.Breakage = cmp.Or(r.Work, book.WorkSet), cmp.Or(r.Breakage, BearsDealer)
	if !slices.Contains(book.WorkKinds, string(r.Work)) {
		return fault.New(fault.Usage, "work-kind", fmt.Sprintf("%q is no kind of work", r.Work),
			cmp.Or(fault.DidYouMean(string(r.Work), book.WorkKinds), "write "+strings.Join(book.WorkKinds, ", "))).
			AtField("kind")
	}
	if r.Breakage != BearsDealer && r.Breakage != BearsParty {
		return fault.New(fault.Usage, "work-breakage",
			fmt.Sprintf("the breakage is borne by the dealer or the party, but "+
				"not by %q", r.Breakage), "write dealer or party").AtField("breakage")
	}
	if r.Into != "" && r.Design != "" {
		return fault.New(fault.Usage, "work-what", "stones go into a piece that there is, or into one that is made "+
			"by a "+
			"design", "name one of them").AtField("into")
	}
	if r.Design == "" && len(r.Spots) > 0 {
		return fault.New(fault.Usage, "work-spot", "a position belongs to a design", "name the design").
			AtField("design")
	}
	if r.Setting != "" {
		if _, f := facts.SettingNamed(r.Setting); f != nil {
			return f.AtField("setting")
		}
	}
	if r.Is != "" {
		if _, f := facts.PieceNamed(r.Is); f != nil {
			return f.AtField("is")
		}
	}
	return nil
}

// withPiece are the lots that go out: the piece that stones are set into goes with
// them.
func (r *WorkOut) withPiece(ctx context.Context, tx store.ReadTx, t *book.Ticket) ([]Moving, error) {
	lots := slices.Clone(r.Lots)
	if r.Into == "" {
		return lots, nil
	}
	piece, err := desk.PieceOf(ctx, tx, r.Into)
	if err != nil {
		return nil, err
	}
	t.Into = piece.Code
	if !slices.ContainsFunc(lots, func(m Moving) bool { return strings.EqualFold(m.Lot, piece.Code) }) {
		lots = append(lots, Moving{Lot: piece.Code})
	}
	return lots, nil
}

// spots are the positions that lots are for: those that are named, those that they
// are held for, or the only one of the design.
func (r *WorkOut) spots(ctx context.Context, m *mover) ([]book.TicketSpot, error) {
	if r.Design == "" {
		return nil, nil
	}
	d, err := designNamed(ctx, m.tx, r.Design)
	if err != nil {
		return nil, err
	}
	var out []book.TicketSpot
	for _, x := range r.Lots {
		lot, err := desk.Named[book.Lot](ctx, m.tx, x.Lot)
		if err != nil {
			return nil, err
		}
		if lot.IsPiece() {
			continue
		}
		position, err := r.positionOf(ctx, m, d, lot.Code)
		if err != nil {
			return nil, err
		}
		if position != "" {
			out = append(out, book.TicketSpot{Lot: lot.Code, Position: position})
		}
	}
	for _, s := range r.Spots {
		if !slices.ContainsFunc(r.Lots, func(x Moving) bool { return strings.EqualFold(x.Lot, s.Lot) }) {
			return nil, fault.New(fault.Usage, "work-spot", s.Lot+" has a position, but does not go out",
				"name it among the lots").AtRef(s.Lot).AtField("spot")
		}
	}
	return out, nil
}

// positionOf is the position of a design that a lot is for; empty: nobody says.
func (r *WorkOut) positionOf(ctx context.Context, m *mover, d book.Design, lot string) (string, error) {
	for _, s := range r.Spots {
		if !strings.EqualFold(s.Lot, lot) {
			continue
		}
		for i, p := range d.Positions {
			if name := book.PositionName(p, i); strings.EqualFold(name, s.Position) {
				return name, nil
			}
		}
		return "", fault.New(fault.NotFound, "position-unknown", fmt.Sprintf("the design %s has no position %q",
			d.Name, s.Position), "see the line").AtField("spot").Do("line", "show", d.Line)
	}
	if len(d.Positions) == 1 {
		return book.PositionName(d.Positions[0], 0), nil
	}
	holds, err := desk.HoldsOn(ctx, m.tx, lot, m.on)
	if err != nil {
		return "", err
	}
	for _, h := range holds {
		for i, p := range d.Positions {
			if name := book.PositionName(p, i); strings.EqualFold(h.For, d.RecordKey()+"/"+name) {
				return name, nil
			}
		}
	}
	return "", nil
}

// designNamed reads the design that LINE/DESIGN names.
func designNamed(ctx context.Context, tx store.ReadTx, name string) (book.Design, error) {
	d, err := store.Get[book.Design](ctx, tx, name)
	if err != nil {
		line, _, _ := strings.Cut(name, "/")
		if _, known := desk.Named[book.Line](ctx, tx, line); known != nil {
			return d, known
		}
		return d, fault.New(fault.NotFound, "design-unknown", fmt.Sprintf("there is no design %q in this book", name),
			"name it as LINE/DESIGN; see the line").AtField("design").Do("line", "show", line)
	}
	return d, nil
}

// showTicket reads a ticket as the entry left it.
func (m *mover) showTicket(ctx context.Context, to *answer.Ticket, number string, err error) error {
	if err != nil || number == "" {
		return err
	}
	p, err := desk.PaperNamed(ctx, m.tx, book.KindTicket, "work", number)
	if err != nil {
		return err
	}
	*to, err = ticketAnswer(ctx, m.tx, desk.Moment{}, p, m.on)
	return err
}

// ticketAnswer is a ticket with what was still out on it at a moment.
func ticketAnswer(ctx context.Context, tx store.ReadTx, then desk.Moment, p desk.Paper, on book.Date) (answer.Ticket,
	error) {
	t, err := store.Get[book.Ticket](ctx, tx, p.Number)
	if err != nil {
		return answer.Ticket{}, err
	}
	held, err := then.OnPaper(ctx, tx, p)
	out := answer.Ticket{Number: p.Number, Party: p.Party, Work: string(cmp.Or(t.Work, book.WorkSet)), Into: t.Into,
		Design: t.Design, State: answer.StateOf(p.Void, len(held)), On: p.On, Due: p.Due, Lots: answer.Still(held),
		Note: t.Note, Document: t.Document}
	if out.State == "out" && p.Due != "" && p.Due < on {
		out.Overdue = on.DaysSince(p.Due)
	}
	return out, err
}

// ticketModel words a ticket for whoever does the work.
func (room *Room) ticketModel(ctx context.Context, tx store.ReadTx, t book.Ticket, is string) (*answer.WorkTicket,
	error) {
	m := &answer.WorkTicket{Ticket: t.Number, To: t.Party, Work: string(t.Work), Due: t.Due, Design: t.Design,
		Stones: []answer.TicketStone{}, Note: t.Note,
		Breakage: "in the normal run of the work borne by the dealer"}
	if t.Breakage == BearsParty {
		m.Breakage = "borne by " + t.Party
	}
	if t.Design != "" {
		d, err := designNamed(ctx, tx, t.Design)
		if err != nil {
			return nil, err
		}
		m.Made = answer.DesignWords(d)
	}
	named := fitting.Situation{Setting: t.Setting, Piece: is}
	if t.Into != "" {
		piece, err := desk.PieceOf(ctx, tx, t.Into)
		if err != nil {
			return nil, err
		}
		m.Into = answer.PieceWords(piece.Lot)
		named.Piece = cmp.Or(is, pieceKnown(piece.Jewel.Is))
	}
	add := func(code string, pieces int64, s book.Sent, in string) error {
		lot, err := desk.StockOf(ctx, tx, code)
		if err != nil {
			return err
		}
		x := answer.TicketStone{Lot: lot.Code, Material: lot.Called(), Treatment: lot.Facets.Treatment.Value,
			Shape: lot.Shape, Size: answer.SizeWords(lot.Lot), Pieces: pieces, Carats: s.Carats, In: in,
			Piece: lot.IsPiece(), StoneAtWork: answer.NoWork()}
		if x.Piece {
			x.Material = answer.PieceWords(lot.Lot)
		} else if t.Work == book.WorkLaboratory {
			known, err := room.fitting.AtWork(ctx, tx, code, book.LineSpot{}, fitting.Situation{})
			if err != nil {
				return err
			}
			x.People = known.People
		} else if x.StoneAtWork, err = room.fitting.AtWork(ctx, tx, code, t.SpotOf(lot.Code), named); err != nil {
			return err
		}
		if in != "" { // it is set already
			x.Order = []string{}
		}
		m.Stones = append(m.Stones, x)
		return nil
	}
	for _, s := range t.Sent {
		if err := add(s.Lot, s.Pieces, s, ""); err != nil {
			return nil, err
		}
		inside, err := desk.StonesIn(ctx, tx, book.PlaceOf(book.AtPiece, s.Lot))
		if err != nil {
			return nil, err
		}
		for _, b := range inside {
			if err := add(b.Lot, b.Pieces, book.Sent{Carats: b.Carats}, s.Lot); err != nil {
				return nil, err
			}
		}
	}
	m.Plan()
	return m, nil
}

// pieceKnown is a kind of piece when the facts know it.
func pieceKnown(is string) string {
	if _, f := facts.PieceNamed(is); f != nil {
		return ""
	}
	return is
}
