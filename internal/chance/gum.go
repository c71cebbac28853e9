package chance

import "math"

// Component is one part of an uncertainty budget: a standard uncertainty,
// already multiplied by its sensitivity, in the unit of the result, and its
// degrees of freedom. Zero degrees of freedom stand for infinitely many (a
// value known beforehand, GUM G.4.2).
type Component struct{ U, DOF float64 }

// Combine joins independent components: the root sum of squares (GUM 5.1.2)
// and the effective degrees of freedom by Welch and Satterthwaite (GUM G.4.1).
func Combine(parts ...Component) Component {
	var square, fourth float64
	for _, p := range parts {
		square += p.U * p.U
		if p.DOF > 0 {
			fourth += p.U * p.U * p.U * p.U / p.DOF
		}
	}
	c := Component{U: math.Sqrt(square)}
	if fourth > 0 {
		c.DOF = square * square / fourth
	}
	return c
}
