package lines

import (
	"fmt"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/fitting"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// largeBook is a plan of a line of 60 designs over a book of so many lots.
func largeBook(lots int) *basis {
	p := &basis{lots: map[string]answer.StockLot{}, currency: "EUR"}
	p.judge = fitting.NewJudge(map[string]*bench.LotIdentity{}, config.Config{})
	p.task = lineplan.Input{Judge: p.verdict}
	species := []string{"topaz", "beryl", "corundum", "spinel", "quartz", "tourmaline", "zircon", "apatite",
		"fluorite", "kyanite"}
	settings := []string{"prong", "bezel", "channel", "flush"}
	pieces := []string{"ring", "pendant", "earrings", "bracelet"}
	mm := func(f float64) num.Millimetre { return num.MillimetreFromFloat(f, num.HalfUp) }
	for i := range lots {
		l := 4 + float64(i*37%500)/100
		lot := book.Lot{Code: fmt.Sprintf("P1-%d", i), Species: species[i%len(species)], Shape: "oval", Owner: book.Own,
			Length: book.Size{Min: mm(l), Max: mm(l)}, Width: book.Size{Min: mm(0.75 * l), Max: mm(0.75 * l)}}
		p.lots[lot.Code] = answer.StockLot{Lot: lot, Pieces: 1, Carats: 1000}
		p.task.Stones = append(p.task.Stones, lineplan.Stone{Lot: lot.Code, Species: lot.Species, Shape: lot.Shape,
			Length: lot.Length, Width: lot.Width,
			Owner: lot.Owner, Free: 1, Carats: 1000, Value: num.FromMinor(int64(1000+i%700), "EUR"),
			Identity: "stated"})
	}
	for i := range 60 {
		d := book.Design{Line: "L", Name: fmt.Sprintf("R%d", i), Piece: pieces[i/4%4], Wear: "daily", Quantity: 30,
			Identity: "stated"}
		center := book.Position{Name: "center", Setting: settings[i%4], Shape: "oval", Species: []string{species[i%10],
			species[(i+1)%10]}, LengthMin: mm(5 + float64(i%30)/10), LengthMax: mm(6 + float64(i%30)/10), Count: 1,
			Match: "none", Accept: "caution"}
		pair := book.Position{Name: "pair", Setting: "prong", Shape: "oval", Species: []string{species[(i+3)%10]},
			LengthMin: mm(4), LengthMax: mm(6), Count: 2, Match: "pair", Accept: "caution"}
		d.Positions = []book.Position{center, pair}
		p.task.Designs = append(p.task.Designs, lineplan.Design{Design: d, Margin: num.FromMinor(9000, "EUR")})
	}
	return p
}

// built counts what building the problem of a large book makes, and what it
// allocates.
func built(t *testing.T, lots int) (verdicts, entries, edges, allocs float64) {
	t.Helper()
	var p *basis
	var m *lineplan.Model
	allocs = testing.AllocsPerRun(1, func() {
		p = largeBook(lots)
		var err error
		if m, err = lineplan.Build(&p.task); err != nil {
			t.Fatal(err)
		}
	})
	for _, d := range m.Problem.Designs {
		for _, pos := range d.Positions {
			entries += float64(len(pos.Entries))
			edges += float64(len(pos.Edges))
		}
	}
	return float64(len(p.judge.Known)), entries, edges, allocs
}

// TestBuild_LargeBook: twice the lots cost no more verdicts of settings, because
// one is asked for each kind of stone and position, at most about twice the
// candidates and allocations, and four times the pairs, which are of two lots.
func TestBuild_LargeBook(t *testing.T) {
	verdicts, entries, edges, allocs := built(t, 1000)
	verdicts2, entries2, edges2, allocs2 := built(t, 2000)
	if entries == 0 || edges == 0 {
		t.Fatal("the problem is empty")
	}
	if verdicts2 != verdicts {
		t.Errorf("%v verdicts for 1,000 lots, %v for 2,000 of the same kinds", verdicts, verdicts2)
	}
	if entries2 > 2.2*entries || allocs2 > 2.2*allocs || edges2 > 5*edges {
		t.Errorf("1,000 lots: %v candidates, %v pairs, %v allocations; 2,000: %v, %v, %v", entries, edges, allocs,
			entries2, edges2, allocs2)
	}
}

// A book of 2,000 lots and a line of 60 designs, every verdict of a setting
// included.
func BenchmarkBuild(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := lineplan.Build(&largeBook(2000).task); err != nil {
			b.Fatal(err)
		}
	}
}
