package chance

import "math"

// Binomial is the number of events in N independent trials of chance P.
type Binomial struct {
	N int
	P float64
}

// CDF is the chance of at most k events.
func (b Binomial) CDF(k int) float64 {
	switch {
	case b.N < 0 || !(b.P >= 0 && b.P <= 1):
		return math.NaN()
	case k < 0:
		return 0
	case k >= b.N:
		return 1
	}
	return Beta{A: float64(b.N - k), B: float64(k + 1)}.CDF(1 - b.P)
}

// Hypergeometric is the number of bad pieces among Drawn pieces taken at
// random, without putting back, from a lot of Lot pieces of which Bad are bad.
type Hypergeometric struct{ Lot, Bad, Drawn int }

func (h Hypergeometric) ok() bool {
	return h.Lot >= 0 && h.Bad >= 0 && h.Drawn >= 0 && h.Bad <= h.Lot && h.Drawn <= h.Lot
}

// PMF is the chance of exactly k bad pieces among those drawn.
func (h Hypergeometric) PMF(k int) float64 {
	if !h.ok() {
		return math.NaN()
	}
	if k < 0 || k > h.Bad || k > h.Drawn || h.Drawn-k > h.Lot-h.Bad {
		return 0
	}
	if k == 0 {
		return h.none()
	}
	return math.Exp(logChoose(h.Bad, k) + logChoose(h.Lot-h.Bad, h.Drawn-k) - logChoose(h.Lot, h.Drawn))
}

// CDF is the chance of at most k bad pieces among those drawn.
func (h Hypergeometric) CDF(k int) float64 {
	if !h.ok() {
		return math.NaN()
	}
	return math.Min(1, h.sum(k, func(int) float64 { return 1 }))
}

// none is the chance to draw no bad piece, by the plain product, which is
// exact where the logarithms of factorials lose digits.
func (h Hypergeometric) none() float64 {
	few, many := h.Bad, h.Drawn
	if few > many {
		few, many = many, few
	}
	if h.Lot-many < few {
		return 0
	}
	p := 1.0
	for i := range few {
		p *= float64(h.Lot-many-i) / float64(h.Lot-i)
		if p == 0 {
			break
		}
	}
	return p
}

// sum adds PMF(i) * weight(i) for i = 0..k, each term from the one before it.
func (h Hypergeometric) sum(k int, weight func(int) float64) float64 {
	first := max(0, h.Drawn-(h.Lot-h.Bad))
	last := min(k, h.Bad, h.Drawn)
	if first > last {
		return 0
	}
	p := h.PMF(first)
	if p == 0 { // underflow far from the mode: start where the mass is
		total := 0.0
		for i := first; i <= last; i++ {
			total += h.PMF(i) * weight(i)
		}
		return total
	}
	total := 0.0
	for i := first; i <= last; i++ {
		total += p * weight(i)
		p *= float64(h.Bad-i) * float64(h.Drawn-i) / (float64(i+1) * float64(h.Lot-h.Bad-h.Drawn+i+1))
	}
	return total
}

// found is the chance to see at most k bad pieces when each bad piece that is
// drawn is recognised with chance efficacy.
func (h Hypergeometric) found(k int, efficacy float64) float64 {
	if efficacy == 1 {
		return h.CDF(k)
	}
	return math.Min(1, h.sum(h.Drawn, func(i int) float64 { return Binomial{N: i, P: efficacy}.CDF(k) }))
}

func logChoose(n, k int) float64 {
	return logFactorial(n) - logFactorial(k) - logFactorial(n-k)
}

func logFactorial(n int) float64 {
	v, _ := math.Lgamma(float64(n) + 1)
	return v
}
