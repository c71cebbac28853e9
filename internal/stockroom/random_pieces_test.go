package stockroom_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// jewels are a dealer's finished pieces, and who is paid for what.
type jewels struct {
	parties map[string]string // of tickets
	pieces  []string
	outWith map[string]string // tickets -> the piece that is out on it
	charges map[string]charged
	counts  int // sheets that were filled in and booked
}

// pieceActs are what is done with finished pieces.
func (d *dealer) pieceActs() []act {
	return []act{
		{"set", 3, d.setStones},
		{"piece add", 1, d.pieceAdd},
		{"piece out", 3, d.pieceOut},
		{"piece back", 3, d.pieceBack},
		{"piece memo", 2, d.pieceMemo},
		{"piece sent", 3, d.pieceSent},
		{"piece lost", 1, d.losePiece},
		{"unset", 3, d.unset},
	}
}

// euros is an amount of so many cents.
func euros(cents int64) num.Money { return num.FromMinor(cents, "EUR") }

// paid is an amount of so many cents; of 0 it is no amount.
func paid(cents int64) stockroom.Paid {
	if cents == 0 {
		return stockroom.Paid{}
	}
	return stockroom.Paid{Amount: euros(cents)}
}

// cost puts cents of a kind of charge on a finished piece, where it lies.
func (n *naive) cost(piece, kind string, cents int64) {
	if cents == 0 {
		return
	}
	n.add(piece, "charge/"+kind, sum{0, 0, -cents})
	n.add(piece, n.placeOf(piece), sum{0, 0, cents})
}

// placeOf is where a lot of one piece lies; empty: nowhere.
func (n *naive) placeOf(lot string) string {
	for place, s := range n.at[lot] {
		if isReal(place) && s.pieces > 0 {
			return place
		}
	}
	return ""
}

// lying are the lots of which stones lie at a place, as they came.
func (n *naive) lying(place string) []string {
	return slices.DeleteFunc(slices.Clone(n.order), func(lot string) bool { return n.at[lot][place].pieces == 0 })
}

// inside are the lots of which stones lie in a piece.
func (n *naive) inside(piece string) []string { return n.lying("piece/" + piece) }

// away moves a finished piece out of the book, and its stones with it, each with all
// the cost that it has in the piece; it returns what left.
func (n *naive) away(piece, from, to string) []soldPart {
	cents := n.at[piece][from].cents
	n.leave(piece, from, part{1, 0, false, to})
	out := []soldPart{{piece, from, sum{1, 0, cents}}}
	for _, lot := range n.inside(piece) {
		s := n.at[lot]["piece/"+piece]
		if strings.HasPrefix(to, "loss/") {
			n.goneLent(lot, s.pieces, s.carats)
		}
		n.add(lot, "piece/"+piece, s.minus())
		n.add(lot, to, s)
		out = append(out, soldPart{lot, "piece/" + piece, s})
	}
	return out
}

// pieces says what is wrong with the finished pieces: stones lie in a piece only while
// it lies somewhere itself, once.
func (n *naive) pieces() string {
	for lot, places := range n.at {
		for place, s := range places {
			name, in := strings.CutPrefix(place, "piece/")
			if in && s.pieces > 0 && n.whole(name).pieces != 1 {
				return fmt.Sprintf("%d of %s lie in %s, which has %v", s.pieces, lot, name, n.whole(name))
			}
		}
	}
	return ""
}

// piece draws a finished piece, mostly one in the safe; empty: there is none.
func (d *dealer) piece() string {
	here := slices.DeleteFunc(slices.Clone(d.pieces), func(p string) bool {
		return len(d.naive.safesOf(p)) == 0
	})
	switch {
	case len(here) > 0 && d.draw("here", 0, 9) > 0:
		return pick(d, "piece", here)
	case len(d.pieces) > 0:
		return pick(d, "piece", d.pieces)
	}
	return ""
}

// lotAt draws a lot, mostly one that lies in a safe.
func (d *dealer) lotAt(safe string) string {
	here := slices.DeleteFunc(slices.Clone(d.lots), func(l string) bool { return d.naive.at[l][safe].pieces == 0 })
	if len(here) > 0 && d.draw("here", 0, 19) > 0 {
		return pick(d, "lot", here)
	}
	return d.lot()
}

// setStones brings stones of a ticket back set into a piece: a new one, or one that
// there is; of the rest some may break, and some may come back unset.
func (d *dealer) setStones() error {
	paper, lot, ok := d.paper(d.tickets)
	if !ok {
		return nil
	}
	from := "paper/" + paper
	here := d.naive.at[lot][from]
	set := d.draw("set", 1, max(1, here.pieces+1))
	if set > 3 && d.draw("few", 0, 4) > 0 {
		set = 1 + set%3
	}
	line := stockroom.WorkLine{Moving: stockroom.Moving{Lot: lot}, Set: set}
	if here.pieces > set {
		line.Broken.Pieces = d.draw("broken", 0, 2) / 2
		if rest := here.pieces - set - line.Broken.Pieces; rest > 0 && d.draw("unset", 0, 1) == 0 {
			line.Pieces, line.Carats = rest, num.Carat(here.carats*rest/here.pieces)
		}
	}
	metal, making := d.draw("metal", 0, 3)*d.draw("cents", 1, 40_000), d.draw("making", 0, 9_000)
	into := stockroom.NewPiece
	if p := d.outWith[paper]; p != "" {
		into = p
	} else if p := d.piece(); p != "" && d.draw("into", 0, 2) == 0 {
		into = p
	}
	done, err := d.house.Stockroom.WorkBack(d.ctx, stockroom.WorkBack{Movement: d.moving(), Ticket: paper,
		Lines: []stockroom.WorkLine{line}, Piece: into, Jewel: book.Jewel{Is: "ring"}, Metal: paid(metal),
		Making: paid(making)})
	if err != nil {
		return err
	}
	piece := done.Pieces[0].Piece
	d.naive.change(done.Entry, func() {
		if into == stockroom.NewPiece {
			d.naive.add(piece, "made/piece", sum{-1, 0, 0})
			d.naive.add(piece, d.naive.home(lot, paper), sum{1, 0, 0})
			d.pieces = append(d.pieces, piece)
		}
		broken, back := line.Broken.Pieces, line.Pieces
		// what nobody can weigh any more weighs what is missing, or its part of the mean
		known, weights := here.carats-int64(line.Carats), []int64{broken, set}
		if broken+back+set < here.pieces {
			known, weights = here.carats, []int64{broken, set, here.pieces - broken - set}
		}
		if broken == 0 {
			weights = weights[1:]
		}
		shares := largest(known, weights)
		var parts []part
		if broken > 0 {
			parts = append(parts, part{broken, shares[0], true, "loss/breakage"})
			shares = shares[1:]
		}
		if back > 0 {
			parts = append(parts, part{back, int64(line.Carats), false, d.naive.home(lot, paper)})
		}
		d.naive.leave(lot, from, append(parts, part{set, shares[0], false, "piece/" + piece})...)
		if d.naive.at[piece][from].pieces > 0 {
			d.naive.leave(piece, from, part{1, 0, false, d.naive.home(piece, paper)})
		}
		d.naive.cost(piece, "metal", metal)
		d.naive.cost(piece, "making", making)
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// pieceOut gives a piece out for work: alone, to be repaired, or with stones that are
// set into it.
func (d *dealer) pieceOut() error {
	piece := d.piece()
	if piece == "" {
		return nil
	}
	party := d.party()
	at, named := d.safe(piece)
	r := stockroom.WorkOut{Movement: d.moving(), Party: party, From: named, Work: book.WorkRepair,
		Lots: []stockroom.Moving{{Lot: piece}}}
	var with stockroom.Moving
	if d.draw("with", 0, 1) == 0 {
		with = d.some(d.lotAt(at), at)
		r.Work, r.Into, r.From, r.Lots = book.WorkSet, piece, book.Place(at), []stockroom.Moving{with}
	}
	done, err := d.house.Stockroom.WorkOut(d.ctx, r)
	if err != nil {
		return err
	}
	paper := done.Ticket.Number
	d.parties[paper] = party
	d.naive.change(done.Entry, func() {
		if with.Lot != "" {
			d.naive.send(with.Lot, at, paper, with.Pieces, int64(with.Carats))
			d.tickets[paper] = []string{with.Lot}
		}
		d.naive.send(piece, at, paper, 1, 0)
	})
	d.outWith[paper] = piece
	d.entries = append(d.entries, done.Entry)
	return nil
}

// pieceBack takes a piece back from work, with what the work cost; broken pieces are
// lost, and their stones with them.
func (d *dealer) pieceBack() error {
	if len(d.outWith) == 0 {
		return nil
	}
	papers := slices.Sorted(maps.Keys(d.outWith))
	out := slices.DeleteFunc(slices.Clone(papers), func(p string) bool {
		return d.naive.at[d.outWith[p]]["paper/"+p].pieces == 0
	})
	if len(out) > 0 && d.draw("out", 0, 9) > 0 {
		papers = out
	}
	paper := pick(d, "paper", papers)
	piece, from := d.outWith[paper], "paper/"+paper
	making := d.draw("making", 0, 5_000)
	lost := d.draw("lost", 0, 7) == 0
	line := stockroom.WorkLine{Moving: stockroom.Moving{Lot: piece, Pieces: 1}}
	if lost {
		making, line = 0, stockroom.WorkLine{Moving: stockroom.Moving{Lot: piece}, Broken: book.Weighed{Pieces: 1}}
	}
	done, err := d.house.Stockroom.WorkBack(d.ctx, stockroom.WorkBack{Movement: d.moving(), Ticket: paper,
		Lines: []stockroom.WorkLine{line}, Making: paid(making)})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		if lost {
			d.naive.away(piece, from, "loss/breakage")
			return
		}
		d.naive.leave(piece, from, part{1, 0, false, d.naive.home(piece, paper)})
		d.naive.cost(piece, "making", making)
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// pieceAdd takes a bought piece into stock, or one that was there, with stones of the
// safe that are in it.
func (d *dealer) pieceAdd() error {
	price := d.draw("price", 1, 90_000)
	r := stockroom.PieceAdd{Movement: d.moving(), Jewel: book.Jewel{Is: "pendant"}}
	metal, making := int64(0), int64(0)
	if d.draw("bought", 0, 1) == 0 {
		r.Vendor, r.Price = "V", paid(price)
	} else {
		metal, making, price = price, d.draw("making", 0, 9_000), 0
		r.Metal, r.Making = paid(metal), paid(making)
	}
	at := d.naive.safes[0]
	for i := range d.draw("lots", 0, 2) {
		lot := d.lotAt(at)
		if i == 0 {
			at, r.Office = d.safe(lot)
		} else {
			r.Office = book.Place(at)
		}
		r.Lots = append(r.Lots, d.some(lot, at))
	}
	done, err := d.house.Stockroom.PieceAdd(d.ctx, r)
	if err != nil {
		return err
	}
	piece := done.Piece.Piece
	d.naive.change(done.Entry, func() {
		from := "made/piece"
		if price > 0 {
			from = "vendor/V"
		}
		d.naive.add(piece, from, sum{-1, 0, -price})
		d.naive.add(piece, at, sum{1, 0, price})
		d.naive.cost(piece, "metal", metal)
		d.naive.cost(piece, "making", making)
		for _, m := range r.Lots {
			d.naive.leave(m.Lot, at, part{m.Pieces, int64(m.Carats), false, "piece/" + piece})
		}
	})
	d.pieces = append(d.pieces, piece)
	d.entries = append(d.entries, done.Entry)
	return nil
}

// unset takes stones out of a piece: some break, and what comes out may be damaged.
func (d *dealer) unset() error {
	piece := d.piece()
	if piece == "" || len(d.naive.inside(piece)) == 0 {
		return nil
	}
	lot, from := pick(d, "lot", d.naive.inside(piece)), "piece/"+piece
	here := d.naive.at[lot][from]
	line := stockroom.UnsetLine{Moving: d.some(lot, from)}
	broken := d.draw("broken", 0, min(1, here.pieces-1))
	if line.Pieces+broken == here.pieces {
		line.Carats += num.Carat(d.draw("scale", -20, 20))
	}
	line.Broken.Pieces = broken
	if d.draw("damaged", 0, 3) == 0 {
		line.Damaged = "chipped"
	}
	making := d.draw("making", 0, 2) * d.draw("cents", 1, 999)
	at := d.naive.placeOf(piece)
	done, err := d.house.Stockroom.PieceUnset(d.ctx, stockroom.PieceUnset{Movement: d.moving(), Piece: piece,
		Lines: []stockroom.UnsetLine{line}, Making: paid(making)})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		out, all := int64(line.Carats), line.Pieces+broken == here.pieces
		var parts []part
		if broken > 0 {
			w := here.carats - out
			if !all {
				w = largest(here.carats, []int64{broken, here.pieces - broken})[0]
			}
			parts = append(parts, part{broken, w, true, "loss/breakage"})
		} else if all && out != here.carats {
			d.naive.weigh(lot, from, here.carats-out)
		}
		d.naive.leave(lot, from, append(parts, part{line.Pieces, out, false, at})...)
		if line.Damaged != "" && line.Pieces != d.naive.whole(lot).pieces {
			child := done.Lots[len(done.Lots)-1]
			d.naive.apart = true
			d.become(at, lot, child, line.Pieces, out)
			d.naive.apart = false
			d.child(child, lot)
		}
		d.naive.cost(piece, "making", making)
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// pieceMemo gives a piece out on memo.
func (d *dealer) pieceMemo() error {
	piece := d.piece()
	if piece == "" {
		return nil
	}
	at, named := d.safe(piece)
	done, err := d.house.Stockroom.MemoOut(d.ctx, stockroom.MemoOut{Movement: d.moving(), Party: d.party(), From: named,
		Lines: stockroom.Together(stockroom.Moving{Lot: piece})})
	if err != nil {
		return err
	}
	paper := done.Memo.Number
	d.naive.change(done.Entry, func() { d.naive.send(piece, at, paper, 1, 0) })
	d.memos[paper] = []string{piece}
	d.entries = append(d.entries, done.Entry)
	return nil
}

// losePiece books a piece that is missing or broken in the safe: its stones are gone
// with it.
func (d *dealer) losePiece() error {
	piece := d.piece()
	if piece == "" {
		return nil
	}
	to := pick(d, "loss", []book.Place{book.LossBreakage, book.LossCount})
	at, named := d.safe(piece)
	done, err := d.house.Stockroom.LotAdjust(d.ctx, stockroom.LotAdjust{Movement: d.moving(), Lot: piece, Place: named,
		Pieces: -1, To: to})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() { d.naive.away(piece, at, string(to)) })
	d.entries = append(d.entries, done.Entry)
	return nil
}

// pieceSent sends a piece to another office; the act is none where there is one.
func (d *dealer) pieceSent() error {
	piece := d.piece()
	if piece == "" || len(d.naive.safes) == 1 {
		return nil
	}
	at, named := d.safe(piece)
	to := pick(d, "to", d.naive.safes)
	done, err := d.house.Stockroom.StockMove(d.ctx, stockroom.StockMove{Movement: d.moving(), From: named,
		To: book.Place(to), Lots: []stockroom.Moving{{Lot: piece}}})
	if err != nil {
		return err
	}
	paper := done.Transfer.Number
	d.transfers[paper], d.to[paper] = []string{piece}, to
	d.naive.change(done.Entry, func() { d.naive.send(piece, at, paper, 1, 0) })
	d.entries = append(d.entries, done.Entry)
	return nil
}
