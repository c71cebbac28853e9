package stockroom_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// journalCase is a book whose journal is compared with what was worked out by hand.
type journalCase struct {
	*testing.T
	*house.House
}

func newJournalCase(t *testing.T) journalCase {
	t.Parallel()
	return journalCase{t, books.New(t)}
}

// done fails unless a step was done.
func (c journalCase) done(err error) {
	c.Helper()
	if err != nil {
		c.Fatal(err)
	}
}

// lines are the journal's lines of an entry: account, debit (+) or credit (-), tax
// code, document, party, and what the line was in another currency.
func (c journalCase) lines(entry string) []string {
	c.Helper()
	journal, err := c.Stockroom.LedgerJournal(c.Context(), stockroom.LedgerJournal{})
	c.done(err)
	out := []string{}
	for _, l := range journal.Lines {
		if l.Entry != entry {
			continue
		}
		amount := ""
		if l.Debit != nil {
			amount = "+" + l.Debit.String()
		} else {
			amount = "-" + l.Credit.String()
		}
		words := []string{l.Account, amount}
		for _, w := range []string{l.Tax, l.Document, l.Party} {
			if w != "" {
				words = append(words, w)
			}
		}
		if l.Foreign != nil {
			words = append(words, fmt.Sprintf("(%s at %s)", l.Foreign.Words(), l.Rate))
		}
		out = append(out, strings.Join(words, " "))
	}
	return out
}

// posts compares the lines of an entry, and the accounts with the valuation, the
// list of sales, and what is owed.
func (c journalCase) posts(entry string, want ...string) {
	c.Helper()
	got := c.lines(entry)
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(append([]string{}, want...), got); diff != "" {
		c.Errorf("%s by hand (-) and in the journal (+): %s", entry, diff)
	}
	c.agrees()
}

// agrees holds the accounts against the other answers, to the cent.
func (c journalCase) agrees() {
	c.Helper()
	got := sums(c.T, c.House, "")
	sum := func(accounts ...string) num.Money {
		total := num.Zero("EUR")
		for _, a := range accounts {
			if got[a] != "" {
				total = total.Add(books.Money(got[a]))
			}
		}
		return total
	}
	value, err := c.Stockroom.StockValue(c.Context(), stockroom.StockValue{AsOf: desk.AsOf{On: "2026-03-02"}})
	c.done(err)
	same(c.T, "the stock", sum("inventory", "goods out").String(), value.Cost.String())
	sales, err := c.Stockroom.SaleList(c.Context(), stockroom.SaleList{By: "period"})
	c.done(err)
	same(c.T, "the cost of sales", sum("cost of sales").String(), sales.Cost.String())
	in, err := c.Stockroom.LedgerReceivables(c.Context(), stockroom.LedgerReceivables{})
	c.done(err)
	same(c.T, "the receivables", sum("receivables", "claims").String(), in.Book.String())
	out, err := c.Stockroom.LedgerPayables(c.Context(), stockroom.LedgerPayables{})
	c.done(err)
	same(c.T, "the payables", sum("payables").Neg().String(), out.Book.String())
	books.Sound(c.T, c.House)
}

// imports takes a list in USD at 0.9 into the book.
func (c journalCase) imports(r stockroom.ParcelImport, csv string) answer.ParcelImported {
	c.Helper()
	r.Write, r.Currency, r.File = books.Who, "USD", books.Text("p.csv", csv)
	if r.Rate == (num.Rate{}) {
		r.Rate = rate(90)
	}
	done, err := c.Stockroom.ParcelImport(c.Context(), r)
	c.done(err)
	return done
}

// receives books what came back of the order O1.
func (c journalCase) receives(r stockroom.OrderReceive, came stockroom.Came) answer.OrderReceived {
	c.Helper()
	came.Lot, came.Item = "A", "A"
	r.Movement, r.Number, r.Came = books.Moving, "O1", []stockroom.Came{came}
	r.Accept = "by hand"
	done, err := c.Stockroom.OrderReceive(c.Context(), r)
	c.done(err)
	return done
}

// A cutter's charge and freight are costs of conversion and of bringing the stones
// to their place (IAS 2.10, 2.11): 4 of 10 rough stones are 8 of 20 ct and 80.00 of
// 200.00; 45.00 and 5.00 USD at 0.9 are 40.50 and 4.50. Left-over rough that would
// bring 12.00 takes that out of the cost of its batch (IAS 2.14): of 12 ct for 120.00
// 4.0 were cut, of which 0.9 are left, so 3.1 of 11.1 ct leave with 33.51 and the cut
// ones keep 21.51; the journal has nothing of it, since all stays in the stock.
func TestLedgerJournal_OrderReceipt(t *testing.T) {
	c := newJournalCase(t)
	books.Buy(t, c.House, lots("A,topaz,rough,10,20.00,200,total"))
	topazOrder(t, c.House, "A")
	done := c.receives(stockroom.OrderReceive{Charge: usd("45"), Freight: usd("5"), Rate: rate(90)},
		stockroom.Came{Weighed: book.Weighed{Pieces: 4, Carats: 4000}})
	c.posts(done.Entry, "inventory +45.00 O1/1", "payables -40.50 C1 K (45.00 USD at 0.9)",
		"payables -4.50 C2 K (5.00 USD at 0.9)")
	same(t, "what was cut", books.Stock(t, c.House)[done.Lots[0]].Cost.String(), "125.00")
	done = c.receives(stockroom.OrderReceive{RoughNRV: books.Money("12")}, stockroom.Came{
		Weighed: book.Weighed{Pieces: 2, Carats: 2000}, From: book.Weighed{Pieces: 2, Carats: 4000},
		Rough: book.Weighed{Pieces: 1, Carats: 900}})
	c.posts(done.Entry)
	same(t, "what was cut", books.Stock(t, c.House)[done.Lots[0]].Cost.String(), "21.51")
	same(t, "the rough", books.Stock(t, c.House)[done.Lots[1]].Cost.String(), "12.00")
}

// The same where stones that are out have an account of their own: 80.00 come in
// from it, and with what the cutter bills 125.00 are in the safe.
func TestLedgerJournal_OrderReceiptGoodsOut(t *testing.T) {
	c := newJournalCase(t)
	_, err := c.Desk.ConfigSet(t.Context(), desk.ConfigSet{Write: books.Who,
		Values: map[string]string{"accounts": "goods_out=goods out"}})
	c.done(err)
	books.Buy(t, c.House, lots("A,topaz,rough,10,20.00,200,total"))
	sent := topazOrder(t, c.House, "A")
	c.posts(sent.Entry, "goods out +200.00", "inventory -200.00")
	done := c.receives(stockroom.OrderReceive{Charge: usd("45"), Freight: usd("5"), Rate: rate(90)},
		stockroom.Came{Weighed: book.Weighed{Pieces: 4, Carats: 4000}})
	c.posts(done.Entry, "inventory +125.00 O1/1", "goods out -80.00 O1/1", "payables -40.50 C1 K (45.00 USD at 0.9)",
		"payables -4.50 C2 K (5.00 USD at 0.9)")
}

// A ring is made: metal 120.00 and making 80.00 are its cost (IAS 2.10, 2.12); a
// stone of 30.00 that broke is claimed from the setter. It is repaired for 25.00,
// sold for 900.00 with its cost of 385.00 (IAS 2.34), and comes back at that cost.
func TestLedgerJournal_PieceMade(t *testing.T) {
	c := newJournalCase(t)
	ctx := t.Context()
	made := ring(t, c.House)
	c.posts(made.Entry, "inventory +170.00 W1/1", "claims +30.00 K1 S", "payables -120.00 C1 S", "payables -80.00 C2 S")
	_, err := c.Stockroom.WorkOut(ctx, stockroom.WorkOut{Movement: books.Moving, Party: "G", Work: book.WorkRepair,
		Lots: []stockroom.Moving{{Lot: "J1"}}})
	c.done(err)
	back, err := c.Stockroom.WorkBack(ctx, stockroom.WorkBack{Movement: books.Moving, Ticket: "W2",
		Making: eur(t, "25"), Lines: []stockroom.WorkLine{{Moving: stockroom.Moving{Lot: "J1"}, Rest: true}}})
	c.done(err)
	c.posts(back.Entry, "inventory +25.00 W2/1", "payables -25.00 C3 G")
	sold, err := c.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "J1"}), Bill: stockroom.Bill{Price: books.Money("900")}})
	c.done(err)
	c.posts(sold.Entry, "cost of sales +385.00 INVOICE-2026-0001 C", "inventory -385.00 INVOICE-2026-0001",
		"receivables +900.00 INVOICE-2026-0001 C", "revenue -900.00 INVOICE-2026-0001 C")
	returned, err := c.Stockroom.SaleReturn(ctx, stockroom.SaleReturn{Movement: books.Moving, Number: "S1"})
	c.done(err)
	c.posts(returned.Entry, "cost of sales -385.00 CREDIT-2026-0001 C", "inventory +385.00 CREDIT-2026-0001",
		"receivables -900.00 CREDIT-2026-0001 C", "sales returns +900.00 CREDIT-2026-0001 C")
}

// A piece is bought for 500.00 USD at 0.9 (IAS 21.21) and another is put together
// from stones of the safe, with metal 60.00; of it the payables know nobody.
func TestLedgerJournal_PieceBought(t *testing.T) {
	c := newJournalCase(t)
	bought, err := c.Stockroom.PieceAdd(t.Context(), stockroom.PieceAdd{Movement: books.Moving, Vendor: "M",
		Jewel: book.Jewel{Is: "ring"}, Price: stockroom.Paid{Amount: usd("500"), Rate: rate(90)}})
	c.done(err)
	c.posts(bought.Entry, "inventory +450.00 J1", "payables -450.00 J1 M (500.00 USD at 0.9)")
	paid, err := c.Stockroom.PaymentAdd(t.Context(), stockroom.PaymentAdd{Write: books.Who, Party: "M",
		For: []string{"J1"}, Amount: usd("500"), Rate: rate(88)})
	c.done(err)
	c.posts(paid.Entry, "payables +450.00 J1 M (500.00 USD at 0.9)", "bank -440.00 PAY1 M (500.00 USD at 0.88)",
		"exchange -10.00 PAY1 M")
}

// A laboratory's fee of 10.00 USD at 0.9 is 9.00, once, however many lots of stones
// share it: 3.00 each.
func TestLedgerJournal_LaboratoryFee(t *testing.T) {
	c := newJournalCase(t)
	books.Buy(t, c.House, lots("A,topaz,oval,1,1.00,100,total", "B,topaz,oval,1,1.00,100,total",
		"D,topaz,oval,1,1.00,100,total"))
	_, err := c.Stockroom.WorkOut(t.Context(), stockroom.WorkOut{Movement: books.Moving, Party: "Lab",
		Work: book.WorkLaboratory, Lots: []stockroom.Moving{{Lot: "A"}, {Lot: "B"}, {Lot: "D"}}})
	c.done(err)
	r := stockroom.WorkBack{Movement: books.Moving, Ticket: "W1", Fee: stockroom.Paid{Amount: usd("10"),
		Rate: rate(90)}}
	for _, lot := range []string{"A", "B", "D"} {
		r.Lines = append(r.Lines, stockroom.WorkLine{Moving: stockroom.Moving{Lot: lot, Pieces: 1, Carats: 1000}})
	}
	back, err := c.Stockroom.WorkBack(t.Context(), r)
	c.done(err)
	c.posts(back.Entry, "inventory +9.00 W1/1", "payables -3.00 C1 Lab (3.34 USD at 0.9)",
		"payables -3.00 C2 Lab (3.33 USD at 0.9)", "payables -3.00 C3 Lab (3.33 USD at 0.9)")
}

// A purchase of 1,500 lots of 1.00 USD each stands in two entries, and each has its
// part of the invoice at its rate (IAS 21.21); a lot that is amended since changes
// nothing, and a reversal has it too.
func TestLedgerJournal_PurchaseInSeveralEntries(t *testing.T) {
	c := newJournalCase(t)
	rows := make([]string, 1500)
	for i := range rows {
		rows[i] = fmt.Sprintf("L%d,topaz,oval,1,1.00,1,total", i)
	}
	done := c.imports(stockroom.ParcelImport{Vendor: "V"}, lots(rows...))
	if len(done.Entries) != 2 {
		t.Fatalf("entries %v", done.Entries)
	}
	_, err := c.Stockroom.LotAmend(t.Context(), stockroom.LotAmend{Write: books.Who, Lot: "L7",
		Fields: []string{"color"}, Values: book.Lot{Color: "blue"}})
	c.done(err)
	c.posts(done.Entries[0], "inventory +900.00 P1", "payables -900.00 P1 V (1000.00 USD at 0.9)")
	c.posts(done.Entries[1], "inventory +450.00 P1", "payables -450.00 P1 V (500.00 USD at 0.9)")
	back, err := c.Stockroom.LedgerReverse(t.Context(), stockroom.LedgerReverse{Write: books.Who,
		Entry: done.Entries[1]})
	c.done(err)
	if diff := cmp.Diff([]string{"payables +450.00 P1 V (500.00 USD at 0.9)", "inventory -450.00 P1"},
		c.lines(back.Entry)); diff != "" {
		t.Error(diff)
	}
}

// Lots of an offer are bought in two goes, so the parcel's record was changed since
// the first: 200.00 USD at 0.91, then 60.00 USD at 0.92.
func TestLedgerJournal_OfferBought(t *testing.T) {
	c := newJournalCase(t)
	c.imports(stockroom.ParcelImport{Vendor: "V", Offer: true}, lots("A,topaz,oval,10,10.00,220,total",
		"B,topaz,oval,5,5.00,80,total"))
	first, err := c.Stockroom.ParcelBuy(t.Context(), stockroom.ParcelBuy{Write: books.Who, Parcel: "P1",
		Lots: []stockroom.PricedLot{{Lot: "A"}}, Price: usd("200"), Rate: rate(91)})
	c.done(err)
	second, err := c.Stockroom.ParcelBuy(t.Context(), stockroom.ParcelBuy{Write: books.Who, Parcel: "P1",
		Price: usd("60"), Rate: rate(92)})
	c.done(err)
	c.posts(first.Entry, "inventory +182.00 P1", "payables -182.00 P1 V (200.00 USD at 0.91)")
	c.posts(second.Entry, "inventory +55.20 P1", "payables -55.20 P1 V (60.00 USD at 0.92)")
	gone, err := c.Stockroom.LedgerReverse(t.Context(), stockroom.LedgerReverse{Write: books.Who,
		Entry: second.Entry})
	c.done(err)
	c.posts(gone.Entry, "inventory -55.20 P1", "payables +55.20 P1 V (60.00 USD at 0.92)")
}

// Of 6 lent stones at 1,200.00 USD two are bought for 400.00 USD at 0.95 of that day
// (IAS 21.21), the rest with its sale for 900.00 EUR at the book's rate of the day.
func TestLedgerJournal_LentLotBought(t *testing.T) {
	c := newJournalCase(t)
	ctx := t.Context()
	_, err := c.Desk.RatesImport(ctx, desk.RatesImport{Write: books.Who, File: books.Text("r.csv",
		"kind,name,value,per,unit,date,source\nfx,USD,0.92,1,EUR/USD,2026-03-01,bank\n")})
	c.done(err)
	c.imports(stockroom.ParcelImport{Vendor: "Lender"}, "lot,species,shape,pieces,weight_ct,price,price_basis,owner\n"+
		"L,topaz,oval,6,6.00,1200,total,memo-in/Lender\n")
	bought, err := c.Stockroom.MemoBuy(ctx, stockroom.MemoBuy{Movement: books.Moving,
		Moving: stockroom.Moving{Lot: "L", Pieces: 2, Carats: 2000}, Rate: rate(95)})
	c.done(err)
	c.posts(bought.Entry, "inventory +380.00 L.1", "payables -380.00 L.1 Lender (400.00 USD at 0.95)")
	sold, err := c.Stockroom.SaleAdd(ctx, stockroom.SaleAdd{Movement: books.Moving, Customer: "C", Buy: true,
		Lines: stockroom.Together(stockroom.Moving{Lot: "L"}), Bill: stockroom.Bill{Price: books.Money("900")}})
	c.done(err)
	c.posts(sold.Entry, "cost of sales +736.00 INVOICE-2026-0001 C", "payables -736.00 L Lender (800.00 USD at 0.92)",
		"receivables +900.00 INVOICE-2026-0001 C", "revenue -900.00 INVOICE-2026-0001 C")
}

// A list has the dealer's own stones and lent ones: what is owed for a lent lot that
// is bought later is in the payables as it is in the journal.
func TestLedgerJournal_LentLotOfAMixedList(t *testing.T) {
	c := newJournalCase(t)
	c.imports(stockroom.ParcelImport{Vendor: "V"}, "lot,species,shape,pieces,weight_ct,price,price_basis,owner\n"+
		"A,topaz,oval,2,2.00,100,total,\nL,topaz,oval,6,6.00,1200,total,memo-in/V\n")
	bought, err := c.Stockroom.MemoBuy(t.Context(), stockroom.MemoBuy{Movement: books.Moving,
		Moving: stockroom.Moving{Lot: "L"}, Rate: rate(95)})
	c.done(err)
	c.posts("E2", "inventory +90.00 P1", "payables -90.00 P1 V (100.00 USD at 0.9)")
	c.posts(bought.Entry, "inventory +1140.00 L", "payables -1140.00 L V (1200.00 USD at 0.95)")
}

// A sale of 100.00 USD at 0.9 with a commission of 5.00 USD: revenue 90.00, and 4.50
// that the broker gets, which the sale does not lower.
func TestLedgerJournal_Commission(t *testing.T) {
	c := newJournalCase(t)
	books.Buy(t, c.House, books.OneLot)
	sold, err := c.Stockroom.SaleAdd(t.Context(), stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 2, Carats: 4000}), Bill: stockroom.Bill{
			Price: usd("100"), Rate: rate(90), Broker: "B", Commission: usd("5")}})
	c.done(err)
	const inv = "INVOICE-2026-0001"
	c.posts(sold.Entry, "cost of sales +20.00 "+inv+" C", "inventory -20.00 "+inv,
		"receivables +90.00 "+inv+" C (100.00 USD at 0.9)", "revenue -90.00 "+inv+" C (100.00 USD at 0.9)",
		"commissions +4.50 "+inv+" B (5.00 USD at 0.9)", "payables -4.50 "+inv+" B (5.00 USD at 0.9)")
	paid, err := c.Stockroom.PaymentAdd(t.Context(), stockroom.PaymentAdd{Write: books.Who, Party: "B",
		For: []string{"S1"}, Amount: usd("5"), Rate: rate(90)})
	c.done(err)
	c.posts(paid.Entry, "payables +4.50 "+inv+" B (5.00 USD at 0.9)", "bank -4.50 PAY1 B (5.00 USD at 0.9)")
}

// A lot of 100.00 is written down to 60.00, an expense of the day (IAS 2.28, 2.34),
// and up again to 80.00, which lowers it (IAS 2.33, 2.34).
func TestLedgerJournal_WriteDown(t *testing.T) {
	c := newJournalCase(t)
	books.Buy(t, c.House, books.OneLot)
	down, err := c.Stockroom.LotWriteDown(t.Context(), stockroom.LotWriteDown{Write: books.Who, Lot: "A",
		To: books.Money("60")})
	c.done(err)
	c.posts(down.Entry, "write downs +40.00", "inventory -40.00")
	up, err := c.Stockroom.LotWriteDown(t.Context(), stockroom.LotWriteDown{Write: books.Who, Lot: "A",
		To: books.Money("80")})
	c.done(err)
	c.posts(up.Entry, "inventory +20.00", "write downs -20.00")
}

// One of 10 stones of 100.00 is lost, an expense of 10.00 (IAS 2.16, 2.34). Of two on
// memo at 30.00 USD a stone none comes back: the customer owes 60.00 USD at 0.9, which
// is 34.00 over their cost of 20.00, and pays at 0.95 (IAS 21.28).
func TestLedgerJournal_LossAndClaim(t *testing.T) {
	c := newJournalCase(t)
	ctx := t.Context()
	books.Buy(t, c.House, books.OneLot)
	lost, err := c.Stockroom.LotAdjust(ctx, stockroom.LotAdjust{Movement: books.Moving, Lot: "A", Pieces: -1,
		Carats: -2000, To: book.LossCount})
	c.done(err)
	c.posts(lost.Entry, "losses +10.00", "inventory -10.00")
	_, err = c.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "C", Lines: []stockroom.Selling{
		{Moving: stockroom.Moving{Lot: "A", Pieces: 2, Carats: 4000}}}})
	c.done(err)
	closed, err := c.Stockroom.MemoClose(ctx, stockroom.MemoClose{Movement: books.Moving, Number: "M1",
		Missing: stockroom.MissingClaim, Currency: "USD", Rate: rate(90), Lines: []stockroom.Selling{
			{Moving: stockroom.Moving{Lot: "A"}, Price: num.UnitPrice{Money: usd("30")}, Basis: book.LinePerPiece}}})
	c.done(err)
	c.posts(closed.Entry, "claims +54.00 K1 C (60.00 USD at 0.9)", "inventory -20.00 M1/1", "losses -34.00 K1 C")
	paid, err := c.Stockroom.PaymentAdd(ctx, stockroom.PaymentAdd{Write: books.Who, Party: "C", For: []string{"K1"},
		Amount: usd("60"), Rate: rate(95)})
	c.done(err)
	c.posts(paid.Entry, "bank +57.00 PAY1 C (60.00 USD at 0.95)", "claims -54.00 K1 C (60.00 USD at 0.9)",
		"exchange -3.00 PAY1 C")
}

// By the margin scheme the tax lies in the margin: of 100.00 for what was bought for
// 20.00 it is 80.00 x 20/120 = 13.33, and the revenue 86.67.
func TestLedgerJournal_MarginScheme(t *testing.T) {
	c := newJournalCase(t)
	_, err := c.Desk.ConfigSet(t.Context(), desk.ConfigSet{Write: books.Who,
		Values: map[string]string{"tax_margin_scheme": "yes"}})
	c.done(err)
	books.Buy(t, c.House, books.OneLot)
	tax := num.Percent{Dec: num.Int(20)}
	sold, err := c.Stockroom.SaleAdd(t.Context(), stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 2, Carats: 4000}), Bill: stockroom.Bill{
			Price: books.Money("100"), Tax: &tax, Margin: true}})
	c.done(err)
	const inv = "INVOICE-2026-0001"
	c.posts(sold.Entry, "cost of sales +20.00 "+inv+" C", "inventory -20.00 "+inv, "receivables +100.00 "+inv+" C",
		"revenue -86.67 margin 20 "+inv+" C", "tax payable -13.33 margin 20 "+inv+" C")
}

// A ring that cost 360.00 with its stones is missing on a memo: one claim of 500.00.
func TestLedgerJournal_PieceClaimed(t *testing.T) {
	c := newJournalCase(t)
	ctx := t.Context()
	ring(t, c.House)
	_, err := c.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "C",
		Lines: stockroom.Together(stockroom.Moving{Lot: "J1"})})
	c.done(err)
	closed, err := c.Stockroom.MemoClose(ctx, stockroom.MemoClose{Movement: books.Moving, Number: "M1",
		Missing: stockroom.MissingClaim, Lines: []stockroom.Selling{{Moving: stockroom.Moving{Lot: "J1"},
			Price: num.UnitPrice{Money: books.Money("500")}, Basis: book.LinePerPiece}}})
	c.done(err)
	c.posts(closed.Entry, "claims +500.00 K2 C", "inventory -360.00 M1/1", "losses -140.00 K2 C")
}
