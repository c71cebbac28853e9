package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// StockMove asks to send lots from one office to another.
type StockMove struct {
	Movement
	From book.Place // the safe that they leave; empty: the one where they lie
	To   book.Place // the safe of the other office
	Due  book.Date
	Lots []Moving
	Note string
}

// StockMove sends lots to another office: until they are received they lie on the
// transfer's paper. They stay held for whom they are held.
func (room *Room) StockMove(ctx context.Context, r StockMove) (answer.TransferMoved, error) {
	var out answer.TransferMoved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		n, err := tx.Next(ctx, string(book.KindTransfer))
		if err != nil {
			return err
		}
		number := fmt.Sprintf("T%d", n)
		e := s.Entry(ledger.Issue, "")
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		m.keepHolds = true
		to, f := officeNamed(m.config, r.To)
		if f != nil {
			return f
		}
		if e.Reason = s.Reason; e.Reason == "" {
			e.Reason = "transfer " + number + " to " + string(to)
		}
		t := book.Transfer{Number: number, To: to, On: s.On, Due: r.Due, At: book.PaperPlace(number), Note: r.Note}
		from := r.From
		if from == "" {
			from = book.Safe
		}
		if from.Kind() != book.AtOffice {
			return fault.New(fault.Usage, "transfer-from", "a transfer leaves a safe, not "+string(from),
				"name the office").AtField("from")
		}
		if t.Sent, err = m.carry(ctx, from, t.At, r.Lots...); err != nil {
			return err
		}
		for _, l := range t.Sent {
			if l.From == to || l.From == "" && to == book.Safe {
				return fault.New(fault.Refused, "transfer-there", l.Lot+" lies in "+string(to)+" already",
					"see where it is").AtRef(l.Lot).AtField("to").Do("lot", "show", l.Lot)
			}
		}
		m.record(t)
		note, err := transferNote(ctx, tx, t)
		if err != nil {
			return err
		}
		doc, err := m.issue(ctx, s, desk.Draft{Kind: "TRANSFER", Title: "Transfer " + number + " to " + to.Words(),
			Model: note})
		if err != nil {
			return err
		}
		file := answer.FileOf(doc)
		out.Document = &file
		out.Moved, err = m.post(ctx)
		return m.showTransfer(ctx, &out.Transfer, number, err)
	})
	return out, err
}

// officeNamed is the safe of an office as the book spells it.
func officeNamed(c config.Config, place book.Place) (book.Place, *fault.Fault) {
	var names []string
	for _, safe := range c.Safes() {
		if strings.EqualFold(string(safe), string(place)) || strings.EqualFold(safe.Name(), string(place)) {
			return safe, nil
		}
		names = append(names, string(safe))
	}
	what := fmt.Sprintf("%q is no office of the book, which has %s", place, strings.Join(names, ", "))
	mend := fault.DidYouMean(string(place), names)
	if mend == "" {
		mend = "name one of them, or add it to the setting offices"
	}
	return "", fault.New(fault.Usage, "office-unknown", what, mend).AtField("to").Do("config", "show")
}

// transferNote is what stands on the paper of a transfer.
func transferNote(ctx context.Context, tx store.ReadTx, t book.Transfer) (*answer.TransferNote, error) {
	note := &answer.TransferNote{Transfer: t.Number, To: t.To, Due: t.Due, Note: t.Note,
		Lots: []answer.TransferLot{}}
	for _, l := range t.Sent {
		lot, err := store.Get[book.Lot](ctx, tx, l.Lot)
		if err != nil {
			return nil, err
		}
		from := l.From
		if from == "" {
			from = book.Safe
		}
		note.Lots = append(note.Lots, answer.TransferLot{Lot: lot.Code, Name: lot.Called(), From: from,
			Shape: lot.Shape, Size: answer.SizeWords(lot), Pieces: l.Pieces, Carats: l.Carats})
	}
	return note, nil
}

// showTransfer reads a transfer as the entry left it.
func (m *mover) showTransfer(ctx context.Context, to *answer.Transfer, number string, err error) error {
	if err != nil {
		return err
	}
	t, err := store.Get[book.Transfer](ctx, m.tx, number)
	if err != nil {
		return err
	}
	p, _ := desk.PaperOf(&t)
	*to, err = transferAnswer(ctx, m.tx, desk.Moment{}, p, m.on)
	return err
}

// transferAnswer is a transfer with what is still under way on it.
func transferAnswer(ctx context.Context, tx store.ReadTx, then desk.Moment, p desk.Paper,
	today book.Date) (answer.Transfer, error) {
	t, err := store.Get[book.Transfer](ctx, tx, p.Number)
	if err != nil {
		return answer.Transfer{}, err
	}
	held, err := then.OnPaper(ctx, tx, p)
	out := answer.Transfer{Number: t.Number, To: t.To, State: answer.StateOf(p.Void, len(held)), On: t.On, Due: t.Due,
		Lots: answer.Still(held), Note: t.Note}
	if out.State == "out" && t.Due != "" && today > t.Due {
		out.Overdue = today.DaysSince(t.Due)
	}
	return out, err
}

// openTransfer reads a transfer on which something is under way.
func openTransfer(ctx context.Context, tx store.ReadTx, number string) (book.Transfer, []ledger.Balance, error) {
	p, err := desk.PaperNamed(ctx, tx, book.KindTransfer, "transfer", number)
	if err != nil {
		return book.Transfer{}, nil, err
	}
	t, err := store.Get[book.Transfer](ctx, tx, p.Number)
	if err != nil {
		return t, nil, err
	}
	held, err := desk.OnPaper(ctx, tx, p)
	if err == nil && len(held) == 0 {
		err = fault.New(fault.Refused, "transfer-closed", "transfer "+t.Number+" is closed: nothing is under way on it",
			"list the open ones").AtRef(t.Number).Do("stock", "move")
	}
	return t, held, err
}

// StockReceive asks to book what arrived of a transfer.
type StockReceive struct {
	Movement
	Number string
	Lots   []Moving // as counted and weighed
}

// StockReceive books what arrived of a transfer, as a batch of it: what is missing
// stays on its paper.
func (room *Room) StockReceive(ctx context.Context, r StockReceive) (answer.TransferMoved, error) {
	var out answer.TransferMoved
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		t, _, err := openTransfer(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		var lines []book.BatchLine
		for _, lot := range r.Lots {
			lines = append(lines, book.BatchLine{Lot: lot.Lot, Outcome: book.Accepted,
				Weighed: book.Weighed{Pieces: lot.Pieces, Carats: lot.Carats}})
		}
		e := s.Entry(ledger.Return, "received of transfer "+t.Number+" at "+string(t.To))
		return room.endTransfer(ctx, tx, s, r.Movement, &e, t, "", lines, &out)
	})
	return out, err
}

// endTransfer books what became of stones that were under way; the party owes what
// is claimed.
func (room *Room) endTransfer(ctx context.Context, tx store.Tx, s desk.Stamp, how Movement, e *ledger.Entry,
	t book.Transfer, party string, lines []book.BatchLine, out *answer.TransferMoved) error {
	m, err := newMover(ctx, tx, s, how, e)
	if err != nil {
		return err
	}
	m.office = t.To
	var all []book.BatchLine
	for _, l := range lines {
		done, err := m.bring(ctx, t.At, l.Lot, []book.BatchLine{l})
		if err != nil {
			return err
		}
		all = append(all, done...)
	}
	if err := m.claims(ctx, t.Number, party); err != nil {
		return err
	}
	batch, err := m.batch(ctx, t.Number, "", all)
	if err != nil {
		return err
	}
	m.record(batch)
	receipt, err := m.transferReceipt(ctx, t, batch)
	if err != nil {
		return err
	}
	doc, err := m.issue(ctx, s, desk.Draft{Kind: "RECEIPT", Title: receiptTitle(batch), Model: receipt})
	if err != nil {
		return err
	}
	file := answer.FileOf(doc)
	out.Document = &file
	out.Moved, err = m.post(ctx)
	return m.showTransfer(ctx, &out.Transfer, t.Number, err)
}

// transferReceipt says what arrived of a transfer, or what became of the rest, and
// what is still under way.
func (m *mover) transferReceipt(ctx context.Context, t book.Transfer, batch book.Batch) (*answer.Receipt, error) {
	var claims []book.Claim
	for _, r := range m.entry.Records {
		if c, is := r.(book.Claim); is {
			claims = append(claims, c)
		}
	}
	p, _ := desk.PaperOf(&t)
	p.Party = t.To.Words()
	receipt, err := m.receiptOf(ctx, p, batch, claims)
	if err != nil {
		return nil, err
	}
	receipt.Way = answer.Arrived
	for i := range receipt.Lines {
		l := &receipt.Lines[i]
		if l.Outcome == string(book.Accepted) {
			l.Outcome = string(answer.Arrived)
		}
		for _, c := range claims {
			if c.Lot == l.Lot {
				l.Note = strings.Trim("owed by "+c.Party+"; "+l.Note, "; ")
			}
		}
	}
	return receipt, nil
}

// StockClose asks to close a transfer whose stones did not all arrive.
type StockClose struct {
	Movement
	Number string
	Claim  bool   // their cost is claimed; else it is a loss
	Party  string // whom it is claimed from: the carrier, or the insurer
}

// StockClose books what is missing of a transfer: a loss of the day, or a claim.
func (room *Room) StockClose(ctx context.Context, r StockClose) (answer.TransferMoved, error) {
	var out answer.TransferMoved
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a transfer is closed with a reason", "say why").
			AtField("reason")
	}
	if r.Claim == (r.Party == "") {
		return out, fault.New(fault.Usage, "claim-party", "a claim is against a party, and a loss is against none",
			"name the carrier or the insurer that owes the claim").AtField("party")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		t, held, err := openTransfer(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		if r.Claim {
			if r.Party, err = desk.PartyOf(ctx, tx, "a party", r.Party); err != nil {
				return err
			}
		}
		var lines []book.BatchLine
		for _, b := range held {
			lines = append(lines, book.BatchLine{Lot: b.Lot, Outcome: book.Missing, Claim: r.Claim,
				Weighed: book.Weighed{Pieces: b.Pieces, Carats: b.Carats}})
		}
		e := s.Entry(ledger.Lose, "")
		return room.endTransfer(ctx, tx, s, r.Movement, &e, t, r.Party, lines, &out)
	})
	return out, err
}

// TransferList asks for the transfers.
type TransferList struct {
	desk.AsOf
	All bool // also the closed ones and those that are void
}

// TransferList lists the transfers, overdue ones first. Of a past moment, what lay on
// them then counts.
func (room *Room) TransferList(ctx context.Context, r TransferList) (answer.Transfers, error) {
	out := answer.Transfers{Transfers: []answer.Transfer{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Transfers"); err != nil {
			return err
		}
		then, err := r.Moment(ctx, tx)
		if err != nil {
			return err
		}
		out.AsOf = then.Answer
		return then.EachPaper(ctx, tx, store.RowFilter{}, func(p desk.Paper) error {
			if p.Kind != book.KindTransfer {
				return nil
			}
			x, err := transferAnswer(ctx, tx, then, p, room.desk.Today(tx, then.Day()))
			if r.All || x.State == "out" {
				out.Transfers = append(out.Transfers, x)
			}
			return err
		})
	})
	slices.SortStableFunc(out.Transfers, func(a, b answer.Transfer) int { return cmp.Compare(b.Overdue, a.Overdue) })
	return out, err
}
