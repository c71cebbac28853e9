package ledger_test

import (
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

func euros(cents int64) num.Money { return num.FromMinor(cents, "EUR") }

// Three stones of 10 go, of 1.000, 1.000 and 1.001 ct of 10.000 ct that cost
// 100.01: by carats, 10.001, 10.001 and 10.011 of 69.997 that stay. A rounded
// unit cost of 10.00 would lose a cent.
func TestLeave_ByCarats(t *testing.T) {
	here := ledger.Balance{Lot: "A", Place: book.Safe, Pieces: 10, Carats: 10000, Cost: euros(10001)}
	got, f := ledger.Leave([]ledger.Balance{here}, book.Safe, []ledger.Leaving{{Pieces: 1, Carats: 1000},
		{Pieces: 1, Carats: 1000}, {Pieces: 1, Carats: 1001}})
	if f != nil {
		t.Fatal(f)
	}
	for i, want := range []string{"10.00", "10.00", "10.01"} {
		if got[i].String() != want {
			t.Errorf("part %d takes %s, want %s", i, got[i], want)
		}
	}
}

// A stone that broke leaves its cost on the others; when nothing else of the lot
// is left, it takes all of it.
func TestLeave_Free(t *testing.T) {
	out := ledger.Balance{Lot: "A", Place: "paper/W1", Pieces: 2, Carats: 2000, Cost: euros(2000)}
	safe := ledger.Balance{Lot: "A", Place: book.Safe, Pieces: 2, Carats: 2000, Cost: euros(2000)}
	for _, c := range []struct {
		name     string
		balances []ledger.Balance
		parts    []ledger.Leaving
		want     []string
	}{
		{"one of two breaks", []ledger.Balance{out}, []ledger.Leaving{{1, 1000, true}, {1, 1000, false}},
			[]string{"0.00", "20.00"}},
		{"one breaks, one stays out", []ledger.Balance{out, safe}, []ledger.Leaving{{1, 1000, true}},
			[]string{"0.00"}},
		{"one breaks, one comes back, two are in the safe", []ledger.Balance{safe, out},
			[]ledger.Leaving{{1, 1000, true},
				{1, 1000, false}}, []string{"0.00", "20.00"}},
		{"both break", []ledger.Balance{out}, []ledger.Leaving{{2, 2000, true}}, []string{"20.00"}},
		{"powder goes free", []ledger.Balance{out}, []ledger.Leaving{{0, 300, true}, {2, 1700, false}},
			[]string{"0.00", "20.00"}},
	} {
		got, f := ledger.Leave(c.balances, "paper/W1", c.parts)
		if f != nil {
			t.Errorf("%s: %v", c.name, f)
			continue
		}
		for i, want := range c.want {
			if got[i].String() != want {
				t.Errorf("%s: part %d takes %s, want %s", c.name, i, got[i], want)
			}
		}
	}
}

// Whatever leaves, no cost comes from nowhere or stays behind without stones, and
// each part is within one minor unit of its exact share.
func TestLeave_Law(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		pieces := rapid.Int64Range(2, 60).Draw(rt, "pieces")
		carats := num.Carat(rapid.Int64Range(pieces*50, pieces*5000).Draw(rt, "carats"))
		here := ledger.Balance{Lot: "A", Place: book.Safe, Pieces: pieces, Carats: carats,
			Cost: euros(rapid.Int64Range(0, 1_000_000).Draw(rt, "cost"))}
		balances := []ledger.Balance{here}
		all := here
		// the same stones at the same cost a carat, so that the exact share is known
		if rapid.Bool().Draw(rt, "elsewhere") {
			n := rapid.Int64Range(1, 3).Draw(rt, "times")
			away := ledger.Balance{Lot: "A", Place: "paper/M1", Pieces: n * pieces, Carats: num.Carat(n) * carats,
				Cost: here.Cost.Times(num.Int(n), num.HalfUp)}
			balances = append(balances, away)
			all.Pieces, all.Carats, all.Cost = all.Pieces+away.Pieces, all.Carats+away.Carats, all.Cost.Add(away.Cost)
		}
		n := rapid.Int64Range(1, min(4, pieces)).Draw(rt, "parts")
		parts := make([]ledger.Leaving, n)
		var gone ledger.Leaving
		for i := range parts {
			parts[i] = ledger.Leaving{Pieces: 1, Carats: carats / num.Carat(pieces)}
			if i == 0 && rapid.Bool().Draw(rt, "rest") {
				parts[i].Pieces = pieces - n + 1
				parts[i].Carats = carats - num.Carat(n-1)*(carats/num.Carat(pieces))
			}
			gone.Pieces, gone.Carats = gone.Pieces+parts[i].Pieces, gone.Carats+parts[i].Carats
		}
		got, f := ledger.Leave(balances, book.Safe, parts)
		if gone.Pieces == pieces && gone.Carats != carats {
			if f == nil {
				rt.Fatal("all pieces left without all weight")
			}
			return
		}
		if f != nil {
			rt.Fatal(f)
		}
		sum := num.Zero("EUR")
		for i, c := range got {
			sum = sum.Add(c)
			exact := num.MoneyFromDec(all.Cost.Dec().Mul(parts[i].Carats.Dec()).Over(all.Carats.Dec(), 6, num.HalfUp),
				"EUR",
				num.HalfUp)
			if off := c.Sub(exact); off.Cmp(euros(1)) > 0 || off.Neg().Cmp(euros(1)) > 0 {
				rt.Errorf("part %d takes %s, its exact share is %s", i, c, exact)
			}
		}
		switch left := here.Cost.Sub(sum); {
		case left.Sign() < 0:
			rt.Errorf("%s leaves a place that has %s", sum, here.Cost)
		case gone.Pieces == pieces && !left.IsZero():
			rt.Errorf("%s stays behind without stones", left)
		}
	})
}

// Balances of 0.01, 0.001 and 0.0001 ct: three times the square root of 2 times the resolution is
// 0.0424, 0.00424 and less than the least.
func TestTolerance(t *testing.T) {
	for resolution, want := range map[num.Carat]num.Carat{10: 43, 1: 5, 0: 2} {
		if got := ledger.Tolerance(resolution); got != want {
			t.Errorf("a balance of %s ct: %s, want %s", resolution, got, want)
		}
	}
}

func TestCheckMeans(t *testing.T) {
	here := ledger.Balance{Lot: "A", Place: book.Safe, Pieces: 10, Carats: 10000}
	for _, c := range []struct {
		part ledger.Leaving
		ok   bool
	}{
		{ledger.Leaving{Pieces: 1, Carats: 250}, true},
		{ledger.Leaving{Pieces: 1, Carats: 249}, false}, // under a quarter of the mean
		{ledger.Leaving{Pieces: 1, Carats: 4000}, true},
		{ledger.Leaving{Pieces: 1, Carats: 4001}, false}, // over four times
		{ledger.Leaving{Pieces: 2, Carats: 8000}, true},  // what stays: 8 of 2.000 ct, a quarter of the mean
		{ledger.Leaving{Pieces: 3, Carats: 8300}, false}, // 7 of 1.700 ct stay
		{ledger.Leaving{Pieces: 1, Carats: 0}, false},
		{ledger.Leaving{Pieces: 9, Carats: 10000}, false}, // a piece without weight stays
		{ledger.Leaving{Pieces: 10, Carats: 10000}, true},
	} {
		if f := ledger.CheckMeans(here, c.part); (f == nil) != c.ok {
			t.Errorf("%d pieces, %s ct: %v", c.part.Pieces, c.part.Carats, f)
		}
	}
	if f := ledger.CheckMeans(ledger.Balance{Pieces: 3}, ledger.Leaving{Pieces: 1}); f != nil {
		t.Errorf("stones that nobody weighed: %v", f)
	}
}
