package identify

import (
	"cmp"
	"slices"

	"lotpaper/internal/facts"
)

// Kind is the verdict on one stone.
type Kind string

// The verdicts, from the surest.
const (
	Established Kind = "established" // a material, series or family, by at least two measured properties
	Likely      Kind = "likely"      // the same with less, or a guard fails
	Open        Kind = "open"        // no answer has a share of nine tenths
	Thin        Kind = "thin"        // fewer than two properties were tested
	None        Kind = "none"        // nothing in the table fits, or its readings quarrel
)

// Candidate is a material that no reading excludes.
type Candidate struct {
	Material *facts.Material
	Share    float64 // of all that the stone can be, the open set included
	Worst    float64 // greatest distance outside a range, in standard uncertainties; below K
	index    int32
}

// Exclusion is a material that a reading excludes.
type Exclusion struct {
	Material *facts.Material
	Share    float64 // what is left to it should the reading be wrong
	Test     Test    // the one that lies farthest outside
	Excess   float64 // how far, in standard uncertainties; +Inf for a kind of thing it cannot show
	index    int32
	failed   uint32 // bit per Test
}

// Verdict is what the readings of one stone leave. Its numbers are worked out
// at once; the words are worked out by Account.
type Verdict struct {
	Kind       Kind
	Named      Named   // what it is, when established or likely
	Guard      string  // why a share that would establish it does not; empty: nothing
	OpenShare  float64 // of something that the table has not
	Candidates []Candidate
	Considered int // materials of the table that the readings could be held against
	NotJudged  int // materials without a known index, when an index was read
	Properties int // independent properties tested

	table    *Table
	settings Settings
	bench    bench
	excluded []int32   // in no order
	shares   []float64 // of every material; they add up to 1 with OpenShare
}

// Stone holds the observations against every material of the table. Each has a
// share by the likelihood of all readings, trade frequency and colour, beside
// something that the table has not; the verdict is drawn from the shares.
// Exclusion at K standard uncertainties is the reason that is printed, and
// moves no share. The observations must have passed Validate and must not
// change while the verdict is in use.
func Stone(t *Table, o *Observations, s *Settings) Verdict {
	filled := s.filled()
	v := Verdict{table: t, settings: filled, Considered: len(t.rows), bench: prepare(o, &filled)}
	v.bench.dropStretched(t)
	v.bench.seen = t.seen(&v.bench)
	v.Properties = count(v.bench.have)
	v.shares = make([]float64, len(t.rows))
	v.OpenShare = t.weigh(&v.bench, &filled, v.shares)
	indexed := v.bench.have&propertyIndex != 0
	// One list holds both sides: what is excluded from the front, the rest from
	// the end, in table order. What the whole fit then excludes moves to the
	// front, where there is room for it.
	order := make([]int32, len(t.rows))
	out, in := 0, len(order)
	for i := len(t.rows) - 1; i >= 0; i-- {
		switch {
		case indexed && !t.rows[i].whole.Known:
			v.NotJudged++
			v.Considered--
		case v.bench.misses(&t.hot[i]):
			order[out] = int32(i)
			out++
		default:
			in--
			order[in] = int32(i)
		}
	}
	v.Candidates = make([]Candidate, 0, len(order)-in)
	for _, i := range order[in:] {
		failed, worst, _ := v.bench.fit(&t.rows[i])
		if failed != 0 {
			order[out] = i
			out++
			continue
		}
		v.Candidates = append(v.Candidates, Candidate{Material: t.Materials[i], Share: v.shares[i], Worst: worst,
			index: i})
	}
	v.excluded = order[:out]
	slices.SortFunc(v.Candidates, func(a, b Candidate) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.index, b.index))
	})
	v.decide()
	return v
}

// weigh fills in the share of every material and returns that of the open set.
func (t *Table) weigh(b *bench, s *Settings, shares []float64) (open float64) {
	frequencies := t.frequencies(s)
	indexed := b.have&propertyIndex != 0
	open = openPrior
	if b.did != 0 {
		open *= b.stranger(t)
	}
	total := open
	for i := range t.rows {
		r := &t.rows[i]
		shares[i] = 0
		if indexed && !r.whole.Known {
			continue
		}
		w := r.prior(frequencies[i], b.hues)
		if b.did != 0 {
			w *= b.likeNumbers(r)
			w *= b.likeWords(t, r)
		}
		shares[i] = w
		total += w
	}
	if total == 0 { // nothing in the table, nor anything like it
		return 1
	}
	for i := range shares {
		shares[i] /= total
	}
	return open / total
}

func count(p property) int {
	n := 0
	for ; p != 0; p &= p - 1 {
		n++
	}
	return n
}

// How a candidate stands to the readings.
const (
	fits        = "fits"         // every reading inside its ranges
	withinError = "within error" // some reading outside, by less than K standard uncertainties
	againstSign = "against a sign"
)

// Holds reports whether the material is among the candidates, and its share.
func (v *Verdict) Holds(m *facts.Material) (share float64, ok bool) {
	for _, c := range v.Candidates {
		if c.Material == m || c.Material.Name == m.Name {
			return c.Share, true
		}
	}
	return 0, false
}

// Share is what of all that the stone can be is one of the materials, whether
// a reading excludes them or not.
func (v *Verdict) Share(materials []*facts.Material) float64 {
	sum := 0.0
	for i, have := range v.table.Materials {
		if slices.ContainsFunc(materials, func(m *facts.Material) bool { return m == have || m.Name == have.Name }) {
			sum += v.shares[i]
		}
	}
	return sum
}

// ExcludedBy returns the exclusion of a material: the test and the distance in
// standard uncertainties.
func (v *Verdict) ExcludedBy(m *facts.Material) (test Test, excess float64, ok bool) {
	for _, i := range v.excluded {
		if have := v.table.Materials[i]; have == m || have.Name == m.Name {
			e := v.exclusion(i)
			return e.Test, e.Excess, true
		}
	}
	return 0, 0, false
}

func (v *Verdict) exclusion(i int32) Exclusion {
	failed, worst, which := v.bench.fit(&v.table.rows[i])
	return Exclusion{Material: v.table.Materials[i], Share: v.shares[i], Test: which, Excess: worst, index: i,
		failed: failed}
}

// Excluded returns what the readings exclude and by what, the narrowest first.
func (v *Verdict) Excluded() []Exclusion {
	out := make([]Exclusion, 0, len(v.excluded))
	for _, i := range v.excluded {
		out = append(out, v.exclusion(i))
	}
	slices.SortFunc(out, func(x, y Exclusion) int {
		return cmp.Or(cmp.Compare(x.Excess, y.Excess), cmp.Compare(x.index, y.index))
	})
	return out
}
