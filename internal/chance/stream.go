package chance

import (
	"crypto/sha256"
	"encoding/binary"
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

// Beta draws a rate from the belief b.
func (s *Stream) Beta(b Beta) float64 {
	return distuv.Beta{Alpha: b.A, Beta: b.B, Src: s.Rand}.Rand()
}
