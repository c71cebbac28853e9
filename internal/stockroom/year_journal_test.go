package stockroom_test

import (
	"fmt"
	"slices"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// cents is an amount of the book's currency.
func cents(m num.Money) int64 { return m.Micros() / 10_000 }

// accounts compares the journal of a month, and of all time up to its end, with what
// the naive bookkeeper wrote: every account, to the cent.
func (d *dealer) accounts(month, end string) {
	for _, from := range []string{month + "-01", ""} {
		journal, err := d.house.Stockroom.LedgerJournal(d.ctx, stockroom.LedgerJournal{From: book.Date(from),
			To: book.Date(end)})
		if err != nil {
			d.Fatal(err)
		}
		if journal.Debit != journal.Credit {
			d.Fatalf("the journal from %q to %s has debits of %s and credits of %s", from, end, journal.Debit,
				journal.Credit)
		}
		got := map[string]int64{}
		for _, a := range journal.Accounts {
			got[a.Account] = cents(a.Balance)
		}
		want := d.naive.sums(from, end)
		for _, sums := range []map[string]int64{got, want} {
			for account, sum := range sums {
				if sum == 0 {
					delete(sums, account)
				}
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			d.Fatalf("accounts from %q to %s, by the naive bookkeeper (-) and the journal (+): %s", from, end, diff)
		}
	}
	// what the stones and pieces cost is the account of the stock
	if stock, held := d.naive.sums("", end)["inventory"], d.naive.asOf(end).held(); stock != held {
		d.Fatalf("the naive account of the stock is %d on %s, and what is held cost %d", stock, end, held)
	}
}

// turnover compares what was sold in each month: pieces, carats, revenue and cost of
// sales.
func (d *dealer) turnover(months []string) {
	list, err := d.house.Stockroom.SaleList(d.ctx, stockroom.SaleList{By: "period"})
	if err != nil {
		d.Fatal(err)
	}
	got := map[string]answer.SaleRow{}
	for _, row := range list.Rows {
		got[row.Group] = row
	}
	for _, month := range months {
		row := got[month]
		s, revenue := d.naive.soldIn(month)
		want := fmt.Sprintf("%d pieces, %d, revenue %d, cost %d", s.pieces, s.carats, revenue, s.cents)
		if got := fmt.Sprintf("%d pieces, %d, revenue %d, cost %d", row.Pieces, int64(row.Carats), cents(row.Revenue),
			cents(row.Cost)); got != want {
			d.Fatalf("sold in %s: the list says %s, want %s", month, got, want)
		}
	}
}

// receivables compares what each party owes.
func (d *dealer) receivables() {
	list, err := d.house.Stockroom.LedgerReceivables(d.ctx, stockroom.LedgerReceivables{On: d.write.On})
	if err != nil {
		d.Fatal(err)
	}
	var got []string
	for _, r := range list.Parties {
		got = append(got, fmt.Sprintf("%s %s %d %d", r.Party, r.Currency, cents(r.Age.Total), cents(r.Book)))
	}
	slices.Sort(got)
	if diff := cmp.Diff(d.naive.owed(), got); diff != "" {
		d.Fatalf("owed by the naive ledger (-) and the book (+): %s", diff)
	}
}

// value compares the stock at cost on a day, by groups that it can be valued by.
func (d *dealer) value(on string, groups ...string) {
	for _, by := range groups {
		value, err := d.house.Stockroom.StockValue(d.ctx, stockroom.StockValue{By: by,
			AsOf: desk.AsOf{On: book.Date(on)}})
		if want := euros(d.naive.asOf(on).held()); err != nil || value.Cost != want {
			d.Fatalf("on %s the stock at cost is %s by %s, %v, want %s", on, value.Cost, by, err, want)
		}
	}
}
