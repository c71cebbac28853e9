package identify

import (
	"math"

	"lotpaper/internal/facts"
)

// Settles names the quickest test that tells two materials apart by their
// published constants, or a laboratory. nil stands for something unknown.
func Settles(a, b *facts.Material) string {
	if a == nil || b == nil {
		return laboratory
	}
	apart := func(x, y facts.Range, gap float64) bool {
		return x.Known && y.Known && math.Max(x.Min, y.Min)-math.Min(x.Max, y.Max) > gap
	}
	singly := func(m *facts.Material) bool { return m.Optic == facts.Isotropic && !m.AnomalousDR }
	doubly := func(m *facts.Material) bool { return m.Optic == facts.Uniaxial || m.Optic == facts.Biaxial }
	const index, gravity = 3 * 0.0018, 3 * 0.02 // three standard uncertainties of one reading
	within := func(m *facts.Material) bool { return m.RI.Known && m.RI.Min < 1.79 }
	switch {
	case apart(a.RI, b.RI, index) && (within(a) || within(b)):
		return Refractometer
	case singly(a) && doubly(b), doubly(a) && singly(b):
		return Polariscope
	case apart(a.SG, b.SG, gravity):
		return Balance
	case apart(a.Birefringence, b.Birefringence, index) && (within(a) || within(b)):
		return Refractometer + ", turned for the greatest separation"
	}
	return laboratory
}
