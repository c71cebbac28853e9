package chance

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// Stream is a seeded source of random draws. Two streams of one seed with
// different names are independent, so that adding a draw in one place of a
// simulation does not move the others. Not safe for concurrent use.
type Stream struct{ *rand.Rand }

// NewStream returns the stream of that name under the seed. The same seed and
// name give the same draws on every machine.
func NewStream(seed uint64, name string) *Stream {
	var raw [8]byte
	binary.LittleEndian.PutUint64(raw[:], seed)
	h := sha256.New()
	h.Write(raw[:])
	h.Write([]byte(name))
	return &Stream{rand.New(rand.NewChaCha8([32]byte(h.Sum(nil))))}
}

// Normal draws from a normal distribution.
func (s *Stream) Normal(mean, sd float64) float64 { return mean + sd*s.NormFloat64() }

// Uniform draws from [low, high).
func (s *Stream) Uniform(low, high float64) float64 { return low + (high-low)*s.Float64() }

// Beta draws a rate from the belief b.
func (s *Stream) Beta(b Beta) float64 {
	return distuv.Beta{Alpha: b.A, Beta: b.B, Src: s.Rand}.Rand()
}

// Triangular draws from the triangle over [low, high] with the given mode.
func (s *Stream) Triangular(low, mode, high float64) float64 {
	if high <= low {
		return low
	}
	u, cut := s.Float64(), (mode-low)/(high-low)
	if u < cut {
		return low + math.Sqrt(u*(high-low)*(mode-low))
	}
	return high - math.Sqrt((1-u)*(high-low)*(high-mode))
}

// Binomial draws the number of events in n trials of chance p.
func (s *Stream) Binomial(n int, p float64) int {
	if n > 1000 && p > 0 && p < 1 {
		return int(distuv.Binomial{N: float64(n), P: p, Src: s.Rand}.Rand())
	}
	k := 0
	for range n {
		if s.Float64() < p {
			k++
		}
	}
	return k
}

// Hypergeometric draws the number of bad pieces among h.Drawn pieces.
func (s *Stream) Hypergeometric(h Hypergeometric) int {
	bad, left, k := h.Bad, h.Lot, 0
	for range h.Drawn {
		if s.IntN(left) < bad {
			bad--
			k++
		}
		left--
	}
	return k
}
