package cutting

import (
	"fmt"
	"sync"

	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Measured is a stone as callipers and a table of specific gravities know it.
type Measured struct {
	Shape   Shape
	Length  num.Millimetre // round: the largest diameter
	Width   num.Millimetre // 0: as the length
	Depth   num.Millimetre
	SG      num.Dec // specific gravity; not needed of a diamond
	Diamond bool    // diamonds have formulas of their own
	// Bulge replaces the fitted correction by the user's own allowance for
	// girdle and bulge, in percent; unset when HasBulge is false.
	Bulge    num.Percent
	HasBulge bool
}

// Estimate is a computed weight: an estimate, never a stock weight.
type Estimate struct {
	Handbook    num.Carat   `json:"handbook"` // the plain published formula
	Carats      num.Carat   `json:"carats"`   // corrected for girdle and bulge
	Low         num.Carat   `json:"low"`      // 9 of 10 stones weigh between Low and High
	High        num.Carat   `json:"high"`
	Factor      num.Dec     `json:"factor"`      // Carats / Handbook, 3 decimals
	Coefficient num.Dec     `json:"coefficient"` // of the handbook formula
	Formula     string      `json:"formula"`
	Correction  string      `json:"correction"` // in words: fitted on N stones, published, or the user's own
	Source      string      `json:"source"`
	Alternative []Published `json:"alternatives"` // other published coefficients for the shape
}

// Published is a coefficient that a handbook gives and the project does not use.
type Published struct {
	Coefficient num.Dec   `json:"coefficient"`
	Carats      num.Carat `json:"carats"`
	Source      string    `json:"source"`
}

// curve is the coefficients of one shape and use, by rising length to width.
type curve struct {
	form   facts.WeightForm
	ratio  []num.Dec
	value  []num.Dec
	low    num.Dec
	high   num.Dec
	stones int
	source string
	note   string
}

type curveKey struct {
	diamond bool
	shape   Shape
	use     string
}

// curves groups the rows of the table; alternatives stay apart, one each.
var curves = sync.OnceValues(func() (map[curveKey]*curve, map[curveKey][]*curve) {
	main, other := map[curveKey]*curve{}, map[curveKey][]*curve{}
	for _, w := range facts.WeightCoefficients() {
		key := curveKey{w.Diamond, Shape(w.Shape), w.Use}
		c := main[key]
		if w.Use == "alternative" || c == nil {
			c = &curve{form: w.Form, low: num.Int(1), high: num.Int(1), stones: w.Stones, source: w.Source,
				note: w.Note}
			if w.Use == "alternative" {
				other[key] = append(other[key], c)
			} else {
				main[key] = c
			}
		}
		if w.Ratio != "" {
			c.ratio = append(c.ratio, num.MustDec(w.Ratio))
		}
		c.value = append(c.value, num.MustDec(w.Coefficient))
		if w.Low != "" {
			c.low, c.high = num.MustDec(w.Low), num.MustDec(w.High)
		}
	}
	return main, other
})

// coefficientPlaces keeps an interpolated coefficient finer than any table.
const coefficientPlaces = 8

// at is the coefficient at a length to width ratio, on straight lines between
// the rows and flat outside them.
func (c *curve) at(ratio num.Dec) num.Dec {
	if len(c.ratio) == 0 || ratio.Cmp(c.ratio[0]) <= 0 {
		return c.value[0]
	}
	for i := 1; i < len(c.ratio); i++ {
		if ratio.Cmp(c.ratio[i]) <= 0 {
			share := ratio.Sub(c.ratio[i-1]).Over(c.ratio[i].Sub(c.ratio[i-1]), coefficientPlaces, num.HalfUp)
			return c.value[i-1].Add(c.value[i].Sub(c.value[i-1]).Mul(share)).Round(coefficientPlaces, num.HalfUp)
		}
	}
	return c.value[len(c.value)-1]
}

// carats is the exact product of the formula.
func (c *curve) carats(m Measured) num.Dec {
	l, w := m.Length.Dec(), m.Width.Dec()
	ratio := l.Over(w, 4, num.HalfUp)
	area := l.Mul(w)
	if c.form == facts.FormMean {
		mean := l.Add(w).Mul(num.Scaled(5, 1))
		area = mean.Mul(mean)
	}
	ct := area.Mul(m.Depth.Dec()).Mul(c.at(ratio))
	if !m.Diamond {
		ct = ct.Mul(m.SG)
	}
	return ct
}

func (c *curve) words(m Measured) string {
	area := "length x width"
	switch {
	case c.form == facts.FormMean && m.Shape.Outline() == Round:
		area = "mean diameter^2"
	case c.form == facts.FormMean:
		area = "((length + width) / 2)^2"
	}
	ratio := m.Length.Dec().Over(m.Width.Dec(), 4, num.HalfUp)
	s := area + " x depth x "
	if !m.Diamond {
		s += "SG x "
	}
	s += c.at(ratio).String()
	if len(c.ratio) > 1 {
		s += " (at length:width " + ratio.Round(2, num.HalfUp).String() + ")"
	}
	return s
}

// check returns m with its longer side as the length, or its faults.
func (m Measured) check() (Measured, fault.List) {
	var faults fault.List
	if m.Width == 0 {
		m.Width = m.Length
	}
	if m.Length < m.Width {
		m.Length, m.Width = m.Width, m.Length
	}
	for _, x := range []struct {
		name string
		mm   num.Millimetre
	}{{"length", m.Length}, {"width", m.Width}, {"depth", m.Depth}} {
		if x.mm <= 0 {
			faults.Add(fault.New(fault.Invalid, x.name+"-missing",
				fmt.Sprintf("the %s must be more than 0 mm, but is %s",
					x.name, x.mm), "measure the stone and enter the "+x.name+" in mm").AtField(x.name))
		}
	}
	if !m.Diamond && (m.SG.Cmp(num.Int(1)) < 0 || m.SG.Cmp(num.Int(9)) > 0) {
		faults.Add(fault.New(fault.Invalid, "sg-range", "the specific gravity of a gem must lie between 1 and 9, but "+
			"is "+
			m.SG.String(), "name the species, or enter its specific gravity, e.g. 3.53").AtField("sg"))
	}
	if m.HasBulge && (m.Bulge.Cmp(num.Int(-30)) < 0 || m.Bulge.Cmp(num.Int(50)) > 0) {
		faults.Add(fault.New(fault.Invalid, "bulge-range", "a girdle and bulge allowance must lie between -30 and 50 "+
			"%, "+
			"but is "+m.Bulge.String(), "published corrections are 2 to 10 %").AtField("bulge"))
	}
	return m, faults
}

// Weigh estimates a stone's weight from its measures: the plain handbook value,
// and the value corrected by what measured stones (or the published girdle and
// bulge correction) say of the shape, with the band that holds 90 % of them.
func Weigh(m Measured) (Estimate, fault.List) {
	m, faults := m.check()
	main, other := curves()
	note := ""
	book := main[curveKey{m.Diamond, m.Shape, "handbook"}]
	if book == nil && m.Diamond {
		// No diamond formula is published here for the shape: the general one
		// with the diamond's specific gravity (3.52).
		m.Diamond, m.SG = false, num.Scaled(352, 2)
		book = main[curveKey{false, m.Shape, "handbook"}]
		note = "; no diamond coefficient for this shape: the coloured-stone one with SG 3.52"
	}
	if book == nil {
		faults.Add(fault.New(fault.Invalid, "shape-unknown", "no weight formula is known for the shape \""+
			string(m.Shape)+"\"", "name one of: "+shapeList(Shapes())).AtField("shape"))
	}
	if len(faults) > 0 {
		return Estimate{}, faults
	}
	ratio := m.Length.Dec().Over(m.Width.Dec(), 4, num.HalfUp)
	plain := book.carats(m)
	fitted := main[curveKey{m.Diamond, m.Shape, "corrected"}]
	value := fitted.carats(m)
	correction := fitted.source
	if m.HasBulge {
		value = plain.Mul(num.Int(1).Add(m.Bulge.Fraction()))
		correction = "your own girdle and bulge allowance of " + m.Bulge.String() + " %; band: " + fitted.source
	}
	factor := value.Over(plain, 3, num.HalfUp)
	e := Estimate{
		Handbook:    num.CaratFromDec(plain, num.HalfUp),
		Carats:      num.CaratFromDec(value, num.HalfUp),
		Low:         num.CaratFromDec(value.Mul(fitted.low), num.Floor),
		High:        num.CaratFromDec(value.Mul(fitted.high), num.Ceiling),
		Factor:      factor,
		Coefficient: book.at(ratio),
		Formula:     book.words(m),
		Correction:  correction + note,
		Source:      book.source,
	}
	for _, c := range other[curveKey{m.Diamond, m.Shape, "alternative"}] {
		e.Alternative = append(e.Alternative, Published{c.at(ratio), num.CaratFromDec(c.carats(m), num.HalfUp),
			c.source})
	}
	return e, nil
}

// BySG scales a weight to another material of the same cut and size:
// carats x SG to / SG from.
func BySG(w num.Carat, from, to num.Dec) (num.Carat, *fault.Fault) {
	if from.Sign() <= 0 || to.Sign() <= 0 {
		return 0, fault.New(fault.Invalid, "sg-range", "a specific gravity must be more than 0",
			"enter both specific gravities, e.g. 3.52 and 4.00")
	}
	d := w.Dec().Mul(to).Over(from, 3, num.HalfUp)
	return num.CaratFromDec(d, num.HalfUp), nil
}
