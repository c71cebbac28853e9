package desk

import (
	"context"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// CutterRecord reads what a cutter was given and what came back of it, over all
// orders: from the batches that stand, and from the entries of the time before
// there were batches. What was reversed does not count.
func CutterRecord(ctx context.Context, tx store.ReadTx, parties *Parties, orders []book.Order,
	cutter string) ([]cutting.CutterRecord, error) {
	if cutter == "" {
		return nil, nil
	}
	var own []book.Order
	for _, o := range orders {
		if parties.Same(o.Cutter, cutter) && o.State != "draft" {
			own = append(own, o)
		}
	}
	var out []cutting.CutterRecord
	batched := map[string]bool{} // entries
	for _, o := range own {
		batches, err := BatchesOf(ctx, tx, book.ToPaper(o.Number))
		if err != nil {
			return nil, err
		}
		for _, b := range batches {
			batched[b.Entry] = true
			records, err := recordsOfBatch(ctx, tx, o, b.Batch)
			if err != nil {
				return nil, err
			}
			out = append(out, records...)
		}
	}
	seen := map[string]bool{}
	for _, o := range own {
		if o.At != "" {
			continue
		}
		for _, s := range o.Supplied {
			key := strings.ToLower(s.Lot) + string(o.Place()) // old orders of a cutter share one
			if seen[key] {
				continue
			}
			seen[key] = true
			records, err := recordsOfEntries(ctx, tx, s.Lot, o.Place(), batched)
			if err != nil {
				return nil, err
			}
			out = append(out, records...)
		}
	}
	return out, nil
}

// recordsOfBatch are what a batch says of each lot that was worked on.
func recordsOfBatch(ctx context.Context, tx store.ReadTx, o book.Order, b book.Batch) ([]cutting.CutterRecord, error) {
	var out []cutting.CutterRecord
	at := map[string]int{}
	days := int64(0)
	if sent := o.SentOn; sent != "" {
		days = b.On.DaysSince(sent)
	}
	for _, l := range b.Lines {
		i, known := at[strings.ToLower(l.Lot)]
		if !known {
			i = len(out)
			at[strings.ToLower(l.Lot)] = i
			out = append(out, cutting.CutterRecord{Days: days})
			if l.Lot != "" {
				lot, err := store.Get[book.Lot](ctx, tx, l.Lot)
				if err != nil {
					return nil, err
				}
				out[i].Material = lot.Name()
			}
		}
		r := &out[i]
		if item := o.Item(l.Item); item != nil && r.Shape == "" {
			r.Shape = item.Shape
		}
		switch l.Outcome {
		case book.Accepted, book.Rejected:
			if r.Shape == "" && l.Into != "" {
				made, err := store.Get[book.Lot](ctx, tx, l.Into)
				if err != nil {
					return nil, err
				}
				r.Shape = made.Shape
			}
			r.Stones += l.Off.Pieces
			r.CaratsIn += l.Off.Carats
			r.CaratsOut += l.Carats
			if l.Outcome == book.Rejected {
				r.Rejected += l.Off.Pieces
			}
		case book.Broken:
			r.Stones += l.Off.Pieces
			r.Broken += l.Off.Pieces
			r.CaratsIn += l.Off.Carats
		case book.Chips, book.Rough:
			r.CaratsIn += l.Off.Carats
		case book.Missing:
			r.Lost += l.Off.Pieces
		}
	}
	return out, nil
}

// recordsOfEntries reads what was cut of a lot from the ledger.
func recordsOfEntries(ctx context.Context, tx store.ReadTx, lot string, at book.Place,
	batched map[string]bool) ([]cutting.CutterRecord, error) {
	entries, err := tx.Entries(ctx, store.EntryFilter{Lot: lot})
	if err != nil {
		return nil, err
	}
	reversed := map[string]bool{}
	for _, e := range entries {
		reversed[e.Reverses] = true
	}
	var out []cutting.CutterRecord
	for _, e := range entries {
		if e.Kind != ledger.Cut || reversed[e.Code] || batched[e.Code] {
			continue
		}
		if r := recordOf(e, lot, at); r.Stones > 0 {
			out = append(out, r)
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
		case same && (p.Place == at || p.Place.Kind() == book.AtOffice):
			r.Stones -= p.Pieces
			r.CaratsIn -= p.Carats
		case same && p.Place == book.LossBreakage:
			r.Broken += p.Pieces
		case !same && p.Place.Kind() == book.AtOffice:
			r.CaratsOut += p.Carats
		}
	}
	return r
}
