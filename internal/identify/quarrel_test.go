package identify

import (
	"slices"
	"strings"
	"testing"
)

// Two readings that quarrel are named as a pair, with what the stone would be
// without each.
func TestQuarrels(t *testing.T) {
	turned := crystal{1.624, 1.644, 1.644}.turn(vector{0.3, 0.5, 0.8}.unit(), 12, func(n float64) float64 { return n })
	for _, c := range []struct {
		name string
		o    Observations
		want []Test
		text []string
	}{
		{"corundum's indices with quartz's gravity", Observations{Pairs: pair(1.762, 1.770), SG: 2.65, SGU: 0.01,
			Optic: OpticUniaxialNeg, Colour: "blue"}, []Test{TestLow, TestSG}, []string{"corundum",
			"without the gravity"}},
		{"turning says negative, the figure positive", Observations{Pairs: turned, SG: 3.06, SGU: 0.01,
			Optic: OpticUniaxialPos}, []Test{TestLow, TestFigure}, []string{"uniaxial positive", "uniaxial negative",
			"tourmaline"}},
		{"dark in all directions with two edges", Observations{Pairs: pair(1.762, 1.770), Optic: OpticIsotropic},
			[]Test{TestLow, TestOptic}, []string{"corundum"}},
		{"two pairs of edges that no stone shows both", Observations{Pairs: append(pair(1.762, 1.770),
			pair(1.544, 1.553)...), SG: 4.0}, []Test{TestLow, TestLow}, []string{"1.762 to 1.770 and 1.544 to 1.553",
			"corundum"}},
		{"a single edge far from two", Observations{Pairs: append(pair(1.762, 1.770), Pair{Low: Edge{N: 1.544}})},
			[]Test{TestLow, TestLow}, []string{"1.762 to 1.770 and 1.544", "corundum"}},
		{"two single edges of no one stone", Observations{Pairs: []Pair{{Low: Edge{N: 1.762}}, {Low: Edge{N: 1.33}}}},
			[]Test{TestLow, TestLow}, []string{"1.762 and 1.330"}},
		{"over the limit and well below it", Observations{Pairs: append(pair(1.762, 1.770), Pair{Low: Edge{Over: true,
			N: 1.79}})}, []Test{TestLow, TestLow}, []string{"over the limit", "corundum"}},
		{"dark with two colours", Observations{Spot: Edge{N: 1.76}, Optic: OpticIsotropic,
			Pleochroism: Pleochroism{Strength: "strong"}}, []Test{TestOptic, TestPleochroism}, nil},
	} {
		v := Stone(shared, &c.o, &Settings{})
		if v.Kind == Established {
			t.Errorf("%s: established as %s", c.name, v.Named.Name)
		}
		quarrels := v.Quarrels()
		i := slices.IndexFunc(quarrels, func(q Quarrel) bool { return slices.Equal(q.Tests, c.want) })
		if i < 0 {
			t.Errorf("%s: %v", c.name, quarrels)
			continue
		}
		for _, want := range c.text {
			if !strings.Contains(quarrels[i].Text, want) {
				t.Errorf("%s: %q lacks %q", c.name, quarrels[i].Text, want)
			}
		}
		if len(quarrels[i].Without) != 2 {
			t.Errorf("%s: %+v", c.name, quarrels[i])
		}
	}
	// Nothing quarrels in what is sound: turns of one facet, one edge after the
	// other, an edge that passes the limit when the stone is turned.
	for _, o := range []Observations{sapphire, spinel, {}, {Pairs: pair(1.660, 1.676), Optic: OpticDoubly},
		{Pairs: turned}, {Pairs: []Pair{{Low: Edge{N: 1.486}}, {Low: Edge{N: 1.658}}}},
		{Pairs: append(pair(1.757, 1.770), Pair{Low: Edge{N: 1.757}, High: Edge{Over: true, N: 1.79}})}} {
		v := Stone(shared, &o, &Settings{})
		if q := v.Quarrels(); len(q) > 0 {
			t.Errorf("%+v: %v", o, q)
		}
	}
}
