package bench

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/identify"
	"lotpaper/internal/store"
)

// vendors are the records of vendors: how the tested stones of their parcels
// turned out, by what each parcel claimed and whatever its lots were renamed to
// since. Each is read when it is first asked for, from the lots that were tested
// last: a large book is not walked for the few.
type vendors struct {
	by      *Identifier
	index   *readingIndex         // what speaks of any lot; nil: not read yet
	codes   []string              // of tested lots, not looked at yet, the newest first
	tested  map[string][]book.Lot // those looked at, by vendor
	seen    map[string]bool       // codes among them, lower case
	of      map[string]string     // parcel -> vendor, lower case; empty: not in the book
	records map[string]vendorRecord
	parties *desk.Parties // nil: not read yet
}

// recordLots is how many of a vendor's tested lots his record is of, the newest:
// their stones weigh no more than the record may.
const recordLots = 100

// vendorRecord is the record of one vendor, in all and by the code of the lot.
type vendorRecord struct {
	all   identify.Record
	byLot map[string]identify.Record
}

func newVendors(b *Identifier) *vendors {
	return &vendors{by: b, tested: map[string][]book.Lot{}, seen: map[string]bool{}, of: map[string]string{},
		records: map[string]vendorRecord{}}
}

// without is the record of a lot's vendor without the lot's own stones, which
// speak for themselves; nothing when what the lot is held to be is not his claim.
func (v *vendors) without(ctx context.Context, tx store.ReadTx, l book.Lot) (identify.Record, error) {
	if basis := l.Facets.Species.Basis; basis == book.Tested || basis == book.LabReported {
		return identify.Record{}, nil
	}
	vendor, err := v.vendor(ctx, tx, l.Parcel)
	if err != nil || vendor == "" {
		return identify.Record{}, err
	}
	r, judged := v.records[vendor]
	if !judged {
		if err := v.read(ctx, tx, vendor); err != nil {
			return identify.Record{}, err
		}
		if r, err = v.judge(ctx, tx, v.tested[vendor]); err != nil {
			return identify.Record{}, err
		}
		v.records[vendor] = r
	}
	return r.all.Less(r.byLot[strings.ToLower(l.Code)]), nil
}

// vendor is whose parcel it was; empty when the book has no such parcel, or when
// its purchase was taken back: it says nothing of him then.
func (v *vendors) vendor(ctx context.Context, tx store.ReadTx, parcel string) (string, error) {
	key := strings.ToLower(parcel)
	vendor, known := v.of[key]
	if !known {
		p, err := store.Get[book.Parcel](ctx, tx, parcel)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return "", err
		}
		if v.parties == nil {
			if v.parties, err = desk.ReadParties(ctx, tx); err != nil {
				return "", err
			}
		}
		vendor = strings.ToLower(v.parties.Of(p.Vendor))
		if by, err := desk.VoidBy(ctx, tx, book.KindParcel, parcel); err != nil || by != "" {
			vendor = ""
			if err != nil && !errors.Is(err, store.ErrNotFound) {
				return "", err
			}
		}
		v.of[key] = vendor
	}
	return vendor, nil
}

// read finds a vendor's lots that were tested, by what speaks of them.
func (v *vendors) read(ctx context.Context, tx store.ReadTx, vendor string) (err error) {
	if v.index == nil {
		if v.index, err = spokenOf(ctx, tx); err != nil {
			return err
		}
		v.codes = v.index.newest()
	}
	for len(v.codes) > 0 && len(v.tested[vendor]) < recordLots {
		code := v.codes[0]
		v.codes = v.codes[1:]
		l, err := store.Get[book.Lot](ctx, tx, code)
		if err != nil {
			return err
		}
		if err := v.add(ctx, tx, l); err != nil {
			return err
		}
	}
	return nil
}

// add puts a tested lot among its vendor's.
func (v *vendors) add(ctx context.Context, tx store.ReadTx, l book.Lot) error {
	key := strings.ToLower(l.Code)
	if v.seen[key] {
		return nil
	}
	v.seen[key] = true
	vendor, err := v.vendor(ctx, tx, l.Parcel)
	v.tested[vendor] = append(v.tested[vendor], l)
	return err
}

// newest are the codes of the lots that something speaks of, those with a report
// first, then those with the newest readings.
func (x *readingIndex) newest() []string {
	last := map[string]int64{}
	for code, readings := range x.byLot {
		for _, r := range readings {
			last[code] = max(last[code], r.Number)
		}
	}
	for code := range x.reports {
		last[code] = math.MaxInt64
	}
	return slices.SortedFunc(maps.Keys(last), func(a, b string) int {
		return cmp.Or(cmp.Compare(last[b], last[a]), cmp.Compare(a, b))
	})
}

// judge counts how the tested stones of a vendor's lots turned out.
func (v *vendors) judge(ctx context.Context, tx store.ReadTx, lots []book.Lot) (vendorRecord, error) {
	out := vendorRecord{byLot: map[string]identify.Record{}}
	for _, l := range slices.Clone(lots) { // stones that left them with their tags
		children, err := store.Of[book.Lot](ctx, tx, book.ToLot(l.Code))
		if err != nil {
			return out, err
		}
		for _, child := range children {
			if v.index.leaves(child); len(tagsOf(child)) > 0 && !v.seen[strings.ToLower(child.Code)] {
				v.seen[strings.ToLower(child.Code)] = true
				lots = append(lots, child)
			}
		}
	}
	for _, l := range lots {
		claim, err := claimed(ctx, tx, l)
		if err != nil {
			return out, err
		}
		s, err := desk.StockOf(ctx, tx, l.Code)
		if err != nil {
			return out, err
		}
		if err := v.index.oneStone(ctx, tx, s); err != nil {
			return out, err
		}
		stones := v.by.stonesOf(s, v.index)
		r := identify.RecordOf(claim, stones, int64(len(stones)) == s.Pieces)
		out.byLot[strings.ToLower(l.Code)] = r
		out.all = out.all.Plus(r)
	}
	return out, nil
}

// claimed is what the parcel claimed of the lot that l was sorted, split or cut
// from, as it was first written.
func claimed(ctx context.Context, tx store.ReadTx, l book.Lot) ([]*facts.Material, error) {
	for l.Parent != "" {
		parent, err := store.Get[book.Lot](ctx, tx, l.Parent)
		if err != nil {
			return nil, err
		}
		l = parent
	}
	first, err := store.Versions[book.Lot](ctx, tx, l.Code)
	if err != nil || len(first) == 0 {
		return nil, err
	}
	named, f := facts.Resolve(first[0].Name())
	if f != nil {
		return nil, nil
	}
	return named.Materials, nil
}

// stonesOf are the tested stones of a lot, each on its own evidence. Readings
// that cannot be read are left out: whoever judges the lot says so.
func (b *Identifier) stonesOf(s answer.StockLot, index *readingIndex) []identify.TestedStone {
	var out []identify.TestedStone
	order, byStone := stonesIn(index.of(s.Lot))
	_, lab := labOf(s.Lot, s.Carats, index.reportsOf(s.Lot))
	if lab != nil && len(order) == 0 && s.Pieces == 1 {
		order = []string{s.Stone}
	}
	for _, stone := range order {
		o, faults := lookedAt(s.Lot, byStone[stone])
		if faults.Blocks() {
			continue
		}
		t := identify.TestedStone{Stone: stone, Verdict: identify.Stone(b.table, &o, &b.settings),
			Drawn: drawnOf(byStone[stone])}
		if s.Pieces == 1 {
			t.Lab = lab
		}
		out = append(out, t)
	}
	return out
}
