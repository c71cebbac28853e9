package desk

import (
	"context"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// CutterRecord reads from the ledger what a cutter was given and what came back
// of it, over all orders. Entries that were reversed do not count.
func CutterRecord(ctx context.Context, tx store.ReadTx, parties *Parties, orders []book.Order,
	cutter string) ([]cutting.CutterRecord, error) {
	var out []cutting.CutterRecord
	seen := map[string]bool{}
	for _, o := range orders {
		if !parties.Same(o.Cutter, cutter) {
			continue
		}
		for _, s := range o.Supplied {
			key := strings.ToLower(s.Lot) + string(o.Place()) // old orders of a cutter share one
			if seen[key] {
				continue
			}
			seen[key] = true
			entries, err := tx.Entries(ctx, store.EntryFilter{Lot: s.Lot})
			if err != nil {
				return nil, err
			}
			reversed := map[string]bool{}
			for _, e := range entries {
				reversed[e.Reverses] = true
			}
			for _, e := range entries {
				if e.Kind != ledger.Cut || reversed[e.Code] {
					continue
				}
				if r := recordOf(e, s.Lot, o.Place()); r.Stones > 0 {
					out = append(out, r)
				}
			}
		}
	}
	return out, nil
}

// recordOf reads one cutting: what went back uncut was not cut.
func recordOf(e ledger.Entry, lot string, at book.Place) cutting.CutterRecord {
	var r cutting.CutterRecord
	for _, p := range e.Postings {
		same := strings.EqualFold(p.Lot, lot)
		switch {
		case same && p.Place == at || same && p.Place == book.Safe:
			r.Stones -= p.Pieces
			r.CaratsIn -= p.Carats
		case same && p.Place == book.LossBreakage:
			r.Broken += p.Pieces
		case !same && p.Place == book.Safe:
			r.CaratsOut += p.Carats
		}
	}
	return r
}
