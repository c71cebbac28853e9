package stockroom_test

import (
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// Two lots of 5.130 and 4.800 ct, bought for 25.00 in all and for 25.10 a carat,
// cost 25.00 and 120.48; the second is out with a setter, as old as its purchase.
func TestParcelOpening(t *testing.T) {
	a := books.New(t)
	csv := "lot,vendor,bought,species,shape,pieces,weight,price,price_basis,out_on,party\n" +
		"C1,V,2025-02-01,beryl,oval,4,5.130,25.00,total,,\n" +
		"C2,V,2025-02-01,beryl,oval,4,4.800,25.10,per_carat,work,S\n"
	done, err := a.Stockroom.ParcelOpening(t.Context(), stockroom.ParcelOpening{Write: books.Who,
		File: desk.Input{Reader: strings.NewReader(csv), Size: int64(len(csv)), Name: "opening.csv"}})
	if err != nil {
		t.Fatal(err)
	}
	if len(done.Parcels) != 1 || done.Parcels[0].On != "2025-02-01" || done.Cost.String() != "145.48" {
		t.Errorf("parcels %v cost %s, want one of 2025-02-01 and 145.48", done.Parcels, done.Cost)
	}
	got := books.Stock(t, a)
	for lot, want := range map[string]struct {
		place book.Place
		cost  string
	}{"C1": {book.Safe, "25.00"}, "C2": {"paper/W1", "120.48"}} {
		s := got[lot]
		if b := s.At(want.place); b.Pieces != 4 || b.Cost.String() != want.cost {
			t.Errorf("%s has %d pieces for %s at %s, want 4 for %s", lot, b.Pieces, b.Cost, want.place, want.cost)
		}
	}
	books.Sound(t, a)
}
