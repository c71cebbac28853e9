package stockroom_test

import (
	"fmt"
	"slices"
	"strings"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// offices are a dealer's transfers: number -> lots, and to which safe.
type offices struct {
	transfers map[string][]string
	to        map[string]string
}

// officeActs are what is done between offices.
func (d *dealer) officeActs() []act {
	return []act{
		{"transfer", 2, d.transfer},
		{"receive", 2, d.receive},
		{"close transfer", 1, d.closeTransfer},
	}
}

// openOffices gives the book two offices, before anything lies in it.
func (d *dealer) openOffices() {
	if _, err := d.house.Desk.ConfigSet(d.ctx, desk.ConfigSet{Write: d.write,
		Values: map[string]string{"offices": "LISBON; PORTO"}}); err != nil {
		d.Fatal(err)
	}
	d.naive.safes = []string{"safe/LISBON", "safe/PORTO"}
}

// safe draws a safe where a lot lies, and how a command names it: not at all when
// that is clear enough, and now and then when it is not.
func (d *dealer) safe(lot string) (at string, named book.Place) {
	here := d.naive.safesOf(lot)
	if len(here) == 0 { // what is found again is found where it was last
		if last := d.naive.last[lot]; last != "" {
			return last, ""
		}
		return d.naive.safes[0], ""
	}
	at = here[0]
	if len(here) > 1 {
		at = pick(d, "safe", here)
		if d.draw("unnamed", 0, 9) == 0 {
			return at, ""
		}
	} else if d.draw("named", 0, 3) > 0 {
		return at, ""
	}
	return at, book.Place(at)
}

// fromSafe draws a part of a lot in a safe.
func (d *dealer) fromSafe() (m stockroom.Moving, at string, named book.Place) {
	lot := d.lot()
	at, named = d.safe(lot)
	return d.some(lot, at), at, named
}

// transfer sends one or two lots to another office.
func (d *dealer) transfer() error {
	m, at, place := d.fromSafe()
	lots := []stockroom.Moving{m}
	if second := d.lot(); second != m.Lot && d.naive.at[second][at].pieces > 0 {
		lots, place = append(lots, d.some(second, at)), book.Place(at)
	}
	to := pick(d, "to", []string{"safe/LISBON", "safe/PORTO"})
	if to == at && d.draw("there", 0, 4) > 0 {
		to = pick(d, "to", d.naive.safes)
	}
	done, err := d.house.Stockroom.StockMove(d.ctx, stockroom.StockMove{Movement: d.moving(), From: place,
		To: book.Place(to), Lots: lots})
	if err != nil {
		return err
	}
	paper := done.Transfer.Number
	d.transfers[paper], d.to[paper] = nil, to
	d.naive.change(done.Entry, func() {
		for _, m := range lots {
			d.naive.send(m.Lot, at, paper, m.Pieces, int64(m.Carats))
			d.transfers[paper] = append(d.transfers[paper], m.Lot)
		}
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// receive books what arrived of a transfer.
func (d *dealer) receive() error {
	paper, lot, ok := d.paper(d.transfers)
	if !ok {
		return nil
	}
	from := "paper/" + paper
	here := d.naive.at[lot][from]
	m := d.some(lot, from)
	if m.Pieces == here.pieces && here.carats > 0 {
		m.Carats += num.Carat(d.draw("scale", -50, 50))
	}
	done, err := d.house.Stockroom.StockReceive(d.ctx, stockroom.StockReceive{Movement: d.moving(), Number: paper,
		Lots: []stockroom.Moving{m}})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		if m.Pieces == here.pieces && int64(m.Carats) != here.carats {
			d.naive.weigh(lot, from, here.carats-int64(m.Carats))
		}
		d.naive.leave(lot, from, part{m.Pieces, int64(m.Carats), false, d.to[paper]})
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// closeTransfer loses what did not arrive, or claims it.
func (d *dealer) closeTransfer() error {
	paper, _, ok := d.paper(d.transfers)
	if !ok {
		return nil
	}
	claim, party := d.draw("claim", 0, 1) == 1, ""
	if claim {
		party = "Carrier"
	}
	done, err := d.house.Stockroom.StockClose(d.ctx, stockroom.StockClose{Movement: d.moving(), Number: paper,
		Claim: claim, Party: party})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		before := d.naive.now
		for _, lot := range d.naive.lying("paper/" + paper) {
			d.naive.missing(lot, "paper/"+paper, claim)
		}
		d.naive.claim(done.Entry, party, d.naive.now[len(before):])
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// papers compares what each open paper holds, by the lists of its kind, with what
// the naive ledger has there: a paper is listed exactly while something lies on it.
func (d *dealer) papers() {
	var lines []string
	add := func(number string, lots ...book.SuppliedLot) {
		if len(lots) == 0 {
			lines = append(lines, number+" is open and holds nothing")
		}
		for _, l := range lots {
			lines = append(lines, fmt.Sprintf("%s paper/%s %d %d", l.Lot, number, l.Pieces, int64(l.Carats)))
		}
	}
	room := d.house.Stockroom
	memos, err1 := room.MemoList(d.ctx, stockroom.MemoList{})
	for _, m := range memos.Memos {
		var lots []book.SuppliedLot
		for _, l := range m.Lots {
			lots = append(lots, l.SuppliedLot)
		}
		add(m.Number, lots...)
	}
	tickets, err2 := room.WorkList(d.ctx, stockroom.WorkList{})
	for _, t := range tickets.Tickets {
		add(t.Number, t.Lots...)
	}
	transfers, err3 := room.TransferList(d.ctx, stockroom.TransferList{})
	for _, t := range transfers.Transfers {
		add(t.Number, t.Lots...)
	}
	orders, err4 := room.OrderList(d.ctx, stockroom.OrderList{})
	for _, o := range orders.Orders {
		if want := d.orderState(o.Number); o.State != want {
			d.Fatalf("order %s is %s, want %s", o.Number, o.State, want)
		}
		if len(o.Out) > 0 {
			add(o.Number, o.Out...)
		}
	}
	for _, err := range []error{err1, err2, err3, err4} {
		if err != nil {
			d.Fatal(err)
		}
	}
	slices.Sort(lines)
	var want []string
	for lot, places := range d.naive.at {
		for place, s := range places {
			if strings.HasPrefix(place, "paper/") && s.pieces > 0 {
				want = append(want, fmt.Sprintf("%s %s %d %d", lot, place, s.pieces, s.carats))
			}
		}
	}
	slices.Sort(want)
	if diff := cmp.Diff(want, lines); diff != "" {
		d.Fatalf("what lies on papers, by the naive ledger (-) and the lists (+): %s", diff)
	}
}
