package stockroom_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/stockroom"
)

// holding is what the naive ledger knows of holds: their versions, as they were told.
type holding struct {
	holds map[string][]hold // lot and whom: their versions
	whom  string            // whom the act that is told moves stones for
	taken []hold            // off the holds of the lot that left last
	wrong string            // what moved and should not
}

// hold is pieces of a lot that are kept for a customer until a day.
type hold struct {
	lot, whom, entry, until string

	pieces int64
}

// holdOf is a hold as it is now.
func (n *naive) holdOf(lot, whom string) hold {
	if versions := n.holds[lot+" "+whom]; len(versions) > 0 {
		return versions[len(versions)-1]
	}
	return hold{lot: lot, whom: whom}
}

// keep writes what a hold is from an entry on.
func (n *naive) keep(entry string, h hold) {
	h.entry = entry
	key := h.lot + " " + h.whom
	versions := n.holds[key]
	if last := len(versions) - 1; last >= 0 && versions[last].entry == entry {
		versions = versions[:last]
	}
	n.holds[key] = append(versions, h)
}

// openHolds are the holds on a lot that hold something today.
func (n *naive) openHolds(lot string) []hold {
	var out []hold
	for _, whom := range customers {
		if h := n.holdOf(lot, whom); h.pieces > 0 && (h.until == "" || n.on <= h.until) {
			out = append(out, h)
		}
	}
	return out
}

var customers = []string{"customer/K", "customer/Öz"}

// free is how many pieces of a lot may leave a place: what is in hand in the safes, or
// out besides, less what is held for others than those whom they move for.
func (n *naive) free(lot, from, whom string) int64 {
	var free int64
	for place, s := range n.at[lot] {
		switch {
		case !isReal(place) || strings.HasPrefix(place, "piece/"):
		case strings.HasPrefix(place, "safe") || !strings.HasPrefix(from, "safe"):
			free += s.pieces
		}
	}
	for _, h := range n.openHolds(lot) {
		if h.whom != whom {
			free -= h.pieces
		}
	}
	return free
}

// takeHeld moves pieces of a lot that may be held: those that are held for whom they
// move are held no more.
func (n *naive) takeHeld(lot, from string, pieces int64) {
	n.taken = nil
	open := n.openHolds(lot)
	others := slices.ContainsFunc(open, func(h hold) bool { return h.whom != n.whom })
	if free := n.free(lot, from, n.whom); others && pieces > free {
		n.wrong = fmt.Sprintf("%d of %s left %s for %q, and %d are free: %v", pieces, lot, from, n.whom, free, open)
	}
	for _, h := range open {
		if h.whom == n.whom {
			off := min(pieces, h.pieces)
			moved := h
			moved.pieces = off
			n.taken = append(n.taken, moved)
			h.pieces -= off
			n.keep(n.entry, h)
		}
	}
}

// holdOn holds in another lot what was taken off the holds of the lot that left last,
// until the later of their days.
func (n *naive) holdOn(into string) {
	for _, h := range n.taken {
		there := n.holdOf(into, h.whom)
		if there.pieces > 0 && (there.until == "" || h.until != "" && there.until > h.until) {
			h.until = there.until
		}
		h.lot, h.pieces = into, h.pieces+there.pieces
		n.keep(n.entry, h)
	}
}

// unhold makes holds that an entry was the last to change what they were before it.
func (n *naive) unhold(entry, by string) {
	for _, versions := range n.holds {
		last := len(versions) - 1
		if versions[last].entry != entry {
			continue
		}
		before := versions[last]
		if before.pieces = 0; last > 0 {
			before = versions[last-1]
		}
		n.keep(by, before)
	}
}

// leaving checks and lowers the holds of what leaves: not of what comes back by its
// paper or out of a piece, nor of what goes from office to office.
func (n *naive) leaving(lot, from string, parts []part) {
	var pieces int64
	for _, p := range parts {
		if strings.HasPrefix(p.to, "customer/") || strings.HasPrefix(from, "safe") &&
			!strings.HasPrefix(p.to, "paper/T") {
			pieces += p.pieces
		}
	}
	if n.taken = nil; pieces > 0 && !n.apart && !strings.HasPrefix(from, "piece/") {
		n.takeHeld(lot, from, pieces)
	}
}

// holdActs are what is done with holds.
func (d *dealer) holdActs() []act {
	return []act{
		{"hold", 2, d.holdSome},
		{"release", 1, d.release},
		{"held", 2, d.moveHeld},
	}
}

// heldWrongly fails when a refusal names holds that no one else has.
func (d *dealer) heldWrongly(l fault.List) {
	others := slices.ContainsFunc(d.naive.openHolds(l[0].Where.Ref),
		func(h hold) bool { return h.whom != d.naive.whom })
	if l[0].Code == "held" && !others {
		d.Fatalf("%v, and nobody else holds anything of it", l)
	}
}

// holdSome holds stones for a customer: more than nobody holds is refused.
func (d *dealer) holdSome() error {
	lot := d.lot()
	if p := d.piece(); p != "" && d.draw("a piece", 0, 5) == 0 {
		lot = p
	}
	h := hold{lot: lot, whom: pick(d, "whom", customers)}
	if d.draw("until", 0, 2) == 0 {
		h.until = string(cmp.Or(d.write.On, "2026-03-02").AddDays(d.draw("days", 0, 20)))
	}
	asked := d.draw("pieces", 0, d.naive.whole(lot).pieces+1)
	var free int64 // of all that is not set in a piece
	for place, s := range d.naive.at[lot] {
		if isReal(place) && !strings.HasPrefix(place, "piece/") {
			free += s.pieces
		}
	}
	for _, x := range d.naive.openHolds(lot) {
		free -= x.pieces
		if x.whom == h.whom {
			h.pieces = x.pieces
		}
	}
	done, err := d.house.Stockroom.HoldAdd(d.ctx, stockroom.HoldAdd{Write: d.write, Lot: lot, Pieces: asked,
		For: h.whom, Until: book.Date(h.until)})
	if asked == 0 {
		asked = max(free, 0)
	}
	if may := asked > 0 && asked <= free; may == (err != nil) {
		d.Fatalf("%d of %s are held, %d were free: %v", asked, lot, free, err)
	}
	if err != nil {
		return err
	}
	h.pieces += asked
	d.naive.change(done.Entry, func() { d.naive.keep(done.Entry, h) })
	return nil
}

// someHold draws a hold of which something lies in a safe; false: there is none.
func (d *dealer) someHold() (hold, bool) {
	var open []hold
	for _, lot := range d.naive.order {
		if len(d.naive.safesOf(lot)) > 0 {
			open = append(open, d.naive.openHolds(lot)...)
		}
	}
	if len(open) == 0 {
		return hold{}, false
	}
	return pick(d, "hold", open), true
}

// release frees what is held of a lot, for one customer or for all.
func (d *dealer) release() error {
	h, any := d.someHold()
	if !any {
		return nil
	}
	r := stockroom.HoldRelease{Write: d.write, Of: h.lot}
	if d.draw("one", 0, 1) == 0 {
		r.For = pick(d, "whom", customers)
	}
	done, err := d.house.Stockroom.HoldRelease(d.ctx, r)
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		for _, x := range d.naive.openHolds(h.lot) {
			if r.For == "" || r.For == x.whom {
				x.pieces = 0
				d.naive.keep(done.Entry, x)
			}
		}
	})
	return nil
}

// moveHeld sends one piece more out on memo than is free, which is refused, and then
// just what is free, or what is held for whom it is held.
func (d *dealer) moveHeld() error {
	h, any := d.someHold()
	if !any {
		return nil
	}
	at, _ := d.safe(h.lot)
	here := d.naive.at[h.lot][at]
	whom := pick(d, "for", []string{"", h.whom, strings.TrimPrefix(h.whom, "customer/")})
	d.naive.whom = ""
	if whom != "" {
		d.naive.whom = h.whom
	}
	free := d.naive.free(h.lot, at, d.naive.whom)
	others := slices.ContainsFunc(d.naive.openHolds(h.lot), func(h hold) bool { return h.whom != d.naive.whom })
	m := d.some(h.lot, at)
	if free < here.pieces && d.draw("one more", 0, 1) == 0 {
		m.Pieces = max(1, free+1)
	} else {
		m.Pieces = min(here.pieces, max(1, free))
	}
	m = d.weighed(m, at)
	r := stockroom.MemoOut{Movement: stockroom.Movement{Write: d.write, Accept: "unequal", For: whom}, Party: d.party(),
		From: book.Place(at), Lines: stockroom.Together(m)}
	done, err := d.house.Stockroom.MemoOut(d.ctx, r)
	l, refused := fault.From(err)
	if isHeld := refused && l[0].Code == "held"; isHeld != (others && m.Pieces > free) {
		d.Fatalf("%d of %s leave %s for %q, %d are free: %v", m.Pieces, h.lot, at, whom, free, err)
	}
	if err != nil {
		return err
	}
	paper := done.Memo.Number
	d.naive.change(done.Entry, func() { d.naive.send(h.lot, at, paper, m.Pieces, int64(m.Carats)) })
	d.memos[paper] = []string{h.lot}
	d.entries = append(d.entries, done.Entry)
	return nil
}
