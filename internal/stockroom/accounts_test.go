package stockroom_test

import (
	"cmp"
	"fmt"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
	"lotpaper/internal/testkit/vectors"
)

// published are the results of a worked case of another publisher, by name.
func published(t *testing.T, id string) map[string]string {
	t.Helper()
	for _, row := range vectors.Read(t, "worked/accounts.csv") {
		if row["id"] != id {
			continue
		}
		out := map[string]string{}
		for part := range strings.SplitSeq(row["result"], ";") {
			key, value, _ := strings.Cut(part, "=")
			out[key] = value + ".00"
		}
		return out
	}
	t.Fatalf("there is no case %s", id)
	return nil
}

// sums are the balances of the journal's accounts up to a day.
func sums(t *testing.T, a *house.House, to book.Date) map[string]string {
	t.Helper()
	j, err := a.Stockroom.LedgerJournal(t.Context(), stockroom.LedgerJournal{To: to})
	if err != nil {
		t.Fatal(err)
	}
	if j.Debit.Cmp(j.Credit) != 0 {
		t.Errorf("debit %s, credit %s", j.Debit, j.Credit)
	}
	byEntry := map[string]num.Money{}
	for _, l := range j.Lines {
		if l.Debit != nil {
			byEntry[l.Entry] = byEntry[l.Entry].Add(*l.Debit)
		} else {
			byEntry[l.Entry] = byEntry[l.Entry].Sub(*l.Credit)
		}
	}
	for entry, sum := range byEntry {
		if !sum.IsZero() {
			t.Errorf("%s does not balance: %s", entry, sum)
		}
	}
	out := map[string]string{}
	for _, x := range j.Accounts {
		out[x.Account] = x.Balance.String()
	}
	return out
}

// same compares what a book says with what a page says.
func same(t *testing.T, what, got, want string) {
	t.Helper()
	if got != want {
		t.Errorf("%s is %s, want %s", what, got, want)
	}
}

// lots is a list of lots: code, pieces (of a carat each) and price.
func lots(rows ...string) string {
	return "lot,species,shape,pieces,weight_ct,price,price_basis\n" + strings.Join(rows, "\n") + "\n"
}

// line is a line of a sale for one price a piece.
func line(lot string, pieces int64, price string) stockroom.Selling {
	return stockroom.Selling{Moving: stockroom.Moving{Lot: lot, Pieces: pieces, Carats: num.Carat(1000 * pieces)},
		Price: num.UnitPrice{Money: books.Money(price)}, Basis: book.LinePerPiece}
}

func sell(t *testing.T, a *house.House, lines ...stockroom.Selling) string {
	t.Helper()
	done, err := a.Stockroom.SaleAdd(t.Context(), stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: lines})
	if err != nil {
		t.Fatal(err)
	}
	return done.Sale.Number
}

// Sales returns: revenue and cost of what comes back are taken off.
func TestPublished_SaleReturn(t *testing.T) {
	want := published(t, "WA01")
	a := books.New(t)
	books.Buy(t, a, lots("X,topaz,oval,200,200.00,20000,total", "Y,beryl,oval,300,300.00,75000,total"))
	sale := sell(t, a, line("X", 200, "200"), line("Y", 300, "300"))
	got := sums(t, a, "")
	same(t, "the receivable", got["receivables"], want["receivable"])
	same(t, "the revenue", got["revenue"], "-"+want["receivable"])
	same(t, "the cost of sales", got["cost of sales"], want["cost_of_sales"])
	if _, err := a.Stockroom.SaleReturn(t.Context(), stockroom.SaleReturn{Movement: books.Moving, Number: sale,
		Lots: []stockroom.Moving{{Lot: "X", Pieces: 100, Carats: 100000}, {Lot: "Y", Pieces: 50,
			Carats: 50000}}}); err != nil {
		t.Fatal(err)
	}
	got = sums(t, a, "")
	same(t, "what is given back", got["sales returns"], want["returns"])
	same(t, "the inventory", got["inventory"], want["inventory_back"])
	same(t, "the receivable", got["receivables"], "95000.00")
	same(t, "the cost of sales", got["cost of sales"], "72500.00")
	books.Sound(t, a)
}

// A payment in another rate than its invoice's: the difference is one line.
func TestPublished_ExchangeGain(t *testing.T) {
	want := published(t, "WA02")
	a := books.New(t)
	books.Buy(t, a, lots("X,topaz,oval,1,1.00,60,total"))
	one, _ := num.ParseRate("1", 1)
	more, _ := num.ParseRate("1.05", 1)
	dollars := func(n int64) num.Money { return num.FromMinor(100*n, "USD") }
	if _, err := a.Stockroom.SaleAdd(t.Context(), stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "X"}), Bill: stockroom.Bill{Price: dollars(100),
			Rate: one}}); err != nil {
		t.Fatal(err)
	}
	paid, err := a.Stockroom.PaymentAdd(t.Context(), stockroom.PaymentAdd{Write: books.Who, Party: "C",
		For: []string{"S1"}, Amount: dollars(100), Rate: more})
	if err != nil {
		t.Fatal(err)
	}
	got := sums(t, a, "")
	same(t, "the bank", got["bank"], want["bank"])
	same(t, "the receivable", paid.Payment.Parts[0].Carrying.String(), want["receivable"])
	same(t, "what is left of it", got["receivables"], "0.00")
	same(t, "the gain", got["exchange"], "-"+want["gain"])
}

// adjusted is the cost of a lot, and the losses, after pieces of it were lost.
func adjusted(t *testing.T, price, charge string, pieces, lost int64, to book.Place, kept int64) (string, string) {
	t.Helper()
	a := books.New(t)
	books.Buy(t, a, lots(fmt.Sprintf("A,topaz,oval,%d,%d.00,%s,total", pieces, pieces, price)))
	if _, err := a.Stockroom.ChargeAdd(t.Context(), stockroom.ChargeAdd{Write: books.Who, Parcel: "P1", Kind: "freight",
		Amount: books.Money(charge)}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.LotAdjust(t.Context(), stockroom.LotAdjust{Movement: books.Moving, Lot: "A", Pieces: -lost,
		Carats: num.Carat(-1000 * lost), To: to}); err != nil {
		t.Fatal(err)
	}
	if kept > 0 {
		sell(t, a, line("A", pieces-lost-kept, "1"))
	}
	return books.Stock(t, a)["A"].Cost.String(), sums(t, a, "")["losses"]
}

// Normal loss stays on what is left; abnormal loss is an expense.
func TestPublished_Losses(t *testing.T) {
	cost, _ := adjusted(t, "2000", "470", 100, 5, book.LossBreakage, 20)
	same(t, "20 tons unsold", cost, published(t, "WA03")["unsold"])
	cost, _ = adjusted(t, "300000", "60000", 10000, 1000, book.LossBreakage, 500)
	same(t, "500 units unsold", cost, published(t, "WA04")["unsold"])
	_, loss := adjusted(t, "100000", "5000", 1000, 50, book.LossCount, 0)
	same(t, "the loss", loss, published(t, "WA05")["loss"])
}

// A by-product takes its net realisable value off the joint cost.
func TestPublished_ByProduct(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, lots("A,topaz,oval,30,30.00,100000,total"))
	done, err := a.Stockroom.LotSort(t.Context(), stockroom.LotSort{Movement: books.Moving, Lot: "A",
		Parts: []stockroom.SortPart{{Pieces: 20, Carats: 20000}, {Pieces: 10, Carats: 10000,
			Fixed: books.Money("7500")}}})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the main product", books.Stock(t, a)[done.Lots[0]].Cost.String(), published(t, "WA06")["main"])
}

// A rebate comes off what is held; the part of what was sold off its cost.
func TestPublished_Rebate(t *testing.T) {
	want := published(t, "WA07")
	a := books.New(t)
	books.Buy(t, a, lots("A,topaz,oval,6000,6000.00,600000,total"))
	sell(t, a, line("A", 5500, "120"))
	done, err := a.Stockroom.ParcelCredit(t.Context(), stockroom.ParcelCredit{Parcel: "P1",
		Rebate: stockroom.Rebate{Write: books.Who, Amount: books.Money("30000")}})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the inventory", books.Stock(t, a)["A"].Cost.String(), want["inventory"])
	same(t, "the sold part", done.Charge.Variance.String(), "-"+want["sold_part"])
	same(t, "the variance", sums(t, a, "")["charge variance"], "-"+want["sold_part"])
	same(t, "owed to the vendor", sums(t, a, "")["payables"], "-570000.00")
}

// A half-year by hand: at each month's end the journal agrees, to the cent, with
// the numbers that were worked out on paper (in the comments), with the valuation
// as of that day and with the list of sales.
func TestLedgerJournal_HalfYear(t *testing.T) {
	a := books.New(t)
	ctx := t.Context()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	on := func(d book.Date) desk.Write { return desk.Write{Who: "tester", Reason: "by hand", On: d} }
	move := func(d book.Date) stockroom.Movement { return stockroom.Movement{Write: on(d)} }
	bring := func(d book.Date, vendor string, c num.Currency, rate, csv string) {
		t.Helper()
		r := stockroom.ParcelImport{Write: on(d), Vendor: vendor, Currency: c, File: books.Text("p.csv", csv)}
		if rate != "" {
			r.Rate, _ = num.ParseRate(rate, 1)
		}
		_, err := a.Stockroom.ParcelImport(ctx, r)
		must(err)
	}
	month := func(end book.Date, want map[string]string) {
		t.Helper()
		got := sums(t, a, end)
		for account, amount := range want {
			same(t, account+" on "+string(end), cmp.Or(got[account], "0.00"), amount)
		}
		v, err := a.Stockroom.StockValue(ctx, stockroom.StockValue{AsOf: desk.AsOf{On: end}})
		must(err)
		same(t, "the valuation on "+string(end), v.Cost.String(), want["inventory"])
		s, err := a.Stockroom.SaleList(ctx, stockroom.SaleList{To: end, By: "period"})
		must(err)
		same(t, "the cost of sales on "+string(end), s.Cost.String(), want["cost of sales"])
		r, err := a.Stockroom.LedgerReceivables(ctx, stockroom.LedgerReceivables{On: end})
		must(err)
		same(t, "the receivables on "+string(end), r.Book.String(), want["receivables"])
	}
	carats := func(n int64) num.Carat { return num.Carat(1000 * n) }

	// September: A 100.00 and B 250.00; freight 30.00 by carats: A 120.00, B 260.00; its tax 6.90 comes back.
	bring("2025-09-05", "V", "EUR", "", lots("A,topaz,oval,10,20.00,100,total", "B,beryl,oval,5,10.00,250,total"))
	_, err := a.Stockroom.ChargeAdd(ctx, stockroom.ChargeAdd{Write: on("2025-09-20"), Parcel: "P1", Kind: "freight",
		Party: "Carrier", Amount: books.Money("30"), Tax: books.Money("6.90")})
	must(err)
	// October: 5 of A (10 ct) for 100.00 and 23 % of tax; C for 100.00 USD at 0.90; 2 of B go out on memo.
	tax, top := num.Percent{Dec: num.Int(23)}, false
	_, err = a.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: move("2025-10-03"), Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 5, Carats: carats(10)}),
		Bill: stockroom.Bill{Price: books.Money("100"), Tax: &tax, TaxIn: &top, Broker: "Broker",
			Commission: books.Money("4")}})
	must(err)
	bring("2025-10-10", "W", "USD", "0.9", lots("C,quartz,oval,4,8.00,100,total"))
	_, err = a.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: move("2025-10-15"), Party: "D",
		Lines: stockroom.Together(stockroom.Moving{Lot: "B", Pieces: 2, Carats: carats(4)})})
	must(err)
	// November: one of A comes back at 12.00 of 60.00, 24.60 of 123.00 are credited. Late freight of 12.00 by carats:
	// 12 ct of A are held and 8 sold, all 10 of B are held: 4.80, 3.20 too late, 4.00. One of C, 22.50, is lost.
	_, err = a.Stockroom.SaleReturn(ctx, stockroom.SaleReturn{Movement: move("2025-11-04"), Number: "S1",
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 1, Carats: carats(2)}}})
	must(err)
	_, err = a.Stockroom.ChargeAdd(ctx, stockroom.ChargeAdd{Write: on("2025-11-08"), Parcel: "P1", Kind: "freight",
		Amount: books.Money("12")})
	must(err)
	_, err = a.Stockroom.LotAdjust(ctx, stockroom.LotAdjust{Movement: move("2025-11-20"), Lot: "C", Pieces: -1,
		Carats: -carats(2), To: book.LossCount})
	must(err)
	// December: 2 ct of B, 52.80 of 264.00, are sold from the memo for 90.00. 50.00 of 98.40 are paid. 10.00 USD come
	// off the price of C: 9.00, of which 2.25 are for the lost stone.
	_, err = a.Stockroom.MemoSell(ctx, stockroom.MemoSell{Movement: move("2025-12-01"), Number: "M1",
		Lines: stockroom.Together(stockroom.Moving{Lot: "B", Pieces: 1, Carats: carats(2)}),
		Bill:  stockroom.Bill{Price: books.Money("90")}})
	must(err)
	_, err = a.Stockroom.PaymentAdd(ctx, stockroom.PaymentAdd{Write: on("2025-12-10"), Party: "C", For: []string{"S1"},
		Amount: books.Money("50")})
	must(err)
	_, err = a.Stockroom.ParcelCredit(ctx, stockroom.ParcelCredit{Parcel: "P2",
		Rebate: stockroom.Rebate{Write: on("2025-12-15"), Amount: num.FromMinor(1000, "USD")}})
	must(err)
	// January: C, 60.75, is written down to 50.00. A sale is booked and taken back.
	_, err = a.Stockroom.LotWriteDown(ctx, stockroom.LotWriteDown{Write: on("2026-01-10"), Lot: "C",
		To: books.Money("50")})
	must(err)
	wrong, err := a.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: move("2026-01-12"), Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 1, Carats: carats(2)}),
		Bill:  stockroom.Bill{Price: books.Money("70")}})
	must(err)
	_, err = a.Stockroom.LedgerReverse(ctx, stockroom.LedgerReverse{Write: on("2026-01-13"), Entry: wrong.Entry})
	must(err)
	// February: 50.00 of the 90.00 USD that are owed for C are paid at 0.95: 47.50 for what stood at 45.00.
	rate, _ := num.ParseRate("0.95", 1)
	_, err = a.Stockroom.PaymentAdd(ctx, stockroom.PaymentAdd{Write: on("2026-02-05"), Party: "W", For: []string{"P2"},
		Amount: num.FromMinor(5000, "USD"), Rate: rate})
	must(err)

	month("2025-09-30", map[string]string{"inventory": "380.00", "cost of sales": "0.00", "receivables": "0.00",
		"payables": "-386.90", "tax receivable": "6.90"})
	month("2025-10-31", map[string]string{"inventory": "410.00", "cost of sales": "60.00", "receivables": "123.00",
		"revenue": "-100.00", "tax payable": "-23.00", "payables": "-480.90", "commissions": "4.00"})
	month("2025-11-30", map[string]string{"inventory": "408.30", "cost of sales": "48.00", "receivables": "98.40",
		"sales returns": "20.00", "tax payable": "-18.40", "charge variance": "3.20", "losses": "22.50",
		"payables": "-492.90"})
	month("2025-12-31", map[string]string{"inventory": "348.75", "cost of sales": "100.80", "receivables": "138.40",
		"revenue": "-190.00", "bank": "50.00", "charge variance": "0.95", "payables": "-483.90"})
	month("2026-01-31", map[string]string{"inventory": "338.00", "cost of sales": "100.80", "receivables": "138.40",
		"revenue": "-190.00", "write downs": "10.75"})
	month("2026-02-28", map[string]string{"inventory": "338.00", "cost of sales": "100.80", "receivables": "138.40",
		"bank": "2.50", "exchange": "2.50", "payables": "-438.90"})
	books.Sound(t, a)
}
