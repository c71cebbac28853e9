package identify

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/facts"
)

// Verdicts of stones that stand in a known way to the claim corundum.
var (
	sapphire = Observations{Pairs: pair(1.762, 1.770), Optic: OpticUniaxialNeg, SG: 4.00, SGU: 0.02}
	perhaps  = Observations{Optic: OpticDoubly} // corundum among many others
	spinel   = Observations{Pairs: []Pair{{Low: Edge{N: 1.717}}}, Optic: OpticIsotropic, SG: 3.60, SGU: 0.02}
	nothing  = Observations{SG: 9, SGU: 0.02}
)

func tested(o Observations, drawn Drawn, n int) []TestedStone {
	var out []TestedStone
	for i := range n {
		out = append(out, TestedStone{Stone: fmt.Sprintf("%s%d", drawn, i+1), Verdict: Stone(shared, &o, &Settings{}),
			Drawn: drawn})
	}
	return out
}

func corundumClaim() []*facts.Material { return []*facts.Material{facts.MaterialNamed("corundum")} }

func judge(t *testing.T, pieces int, stones ...[]TestedStone) LotVerdict {
	t.Helper()
	l := Lot{Claim: []*facts.Material{facts.MaterialNamed("corundum")}, Pieces: pieces}
	for _, s := range stones {
		l.Tested = append(l.Tested, s...)
	}
	v, faults := JudgeLot(l, LotSettings{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return v
}

func TestJudgeLot_States(t *testing.T) {
	for _, c := range []struct {
		name   string
		pieces int
		stones [][]TestedStone
		want   State
	}{
		{"nothing tested", 10, nil, Stated},
		{"all tested", 3, [][]TestedStone{tested(sapphire, Picked, 3)}, Verified},
		{"one stone", 1, [][]TestedStone{tested(sapphire, Picked, 1)}, Verified},
		{"a few at random", 100, [][]TestedStone{tested(sapphire, Random, 5)}, Supported},
		{"enough at random", 100, [][]TestedStone{tested(sapphire, Random, 45)}, Verified},
		{"enough but picked", 100, [][]TestedStone{tested(sapphire, Picked, 45)}, Supported},
		{"one picked among them", 100, [][]TestedStone{tested(sapphire, Random, 60), tested(sapphire, Picked, 1)},
			Verified},
		{"one that could be something else", 100, [][]TestedStone{tested(sapphire, Random, 60), tested(perhaps, Random,
			1)}, Supported},
		{"two tested of a hundred", 100, [][]TestedStone{tested(sapphire, Random, 2)}, Supported},
		{"one bad stone among sixty", 100, [][]TestedStone{tested(sapphire, Random, 60), tested(spinel, Random, 1)},
			Mixed},
		{"one bad stone, picked, all tested", 61, [][]TestedStone{tested(sapphire, Random, 60),
			tested(spinel, Picked, 1)}, Mixed},
		{"one stone, another", 1, [][]TestedStone{tested(spinel, Picked, 1)}, Contradicted},
		{"all bad", 100, [][]TestedStone{tested(spinel, Random, 4)}, Contradicted},
		{"readings of no gem", 100, [][]TestedStone{tested(nothing, Random, 1)}, Doubted},
	} {
		v := judge(t, c.pieces, c.stones...)
		if v.State != c.want {
			t.Errorf("%s: %s, want %s: %v", c.name, v.State, c.want, v.Reasons)
		}
		if v.State.Fenced() != (c.want == Mixed || c.want == Contradicted) {
			t.Errorf("%s: fenced %v", c.name, v.State.Fenced())
		}
		if len(v.Reasons) == 0 {
			t.Errorf("%s: no reason is given", c.name)
		}
		if v.State == Verified && v.Chance < 0.9 || v.State == Contradicted && v.Chance > 0.1 {
			t.Errorf("%s: %s with a chance of %.2f for the claim", c.name, v.State, v.Chance)
		}
	}
}

// The bound that believes nothing beforehand is the exact one for a finite lot:
// of 100 pieces 45 clean random draws leave fewer than 5 bad at 95 % (ISPM 31,
// FAO, 2008, table 1: 45 units of 100 find one when 5 are bad), 44 do not.
func TestJudgeLot_ExactBound(t *testing.T) {
	if v := judge(t, 100, tested(sapphire, Random, 45)); !v.Bounded || v.ExactCount > 4 {
		t.Errorf("45 clean of 100: at most %d", v.ExactCount)
	}
	if v := judge(t, 100, tested(sapphire, Random, 44)); v.ExactCount != 5 {
		t.Errorf("44 clean of 100: at most %d, want 5", v.ExactCount)
	}
	if picked := judge(t, 100, tested(sapphire, Picked, 30)); picked.Bounded {
		t.Error("picked stones bound the lot")
	}
}

// More is exact: with so many further stones the lot is verified, with one less
// it is not.
func TestJudgeLot_More(t *testing.T) {
	for _, pieces := range []int{12, 40, 100} {
		v := judge(t, pieces, tested(sapphire, Random, 3))
		if v.State != Supported || v.More == 0 {
			t.Fatalf("3 clean of %d: %s, %d more", pieces, v.State, v.More)
		}
		if again := judge(t, pieces, tested(sapphire, Random, 3+v.More)); again.State != Verified || again.More != 0 {
			t.Errorf("%d pieces, with %d more: %s, %d more", pieces, v.More, again.State, again.More)
		}
		if less := judge(t, pieces, tested(sapphire, Random, 3+v.More-1)); less.State == Verified {
			t.Errorf("%d pieces, with %d more it is verified already", pieces, v.More-1)
		}
	}
}

// A claim may be a group: its members' shares count together.
func TestJudgeLot_Group(t *testing.T) {
	rhodolite := Observations{Pairs: []Pair{{Low: Edge{N: 1.762}}}, Optic: OpticIsotropic, SG: 3.85,
		SGU: 0.012, Colour: "purple"}
	stone := tested(rhodolite, Picked, 1)
	garnet, f := facts.Resolve("garnet")
	if f != nil {
		t.Fatal(f)
	}
	for _, c := range []struct {
		claim []*facts.Material
		want  State
	}{{garnet.Materials, Verified}, {corundumClaim(), Contradicted}} {
		got, faults := JudgeLot(Lot{Claim: c.claim, Pieces: 1, Tested: stone}, LotSettings{})
		if len(faults) > 0 || got.State != c.want {
			t.Errorf("a claim of %d materials: %s %v", len(c.claim), got.State, faults)
		}
	}
}

// Strata are bounded apart: one that was not tested keeps all its pieces.
func TestJudgeLot_Strata(t *testing.T) {
	clean := tested(sapphire, Random, 50)
	for i := range clean {
		clean[i].Stratum = "blue"
	}
	l := Lot{Claim: []*facts.Material{facts.MaterialNamed("corundum")}, Pieces: 110, Strata: map[string]int{"blue": 100,
		"pale": 10}, Tested: clean}
	v, faults := JudgeLot(l, LotSettings{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if v.State != Supported || v.UpperCount < 10 {
		t.Errorf("%s, at most %d; the ten pale ones were not tested", v.State, v.UpperCount)
	}
	if len(v.Strata) != 2 || v.Strata[1].Name != "pale" || v.Strata[1].UpperCount != 10 {
		t.Errorf("strata %+v", v.Strata)
	}
	l.Strata["pale"] = 9
	if _, faults := JudgeLot(l, LotSettings{}); !faults.Blocks() {
		t.Error("strata of 109 pieces in a lot of 110 were accepted")
	}
}

// A further clean random stone never loosens the bound, a bad one never
// tightens it, and one bad stone is never averaged away.
func TestJudgeLot_Laws(t *testing.T) {
	good, bad := Stone(shared, &sapphire, &Settings{}), Stone(shared, &spinel, &Settings{})
	claim := []*facts.Material{facts.MaterialNamed("corundum")}
	rapid.Check(t, func(t *rapid.T) {
		pieces := rapid.IntRange(2, 300).Draw(t, "pieces")
		n := rapid.IntRange(1, pieces-1).Draw(t, "tested")
		k := rapid.IntRange(0, n).Draw(t, "bad")
		l := Lot{Claim: claim, Pieces: pieces}
		for i := range n {
			v := good
			if i < k {
				v = bad
			}
			l.Tested = append(l.Tested, TestedStone{Stone: fmt.Sprint(i), Verdict: v, Drawn: Random})
		}
		now, _ := JudgeLot(l, LotSettings{})
		if k > 0 && !now.State.Fenced() {
			t.Fatalf("%d bad of %d: %s", k, n, now.State)
		}
		if now.UpperCount < k || now.UpperCount > pieces-(n-k) {
			t.Fatalf("%d bad of %d tested of %d: at most %d", k, n, pieces, now.UpperCount)
		}
		l.Tested = append(l.Tested, TestedStone{Stone: "next", Verdict: good, Drawn: Random})
		if next, _ := JudgeLot(l, LotSettings{}); next.UpperCount > now.UpperCount {
			t.Fatalf("a clean stone raises the bound from %d to %d", now.UpperCount, next.UpperCount)
		}
		l.Tested[n].Verdict = bad
		if next, _ := JudgeLot(l, LotSettings{}); next.UpperCount < now.UpperCount {
			t.Fatalf("a bad stone lowers the bound from %d to %d", now.UpperCount, next.UpperCount)
		}
	})
}

func TestJudgeLot_Faults(t *testing.T) {
	claim := []*facts.Material{facts.MaterialNamed("corundum")}
	for name, l := range map[string]Lot{
		"more tested than pieces": {Claim: claim, Pieces: 1, Tested: tested(sapphire, Random, 2)},
		"no claim":                {Pieces: 5},
		"no pieces":               {Claim: claim},
		"drawn how":               {Claim: claim, Pieces: 5, Tested: tested(sapphire, "", 1)},
	} {
		if _, faults := JudgeLot(l, LotSettings{}); !faults.Blocks() {
			t.Errorf("%s: accepted", name)
		}
	}
	if _, faults := JudgeLot(Lot{Claim: claim, Pieces: 5}, LotSettings{Confidence: 2}); !faults.Blocks() {
		t.Error("a confidence of 2 was accepted")
	}
}

func TestJudgeLot_ReasonsNameTheNumbers(t *testing.T) {
	v := judge(t, 100, tested(sapphire, Random, 30), tested(spinel, Random, 1))
	text := strings.Join(v.Reasons, "\n")
	for _, want := range []string{"1 of 31 tested stones are not the claim", "of 100 pieces", "at 95 % confidence"} {
		if !strings.Contains(text, want) {
			t.Errorf("reasons lack %q:\n%s", want, text)
		}
	}
	if s := v.Stones[len(v.Stones)-1]; s.Standing != NotClaim || !strings.Contains(s.Why, "spinel") {
		t.Errorf("the spinel stands as %+v", s)
	}
}

func TestJudgeLot_LaboratoryReport(t *testing.T) {
	corundum, other := facts.MaterialNamed("corundum"), facts.MaterialNamed("spinel (natural)")
	untested := Stone(shared, &Observations{}, &Settings{})
	stone := func(v Verdict, lab *facts.Material) []TestedStone {
		return []TestedStone{{Stone: "1", Verdict: v, Drawn: Picked, Lab: lab}}
	}
	if v := judge(t, 1, stone(untested, corundum)); v.State != Verified {
		t.Errorf("reported as claimed: %s", v.State)
	}
	if v := judge(t, 1, stone(untested, other)); v.State != Contradicted {
		t.Errorf("reported as another: %s", v.State)
	}
	if v := judge(t, 1, stone(Stone(shared, &spinel, &Settings{}), corundum)); v.State == Verified ||
		!strings.Contains(v.Stones[0].Why, "measure again") {
		t.Errorf("report against the readings: %s, %+v", v.State, v.Stones)
	}
}
