package cutting

import (
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

// A cabochon is ordered by its dome and base and is half as deep as it is wide; a
// faceted stone by a pavilion 2 degrees over asin(1 / lowest index), 38.5 degrees for
// topaz of 1.606. The phenomenon of a variety says how its base lies.
func TestOrder_StyleAndLaying(t *testing.T) {
	for _, c := range []struct {
		name, shape string
		depth       string
		style       string
		lies        Lie
	}{
		{"topaz", "oval", "65", "pavilion mains at least 40.5 degrees (critical angle 38.5 and 2 more)", LieOff},
		{"star corundum", "oval cabochon", "45", "dome 45 to 55 % of the width high", LieStar},
		{"cat's-eye chrysoberyl", "round cabochon", "45", "base flat", LieEye},
		{"tourmaline", "oval", "65", "2 degrees over the critical angle of the material", LieAlong},
		{"iolite", "oval", "65", "pavilion mains at least", LieColour},
	} {
		named, f := facts.Resolve(c.name)
		if f != nil {
			t.Fatal(f)
		}
		var m *facts.Material
		if len(named.Materials) == 1 {
			m = named.Materials[0]
		}
		variety := ""
		if named.Variety != nil {
			variety = named.Variety.Name
		}
		l := book.OrderLine{WantedStone: book.WantedStone{Shape: c.shape, Length: 800, Width: 600}}
		FillOrder(&l, m)
		if l.DepthLow.String() != c.depth || !strings.Contains(Style(l, m), c.style) {
			t.Errorf("%s: depth from %s, %q", c.name, l.DepthLow, Style(l, m))
		}
		advice := Orient(named.Materials[0], variety)
		if !slices.ContainsFunc(advice, func(a Advice) bool { return a.Lies == c.lies && a.Source != "" }) {
			t.Errorf("%s lies %+v, want %s", c.name, advice, c.lies)
		}
	}
}

// A least yield is asked of what is supplied for the item: 0.8 of 2 ct for the one, 3
// x 0.5 of 6 ct for the other; lots for any are shared by the items without one.
func TestLeastYield_ByItem(t *testing.T) {
	supply := func(item string, carats int64) book.Supply {
		return book.Supply{SuppliedLot: book.SuppliedLot{Carats: num.Carat(carats)}, Item: item}
	}
	line := func(low, count int64) book.OrderLine {
		return book.OrderLine{WantedStone: book.WantedStone{Count: count},
			WantedWeight: book.WantedWeight{WeightLow: num.Carat(low)}}
	}
	o := book.Order{Lines: []book.OrderLine{line(800, 1), line(500, 3), line(100, 4)},
		Supplied: []book.Supply{supply("A", 2000), supply("B", 6000)}}
	for i, want := range []string{"40", "25", "0"} {
		if got := LeastYield(o, i).String(); got != want {
			t.Errorf("item %s: at least %s %%, want %s", book.ItemName(i), got, want)
		}
	}
	o.Supplied = []book.Supply{supply("A", 2000), supply("", 6000)} // (3 x 0.5 + 4 x 0.1) / 6
	for i, want := range []string{"40", "31", "31"} {
		if got := LeastYield(o, i).String(); got != want {
			t.Errorf("with a lot for any, item %s: at least %s %%, want %s", book.ItemName(i), got, want)
		}
	}
}
