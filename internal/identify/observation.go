package identify

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/fault"
)

// Edge is one shadow edge read on the refractometer. The zero Edge was not read.
type Edge struct {
	N    float64 // refractive index
	Over bool    // beyond the scale: the edge lies above N, the contact liquid's index (0: Settings.Liquid)
}

// Read reports whether the edge was read at all.
func (e Edge) Read() bool { return e.Over || e.N != 0 }

// Pair is one look through the refractometer: the two edges of a facet in one
// direction. A single edge stands in Low alone, or in both.
type Pair struct {
	Low, High Edge
	Angle     float64 // rotation in degrees; used only when Turned
	Turned    bool    // Angle was noted
	Facet     string  // "table", "pavilion" ...; readings of one facet go together
}

// Optic is the result of the polariscope or conoscope.
type Optic string

// The optic results, from a blank (not tested) to a figure with its sign.
const (
	OpticUntested    Optic = ""
	OpticIsotropic   Optic = "isotropic"
	OpticAnomalous   Optic = "anomalous" // single refraction with strain
	OpticAggregate   Optic = "aggregate"
	OpticDoubly      Optic = "doubly"
	OpticUniaxial    Optic = "uniaxial"
	OpticUniaxialPos Optic = "uniaxial+"
	OpticUniaxialNeg Optic = "uniaxial-"
	OpticBiaxial     Optic = "biaxial"
	OpticBiaxialPos  Optic = "biaxial+"
	OpticBiaxialNeg  Optic = "biaxial-"
)

// Optics lists every result that Observations.Optic may hold.
var Optics = []Optic{OpticIsotropic, OpticAnomalous, OpticAggregate, OpticDoubly, OpticUniaxial, OpticUniaxialPos,
	OpticUniaxialNeg, OpticBiaxial, OpticBiaxialPos, OpticBiaxialNeg}

// split returns the class ("uniaxial", "biaxial", or the word itself) and the
// sign of a figure: +1, -1, or 0 when not told.
func (o Optic) split() (class Optic, sign int8) {
	switch o {
	case OpticUniaxialPos:
		return OpticUniaxial, +1
	case OpticUniaxialNeg:
		return OpticUniaxial, -1
	case OpticBiaxialPos:
		return OpticBiaxial, +1
	case OpticBiaxialNeg:
		return OpticBiaxial, -1
	}
	return o, 0
}

// Glow is a fluorescence seen under one lamp. The zero Glow was not tested.
type Glow struct {
	Strength string // "inert", "weak", "moderate", "strong"
	Colour   string // hue words; empty when not told
}

// Pleochroism is what the dichroscope showed. The zero value was not tested.
type Pleochroism struct {
	Strength string // "none", "weak", "moderate", "strong"
	Colours  int    // 0 not told, else 1 to 3
	Hues     string
}

// Float is where a stone went in a heavy liquid.
type Float string

// The results in a heavy liquid.
const (
	Sinks    Float = "sinks"
	Floats   Float = "floats"
	Suspends Float = "suspends"
)

// Liquid is one heavy-liquid test.
type Liquid struct {
	SG     float64 // of the liquid, checked with an indicator
	U      float64 // its standard uncertainty; 0: Settings
	Result Float
}

// Observations is what a bench gave for one stone. A zero field was not tested.
type Observations struct {
	Colour string // of the stone, in hue words

	Pairs            []Pair
	Spot             Edge    // distant-vision (spot) reading of a curved surface
	SpotU            float64 // its standard uncertainty, when it is worse than Settings
	RIU              float64 // standard uncertainty of one edge; 0: Settings
	Birefringence    float64 // read as such; a lower bound unless maximised
	BirefringenceU   float64 // its standard uncertainty; 0: that of a difference of edges
	BirefringenceMax bool    // the stone was turned until the separation was greatest
	Blinked          bool    // Birefringence was looked for; a value of 0 is a reading

	Optic      Optic
	Directions int // in which the polariscope was tried; 0: not told, the result is taken as complete

	SG       float64 // measured directly; 0: not measured
	SGU      float64 // its standard uncertainty; 0: Settings
	Weighing Weighing
	Liquids  []Liquid

	LongWave, ShortWave Glow
	Pleochroism         Pleochroism
	Filter              string    // colour seen through the colour filter: "red", "green" ...
	Lines               []float64 // absorption lines or band centres in nm
	Looked              bool      // with the spectroscope; no lines is then a reading
	Thermal             string    // thermal probe: "high", "low"
	Electrical          string    // electrical probe: "conducts", "none"
	Features            []string  // seen under magnification: "gas bubbles", "curved striae" ...
	Look                Look
}

// Validate reports readings that cannot be: the fields that a mistyped row
// gets wrong. A reading that no gem has is not a fault: it is a verdict.
func (o *Observations) Validate() fault.List {
	var faults fault.List
	bad := func(header, code, what, mend string) {
		faults.Add(fault.New(fault.Invalid, code, what, mend).At(fault.Where{Header: header}))
	}
	index := func(header string, e Edge) {
		if e.N != 0 && !(e.N >= 1 && e.N <= 4) {
			bad(header, "index-impossible", fmt.Sprintf("a refractive index must lie between 1 and 4, but is %g", e.N),
				"enter it as read, e.g. 1.660, or >1.79 when over the limit")
		}
	}
	for _, p := range o.Pairs {
		index("ri_low", p.Low)
		index("ri_high", p.High)
		if p.Low.N != 0 && p.High.N != 0 && !p.Low.Over && !p.High.Over && p.Low.N > p.High.N {
			bad("ri_low", "edges-swapped", fmt.Sprintf("the low edge %g is above the high edge %g", p.Low.N, p.High.N),
				"swap the two readings")
		}
		if p.Low.Over && p.High.Read() && !p.High.Over {
			bad("ri_high", "edges-swapped", "the low edge is over the limit but the high edge is not",
				"swap the two readings")
		}
	}
	index("ri_spot", o.Spot)
	if !(o.RIU >= 0 && o.RIU <= 0.1) {
		bad("ri_u", "uncertainty-impossible",
			fmt.Sprintf("the uncertainty of an index must lie between 0 and 0.1, but "+
				"is %g", o.RIU), "enter one standard uncertainty, e.g. 0.002")
	}
	if !(o.SpotU >= 0 && o.SpotU <= 0.1 && o.BirefringenceU >= 0 && o.BirefringenceU <= 0.1) {
		bad("plus_minus", "uncertainty-impossible",
			fmt.Sprintf("the uncertainty of a spot reading and of a birefringence must lie between 0 and 0.1, "+
				"but they are %g and %g", o.SpotU, o.BirefringenceU), "enter one standard uncertainty, e.g. 0.01")
	}
	if !(o.Birefringence >= 0 && o.Birefringence <= 1) {
		bad("birefringence", "birefringence-impossible",
			fmt.Sprintf("a birefringence must lie between 0 and 1, but is %g",
				o.Birefringence), "enter the high less the low edge, e.g. 0.015")
	}
	if o.BirefringenceMax && o.Birefringence == 0 && !o.Blinked && !slices.ContainsFunc(o.Pairs, func(p Pair) bool {
		return p.Low.N != 0 && !p.Low.Over || p.High.N != 0 && !p.High.Over
	}) {
		bad("birefringence_max", "maximum-of-nothing", "a greatest birefringence is told, but neither it nor the edges",
			"enter the birefringence, or both edges as they were farthest apart")
	}
	if o.Optic != OpticUntested {
		if class, _ := o.Optic.split(); class == "" || !known(o.Optic) {
			bad("optic", "optic-unknown", fmt.Sprintf("%q is not an optic result", o.Optic), "use one of "+
				words(Optics))
		}
	}
	if !(o.SG >= 0 && o.SG <= 25 && o.SGU >= 0 && o.SGU <= 25) {
		bad("sg", "sg-impossible", fmt.Sprintf("a specific gravity and its uncertainty lie between 0 and 25, but are "+
			"%g and %g", o.SG, o.SGU), "enter e.g. 3.18 and 0.02")
	}
	faults.Add(o.Weighing.Validate()...)
	for _, l := range o.Liquids {
		if !(l.SG > 0 && l.SG < 10) || !(l.U >= 0 && l.U < 1) || (l.Result != Sinks && l.Result != Floats &&
			l.Result != Suspends) {
			bad("liquid", "liquid-unknown", fmt.Sprintf("a heavy-liquid test needs the liquid's SG and sinks, floats "+
				"or suspends, not %g %q", l.SG, l.Result), "enter e.g. 3.32 and floats")
		}
	}
	glow := func(header string, g Glow) {
		if _, ok := strengthOf(g.Strength); g.Strength != "" && !ok {
			bad(header, "strength-unknown", fmt.Sprintf("%q is not a strength", g.Strength),
				"use inert, weak, moderate or strong")
		}
	}
	glow("lw", o.LongWave)
	glow("sw", o.ShortWave)
	if _, ok := strengthOf(o.Pleochroism.Strength); o.Pleochroism.Strength != "" && !ok {
		bad("pleochroism", "strength-unknown", fmt.Sprintf("%q is not a strength", o.Pleochroism.Strength),
			"use none, weak, moderate or strong")
	}
	if o.Look.Transparency != "" && clarity(o.Look.Transparency) < 0 {
		bad("transparency", "transparency-unknown", fmt.Sprintf("%q is not a transparency", o.Look.Transparency),
			"use transparent, translucent or opaque")
	}
	for _, nm := range o.Lines {
		if !(nm >= 200 && nm <= 1100) {
			bad("spectrum", "line-impossible", fmt.Sprintf("a line must lie between 200 and 1100 nm, but is %g", nm),
				"enter the wavelength in nanometres, e.g. 437")
		}
	}
	return faults
}

func known(o Optic) bool {
	for _, k := range Optics {
		if o == k {
			return true
		}
	}
	return false
}

func words(optics []Optic) string {
	var b strings.Builder
	for i, o := range optics {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(string(o))
	}
	return b.String()
}
