package sqlstore

import (
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// dayEnds follows what lies at each spot from day to day, and finds days at whose
// end the law was broken. Postings come in the order of their entries, which is that
// of their days but where a reversal was dated back: the days of such spots are added
// up anew.
type dayEnds struct {
	on     map[spot]string // the last day on which something moved there
	strays map[int64]bool  // lots with postings that are dated before others
	bad    []dayEnd
}

// dayEnd is what a spot had at the end of a day.
type dayEnd struct {
	at spot
	on string
	sums
}

func newDayEnds() *dayEnds { return &dayEnds{map[spot]string{}, map[int64]bool{}, nil} }

// next takes a posting of a day; had is what the spot had before it.
func (d *dayEnds) next(at spot, on string, had sums) {
	last := d.on[at]
	switch {
	case on == last:
		return
	case on < last:
		d.strays[at.lot] = true
		return
	case last != "" && had.breaksLaw():
		d.bad = append(d.bad, dayEnd{at, last, had})
	}
	d.on[at] = on
}

// breaksLaw reports whether a real place cannot have this: less than nothing, or no
// pieces with weight or cost.
func (x sums) breaksLaw() bool {
	return x.pieces < 0 || x.carats < 0 || x.cost < 0 || x.pieces == 0 && (x.carats != 0 || x.cost != 0)
}

// report reports the days that break the law, each lot's first at each place.
func (d *dayEnds) report(ctx context.Context, t *readTx, report func(store.Difference)) error {
	d.bad = slices.DeleteFunc(d.bad, func(x dayEnd) bool { return d.strays[x.at.lot] })
	var day dayEnd // that is added up
	end := func() {
		if book.Place(day.at.place).IsReal() && day.breaksLaw() {
			d.bad = append(d.bad, day)
		}
	}
	err := in(ctx, t, slices.Sorted(maps.Keys(d.strays)), func(rows *sql.Rows) error {
		var x dayEnd
		if err := rows.Scan(&x.at.lot, &x.at.place, &x.on, &x.pieces, &x.carats, &x.cost); err != nil {
			return err
		}
		end()
		if x.at == day.at {
			x.sums = sums{day.pieces + x.pieces, day.carats + x.carats, day.cost + x.cost}
		}
		day = x
		return nil
	}, `SELECT p.lot_id, p.place, e.posted_on, sum(p.pieces), sum(p.carats), sum(p.cost)
		FROM postings p JOIN entries e ON e.id = p.entry_id WHERE p.lot_id IN %IN%
		GROUP BY p.lot_id, p.place, e.posted_on ORDER BY p.lot_id, p.place, e.posted_on`)
	if err != nil {
		return err
	}
	end()
	told := map[spot]bool{}
	for _, x := range d.bad {
		if told[x.at] {
			continue
		}
		told[x.at] = true
		var code string
		err := t.query(ctx, func(rows *sql.Rows) error { return rows.Scan(&code) },
			`SELECT key FROM records WHERE id = $1`, x.at.lot)
		if err != nil {
			return err
		}
		report(store.Difference{Table: "days", Ref: code, What: fmt.Sprintf("at the end of %s %s has %d pieces, "+
			"%s ct, %s, which no place can have", x.on, x.at.place, x.pieces, num.Carat(x.carats),
			num.Micros(x.cost, t.store.meta.Currency).Words())})
	}
	return nil
}
