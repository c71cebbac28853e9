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

// everyPair calls f with every species and some elongated varieties in every
// setting of a ring.
func everyPair(f func(Situation)) {
	stones := everyStone(len(facts.Materials()))
	for _, v := range facts.Varieties() {
		stones = append(stones, Stone{Material: facts.MaterialNamed(v.Species), Variety: v, Shape: "pear",
			Length: 16, Width: 7})
	}
	for _, s := range stones {
		for _, p := range everyPosition("ring", "daily") {
			f(Situation{Stone: s, Position: p})
		}
	}
}

func TestLevelsOf_IsJudge(t *testing.T) {
	everyPair(func(s Situation) {
		if got, want := LevelsOf(s), Judge(s).Levels; got != want {
			t.Fatalf("%s in %s: levels %+v, judge %+v", s.Material.Name, s.Setting.Name, got, want)
		}
	})
}

func BenchmarkLevelsOf(b *testing.B) {
	s := Situation{Stone: everyStone(1)[0], Position: everyPosition("ring", "daily")[0]}
	b.ReportAllocs()
	for b.Loop() {
		LevelsOf(s)
	}
}

func BenchmarkJudge(b *testing.B) {
	s := Situation{Stone: everyStone(1)[0], Position: everyPosition("ring", "daily")[0], Bench: []string{"torch"}}
	b.ReportAllocs()
	for b.Loop() {
		Judge(s)
	}
}
