package stockroom_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// A dealer's year: 40 parcels, over 600 lots, over 3,000 entries, played by a fixed
// seed. At each month's end the book agrees with the naive ledger on pieces, carats
// and cost of every lot at every place and boundary, now and as of each earlier
// month's end that marks names; with what its papers hold; and on the value at cost.
// What cutters send back stands in the workbooks of their orders, several batches of
// one too. Months are closed when they are two months old. At the end every document
// can be read, and the book agrees with itself.
func TestYear(t *testing.T) {
	day := time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	a, s := books.Clocked(t, func() time.Time { return day })
	d := newDealer(t, a, s.Store, map[string]int{})
	d.failing = t
	rng := rand.New(rand.NewPCG(2026, 14))
	d.draw = func(_ string, low, high int64) int64 { return low + rng.Int64N(high-low+1) }
	d.index = func(_ string, n int) int { return rng.IntN(n) }
	d.quiet = true
	d.openOffices()
	parcels, ends := 0, []string{}
	for ; day.Year() == 2026; day = day.AddDate(0, 0, 1) {
		d.write.On = book.DateOf(day)
		d.naive.on = string(d.write.On)
		if day.Day() == 1 {
			d.setRates()
		}
		if day.Day()%9 == 1 && parcels < 40 {
			d.buy()
			parcels++
		}
		for range 16 {
			d.step()
		}
		if tomorrow := day.AddDate(0, 0, 1); tomorrow.Month() != day.Month() {
			d.count(pick(d, "counted", d.naive.safes))
			ends = append(ends, d.naive.on)
			d.monthEnd(ends)
			d.closeMonth(day)
		}
	}
	books.Sound(t, a)
	if n := d.readDocuments(); n < 200 {
		t.Errorf("%d documents were issued", n)
	}
	if d.sheets < 10 || d.later < 2 {
		t.Errorf("%d sheets of orders were filled in, %d of them later ones", d.sheets, d.later)
	}
	if d.counts < 10 {
		t.Errorf("%d count sheets were filled in", d.counts)
	}
	if entries := d.head().Sequence; parcels != 40 || len(d.lots) < 600 || entries < 3000 {
		t.Errorf("%d parcels, %d lots, %d entries", parcels, len(d.lots), entries)
	}
	d.everyAct(t, 10)
	t.Logf("%d sheets of orders, %d later ones; %d parcels, %d lots, %d entries; refused: %v", d.sheets, d.later,
		parcels, len(d.lots), d.head().Sequence, d.refused)
}

// monthEnd compares the book with the naive ledger, on the last day and as of earlier
// months' ends.
func (d *dealer) monthEnd(ends []string) {
	d.compare()
	d.papers()
	d.loans()
	for _, end := range marks(ends) {
		past := d.naive.asOf(end)
		list, err := d.house.Stockroom.StockList(d.ctx, stockroom.StockList{Filter: desk.StockFilter{Kind: desk.AnyLot,
			AsOf: desk.AsOf{On: book.Date(end)}}})
		if err != nil {
			d.Fatal(err)
		}
		var lines []string
		for _, row := range list.Lots {
			for _, b := range row.Places {
				lines = append(lines, fmt.Sprintf("%s %s %d %d %d", b.Lot, b.Place, b.Pieces, int64(b.Carats),
					b.Cost.Micros()/10000))
			}
		}
		slices.Sort(lines)
		if diff := cmp.Diff(past.lines(isReal), strings.Join(lines, "\n")); diff != "" {
			d.Fatalf("as of %s, the naive ledger (-) and the book (+): %s", end, diff)
		}
	}
	var months []string
	for _, end := range ends {
		months = append(months, end[:7])
	}
	for _, end := range marks(ends) {
		d.value(end, "parcel")
	}
	d.value(ends[len(ends)-1], stockroom.StockValue{}.Groups()...)
	d.turnover(months)
	d.receivables()
	d.accounts(months[len(months)-1], ends[len(ends)-1])
}

// closeMonth closes the month before the one that ends: a reversal then goes to the
// day on which it is booked.
func (d *dealer) closeMonth(day time.Time) {
	if day.Month() == time.January {
		return
	}
	last := book.DateOf(time.Date(day.Year(), day.Month()-1, 1, 0, 0, 0, 0, time.UTC)).Month()
	if _, err := d.house.Desk.PeriodClose(d.ctx, desk.PeriodClose{Write: d.write, Month: last}); err != nil {
		d.Fatal(err)
	}
	d.naive.closed = string(last)
}
