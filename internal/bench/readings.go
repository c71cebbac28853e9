package bench

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/identify"
	"lotpaper/internal/store"
)

// readingIndex holds every reading and report of the book by lot, and which
// tags left each lot with a child.
type readingIndex struct {
	byLot   map[string][]book.Reading
	reports map[string][]book.Report
	voids   map[string]book.Void // by the key of the reading
	moved   map[string]map[string]bool
	single  map[string]string // the tag of lots that never had more than one stone, where readings name several
}

func newReadingIndex() *readingIndex {
	return &readingIndex{map[string][]book.Reading{}, map[string][]book.Report{}, map[string]book.Void{},
		map[string]map[string]bool{}, map[string]string{}}
}

// bookReadings reads what speaks of any lot of the book.
func bookReadings(ctx context.Context, tx store.ReadTx) (*readingIndex, error) {
	x, err := spokenOf(ctx, tx)
	if err != nil || len(x.byLot) == 0 {
		return x, err
	}
	return x, store.Each(ctx, tx, store.RowFilter{}, func(l book.Lot) error {
		x.leaves(l)
		return nil
	})
}

// spokenOf reads every reading, report and void of the book, and not yet which
// stones left their lot.
func spokenOf(ctx context.Context, tx store.ReadTx) (*readingIndex, error) {
	x := newReadingIndex()
	err := store.Each(ctx, tx, store.RowFilter{}, func(r book.Reading) error {
		key := strings.ToLower(r.Lot)
		x.byLot[key] = append(x.byLot[key], r)
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = store.Each(ctx, tx, store.RowFilter{}, func(r book.Report) error {
		key := strings.ToLower(r.Lot)
		x.reports[key] = append(x.reports[key], r)
		return nil
	})
	if err != nil || len(x.byLot) == 0 {
		return x, err
	}
	return x, store.Each(ctx, tx, store.RowFilter{}, func(v book.Void) error {
		x.voids[v.Reading] = v
		return nil
	})
}

// lotReadings reads what speaks of one lot, found by index.
func lotReadings(ctx context.Context, tx store.ReadTx, l book.Lot) (x *readingIndex, err error) {
	x = newReadingIndex()
	key, parent := strings.ToLower(l.Code), strings.ToLower(l.Parent)
	if x.reports[key], err = store.Of[book.Report](ctx, tx, book.ToLot(l.Code)); err != nil {
		return nil, err
	}
	if x.byLot[key], err = store.Of[book.Reading](ctx, tx, book.ToLot(l.Code)); err != nil {
		return nil, err
	}
	if len(tagsOf(l)) > 0 {
		if x.byLot[parent], err = store.Of[book.Reading](ctx, tx, book.ToLot(l.Parent)); err != nil {
			return nil, err
		}
	}
	if len(x.byLot[key])+len(x.byLot[parent]) == 0 {
		return x, nil
	}
	for _, of := range []string{l.Code, l.Parent} {
		if len(x.byLot[strings.ToLower(of)]) == 0 {
			continue
		}
		voids, err := store.Of[book.Void](ctx, tx, book.ToLot(of))
		if err != nil {
			return nil, err
		}
		for _, v := range voids {
			x.voids[v.Reading] = v
		}
	}
	children, err := store.Of[book.Lot](ctx, tx, book.ToLot(l.Code))
	for _, child := range children {
		x.leaves(child)
	}
	return x, err
}

// readLot reads what speaks of a lot.
type readLot func(answer.StockLot) (*readingIndex, error)

// readEach reads what speaks of each lot it is asked for, and what speaks of any
// lot once these are many.
func readEach(ctx context.Context, tx store.ReadTx) readLot {
	lots := 0
	var all *readingIndex
	return func(s answer.StockLot) (x *readingIndex, err error) {
		if lots++; all == nil && lots <= many {
			return stockReadings(ctx, tx, s)
		}
		if all == nil {
			if all, err = bookReadings(ctx, tx); err != nil {
				return nil, err
			}
		}
		return all, all.oneStone(ctx, tx, s)
	}
}

// many is the number of lots from which reading all of the book at once is
// quicker.
const many = 1000

// readSelected reads what speaks of the lots that a filter selects.
func readSelected(ctx context.Context, tx store.ReadTx, filter desk.StockFilter) (readLot, error) {
	if filter.Few() {
		return readEach(ctx, tx), nil
	}
	all, err := bookReadings(ctx, tx)
	return func(s answer.StockLot) (*readingIndex, error) { return all, all.oneStone(ctx, tx, s) }, err
}

// stockReadings reads what speaks of one lot, found by index.
func stockReadings(ctx context.Context, tx store.ReadTx, s answer.StockLot) (*readingIndex, error) {
	x, err := lotReadings(ctx, tx, s.Lot)
	if err != nil {
		return nil, err
	}
	return x, x.oneStone(ctx, tx, s)
}

// oneStone notes that a lot never had more than one stone: its readings are all
// of it, whatever tag they name. Of a lot from which stones left they may be of
// any of them.
func (x *readingIndex) oneStone(ctx context.Context, tx store.ReadTx, s answer.StockLot) error {
	tag, several := s.Stone, false
	for i, r := range x.about(s.Lot) {
		several = several || (i > 0 || tag != "") && r.Stone != tag
		tag = cmp.Or(tag, r.Stone)
	}
	if s.Pieces != 1 || !several {
		return nil
	}
	entries, err := tx.Entries(ctx, store.EntryFilter{Lot: s.Code})
	if err != nil {
		return err
	}
	pieces, most := int64(0), int64(0)
	for _, e := range entries {
		for _, p := range e.Postings {
			if strings.EqualFold(p.Lot, s.Code) && p.Place.IsReal() {
				pieces += p.Pieces
			}
		}
		most = max(most, pieces)
	}
	if most == 1 {
		x.single[strings.ToLower(s.Code)] = tag
	}
	return nil
}

// leaves notes the tags with which a lot left its parent.
func (x *readingIndex) leaves(l book.Lot) {
	for _, tag := range tagsOf(l) {
		parent := strings.ToLower(l.Parent)
		if x.moved[parent] == nil {
			x.moved[parent] = map[string]bool{}
		}
		x.moved[parent][tag] = true
	}
}

// tagsOf are the tags that came along from a lot's parent.
func tagsOf(l book.Lot) []string {
	if l.Parent == "" {
		return nil
	}
	if l.Stone != "" {
		return append([]string{l.Stone}, l.Tags...)
	}
	return l.Tags
}

// of returns the readings that count for a lot. Those of a stone that was once
// drawn at random say so.
func (x *readingIndex) of(l book.Lot) []book.Reading {
	about := x.about(l)
	out, random := about[:0:0], map[string]bool{}
	no := x.discounted(about)
	for _, r := range about {
		if why := no[r.RecordKey()]; why.void == nil {
			random[r.Stone] = random[r.Stone] || r.Drawn == string(identify.Random)
			if why.newer == "" {
				out = append(out, r)
			}
		}
	}
	for i, r := range out {
		if random[r.Stone] {
			out[i].Drawn = string(identify.Random)
		}
	}
	return out
}

// discount is why a reading does not count: it is void, or a newer one counts.
type discount struct {
	void  *book.Void
	newer string // key of the newer reading
}

// words are the reason; empty when the reading counts.
func (d discount) words() string {
	switch {
	case d.void != nil:
		return "void, " + d.void.Reason
	case d.newer != "":
		return d.newer + " is newer"
	}
	return ""
}

// discounted returns which readings do not count, by their keys. Of one kind of
// test on one stone the newest counts; edges, weighings, lines and looks of one
// day are repeats and stand together, such as the turns of a facet. What a
// microscope shows adds up, and each heavy liquid is a kind of its own.
func (x *readingIndex) discounted(readings []book.Reading) map[string]discount {
	type kind struct{ stone, test, liquid string }
	kindOf := func(r book.Reading) kind {
		switch r.Test {
		case "liquid":
			return kind{r.Stone, r.Test, r.Low}
		case "magnification":
			return kind{r.Stone, r.Test, r.RecordKey()}
		}
		return kind{r.Stone, r.Test, ""}
	}
	out, newest := map[string]discount{}, map[kind]book.Reading{}
	for _, r := range readings {
		if v, void := x.voids[r.RecordKey()]; void {
			out[r.RecordKey()] = discount{void: &v}
		} else if n, seen := newest[kindOf(r)]; !seen || newer(r, n) {
			newest[kindOf(r)] = r
		}
	}
	repeats := []string{"ri", "hydrostatic", "spectrum", "look"}
	for _, r := range readings {
		n := newest[kindOf(r)]
		if out[r.RecordKey()].void == nil && (r.On < n.On || newer(n, r) && !slices.Contains(repeats, r.Test)) {
			out[r.RecordKey()] = discount{newer: n.RecordKey()}
		}
	}
	return out
}

// newer reports whether a was read after b: on a later day, or written later.
func newer(a, b book.Reading) bool {
	return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.Number, b.Number)) > 0
}

// about returns the readings of a lot's stones: its own, less those of stones
// that left it, and those that its tagged stones bring along. Recut stones
// bring none: their reading is of the stone before.
func (x *readingIndex) about(l book.Lot) []book.Reading {
	var out []book.Reading
	key := strings.ToLower(l.Code)
	for _, r := range x.byLot[key] {
		if !x.moved[key][r.Stone] {
			r.Stone = cmp.Or(r.Stone, l.Stone) // a lot of one tagged stone: readings need no tag
			out = append(out, r)
		}
	}
	if tag, one := x.single[key]; one {
		for i := range out {
			out[i].Stone = tag
		}
	}
	tags := tagsOf(l)
	for _, r := range x.byLot[strings.ToLower(l.Parent)] {
		if slices.Contains(tags, r.Stone) && !x.moved[key][r.Stone] {
			out = append(out, r)
		}
	}
	return out
}

// reportsOf returns the laboratories' reports on a lot.
func (x *readingIndex) reportsOf(l book.Lot) []book.Report { return x.reports[strings.ToLower(l.Code)] }
