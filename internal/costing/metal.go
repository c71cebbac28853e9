package costing

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// perMille is the whole of a recipe.
var perMille = num.Int(1000)

// CheckFineness refuses a fineness outside 1 to 1000 parts per thousand.
func CheckFineness(f num.Dec) *fault.Fault {
	if f.Cmp(num.Int(1)) < 0 || f.Cmp(perMille) > 0 {
		mend := "enter parts per thousand, e.g. 750 for 18 karat"
		if f.Sign() > 0 && f.Cmp(num.Int(24)) <= 0 {
			k := f.Mul(perMille).Over(num.Int(24), 0, num.HalfUp)
			mend = "that looks like karat: enter parts per thousand, e.g. " + k.String()
		}
		return fault.New(fault.Invalid, "fineness-range", "a fineness must lie between 1 and 1000 parts per thousand, "+
			"but is "+f.String(), mend).AtField("fineness")
	}
	return nil
}

// finePrice is a metal rate as a price of one fine gram: as quoted, or from the
// troy ounce (unit CUR/ozt; 31.1034768 g), 12 decimals.
func finePrice(r book.Rate, rate formula.Expr) (formula.Expr, *fault.Fault) {
	unit := strings.ToLower(r.Unit)
	switch {
	case strings.HasSuffix(unit, "/ozt") || strings.HasSuffix(unit, "/oz"):
		return rate.Over(formula.Number(gramsPerTroyOunce)).Round(12).Named("fine price"), nil
	case strings.HasSuffix(unit, "/kg"):
		return rate.Over(formula.Int(1000)).Named("fine price"), nil
	case strings.HasSuffix(unit, "/g") || strings.HasSuffix(unit, "/g fine") || unit == "":
		return rate.Named("fine price"), nil
	}
	return rate, fault.New(fault.Invalid, "metal-unit", "a metal price must be quoted per fine gram, kilogram or troy "+
		"ounce, but "+r.Kind+"/"+r.Name+" is in \""+r.Unit+"\"",
		"write the unit as EUR/g fine, EUR/kg or EUR/ozt").AtRef(r.Kind + "/" + r.Name)
}

// Mark is the largest of the legal marks that is not above the assay (Finnish
// Safety and Chemicals Agency, fineness requirements): one part below a mark
// falls to the next lower one.
func Mark(assay num.Dec, marks []num.Dec) (mark num.Dec, ok bool) {
	for _, m := range marks {
		if m.Cmp(assay) <= 0 && (!ok || m.Cmp(mark) > 0) {
			mark, ok = m, true
		}
	}
	return mark, ok
}

// AlloyPart is parts per thousand by mass of one metal.
type AlloyPart struct {
	Metal   string  `json:"metal"` // symbol or name
	Parts   num.Dec `json:"parts"`
	Density num.Dec `json:"density"` // g/cm3; zero: the table's
}

// Alloy is what a recipe gives.
type Alloy struct {
	Parts    []AlloyPart `json:"parts"`
	Density  num.Dec     `json:"density"`  // g/cm3, 2 decimals
	Exact    num.Dec     `json:"exact"`    // the same, 6 decimals
	Fineness num.Dec     `json:"fineness"` // parts per thousand of the main precious metal
	Of       string      `json:"of"`       // that metal
	Formula  string      `json:"formula"`
	Source   string      `json:"source"`
}

// densest is above the density of every metal (osmium, 22.6 g/cm3).
var densest = num.Int(23)

// precious are the metals that a fineness may name.
var precious = []string{"gold", "platinum", "palladium", "silver"}

// AlloyOf is the density and fineness of a recipe: 1000 / sum(parts / density).
// The volumes of the metals are taken to add up, which real alloys follow
// within about 2 percent.
func AlloyOf(parts []AlloyPart) (Alloy, fault.List) {
	var faults fault.List
	a := Alloy{Formula: "1000 / sum(parts / density); volumes taken to add up"}
	total, volume := num.Dec{}, num.Dec{}
	for _, p := range parts {
		m, f := facts.MetalNamed(p.Metal)
		switch {
		case f == nil:
			p.Metal = m.Symbol
			if p.Density.IsZero() {
				p.Density = num.FromFloat(m.Density, 4, num.HalfUp)
				a.Source = join(a.Source, m.Source)
			}
		case p.Density.IsZero():
			faults.Add(f.AtField("part"))
			continue
		}
		if p.Parts.Sign() <= 0 || p.Density.Sign() <= 0 {
			faults.Add(fault.New(fault.Invalid, "alloy-part", "parts and density must be more than 0, but "+
				p.Metal+" has "+
				p.Parts.String()+" parts", "enter parts per thousand, e.g. Au=583").AtField("part"))
			continue
		}
		if p.Density.Cmp(densest) > 0 {
			faults.Add(fault.New(fault.Invalid, "density-range", "a metal's density must be at most "+densest.String()+
				" g/cm3, but "+p.Metal+" has "+p.Density.String(), "enter g/cm3, e.g. Xy=20@7.3").AtField("part"))
			continue
		}
		total = total.Add(p.Parts)
		volume = volume.Add(p.Parts.Over(p.Density, 20, num.HalfEven))
		if m != nil && slices.Contains(precious, m.Name) && p.Parts.Cmp(a.Fineness) > 0 {
			a.Fineness, a.Of = p.Parts, m.Name
		}
		a.Parts = append(a.Parts, p)
	}
	if len(faults) == 0 && total.Cmp(perMille) != 0 {
		diff := perMille.Sub(total)
		word := "missing"
		if diff.Sign() < 0 {
			diff, word = diff.Neg(), "too many"
		}
		faults.Add(fault.New(fault.Invalid, "alloy-sum", "the parts of an alloy must add up to 1000, but give "+
			total.String(), diff.String()+" parts are "+word+": correct the recipe").AtField("part"))
	}
	if len(faults) > 0 {
		return Alloy{}, faults
	}
	a.Exact = perMille.Over(volume, 6, num.HalfUp)
	a.Density = perMille.Over(volume, 2, num.HalfUp)
	return a, nil
}

// Casting is what a wax model gives in metal.
type Casting struct {
	Metal   num.Gram `json:"metal_g"`
	Formula string   `json:"formula"`
	Note    string   `json:"note"`
}

const sprueNote = "the piece alone: add the sprue, and 25 to 50 % of the metal for the button (Metal to wax " +
	"formulas, Ganoksin Orchid); both come back as scrap"

// Wax is the metal that fills a wax model: wax mass / wax density x metal
// density. Wax density 0 is 1.00 g/cm3 (Stuller, specific gravity of materials).
func Wax(wax num.Gram, waxDensity, metalDensity num.Dec) (Casting, *fault.Fault) {
	if waxDensity.IsZero() {
		waxDensity = num.Int(1)
	}
	if wax <= 0 {
		return Casting{}, fault.New(fault.Invalid, "wax-weight",
			fmt.Sprintf("the wax must weigh more than 0 g, but is %s",
				wax), "weigh the model in grams").AtField("wax")
	}
	if waxDensity.Sign() < 0 || metalDensity.Cmp(num.Int(1)) < 0 || metalDensity.Cmp(densest) > 0 {
		return Casting{}, fault.New(fault.Invalid, "density-range", "a metal's density must lie between 1 and 23 "+
			"g/cm3, "+
			"but is "+metalDensity.String(), "name the alloy, or enter its density, e.g. 13.07").AtField("metal")
	}
	g := wax.Dec().Mul(metalDensity).Over(waxDensity, 3, num.HalfUp)
	return Casting{num.GramFromDec(g, num.HalfUp), "wax weight / wax density x metal density", sprueNote}, nil
}

// WaxTimes is the caster's rule of thumb: wax weight x multiplier.
func WaxTimes(wax num.Gram, multiplier num.Dec) (Casting, *fault.Fault) {
	c, f := Wax(wax, num.Int(1), multiplier)
	c.Formula = "wax weight x multiplier"
	return c, f
}

// WaxIn is the metal of a wax model in a named alloy, with the range that the
// alloy's recipes span and the published rule of thumb beside it.
type WaxIn struct {
	Casting
	Alloy     string   `json:"alloy"`
	Density   num.Dec  `json:"density"`
	Low       num.Gram `json:"low"`
	High      num.Gram `json:"high"`
	ThumbLow  num.Gram `json:"rule_of_thumb_low"` // 0: none is published
	ThumbHigh num.Gram `json:"rule_of_thumb_high"`
	Source    string   `json:"source"`
}

// WaxOf is Wax for an alloy of the tables, at wax density 1.00.
func WaxOf(wax num.Gram, alloy string) (WaxIn, *fault.Fault) {
	a, f := facts.AlloyNamed(alloy)
	if f != nil {
		return WaxIn{}, f.AtField("metal")
	}
	w := WaxIn{Alloy: a.Name, Density: num.FromFloat(a.Density, 3, num.HalfUp), Source: a.Source}
	if w.Casting, f = Wax(wax, num.Dec{}, w.Density); f != nil {
		return WaxIn{}, f
	}
	times := func(x float64) num.Gram {
		return num.GramFromDec(wax.Dec().Mul(num.FromFloat(x, 3, num.HalfUp)), num.HalfUp)
	}
	w.Low, w.High = w.Metal, w.Metal
	if a.DensityRange.Known {
		w.Low, w.High = times(a.DensityRange.Min), times(a.DensityRange.Max)
	}
	if a.WaxMultiplier.Known {
		w.ThumbLow, w.ThumbHigh = times(a.WaxMultiplier.Min), times(a.WaxMultiplier.Max)
	}
	return w, nil
}

// InMetal is the mass of the same design in another metal: mass x density to /
// density from (Stuller, specific gravity of materials).
func InMetal(mass num.Gram, from, to num.Dec) (num.Gram, *fault.Fault) {
	if from.Sign() <= 0 || to.Sign() <= 0 {
		return 0, fault.New(fault.Invalid, "density-range", "a density must be more than 0",
			"enter both densities in g/cm3")
	}
	g := mass.Dec().Mul(to).Over(from, 3, num.HalfUp)
	return num.GramFromDec(g, num.HalfUp), nil
}
