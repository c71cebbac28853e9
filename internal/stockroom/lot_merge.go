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
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// LotMerge asks to put lots together into a new one.
type LotMerge struct {
	Movement
	Lots  []string
	Place book.Place // empty: safe
	Label string
}

// LotMerge puts all that two or more lots have at one place into a new lot.
// Only lots of one owner, species, treatment and shape go together: a merged
// lot claims what each of its parts claimed.
func (room *Room) LotMerge(ctx context.Context, r LotMerge) (answer.Moved, error) {
	var out answer.Moved
	r.Place = cmp.Or(r.Place, book.Safe)
	if len(r.Lots) < 2 {
		return out, fault.New(fault.Usage, "merge-few", "a merge needs two lots or more", "name them").AtField("lots")
	}
	if f := inHand(r.Place); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Merge, "merged "+strings.Join(r.Lots, ", "))
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if r.Place, err = m.safeOf(ctx, r.Lots[0], r.Place, "place"); err != nil {
			return err
		}
		var merged book.Lot
		var sum ledger.Total
		var l fault.List
		seen := map[string]bool{}
		for i, code := range r.Lots {
			lot, err := desk.StonesOf(ctx, tx, code)
			if err != nil {
				return err
			}
			if seen[lot.Code] {
				l.Add(fault.New(fault.Usage, "merge-twice", lot.Code+" is named twice", "name each lot once").
					AtRef(lot.Code))
			}
			seen[lot.Code] = true
			if i == 0 {
				child, err := childrenOf(ctx, tx, lot.Lot)
				if err != nil {
					return err
				}
				merged = child(book.Lot{Prices: lot.Prices})
				merged.Label = r.Label
			} else {
				l.Add(mergeFault(merged, lot.Lot))
				widen(&merged, lot.Lot)
			}
			b := lot.At(r.Place)
			if b.Pieces == 0 {
				l.Add(fault.New(fault.Refused, "merge-empty", lot.Code+" has nothing at "+string(r.Place),
					"see where it is").AtRef(lot.Code).Do("lot", "show", lot.Code))
				continue
			}
			if err := m.takeHeld(ctx, lot, r.Place, b.Pieces); err != nil {
				return err
			}
			if err := m.holdOn(ctx, lot.Code, merged.Code); err != nil {
				return err
			}
			if lot.Owner != merged.Owner {
				continue // told above
			}
			l.Add(m.mergeAgreed(&merged, lot, book.Weighed{Pieces: b.Pieces, Carats: b.Carats}, i == 0))
			p := ledger.Posting{Lot: lot.Code, Place: r.Place, Pieces: -b.Pieces, Carats: -b.Carats, Cost: b.Cost.Neg()}
			e.Postings = append(e.Postings, p)
			sum = sum.Add(p)
		}
		if l.Blocks() {
			return l
		}
		e.Postings = append(e.Postings, ledger.Posting{Lot: merged.Code, Place: r.Place, Pieces: -sum.Pieces,
			Carats: -sum.Carats, Cost: sum.Cost.Neg()})
		m.record(merged)
		out, err = m.post(ctx, merged.Code)
		return err
	})
	return out, err
}

func mergeFault(first, lot book.Lot) *fault.Fault {
	if first.Parcel != lot.Parcel && first.Owner == lot.Owner {
		return fault.New(fault.Refused, "merge-parcels",
			fmt.Sprintf("%s came with parcel %s, the others with %s: a later "+
				"charge on one parcel could not find its stones among the others", lot.Code, lot.Parcel, first.Parcel),
			"keep the lots apart, or plan and sell them together").AtRef(lot.Code)
	}
	for _, d := range []struct{ what, a, b string }{
		{"owner", string(first.Owner), string(lot.Owner)},
		{"species", first.Species, lot.Species},
		{"variety", first.Variety, lot.Variety},
		{"name", first.Called(), lot.Called()},
		{"treatment", first.Facets.Treatment.Value, lot.Facets.Treatment.Value},
		{"nature", first.Facets.Nature.Value, lot.Facets.Nature.Value},
		{"shape", first.Shape, lot.Shape},
		{"fence", first.Fence(), lot.Fence()},
	} {
		if d.a != d.b {
			return fault.New(fault.Refused, "merge-differs", fmt.Sprintf("%s differs in %s: %q against %q", lot.Code,
				d.what, d.b, d.a), "merge only lots that claim the same").AtRef(lot.Code)
		}
	}
	return nil
}

// widen makes the merged lot's size ranges hold those of lot too.
func widen(merged *book.Lot, lot book.Lot) {
	for _, d := range []struct {
		to   *book.Size
		from book.Size
	}{{&merged.Length, lot.Length}, {&merged.Width, lot.Width}, {&merged.Depth, lot.Depth}} {
		if d.from.IsZero() || d.to.IsZero() {
			*d.to = book.Size{} // one unknown makes the whole unknown
			continue
		}
		d.to.Min = min(d.to.Min, d.from.Min)
		d.to.Max = max(d.to.Max, d.from.Max)
	}
	merged.Calibrated = merged.Calibrated && lot.Calibrated
	merged.Estimated = merged.Estimated || lot.Estimated
	if merged.Color != lot.Color {
		merged.Color = ""
	}
	if merged.Clarity != lot.Clarity {
		merged.Clarity = ""
	}
	if merged.Prices != nil && (lot.Prices == nil || *merged.Prices != *lot.Prices) {
		merged.Prices = nil
	}
}
