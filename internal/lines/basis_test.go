package lines_test

import (
	"testing"

	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// What others write while a line is worked out spoils its hold, its proposal or
// its order only when it touches what the plan was made from.
func TestPlan_ConflictByWhatWasRead(t *testing.T) {
	spare := "lot,species,shape,pieces,weight_ct,price,price_basis\nZ,quartz,oval,10,20.00,100,total\n"
	part := func(lot string) func(*testing.T, *house.House) {
		return func(t *testing.T, a *house.House) {
			_, err := a.Stockroom.LotSplit(t.Context(), stockroom.LotSplit{Movement: books.Moving, Lot: lot, Pieces: 1,
				Carats: 500})
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	rates := func(t *testing.T, a *house.House) {
		_, err := a.Desk.RatesImport(t.Context(), desk.RatesImport{Write: books.Who, File: books.Text("r.csv",
			"kind,name,value,per,unit,date,source\nmetal,gold,99,,EUR/g fine,2026-02-02,invented\n")})
		if err != nil {
			t.Fatal(err)
		}
	}
	hold := func(t *testing.T, a *house.House) error {
		r := books.LineRequest()
		r.Hold = true
		_, err := a.Lines.Plan(t.Context(), r)
		return err
	}
	propose := func(t *testing.T, a *house.House) error {
		_, err := a.Lines.Propose(t.Context(), lines.Propose{Plan: books.LineRequest(), Runs: 10})
		return err
	}
	draft := func(t *testing.T, a *house.House) error {
		r := lines.OrderDraft{Plan: books.LineRequest(), Cutter: "C"}
		r.Quantities = map[string]int64{"Drop": 40}
		_, err := a.Lines.OrderDraft(t.Context(), r)
		return err
	}
	for _, c := range []struct {
		name     string
		work     func(*testing.T, *house.House) error
		between  func(*testing.T, *house.House)
		conflict bool
	}{
		{"hold, another lot", hold, part("Z"), false},
		{"hold, its stones", hold, part("T"), true},
		{"hold, a rate", hold, rates, true},
		{"propose, another lot", propose, part("Z"), false},
		{"propose, its stones", propose, part("T"), true},
		{"propose, a rate", propose, rates, true},
		{"draft, another lot", draft, part("Z"), false},
		{"draft, its stones", draft, part("T"), true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			a, store := books.Interrupted(t)
			books.FillLine(t, a, books.Parcel, nil)
			books.Buy(t, a, spare)
			store.Before = func() { c.between(t, a) }
			err := c.work(t, a)
			if !c.conflict {
				if err != nil {
					t.Error(err)
				}
				return
			}
			books.Refused(t, err, "book-changed")
		})
	}
}

// A proposal of a plan that it holds itself stands on the book with its holds.
func TestPropose_AfterItsOwnHold(t *testing.T) {
	a := books.Line(t, books.Parcel, nil)
	for _, dry := range []bool{true, false} {
		r := lines.Propose{Plan: books.LineRequest(), Runs: 10}
		r.Hold, r.DryRun = true, dry
		if _, err := a.Lines.Propose(t.Context(), r); err != nil {
			t.Errorf("dry run %v: %v", dry, err)
		}
	}
}
