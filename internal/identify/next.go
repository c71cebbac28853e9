package identify

import (
	"fmt"
	"math"
	"slices"
)

// Advice is what to test next.
type Advice struct {
	Next        []NextTest // best first, at most three
	Enough      string     // what would be enough for a single verdict, or why nothing is
	Inseparable []string   // pairs that no test of the kit can tell apart
}

// NextTest is one test worth making on this stone.
type NextTest struct {
	Instrument    string
	Minutes       float64
	Bits          float64 // expected information about which candidate it is
	BitsPerMinute float64
	Settles       float64  // chance that exactly one candidate is left afterwards
	Splits        []string // pairs of candidates that it would tell apart, "spodumene from kornerupine"
	Why           string
	Caution       string
}

// A laboratory's means where the bench ends (common practice).
const laboratory = "a laboratory can, by Raman or infrared spectroscopy or chemical analysis"

// consider is how many candidates, best first, the next test is chosen for.
const consider = 40

// Next reckons, for every instrument of the kit that was not yet used on this
// stone, the information it is expected to give about the candidates, over its
// outcomes with this stone's own errors, and returns the best three by bits
// per minute.
func (v *Verdict) Next(s *Settings) Advice {
	var a Advice
	n := min(len(v.Candidates), consider)
	if n == 0 {
		a.Enough = "nothing fits: repeat the readings that contradict each other before any other test"
		return a
	}
	if v.Kind == Single {
		a.Enough = "the verdict is single; only its nature, treatment and origin are open"
		return a
	}
	best := v.Candidates[:n]
	shares := make([]float64, n)
	total := 0.0
	for i, c := range best {
		shares[i] = c.Share
		total += c.Share
	}
	for i := range shares {
		shares[i] /= total
	}
	filled := s.filled()
	told := make([]bool, n*n) // pairs that some instrument tells apart
	var faint []NextTest      // that tell something, though next to nothing is open
	for _, in := range s.Kit {
		o, why := v.outcomes(in.Name, best, &filled)
		if len(o.chance) == 0 {
			continue
		}
		t := NextTest{Instrument: in.Name, Minutes: in.Minutes, Caution: in.Caution, Why: why}
		t.Bits, t.Settles = o.information(shares)
		if len(v.Candidates) > n {
			t.Settles = 0 // the rest of the candidates would still be there
		}
		if in.Minutes > 0 {
			t.BitsPerMinute = t.Bits / in.Minutes
		}
		tells := false
		for i := range min(n, 5) {
			for j := i + 1; j < min(n, 5); j++ {
				overlap := 0.0
				for _, p := range o.chance {
					overlap += math.Min(p[i], p[j])
				}
				if overlap < 0.75 {
					told[i*n+j], tells = true, true
				}
				if overlap < 0.2 && len(t.Splits) < 4 {
					t.Splits = append(t.Splits, best[i].Material.Name+" from "+best[j].Material.Name)
				}
			}
		}
		switch {
		case n == 1 || t.Bits > 0.005:
			a.Next = append(a.Next, t)
		case tells:
			faint = append(faint, t)
		}
	}
	if len(a.Next) == 0 {
		a.Next = faint
	}
	for i := range min(n, 5) {
		for j := i + 1; j < min(n, 5); j++ {
			if len(s.Kit) > 0 && !told[i*n+j] && best[j].Share >= 0.01 {
				a.Inseparable = append(a.Inseparable, fmt.Sprintf("no test in your kit can separate %s from %s on "+
					"this stone; %s", best[i].Material.Name, best[j].Material.Name, laboratory))
			}
		}
	}
	slices.SortStableFunc(a.Next, func(x, y NextTest) int {
		switch {
		case x.BitsPerMinute > y.BitsPerMinute:
			return -1
		case x.BitsPerMinute < y.BitsPerMinute:
			return 1
		}
		return 0
	})
	a.Next = a.Next[:min(3, len(a.Next))]
	a.Enough = v.enough(a)
	return a
}

func (v *Verdict) enough(a Advice) string {
	if len(a.Next) == 0 {
		return "no test left in your kit tells the candidates apart; " + laboratory
	}
	if len(v.Candidates) == 1 {
		return fmt.Sprintf("one more independent property, such as the %s", a.Next[0].Instrument)
	}
	best := a.Next[0]
	for _, t := range a.Next {
		if t.Settles > best.Settles {
			best = t
		}
	}
	if best.Settles < 0.01 {
		return fmt.Sprintf("no one test is likely to leave a single material of %d; make the first and ask again",
			len(v.Candidates))
	}
	return fmt.Sprintf("the %s leaves a single material with a chance of %.0f %%", best.Instrument, 100*best.Settles)
}
