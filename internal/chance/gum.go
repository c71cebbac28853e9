package chance

import "math"

// Component is one part of an uncertainty budget: a standard uncertainty,
// already multiplied by its sensitivity, in the unit of the result, and its
// degrees of freedom. Zero degrees of freedom stand for infinitely many (a
// value known beforehand, GUM G.4.2).
type Component struct{ U, DOF float64 }

// Rectangular is the component of a value known only to lie within +/- half
// (GUM 4.3.7).
func Rectangular(half float64) Component { return Component{U: half / math.Sqrt(3)} }

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

// Coverage is the factor k with which c.U spans an interval that holds the
// value with chance level, degrees of freedom truncated as in GUM G.4.1.
func (c Component) Coverage(level float64) float64 {
	dof := math.Inf(1)
	if c.DOF > 0 {
		dof = math.Max(1, math.Floor(c.DOF))
	}
	return StudentQuantile((1+level)/2, dof)
}
