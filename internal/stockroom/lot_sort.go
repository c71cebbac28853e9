package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// SortPart is one new lot that a sort makes. Fields that are empty are taken
// over from the lot that is sorted.
type SortPart struct {
	Label   string // the new lot's own code; empty: the next child code
	Pieces  int64
	Carats  num.Carat
	Value   num.Money // what the whole part would bring
	Further num.Money // cost still to come before it can be sold (for NRV)
	Fixed   num.Money // pick price of a selection, or NRV of rejects: taken first
	Lot     book.Lot  // attributes that differ from the parent
}

// LotSort asks to divide a lot.
type LotSort struct {
	Movement
	Lot   string
	Place book.Place // where the pieces lie; empty: safe
	Key   book.ShareKey
	Parts []SortPart
	File  *desk.Input // further parts, with the columns of a parcel; a row's price is the part's value
}

// LotSort divides a lot into new ones. Its cost is shared by the key, the
// scale's difference goes to loss/weighing within the book's tolerance.
func (room *Room) LotSort(ctx context.Context, r LotSort) (answer.Moved, error) {
	var out answer.Moved
	if len(r.Parts) == 0 && r.File == nil {
		return out, fault.New(fault.Usage, "sort-nothing", "no parts were given",
			"give each part, with its pieces and carats").AtField("part")
	}
	r.Place = cmp.Or(r.Place, book.Safe)
	if f := inHand(r.Place); f != nil {
		return out, f
	}
	var err error
	if r.File, err = r.File.Load(); err != nil {
		return out, err
	}
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		parent, err := desk.StonesOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		parts, warnings := r.parts(tx.Meta().Currency)
		if warnings.Blocks() {
			return warnings
		}
		e := s.Entry(ledger.Sort, "sorted "+parent.Code)
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if r.Place, err = m.safeOf(ctx, r.Lot, r.Place, "place"); err != nil {
			return err
		}
		lots, err := m.divide(ctx, parent, r, parts)
		if err != nil {
			return err
		}
		out, err = m.post(ctx, lots...)
		out.Warnings = append(out.Warnings, warnings...)
		return err
	})
	return out, err
}

// parts are the parts of a sort: those of the request and those of its file.
func (r *LotSort) parts(currency num.Currency) ([]SortPart, fault.List) {
	if r.File == nil {
		return r.Parts, nil
	}
	f, faults := r.File.Open()
	if faults.Blocks() {
		return nil, faults
	}
	parcel, faults := intake.ReadParcel(f, nil, intake.Head{Book: currency, Currency: currency})
	out := slices.Clone(r.Parts)
	for _, l := range parcel.Lots {
		out = append(out, SortPart{Label: l.Label, Pieces: l.Pieces, Carats: l.Carats, Value: l.Agreed, Lot: l.Lot})
	}
	return out, faults
}

// divide fills the entry with the postings and new lots of a sort, and returns
// their codes.
func (m *mover) divide(ctx context.Context, parent answer.StockLot, r LotSort, sorted []SortPart) ([]string, error) {
	child, err := childrenOf(ctx, m.tx, parent.Lot)
	if err != nil {
		return nil, err
	}
	here := parent.At(r.Place)
	if err := m.takeHeld(ctx, parent, r.Place, here.Pieces); err != nil {
		return nil, err
	}
	var l fault.List
	parts := make([]ledger.Part, len(sorted))
	var codes []string
	lots, weights := make([]*book.Lot, len(sorted)), make([]num.Dec, len(sorted))
	for i, p := range sorted {
		lot := child(p.Lot)
		lots[i] = &lot
		lot.Label = p.Label
		if p.Label != "" {
			l.Add(book.CheckCode("a lot's", p.Label))
		}
		weight, f := shareWeight(r.Key, p)
		l.Add(f)
		parts[i] = ledger.Part{Lot: lot.Code, Pieces: p.Pieces, Carats: p.Carats, Weight: weight, Fixed: p.Fixed}
		weights[i] = weight
		codes = append(codes, lot.Code)
	}
	m.divideAgreed(parent, book.Weighed{Pieces: here.Pieces, Carats: here.Carats}, lots, weights)
	for _, lot := range lots {
		m.record(*lot)
	}
	postings, faults := ledger.Divide(here, parts, m.config.WeighingTolerance)
	l.Add(faults...)
	for _, p := range parts {
		if m.Accept == "" && !faults.Blocks() {
			l.Add(ledger.CheckMeans(here, ledger.Leaving{Pieces: p.Pieces, Carats: p.Carats}))
		}
	}
	if l.Blocks() {
		return nil, l
	}
	m.entry.Postings = append(m.entry.Postings, postings...)
	return codes, nil
}

func shareWeight(key book.ShareKey, p SortPart) (num.Dec, *fault.Fault) {
	switch key {
	case book.ByCarats, "":
		return p.Carats.Dec(), nil
	case book.ByPieces:
		return num.Int(p.Pieces), nil
	case book.ByValue:
		return p.Value.Dec(), nil
	case book.ByNRV:
		nrv := p.Value.Sub(p.Further)
		if nrv.Sign() < 0 {
			return num.Dec{}, nil // worth less than it still costs: carries nothing
		}
		return nrv.Dec(), nil
	}
	return num.Dec{}, fault.New(fault.Usage, "share-key",
		fmt.Sprintf("a sort shares cost by value, nrv, carats or pieces, not by %q", key), "write value, nrv, carats "+
			"or pieces").AtField("by")
}
