package stockroom_test

import (
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

func charge(t *testing.T, a *house.House, key book.ShareKey, amount string) (variance string, err error) {
	t.Helper()
	done, err := a.Stockroom.ChargeAdd(t.Context(), stockroom.ChargeAdd{Write: books.Who, Parcel: "P1", Kind: "freight",
		Key: key, Amount: books.Money(amount)})
	if err != nil {
		return "", err
	}
	return done.Charge.Variance.String(), nil
}

// Two lots of ten stones, 20.00 ct and 100.00 each. Two more stones are found in A:
// a charge by carats still goes half to each lot, where it once gave 24 of 44 parts to A.
func TestChargeAdd_AfterFind(t *testing.T) {
	for _, key := range []book.ShareKey{book.ByCarats, book.ByPieces} {
		a := books.New(t)
		books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n"+
			"B,topaz,oval,10,20.00,100,total\n")
		adjust(t, a, "A", 2, 4000)
		if _, err := charge(t, a, key, "44"); err != nil {
			t.Fatal(err)
		}
		got := books.Stock(t, a)
		if got["A"].Cost.String() != "122.00" || got["B"].Cost.String() != "122.00" {
			t.Errorf("by %s: A costs %s, B %s, want 122.00 each", key, got["A"].Cost, got["B"].Cost)
		}
		books.Sound(t, a)
	}
}

// All stones were sold and two turn up again: they take no charge, which is all a
// variance; once this ended in a panic.
func TestChargeAdd_OnlyFinds(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	if _, err := a.Stockroom.SaleAdd(t.Context(), stockroom.SaleAdd{Movement: books.Moving, Customer: "C",
		Bill:  stockroom.Bill{Price: books.Money("300")},
		Lines: stockroom.Together(stockroom.Moving{Lot: "A"})}); err != nil {
		t.Fatal(err)
	}
	adjust(t, a, "A", 2, 4000)
	if variance, err := charge(t, a, book.ByCarats, "10"); err != nil || variance != "10.00" {
		t.Errorf("variance %s, %v, want 10.00", variance, err)
	}
	if got := books.Stock(t, a)["A"]; got.Pieces != 2 || !got.Cost.IsZero() {
		t.Errorf("the found stones: %d pieces that cost %s", got.Pieces, got.Cost)
	}
	books.Sound(t, a)
}

// Three of ten are lost and one is found again: two are gone, so that a charge of
// 10.00 leaves 8.00 on the eight that are held.
func TestChargeAdd_LostAndFound(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	adjust(t, a, "A", -3, -6000)
	adjust(t, a, "A", 1, 2000)
	if variance, err := charge(t, a, book.ByPieces, "10"); err != nil || variance != "2.00" {
		t.Errorf("variance %s, %v, want 2.00", variance, err)
	}
	// 100.00 less the three lost stones' 30.00, and 8.00
	if got := books.Stock(t, a)["A"]; got.Cost.String() != "78.00" {
		t.Errorf("A costs %s, want 78.00", got.Cost)
	}
	books.Sound(t, a)
}

func adjust(t *testing.T, a *house.House, lot string, pieces int64, carats num.Carat) {
	t.Helper()
	if _, err := a.Stockroom.LotAdjust(t.Context(), stockroom.LotAdjust{Movement: books.Moving, Lot: lot,
		Pieces: pieces,
		Carats: carats, To: book.LossCount}); err != nil {
		t.Fatal(err)
	}
}

func TestLotAdjust_Refusals(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	if _, err := a.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "K",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 2, Carats: 4000})}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		r    stockroom.LotAdjust
		code string
	}{
		{stockroom.LotAdjust{Pieces: -1, Carats: -2000, Place: "paper/M1"}, "place-paper"},
		{stockroom.LotAdjust{Pieces: -1, Carats: -2000, Place: "memo/K"}, "move-nothing"},
		{stockroom.LotAdjust{Pieces: -1, Carats: 0}, "mean-impossible"},
		{stockroom.LotAdjust{Pieces: -1, Carats: -9000}, "mean-impossible"},
		{stockroom.LotAdjust{Pieces: -8, Carats: -15000}, "adjust-weight"},
		{stockroom.LotAdjust{Pieces: -9, Carats: -16000}, "take-too-much"},
		{stockroom.LotAdjust{Pieces: -1, Carats: 100}, "adjust-signs"},
		{stockroom.LotAdjust{Pieces: 1}, "move-weight"},
		{stockroom.LotAdjust{Pieces: 1, Carats: 40000}, "mean-impossible"},
		{stockroom.LotAdjust{Pieces: 1, Carats: 2000, To: book.LossBreakage}, "adjust-find"},
		{stockroom.LotAdjust{Carats: -16000, To: book.LossWeighing}, "adjust-weight"},
	} {
		c.r.Movement, c.r.Lot = books.Moving, "A"
		if c.r.To == "" {
			c.r.To = book.LossCount
		}
		_, err := a.Stockroom.LotAdjust(ctx, c.r)
		books.Refused(t, err, c.code)
	}
	books.Sound(t, a)
}

// Stones carried at 100.00 fetch 60.00: 40.00 is an expense. They gain again, and
// are carried at 90.00; never at more than they cost.
func TestLotWriteDown(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	to := func(amount string) error {
		_, err := a.Stockroom.LotWriteDown(t.Context(), stockroom.LotWriteDown{Write: books.Who, Lot: "A",
			To: books.Money(amount)})
		return err
	}
	books.Refused(t, to("110"), "write-down-up")
	for _, amount := range []string{"60.00", "90.00"} {
		if err := to(amount); err != nil {
			t.Fatal(err)
		}
		if got := books.Stock(t, a)["A"]; got.Cost.String() != amount || got.Pieces != 10 {
			t.Errorf("A costs %s, want %s", got.Cost, amount)
		}
	}
	books.Refused(t, to("100.01"), "write-down-up")
	books.Refused(t, to("90"), "write-down-up")
	books.Sound(t, a)
}

// Nothing can be found of a lot whose split was taken back: it would have the cost and
// the price of stones that lie in another lot.
func TestLotAdjust_FindOfVoidLot(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	ctx := t.Context()
	split, err := a.Stockroom.LotSplit(ctx, stockroom.LotSplit{Movement: books.Moving, Lot: "A", Pieces: 2,
		Carats: 4000})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.LedgerReverse(ctx, stockroom.LedgerReverse{Write: books.Who,
		Entry: split.Entry}); err != nil {
		t.Fatal(err)
	}
	find := stockroom.LotAdjust{Movement: books.Moving, Lot: "A.1", Pieces: 1, Carats: 2000, To: book.LossCount}
	_, err = a.Stockroom.LotAdjust(ctx, find)
	books.Refused(t, err, "lot-void")
	find.Lot = "A"
	if _, err = a.Stockroom.LotAdjust(ctx, find); err != nil {
		t.Fatal(err)
	}
	books.Sound(t, a)
}
