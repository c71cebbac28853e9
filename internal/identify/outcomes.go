package identify

import (
	"fmt"
	"math"

	"lotpaper/internal/facts"
)

// outcomes are the possible results of one test: how likely each is under each
// rival, and last under the open set.
type outcomes struct {
	chance  [][]float64 // [outcome][rival]
	against [][]bool    // [outcome][rival]: it would speak against the rival; nil: none would
	adds    []int       // measured properties that the outcome adds
}

func (o *outcomes) add(chance []float64, against []bool, adds int) {
	o.chance = append(o.chance, chance)
	o.against = append(o.against, against)
	o.adds = append(o.adds, adds)
}

// close fills in the open set, as like the mean of the rivals and as anything,
// and makes the chances of each rival add up to 1.
func (o *outcomes) close() {
	if len(o.chance) == 0 {
		return
	}
	n := len(o.chance[0])
	for j := range n - 1 {
		o.normalise(j)
	}
	for i, p := range o.chance {
		sum := 0.0
		for j := range n - 1 {
			sum += p[j]
		}
		o.chance[i][n-1] = 0.5*sum/float64(max(1, n-1)) + 0.5/float64(len(o.chance))
	}
	o.normalise(n - 1)
}

func (o *outcomes) normalise(j int) {
	sum := 0.0
	for i := range o.chance {
		sum += o.chance[i][j]
	}
	for i := range o.chance {
		if sum > 0 {
			o.chance[i][j] /= sum
		}
	}
}

// times are the outcomes of two independent tests made together.
func (o outcomes) times(other outcomes) outcomes {
	o.close()
	other.close()
	var both outcomes
	for i := range o.chance {
		for k := range other.chance {
			n := len(o.chance[i])
			p, against := make([]float64, n), make([]bool, n)
			for j := range n {
				p[j] = o.chance[i][j] * other.chance[k][j]
				against[j] = o.against[i] != nil && o.against[i][j] || other.against[k] != nil && other.against[k][j]
			}
			both.add(p, against, max(o.adds[i], other.adds[k]))
		}
	}
	return both
}

// outcomes of one instrument on this stone; none when it was used already.
func (v *Verdict) outcomes(instrument string, r *rivals, s *Settings) (o outcomes, why string) {
	b := &v.bench
	gravity := 1
	if b.done(TestSG) || b.done(TestLiquid) {
		gravity = 0
	}
	figure := 1
	if b.done(TestFigure) || b.rotated != "" {
		figure = 0
	}
	dark := b.optic == OpticIsotropic && !b.partial // all round: it has no figure, and no edge that moves
	switch instrument {
	case LookOver:
		if b.clear < 0 {
			for i := range Transparencies {
				o.add(r.each(func(x *row) float64 { return x.clear[i] }), nil, 0)
			}
			why = "transparent, translucent or opaque, lustre and phenomena: seen without any instrument"
		}
	case Loupe:
		if !b.done(TestFeature) {
			o, why = v.signOutcomes("magnification", r), "bubbles, joins, doubling, grain: first for glass and "+
				"assembled stones"
		}
	case ColourFilter:
		if b.filter == "" {
			o, why = v.signOutcomes("filter", r), "chromium and cobalt look red through it"
		}
	case ThermalProbe:
		if b.thermal == "" {
			o, why = v.signOutcomes("thermal", r), "tells diamond and moissanite from all others"
		}
	case ElectricalProbe:
		if b.electrical == "" {
			o, why = v.signOutcomes("electrical", r), "tells moissanite from diamond"
		}
	case Refractometer:
		if !b.low.read && !b.spot.read {
			o = v.edgesOutcomes(r, s)
			why = fmt.Sprintf("two edges to ±%.4f and a lower bound of the birefringence", math.Hypot(s.UCal, s.URead))
		}
	case SpotReading:
		if !b.low.read && !b.spot.read {
			o = line(r, s.USpot, 1, func(x *row) *quantity { return &x.wholeNumber })
			why = fmt.Sprintf("an index to ±%.3f, for a curved surface only", s.USpot)
		}
	case RotationTest:
		if !b.full && !b.spot.read && !(b.low.read && b.low.over) && !dark {
			o = line(r, math.Sqrt2*s.URead, 0, func(x *row) *quantity { return &x.sepNumber })
			o = o.times(figureOutcomes(r, 0.5, figure))
			why = "the whole birefringence, and often the optic character and sign"
		}
	case Balance:
		if !b.done(TestSG) {
			carats, assumed := s.Carats, ""
			if carats == 0 {
				carats, assumed = 1, " (weight not given, 1 ct assumed)"
			}
			u := sgAt(carats, r.meanSG(), s.Balance, 1)
			o = line(r, u, gravity, func(x *row) *quantity { return &x.sgNumber })
			why = fmt.Sprintf("on this balance a stone of %.2f ct gives SG to ±%.3f%s", carats, u, assumed)
		}
	case HeavyLiquids:
		if gravity == 1 {
			o, why = liquidOutcomes(r, s), "sinks or floats in liquids of 2.65, 2.89, 3.05 and 3.32"
		}
	case Polariscope:
		if b.optic == OpticUntested {
			for _, optic := range []Optic{OpticIsotropic, OpticAnomalous, OpticDoubly, OpticAggregate} {
				trial := bench{optic: optic, k: b.k}
				p := r.each(trial.opticChance)
				against := make([]bool, len(p))
				for j := range p {
					against[j] = p[j] < polariscopeAgainst
				}
				o.add(p, against, 0)
			}
			why = "single or double refraction, or an aggregate"
		}
	case Conoscope:
		if !b.done(TestFigure) && !dark {
			o = figureOutcomes(r, 0.6, figure)
			why = "a figure, when one is found, tells uniaxial from biaxial and often the sign"
		}
	case Dichroscope:
		if b.pleo < 0 {
			for seen := range int8(4) {
				trial := bench{pleo: seen, hues: b.hues}
				o.add(r.each(trial.pleoChance), nil, 0)
			}
			why = "colours in two directions prove double refraction; their strength is a sign"
		}
	case Spectroscope:
		if !b.done(TestSpectrum) {
			o, why = v.spectrumOutcomes(r), "lines, when they are seen, are as good as a signature"
		}
	case LongWaveLamp:
		if !b.long.seen {
			o = glowOutcomes(r, b.hues, func(x *row) []glowFact { return x.long })
			why = "a strong reaction favours the materials known for it; none excludes nothing"
		}
	case ShortWaveLamp:
		if !b.short.seen {
			o = glowOutcomes(r, b.hues, func(x *row) []glowFact { return x.short })
			why = "a strong reaction favours the materials known for it; none excludes nothing"
		}
	}
	o.close()
	return o, why
}

// line are the outcomes of one number read with error u: cells along the
// rivals' ranges.
func line(r *rivals, u float64, adds int, of func(*row) *quantity) outcomes {
	var all facts.Range
	for _, x := range r.rows {
		if q := of(x); q.known {
			all = span(all, q.wide)
		}
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
		p := r.each(func(row *row) float64 {
			q := of(row)
			if !q.known {
				return 1 / (high - low)
			}
			return q.density(x, blur)
		})
		against := make([]bool, len(p))
		for j, row := range r.rows {
			against[j] = outside(x, u, of(row).in) > strayMost[1]
		}
		o.add(p, against, adds)
	}
	return o
}

// edgesOutcomes: the mean of two edges and their separation, or over the limit.
func (v *Verdict) edgesOutcomes(r *rivals, s *Settings) outcomes {
	u := math.Hypot(s.UCal, s.URead)
	middles := make(map[*row]*quantity, len(r.rows))
	for _, x := range r.rows {
		q := x.middleNumber(x.sep.Max)
		if q.known && q.in.Min > s.Liquid {
			q.known = false
		}
		q.in.Max = math.Max(q.in.Min, math.Min(q.in.Max, s.Liquid))
		middles[x] = &q
	}
	o := line(r, u, 1, func(x *row) *quantity { return middles[x] })
	if len(o.chance) > 0 {
		var seps outcomes
		uSep := math.Sqrt2 * s.URead
		for _, sep := range [...]float64{0, 0.003, 0.006, 0.009, 0.013, 0.018, 0.026, 0.038, 0.055, 0.17} {
			p := r.each(func(x *row) float64 { return separation(sep, math.Max(uSep, sep/6), x.sep) })
			against := make([]bool, len(p))
			for j, x := range r.rows {
				against[j] = x.sep.Known && (sep-x.sep.Max)/uSep > strayMost[1]
			}
			seps.add(p, against, 0)
		}
		o = o.times(seps)
	}
	// Over the limit: whatever lies above the liquid.
	adds := 0
	if v.bench.done(TestSG) && (v.bench.hues != 0 || v.bench.clear >= 0) {
		adds = 1
	}
	over := r.each(func(x *row) float64 { return overLimit(s.Liquid, u, x.low) })
	o.close()
	for i := range o.chance {
		for j := range r.rows {
			o.chance[i][j] *= 1 - over[j]
		}
	}
	o.add(over, nil, adds)
	return o
}

func figureOutcomes(r *rivals, found float64, adds int) outcomes {
	var o outcomes
	nothing := r.each(func(x *row) float64 {
		if x.class == facts.Uniaxial || x.class == facts.Biaxial {
			return 1 - found
		}
		return 1
	})
	for _, class := range []Optic{OpticUniaxial, OpticBiaxial} {
		for _, sign := range []int8{+1, -1} {
			trial := bench{optic: class, sign: sign, did: 1 << TestFigure}
			p := r.each(func(x *row) float64 { return figureChance(x, class, sign) })
			against := make([]bool, len(p))
			for j, x := range r.rows {
				p[j] *= (1 - nothing[j]) / 1.3
				against[j] = trial.against(x) != ""
			}
			o.add(p, against, adds)
		}
	}
	o.add(nothing, nil, 0)
	return o
}

func liquidOutcomes(r *rivals, s *Settings) outcomes {
	limits := [...]float64{2.65, 2.89, 3.05, 3.32}
	var o outcomes
	for i := 0; i <= len(limits); i++ {
		p := r.each(func(x *row) float64 {
			chance := 1.0
			if i > 0 { // sinks in the lighter
				chance *= above(limits[i-1], s.ULiquid, x.sg)
			}
			if i < len(limits) { // floats in the heavier
				chance *= 1 - 0.99*above(limits[i], s.ULiquid, x.sg)
			}
			return chance
		})
		o.add(p, nil, 1)
	}
	return o
}

// spectrumOutcomes: the strongest line of each rival that has one, or nothing.
func (v *Verdict) spectrumOutcomes(r *rivals) outcomes {
	var o outcomes
	var seen []float64
	for _, x := range r.rows {
		if len(x.lines) == 0 {
			continue
		}
		nm := x.lines[0].nm
		known := false
		for _, have := range seen {
			known = known || math.Abs(have-nm) <= lineWithin
		}
		if known {
			continue
		}
		seen = append(seen, nm)
		trial := bench{lines: []float64{nm}, hues: v.bench.hues, pale: v.bench.pale}
		o.add(r.each(func(x *row) float64 { return trial.linesChance(x.lines) }), nil, 1)
	}
	if len(seen) == 0 {
		return o
	}
	silent := bench{hues: v.bench.hues, pale: v.bench.pale}
	nothing := r.each(func(x *row) float64 { return silent.linesChance(x.lines) })
	for j := range r.rows {
		sum := 0.0
		for i := range o.chance {
			sum += o.chance[i][j]
		}
		for i := range o.chance {
			o.chance[i][j] *= (1 - 0.95*nothing[j]) / sum
		}
	}
	for j := range nothing {
		nothing[j] *= 0.95
	}
	o.add(nothing, nil, 0)
	return o
}

// signOutcomes: each result that some rival is known for, or none of them.
func (v *Verdict) signOutcomes(test string, r *rivals) outcomes {
	var o outcomes
	none := r.each(func(*row) float64 { return 1 })
	for id, known := range v.table.results {
		if known.test != test {
			continue
		}
		some := false
		p := r.each(func(x *row) float64 {
			hit := x.signChance(v.table, seenSign{id: id})
			some = some || hit > known.elsewhere
			return hit
		})
		if !some {
			continue
		}
		for j := range r.rows {
			none[j] *= 1 - p[j]
		}
		o.add(p, nil, 0)
	}
	if len(o.chance) > 0 {
		o.add(none, nil, 0)
	}
	return o
}

func glowOutcomes(r *rivals, stone hue, of func(*row) []glowFact) outcomes {
	var all hue
	for _, x := range r.rows {
		for _, f := range of(x) {
			all |= f.hues
		}
	}
	var o outcomes
	outcome := func(g glow) {
		o.add(r.each(func(x *row) float64 { return g.chance(of(x), stone) }), nil, 0)
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

// bars says why a stone cannot take a test; empty: it can. What would harm is
// barred when it may well be so, what would only show nothing when it is likely.
func (v *Verdict) bars(in *Instrument) string {
	const mayHarm, likelyUseless = 0.2, 0.5
	share := func(is func(*facts.Material) bool) float64 {
		sum := 0.0
		for i, m := range v.table.Materials {
			if is(m) {
				sum += v.shares[i]
			}
		}
		return sum
	}
	for _, word := range in.Cannot {
		bars := false
		switch word {
		case "curved":
			bars = v.bench.curved
		case "fixed":
			bars = v.bench.fixed
		case "opaque":
			bars = v.bench.clear == 2
		case "aggregate":
			bars = share(func(m *facts.Material) bool { return m.Optic == facts.Aggregate }) > likelyUseless
		case "porous":
			bars = share(func(m *facts.Material) bool { return m.Porous == "yes" }) > mayHarm
		case "assembled":
			bars = share(func(m *facts.Material) bool { return m.Nature == facts.Assembled }) > mayHarm
		case "light":
			bars = share(func(m *facts.Material) bool { return m.Light == "high" }) > mayHarm
		case "heat":
			bars = share(func(m *facts.Material) bool { return m.Heat == "never" }) > mayHarm
		}
		if bars {
			return barWords[word]
		}
	}
	return ""
}

// barWords say what each bar means.
var barWords = map[string]string{
	"curved": "its surface is curved, a spot reading only", "fixed": "it is strung or set", "opaque": "it is opaque",
	"aggregate": "it is probably an aggregate", "porous": "it may be porous", "assembled": "it may be assembled",
	"light": "it may fade in strong light", "heat": "it may be destroyed by heat",
}
