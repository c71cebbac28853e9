package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Came is what came back of one item of an order.
type Came = intake.Came

// OrderReceive asks to book what came back of an order: what is given by hand, or
// the sheet that the cutter filled in.
type OrderReceive struct {
	Movement
	Number   string
	Came     []Came
	File     *desk.Input
	Claim    bool      // the cost of what broke is claimed from the cutter, whatever the order says
	Price    num.Money // of the stones bought, in all; zero: by the bid that was taken
	Charge   num.Money // the cutter's, for what was cut; zero: none
	Freight  num.Money // that the cutter bills for what came; zero: none
	Rate     num.Rate  // book units per unit of their currency; zero: the rates table's of the day
	RoughNRV num.Money // of the rough left over, which takes it out of the cost first; zero: rough has no cost
}

// OrderReceive books what came back of an order as one numbered batch, with its
// receipt. Stones that were cut are a new lot that keeps the cost of what was cut,
// the weight lost goes to loss/cutting, and their identity falls back to what is
// stated until they are tested again. What no line names stays out. Stones that
// the cutter supplied are bought.
func (room *Room) OrderReceive(ctx context.Context, r OrderReceive) (answer.OrderReceived, error) {
	var out answer.OrderReceived
	warnings, err := r.read()
	if err != nil {
		return out, err
	}
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		c, err := room.newReceipt(ctx, tx, s, r.Movement, r.Number)
		if err != nil {
			return err
		}
		c.claim = c.order.Claims || r.Claim
		if c.sheet, err = c.sheetOf(r.Came); err != nil {
			return err
		}
		if err := c.stillOpen(ctx); err != nil {
			return err
		}
		if err := c.items(r.Came); err != nil {
			return err
		}
		if err := c.keepNRV(r); err != nil {
			return err
		}
		if err := c.bringLots(ctx, r.Came); err != nil {
			return err
		}
		c.counts(r.Came)
		if c.faults.Blocks() {
			return c.faults
		}
		if err := c.buy(ctx, r); err != nil {
			return err
		}
		if err := c.charge(ctx, r); err != nil {
			return err
		}
		out, err = c.finish(ctx, s)
		out.Warnings = append(append(fault.List{}, warnings...), out.Warnings...)
		return err
	})
	return out, err
}

// read reads the sheet of the request, and returns its warnings.
func (r *OrderReceive) read() (fault.List, error) {
	if r.File == nil {
		if len(r.Came) == 0 {
			return nil, fault.New(fault.Usage, "receive-nothing", "nothing came back", "name the lot, or the item, "+
				"with what was cut, broke or is uncut; or give the cutter's sheet").AtField("lot")
		}
		return nil, nil
	}
	f, faults := r.File.Open()
	if faults.Blocks() {
		return nil, faults
	}
	r.Came, faults = intake.ReadReturn(f)
	if faults.Blocks() {
		return nil, faults
	}
	if len(r.Came) == 0 {
		return nil, fault.New(fault.Invalid, "return-empty", "no line of the order is filled in",
			"enter what came back: cut pieces and their weight, broken pieces, what is uncut").At(fault.Where{
			File: r.File.Name, Sheet: answer.ReturnSheet})
	}
	return faults, nil
}

// receipt books one batch of an order.
type receipt struct {
	*mover
	room    *Room
	order   book.Order
	paper   desk.Paper
	batches []desk.StandingBatch // before this one
	claim   bool
	nrv     num.Money // of the rough left over
	sheet   int64     // the batch's number on the cutter's sheet
	lines   []book.BatchLine
	lots    []string // made
	parcel  *book.Parcel
	charges []book.Charge
	faults  fault.List
	warned  fault.List
}

// newReceipt reads an order that was sent, and starts the entry of a batch.
func (room *Room) newReceipt(ctx context.Context, tx store.Tx, s desk.Stamp, m Movement, number string) (*receipt,
	error) {
	o, p, err := sentOrder(ctx, tx, number)
	if err != nil {
		return nil, err
	}
	e := s.Entry(ledger.Return, "back from "+o.Cutter+" under "+o.Number)
	mv, err := newMover(ctx, tx, s, m, &e)
	if err != nil {
		return nil, err
	}
	batches, err := desk.BatchesOf(ctx, tx, book.ToPaper(o.Number))
	return &receipt{mover: mv, room: room, order: o, paper: p, batches: batches, warned: fault.List{}}, err
}

// sentOrder reads an order that is out at its cutter.
func sentOrder(ctx context.Context, tx store.ReadTx, number string) (book.Order, desk.Paper, error) {
	p, err := desk.PaperNamed(ctx, tx, book.KindOrder, "order", number)
	if err != nil {
		return book.Order{}, p, err
	}
	o, err := desk.Named[book.Order](ctx, tx, number)
	if err == nil && o.State != "sent" {
		err = notSent(o.Number, o.State)
	}
	return o, p, err
}

// notSent is the fault of an order that is not out at its cutter.
func notSent(number, state string) *fault.Fault {
	what := fmt.Sprintf("order %s is %s, not sent", number, state)
	if state == "draft" {
		return fault.New(fault.Refused, "order-state", what, "send it first").AtRef(number).Do("order", "send", number)
	}
	return fault.New(fault.Refused, "order-state", what, "see it").AtRef(number).Do("order", "show", number)
}

// stillOpen refuses an order of which all came.
func (c *receipt) stillOpen(ctx context.Context) error {
	o, err := c.room.orderAnswer(ctx, c.tx, c.order, c.on)
	if err == nil && o.State != "sent" {
		err = notSent(o.Number, o.State)
	}
	return err
}

// at points a fault at the place of a field: a cell of the cutter's sheet, or a
// field of the request.
func at(f *fault.Fault, c Came, field string) *fault.Fault {
	if w, ok := c.Sheet.At(field); ok {
		w.Ref = cmp.Or(c.Lot, f.Where.Ref)
		return f.At(w)
	}
	return f.AtField(field)
}

// refusal points a fault that is lifted when it is accepted at a cell of the cutter's
// sheet, or at the reason.
func refusal(f *fault.Fault, c Came, field string) *fault.Fault {
	if _, ok := c.Sheet.At(field); ok {
		return at(f, c, field)
	}
	return f.AtField("accept")
}

// sheetOf compares what the sheet says of itself with the order and with the
// batches that came, and returns the number of its batch: 0 by hand, and on the
// sheets of old orders.
func (c *receipt) sheetOf(came []Came) (int64, error) {
	var l fault.List
	number := int64(0)
	for _, x := range came {
		_, onSheet := x.Sheet.At("order")
		switch {
		case !onSheet:
		case x.Sheet.Order == "" && c.paper.Old:
		case x.Sheet.Order == "":
			l.Add(at(fault.New(fault.Invalid, "return-unnamed", "the sheet does not say of which order it is",
				"use the sheet Return of the order's own workbook, which names "+c.order.Number), x, "order"))
		case !strings.EqualFold(x.Sheet.Order, c.order.Number):
			l.Add(at(fault.New(fault.Invalid, "return-other", fmt.Sprintf("this is a line of order %s, but %s is "+
				"received", x.Sheet.Order, c.order.Number),
				"receive it under its own order, or hand in the right sheet"),
				x, "order"))
		case x.Sheet.Batch <= 0:
			l.Add(at(fault.New(fault.Invalid, "return-batch", "the line has no number of a batch",
				"write 1 for what comes back first, 2 for what comes later"), x, "batch"))
		case number != 0 && x.Sheet.Batch != number:
			l.Add(at(fault.New(fault.Invalid, "return-batches",
				fmt.Sprintf("one sheet is one batch, but it names %d and "+
					"%d", number, x.Sheet.Batch), "hand in each batch on a sheet of its own"), x, "batch"))
		default:
			number = x.Sheet.Batch
		}
	}
	for _, b := range c.batches {
		if number != 0 && numberOf(b.Batch) == number && !l.Blocks() {
			l.Add(c.readBefore(came, b))
		}
		if _, onSheet := came[0].Sheet.At("order"); onSheet && number == 0 && !l.Blocks() { // of an old order
			if f := c.readBefore(came, b); f.Code == "return-twice" {
				l.Add(f)
			}
		}
	}
	return number, l.Err()
}

// numberOf is the number by which a cutter's sheet knows a batch: its own on the
// sheet, or, of one that was booked by hand, the batch's.
func numberOf(b book.Batch) int64 { return cmp.Or(b.Sheet, b.Number) }

// readBefore is the fault of a sheet whose batch was booked already: at the first
// number that is another now, else at the batch.
func (c *receipt) readBefore(came []Came, b desk.StandingBatch) *fault.Fault {
	const mend = "nothing is to be booked; give what came later the next number, or reverse the batch's entry first"
	how := "read already"
	if b.Sheet == 0 {
		how = "booked by hand"
	}
	was := map[string]book.Weighed{}
	key := func(lot, item string, o book.Outcome) string {
		return strings.ToLower(lot + "/" + item + "/" + string(o))
	}
	for _, l := range b.Lines {
		o := l.Outcome
		if o == book.Bought {
			o = book.Accepted
		}
		k := key(l.Lot, l.Item, o)
		was[k] = book.Weighed{Pieces: was[k].Pieces + l.Pieces, Carats: was[k].Carats + l.Carats}
	}
	for _, x := range came {
		for _, now := range []struct {
			outcome book.Outcome
			book.Weighed
			pieces, carats string
		}{
			{book.Accepted, x.Weighed, "pieces", "carats"},
			{book.Broken, book.Weighed{Pieces: x.Broken}, "broken", ""},
			{book.Unworked, x.Uncut, "uncut_pieces_back", "uncut"},
			{book.Rough, x.Rough, "rough_pieces_back", "rough"},
			{book.Chips, book.Weighed{Carats: x.Chips}, "", "chips"},
		} {
			before := was[key(x.Lot, c.itemOf(x), now.outcome)]
			field := ""
			switch {
			case now.pieces != "" && before.Pieces != now.Pieces:
				field = now.pieces
			case now.carats != "" && before.Carats != now.Carats:
				field = now.carats
			default:
				continue
			}
			return at(fault.New(fault.Refused, "return-changed",
				fmt.Sprintf("batch %d of %s was %s as %s on %s "+
					"(%s), with other numbers: here are %d pieces, %s ct, there %d pieces, %s ct", numberOf(b.Batch),
					c.order.Number, how,
					b.RecordKey(), b.On, b.Entry, now.Pieces, now.Carats, before.Pieces, before.Carats), mend), x,
				field)
		}
	}
	return at(fault.New(fault.Refused, "return-twice", fmt.Sprintf("batch %d of %s was %s as %s on %s (%s)",
		numberOf(b.Batch), c.order.Number, how, b.RecordKey(), b.On, b.Entry), mend), came[0], "batch")
}

// itemOf is the item of the order that a line is for: as it says, else the one
// that the lot was sent for, else the order's only one; empty when it says none.
func (c *receipt) itemOf(x Came) string {
	if i := strings.ToUpper(strings.TrimSpace(x.Item)); i != "" && i != "?" && i != "ANY" {
		return i
	}
	for _, s := range c.order.Supplied {
		if x.Lot != "" && strings.EqualFold(s.Lot, x.Lot) && s.Item != "" {
			return s.Item
		}
	}
	if len(c.order.Lines) == 1 {
		return book.ItemName(0)
	}
	return ""
}

// items fills in what the lines leave to the order: the item, and its shape.
func (c *receipt) items(came []Came) error {
	var l fault.List
	for i := range came {
		x := &came[i]
		x.Item = c.itemOf(*x)
		line := c.order.Item(x.Item)
		switch {
		case line == nil && x.Item != "":
			l.Add(at(fault.New(fault.Invalid, "return-item", fmt.Sprintf("order %s has no item %s",
				c.order.Number, x.Item),
				"name one of its items").Do("order", "show", c.order.Number), *x, "item"))
		case line == nil && x.Lot == "":
			l.Add(at(fault.New(fault.Invalid, "return-item", "the line names neither a lot nor an item of the order",
				"name the lot that was sent, or the item that was supplied"), *x, "item"))
		case line != nil && x.Shape == "":
			x.Shape = line.Shape
		}
		for _, w := range []struct {
			field string
			book.Weighed
		}{{"pieces", x.Weighed}, {"rejected", x.Rejected}, {"uncut", x.Uncut}, {"rough", x.Rough}} {
			if w.Pieces < 0 || w.Carats < 0 || (w.Pieces == 0) != (w.Carats == 0) {
				l.Add(at(fault.New(fault.Usage, "receive-nothing", "stones that come back are counted and weighed",
					"give pieces and carats"), *x, w.field))
			}
		}
		if x.Lot == "" && (x.Broken > 0 || x.Uncut.Pieces > 0 || x.Rough.Pieces > 0 || x.Chips > 0 || x.Pieces == 0) {
			l.Add(at(fault.New(fault.Invalid, "return-lot", "without a lot that was sent, only stones that are "+
				"bought come",
				"name the lot, or give pieces and carats of what is bought"), *x, "lot"))
		}
	}
	return l.Err()
}

// bringLots books what came back of each lot that was sent.
func (c *receipt) bringLots(ctx context.Context, came []Came) error {
	done := map[string]bool{}
	for _, x := range came {
		key := strings.ToLower(x.Lot)
		if x.Lot == "" || done[key] {
			continue
		}
		done[key] = true
		var of []Came
		for _, y := range came {
			if strings.EqualFold(y.Lot, x.Lot) {
				of = append(of, y)
			}
		}
		err := c.bringLot(ctx, x.Lot, of)
		if bad, ok := fault.From(err); ok {
			for _, f := range bad {
				if f.Where.File == "" {
					f = at(f, x, cmp.Or(f.Where.Field, "pieces"))
				}
				c.faults.Add(f)
			}
			continue
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// counts refuses more stones of an item than were ordered, over all batches.
func (c *receipt) counts(came []Came) {
	if c.Accept != "" {
		return
	}
	total := desk.CameByItem(c.batches)
	for _, x := range came {
		line := c.order.Item(x.Item)
		if line == nil || x.Pieces == 0 {
			continue
		}
		total[x.Item] += x.Pieces
		if wanted := line.Count + line.Spare; total[x.Item] > wanted {
			c.faults.Add(refusal(fault.New(fault.Refused, "receive-count",
				fmt.Sprintf("with these, %d of item %s came, but %d "+
					"are ordered", total[x.Item], x.Item, wanted), acceptMend).AtRef(c.order.Number), x, "pieces"))
		}
	}
}

// acceptMend mends what is not as it was ordered.
const acceptMend = "count, weigh and measure again; if it is right, say why it is accepted"

// finish writes the batch, its receipt and the entry, and says what came of it.
func (c *receipt) finish(ctx context.Context, s desk.Stamp) (answer.OrderReceived, error) {
	out := answer.OrderReceived{Charges: c.charges, Bought: c.parcel}
	batch, err := c.batch(ctx, c.order.Number, c.order.Cutter, c.lines)
	if err != nil {
		return out, err
	}
	batch.Sheet, batch.Closes = c.sheet, c.order.State == "closed"
	c.record(batch)
	left, err := c.stillOn(ctx, c.paper)
	if err != nil {
		return out, err
	}
	if c.paper.Old && len(left) == 0 && c.order.State == "sent" {
		c.order.State = "received"
		c.record(c.order)
	}
	c.entry.Kind = c.kind()
	model := c.room.receiptModel(c, batch, left)
	doc, err := c.issue(ctx, s, desk.Draft{Kind: "RECEIPT", Title: "Receipt " + batch.RecordKey(), Model: model})
	if err != nil {
		return out, err
	}
	if out.Moved, err = c.post(ctx, c.lots...); err != nil {
		return out, err
	}
	out.Warnings = append(c.warned, out.Warnings...)
	out.Batch, out.Document = batch, answer.FileOf(doc)
	out.Order, err = c.room.orderAnswer(ctx, c.tx, c.order, s.On)
	return out, err
}

// kind is the kind of the entry by what its lines did.
func (c *receipt) kind() ledger.Kind {
	kind := ledger.Return
	for _, l := range c.lines {
		switch {
		case l.Into != "" && l.Lot != "":
			return ledger.Cut
		case l.Outcome == book.Bought:
			kind = ledger.Buy
		case l.Outcome == book.Broken && kind == ledger.Return:
			kind = ledger.Break
		case l.Outcome == book.Missing && kind == ledger.Return:
			kind = ledger.Lose
		}
	}
	return kind
}
