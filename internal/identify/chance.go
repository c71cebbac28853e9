package identify

import (
	"math"

	"lotpaper/internal/facts"
)

// Chances of what is seen under what is published, where handbooks give words
// and no numbers (common practice). They move shares and never exclude.
const (
	figureOther     = 0.03  // a figure of another class
	figurePasses    = 0.09  // the same of a material that passes for that class
	figureAlso      = 0.15  // a class that sound pieces are also met with
	figureIsotropic = 0.002 // any figure in a singly refractive material
	figureAggregate = 0.004
	signAgainst     = 0.04
	signUnknown     = 0.5
	rotationAgainst = 0.2  // turning on the refractometer is told less surely than a figure
	strainIsFlaw    = 0.15 // a singly refractive stone so strained that it looks doubly refractive
	crystalMistaken = 0.005
)

// Chance of each seen strength of pleochroism under each published greatest
// strength: pale stones show less.
var pleoSpread = [4][4]float64{
	{0.97, 0.02, 0.007, 0.003},
	{0.45, 0.45, 0.08, 0.02},
	{0.20, 0.35, 0.38, 0.07},
	{0.12, 0.18, 0.30, 0.40},
}

// likeWords is the likelihood of the readings that are words.
func (b *bench) likeWords(t *Table, r *row) float64 {
	p := 1.0
	if b.done(TestOptic) {
		p *= b.opticChance(r)
	}
	if b.done(TestFigure) {
		p *= figureChance(r, b.optic, b.sign)
	} else if b.rotated != "" && !r.passesFor(b.rotated) {
		p *= math.Max(rotationAgainst, figureChance(r, b.rotated, b.rotatedSign))
	}
	if b.pleo >= 0 {
		p *= b.pleoChance(r)
	}
	if b.done(TestSpectrum) {
		p *= b.linesChance(r.lines)
	}
	if b.long.seen {
		p *= b.long.chance(r.long, b.hues)
	}
	if b.short.seen {
		p *= b.short.chance(r.short, b.hues)
	}
	if b.clear >= 0 {
		p *= r.clear[b.clear]
	}
	return p * b.told(t, r)
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
		case doubly && r.sep.Known && r.sep.Min >= faint:
			return crystalMistaken
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
		return crystalMistaken
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

// figureChance of a figure, or of a character told by turning.
func figureChance(r *row, class Optic, sign int8) float64 {
	switch {
	case string(r.class) == string(class):
		switch {
		case sign == 0 || r.sign == sign:
			return 1
		case r.sign == 0:
			return signUnknown
		}
		return signAgainst
	case r.shows(class):
		return figureAlso
	case r.class == facts.Isotropic:
		return figureIsotropic
	case r.class == facts.Aggregate:
		return figureAggregate
	case r.passesFor(class):
		return figurePasses
	}
	return figureOther
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

// Chance of each hue in the dichroscope: a published one, one that shares a
// word with it, another; and any, when nothing is published.
const (
	pleoHue      = 0.8
	pleoKin      = 0.3
	pleoOther    = 0.05
	pleoAnyHue   = 0.3
	pleoTooMany  = 0.05 // three colours in a uniaxial stone, which has two
	pleoUnknown  = 0.25
	pleoStranger = 0.25
)

// pleoFact is one line of what is published of a material's pleochroic colours:
// hues, and the stone colours that they are published for (0: any).
type pleoFact struct{ hues, stones hue }

func (b *bench) pleoChance(r *row) float64 {
	seen := min(int(b.pleo), 3)
	p := pleoUnknown
	if r.pleo >= 0 {
		p = pleoSpread[r.pleo][seen]
	}
	if b.pleoColours >= 3 && r.class == facts.Uniaxial {
		p *= pleoTooMany
	}
	if b.pleoHues == 0 || seen == 0 {
		return p
	}
	published := hue(0)
	for _, f := range r.pleoFacts {
		if f.stones == 0 || b.hues == 0 || f.stones&b.hues.kin() != 0 {
			published |= f.hues
		}
	}
	for h := b.pleoHues; h != 0; h &= h - 1 {
		one := h & -h
		switch {
		case published == 0 || one&b.hues != 0 && one&published == 0: // the body colour is always one of them
			p *= pleoAnyHue
		case one&published != 0:
			p *= pleoHue
		case one.kin()&published != 0:
			p *= pleoKin
		default:
			p *= pleoOther
		}
	}
	return p
}

// How often a published line is seen by its strength, and how often a line that
// is not published (common practice). Pale stones show half of it.
const (
	lineStrong  = 0.7
	lineMedium  = 0.4
	lineWeak    = 0.15
	lineOther   = 0.01
	lineWithin  = 3.0 // nm
	bandWithin  = 8.0
	linesSilent = 0.8 // an unknown material shows none
)

// lineFact is one published line made ready.
type lineFact struct {
	nm, within, hit float64
	stones          hue // 0: any
}

// linesChance: each line seen is either a published one or a stranger. Lines
// that are absent tell something only when the whole spectrum was looked at and
// nothing was seen.
func (b *bench) linesChance(published []lineFact) float64 {
	pale := 1.0
	if b.pale {
		pale = 0.5
	}
	applies := func(f *lineFact) bool { return f.stones == 0 || b.hues == 0 || f.stones&b.hues.kin() != 0 }
	p := 1.0
	if len(b.lines) == 0 {
		for i := range published {
			if applies(&published[i]) {
				p *= 1 - pale*published[i].hit
			}
		}
		return p
	}
	for _, nm := range b.lines {
		best := lineOther
		for i := range published {
			if f := &published[i]; applies(f) && math.Abs(f.nm-nm) <= f.within {
				best = max(best, pale*f.hit)
			}
		}
		p *= best
	}
	return p
}
