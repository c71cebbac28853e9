package stockroom

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OrderReceive asks to book what a cutter made of one supplied lot.
type OrderReceive struct {
	desk.Write
	Number  string
	Lot     string    // the supplied lot
	Pieces  int64     // cut stones that came back
	Carats  num.Carat // their weight
	Broken  int64     // pieces that broke
	Uncut   Moving    // of the same lot, unsuitable and returned uncut
	Shape   string
	Length  book.Size
	Width   book.Size
	Depth   book.Size
	Accept  string // why a size or a yield outside what was ordered is accepted
	Remarks string // the cutter's own
	Last    bool   // the order is done
}

// OrderReceive books a cutting: the cut stones are a new lot that keeps the
// cost of what was cut, the weight lost goes to loss/cutting, and their
// identity falls back to what is stated until they are tested again.
func (room *Room) OrderReceive(ctx context.Context, r OrderReceive) (answer.OrderReceived, error) {
	var out answer.OrderReceived
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		o, err := sentOrder(ctx, tx, r.Number)
		if err != nil {
			return err
		}
		out, err = receive(ctx, tx, s, o, r)
		return err
	})
	return out, err
}

// sentOrder reads an order that is out at its cutter.
func sentOrder(ctx context.Context, tx store.ReadTx, number string) (book.Order, error) {
	o, err := desk.Named[book.Order](ctx, tx, number)
	if err != nil {
		return o, err
	}
	if o.State != "sent" {
		return o, fault.New(fault.Refused, "order-state", fmt.Sprintf("order %s is %s, not sent", o.Number, o.State),
			"send it first").AtRef(o.Number).Do("order", "send", o.Number)
	}
	return o, nil
}

// receive posts what came back of one supplied lot.
func receive(ctx context.Context, tx store.Tx, s desk.Stamp, o book.Order, r OrderReceive) (answer.OrderReceived,
	error) {
	from := o.Place()
	lot, there, err := lotAt(ctx, tx, r.Lot, from)
	if err != nil {
		return answer.OrderReceived{}, err
	}
	e := s.Entry(ledger.Cut, "cut under "+o.Number)
	if r.Remarks != "" {
		e.Reason += "; the cutter says: " + r.Remarks
	}
	if r.Accept != "" {
		e.Reason += "; accepted: " + r.Accept
	}
	cut, faults := r.cut(tx.Meta().Currency, lot, there, from)
	if faults.Blocks() {
		return answer.OrderReceived{}, faults
	}
	if r.Accept == "" {
		if faults := r.asOrdered(o, there); faults.Blocks() {
			return answer.OrderReceived{}, faults
		}
	}
	child, err := childrenOf(ctx, tx, lot.Lot)
	if err != nil {
		return answer.OrderReceived{}, err
	}
	made := r.cutLot(child(book.Lot{Shape: r.Shape}))
	for i := range cut {
		if cut[i].Lot == "" {
			cut[i].Lot = made.Code
		}
	}
	e.Postings = cut
	if r.Last {
		o.State = "received"
	}
	e.Records = []book.Record{made, o}
	n, err := tx.Next(ctx, book.BatchSeries(o.Number))
	if err != nil {
		return answer.OrderReceived{}, err
	}
	e.Records = append(e.Records, book.Batch{Paper: o.Number, Number: n, Party: o.Cutter, On: s.On,
		Lines: r.lines(lot.Code, made.Code, there), Accept: r.Accept, Note: r.Remarks})
	moved, err := post(ctx, tx, &e, made.Code)
	return answer.OrderReceived{Moved: moved, Order: o}, err
}

// lines are what became of a supplied lot.
func (r *OrderReceive) lines(lot, made string, there ledger.Balance) []book.BatchLine {
	used := book.Weighed{Pieces: there.Pieces - r.Uncut.Pieces - r.Broken, Carats: there.Carats - r.Uncut.Carats}
	out := []book.BatchLine{{Lot: lot, Outcome: book.Accepted, Weighed: book.Weighed{Pieces: r.Pieces,
		Carats: r.Carats},
		Off: used, Into: made, To: book.Safe, Length: r.Length, Width: r.Width, Depth: r.Depth}}
	if r.Broken > 0 {
		w := book.Weighed{Pieces: r.Broken}
		out = append(out, book.BatchLine{Lot: lot, Outcome: book.Broken, Weighed: w, Off: w, To: book.LossBreakage})
	}
	if r.Uncut.Pieces > 0 {
		w := book.Weighed{Pieces: r.Uncut.Pieces, Carats: r.Uncut.Carats}
		out = append(out, book.BatchLine{Lot: lot, Outcome: book.Unworked, Weighed: w, Off: w, To: book.Safe})
	}
	return out
}

// shapeOf is the shape that an item of an order asks for.
func shapeOf(o book.Order, item string) string {
	for i, l := range o.Lines {
		if itemName(i) == item {
			return l.Shape
		}
	}
	return ""
}

// asOrdered compares what came back with what was ordered: the size within the
// tolerance of a line of that shape, and the yield at least the least one.
func (r *OrderReceive) asOrdered(o book.Order, there ledger.Balance) fault.List {
	var l fault.List
	const mend = "measure and weigh again; if it is right, say why it is accepted"
	var sizes []string
	fits := false
	var least num.Percent
	for _, line := range o.Lines {
		least = line.MinYield
		if r.Shape != "" && !strings.EqualFold(r.Shape, line.Shape) {
			continue
		}
		within := func(got book.Size, want num.Millimetre) bool {
			return got.Max == 0 || want == 0 || got.Min >= want-line.Tolerance && got.Max <= want+line.Tolerance
		}
		sizes = append(sizes, fmt.Sprintf("%s %s x %s mm +/- %s", line.Shape, line.Length, line.Width, line.Tolerance))
		fits = fits || within(r.Length, line.Length) && within(r.Width, line.Width)
	}
	switch {
	case len(o.Lines) == 0: // an order in words asks for no size
	case len(sizes) == 0:
		l.Add(fault.New(fault.Refused, "receive-shape", fmt.Sprintf("order %s asks for no %s", o.Number, r.Shape),
			mend).AtRef(o.Number).AtField("accept"))
	case !fits:
		l.Add(fault.New(fault.Refused, "receive-size",
			fmt.Sprintf("the cut stones are %s x %s mm, but the order asks for %s", r.Length, r.Width,
				strings.Join(sizes, "; ")), mend).AtRef(o.Number).AtField("accept"))
	}
	if cut := there.Carats - r.Uncut.Carats; least.Sign() > 0 && cut > 0 && r.Carats > 0 {
		if yield := num.PercentOf(r.Carats.Dec(), cut.Dec(), 1); yield.Cmp(least.Dec) < 0 {
			l.Add(fault.New(fault.Refused, "receive-yield",
				fmt.Sprintf("%s ct of %s ct are a yield of %s %%, but the order asks for at least %s %%", r.Carats, cut,
					yield, least), mend).AtRef(o.Number).AtField("accept"))
		}
	}
	return l
}

// cut makes the postings of a cutting; those of the new lot have no lot yet.
func (r *OrderReceive) cut(currency num.Currency, lot answer.StockLot, there ledger.Balance,
	from book.Place) ([]ledger.Posting, fault.List) {
	var l fault.List
	used := there.Pieces - r.Uncut.Pieces
	weight := there.Carats - r.Uncut.Carats
	cost := there.Cost
	zero := num.Zero(currency)
	var out []ledger.Posting
	switch {
	case r.Pieces <= 0 || r.Carats <= 0:
		l.Add(fault.New(fault.Usage, "receive-nothing", "cut stones have pieces and weight",
			"give both; if all broke, book the breakage").AtField("pieces").Do("lot", "adjust"))
	case r.Uncut.Pieces > 0 && (r.Uncut.Carats <= 0 || r.Uncut.Pieces >= there.Pieces):
		l.Add(fault.New(fault.Usage, "receive-uncut", "what comes back uncut is a weighed part of the lot",
			"give its pieces and its carats").AtField("uncut"))
	case r.Broken > used:
		l.Add(fault.New(fault.Refused, "receive-broken", fmt.Sprintf("%d broke, but only %d were cut", r.Broken, used),
			"count again").AtRef(lot.Code))
	case r.Carats > weight:
		l.Add(fault.New(fault.Refused, "receive-heavier",
			fmt.Sprintf("the cut stones weigh %s ct, but only %s ct were cut: stones get switched", r.Carats, weight),
			"weigh and test again before accepting anything").AtRef(lot.Code))
	}
	if l.Blocks() {
		return nil, l
	}
	if r.Uncut.Pieces > 0 {
		part, f := ledger.Take(lot.Places, from, r.Uncut.Pieces, r.Uncut.Carats)
		if f != nil {
			return nil, fault.List{f}
		}
		out = append(out, ledger.Move(lot.Code, from, book.Safe, r.Uncut.Pieces, r.Uncut.Carats, part)...)
		cost = cost.Sub(part)
	}
	out = append(out,
		ledger.Posting{Lot: lot.Code, Place: from, Pieces: -used, Carats: -weight, Cost: cost.Neg()},
		ledger.Posting{Place: book.Safe, Pieces: r.Pieces, Carats: r.Carats, Cost: cost},
		ledger.Posting{Lot: lot.Code, Place: book.LossCutting, Carats: weight - r.Carats, Cost: zero})
	if r.Broken > 0 {
		out = append(out, ledger.Posting{Lot: lot.Code, Place: book.LossBreakage, Pieces: r.Broken, Cost: zero})
	}
	if made := r.Pieces + r.Broken - used; made != 0 { // one rough gave several stones, or several were lost to one
		out = append(out, ledger.Posting{Lot: lot.Code, Place: book.MadeCutting, Pieces: -made, Cost: zero})
	}
	return out, nil
}

// cutLot is a child of the supplied lot as it was cut: cut stones are nobody's
// tested stones any more, and an old size is no size of theirs.
func (r *OrderReceive) cutLot(made book.Lot) book.Lot {
	made.Length, made.Width, made.Depth = r.Length, r.Width, r.Depth
	made.Stone, made.Tags = "", nil
	for _, f := range []*book.Facet{&made.Facets.Species, &made.Facets.Nature, &made.Facets.Treatment,
		&made.Facets.Origin} {
		*f = book.StatedFacet(f.Value)
	}
	return made
}
