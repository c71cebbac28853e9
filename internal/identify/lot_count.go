package identify

import "math"

// A component of the count's distribution with less weight than this, and a tail
// of a binomial with less, are left out.
const negligible = 1e-7

// counts is the distribution of the number of strangers, up to most of them,
// after so many further plain stones. What lies beyond is left out.
func (m *lotModel) counts(most, further int) []float64 {
	out := make([]float64, most+1)
	tested := make([]float64, m.tested()+1)
	untested := m.pieces - m.tested() - further
	weight := 0.0
	add := func(w, share float64, stranger func(*evidence) float64) {
		// The tested stones, one by one.
		clear(tested)
		tested[0] = w
		n := 0
		for i := range m.stones {
			q := stranger(&m.stones[i])
			if q < negligible/float64(len(m.stones)) {
				continue
			}
			n++
			for k := n; k > 0; k-- {
				tested[k] = tested[k]*(1-q) + tested[k-1]*q
			}
			tested[0] *= 1 - q
		}
		// The rest, each by the share; from the most likely number outwards.
		binomial(untested, share, most, func(k int, p float64) {
			for j := 0; j <= n && j+k <= most; j++ {
				out[j+k] += tested[j] * p
			}
		})
	}
	for k, w := range m.few {
		w *= math.Pow(1-gridShares[k], float64(further))
		weight += w
		if w > negligible {
			add(w, gridShares[k], func(e *evidence) float64 { return e.strangerAt(gridShares[k]) })
		}
	}
	for x := range m.others {
		for k, w := range m.others[x].weight {
			w *= math.Pow((1-gridShares[k])/2, float64(further))
			weight += w
			if w > negligible {
				add(w, restIf(gridShares[k]), func(e *evidence) float64 {
					return e.strangerIf(m.others[x].each, gridShares[k])
				})
			}
		}
	}
	for k := range out {
		out[k] /= weight
	}
	return out
}

// binomial hands over the chances of 0 to most of n that are not negligible.
func binomial(n int, p float64, most int, each func(k int, chance float64)) {
	if n == 0 || p <= 0 {
		each(0, 1)
		return
	}
	if p >= 1 {
		if n <= most {
			each(n, 1)
		}
		return
	}
	log := func(x int) float64 {
		l, _ := math.Lgamma(float64(x) + 1)
		return l
	}
	mode := min(int(float64(n+1)*p), n)
	at := math.Exp(log(n) - log(mode) - log(n-mode) + float64(mode)*math.Log(p) + float64(n-mode)*math.Log1p(-p))
	odds := p / (1 - p)
	c := at
	for k := mode; k <= n && c > negligible*at; k++ {
		if k <= most {
			each(k, c)
		}
		c *= float64(n-k) / float64(k+1) * odds
	}
	c = at
	for k := mode; k > 0 && c > negligible*at; k-- {
		c *= float64(k) / float64(n-k+1) / odds
		if k-1 <= most {
			each(k-1, c)
		}
	}
}

// within is the chance that at most that share of the pieces are strangers.
func (m *lotModel) within(share float64) float64 { return m.withinAfter(0, share) }

// withinAfter is the same after so many further random stones, each plain.
func (m *lotModel) withinAfter(further int, share float64) float64 {
	sum := 0.0
	for _, p := range m.counts(int(share*float64(m.pieces)+1e-9), further) {
		sum += p
	}
	return sum
}

// upper is the least number that the strangers do not pass at that confidence.
func (m *lotModel) upper(confidence float64) int {
	sum := 0.0
	for k, p := range m.counts(m.pieces, 0) {
		if sum += p; sum >= confidence {
			return k
		}
	}
	return m.pieces
}

// mostly is the chance that more than half of the pieces are strangers; 0 when
// no tested stone is one.
func (m *lotModel) mostly() float64 {
	if m.flagged() == 0 {
		return 0
	}
	sum := 0.0
	for _, p := range m.counts(m.pieces/2, 0) {
		sum += p
	}
	return 1 - sum
}
