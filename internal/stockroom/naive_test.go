package stockroom_test

import (
	"cmp"
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strings"
)

// naive is a second ledger, kept beside the book by its own arithmetic: it is told
// what a person did, never what the book posted. Pieces, thousandths of a carat and
// cents are whole numbers; a place is a text.
type naive struct {
	at     map[string]map[string]sum // lot, place
	order  []string                  // lots as they came: ties of a share go by it
	safes  []string                  // of the offices: the first is where things come
	left   map[string]string         // lot and paper: the safe that it left
	last   map[string]string         // lot: the safe that it left last
	parcel map[string]string
	rates  map[string]int64              // currency -> millionths of a cent for one of its minor units
	lent   map[string]loan               // lots of lenders
	relent map[string][2]map[string]loan // entry -> lots of lenders before and after it
	mine   map[string]bool               // own lots carry cost
	undo   map[string][]dated
	all    []dated
	accounts
	holding
	entry  string  // that is being told
	apart  bool    // what leaves its lot was damaged, and stays where it was
	now    []dated // what is being told, while change runs
	on     string  // the date of what is being told
	closed string  // the last month that is closed
}

// dated is what one entry changed of one lot at one place.
type dated struct {
	on, lot, place string
	sum
}

type sum struct{ pieces, carats, cents int64 }

func (s sum) plus(o sum) sum { return sum{s.pieces + o.pieces, s.carats + o.carats, s.cents + o.cents} }
func (s sum) minus() sum     { return sum{-s.pieces, -s.carats, -s.cents} }

func newNaive() *naive {
	return &naive{at: map[string]map[string]sum{}, rates: map[string]int64{}, lent: map[string]loan{},
		relent: map[string][2]map[string]loan{}, safes: []string{"safe"}, left: map[string]string{},
		last: map[string]string{}, parcel: map[string]string{}, mine: map[string]bool{},
		holding:  holding{holds: map[string][]hold{}},
		accounts: accounts{dates: map[string]string{}, void: map[string]bool{}}, undo: map[string][]dated{}}
}

// real reports whether stones can lie at a place.
func isReal(place string) bool {
	kind, _, _ := strings.Cut(place, "/")
	return slices.Contains([]string{"safe", "paper", "cutter", "setter", "memo", "piece"}, kind)
}

func (n *naive) add(lot, place string, s sum) {
	if n.at[lot] == nil {
		n.at[lot] = map[string]sum{}
		n.order = append(n.order, lot)
	}
	n.at[lot][place] = n.at[lot][place].plus(s)
	if s.pieces < 0 && slices.Contains(n.safes, place) {
		n.last[lot] = place
	}
	n.now = append(n.now, dated{n.on, lot, place, s})
}

// change runs f and keeps what it changed under the entry's code, so that the entry
// can be taken back.
func (n *naive) change(entry string, f func()) {
	n.now, n.dates[entry], n.entry = nil, n.on, entry
	before := maps.Clone(n.lent)
	f()
	if !maps.Equal(before, n.lent) {
		n.relent[entry] = [2]map[string]loan{before, maps.Clone(n.lent)}
	}
	n.undo[entry] = append(n.undo[entry], n.now...)
	n.all = append(n.all, n.now...)
}

// reverse takes an entry back on the day that it is dated.
func (n *naive) reverse(entry, by string) {
	today := n.on
	if on := n.dates[entry]; n.closed == "" || on[:7] > n.closed {
		n.on = on
	}
	n.change(by, func() {
		for _, d := range n.undo[entry] {
			n.add(d.lot, d.place, d.minus())
		}
		n.unwrite(entry, by)
		n.unhold(entry, by)
		n.unlend(entry)
	})
	n.on = today
}

// asOf is a ledger of what was so on a day.
func (n *naive) asOf(on string) *naive {
	past := newNaive()
	for _, d := range n.all {
		if d.on <= on {
			past.add(d.lot, d.place, d.sum)
		}
	}
	return past
}

// held is the cost of all that lies anywhere, and out what left by a boundary.
func (n *naive) held() (cents int64) {
	for _, places := range n.at {
		for place, s := range places {
			if isReal(place) {
				cents += s.cents
			}
		}
	}
	return cents
}

// whole is what a lot has anywhere.
func (n *naive) whole(lot string) sum {
	var t sum
	for place, s := range n.at[lot] {
		if isReal(place) {
			t = t.plus(s)
		}
	}
	return t
}

// largest shares a total by largest remainder; ties go to the first.
func largest(total int64, weights []int64) []int64 {
	if total < 0 {
		out := largest(-total, weights)
		for i := range out {
			out[i] = -out[i]
		}
		return out
	}
	whole := new(big.Int)
	for _, w := range weights {
		whole.Add(whole, big.NewInt(w))
	}
	out := make([]int64, len(weights))
	if whole.Sign() == 0 {
		weights = slices.Repeat([]int64{1}, len(weights))
		whole = big.NewInt(int64(len(weights)))
	}
	rest := make([]*big.Int, len(weights))
	left := total
	for i, w := range weights {
		q, r := new(big.Int).QuoRem(new(big.Int).Mul(big.NewInt(total), big.NewInt(w)), whole, new(big.Int))
		out[i], rest[i] = q.Int64(), r
		left -= out[i]
	}
	for ; left > 0; left-- {
		best := -1
		for i, r := range rest {
			if r != nil && (best < 0 || r.Cmp(rest[best]) > 0) {
				best = i
			}
		}
		out[best]++
		rest[best] = nil
	}
	return out
}

// part leaves a place; a free one takes no cost while something else is left.
type part struct {
	pieces, carats int64
	free           bool
	to             string
}

// leave moves parts of a lot away from a place.
func (n *naive) leave(lot, from string, parts ...part) {
	n.leaving(lot, from, parts)
	for _, p := range parts {
		if strings.HasPrefix(p.to, "loss/") {
			n.goneLent(lot, p.pieces, p.carats)
		}
	}
	for i, c := range n.costs(lot, from, parts...) {
		moved := sum{parts[i].pieces, parts[i].carats, c}
		n.add(lot, from, moved.minus())
		n.add(lot, parts[i].to, moved)
	}
}

// costs are what parts of a lot take with them when they leave a place, by carats.
func (n *naive) costs(lot, from string, parts ...part) []int64 {
	here, all := n.at[lot][from], n.whole(lot)
	var gone sum
	weights := make([]int64, len(parts), len(parts)+1)
	carried := false
	for i, p := range parts {
		gone = gone.plus(sum{p.pieces, p.carats, 0})
		if !p.free {
			weights[i] = p.carats
			carried = carried || p.pieces > 0
		}
	}
	var cents []int64
	switch {
	case gone.pieces == here.pieces:
		if !carried {
			for i, p := range parts {
				weights[i] = p.carats
			}
		}
		cents = largest(here.cents, weights)
	default:
		cents = largest(all.cents, append(weights, all.carats-gone.carats))[:len(parts)]
		var total int64
		for _, c := range cents {
			total += c
		}
		if total > here.cents {
			cents = largest(here.cents, weights)
		}
	}
	return cents
}

// safesOf are the safes where a lot lies.
func (n *naive) safesOf(lot string) []string {
	var here []string
	for _, safe := range n.safes {
		if n.at[lot][safe].pieces > 0 {
			here = append(here, safe)
		}
	}
	return here
}

// send moves a part of a lot from a safe onto a paper, from which it comes back to
// that safe.
func (n *naive) send(lot, from, paper string, pieces, carats int64) {
	n.leave(lot, from, part{pieces, carats, false, "paper/" + paper})
	n.left[lot+" "+paper] = from
}

// home is the safe to which a lot comes back from a paper.
func (n *naive) home(lot, paper string) string {
	return cmp.Or(n.left[lot+" "+paper], n.safes[0])
}

// missing loses all that a place has of a lot: its cost is a loss, or a claim. The
// stones of a finished piece are missing with it.
func (n *naive) missing(lot, place string, claim bool) {
	here := n.at[lot][place]
	n.goneLent(lot, here.pieces, here.carats)
	n.add(lot, place, here.minus())
	if claim {
		n.add(lot, "charge/claim", sum{0, 0, here.cents})
		here.cents = 0
	}
	n.add(lot, "loss/count", here)
	if here.pieces > 0 {
		for _, in := range n.inside(lot) {
			n.missing(in, "piece/"+lot, claim)
		}
	}
}

// weigh books a scale difference: less is more in loss/weighing.
func (n *naive) weigh(lot, place string, less int64) {
	n.add(lot, place, sum{0, -less, 0})
	n.add(lot, "loss/weighing", sum{0, less, 0})
}

// charge shares an amount over what was bought with a parcel: what is held takes its
// part where it lies, what was sold or lost goes to the variance, and stones that
// were found again take nothing.
func (n *naive) charge(parcel, from string, cents int64, key func(sum) int64) {
	type spot struct {
		lot, place string
		sum
	}
	var spots []spot
	for _, lot := range n.order {
		if n.parcel[lot] != parcel || !n.own(lot) {
			continue
		}
		var found sum
		first := len(spots)
		for _, place := range slices.Sorted(maps.Keys(n.at[lot])) {
			s := n.at[lot][place]
			lost := place == "loss/breakage" || place == "loss/count" || place == "charge/claim" ||
				strings.HasPrefix(place, "customer/")
			switch {
			case lost && (s.pieces < 0 || s.carats < 0):
				found.pieces -= min(0, s.pieces)
				found.carats -= min(0, s.carats)
			case lost && s != (sum{}) || isReal(place) && s.pieces > 0:
				spots = append(spots, spot{lot, place, s})
			}
		}
		for _, real := range []bool{false, true} {
			for i := first; i < len(spots); i++ {
				if s := &spots[i]; isReal(s.place) == real && !strings.HasPrefix(s.place, "customer/") {
					p, c := min(found.pieces, s.pieces), min(found.carats, s.carats)
					s.pieces, s.carats = s.pieces-p, s.carats-c
					found.pieces, found.carats = found.pieces-p, found.carats-c
				}
			}
		}
	}
	weights := make([]int64, len(spots))
	for i, s := range spots {
		weights[i] = key(s.sum)
	}
	for i, c := range largest(cents, weights) {
		s, place := spots[i], spots[i].place
		if !isReal(place) {
			place = "charge/variance"
		}
		if isReal(place) && s.cents+c < 0 { // a rebate takes no more off than there is
			n.add(s.lot, "charge/variance", sum{0, 0, s.cents + c})
			n.add(s.lot, place, sum{0, 0, -s.cents})
		} else {
			n.add(s.lot, place, sum{0, 0, c})
		}
		n.add(s.lot, from, sum{0, 0, -c})
	}
}

// String is everything that lies anywhere or went through a boundary, a line for
// each lot and place.
func (n *naive) String() string { return n.lines(func(string) bool { return true }) }

func (n *naive) lines(of func(place string) bool) string {
	var lines []string
	for lot, places := range n.at {
		for place, s := range places {
			if s != (sum{}) && of(place) {
				lines = append(lines, fmt.Sprintf("%s %s %d %d %d", lot, place, s.pieces, s.carats, s.cents))
			}
		}
	}
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}
