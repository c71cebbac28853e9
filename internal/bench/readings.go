package bench

import (
	"cmp"
	"context"
	"slices"
	"strings"

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
}

func newReadingIndex() *readingIndex {
	return &readingIndex{map[string][]book.Reading{}, map[string][]book.Report{}, map[string]book.Void{},
		map[string]map[string]bool{}}
}

// bookReadings reads what speaks of any lot of the book.
func bookReadings(ctx context.Context, tx store.ReadTx) (*readingIndex, error) {
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
	err = store.Each(ctx, tx, store.RowFilter{}, func(v book.Void) error {
		x.voids[v.Reading] = v
		return nil
	})
	if err != nil {
		return nil, err
	}
	return x, store.Each(ctx, tx, store.RowFilter{}, func(l book.Lot) error {
		x.leaves(l)
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
type readLot func(book.Lot) (*readingIndex, error)

// readEach reads what speaks of each lot it is asked for, and what speaks of any
// lot once these are many.
func readEach(ctx context.Context, tx store.ReadTx) readLot {
	lots := 0
	var all *readingIndex
	return func(l book.Lot) (x *readingIndex, err error) {
		if lots++; all == nil && lots <= many {
			return lotReadings(ctx, tx, l)
		}
		if all == nil {
			all, err = bookReadings(ctx, tx)
		}
		return all, err
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
	return func(book.Lot) (*readingIndex, error) { return all, nil }, err
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
// test on one stone the newest day counts; readings of one day are repeats and
// stand together, such as the turns of a facet. What a microscope shows adds up,
// and each heavy liquid is a kind of its own.
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
		} else if n, seen := newest[kindOf(r)]; !seen || r.On >= n.On {
			newest[kindOf(r)] = r
		}
	}
	for _, r := range readings {
		if n := newest[kindOf(r)]; out[r.RecordKey()].void == nil && r.On < n.On {
			out[r.RecordKey()] = discount{newer: n.RecordKey()}
		}
	}
	return out
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
