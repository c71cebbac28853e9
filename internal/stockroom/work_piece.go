package stockroom

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// takePiece finds or makes the piece that stones were set into. A piece without a
// lot, as older books have it, takes stones as before.
func (b *workBatch) takePiece(ctx context.Context) error {
	if !b.sets() {
		return nil
	}
	name := cmp.Or(b.Piece, b.ticket.Into)
	if name == "" && (b.ticket.Work == book.WorkMake || b.ticket.Design != "") {
		name = NewPiece
	}
	if f := book.CheckName("a piece", name); f != nil {
		return f.AtField("piece")
	}
	lot, err := store.Get[book.Lot](ctx, b.tx, name)
	switch {
	case err == nil && !lot.IsPiece():
		return fault.New(fault.Refused, "piece-stones", lot.Code+" is a lot of stones, not a finished piece",
			"name another").AtRef(lot.Code).AtField("piece")
	case err == nil:
		b.piece, b.inside = lot.Code, lot.Inside()
		return b.pieceInHand(ctx, lot.Code)
	case !errors.Is(err, store.ErrNotFound):
		return err
	}
	old, err := desk.StonesIn(ctx, b.tx, book.PlaceOf(book.AtPiece, name))
	if err != nil {
		return err
	}
	if len(old) > 0 {
		b.inside = book.PlaceOf(book.AtPiece, name)
		return nil
	}
	made, err := b.newPiece(ctx, name, b.jewel())
	if err != nil {
		return err
	}
	safe, err := b.madeIn(ctx, made.Code)
	if err != nil {
		return err
	}
	b.piece, b.inside = made.Code, made.Inside()
	b.lots = append(b.lots, made.Code)
	b.entry.Postings = append(b.entry.Postings, ledger.Move(made.Code, book.MadePiece, safe, 1, 0,
		num.Zero(b.tx.Meta().Currency))...)
	if b.Metal.Amount.IsZero() && b.Making.Amount.IsZero() {
		b.warnings.Add(fault.New(fault.Invalid, "piece-no-cost", made.Code+" has no cost of metal and making yet",
			"add them when they are invoiced").AtRef(made.Code).Do("charge", "add").AsWarning())
	}
	return nil
}

// madeIn is the safe that a new piece comes to: that of the office that is named,
// else the one that the stones set into it left.
func (b *workBatch) madeIn(ctx context.Context, piece string) (book.Place, error) {
	if b.office != "" {
		return b.office, nil
	}
	var found []book.Place
	for _, x := range b.Lines {
		if x.Set > 0 || x.SetRest {
			left, err := b.leftFrom(ctx, x.Lot, b.paper.Place, math.MaxInt64)
			if err != nil {
				return "", err
			}
			found = append(found, left...)
		}
	}
	return b.oneOffice(piece, "the stones of "+piece+" come", found)
}

// jewel is what is known of a new piece: as it is told, or by the ticket's design.
func (b *workBatch) jewel() book.Jewel {
	j := b.Jewel
	j.Design = cmp.Or(j.Design, b.ticket.Design)
	return j
}

// pieceInHand refuses to set stones into a piece that is somewhere else.
func (b *workBatch) pieceInHand(ctx context.Context, code string) error {
	s, err := desk.StockOf(ctx, b.tx, code)
	if err != nil {
		return err
	}
	if len(s.Places) == 0 {
		return fault.New(fault.Refused, "piece-elsewhere", code+" is not in the stock any more, so no stone was set "+
			"into it", "check the piece").AtRef(code).AtField("piece").Do("piece", "show", code)
	}
	if at := s.Places[0].Place; at != b.paper.Place && at.Kind() != book.AtOffice {
		return fault.New(fault.Refused, "piece-elsewhere", fmt.Sprintf("%s lies on %s, so no stone was set into it",
			code, at.Name()), "check the piece").AtRef(code).AtField("piece")
	}
	return nil
}

// newPiece adds the lot of a finished piece to the entry: with the next number, or
// with a code of the user's own.
func (m *mover) newPiece(ctx context.Context, code string, j book.Jewel) (book.Lot, error) {
	n, err := m.tx.Next(ctx, book.PieceSeries)
	if err != nil {
		return book.Lot{}, err
	}
	next := fmt.Sprintf("J%d", n)
	if series, _, numbered := book.Series(book.KindLot, code); numbered && series == book.PieceSeries &&
		!strings.EqualFold(code, next) {
		return book.Lot{}, fault.New(fault.Refused, "piece-number",
			fmt.Sprintf("there is no piece %s, and the next one is "+
				"%s", code, next), "write "+next+", or new").AtRef(code).AtField("piece")
	}
	if strings.EqualFold(code, NewPiece) || strings.EqualFold(code, next) {
		code = next
	}
	if f := book.CheckCode("a piece's", code); f != nil {
		return book.Lot{}, f.AtField("piece")
	}
	if j.Design != "" {
		d, err := designNamed(ctx, m.tx, j.Design)
		if err != nil {
			return book.Lot{}, err
		}
		j.Design, j.Is, j.Metal = d.RecordKey(), cmp.Or(j.Is, d.Piece), cmp.Or(j.Metal, d.Metal)
	}
	j.Since = cmp.Or(j.Since, m.on)
	lot := book.Lot{Code: code, Kind: book.PieceLot, Owner: book.Own, Jewel: &j}
	m.record(lot)
	return lot, nil
}

// whereIs is the place where a piece lies, as the entry leaves it so far.
func (m *mover) whereIs(ctx context.Context, piece string) (book.Place, error) {
	left := map[book.Place]int64{}
	held, err := m.tx.Balances(ctx, store.BalanceFilter{Lot: piece, RealOnly: true})
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return "", err
	}
	for _, b := range held {
		left[b.Place] += b.Pieces
	}
	for _, p := range m.entry.Postings {
		if p.Place.IsReal() && strings.EqualFold(p.Lot, piece) {
			left[p.Place] += p.Pieces
		}
	}
	for at, pieces := range left {
		if pieces > 0 {
			return at, nil
		}
	}
	return "", fault.New(fault.Refused, "piece-elsewhere", piece+" is not in the stock, so nothing adds to its cost",
		"book it as an expense outside this book").AtRef(piece)
}

// addCost puts a cost of a kind on a lot that lies at a place, and keeps it as a
// charge that a party bills; an empty party: nobody says.
func (m *mover) addCost(ctx context.Context, lot book.Lot, at book.Place, kind string, paid Paid, party,
	note string) error {
	if paid.Amount.IsZero() {
		return nil
	}
	if !lot.Owner.IsOwn() {
		return fault.New(fault.Refused, "charge-not-own", fmt.Sprintf("%s belongs to %s and carries no cost", lot.Code,
			lot.Owner), "bill the owner, or book it as an expense outside this book").AtRef(lot.Code).AtField(kind)
	}
	if paid.Amount.Sign() < 0 {
		return fault.New(fault.Invalid, "charge-amount", "a charge is more than 0",
			"give the amount without recoverable tax").AtField(kind)
	}
	in, err := m.paid(ctx, paid)
	if err != nil {
		return err
	}
	return m.putCost(ctx, lot, at, kind, in, party, note)
}

// inBoth is an amount in the book's currency and as it was billed.
type inBoth struct {
	amount  num.Money
	foreign *book.ForeignPrice // nil: it was billed in the book's
}

// paid turns what is paid into the book's currency, at its rate or that of the day.
func (m *mover) paid(ctx context.Context, p Paid) (inBoth, error) {
	rate, err := rateOn(ctx, m.tx, m.on, p.Amount.Currency(), p.Rate)
	if err != nil {
		return inBoth{}, err
	}
	amount, foreign, f := inBook(m.tx.Meta().Currency, p.Amount, rate)
	if f != nil {
		return inBoth{}, f
	}
	return inBoth{amount, foreign}, nil
}

// share divides an amount that was converted once.
func (x inBoth) share(weights []num.Dec) []inBoth {
	out := make([]inBoth, len(weights))
	for i, part := range x.amount.Share(weights) {
		out[i].amount = part
	}
	if x.foreign != nil {
		for i, part := range x.foreign.Amount.Share(weights) {
			out[i].foreign = &book.ForeignPrice{Amount: part, Rate: x.foreign.Rate}
		}
	}
	return out
}

// putCost puts a cost on a lot, and keeps it as a charge.
func (m *mover) putCost(ctx context.Context, lot book.Lot, at book.Place, kind string, paid inBoth, party,
	note string) error {
	n, err := m.tx.Next(ctx, string(book.KindCharge))
	if err != nil {
		return err
	}
	for _, r := range m.entry.Records {
		if r.RecordKind() == book.KindCharge {
			n++
		}
	}
	zero := num.Zero(m.tx.Meta().Currency)
	m.record(book.Charge{Code: fmt.Sprintf("C%d", n), Parcel: lot.Parcel, Lot: lot.Code, Kind: kind,
		Amount: paid.amount,
		Tax:    zero, Foreign: paid.foreign, Key: book.ByPieces, Variance: zero, On: m.on, Party: party, Note: note})
	if !paid.amount.IsZero() {
		m.entry.Postings = append(m.entry.Postings, ledger.Move(lot.Code, book.PlaceOf(book.AtCharge, kind), at, 0, 0,
			paid.amount)...)
	}
	return nil
}

// The kinds of charges that only a finished piece has.
const (
	metalCharge  = "metal"
	makingCharge = "making"
)

// pay books metal and making on the piece, and a laboratory's fee on its stones.
func (b *workBatch) pay(ctx context.Context) error {
	if b.Metal.Amount.Sign() != 0 || b.Making.Amount.Sign() != 0 {
		if b.piece == "" {
			return fault.New(fault.Usage, "cost-no-piece", "metal and making are the cost of a finished piece, but "+
				"none "+
				"came back", "name the piece").AtField("piece")
		}
		at, err := b.whereIs(ctx, b.piece)
		if err != nil {
			return err
		}
		piece, err := b.stockOf(ctx, b.piece)
		if err != nil {
			return err
		}
		lot := piece.Lot
		note := "work ticket " + b.paper.Number
		if err := b.addCost(ctx, lot, at, metalCharge, b.Metal, b.paper.Party, note); err != nil {
			return err
		}
		if err := b.addCost(ctx, lot, at, makingCharge, b.Making, b.paper.Party, note); err != nil {
			return err
		}
	}
	return b.payFee(ctx)
}

// payFee shares a laboratory's fee over the stones that came back, piece by piece:
// it belongs to the tested stones.
func (b *workBatch) payFee(ctx context.Context) error {
	if b.Fee.Amount.Sign() == 0 {
		return nil
	}
	if b.Fee.Amount.Sign() < 0 {
		return fault.New(fault.Invalid, "charge-amount", "a charge is more than 0",
			"give the amount without recoverable tax").AtField("fee")
	}
	var back []book.BatchLine
	var weights []num.Dec
	for _, l := range b.lines {
		if l.To.IsReal() {
			back, weights = append(back, l), append(weights, num.Int(l.Pieces))
		}
	}
	if len(back) == 0 {
		return fault.New(fault.Refused, "fee-nothing", "no stone came back that could carry the fee",
			"book it as an expense outside this book").AtField("fee")
	}
	fee, err := b.paid(ctx, b.Fee)
	if err != nil {
		return err
	}
	parts := fee.share(weights)
	for i, l := range back {
		lot, err := store.Get[book.Lot](ctx, b.tx, l.Lot)
		if err != nil {
			return err
		}
		if !lot.Owner.IsOwn() {
			return fault.New(fault.Refused, "fee-not-own", fmt.Sprintf("%s belongs to %s and carries no cost", lot.Code,
				lot.Owner), "ask the owner for the fee, or book it as an expense outside this book").AtRef(lot.Code).
				AtField("fee")
		}
		if err := b.putCost(ctx, lot, l.To, "laboratory", parts[i], b.paper.Party,
			"work ticket "+b.paper.Number); err != nil {
			return err
		}
	}
	return nil
}

// WorkReport is the report that a laboratory sent back with a stone.
type WorkReport struct {
	Report book.Report
	File   *desk.Input // the report itself; nil: none
}

// report keeps the laboratory's report on the one stone that came back.
func (b *workBatch) report(ctx context.Context, s desk.Stamp) error {
	if b.Report == nil {
		return nil
	}
	if len(b.lines) != 1 || b.lines[0].Outcome != book.Accepted {
		return fault.New(fault.Usage, "report-lot", "a report is of one stone, but more came back",
			"book the stones one by "+
				"one").AtField("report_number")
	}
	report := b.Report.Report
	report.Lot, report.Lab = b.lines[0].Lot, cmp.Or(report.Lab, b.paper.Party)
	report.Weight = cmp.Or(report.Weight, b.lines[0].Carats)
	kept, err := bench.KeepReport(ctx, b.tx, s, report, b.Report.File)
	if err != nil {
		return err
	}
	b.warnings = append(b.warnings, kept.Warnings...)
	b.record(kept.Report)
	b.record(kept.Lot)
	b.lots = append(b.lots, kept.Lot.Code)
	return nil
}
