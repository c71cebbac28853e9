package cutting

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Target is a size that settings are made for.
type Target struct {
	Shape  Shape          `json:"shape"`
	Length num.Millimetre `json:"length_mm"`
	Width  num.Millimetre `json:"width_mm"`
	Source string         `json:"source"`
}

// Targets returns the calibrated sizes of the facts, of one outline or (empty)
// of all, that settings are stocked for.
func Targets(outline Shape) []Target {
	var out []Target
	for _, c := range facts.CalibratedSizes() {
		shape, f := ParseShape(c.Shape)
		if f != nil || outline != "" && shape != outline || c.Kind == "equivalent" {
			continue
		}
		out = append(out, Target{shape, num.MillimetreFromFloat(c.Length, num.HalfUp), num.MillimetreFromFloat(c.Width,
			num.HalfUp), c.Source})
	}
	return out
}

// RecutSettings are the cutter's terms. The zero value takes the defaults: a
// depth of 65 to 70 % of the width is what cutters are asked for (Cutting
// requirements for gemstones, Aster Gem) and what settings are built for; trim
// and the least depth are common practice.
type RecutSettings struct {
	Trim     num.Millimetre // taken off each side of the outline; 0: 0.10 mm
	DepthLow num.Percent    // of the width under which a stone shows a window; 0: 60
	DepthTo  num.Percent    // of the width that the cutter aims at; 0: 68
	Charge   num.Money      // for one stone
	Break    chance.Beta    // belief that the stone breaks; zero: not counted, and said
	// Value is what a stone of that shape, size and weight brings; nil: not valued.
	Value func(t Target, weight num.Carat) (num.Money, bool)
	Most  int // options to return; 0: 5
}

// Recut is one way to cut a stone again.
type Recut struct {
	Target   Target         `json:"target"`
	Depth    num.Millimetre `json:"depth_mm"`
	Weight   num.Carat      `json:"weight"`
	Low      num.Carat      `json:"low"`
	High     num.Carat      `json:"high"`
	Loss     num.Carat      `json:"loss"`
	Percent  num.Percent    `json:"loss_percent"` // of the stone's weight, 1 decimal
	Valued   bool           `json:"valued"`
	Before   num.Money      `json:"value_before"`
	After    num.Money      `json:"value_after"`    // if it does not break
	Expected num.Money      `json:"value_expected"` // after x (1 - breakage) - charge
	Gain     num.Money      `json:"gain"`           // expected - before
	Risk     num.Percent    `json:"breakage_percent"`
	RiskHigh num.Percent    `json:"breakage_percent_high"` // 95 % bound of the belief
	Window   bool           `json:"window"`                // shallower than DepthLow: light leaks through the middle
	Notes    []string       `json:"notes"`
}

// RecutOf finds the largest targets that fit into a stone, with the new weight,
// the loss, and what it does to the value. Weight 0 takes the estimate. The
// targets of one shape come largest first; of each shape only those are kept
// that no other target of the shape contains. Valued options are ordered by
// gain, others by the weight kept. Outline and depth are all that is looked at:
// inclusions, zoning, a thin side or a bulge are for the cutter's eye.
func RecutOf(m Measured, weight num.Carat, targets []Target, s RecutSettings) ([]Recut, fault.List) {
	m, faults := m.check()
	if len(faults) > 0 {
		return nil, faults
	}
	s = s.defaults()
	est, faults := Weigh(m)
	if len(faults) > 0 {
		return nil, faults
	}
	estimated := weight <= 0
	if estimated {
		weight = est.Carats
	}
	// A stone that is heavier than its estimate bulges, and the bulge is cut
	// away; one that is lighter lacks material that its recut lacks too.
	lack := num.Int(1)
	if weight < est.Carats {
		lack = weight.Dec().Over(est.Carats.Dec(), 6, num.HalfUp)
	}
	own := Target{Shape: m.Shape, Length: m.Length, Width: m.Width}
	stone := Outline(m.Shape, m.Length.Float(), m.Width.Float())
	var out []Recut
	for _, t := range largest(targets, stone, s.Trim) {
		r := Recut{Target: t}
		aim := num.FromFloat(t.Width.Float()*s.DepthTo.Fraction().Float(), 2, num.HalfUp)
		r.Depth = min(m.Depth, num.MillimetreFromFloat(aim.Float(), num.HalfUp))
		cut := Measured{Shape: t.Shape, Length: t.Length, Width: t.Width, Depth: r.Depth, SG: m.SG, Diamond: m.Diamond}
		e, f := Weigh(cut)
		if len(f) > 0 {
			return nil, f
		}
		of := func(c num.Carat) num.Carat { return min(num.CaratFromDec(c.Dec().Mul(lack), num.HalfUp), weight) }
		r.Weight, r.Low, r.High = of(e.Carats), of(e.Low), of(e.High)
		r.Loss = weight - r.Weight
		r.Percent = num.PercentOf(r.Loss.Dec(), weight.Dec(), 1)
		low := t.Width.Float() * s.DepthLow.Fraction().Float()
		if !t.Shape.IsCabochon() && r.Depth.Float() < low-1e-9 {
			r.Window = true
			r.Notes = append(r.Notes, fmt.Sprintf("%s mm deep is under %s %% of the width: a window is likely",
				r.Depth, s.DepthLow))
		}
		if estimated {
			r.Notes = append(r.Notes, "the stone's own weight is estimated")
		}
		s.value(&r, own, weight)
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Recut) int {
		if a.Valued && b.Valued {
			return b.Gain.Cmp(a.Gain)
		}
		return int(b.Weight - a.Weight)
	})
	if len(out) > s.Most {
		out = out[:s.Most]
	}
	return out, nil
}

func (s RecutSettings) defaults() RecutSettings {
	if s.Trim == 0 {
		s.Trim = 10
	}
	if s.DepthLow.IsZero() {
		s.DepthLow = num.Percent{Dec: num.Int(60)}
	}
	if s.DepthTo.IsZero() {
		s.DepthTo = num.Percent{Dec: num.Int(68)}
	}
	if s.Most == 0 {
		s.Most = 5
	}
	return s
}

func (s RecutSettings) value(r *Recut, own Target, weight num.Carat) {
	risk := 0.0
	if s.Break == (chance.Beta{}) {
		r.Notes = append(r.Notes, "no breakage rate given: the risk is not counted")
	} else {
		risk = s.Break.Mean()
		r.Risk = num.Percent{Dec: num.FromFloat(100*risk, 1, num.HalfUp)}
		r.RiskHigh = num.Percent{Dec: num.FromFloat(100*s.Break.Quantile(0.95), 1, num.HalfUp)}
	}
	if s.Value == nil {
		return
	}
	before, okBefore := s.Value(own, weight)
	after, okAfter := s.Value(r.Target, r.Weight)
	if !okBefore || !okAfter {
		r.Notes = append(r.Notes, "no price for the stone before or after: not valued")
		return
	}
	r.Valued, r.Before, r.After = true, before, after
	r.Expected = after.Times(num.FromFloat(1-risk, 6, num.HalfUp), num.HalfUp).Sub(s.Charge)
	r.Gain = r.Expected.Sub(before)
	if r.Gain.Sign() < 0 {
		r.Notes = append(r.Notes, "a recut loses "+r.Gain.Neg().Words()+" on average: leave it as it is")
	}
}

// largest are the targets that fit into the stone's outline with trim to spare
// and that no other fitting target of the same shape contains.
func largest(targets []Target, stone Path, trim num.Millimetre) []Target {
	sorted := slices.Clone(targets)
	slices.SortStableFunc(sorted, func(a, b Target) int {
		if c := strings.Compare(string(a.Shape), string(b.Shape)); c != 0 {
			return c
		}
		if c := int(b.Length*b.Width - a.Length*a.Width); c != 0 {
			return c
		}
		return int(b.Length - a.Length)
	})
	var out []Target
	for _, t := range sorted {
		covered := slices.ContainsFunc(out, func(o Target) bool {
			return o.Shape == t.Shape && o.Length >= t.Length && o.Width >= t.Width
		})
		if covered {
			continue
		}
		need := Outline(t.Shape, (t.Length + 2*trim).Float(), (t.Width + 2*trim).Float())
		if need.Within(stone) {
			out = append(out, t)
		}
	}
	return out
}
