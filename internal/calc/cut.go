package calc

import (
	"lotpaper/internal/chance"
	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// StoneMeasure is a stone as callipers know it, its material by name or by
// specific gravity.
type StoneMeasure struct {
	Shape                string
	Length, Width, Depth num.Millimetre // width 0: as the length
	SG                   num.Dec
	Species              string // instead of SG
	Bulge                num.Percent
	HasBulge             bool
}

// measured resolves shape and material. When only the name is known, low and
// high are the specific gravities at the ends of its range.
func (s StoneMeasure) measured(c *Calculation) (m cutting.Measured, low, high num.Dec, err error) {
	shape, f := cutting.ParseShape(s.Shape)
	if f != nil {
		return m, low, high, f.AtField("shape")
	}
	m = cutting.Measured{Shape: shape, Length: s.Length, Width: s.Width, Depth: s.Depth, SG: s.SG, Bulge: s.Bulge,
		HasBulge: s.HasBulge}
	c.in("shape", string(shape))
	c.in("length_mm", s.Length.String())
	if s.Width != 0 {
		c.in("width_mm", s.Width.String())
	}
	c.in("depth_mm", s.Depth.String())
	low, high = s.SG, s.SG
	switch {
	case s.Species != "":
		named, err := material("species", s.Species)
		if err != nil {
			return m, low, high, err
		}
		c.in("species", s.Species)
		c.readAs(s.Species, named)
		span := facts.Range{}
		for _, x := range named.Materials {
			switch {
			case !x.SG.Known:
				c.note("the specific gravity of " + x.Name + " is unknown: left out")
			case !span.Known:
				span = x.SG
			default:
				span = facts.Span(min(span.Min, x.SG.Min), max(span.Max, x.SG.Max))
			}
			c.Source = sources(c.Source, x.Source("sg"))
		}
		if !span.Known {
			return m, low, high, fault.New(fault.Invalid, "sg-unknown", "no specific gravity is known for "+
				named.ReadAs, "measure it and give the specific gravity").AtField("sg")
		}
		low, high = num.FromFloat(span.Min, 3, num.HalfUp), num.FromFloat(span.Max, 3, num.HalfUp)
		m.SG = num.FromFloat((span.Min+span.Max)/2, 3, num.HalfUp)
		m.Diamond = len(named.Materials) == 1 && named.Materials[0].Name == "diamond"
		c.in("sg", m.SG.String())
		c.in("sg_low", low.String())
		c.in("sg_high", high.String())
	default:
		c.in("sg", s.SG.String())
	}
	return m, low, high, nil
}

// Weight estimates a stone's weight from its measures.
func Weight(s StoneMeasure) (*Calculation, error) {
	c := calculation("", "")
	m, low, high, err := s.measured(c)
	if err != nil {
		return nil, err
	}
	e, faults := cutting.Weigh(m)
	if faults.Blocks() {
		return nil, faults
	}
	if s.HasBulge {
		c.in("bulge_percent", s.Bulge.String())
	}
	least, most := m, m
	least.SG, most.SG = low, high
	at, _ := cutting.Weigh(least)
	to, _ := cutting.Weigh(most)
	c.Result.Add("carats", e.Carats.String())
	c.Result.Add("low", at.Low.String())
	c.Result.Add("high", to.High.String())
	c.Result.Add("handbook", e.Handbook.String())
	c.Result.Add("factor", e.Factor.String())
	others := []Figures{}
	for _, a := range e.Alternative {
		others = append(others, Figures{{"coefficient", a.Coefficient.String()}, {"carats", a.Carats.String()},
			{"source", a.Source}})
	}
	c.Result.Add("alternatives", others)
	c.Formula = e.Formula + ", corrected x " + e.Factor.String()
	c.Source = sources(e.Source, "correction: "+e.Correction, c.Source)
	c.note("an estimate, never a stock weight: 9 of 10 stones of the shape weigh between low and high")
	return c, nil
}

// WeightBySG scales a known weight to another material of the same cut
// and size.
func WeightBySG(carats num.Carat, from, to num.Dec) (*Calculation, error) {
	w, f := cutting.BySG(carats, from, to)
	if f != nil {
		return nil, f.AtField("from_sg")
	}
	c := calculation("carats x SG to / SG from", "Standard gem sizes, International Gem Society: stones of one cut "+
		"and size weigh as their specific gravities")
	c.in("carats", carats.String())
	c.in("from_sg", from.String())
	c.in("sg", to.String())
	c.Result.Add("carats", w.String())
	return c, nil
}

// RecutRequest asks what a stone can be cut to.
type RecutRequest struct {
	Stone    StoneMeasure
	Weight   num.Carat // 0: estimated
	Outline  string    // of the target; empty: any
	Breakage num.Percent
	HasRisk  bool
	Before   num.UnitPrice // per carat; zero: not valued
	After    num.UnitPrice
	Charge   num.Money
	Currency num.Currency
	Most     int
}

// recutTrust is how many stones a breakage given on the command line weighs
// as much as (a judgement, as for a cutter without a record).
const recutTrust = 20

// Recut lists the calibrated sizes that fit into a stone.
func Recut(r RecutRequest) (*Calculation, error) {
	c := calculation("the outline of the calibrated size, with trim, must lie within the stone's own outline; new "+
		"weight by its measures; loss = weight - new weight", "calibrated sizes: as each row says; weights: as calc "+
		"weight; trim of 0.10 mm a side and a depth of 60 to 68 % of the width: common practice")
	m, _, _, err := r.Stone.measured(c)
	if err != nil {
		return nil, err
	}
	outline := cutting.Shape("")
	if r.Outline != "" {
		var f *fault.Fault
		if outline, f = cutting.ParseShape(r.Outline); f != nil {
			return nil, f.AtField("to")
		}
		c.in("to", string(outline))
	}
	settings := cutting.RecutSettings{Charge: r.Charge, Most: r.Most}
	if r.HasRisk {
		if r.Breakage.Sign() <= 0 || r.Breakage.Cmp(num.Int(100)) >= 0 {
			return nil, fault.New(fault.Invalid, "breakage-range", "a chance of breakage lies between 0 and 100 %, "+
				"but is "+r.Breakage.String()+" %", "enter percent, e.g. 5").AtField("breakage")
		}
		settings.Break = chance.BetaOf(r.Breakage.Fraction().Float(), recutTrust)
		c.in("breakage_percent", r.Breakage.String())
	}
	if !r.Before.IsZero() || !r.After.IsZero() {
		c.in("price_before", r.Before.Dec().String())
		c.in("price_after", r.After.Dec().String())
		c.in("charge", r.Charge.String())
		own := cutting.Target{Shape: m.Shape, Length: m.Length, Width: m.Width}
		settings.Value = func(t cutting.Target, w num.Carat) (num.Money, bool) {
			price := r.After
			if t.Shape == own.Shape && t.Length == own.Length && t.Source == "" {
				price = r.Before
			}
			return price.ForCarats(w, num.HalfUp), !price.IsZero()
		}
	}
	if r.Weight > 0 {
		c.in("weight_ct", r.Weight.String())
	}
	options, faults := cutting.RecutOf(m, r.Weight, cutting.Targets(outline), settings)
	if faults.Blocks() {
		return nil, faults
	}
	rows := []Figures{}
	for _, o := range options {
		row := Figures{
			{"shape", string(o.Target.Shape)}, {"length_mm", o.Target.Length.String()}, {"width_mm",
				o.Target.Width.String()}, {"depth_mm", o.Depth.String()},
			{"carats", o.Weight.String()}, {"low", o.Low.String()}, {"high", o.High.String()},
			{"loss_ct", o.Loss.String()}, {"loss_percent", o.Percent.String()},
		}
		for _, v := range []struct {
			name  string
			money num.Money
		}{{"value_before", o.Before}, {"value_after", o.After}, {"value_expected", o.Expected}, {"gain", o.Gain}} {
			row.Add(v.name, optional(v.money.String(), o.Valued))
		}
		row.Add("notes", o.Notes)
		row.Add("source", o.Target.Source)
		rows = append(rows, row)
	}
	c.Result.Add("options", rows)
	if len(rows) == 0 {
		c.note("no calibrated size fits into this stone")
	}
	c.note("inclusions, zoning, a thin side and a bulge are for the cutter's eye")
	return c, nil
}

// Yield is the loss and yield of what was cut.
func Yield(before, after num.Carat) (*Calculation, error) {
	y, f := cutting.YieldOf(before, after)
	if f != nil {
		return nil, f.AtField("after")
	}
	c := calculation("loss = (before - after) / before; yield = after / before",
		"The art and joy of recutting gemstones (J. K. Prim, 2021); Yield optimization vs aesthetics (International "+
			"Gem Society)")
	c.in("before_ct", before.String())
	c.in("after_ct", after.String())
	c.Result.Add("loss_ct", (before - after).String())
	c.Result.Add("loss_percent", y.Loss.String())
	c.Result.Add("yield_percent", y.Percent.String())
	c.Result.Add("rough_per_finished_ct", y.PerCarat.String())
	return c, nil
}

// Rough is what rough costs per finished carat.
func Rough(rough num.Carat, price num.UnitPrice, cut num.Money, yield num.Percent) (*Calculation, error) {
	r, f := cutting.CostOfRough(rough, price, cut, yield)
	if f != nil {
		return nil, f.AtField("yield")
	}
	c := calculation(r.Formula, "Valuable rough gemstones (International Gem Society)")
	c.in("rough_ct", rough.String())
	c.in("price_per_ct", price.Dec().String())
	c.in("charge", cut.String())
	c.in("yield_percent", yield.String())
	c.Result.Add("rough_cost", r.Cost.String())
	c.Result.Add("finished_ct", r.Finished.String())
	c.Result.Add("per_finished_ct", r.PerFinished.String())
	c.Result.Add("per_rough_gram", r.PerGram.String())
	return c, nil
}

// Angle is the critical angle of a refractive index, or of a material's
// lowest one, and the least pavilion angle.
func Angle(ri num.Dec, species string) (*Calculation, error) {
	c := calculation("", "")
	var advice []Figures
	if species != "" {
		named, err := material("species", species)
		if err != nil {
			return nil, err
		}
		c.in("species", species)
		c.readAs(species, named)
		low := 0.0
		for _, m := range named.Materials {
			if !m.RI.Known {
				c.note("the refractive index of " + m.Name + " is unknown: left out")
				continue
			}
			if low == 0 || m.RI.Min < low {
				low = m.RI.Min
			}
			c.Source = sources(c.Source, m.Source("ri"))
			variety := ""
			if named.Variety != nil {
				variety = named.Variety.Name
			}
			for _, a := range cutting.Orient(m, variety) {
				advice = append(advice, Figures{{"material", m.Name}, {"advice", a.What}, {"source", a.Source}})
			}
		}
		if low == 0 {
			return nil, fault.New(fault.Invalid, "ri-unknown", "no refractive index is known for "+named.ReadAs,
				"measure it and give the refractive index").AtField("ri")
		}
		ri = num.FromFloat(low, 3, num.HalfUp)
	}
	a, f := cutting.AnglesOf(ri)
	if f != nil {
		return nil, f
	}
	c.in("ri", ri.String())
	c.Result.Add("critical_deg", a.Critical.String())
	c.Result.Add("pavilion_deg", a.Pavilion.String())
	if species != "" {
		if advice == nil {
			advice = []Figures{}
		}
		c.Result.Add("orientation", advice)
	}
	c.Formula, c.Source = a.Formula, sources(a.Source, c.Source)
	c.note(a.Note)
	return c, nil
}

// Round is a weight as documents state it.
func Round(carats num.Carat, rule num.CaratRule) (*Calculation, error) {
	c := calculation("weigh to 0.001 ct and state 0.01 ct: raise the hundredth only when the thousandth is 9",
		"How is diamond carat weight rounded (GIA); Weighty considerations (R. Cartier)")
	if rule == num.RuleHalfUp {
		c.Formula, c.Source = "weigh to 0.001 ct and state 0.01 ct: raise the hundredth when the thousandth is 5 or "+
			"more", "common practice"
	}
	c.in("carats", carats.String())
	c.in("rule", string(rule))
	c.Result.Add("carats", carats.Hundredths(rule).Dec().Fixed(2))
	c.Result.Add("stated", carats.Stated(rule))
	c.note("never add up rounded weights")
	return c, nil
}
