package identify

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lotpaper/internal/facts"
)

// Kind is the verdict on one stone.
type Kind string

// The verdicts.
const (
	Single Kind = "single" // one material left, two independent properties tested, one of them index, SG or spectrum
	Group  Kind = "group"  // several left
	None   Kind = "none"   // nothing in the table fits
	Thin   Kind = "thin"   // too little was tested, or the one left agrees too badly, to say
)

// Candidate is a material that no reading excludes.
type Candidate struct {
	Material *facts.Material
	Share    float64 // among what is left; the shares add up to 1
	Worst    float64 // greatest distance outside a range, in standard uncertainties; below K
	index    int32
}

// Exclusion is a material that a reading excludes.
type Exclusion struct {
	Material *facts.Material
	Test     Test    // the one that lies farthest outside
	Excess   float64 // how far, in standard uncertainties; +Inf for a kind of thing it cannot show
	index    int32
	failed   uint32 // bit per Test
}

// Verdict is what the readings of one stone leave. Its numbers are worked out
// at once; the words are worked out by Account.
type Verdict struct {
	Kind       Kind
	Candidates []Candidate // best first
	Considered int         // materials of the table that the readings could be held against
	NotJudged  int         // materials without a known index, when an index was read
	Properties int         // independent properties tested

	table    *Table
	settings Settings
	bench    bench
	excluded []int32 // in no order
}

// Stone holds the observations against every material of the table: exclusion
// at K standard uncertainties, then shares among what is left by likelihood
// and trade frequency. The observations must have passed Validate and must not
// change while the verdict is in use.
func Stone(t *Table, o *Observations, s *Settings) Verdict {
	filled := s.filled()
	v := Verdict{table: t, settings: filled, Considered: len(t.rows), bench: prepare(o, &filled)}
	v.Properties = count(v.bench.have)
	if v.bench.did == 0 {
		v.Kind = Thin
	}
	priors := t.priors(&filled)
	indexed := v.bench.have&propertyIndex != 0
	// One list holds both sides: what a number alone excludes from the front,
	// the rest from the end, in table order. What the whole fit then excludes
	// moves to the front, where there is room for it.
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
	total := 0.0
	for _, i := range order[in:] {
		r := &t.rows[i]
		failed, worst, _ := v.bench.fit(r)
		if failed != 0 {
			order[out] = i
			out++
			continue
		}
		share := priors[i] * v.bench.like(r)
		total += share
		v.Candidates = append(v.Candidates, Candidate{Material: t.Materials[i], Share: share, Worst: worst, index: i})
	}
	v.excluded = order[:out]
	for i := range v.Candidates {
		if total > 0 {
			v.Candidates[i].Share /= total
		} else {
			v.Candidates[i].Share = 1 / float64(len(v.Candidates))
		}
	}
	slices.SortFunc(v.Candidates, func(a, b Candidate) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.index, b.index))
	})
	v.Kind = v.kind()
	return v
}

func (v *Verdict) kind() Kind {
	const decisive = propertyIndex | propertyGravity | propertySpectrum
	switch {
	case len(v.Candidates) == 0:
		return None
	case v.bench.have&decisive == 0 && v.Properties < 2:
		return Thin
	case len(v.Candidates) > 1:
		return Group
	case v.Properties < 2 || v.bench.have&decisive == 0 || v.doubt() != "":
		return Thin
	}
	return Single
}

// doubt is why the one candidate left is not good enough for a single verdict:
// where it disagrees with a sign, or holds out only within the error, a
// material that the table has not is as likely.
func (v *Verdict) doubt() string {
	c := v.Candidates[0]
	if v.opticAgainst(&v.table.rows[c.index]) {
		return "its optic character is not the published one"
	}
	if b := &v.bench; b.pair && b.sep > b.k*b.uSep && v.table.rows[c.index].class == facts.Aggregate {
		return "an aggregate seldom shows two edges apart"
	}
	if stray := v.bench.stray(&v.table.rows[c.index]); stray > singleWithin {
		return fmt.Sprintf("its readings, taken together, lie %.1f standard uncertainties outside its ranges", stray)
	}
	return ""
}

// singleWithin is how far outside the ranges the independent readings of a
// single verdict may lie together, in standard uncertainties. Exclusion needs
// three; between the two a material that is missing from the table is as good
// an explanation as a bad reading.
const singleWithin = 1

// stray is the root sum of squares of how far the independent numbers (the
// mean of the edges, their separation, SG) lie outside a material's ranges.
func (b *bench) stray(r *row) float64 {
	sum := 0.0
	add := func(x float64) { sum += x * x }
	switch {
	case b.pair:
		add(outside(b.mid, b.uMid, r.middle(math.Min(b.sep, r.sep.Max))))
		if b.done(TestFull) {
			add(b.fullExcess(r.sep))
		} else {
			add(math.Max(0, b.sep-r.sep.Max) / b.uSep)
		}
	case b.low.read:
		add(b.edgeExcess(b.low, b.uEdge, r.low))
	}
	if b.spot.read {
		add(b.edgeExcess(b.spot, b.uSpot, r.whole))
	}
	if b.done(TestSG) {
		add(outside(b.sg, b.uSG, r.sg))
	}
	return math.Sqrt(sum)
}

// How a candidate stands to the readings.
const (
	fits        = "fits"         // every reading inside its ranges
	withinError = "within error" // some reading outside, by less than K standard uncertainties
	againstSign = "against a sign"
)

func count(p property) int {
	n := 0
	for ; p != 0; p &= p - 1 {
		n++
	}
	return n
}

// Holds reports whether the material is among the candidates, and its share.
func (v *Verdict) Holds(m *facts.Material) (share float64, ok bool) {
	for _, c := range v.Candidates {
		if c.Material == m || c.Material.Name == m.Name {
			return c.Share, true
		}
	}
	return 0, false
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
	return Exclusion{Material: v.table.Materials[i], Test: which, Excess: worst, index: i, failed: failed}
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

// Conflict is a set of tests that no material of the table passes together.
type Conflict struct {
	Tests []Test // one: no gem in the table has such a reading; two or more: they cannot all be right
	Text  string
}

// Conflicts explains the verdict none: single readings that no material has,
// else pairs of tests that no material passes together, else the whole set.
func (v *Verdict) Conflicts() []Conflict {
	if len(v.Candidates) > 0 {
		return nil
	}
	excluded := v.Excluded()
	passes := func(mask uint32) bool {
		return slices.ContainsFunc(excluded, func(e Exclusion) bool { return e.failed&mask == 0 })
	}
	var tried []Test
	all := uint32(0)
	for t := Test(0); t < tests; t++ {
		if slices.ContainsFunc(excluded, func(e Exclusion) bool { return e.failed&(1<<t) != 0 }) {
			tried = append(tried, t)
			all |= 1 << t
		}
	}
	var out []Conflict
	add := func(text string, ts ...Test) { out = append(out, Conflict{Tests: ts, Text: text}) }
	for _, t := range tried {
		if !passes(1 << t) {
			add("no material in the table has this "+v.reading(t)+": read it again", t)
		}
	}
	if len(out) > 0 {
		return out
	}
	for i, a := range tried {
		for _, b := range tried[i+1:] {
			if !passes(1<<a | 1<<b) {
				add(v.reading(a)+" and "+v.reading(b)+" cannot both be right for any material in the table", a, b)
			}
		}
	}
	if len(out) == 0 {
		add("the readings, taken together, fit no material in the table", tried...)
	}
	return out
}
