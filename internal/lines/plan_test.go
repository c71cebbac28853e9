package lines

import (
	"fmt"
	"testing"
	"time"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fitting"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// A book of 2,000 lots and a line of 60 designs: the problem is built, every
// verdict of a setting included, in less than a second (on one core of a
// shared machine; the limit here leaves room for a slow one).
func TestBuild_LargeBook(t *testing.T) {
	p := &Planned{Stones: map[string]answer.StockLot{}, currency: "EUR"}
	p.Judge = fitting.NewJudge(map[string]*bench.LotIdentity{}, desk.Config{}, nil)
	p.Input = &lineplan.Input{Judge: p.verdict}
	species := []string{"topaz", "beryl", "corundum", "spinel", "quartz", "tourmaline", "zircon", "apatite", "fluorite", "kyanite"}
	settings := []string{"prong", "bezel", "channel", "flush"}
	pieces := []string{"ring", "pendant", "earrings", "bracelet"}
	mm := func(f float64) num.Millimetre { return num.MillimetreFromFloat(f, num.HalfUp) }
	for i := range 2000 {
		l := 4 + float64(i*37%500)/100
		lot := book.Lot{Code: fmt.Sprintf("P1-%d", i), Species: species[i%len(species)], Shape: "oval", Owner: book.Own,
			Length: book.Size{Min: mm(l), Max: mm(l)}, Width: book.Size{Min: mm(0.75 * l), Max: mm(0.75 * l)}}
		p.Stones[lot.Code] = answer.StockLot{Lot: lot, Pieces: 1, Carats: 1000}
		p.Input.Stones = append(p.Input.Stones, lineplan.Stone{Lot: lot.Code, Species: lot.Species, Shape: lot.Shape, Length: lot.Length, Width: lot.Width,
			Owner: lot.Owner, Free: 1, Carats: 1000, Value: num.FromMinor(int64(1000+i%700), "EUR"), Identity: "stated"})
	}
	for i := range 60 {
		d := book.Design{Line: "L", Name: fmt.Sprintf("R%d", i), Piece: pieces[i/4%4], Wear: "daily", Quantity: 30, Identity: "stated"}
		center := book.Position{Name: "center", Setting: settings[i%4], Shape: "oval", Species: []string{species[i%10], species[(i+1)%10]}, LengthMin: mm(5 + float64(i%30)/10), LengthMax: mm(6 + float64(i%30)/10), Count: 1, Match: "none", Accept: "caution"}
		pair := book.Position{Name: "pair", Setting: "prong", Shape: "oval", Species: []string{species[(i+3)%10]}, LengthMin: mm(4), LengthMax: mm(6), Count: 2, Match: "pair", Accept: "caution"}
		d.Positions = []book.Position{center, pair}
		p.Designs = append(p.Designs, lineplan.Design{Design: d, Margin: num.FromMinor(9000, "EUR")})
	}
	p.Input.Designs = p.Designs
	start := time.Now()
	m, err := lineplan.Build(p.Input)
	if err != nil {
		t.Fatal(err)
	}
	spent := time.Since(start)
	entries, edges := 0, 0
	for _, d := range m.Problem.Designs {
		for _, pos := range d.Positions {
			entries += len(pos.Entries)
			edges += len(pos.Edges)
		}
	}
	t.Logf("built in %s: %d entries, %d pairs, %d kinds of verdicts", spent, entries, edges, len(p.Judge.Known))
	if entries == 0 || edges == 0 {
		t.Fatal("the problem is empty")
	}
	if limit := 5 * time.Second; spent > limit {
		t.Errorf("built in %s, more than %s", spent, limit)
	}
}
