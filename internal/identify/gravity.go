package identify

import (
	"cmp"
	"fmt"
	"math"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
)

// Weighing is a hydrostatic weighing, in carats. Water is the weight in water
// with the wire already taken off. The zero Weighing was not done.
type Weighing struct {
	Air, Water float64
	Balance    float64 // resolution of the balance in ct; 0: 0.01
	Repeats    int     // how often each weighing was repeated and averaged; 0: once
	WaterC     float64 // water temperature in degrees Celsius, when TempKnown
	TempKnown  bool
	Wire       float64 // allowance in ct for wire and surface tension; 0: 0.003, with a wetting agent
}

// Done reports whether the stone was weighed.
func (w Weighing) Done() bool { return w.Air != 0 || w.Water != 0 }

// Validate reports weighings that cannot be.
func (w Weighing) Validate() fault.List {
	var faults fault.List
	bad := func(header, code, what, mend string) {
		faults.Add(fault.New(fault.Invalid, code, what, mend).At(fault.Where{Header: header}))
	}
	if !w.Done() {
		return nil
	}
	if !(w.Air > 0 && w.Air < 1e6) {
		bad("weight_air_ct", "weight-not-positive", fmt.Sprintf("the weight in air must be more than 0, but is %g",
			w.Air), "enter the carats shown in air")
	}
	if !(w.Water >= 0) || (w.Air > 0 && w.Water >= w.Air) {
		bad("weight_water_ct", "weight-in-water", fmt.Sprintf("the weight in water must be from 0 to below the "+
			"weight in air, but is %g of %g", w.Water, w.Air), "check whether the two were swapped and the wire "+
			"taken off; a stone that floats needs a sinker")
	}
	if !(w.Balance >= 0 && w.Wire >= 0) || w.Repeats < 0 {
		bad("balance_ct", "balance-negative", "balance resolution, wire allowance and repeats must not be negative",
			"enter e.g. 0.01")
	}
	if w.TempKnown && !(w.WaterC >= 0 && w.WaterC <= 40) {
		bad("water_c", "water-temperature", fmt.Sprintf("the water must be from 0 to 40 degrees Celsius, but is %g",
			w.WaterC), "measure the water again, or leave it out")
	}
	return faults
}

// Gravity is a specific gravity with its uncertainty budget.
type Gravity struct {
	SG    float64
	U     float64 // one standard uncertainty
	Parts []Part  // largest first is not implied: in the order of the model
}

// Part is one line of an uncertainty budget.
type Part struct {
	What string
	U    float64 // in units of SG
}

// SG is the specific gravity of a hydrostatic weighing with its standard
// uncertainty by the GUM (JCGM 100:2008, 5.1.2): SG = air / (air - water),
// times the density of the water when its temperature was noted. Parts: the
// resolution of load and zero, d/sqrt(12) each; the scatter of a single
// weighing, taken as half a digit (common practice) over the root of the
// repeats; the wire; the water's temperature, to 1 degree when noted, else
// anywhere from 15 to 30; the neglected buoyancy of air.
func SG(w Weighing) (Gravity, *fault.Fault) {
	if faults := w.Validate(); len(faults) > 0 {
		return Gravity{}, faults[0]
	}
	if !w.Done() {
		return Gravity{}, fault.New(fault.Invalid, "weight-missing", "an SG needs the weight in air and in water",
			"enter both weights")
	}
	sg, factor := w.gravity()
	parts := w.parts(sg/factor, factor)
	g := Gravity{SG: sg}
	var components [5]chance.Component
	for i, p := range parts {
		components[i].U = p.U
	}
	g.U = chance.Combine(components[:]...).U
	g.Parts = parts[:]
	return g, nil
}

// gravity is the SG and the water's density relative to its greatest.
func (w Weighing) gravity() (sg, factor float64) {
	factor = 1
	if w.TempKnown {
		factor = WaterDensity(w.WaterC) / densestWater
	}
	return w.Air / (w.Air - w.Water) * factor, factor
}

func (w Weighing) parts(ratio, factor float64) [5]Part {
	d := cmp.Or(w.Balance, 0.01)
	onAir := factor * ratio * (ratio - 1) / w.Air // sensitivities of SG, per ct
	onWater := factor * ratio * ratio / w.Air
	both := math.Hypot(onAir, onWater)
	sg := ratio * factor
	water := Part{"water temperature not noted, 15 to 30 °C", sg * 0.0017 / math.Sqrt(3)}
	if w.TempKnown {
		per := math.Abs(WaterDensity(w.WaterC+0.5)-WaterDensity(w.WaterC-0.5)) / densestWater
		water = Part{"water temperature, to 1 °C", sg * per / math.Sqrt(3)}
	}
	return [5]Part{
		{"balance resolution, load and zero", both * d / math.Sqrt(6)},
		{"scatter of the weighings", both * d / 2 / math.Sqrt(float64(max(1, w.Repeats)))},
		{"wire and surface tension", onWater * cmp.Or(w.Wire, 0.003)},
		water,
		{"buoyancy of air", 0.0012 * (sg - 1) / math.Sqrt(3)},
	}
}

// u is the combined standard uncertainty of the weighing's SG.
func (w Weighing) u(sg, factor float64) float64 {
	sum := 0.0
	for _, p := range w.parts(sg/factor, factor) {
		sum += p.U * p.U
	}
	return math.Sqrt(sum)
}

// densestWater is the greatest density of air-free water, kg/m3, near 4 °C.
const densestWater = 999.975

// WaterDensity is the density of air-free water in kg/m3 from 5 to 40 °C
// (Jones and Harris, Journal of Research of NIST 97, 1992).
func WaterDensity(celsius float64) float64 {
	t := celsius
	return 999.85308 + t*(6.32693e-2+t*(-8.523829e-3+t*(6.943248e-5-t*3.821216e-7)))
}

// sgAt is the uncertainty of the SG of a stone of that weight and SG on a
// balance, one careful weighing of `repeats` repeats, temperature noted.
func sgAt(carats, sg, balance float64, repeats int) float64 {
	w := Weighing{Air: carats, Water: carats * (1 - 1/sg), Balance: balance, Repeats: repeats,
		TempKnown: true, WaterC: 20}
	factor := WaterDensity(20) / densestWater
	return w.u(sg*factor, factor)
}

// SmallestWeight is the smallest weight in carats, to three digits, at which a
// hydrostatic SG on this balance separates two materials: a stone of either,
// wherever in its range, has at least a 95 % chance that the other is excluded
// at k standard uncertainties. ok is false where it never does: the ranges
// touch or overlap, one is unknown, or the gap is below what water and air
// leave in doubt at any weight.
func SmallestWeight(a, b *facts.Material, balance float64, repeats int, k float64) (carats float64, ok bool) {
	if !a.SG.Known || !b.SG.Known || a.SG.Overlaps(b.SG) {
		return 0, false
	}
	low, high := a.SG, b.SG
	if low.Min > high.Min {
		low, high = high, low
	}
	gap, heavier := high.Min-low.Max, high.Min
	need := cmp.Or(k, 3) + chance.NormalQuantile(0.95)
	enough := func(ct float64) bool { return gap >= need*sgAt(ct, heavier, cmp.Or(balance, 0.01), repeats) }
	lo, hi := 1e-3, 1e4
	if !enough(hi) {
		return 0, false
	}
	for hi/lo > 1.0005 {
		if mid := math.Sqrt(lo * hi); enough(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	digits := math.Pow(10, math.Floor(math.Log10(hi))-2)
	return math.Ceil(hi/digits) * digits, true
}
