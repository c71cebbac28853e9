package book_test

import (
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// A price for all is shared by carats, and its parts add up to it whatever the
// order in which they leave: 1000.00 for 2.500, 2.000 and 1.500 of 6.000 ct are
// 416.67, 333.33 and 250.00. A price for each piece or carat is that of the part.
func TestAskedPrice_Taken(t *testing.T) {
	usd := func(text string) num.UnitPrice {
		u, f := num.ParseUnitPrice(text, "USD")
		if f != nil {
			t.Fatal(f)
		}
		return u
	}
	whole := book.Weighed{Pieces: 3, Carats: 6000}
	all := book.AskedPrice{Amount: usd("1000"), Basis: book.LineTotal}
	held, sum := whole, num.Zero("USD")
	for _, c := range []struct {
		carats num.Carat
		want   string
	}{{2500, "416.67"}, {2000, "333.33"}, {1500, "250.00"}} {
		got := all.Taken(book.Weighed{Pieces: 1, Carats: c.carats}, held, whole)
		if got.String() != c.want {
			t.Errorf("%s ct bring %s, want %s", c.carats, got, c.want)
		}
		held, sum = book.Weighed{Pieces: held.Pieces - 1, Carats: held.Carats - c.carats}, sum.Add(got)
	}
	if sum.String() != "1000.00" {
		t.Errorf("the parts bring %s", sum)
	}
	part := book.Weighed{Pieces: 2, Carats: 3330}
	for basis, want := range map[book.LineBasis]string{book.LinePerCarat: "399.60", book.LinePerPiece: "240.00"} {
		p := book.AskedPrice{Amount: usd("120"), Basis: basis}
		if got := p.Taken(part, whole, whole); got.String() != want {
			t.Errorf("%s: %s, want %s", basis, got, want)
		}
	}
	unweighed := book.Weighed{Pieces: 3} // nobody weighed them: by pieces
	if got := all.Of(book.Weighed{Pieces: 2}, unweighed); got.String() != "666.67" {
		t.Errorf("two of three: %s", got)
	}
}
