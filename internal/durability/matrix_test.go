package durability

import (
	"testing"

	"lotpaper/internal/facts"
)

func everyPosition(piece, wear string) []Position {
	var out []Position
	for _, s := range facts.Settings() {
		out = append(out, Position{s, piece, wear})
	}
	return out
}

func everyStone(n int) []Stone {
	all := facts.Materials()
	out := make([]Stone, n)
	for i := range out {
		out[i] = Stone{Material: all[i%len(all)], Treatment: "none", Shape: "oval"}
	}
	return out
}

func TestMatrix_IsJudge(t *testing.T) {
	stones := everyStone(len(facts.Materials()))
	for _, v := range facts.Varieties() {
		stones = append(stones, Stone{Material: facts.MaterialNamed(v.Species), Variety: v, Shape: "pear", Length: 16, Width: 7})
	}
	positions := everyPosition("ring", "daily")
	g := Matrix(stones, positions)
	for i, s := range stones {
		for j, p := range positions {
			if want := Judge(Situation{Stone: s, Position: p}).Setting; g.Level[i][j] != want {
				t.Fatalf("%s in %s: matrix %s, judge %s", s.Material.Name, p.Setting.Name, g.Level[i][j], want)
			}
		}
	}
}

// At most one allocation for each pair of stone and setting; in truth far less.
func TestMatrix_Allocations(t *testing.T) {
	stones, positions := everyStone(1000), everyPosition("ring", "daily")
	Matrix(stones, positions)
	perRun := testing.AllocsPerRun(3, func() { Matrix(stones, positions) })
	if pairs := float64(len(stones) * len(positions)); perRun > pairs {
		t.Errorf("%.0f allocations for %.0f pairs", perRun, pairs)
	}
}

// Twice the stones cost twice the allocations, not more: the matrix is linear.
func TestMatrix_Linear(t *testing.T) {
	positions := everyPosition("ring", "daily")
	once := testing.AllocsPerRun(3, func() { Matrix(everyStone(1000), positions) })
	twice := testing.AllocsPerRun(3, func() { Matrix(everyStone(2000), positions) })
	if twice > 2.1*once {
		t.Errorf("1,000 stones take %.0f allocations, 2,000 take %.0f", once, twice)
	}
}

// 100,000 stones in 17 settings; ns/pair is the number that matters.
func BenchmarkMatrix(b *testing.B) {
	stones, positions := everyStone(100_000), everyPosition("ring", "daily")
	b.ReportAllocs()
	for b.Loop() {
		Matrix(stones, positions)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(stones)*len(positions)), "ns/pair")
}

func BenchmarkJudge(b *testing.B) {
	s := Situation{Stone: everyStone(1)[0], Position: everyPosition("ring", "daily")[0], Bench: []string{"torch"}}
	b.ReportAllocs()
	for b.Loop() {
		Judge(s)
	}
}
