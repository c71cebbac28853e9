// Package draw draws what the program itself never draws: readings, lots and
// losses for tests. Only tests import it.
package draw

import "math/rand/v2"

// Normal draws from a normal distribution.
func Normal(r *rand.Rand, mean, sd float64) float64 { return mean + sd*r.NormFloat64() }

// Uniform draws from [low, high).
func Uniform(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// Binomial draws the number of events in n trials of chance p.
func Binomial(r *rand.Rand, n int, p float64) int {
	k := 0
	for range n {
		if r.Float64() < p {
			k++
		}
	}
	return k
}

// Hypergeometric draws the number of bad pieces among drawn pieces of a lot that
// holds bad ones.
func Hypergeometric(r *rand.Rand, lot, bad, drawn int) int {
	k := 0
	for range drawn {
		if r.IntN(lot) < bad {
			bad--
			k++
		}
		lot--
	}
	return k
}
