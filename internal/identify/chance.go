package identify

import (
	"math"

	"lotpaper/internal/facts"
)

// Chances of what is seen under what is published, where handbooks give words
// and no numbers (common practice). They move shares and never exclude.
const (
	figureAgainst = 0.1 // a figure or rotation of the other class
	signAgainst   = 0.2
	colourAgainst = 0.15
	colourUnknown = 0.6
	strainIsFlaw  = 0.15 // a singly refractive stone so strained that it looks doubly refractive
)

// Chance of each seen strength of pleochroism under each published greatest
// strength: pale stones show less.
var pleoSpread = [4][4]float64{
	{0.97, 0.02, 0.007, 0.003},
	{0.45, 0.45, 0.08, 0.02},
	{0.20, 0.35, 0.38, 0.07},
	{0.12, 0.18, 0.30, 0.40},
}

// signs is the likelihood of the readings that are words.
func (b *bench) signs(r *row) float64 {
	p := 1.0
	if b.done(TestOptic) {
		p *= b.opticChance(r)
	}
	if b.done(TestFigure) {
		p *= figureChance(r, b.optic, b.sign)
	} else if b.rotated != "" && !r.passesFor(b.rotated) {
		p *= math.Max(0.2, figureChance(r, b.rotated, b.rotatedSign))
	}
	if b.pleo >= 0 {
		p *= b.pleoChance(r)
	}
	if b.done(TestSpectrum) {
		p *= linesChance(b.lines, r.lines)
	}
	if b.long.seen {
		p *= b.long.chance(r.long, b.hues)
	}
	if b.short.seen {
		p *= b.short.chance(r.short, b.hues)
	}
	if b.hues != 0 {
		switch {
		case r.hues == 0:
			p *= colourUnknown
		case b.hues&r.hues == 0 && b.hues&r.hues.kin() == 0:
			p *= colourAgainst
		}
	}
	return p
}

func (b *bench) opticChance(r *row) float64 {
	doubly := r.class == facts.Uniaxial || r.class == facts.Biaxial
	switch b.optic {
	case OpticIsotropic:
		switch {
		case r.class == facts.Isotropic && r.anomalous:
			return 0.6
		case r.class == facts.Isotropic:
			return 0.95
		case r.shows(OpticIsotropic):
			return 0.3
		case b.partial:
			return 0.1
		}
		return 0.02
	case OpticAnomalous:
		switch {
		case r.class == facts.Isotropic && r.anomalous:
			return 0.3
		case r.class == facts.Isotropic:
			return 0.04
		}
		return 0.02
	case OpticDoubly:
		switch {
		case doubly:
			return 0.95
		case r.class == facts.Aggregate:
			return 0.4
		case r.anomalous:
			return strainIsFlaw
		}
		return 0.02
	case OpticAggregate:
		switch {
		case r.class == facts.Aggregate:
			return 0.9
		case doubly:
			return 0.1 // a rock of small grains, or a twinned or fibrous piece
		}
		return 0.03
	}
	return 1
}

func figureChance(r *row, class Optic, sign int8) float64 {
	p := 1.0
	if string(r.class) != string(class) {
		p = figureAgainst
		if r.shows(class) {
			p = 0.3
		}
		return p
	}
	if sign != 0 {
		switch r.sign {
		case sign:
		case 0:
			p = 0.5
		default:
			p = signAgainst
		}
	}
	return p
}

// passesFor: a biaxial stone with beta close to alpha or gamma passes for
// uniaxial on the refractometer (topaz, kornerupine).
func (r *row) passesFor(class Optic) bool {
	if class != OpticUniaxial || r.class != facts.Biaxial || !r.beta.Known {
		return false
	}
	middle := func(x facts.Range) float64 { return (x.Min + x.Max) / 2 }
	const close = 0.0045 // what turning cannot tell from a standing edge
	return middle(r.beta)-middle(r.alpha) < close || middle(r.gamma)-middle(r.beta) < close
}

func (b *bench) pleoChance(r *row) float64 {
	seen := min(int(b.pleo), 3)
	p := 0.25
	if r.pleo >= 0 {
		p = pleoSpread[r.pleo][seen]
	}
	if b.pleoColours >= 3 && r.class == facts.Uniaxial {
		p *= 0.05 // a uniaxial stone has two
	}
	return p
}

// linesChance: each line seen is either one of the published ones within 3 nm
// or a stranger; a material without published lines makes every line a
// stranger. Lines that are absent tell nothing: pale stones show none.
func linesChance(seen, published []float64) float64 {
	p := 1.0
	for _, nm := range seen {
		best := math.Inf(1)
		for _, line := range published {
			best = math.Min(best, math.Abs(line-nm))
		}
		switch {
		case best <= 3:
			p *= 0.2
		case best <= 6:
			p *= 0.05
		default:
			p *= 0.01
		}
	}
	return p
}
