package identify

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// Advice is what to test next.
type Advice struct {
	Next        []NextTest // best first, at most three
	Enough      string     // why no further test is wanted, or what would be enough
	Barred      []string   // why the stone cannot take some tests of the kit, and which
	Inseparable []string   // pairs that no test of the kit can tell apart
}

// NextTest is one test worth making on this stone.
type NextTest struct {
	Instrument string
	Minutes    float64
	Chance     float64  // that the verdict is established afterwards
	Bits       float64  // expected information about which material or series it is
	Value      float64  // chance of established, with a little for the information, per minute
	Splits     []string // pairs of candidates that it would tell apart, "spodumene from kornerupine"
	Why        string
	Caution    string
}

// A laboratory's means where the bench ends (common practice).
const laboratory = "a laboratory can, by Raman or infrared spectroscopy or chemical analysis"

const (
	consider    = 40   // materials, best first, that the next test is chosen for
	bitWorth    = 0.02 // what a bit is worth beside the chance of an established verdict
	leastChance = 0.02 // a test with less of it, and with less than leastBits, is not worth making
	leastBits   = 0.01
)

// rivals are what a stone can still be: the materials with the greatest shares,
// and the open set.
type rivals struct {
	index  []int32
	rows   []*row
	shares []float64 // the open set last; they add up to 1
	sound  []bool    // nothing that was read so far holds it back
}

func (v *Verdict) rivals() rivals {
	order := make([]int32, len(v.shares))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(v.shares[b], v.shares[a]), cmp.Compare(a, b))
	})
	var r rivals
	total := v.OpenShare
	for _, i := range order[:min(consider, len(order))] {
		if v.shares[i] == 0 {
			break
		}
		row := &v.table.rows[i]
		r.index, r.rows, r.shares = append(r.index, i), append(r.rows, row), append(r.shares, v.shares[i])
		r.sound = append(r.sound, !v.bench.far(v.bench.stray(row)) && v.bench.against(row) == "")
		total += v.shares[i]
	}
	r.shares = append(r.shares, v.OpenShare)
	for j := range r.shares {
		r.shares[j] /= total
	}
	return r
}

// each is the chance of one outcome under every rival; the open set's place
// stays empty.
func (r *rivals) each(of func(*row) float64) []float64 {
	p := make([]float64, len(r.shares))
	for j, x := range r.rows {
		p[j] = of(x)
	}
	return p
}

// meanSG is the expected SG of the stone, for the error of a weighing.
func (r *rivals) meanSG() float64 {
	sum, weight := 0.0, 0.0
	for j, x := range r.rows {
		if x.sgNumber.known {
			sum += r.shares[j] * x.sgNumber.typical
			weight += r.shares[j]
		}
	}
	if weight == 0 {
		return 3
	}
	return sum / weight
}

// information is the expected fall of the entropy of the answers, in bits:
// members of a series that are not told apart count as one.
func (v *Verdict) information(r *rivals, o *outcomes) float64 {
	place := map[int32]int{-1: 0} // the open set
	answer := make([]int, len(r.shares))
	for j, i := range r.index {
		a := v.table.answer(i)
		if _, ok := place[a]; !ok {
			place[a] = len(place)
		}
		answer[j] = place[a]
	}
	shares, joint := make([]float64, len(place)), make([]float64, len(place))
	for j, s := range r.shares {
		shares[answer[j]] += s
	}
	bits := 0.0
	for _, p := range o.chance {
		z := 0.0
		clear(joint)
		for j, s := range r.shares {
			joint[answer[j]] += s * p[j]
			z += s * p[j]
		}
		for a, x := range joint {
			if x > 0 {
				bits += x * math.Log2(x/(shares[a]*z))
			}
		}
	}
	return math.Max(0, bits)
}

// establishes is the chance that the verdict is established after the test.
func (v *Verdict) establishes(r *rivals, o *outcomes, least float64) float64 {
	t, measured, chance := v.table, v.bench.measured(), 0.0
	for i, p := range o.chance {
		if measured+o.adds[i] < 2 {
			continue
		}
		z, best := 0.0, 0
		for j, s := range r.shares {
			z += s * p[j]
			if s*p[j] > r.shares[best]*p[best] {
				best = j
			}
		}
		if z <= 0 || best == len(r.rows) || !r.sound[best] || o.against[i] != nil && o.against[i][best] {
			continue
		}
		x := r.rows[best]
		for _, n := range [...]int32{t.answer(r.index[best]), x.series, x.family} {
			if n < 0 {
				continue
			}
			sum := 0.0
			for j, k := range r.index {
				if y := r.rows[j]; n == k || n == y.series || n == y.family {
					sum += r.shares[j] * p[j]
				}
			}
			if sum >= least*z {
				chance += z
				break
			}
		}
	}
	return math.Min(1, chance)
}

// Next reckons, for every instrument of the kit that this stone can still take,
// the chance that it makes the verdict established, over its outcomes with this
// stone's own errors, and returns the best three by that chance per minute.
func (v *Verdict) Next(s *Settings) Advice {
	var a Advice
	switch v.Kind {
	case None:
		a.Enough = "nothing fits: repeat the readings that contradict each other before any other test"
		return a
	case Established:
		a.Enough = "enough: established; only its nature, treatment and origin are open"
		a.Inseparable = v.membersApart()
		return a
	}
	r, filled := v.rivals(), s.filled()
	least := establishedFrom
	b := &v.bench
	named := min(5, len(r.rows)) // of which pairs are named
	told := make([]bool, named*named)
	for _, in := range s.Kit {
		o, why := v.outcomes(in.Name, &r, &filled)
		if len(o.chance) == 0 {
			continue
		}
		if bar := v.bars(&in); bar != "" {
			a.bar(bar, in.Name)
			continue
		}
		after := least
		look, pleo, lamp := b.clear >= 0 || in.Name == LookOver, b.pleo >= 0 || in.Name == Dichroscope,
			b.long.seen || b.short.seen || in.Name == LongWaveLamp || in.Name == ShortWaveLamp
		if look && pleo && lamp {
			after = establishedFromAll
		}
		t := NextTest{Instrument: in.Name, Minutes: in.Minutes, Caution: in.Caution, Why: why}
		t.Chance, t.Bits = v.establishes(&r, &o, after), v.information(&r, &o)
		if in.Minutes > 0 {
			t.Value = (t.Chance + bitWorth*t.Bits) / in.Minutes
		}
		for i := range named {
			for j := i + 1; j < named; j++ {
				overlap := 0.0
				for _, p := range o.chance {
					overlap += math.Min(p[i], p[j])
				}
				if overlap < 0.75 {
					told[i*named+j] = true
				}
				if overlap < 0.2 && len(t.Splits) < 4 {
					t.Splits = append(t.Splits, v.table.Materials[r.index[i]].Name+" from "+
						v.table.Materials[r.index[j]].Name)
				}
			}
		}
		if t.Chance > leastChance || t.Bits > leastBits {
			a.Next = append(a.Next, t)
		}
	}
	for i := range named {
		for j := i + 1; j < named; j++ {
			if len(s.Kit) > 0 && !told[i*named+j] && r.shares[j] >= 0.01 {
				a.Inseparable = append(a.Inseparable, fmt.Sprintf("no test in your kit can separate %s from %s on "+
					"this stone; %s", v.table.Materials[r.index[i]].Name,
					v.table.Materials[r.index[j]].Name, laboratory))
			}
		}
	}
	slices.SortStableFunc(a.Next, func(x, y NextTest) int { return cmp.Compare(y.Value, x.Value) })
	a.Next = a.Next[:min(3, len(a.Next))]
	a.Enough = v.enough(a)
	return a
}

// membersApart says what tells the likely members of an established series apart.
func (v *Verdict) membersApart() []string {
	var names []string
	for _, m := range v.Named.Members {
		if v.Share([]*facts.Material{m}) >= 0.01 {
			names = append(names, m.Short)
		}
	}
	if v.Named.Level == MaterialLevel || len(names) < 2 {
		return nil
	}
	by := laboratory
	if v.Named.ToldApartBy != "" && v.Named.ToldApartBy != "laboratory" {
		by = v.Named.ToldApartBy + " may, and " + laboratory
	}
	return []string{fmt.Sprintf("constants do not tell %s apart on this stone; %s", listed(names), by)}
}

// bar says that the stone cannot take an instrument, beside the others that it
// cannot take for the same reason.
func (a *Advice) bar(why, instrument string) {
	head := "not on this stone, " + why + ": "
	for i, s := range a.Barred {
		if strings.HasPrefix(s, head) {
			a.Barred[i] += ", " + instrument
			return
		}
	}
	a.Barred = append(a.Barred, head+instrument)
}

func (v *Verdict) enough(a Advice) string {
	if len(a.Next) == 0 {
		return "no test of your kit settles it; " + laboratory
	}
	best := slices.MaxFunc(a.Next, func(x, y NextTest) int { return cmp.Compare(x.Chance, y.Chance) })
	if best.Chance < leastChance {
		return "no one test is likely to establish it; make the first and ask again"
	}
	return fmt.Sprintf("the %s establishes it with a chance of %.0f %%", best.Instrument, 100*best.Chance)
}
