package costing

import (
	"slices"

	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Swing is one input with the range that it may take. Assumed says that the
// range is ours (10 % either way), not the user's.
type Swing struct {
	Key     formula.Key `json:"-"`
	Path    string      `json:"key"`
	Name    string      `json:"name"`
	Low     num.Dec     `json:"low"`
	Base    num.Dec     `json:"base"`
	High    num.Dec     `json:"high"`
	Unit    string      `json:"unit"`
	Assumed bool        `json:"assumed"`
}

// SwingOf is an input with 10 % either way, marked as assumed.
func SwingOf(in Input) Swing {
	return Swing{Key: in.Key, Path: in.Path, Name: in.Name, Low: in.Value.Mul(num.Scaled(9, 1)), Base: in.Value,
		High: in.Value.Mul(num.Scaled(11, 1)), Unit: in.Unit, Assumed: true}
}

// Moved is what the profit does when one input moves over its range while the
// others stay.
type Moved struct {
	Swing
	AtLow  num.Money `json:"at_low"`
	AtBase num.Money `json:"at_base"`
	AtHigh num.Money `json:"at_high"`
	Span   num.Money `json:"span"`  // |at high - at low|
	Slope  num.Dec   `json:"slope"` // profit per unit of the input, 6 decimals: the coefficient of a linear input
}

// Sensitivity moves every input over its own range, one at a time, and ranks
// the effects on the profit, largest first; ties keep their order. Profit is
// the line's profit with some inputs replaced, by key.
func Sensitivity(swings []Swing, profit func(replaced map[formula.Key]num.Dec) (num.Money, fault.List)) ([]Moved,
	fault.List) {
	base, faults := profit(nil)
	if faults.Blocks() {
		return nil, faults
	}
	var out []Moved
	for _, s := range swings {
		m := Moved{Swing: s, AtBase: base}
		if s.Low.Cmp(s.Base) > 0 || s.Base.Cmp(s.High) > 0 {
			return nil, fault.List{fault.New(fault.Invalid, "range-order", "the range of "+s.Name+
				" runs from low over base to high, but is "+s.Low.String()+", "+s.Base.String()+", "+s.High.String(),
				"swap its ends").AtRef(s.Path)}
		}
		for _, end := range []struct {
			at num.Dec
			to *num.Money
		}{{s.Low, &m.AtLow}, {s.High, &m.AtHigh}} {
			v, f := profit(map[formula.Key]num.Dec{s.Key: end.at})
			if f.Blocks() {
				return nil, f
			}
			*end.to = v
		}
		m.Span = m.AtHigh.Sub(m.AtLow)
		if width := s.High.Sub(s.Low); width.Sign() > 0 { // a range without width moves nothing
			m.Slope = m.Span.Dec().Over(width, 6, num.HalfUp)
		}
		if m.Span.Sign() < 0 {
			m.Span = m.Span.Neg()
		}
		out = append(out, m)
	}
	slices.SortStableFunc(out, func(a, b Moved) int { return b.Span.Cmp(a.Span) })
	return out, nil
}
