package calc

import (
	"lotpaper/internal/answer"
	"lotpaper/internal/chance"
	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// WeightRequest is a stone as callipers know it, its material by name or by
// specific gravity.
type WeightRequest struct {
	Shape                string
	Length, Width, Depth num.Millimetre // width 0: as the length
	SG                   num.Dec
	Species              string // instead of SG
	Bulge                num.Percent
	HasBulge             bool
}

// measured resolves shape and material. When only the name is known, low and
// high are the specific gravities at the ends of its range.
func (r WeightRequest) measured(c *answer.Calculation) (m cutting.Measured, low, high num.Dec, err error) {
	shape, f := cutting.ParseShape(r.Shape)
	if f != nil {
		return m, low, high, f.AtField("shape")
	}
	m = cutting.Measured{Shape: shape, Length: r.Length, Width: r.Width, Depth: r.Depth, SG: r.SG, Bulge: r.Bulge,
		HasBulge: r.HasBulge}
	c.Input("shape", string(shape))
	c.Input("length_mm", r.Length.String())
	if r.Width != 0 {
		c.Input("width_mm", r.Width.String())
	}
	c.Input("depth_mm", r.Depth.String())
	low, high = r.SG, r.SG
	switch {
	case r.Species != "":
		named, err := material("species", r.Species)
		if err != nil {
			return m, low, high, err
		}
		c.Input("species", r.Species)
		readAs(c, r.Species, named)
		span := facts.Range{}
		for _, x := range named.Materials {
			switch {
			case !x.SG.Known:
				c.Note("the specific gravity of " + x.Name + " is unknown: left out")
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
		c.Input("sg", m.SG.String())
		c.Input("sg_low", low.String())
		c.Input("sg_high", high.String())
	default:
		c.Input("sg", r.SG.String())
	}
	return m, low, high, nil
}

// Weight estimates a stone's weight from its measures.
func Weight(r WeightRequest) (answer.Calculation, error) {
	c := calculation("", "")
	m, low, high, err := r.measured(c)
	if err != nil {
		return none, err
	}
	e, faults := cutting.Weigh(m)
	if faults.Blocks() {
		return none, faults
	}
	if r.HasBulge {
		c.Input("bulge_percent", r.Bulge.String())
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
	others := []answer.Figures{}
	for _, a := range e.Alternative {
		others = append(others, answer.Figures{fig("coefficient", a.Coefficient.String()),
			fig("carats", a.Carats.String()), fig("source", a.Source)})
	}
	c.Result.Add("alternatives", others)
	c.Formula = e.Formula + ", corrected x " + e.Factor.String()
	c.Source = sources(e.Source, "correction: "+e.Correction, c.Source)
	c.Note("an estimate, never a stock weight: 9 of 10 stones of the shape weigh between low and high")
	return *c, nil
}

// WeightBySGRequest is a known weight and the specific gravities of its material
// and of the other.
type WeightBySGRequest struct {
	Carats   num.Carat
	From, To num.Dec
}

// WeightBySG scales a known weight to another material of the same cut and
// size.
func WeightBySG(r WeightBySGRequest) (answer.Calculation, error) {
	carats, from, to := r.Carats, r.From, r.To
	w, f := cutting.BySG(carats, from, to)
	if f != nil {
		return none, f.AtField("from_sg")
	}
	c := calculation("carats x SG to / SG from", "Standard gem sizes, International Gem Society: stones of one cut "+
		"and size weigh as their specific gravities")
	c.Input("carats", carats.String())
	c.Input("from_sg", from.String())
	c.Input("sg", to.String())
	c.Result.Add("carats", w.String())
	return *c, nil
}

// RecutRequest asks what a stone can be cut to.
type RecutRequest struct {
	Stone    WeightRequest
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
func Recut(r RecutRequest) (answer.Calculation, error) {
	c := calculation("the outline of the calibrated size, with trim, must lie within the stone's own outline; new "+
		"weight by its measures; loss = weight - new weight", "calibrated sizes: as each row says; weights: as calc "+
		"weight; trim of 0.10 mm a side and a depth of 60 to 68 % of the width: common practice")
	m, _, _, err := r.Stone.measured(c)
	if err != nil {
		return none, err
	}
	outline := cutting.Shape("")
	if r.Outline != "" {
		var f *fault.Fault
		if outline, f = cutting.ParseShape(r.Outline); f != nil {
			return none, f.AtField("to")
		}
		c.Input("to", string(outline))
	}
	settings := cutting.RecutSettings{Charge: r.Charge, Most: r.Most}
	if r.HasRisk {
		if r.Breakage.Sign() <= 0 || r.Breakage.Cmp(num.Int(100)) >= 0 {
			return none, fault.New(fault.Invalid, "breakage-range", "a chance of breakage must lie between 0 and 100 "+
				"%, "+
				"but is "+r.Breakage.String()+" %", "enter percent, e.g. 5").AtField("breakage")
		}
		settings.Break = chance.BetaOf(r.Breakage.Fraction().Float(), recutTrust)
		c.Input("breakage_percent", r.Breakage.String())
	}
	if !r.Before.IsZero() || !r.After.IsZero() {
		c.Input("price_before", r.Before.Dec().String())
		c.Input("price_after", r.After.Dec().String())
		c.Input("charge", r.Charge.String())
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
		c.Input("weight_ct", r.Weight.String())
	}
	options, faults := cutting.RecutOf(m, r.Weight, cutting.Targets(outline), settings)
	if faults.Blocks() {
		return none, faults
	}
	rows := []answer.Figures{}
	for _, o := range options {
		row := answer.Figures{
			fig("shape", string(o.Target.Shape)), fig("length_mm", o.Target.Length.String()),
			fig("width_mm", o.Target.Width.String()), fig("depth_mm", o.Depth.String()),
			fig("carats", o.Weight.String()), fig("low", o.Low.String()), fig("high", o.High.String()),
			fig("loss_ct", o.Loss.String()), fig("loss_percent", o.Percent.String()),
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
		c.Note("no calibrated size fits into this stone")
	}
	c.Note("inclusions, zoning, a thin side and a bulge are for the cutter's eye")
	return *c, nil
}

// YieldRequest is the weight of a stone before and after it was cut.
type YieldRequest struct{ Before, After num.Carat }

// Yield is the loss and yield of what was cut.
func Yield(r YieldRequest) (answer.Calculation, error) {
	before, after := r.Before, r.After
	y, f := cutting.YieldOf(before, after)
	if f != nil {
		return none, f.AtField("after")
	}
	c := calculation("loss = (before - after) / before; yield = after / before",
		"The art and joy of recutting gemstones (J. K. Prim, 2021); Yield optimization vs aesthetics (International "+
			"Gem Society)")
	c.Input("before_ct", before.String())
	c.Input("after_ct", after.String())
	c.Result.Add("loss_ct", (before - after).String())
	c.Result.Add("loss_percent", y.Loss.String())
	c.Result.Add("yield_percent", y.Percent.String())
	c.Result.Add("rough_per_finished_ct", y.PerCarat.String())
	return *c, nil
}

// RoughRequest is rough with its price per carat, the charge for cutting it and
// the part of it that is finished.
type RoughRequest struct {
	Rough  num.Carat
	Price  num.UnitPrice
	Charge num.Money
	Yield  num.Percent
}

// Rough is what rough costs per finished carat.
func Rough(r RoughRequest) (answer.Calculation, error) {
	rough, f := cutting.CostOfRough(r.Rough, r.Price, r.Charge, r.Yield)
	if f != nil {
		return none, f.AtField("yield")
	}
	c := calculation(rough.Formula, "Valuable rough gemstones (International Gem Society)")
	c.Input("rough_ct", r.Rough.String())
	c.Input("price_per_ct", r.Price.Dec().String())
	c.Input("charge", r.Charge.String())
	c.Input("yield_percent", r.Yield.String())
	c.Result.Add("rough_cost", rough.Cost.String())
	c.Result.Add("finished_ct", rough.Finished.String())
	c.Result.Add("per_finished_ct", rough.PerFinished.String())
	c.Result.Add("per_rough_gram", rough.PerGram.String())
	return *c, nil
}

// AngleRequest is a refractive index, or a material by name.
type AngleRequest struct {
	RI      num.Dec
	Species string // empty: by RI
}

// Angle is the critical angle of a refractive index, or of a material's lowest
// one, and the least pavilion angle.
func Angle(r AngleRequest) (answer.Calculation, error) {
	ri, species := r.RI, r.Species
	c := calculation("", "")
	var advice []answer.Figures
	if species != "" {
		named, err := material("species", species)
		if err != nil {
			return none, err
		}
		c.Input("species", species)
		readAs(c, species, named)
		low := 0.0
		for _, m := range named.Materials {
			if !m.RI.Known {
				c.Note("the refractive index of " + m.Name + " is unknown: left out")
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
				advice = append(advice, answer.Figures{fig("material", m.Name), fig("advice", a.What),
					fig("source", a.Source)})
			}
		}
		if low == 0 {
			return none, fault.New(fault.Invalid, "ri-unknown", "no refractive index is known for "+named.ReadAs,
				"measure it and give the refractive index").AtField("ri")
		}
		ri = num.FromFloat(low, 3, num.HalfUp)
	}
	a, f := cutting.AnglesOf(ri)
	if f != nil {
		return none, f
	}
	c.Input("ri", ri.String())
	c.Result.Add("critical_deg", a.Critical.String())
	c.Result.Add("pavilion_deg", a.Pavilion.String())
	if species != "" {
		if advice == nil {
			advice = []answer.Figures{}
		}
		c.Result.Add("orientation", advice)
	}
	c.Formula, c.Source = a.Formula, sources(a.Source, c.Source)
	c.Note(a.Note)
	return *c, nil
}

// RoundRequest is a scale's reading and the rule of rounding.
type RoundRequest struct {
	Carats num.Carat
	Rule   num.CaratRule
}

// Round is a weight as documents state it.
func Round(r RoundRequest) (answer.Calculation, error) {
	carats, rule := r.Carats, r.Rule
	c := calculation("weigh to 0.001 ct and state 0.01 ct: raise the hundredth only when the thousandth is 9",
		"How is diamond carat weight rounded (GIA); Weighty considerations (R. Cartier)")
	if rule == num.RuleHalfUp {
		c.Formula, c.Source = "weigh to 0.001 ct and state 0.01 ct: raise the hundredth when the thousandth is 5 or "+
			"more", "common practice"
	}
	c.Input("carats", carats.String())
	c.Input("rule", string(rule))
	c.Result.Add("carats", carats.Hundredths(rule).Dec().Fixed(2))
	c.Result.Add("stated", carats.Stated(rule))
	c.Note("never add up rounded weights")
	return *c, nil
}
