package identify

import (
	"math"
	"math/bits"
	"testing"

	"lotpaper/internal/facts"
)

// Hues without a share divide equally what the stated shares leave, and a fifth
// of the stones come in each hue alike whatever the shares say.
func TestHueChances(t *testing.T) {
	of := func(c ...facts.ColorShare) [hueCount]float64 { return hueChances(&facts.Material{ColorShares: c}) }
	same := func(got, want [hueCount]float64) bool {
		for i := range got {
			if math.Abs(got[i]-want[i]) > 1e-12 {
				return false
			}
		}
		return true
	}
	share := func(hue string, percent float64) facts.ColorShare {
		return facts.ColorShare{Hue: hue, Percent: percent}
	}
	for _, c := range []struct {
		name      string
		got, want [hueCount]float64
	}{
		{"no share is stated", of(share("green", 0), share("black", 0)), of(share("green", 50), share("black", 50))},
		{"one hue is left", of(share("green", 70), share("black", 0)), of(share("green", 70), share("black", 30))},
		{"two hues are left", of(share("green", 60), share("red", 0), share("black", 0)),
			of(share("green", 60), share("red", 20), share("black", 20))},
		{"what rounding takes belongs to all", of(share("green", 49.5), share("black", 49.5)),
			of(share("green", 0), share("black", 0))},
	} {
		if !same(c.got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
	rare := of(share("green", 99), share("black", 1))
	got := rare[bits.TrailingZeros16(uint16(hueBlack))]
	if want := ownHue*(0.8*0.01+0.2/2) + anyHue/hueCount; math.Abs(got-want) > 1e-12 {
		t.Errorf("a rare hue has %v, want %v", got, want)
	}
	for _, q := range of() {
		if math.Abs(q-1.0/hueCount) > 1e-12 {
			t.Errorf("a material of unknown hues has %v for one", q)
		}
	}
}
