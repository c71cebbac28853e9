package stockroom_test

import (
	"testing"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/testkit"
	"lotpaper/internal/testkit/books"
)

func usd(s string) num.Money {
	m, f := num.ParseMoney(s, "USD")
	if f != nil {
		panic(f)
	}
	return m
}

// withDollar is a book with a rate of 0.92 EUR for a dollar.
func withDollar(t *testing.T) *house.House {
	t.Helper()
	a := books.New(t)
	if _, err := a.Desk.RatesImport(t.Context(), desk.RatesImport{Write: books.Who, File: books.Text("rates.csv",
		"kind,name,value,per,unit,date,source\nfx,USD,0.92,1,EUR/USD,2026-01-02,invented\n")}); err != nil {
		t.Fatal(err)
	}
	return a
}

// Three cutters bid for ten stones out of ten that cost 300, each of 1.513 ct by its
// size. One broke two of ten before: with half a stone either way (Jeffreys) 2.5 of
// 11 break, so 7.7273 come back as wanted.
func TestOrderCompare_ByHand(t *testing.T) {
	a := withDollar(t)
	books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,cushion,10,30.00,300,total\n"+
		"B,topaz,cushion,10,30.00,300,total\n")
	ctx := t.Context()
	draft := func(cutter string, lot string) string {
		t.Helper()
		drafted, err := a.Stockroom.OrderDraft(ctx, stockroom.OrderDraft{Write: books.Who, Cutter: cutter,
			Due:   "2026-05-01",
			Items: []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 800, Width: 600, Count: 10}},
			Lots:  []stockroom.Supplying{{Moving: stockroom.Moving{Lot: lot}, Item: "a"}}})
		if err != nil {
			t.Fatal(err)
		}
		return drafted.Orders[0].Number
	}
	first := draft("B", "B")
	if _, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving, Number: first}); err != nil {
		t.Fatal(err)
	}
	accepted := books.Moving
	accepted.Accept = "two split"
	if _, err := a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: accepted, Number: first,
		Came: []stockroom.Came{{Lot: "B", Weighed: book.Weighed{Pieces: 8, Carats: 12000}, Broken: 2}}}); err != nil {
		t.Fatal(err)
	}
	o := draft("", "A")
	for _, b := range []stockroom.OrderBid{
		{Cutter: "A", Basis: book.PerPiece, Price: books.Money("12"), Freight: books.Money("20"), Days: 30},
		{Cutter: "B", Basis: book.PerCarat, Price: usd("5"), Days: 30},
		{Cutter: "B", Basis: book.PerCarat, Price: usd("5"), Days: 30, Claims: true},
		{Cutter: "C", Basis: book.InTotal, Price: books.Money("60"), Days: 90},
	} {
		b.Write, b.Number = books.Who, o
		if _, err := a.Stockroom.OrderBid(ctx, b); err != nil {
			t.Fatal(err)
		}
	}
	got, err := a.Stockroom.OrderCompare(ctx, stockroom.OrderCompare{Number: o})
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		bid               int64
		price, lost, each string
		late              bool
	}{
		// 5 USD are 4.60 EUR; 4.60 x 7.727273 x 1.513 = 53.78; of 300 what breaks is claimed, 300 x 2.5/11
		{3, "53.78", "231.82", "36.96", false}, // (53.78 + 231.82) / 7.727273
		{1, "120.00", "300.00", "44.00", false},
		{2, "53.78", "300.00", "45.78", false}, // (53.78 + 300) / 7.727273
		{4, "60.00", "300.00", "36.00", true},  // ready on 2026-05-31, due on 2026-05-01
	}
	if len(got.Bids) != len(want) || got.Material.String() != "300.00" {
		t.Fatalf("compared %+v", got)
	}
	for i, w := range want {
		b := got.Bids[i]
		if b.Bid.Number != w.bid || b.Price.String() != w.price || b.Lost.String() != w.lost || b.PerPiece == nil ||
			b.PerPiece.String() != w.each || b.Late != w.late {
			t.Errorf("place %d: bid %d, price %s, supplied %s, each %v, late %t; want %+v", i+1, b.Bid.Number, b.Price,
				b.Lost, b.PerPiece, b.Late, w)
		}
	}
	// Sending names the cutter whose bid is taken.
	sent, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving, Number: o, Bid: 3})
	if err != nil || sent.Order.Cutter != "B" || !sent.Order.Claims || sent.Order.Supplied[0].Item != "A" {
		t.Errorf("sent %+v, %v", sent.Order, err)
	}
	books.Sound(t, a)
}

// What the cutter supplies is bought when it comes: a parcel from the cutter, at the
// bid's price in dollars, converted once at the day's rate.
func TestOrderReceive_Bought(t *testing.T) {
	a := withDollar(t)
	ctx := t.Context()
	drafted, err := a.Stockroom.OrderDraft(ctx, stockroom.OrderDraft{Write: books.Who,
		Items: []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 800, Width: 600, Count: 3},
			{Material: "aquamarine", Shape: "oval", Length: 700, Width: 500, Count: 2}}})
	if err != nil {
		t.Fatal(err)
	}
	o := drafted.Orders[0].Number
	if _, err := a.Stockroom.OrderBid(ctx, stockroom.OrderBid{Write: books.Who, Number: o, Cutter: "K",
		Basis: book.PerCarat, Price: usd("33.33")}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving, Number: o}); err != nil {
		t.Fatal(err)
	}
	done, err := a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: books.Moving, Number: o,
		Came: []stockroom.Came{
			{Item: "A", Weighed: book.Weighed{Pieces: 3, Carats: 4500}, Treatment: "none"},
			{Item: "B", Weighed: book.Weighed{Pieces: 2, Carats: 1500}, Treatment: "heating"}}})
	if err != nil {
		t.Fatal(err)
	}
	// 33.33 x 4.5 = 149.985, 149.99 USD; x 1.5 = 49.995, 50.00 USD; 199.99 USD are 183.9908,
	// 183.99 EUR; shared 149.99 : 50.00, the first takes 137.9899..., 137.99.
	p := done.Bought
	if p == nil || p.Vendor != "K" || p.Currency != "USD" || p.Price.String() != "183.99" || p.Pieces != 5 ||
		done.Order.State != "received" {
		t.Fatalf("bought %+v, the order is %s", p, done.Order.State)
	}
	stock := books.Stock(t, a)
	first, second := stock[done.Lots[0]], stock[done.Lots[1]]
	if first.Cost.String() != "137.99" || second.Cost.String() != "46.00" || first.Foreign == nil ||
		first.Foreign.Amount.Words() != "149.99 USD" || second.Species != "beryl" || second.Variety != "aquamarine" ||
		second.Facets.Treatment.Value != "heating" || second.Facets.Species.Basis != book.Stated {
		t.Errorf("lots %+v and %+v", first, second)
	}
	books.Sound(t, a)
}

// Stones of an order that was sent before there were papers come back from their
// cutter's place, by a sheet that names neither order nor batch; the order is done
// when nothing of it is left there.
func TestOrderReceive_OldOrder(t *testing.T) {
	now := func() time.Time { return time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC) }
	s, err := sqlite.Open(t.Context(), testkit.FrozenBook(t, testkit.EveryKind), sqlite.Options{Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	a := house.Open(s, now)
	ctx := t.Context()
	shown, err := a.Stockroom.OrderShow(ctx, stockroom.OrderShow{Number: "O2"})
	if err != nil || shown.Orders[0].State != "sent" || len(shown.Orders[0].Out) != 1 || shown.Orders[0].Overdue == 0 {
		t.Fatalf("an old order: %+v, %v", shown, err)
	}
	receive := func(row string) (book.Batch, string) {
		t.Helper()
		in := books.Text("back.csv", "Item,Lot,Wanted,Size (mm),Sent pieces,Sent (ct),Cut pieces,Cut (ct),"+
			"Length (mm),Width (mm),Depth (mm),Broken pieces,Uncut pieces back,Uncut back (ct),"+
			"Powder and chips back (ct),Remarks\n"+row)
		m := books.Moving
		m.Accept = "as agreed"
		done, err := a.Stockroom.OrderReceive(ctx, stockroom.OrderReceive{Movement: m, Number: "O2", File: &in})
		if err != nil {
			t.Fatal(err)
		}
		books.Sound(t, a)
		return done.Batch, done.Order.State
	}
	if b, state := receive("A,A6,2 cushion,8 x 8,2,7.060,1,2.500,8,8,,,,,,\n"); b.RecordKey() != "O2/1" ||
		b.Sheet != 0 ||
		state != "sent" {
		t.Errorf("the first part: %+v, %s", b, state)
	}
	if b, state := receive("A,A6,2 cushion,8 x 8,2,7.060,1,2.400,8,8,,,,,,\n"); b.RecordKey() != "O2/2" ||
		state != "received" {
		t.Errorf("the rest: %+v, %s", b, state)
	}
	shown, err = a.Stockroom.OrderShow(ctx, stockroom.OrderShow{Number: "O2"})
	if err != nil || shown.Orders[0].State != "received" || shown.Orders[0].Order.State != "received" {
		t.Errorf("the order is done, but %+v, %v", shown, err)
	}
}
