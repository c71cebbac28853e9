package stockroom_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// orders are a dealer's cutter orders, and the lots that were sent on them.
type orders struct {
	orders map[string]*order
	sent   map[string][]string
	sheets int // sheets Return that were filled in and read back
	later  int // of them not the first of their order
}

// order is what is known of one order without the book.
type order struct {
	cutter   string
	state    string // as it was last written: draft, sent, closed, cancelled
	wanted   int64  // stones of its one item; 0: an order in words
	came     int64
	planned  []stockroom.Supplying
	document string           // its paper
	batches  map[int64]string // that stand, by the number on their sheet or, by hand, their own; and the sheet
}

// orderActs are what is done with cutters.
func (d *dealer) orderActs() []act {
	return []act{
		{"draft order", 1, d.draftOrder},
		{"send order", 3, d.sendOrder},
		{"receive order", 5, d.receiveOrder},
		{"close order", 1, d.closeOrder},
		{"cancel order", 1, d.cancelOrder},
	}
}

// cut is what came back of stones of one lot.
type cut struct {
	accepted, rejected, from, uncut, rough book.Weighed
	broken                                 int64
	chips                                  num.Carat
}

func (c cut) made() int64 { return c.accepted.Pieces + c.rejected.Pieces }

// makes are the lots that are made, in the order of the batch.
func (c cut) makes() []book.Weighed {
	return slices.DeleteFunc([]book.Weighed{c.accepted, c.rejected, c.rough}, func(w book.Weighed) bool {
		return w.Pieces == 0
	})
}

// cut books what came back of a lot at a cutter's. What was cut of as many stones as
// are said, or as were cut, takes their weight with it, by their mean; the last ones
// take all the weight that is left. Cut stones carry the cost of what they were cut
// from; what broke, rough that is left over and chips carry none while anything else
// does. It returns what became of it: lots that were made, in the order of the report.
func (n *naive) cut(lot, from, home string, c cut, claim bool, into []string) {
	here := n.at[lot][from]
	left := here.pieces - c.broken - c.uncut.Pieces
	cutOf := sum{pieces: c.from.Pieces, carats: int64(c.from.Carats)}
	if cutOf.pieces == 0 {
		cutOf.pieces = c.made()
	}
	cutOf.pieces = min(cutOf.pieces, left)
	extra := int64(c.rough.Carats + c.chips)
	switch {
	case c.made() == 0:
		cutOf = sum{carats: extra}
	case cutOf.carats > 0:
	case cutOf.pieces == left:
		cutOf.carats = largest(here.carats-int64(c.uncut.Carats), []int64{left, c.broken})[0]
	default:
		cutOf.carats = largest(here.carats, []int64{cutOf.pieces, here.pieces - cutOf.pieces})[0]
	}
	pieces := largest(cutOf.pieces, []int64{c.accepted.Pieces, c.rejected.Pieces})
	carats := largest(cutOf.carats-extra, []int64{int64(c.accepted.Carats), int64(c.rejected.Carats)})
	off := cutOf.carats + int64(c.uncut.Carats)
	lost := int64(0)
	whole := cutOf.pieces+c.broken+c.uncut.Pieces == here.pieces
	switch {
	case c.broken == 0:
	case whole:
		lost = here.carats - off
	default:
		lost = largest(here.carats, []int64{c.broken, here.pieces - c.broken})[0]
	}
	n.goneLent(lot, c.broken, lost)
	if whole && c.broken == 0 {
		n.weigh(lot, from, here.carats-off)
	}
	type line struct {
		part
		book.Weighed
		made bool
	}
	lines := []line{
		{part{pieces[0], carats[0], false, home}, c.accepted, true},
		{part{pieces[1], carats[1], false, home}, c.rejected, true},
		{part{c.broken, lost, !claim, "loss/breakage"}, book.Weighed{Pieces: c.broken}, false},
		{part{c.uncut.Pieces, int64(c.uncut.Carats), false, home}, c.uncut, false},
		{part{0, int64(c.rough.Carats), true, home}, c.rough, true},
		{part{0, int64(c.chips), true, "loss/cutting"}, book.Weighed{Carats: c.chips}, false},
	}
	lines = slices.DeleteFunc(lines, func(l line) bool { return l.Weighed == book.Weighed{} })
	parts := make([]part, len(lines))
	for i, l := range lines {
		parts[i] = l.part
	}
	n.lendCut(lot, into, parts, func(i int) bool { return lines[i].made && !lines[i].free }, int64(c.uncut.Carats))
	for i, cents := range n.costs(lot, from, parts...) {
		l := lines[i]
		n.add(lot, from, sum{-l.pieces, -l.carats, -cents})
		switch {
		case l.made:
			n.add(into[0], l.to, sum{l.Pieces, int64(l.Carats), cents})
			n.add(into[0], "made/cutting", sum{l.pieces - l.Pieces, 0, 0})
			n.add(lot, "loss/cutting", sum{0, l.carats - int64(l.Carats), 0})
			into = into[1:]
		case claim && l.to == "loss/breakage":
			n.add(lot, l.to, sum{l.pieces, l.carats, 0})
			n.add(lot, "charge/claim", sum{0, 0, cents})
		default:
			n.add(lot, l.to, sum{l.pieces, l.carats, cents})
		}
	}
}

func (d *dealer) draftOrder() error {
	r := stockroom.OrderDraft{Write: d.write, Cutter: pick(d, "cutter", []string{"N", "N", "R"}), Note: "cut"}
	o := &order{state: "draft", batches: map[int64]string{}, cutter: r.Cutter}
	if d.index("item", 12) == 0 { // few: the drawings of such an order take their time
		o.wanted = d.draw("wanted", 1, 30)
		r.Items = []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 700, Width: 500, Count: o.wanted}}
	}
	if d.draw("plan", 0, 2) == 0 {
		m, _, _ := d.fromSafe()
		r.Lots = []stockroom.Supplying{{Moving: m}}
		o.planned = r.Lots
	}
	done, err := d.house.Stockroom.OrderDraft(d.ctx, r)
	if err != nil {
		return err
	}
	d.orders.orders[done.Orders[0].Number] = o
	return nil
}

// order draws an order that is in a state, now and then any.
func (d *dealer) order(state string) (string, *order, bool) {
	var of []string
	for number := range d.orders.orders {
		if d.orderState(number) == state {
			of = append(of, number)
		}
	}
	if d.draw("any order", 0, 14) == 0 {
		of = slices.Collect(maps.Keys(d.orders.orders))
	}
	if slices.Sort(of); len(of) == 0 {
		return "", nil, false
	}
	number := pick(d, "order", of)
	return number, d.orders.orders[number], true
}

// sendOrder sends an order with up to two lots, or with those that it plans.
func (d *dealer) sendOrder() error {
	number, o, ok := d.order("draft")
	if !ok {
		return nil
	}
	r := stockroom.OrderSend{Movement: d.moving(), Number: number}
	lots, at := o.planned, ""
	switch kind := d.draw("lots", 0, 4); {
	case kind > 0 && (len(lots) == 0 || kind == 4):
		var m stockroom.Moving
		m, at, r.From = d.fromSafe()
		r.Lots = []stockroom.Supplying{{Moving: m}}
		if second := d.lot(); kind == 3 && second != m.Lot && d.naive.at[second][at].pieces > 0 {
			r.Lots, r.From = append(r.Lots, stockroom.Supplying{Moving: d.some(second, at)}), book.Place(at)
		}
		lots = r.Lots
	case len(lots) > 0:
		at, r.From = d.safe(lots[0].Lot)
	}
	done, err := d.house.Stockroom.OrderSend(d.ctx, r)
	if err != nil {
		return err
	}
	o.state, o.document = "sent", done.Document.Number
	d.naive.change(done.Entry, func() {
		for _, x := range lots {
			d.naive.send(x.Lot, at, number, x.Pieces, int64(x.Carats))
			d.sent[number] = append(d.sent[number], x.Lot)
		}
	})
	if len(lots) > 0 {
		d.entries = append(d.entries, done.Entry)
		d.undone[done.Entry] = func() {
			o.state = "draft"
			delete(d.sent, number)
		}
	}
	return nil
}

// orderState is what the book must call an order: one that was sent is received when
// nothing of it is out, and of one that buys when all that it asks for came.
func (d *dealer) orderState(number string) string {
	o := d.orders.orders[number]
	out := slices.ContainsFunc(d.sent[number], func(lot string) bool {
		return d.naive.at[lot]["paper/"+number].pieces > 0
	})
	buys := len(d.sent[number]) == 0
	if o.state == "sent" && !out && (!buys || o.wanted > 0 && o.came >= o.wanted) {
		return "received"
	}
	return o.state
}

// cutting draws what came back of a lot that lies at a cutter's.
func (d *dealer) cutting(lot, at string) cut {
	here := d.naive.at[lot][at]
	mean := func(pieces int64) num.Carat { return num.Carat(here.carats * pieces / max(1, here.pieces)) }
	taken := here.pieces
	if d.draw("part", 0, 1) == 1 {
		taken = d.draw("taken", 1, max(1, here.pieces))
	}
	var c cut
	if d.draw("broke", 0, 2) == 0 {
		c.broken = d.draw("broken", 1, max(1, taken/2))
	}
	if d.draw("unworked", 0, 2) == 0 {
		if c.uncut.Pieces = d.draw("uncut", 0, max(0, taken-c.broken)); c.uncut.Pieces > 0 {
			c.uncut.Carats = max(1, mean(c.uncut.Pieces)+num.Carat(d.draw("off", -5, 5)))
		}
	}
	n := taken - c.broken - c.uncut.Pieces
	if n <= 0 {
		return c
	}
	was := mean(n)
	if d.draw("rough", 0, 3) == 0 {
		c.rough = book.Weighed{Pieces: d.draw("pieces", 1, 2), Carats: max(1, was/20)}
	}
	if d.draw("chips", 0, 3) == 0 {
		c.chips = max(1, was/25)
	}
	c.accepted.Pieces = n
	switch d.draw("says", 0, 3) {
	case 0:
		c.from = book.Weighed{Pieces: n}
		c.accepted.Pieces += d.draw("more", 0, 2)
	case 1:
		c.from = book.Weighed{Pieces: n, Carats: was + num.Carat(d.draw("was", -9, 9))}
	}
	if d.draw("bad", 0, 3) == 0 {
		c.rejected.Pieces = d.draw("rejected", 0, c.accepted.Pieces)
		c.accepted.Pieces -= c.rejected.Pieces
	}
	high := int64(85)
	if d.draw("heavy", 0, 14) == 0 {
		high = 140
	}
	yield := num.Carat(d.draw("yield", 30, high))
	each := func(w *book.Weighed) {
		if w.Pieces > 0 {
			w.Carats = max(1, was*yield/100*num.Carat(w.Pieces)/num.Carat(c.made()))
		}
	}
	each(&c.accepted)
	each(&c.rejected)
	return c
}

// receiveOrder books what came back of an order: cut stones of up to two of its lots,
// stones that the cutter supplies, and the cutter's charge; by hand or by a sheet.
func (d *dealer) receiveOrder() error {
	number, lot, ok := d.paper(d.sent)
	o := d.orders.orders[number]
	if !ok || d.draw("bought only", 0, 4) == 0 {
		if number, o, ok = d.order("sent"); !ok {
			return nil
		}
		lot = ""
	}
	b := &orderBatch{dealer: d, order: o, number: number, from: "paper/" + number}
	b.request = stockroom.OrderReceive{Movement: d.moving(), Number: number, Claim: d.draw("claim", 0, 2) == 0}
	if lot != "" {
		b.cut(lot)
		if lots := d.sent[number]; len(lots) == 2 && lots[0] != lots[1] && d.draw("both", 0, 1) == 1 {
			b.cut(lots[(slices.Index(lots, lot)+1)%2])
		}
	}
	if lot != "" && d.draw("sheet", 0, 2) > 0 {
		return b.sheet()
	}
	if o.wanted > 0 && (lot == "" || d.draw("buy too", 0, 4) == 0) {
		b.buy()
	}
	if len(b.request.Came) == 0 && d.draw("nothing", 0, 9) > 0 {
		return nil
	}
	if d.draw("charge", 0, 2) == 0 {
		b.request.Charge = d.amount(100, 9999)
	}
	return b.book("")
}

// orderBatch is one batch of an order on its way into both books.
type orderBatch struct {
	*dealer
	order        *order
	number, from string
	of           []string // lots
	cuts         []cut
	bought       []book.Weighed
	request      stockroom.OrderReceive
}

// cut adds what came back of a lot.
func (b *orderBatch) cut(lot string) {
	c := b.cutting(lot, b.from)
	b.of, b.cuts = append(b.of, lot), append(b.cuts, c)
	b.request.Came = append(b.request.Came, stockroom.Came{Lot: lot, Weighed: c.accepted, Rejected: c.rejected,
		From: c.from, Broken: c.broken, Uncut: c.uncut, Rough: c.rough, Chips: c.chips})
}

// buy adds stones that the cutter supplies, with their price.
func (b *orderBatch) buy() {
	for range b.draw("lines", 1, 2) {
		w := book.Weighed{Pieces: b.draw("pieces", 1, max(1, min(9, b.order.wanted)))}
		w.Carats = num.Carat(w.Pieces * b.draw("each", 300, 900))
		b.bought = append(b.bought, w)
		b.request.Came = append(b.request.Came, stockroom.Came{Item: "A", Weighed: w, Treatment: "none"})
	}
	b.request.Price = b.amount(100, 90_000)
}

// sheet receives the batch as the sheet that the cutter filled in: one of the order
// with the next number, or one that must be refused: of another order, or of a batch
// that was read, with the same numbers or with others.
func (b *orderBatch) sheet() error {
	var rows strings.Builder
	under, batch, wrong := b.number, int64(1), false
	known := slices.Sorted(maps.Keys(b.order.batches))
	if len(known) > 0 {
		batch = known[len(known)-1] + 1
	}
	switch b.draw("wrong", 0, 4) {
	case 0:
		under, wrong = "O9999", true
	case 1, 2:
		if len(known) > 0 {
			batch, wrong = pick(b.dealer, "again", known), true
		}
	}
	item := ""
	if b.order.wanted > 0 {
		item = "A"
	}
	for i := range b.cuts {
		c := &b.cuts[i]
		c.accepted.Pieces += c.rejected.Pieces // a sheet knows no rejected stones
		c.accepted.Carats += c.rejected.Carats
		c.rejected = book.Weighed{}
		fmt.Fprintf(&rows, "%s,%d,%s,%s,%d,%s,%d,%s,%d,%d,%s,%d,%s,%s\n", under, batch, item, b.of[i],
			c.accepted.Pieces,
			c.accepted.Carats, c.from.Pieces, c.from.Carats, c.broken, c.uncut.Pieces, c.uncut.Carats, c.rough.Pieces,
			c.rough.Carats, c.chips)
	}
	text := rows.String()
	if was := b.order.batches[batch]; wrong && was != "" && b.draw("as it was", 0, 1) == 1 {
		text = was
	}
	file := books.Text("return.csv", "order,batch,item,lot,cut_pieces,cut_ct,from_pieces,from_ct,broken_pieces,"+
		"uncut_pieces_back,uncut_back_ct,rough_pieces_back,rough_back_ct,powder_and_chips_back_ct\n"+text)
	b.request.File = &file
	if !wrong && b.quiet { // the year fills in the paper itself
		b.request.File = b.workbook(batch)
		err := b.book(text)
		if err == nil {
			b.sheets++
			b.later += min(1, len(known))
		}
		return err
	}
	if !wrong {
		return b.book(text)
	}
	_, err := b.house.Stockroom.OrderReceive(b.ctx, b.request)
	if err == nil {
		b.Fatalf("the sheet was read as batch %d of %s:\n%s", batch, b.number, text)
	}
	return err
}

// book receives the batch and tells the naive ledger.
func (b *orderBatch) book(sheet string) error {
	done, err := b.house.Stockroom.OrderReceive(b.ctx, b.request)
	if err != nil {
		return err
	}
	into, came := done.Lots, int64(0)
	b.naive.change(done.Entry, func() {
		var carriers, homes []string
		var weights []int64
		for i, c := range b.cuts {
			lot, made := b.of[i], c.makes()
			home := b.naive.home(lot, b.number)
			for j, w := range made {
				b.child(into[j], lot)
				if w != c.rough || j < len(made)-1 {
					carriers, homes, weights = append(carriers, into[j]), append(homes, home), append(weights,
						int64(w.Carats))
				}
			}
			b.naive.cut(lot, b.from, home, c, b.request.Claim, into[:len(made)])
			into = into[len(made):]
			came += c.accepted.Pieces
		}
		b.naive.claim(done.Entry, b.order.cutter, b.naive.now)
		came += b.buys(into, done.Bought)
		if len(carriers) > 0 {
			for i, c := range largest(b.naive.convert(b.request.Charge), weights) {
				b.naive.add(carriers[i], "charge/cutting", sum{0, 0, -c})
				b.naive.add(carriers[i], homes[i], sum{0, 0, c})
			}
		}
	})
	o := b.order
	o.came += came
	batch := cmp.Or(done.Batch.Sheet, done.Batch.Number)
	o.batches[batch] = sheet
	b.entries = append(b.entries, done.Entry)
	b.undone[done.Entry] = func() {
		o.came -= came
		delete(o.batches, batch)
	}
	return nil
}

// buys tells the naive ledger of stones that the cutter supplied: their price is shared
// by weight in its own currency, converted once, and shared over the lots.
func (b *orderBatch) buys(into []string, parcel *book.Parcel) (pieces int64) {
	if len(b.bought) == 0 {
		return 0
	}
	var carats []int64
	for _, w := range b.bought {
		carats = append(carats, int64(w.Carats))
		pieces += w.Pieces
	}
	parts := largest(b.request.Price.Minor(num.HalfUp), carats)
	for i, cents := range largest(b.naive.convert(b.request.Price), parts) {
		w := sum{b.bought[i].Pieces, carats[i], cents}
		b.dealer.lots = append(b.dealer.lots, into[i])
		b.naive.parcel[into[i]], b.naive.mine[into[i]] = parcel.Code, true
		b.naive.add(into[i], "vendor/"+parcel.Vendor, w.minus())
		b.naive.add(into[i], b.naive.safes[0], w)
	}
	return pieces
}

// closeOrder ends an order: what is out is lost, or claimed.
func (d *dealer) closeOrder() error {
	number, o, ok := d.order("sent")
	if !ok {
		return nil
	}
	missing := pick(d, "missing", []string{"", stockroom.MissingLoss, stockroom.MissingClaim})
	done, err := d.house.Stockroom.OrderClose(d.ctx, stockroom.OrderClose{Movement: d.moving(), Number: number,
		Missing: missing})
	if err != nil {
		return err
	}
	o.state = "closed"
	d.naive.change(done.Entry, func() {
		for _, lot := range d.sent[number] {
			d.naive.missing(lot, "paper/"+number, missing == stockroom.MissingClaim)
		}
		d.naive.claim(done.Entry, o.cutter, d.naive.now)
	})
	if len(done.Postings) > 0 {
		d.entries = append(d.entries, done.Entry)
		d.undone[done.Entry] = func() { o.state = "sent" }
	}
	return nil
}

// cancelOrder gives up a draft, or an order of which nothing is out.
func (d *dealer) cancelOrder() error {
	number, o, ok := d.order(pick(d, "state", []string{"draft", "sent"}))
	if !ok {
		return nil
	}
	if _, err := d.house.Stockroom.OrderCancel(d.ctx, stockroom.OrderCancel{Write: d.write,
		Number: number}); err != nil {
		return err
	}
	o.state = "cancelled"
	return nil
}
