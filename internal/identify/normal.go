package identify

import (
	"math"

	"lotpaper/internal/chance"
)

// Likelihoods ask for a normal density or distribution some thousand times a
// stone. They are read from a table, interpolated: the error is below one part in
// a thousand out to normalReach standard deviations, and beyond both are 0 or 1.
const (
	normalReach = 7
	normalSteps = 128 // to one standard deviation
)

type normalPoint struct{ below, density float64 }

var normalTable = func() (out [2*normalReach*normalSteps + 2]normalPoint) {
	for i := range out {
		z := float64(i)/normalSteps - normalReach
		out[i] = normalPoint{chance.NormalCDF(z), math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)}
	}
	return out
}()

// standardNormal is the chance of a value below z, and its density there.
func standardNormal(z float64) (below, density float64) {
	switch {
	case !(z > -normalReach):
		return 0, 0
	case z >= normalReach:
		return 1, 0
	}
	at := (z + normalReach) * normalSteps
	i := int(at)
	part := at - float64(i)
	a, b := &normalTable[i], &normalTable[i+1]
	return a.below + part*(b.below-a.below), a.density + part*(b.density-a.density)
}
