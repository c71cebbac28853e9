package identify

import (
	"math/bits"

	"lotpaper/internal/facts"
)

const hueCount = 12

// Of a material's stones 85 % are called by one of its hues, 13 % by a
// neighbouring word, and 2 % by any. A fifth of the first come by each of its
// hues alike: what one dealer sees often is rare in another's parcels (common
// practice; tuned on the generators of truth_test.go). The others come by the
// stated shares; hues without one divide equally what those leave.
const (
	ownHue    = 0.85
	kinHue    = 0.13
	anyHue    = 0.02
	listedHue = 0.2
)

// hueChances is how often a stone of the material is called by each hue.
func hueChances(m *facts.Material) [hueCount]float64 {
	var q [hueCount]float64
	sum := 0.0
	add := func(name string, weight float64) {
		for h := huesOf(name); h != 0; h &= h - 1 {
			q[bits.TrailingZeros16(uint16(h))] += weight
			sum += weight
		}
	}
	left, unstated := 100.0, 0.0
	for _, c := range m.ColorShares {
		left -= c.Percent
		if c.Percent == 0 {
			unstated++
		}
	}
	for _, c := range m.ColorShares {
		percent := c.Percent
		if percent == 0 {
			percent = left / unstated
		}
		add(c.Hue, (1-listedHue)*percent/100+listedHue/float64(len(m.ColorShares)))
	}
	var out [hueCount]float64
	for i := range out {
		if sum == 0 {
			out[i] = 1.0 / hueCount
			continue
		}
		kin := 0.0
		for k := hue(1<<i).kin() &^ (1 << i); k != 0; k &= k - 1 {
			kin += q[bits.TrailingZeros16(uint16(k))]
		}
		out[i] = ownHue*q[i]/sum + kinHue*kin/4/sum + anyHue/hueCount
	}
	return out
}

// prior of a material before any test but the stone's colour: trade frequency
// times how often its stones have that colour. Several hue words: their mean.
func (r *row) prior(frequency float64, seen hue) float64 {
	if seen == 0 {
		return frequency
	}
	sum := 0.0
	for h := seen; h != 0; h &= h - 1 {
		sum += r.hueChances[bits.TrailingZeros16(uint16(h))]
	}
	return frequency * sum / float64(bits.OnesCount16(uint16(seen)))
}
