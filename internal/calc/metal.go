package calc

import (
	"strings"

	"lotpaper/internal/costing"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// ParseAlloyPart reads METAL=PARTS or METAL=PARTS@DENSITY.
func ParseAlloyPart(s string) (costing.AlloyPart, *fault.Fault) {
	bad := func(why string) *fault.Fault {
		return fault.New(fault.Usage, "alloy-part", "a part of an alloy is METAL=PARTS, but is \""+s+"\": "+why,
			"write e.g. Au=583, or Xy=20@7.3 with a density of your own").AtField("part")
	}
	metal, rest, found := strings.Cut(s, "=")
	p := costing.AlloyPart{Metal: strings.TrimSpace(metal)}
	if !found || p.Metal == "" {
		return p, bad("there is no metal and =")
	}
	parts, density, own := strings.Cut(rest, "@")
	var f *fault.Fault
	if p.Parts, f = num.ParseDec(parts); f != nil {
		return p, bad(f.What)
	}
	if own {
		if p.Density, f = num.ParseDec(density); f != nil {
			return p, bad(f.What)
		}
	}
	return p, nil
}

// Alloy is the density and fineness of a recipe.
func Alloy(parts []costing.AlloyPart) (*Calculation, error) {
	a, faults := costing.AlloyOf(parts)
	if faults.Blocks() {
		return nil, faults
	}
	c := calculation(a.Formula, sources(a.Source, "How to determine approximate specific gravities of alloys"))
	rows := []Figures{}
	for _, p := range a.Parts {
		rows = append(rows, Figures{{"metal", p.Metal}, {"parts", p.Parts.String()}, {"density", p.Density.String()}})
	}
	c.Inputs.Add("parts", rows)
	c.Result.Add("density", a.Density.String())
	c.Result.Add("fineness", a.Fineness.String())
	c.Result.Add("of", optional(a.Of, a.Of != ""))
	c.Result.Add("density_exact", a.Exact.String())
	var marks []num.Dec
	for _, m := range facts.FinenessMarks() {
		if m.Metal == a.Of {
			marks = append(marks, num.Int(int64(m.Mark)))
		}
	}
	mark, ok := costing.Mark(a.Fineness, marks)
	c.Result.Add("mark", optional(mark.String(), ok))
	c.note("real alloys differ by up to about 2 %: the maker's own density is better",
		"mark is the highest customary mark that the fineness reaches; hallmarking rules are local: ask the assay "+
			"office")
	return c, nil
}

// Wax is the metal of a wax model, by an alloy's name or density, or by
// the caster's multiplier.
func Wax(wax num.Gram, metal string, multiplier num.Dec) (*Calculation, error) {
	if metal == "" {
		w, f := costing.WaxTimes(wax, multiplier)
		if f != nil {
			if f.Where.Field == "metal" {
				f = f.AtField("multiplier")
			}
			return nil, f
		}
		c := calculation(w.Formula, "Conversion table thread (Ganoksin Orchid)")
		c.in("wax_g", wax.String())
		c.in("multiplier", multiplier.String())
		c.Result.Add("metal_g", w.Metal.String())
		c.note(w.Note)
		return c, nil
	}
	w, f := costing.WaxOf(wax, metal)
	if f != nil {
		return nil, f
	}
	c := calculation(w.Formula, sources(w.Source, "wax of 1.00 g/cm3: Where can I find the specific gravity of "+
		"various materials (Stuller, 2012)"))
	c.in("wax_g", wax.String())
	c.in("metal", metal)
	c.in("read_as", w.Alloy)
	c.in("density", w.Density.String())
	c.Result.Add("metal_g", w.Metal.String())
	c.Result.Add("low", w.Low.String())
	c.Result.Add("high", w.High.String())
	c.Result.Add("rule_of_thumb_low", optional(w.ThumbLow.String(), w.ThumbLow > 0))
	c.Result.Add("rule_of_thumb_high", optional(w.ThumbHigh.String(), w.ThumbHigh > 0))
	c.note(w.Note)
	return c, nil
}

// Master is the mass of a model in another metal.
func Master(mass num.Gram, from, to string) (*Calculation, error) {
	a, f := facts.AlloyNamed(from)
	if f != nil {
		return nil, f.AtField("of")
	}
	b, f := facts.AlloyNamed(to)
	if f != nil {
		return nil, f.AtField("metal")
	}
	x, y := num.FromFloat(a.Density, 3, num.HalfUp), num.FromFloat(b.Density, 3, num.HalfUp)
	g, f := costing.InMetal(mass, x, y)
	if f != nil {
		return nil, f.AtField("model")
	}
	c := calculation("mass x density to / density from",
		sources("Where can I find the specific gravity of various materials (Stuller, 2012)", a.Source, b.Source))
	c.in("model_g", mass.String())
	c.in("of", a.Name)
	c.in("of_density", x.String())
	c.in("metal", b.Name)
	c.in("metal_density", y.String())
	c.Result.Add("metal_g", g.String())
	return c, nil
}

// Ring is a ring size in every system: by a size of one, or by the inside
// diameter when system is empty.
func Ring(system, size string, diameter num.Dec) (*Calculation, error) {
	c := calculation("", "")
	var r costing.RingSize
	var f *fault.Fault
	if system == "" {
		r, f = costing.RingByDiameter(diameter)
		c.in("diameter_mm", diameter.String())
	} else {
		r, f = costing.RingBySize(system, size)
		c.in("system", strings.ToUpper(strings.TrimSpace(system)))
		c.in("size", size)
	}
	if f != nil {
		return nil, f
	}
	c.Formula, c.Source = r.Formula, r.Source
	c.Result.Add("circumference_mm", r.Circumference.Fixed(2))
	c.Result.Add("diameter_mm", r.Diameter.Fixed(2))
	for _, s := range facts.RingSystems() {
		c.Result.Add(s.Name, optional(r.Sizes[s.Name], r.Sizes[s.Name] != ""))
	}
	c.note(r.Note)
	return c, nil
}
