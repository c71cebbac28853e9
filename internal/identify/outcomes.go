package identify

import (
	"fmt"
	"math"

	"lotpaper/internal/facts"
)

// outcomes are the possible results of one test: how likely each is under each
// candidate, and whether it would exclude the candidate.
type outcomes struct {
	chance   [][]float64 // [outcome][candidate]
	excludes [][]bool    // nil: this test only moves shares
}

// add appends an outcome.
func (o *outcomes) add(chance []float64, excludes []bool) {
	o.chance = append(o.chance, chance)
	if excludes != nil {
		o.excludes = append(o.excludes, excludes)
	}
}

// normalise makes the chances of each candidate add up to 1.
func (o *outcomes) normalise(n int) {
	for j := range n {
		sum := 0.0
		for i := range o.chance {
			sum += o.chance[i][j]
		}
		if sum == 0 {
			continue
		}
		for i := range o.chance {
			o.chance[i][j] /= sum
		}
	}
}

// information is the expected fall of the entropy of the shares, in bits, and
// the chance that one candidate alone is left.
func (o *outcomes) information(shares []float64) (bits, settles float64) {
	for i, p := range o.chance {
		z := 0.0
		for j, share := range shares {
			z += share * p[j]
		}
		if z <= 0 {
			continue
		}
		for j, share := range shares {
			if w := share * p[j]; w > 0 {
				bits += w * math.Log2(p[j]/z)
			}
		}
		if o.excludes == nil {
			continue
		}
		left := 0
		for j := range shares {
			if !o.excludes[i][j] {
				left++
			}
		}
		if left == 1 {
			settles += z
		}
	}
	return math.Max(0, bits), math.Min(1, settles)
}

// outcomes of one instrument on this stone; none when it was used already or
// cannot tell anything.
func (v *Verdict) outcomes(instrument string, best []Candidate, s *Settings) (outcomes, string) {
	b := &v.bench
	n := len(best)
	row := func(j int) *row { return &v.table.rows[best[j].index] }
	var o outcomes
	why := ""
	switch instrument {
	case Refractometer:
		if b.low.read || b.spot.read {
			return o, ""
		}
		o = v.edgesOutcomes(best, s)
		why = fmt.Sprintf("two edges to ±%.4f and a lower bound of the birefringence", math.Hypot(s.UCal, s.URead))
	case SpotReading:
		if b.low.read || b.spot.read {
			return o, ""
		}
		o = line(n, s.USpot, b.k, func(j int) facts.Range { return row(j).whole })
		why = fmt.Sprintf("an index to ±%.3f, for a curved surface only", s.USpot)
	case RotationTest:
		if b.full || b.spot.read || (b.low.read && b.low.over) {
			return o, ""
		}
		o = line(n, math.Sqrt2*s.URead, b.k, func(j int) facts.Range { return row(j).sep })
		o = o.times(figureOutcomes(n, row, 0.5), n)
		why = "the whole birefringence, and often the optic character and sign"
	case Balance:
		if b.done(TestSG) {
			return o, ""
		}
		carats, assumed := s.Carats, ""
		if carats == 0 {
			carats, assumed = 1, " (weight not given, 1 ct assumed)"
		}
		u := sgAt(carats, v.meanSG(best), s.Balance, 1)
		o = line(n, u, b.k, func(j int) facts.Range { return row(j).sg })
		why = fmt.Sprintf("on this balance a stone of %.2f ct gives SG to ±%.3f%s", carats, u, assumed)
	case HeavyLiquids:
		if b.done(TestSG) || b.done(TestLiquid) {
			return o, ""
		}
		o = liquidOutcomes(n, row, s, b.k)
		why = "sinks or floats in liquids of 2.65, 2.89, 3.05 and 3.32"
	case Polariscope:
		if b.optic != OpticUntested {
			return o, ""
		}
		for _, optic := range []Optic{OpticIsotropic, OpticAnomalous, OpticDoubly, OpticAggregate} {
			trial := bench{optic: optic, k: b.k}
			p, out := make([]float64, n), make([]bool, n)
			for j := range n {
				p[j], out[j] = trial.opticChance(row(j)), trial.opticExcludes(row(j))
			}
			o.add(p, out)
		}
		why = "single or double refraction, or an aggregate"
	case Conoscope:
		if b.done(TestFigure) {
			return o, ""
		}
		o = figureOutcomes(n, row, 0.6)
		why = "a figure, when one is found, tells uniaxial from biaxial and often the sign"
	case Dichroscope:
		if b.pleo >= 0 {
			return o, ""
		}
		for seen := range int8(4) {
			trial := bench{pleo: seen}
			p, out := make([]float64, n), make([]bool, n)
			for j := range n {
				p[j] = trial.pleoChance(row(j))
				out[j] = seen >= 2 && row(j).class == facts.Isotropic
			}
			o.add(p, out)
		}
		why = "colours in two directions prove double refraction; their strength is a sign"
	case Spectroscope:
		if b.done(TestSpectrum) {
			return o, ""
		}
		o = spectrumOutcomes(n, row)
		why = "lines, when they are seen, are as good as a signature"
	case LongWaveLamp:
		if b.long.seen {
			return o, ""
		}
		o = glowOutcomes(n, b.hues, func(j int) []glowFact { return row(j).long })
		why = "a strong reaction favours the materials known for it; none excludes nothing"
	case ShortWaveLamp:
		if b.short.seen {
			return o, ""
		}
		o = glowOutcomes(n, b.hues, func(j int) []glowFact { return row(j).short })
		why = "a strong reaction favours the materials known for it; none excludes nothing"
	}
	o.normalise(n)
	return o, why
}

// meanSG is the expected SG of the stone, for the error of a weighing.
func (v *Verdict) meanSG(best []Candidate) float64 {
	sum, weight := 0.0, 0.0
	for _, c := range best {
		if sg := v.table.rows[c.index].sg; sg.Known {
			sum += c.Share * (sg.Min + sg.Max) / 2
			weight += c.Share
		}
	}
	if weight == 0 {
		return 3
	}
	return sum / weight
}

// line are the outcomes of one number read with error u: cells along the
// candidates' ranges. A candidate of unknown range spreads over all of them.
func line(n int, u, k float64, of func(int) facts.Range) outcomes {
	var all facts.Range
	for j := range n {
		all = span(all, of(j))
	}
	var o outcomes
	if !all.Known || u <= 0 {
		return o
	}
	low, high := all.Min-3*u, all.Max+3*u
	cells := int(math.Min(64, math.Max(8, (high-low)/u*1.5)))
	step := (high - low) / float64(cells)
	blur := math.Max(u, step/2)
	for i := range cells {
		x := low + (float64(i)+0.5)*step
		p, out := make([]float64, n), make([]bool, n)
		for j := range n {
			r := of(j)
			if !r.Known {
				p[j] = 1 / (high - low)
				continue
			}
			p[j] = inRange(x, blur, r)
			out[j] = outside(x, u, r) > k
		}
		o.add(p, out)
	}
	return o
}

// times are the outcomes of two independent tests made together.
func (o outcomes) times(other outcomes, n int) outcomes {
	o.normalise(n)
	other.normalise(n)
	var both outcomes
	for i := range o.chance {
		for k := range other.chance {
			p, out := make([]float64, n), make([]bool, n)
			for j := range n {
				p[j] = o.chance[i][j] * other.chance[k][j]
				out[j] = (o.excludes != nil && o.excludes[i][j]) || (other.excludes != nil && other.excludes[k][j])
			}
			both.add(p, out)
		}
	}
	return both
}

// edgesOutcomes: the mean of two edges and their separation, or over the limit.
func (v *Verdict) edgesOutcomes(best []Candidate, s *Settings) outcomes {
	n := len(best)
	row := func(j int) *row { return &v.table.rows[best[j].index] }
	u := math.Hypot(s.UCal, s.URead)
	middles := line(n, u, s.K, func(j int) facts.Range {
		r := row(j).middle(row(j).sep.Max)
		if r.Known && r.Min > s.Liquid {
			return facts.Range{}
		}
		r.Max = math.Min(r.Max, s.Liquid)
		return r
	})
	var seps outcomes
	uSep := math.Sqrt2 * s.URead
	for _, sep := range [...]float64{0, 0.003, 0.006, 0.009, 0.013, 0.018, 0.026, 0.038, 0.055, 0.17} {
		p, out := make([]float64, n), make([]bool, n)
		for j := range n {
			r := row(j).sep
			p[j] = separation(sep, math.Max(uSep, sep/6), r)
			out[j] = r.Known && (sep-r.Max)/uSep > s.K
		}
		seps.add(p, out)
	}
	o := middles.times(seps, n)
	// Over the limit: whatever lies above the liquid.
	over, out := make([]float64, n), make([]bool, n)
	for j := range n {
		r := row(j)
		over[j] = above(s.Liquid, u, r.low)
		out[j] = r.low.Known && (s.Liquid-r.low.Max)/u > s.K
		for i := range o.chance {
			o.chance[i][j] *= 1 - over[j]
		}
	}
	o.add(over, out)
	return o
}

func figureOutcomes(n int, row func(int) *row, found float64) outcomes {
	var o outcomes
	nothing, none := make([]float64, n), make([]bool, n)
	for j := range n {
		nothing[j] = 1
		if c := row(j).class; c == facts.Uniaxial || c == facts.Biaxial {
			nothing[j] = 1 - found
		}
	}
	for _, class := range []Optic{OpticUniaxial, OpticBiaxial} {
		for _, sign := range []int8{+1, -1} {
			p, out := make([]float64, n), make([]bool, n)
			for j := range n {
				r := row(j)
				p[j] = (1 - nothing[j]) * figureChance(r, class, sign) / 1.3
				out[j] = (r.class == facts.Isotropic || r.class == facts.Aggregate) && !r.shows(class)
			}
			o.add(p, out)
		}
	}
	o.add(nothing, none)
	return o
}

func liquidOutcomes(n int, row func(int) *row, s *Settings, k float64) outcomes {
	limits := [...]float64{2.65, 2.89, 3.05, 3.32}
	var o outcomes
	for i := 0; i <= len(limits); i++ {
		p, out := make([]float64, n), make([]bool, n)
		for j := range n {
			sg := row(j).sg
			p[j] = 1
			if i > 0 { // sinks in the lighter
				p[j] *= above(limits[i-1], s.ULiquid, sg)
				out[j] = out[j] || sg.Known && (limits[i-1]-sg.Max)/s.ULiquid > k
			}
			if i < len(limits) { // floats in the heavier
				p[j] *= 1 - 0.99*above(limits[i], s.ULiquid, sg)
				out[j] = out[j] || sg.Known && (sg.Min-limits[i])/s.ULiquid > k
			}
		}
		o.add(p, out)
	}
	return o
}

func spectrumOutcomes(n int, row func(int) *row) outcomes {
	var o outcomes
	seen := make([]float64, n)
	nothing := make([]float64, n)
	for k := range n {
		lines := row(k).lines
		if len(lines) == 0 {
			continue
		}
		p := make([]float64, n)
		for j := range n {
			p[j] = linesChance(lines[:min(2, len(lines))], row(j).lines)
			seen[j] += p[j]
		}
		o.add(p, nil)
	}
	if len(o.chance) == 0 {
		return o
	}
	for j := range n {
		nothing[j] = 0.95
		if len(row(j).lines) > 0 {
			nothing[j] = 0.6
		}
		for i := range o.chance {
			o.chance[i][j] *= (1 - nothing[j]) / seen[j]
		}
	}
	o.add(nothing, nil)
	return o
}

func glowOutcomes(n int, stone hue, of func(int) []glowFact) outcomes {
	var all hue
	for j := range n {
		for _, f := range of(j) {
			all |= f.hues
		}
	}
	var o outcomes
	outcome := func(g glow) {
		p := make([]float64, n)
		for j := range n {
			p[j] = g.chance(of(j), stone)
		}
		o.add(p, nil)
	}
	if all == 0 {
		return o
	}
	outcome(glow{seen: true})
	for strength := 1; strength <= 3; strength++ {
		for h := hue(1); h <= hueNone; h <<= 1 {
			if all&h != 0 {
				outcome(glow{seen: true, strength: strength, hues: h})
			}
		}
	}
	return o
}
