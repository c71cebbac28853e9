package books

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
)

var Who = desk.Write{Who: "tester", Reason: "test"}

// Moving is the part of every request that moves stones.
var Moving = stockroom.Movement{Write: Who}

const OneLot = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n"

func Money(s string) num.Money {
	m, f := num.ParseMoney(s, "EUR")
	if f != nil {
		panic(f)
	}
	return m
}

func Refused(t *testing.T, err error, code string) {
	t.Helper()
	l, ok := fault.From(err)
	if !ok || l[0].Code != code {
		t.Errorf("err = %v, want the fault %s", err, code)
	}
}

// New opens a book in EUR with a fixed clock.
func New(t *testing.T) *house.House {
	t.Helper()
	a, _ := Interrupted(t)
	return a
}

// Interruption is a store in which a test may do something between the reading
// of a piece of work and the write that ends it.
type Interruption struct {
	store.Store
	Before func() // runs once, before the next write
}

// Update runs Before, then the write.
func (i *Interruption) Update(ctx context.Context, f func(store.Tx) error) error {
	if before := i.Before; before != nil {
		i.Before = nil
		before()
	}
	return i.Store.Update(ctx, f)
}

// Interrupted opens a book as New does, and its store.
func Interrupted(t *testing.T) (*house.House, *Interruption) {
	t.Helper()
	return Clocked(t, func() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) })
}

// Clocked opens a book in EUR with a clock, and its store.
func Clocked(t *testing.T, now func() time.Time) (*house.House, *Interruption) {
	t.Helper()
	s, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "b.db"), store.Meta{Currency: "EUR", Zone: "UTC",
		Created: now()}, sqlite.Options{Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	i := &Interruption{Store: s}
	a := house.Open(i, now)
	if _, err := a.Desk.Init(t.Context(), desk.Init{Write: desk.Write{Who: "tester"}}); err != nil {
		t.Fatal(err)
	}
	return a, i
}

func Text(name, s string) desk.Input {
	return desk.Input{Reader: strings.NewReader(s), Size: int64(len(s)), Name: name}
}

func Buy(t *testing.T, a *house.House, csv string) answer.ParcelImported {
	t.Helper()
	done, err := a.Stockroom.ParcelImport(t.Context(), stockroom.ParcelImport{Write: desk.Write{Who: "tester"},
		Vendor: "V", Currency: "EUR", File: Text("p.csv", csv)})
	if err != nil {
		t.Fatal(err)
	}
	return done
}

func Stock(t *testing.T, a *house.House) map[string]answer.StockLot {
	t.Helper()
	list, err := a.Stockroom.StockList(t.Context(), stockroom.StockList{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]answer.StockLot{}
	for _, row := range list.Lots {
		out[row.Code] = row.StockLot
	}
	return out
}

func Sound(t *testing.T, a *house.House) {
	t.Helper()
	check, err := a.Desk.LedgerCheck(context.Background(), desk.LedgerCheck{})
	if err != nil || len(check.Differences) > 0 {
		t.Fatalf("ledger check: %v, %v", check.Differences, err)
	}
}
