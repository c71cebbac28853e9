// Package chance is the project's statistics: the distributions that decisions
// rest on, exact bounds for what a sample says about a lot, uncertainty by the
// GUM, and seeded random streams. It is the only importer of gonum's numeric
// packages. Probabilities are float64 in [0, 1]; arguments out of their domain
// give NaN, never a panic.
package chance

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// slack lets a sample that meets a stated confidence exactly (950 of 1,000 for
// 95 %) count as meeting it in floating point.
const slack = 1e-12

// NormalCDF is the standard normal distribution function.
func NormalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// NormalQuantile is the z with NormalCDF(z) = p.
func NormalQuantile(p float64) float64 {
	if !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	return math.Sqrt2 * math.Erfinv(2*p-1)
}

// Beta is what is believed of a rate: A-1 events in A+B-2 trials on top of a
// flat belief. A and B are more than 0.
type Beta struct{ A, B float64 }

// BetaOf returns the belief with the given mean that weighs as much as
// `trials` observed trials.
func BetaOf(mean, trials float64) Beta { return Beta{A: mean * trials, B: (1 - mean) * trials} }

// Update returns the belief after `events` events in `trials` trials.
func (b Beta) Update(events, trials float64) Beta {
	return Beta{A: b.A + events, B: b.B + trials - events}
}

// Mean is the expected rate.
func (b Beta) Mean() float64 { return b.A / (b.A + b.B) }

// SD is the standard deviation of the rate.
func (b Beta) SD() float64 {
	s := b.A + b.B
	return math.Sqrt(b.A * b.B / (s * s * (s + 1)))
}

// CDF is the chance that the rate is at most p.
func (b Beta) CDF(p float64) float64 {
	switch {
	case !(b.A > 0 && b.B > 0) || math.IsNaN(p):
		return math.NaN()
	case p <= 0:
		return 0
	case p >= 1:
		return 1
	}
	return mathext.RegIncBeta(b.A, b.B, p)
}

// Quantile is the rate that is not exceeded with chance q.
func (b Beta) Quantile(q float64) float64 {
	switch {
	case !(b.A > 0 && b.B > 0) || !(q >= 0 && q <= 1):
		return math.NaN()
	case q == 0:
		return 0
	case q == 1:
		return 1
	}
	return mathext.InvRegIncBeta(b.A, b.B, q)
}

// Interval is the central interval that holds the rate with chance `level`.
func (b Beta) Interval(level float64) (low, high float64) {
	return b.Quantile((1 - level) / 2), b.Quantile((1 + level) / 2)
}

// Quantile of a sorted sample, by linear interpolation between order
// statistics (type 7 of Hyndman and Fan, The American Statistician 1996). An
// empty sample gives NaN.
func Quantile(sorted []float64, q float64) float64 {
	if len(sorted) == 0 || !(q >= 0 && q <= 1) {
		return math.NaN()
	}
	at := q * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}
