package stockroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// trailer follows stones through the lots that they were in.
type trailer struct {
	ctx      context.Context
	tx       store.ReadTx
	parties  *desk.Parties
	reversed map[string]string
	lots     map[string]*trailLot // by folded code
}

// trailLot is a lot of a trail, the lots that its stones came from, and those that
// they went into.
type trailLot struct {
	answer.StockLot
	from, into []string // folded codes
	steps      []answer.TrailStep
}

// lotTrail follows the stones of a lot back to the lots that they came from, and on
// into those that they became: what was sorted, split, merged, cut or bought out of
// it. Entries that were reversed are left out.
func lotTrail(ctx context.Context, tx store.ReadTx, code string) ([]answer.TrailLot, error) {
	t := trailer{ctx: ctx, tx: tx, lots: map[string]*trailLot{}}
	var err error
	if t.parties, err = desk.ReadParties(ctx, tx); err != nil {
		return nil, err
	}
	if t.reversed, err = tx.Reversals(ctx); err != nil {
		return nil, err
	}
	start := strings.ToLower(code)
	if err := t.follow(start, func(l *trailLot) []string { return l.from }); err != nil {
		return nil, err
	}
	if err := t.follow(start, func(l *trailLot) []string { return l.into }); err != nil {
		return nil, err
	}
	return t.tree(), nil
}

// follow reads a lot and all that next leads to.
func (t *trailer) follow(code string, next func(*trailLot) []string) error {
	open, seen := []string{code}, map[string]bool{}
	for len(open) > 0 {
		at := open[0]
		open = open[1:]
		if seen[at] {
			continue
		}
		seen[at] = true
		l, err := t.read(at)
		if err != nil {
			return err
		}
		open = append(open, next(l)...)
	}
	return nil
}

// read reads one lot with its steps.
func (t *trailer) read(code string) (*trailLot, error) {
	if l := t.lots[code]; l != nil {
		return l, nil
	}
	s, err := desk.StockOf(t.ctx, t.tx, code)
	if err != nil {
		return nil, err
	}
	l := &trailLot{StockLot: s}
	t.lots[code] = l
	entries, err := t.tx.Entries(t.ctx, store.EntryFilter{Lot: s.Code})
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if e.Reverses != "" || t.reversed[e.Code] != "" {
			continue
		}
		from, into, err := t.links(e, s.Lot)
		if err != nil {
			return nil, err
		}
		set, err := t.setInto(e, s.Lot)
		if err != nil {
			return nil, err
		}
		l.from, l.into = joined(l.from, from), joined(joined(l.into, into), set)
		if what := t.words(e, s.Code, from, into); what != "" {
			l.steps = append(l.steps, answer.TrailStep{Entry: e.Code, On: e.PostedOn, What: what})
		}
	}
	if s.IsPiece() {
		stones, err := t.stonesOf(s.Lot)
		l.from = joined(l.from, stones)
		return l, err
	}
	return l, nil
}

// setInto are the finished pieces that an entry put stones of a lot into.
func (t *trailer) setInto(e ledger.Entry, lot book.Lot) ([]string, error) {
	var out []string
	for _, p := range e.Postings {
		if p.Place.Kind() != book.AtPiece || p.Pieces <= 0 || !strings.EqualFold(p.Lot, lot.Code) {
			continue
		}
		if is, err := desk.IsPiece(t.ctx, t.tx, p.Place.Name()); err != nil {
			return nil, err
		} else if is { // older books have pieces that are no lots
			out = append(out, p.Place.Name())
		}
	}
	return out, nil
}

// stonesOf are the lots that a piece was given stones of: those that are in it, and
// those that the setter's work names.
func (t *trailer) stonesOf(piece book.Lot) ([]string, error) {
	held, err := desk.StonesIn(t.ctx, t.tx, piece.Inside())
	if err != nil {
		return nil, err
	}
	var out []string
	for _, b := range held {
		out = append(out, b.Lot)
	}
	err = store.EachRow(t.ctx, t.tx, store.RowFilter{Ref: book.ToPiece(piece.Code)},
		func(r store.Row, w book.Work) error {
			if w.Set > 0 && !w.Reversed && t.reversed[r.Since] == "" {
				out = append(out, w.Lot)
			}
			return nil
		})
	return out, err
}

// joined adds what is new.
func joined(to, more []string) []string {
	for _, m := range more {
		if k := strings.ToLower(m); !slices.Contains(to, k) {
			to = append(to, k)
		}
	}
	return to
}

// links are the lots that an entry took stones of lot from, and those that it put
// them into: a lot that lost pieces gave them to one that gained some, to its own
// child where the entry has several.
func (t *trailer) links(e ledger.Entry, lot book.Lot) (from, into []string, err error) {
	if lot.IsPiece() { // its stones are its own: see stonesOf
		return nil, nil, nil
	}
	net := map[string]int64{}
	var order []string
	for _, p := range e.Postings {
		if !p.Place.IsReal() {
			continue
		}
		if _, known := net[p.Lot]; !known {
			order = append(order, p.Lot)
		}
		net[p.Lot] += p.Pieces
	}
	for _, other := range order {
		if strings.EqualFold(other, lot.Code) || net[other]*net[lot.Code] >= 0 {
			continue
		}
		if is, err := desk.IsPiece(t.ctx, t.tx, other); err != nil {
			return nil, nil, err
		} else if is {
			continue
		}
		child, parent := lot, other
		if net[other] > 0 {
			if child, err = store.Get[book.Lot](t.ctx, t.tx, other); err != nil {
				return nil, nil, err
			}
			parent = lot.Code
		}
		named := slices.ContainsFunc(order, func(o string) bool {
			return strings.EqualFold(o, child.Parent) && net[o] < 0
		})
		if e.Kind != ledger.Merge && named && !strings.EqualFold(child.Parent, parent) {
			continue
		}
		if net[other] > 0 {
			into = append(into, other)
		} else {
			from = append(from, other)
		}
	}
	return from, into, nil
}

// words say what an entry did with a lot: how much went from where to where; empty
// when nothing of it moved.
func (t *trailer) words(e ledger.Entry, lot string, from, into []string) string {
	var pieces int64
	var carats num.Carat
	left, came := []string{}, []string{}
	for _, p := range e.Postings {
		if !strings.EqualFold(p.Lot, lot) || p.Pieces == 0 {
			continue
		}
		if p.Pieces < 0 {
			left = append(left, t.place(p.Place))
		} else {
			came = append(came, t.place(p.Place))
		}
		if p.Pieces > 0 == (len(into) == 0) {
			pieces += max(p.Pieces, -p.Pieces)
			carats += max(p.Carats, -p.Carats)
		}
	}
	if len(left)+len(came) == 0 {
		return ""
	}
	if len(left) == 0 {
		left = from
	}
	if len(into) > 0 {
		came = append(came, into...)
	}
	return fmt.Sprintf("%s: %d pieces, %s ct, %s -> %s", e.Kind, pieces, carats, strings.Join(left, ", "),
		strings.Join(came, ", "))
}

// place is a place in words, a paper with the party that it is with.
func (t *trailer) place(p book.Place) string {
	if party, err := t.parties.At(t.ctx, t.tx, p); err == nil && party != "" && p.Kind() == book.AtPaper {
		return string(p) + " (" + party + ")"
	}
	return string(p)
}

// tree is the lots, each below those that it came from.
func (t *trailer) tree() []answer.TrailLot {
	out := []answer.TrailLot{}
	var codes []string
	for code := range t.lots {
		codes = append(codes, code)
	}
	slices.Sort(codes)
	done := map[string]bool{}
	var add func(code string, depth int)
	add = func(code string, depth int) {
		l := t.lots[code]
		if l == nil || done[code] {
			return
		}
		done[code] = true
		x := answer.TrailLot{Lot: l.Code, Name: l.Called(), Depth: depth, From: []string{}, Pieces: l.Pieces,
			Carats: l.Carats, Steps: append([]answer.TrailStep{}, l.steps...)}
		for _, f := range l.from {
			if parent := t.lots[f]; parent != nil {
				x.From = append(x.From, parent.Code)
			}
		}
		out = append(out, x)
		for _, next := range l.into {
			add(next, depth+1)
		}
	}
	for _, code := range codes {
		if len(t.lots[code].from) == 0 {
			add(code, 0)
		}
	}
	return out
}
