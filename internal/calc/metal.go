package calc

import (
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/costing"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// AlloyRequest is a recipe.
type AlloyRequest struct{ Parts []costing.AlloyPart }

// Alloy is the density and fineness of a recipe.
func Alloy(r AlloyRequest) (answer.Calculation, error) {
	a, faults := costing.AlloyOf(r.Parts)
	if faults.Blocks() {
		return none, faults
	}
	c := calculation(a.Formula, sources(a.Source, "How to determine approximate specific gravities of alloys"))
	rows := []answer.Figures{}
	for _, p := range a.Parts {
		rows = append(rows, answer.Figures{fig("metal", p.Metal), fig("parts", p.Parts.String()),
			fig("density", p.Density.String())})
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
	c.Note("real alloys differ by up to about 2 %: the maker's own density is better",
		"mark is the highest customary mark that the fineness reaches; hallmarking rules are local: ask the assay "+
			"office")
	return *c, nil
}

// WaxRequest is a wax model and the metal that it is cast in: an alloy by name or
// density, or the caster's multiplier.
type WaxRequest struct {
	Wax        num.Gram
	Metal      string // empty: by Multiplier
	Multiplier num.Dec
}

// Wax is the metal that a wax model takes.
func Wax(r WaxRequest) (answer.Calculation, error) {
	wax, metal, multiplier := r.Wax, r.Metal, r.Multiplier
	if metal == "" {
		w, f := costing.WaxTimes(wax, multiplier)
		if f != nil {
			if f.Where.Field == "metal" {
				f = f.AtField("multiplier")
			}
			return none, f
		}
		c := calculation(w.Formula, "Conversion table thread (Ganoksin Orchid)")
		c.Input("wax_g", wax.String())
		c.Input("multiplier", multiplier.String())
		c.Result.Add("metal_g", w.Metal.String())
		c.Note(w.Note)
		return *c, nil
	}
	w, f := costing.WaxOf(wax, metal)
	if f != nil {
		return none, f
	}
	c := calculation(w.Formula, sources(w.Source, "wax of 1.00 g/cm3: Where can I find the specific gravity of "+
		"various materials (Stuller, 2012)"))
	c.Input("wax_g", wax.String())
	c.Input("metal", metal)
	c.Input("read_as", w.Alloy)
	c.Input("density", w.Density.String())
	c.Result.Add("metal_g", w.Metal.String())
	c.Result.Add("low", w.Low.String())
	c.Result.Add("high", w.High.String())
	c.Result.Add("rule_of_thumb_low", optional(w.ThumbLow.String(), w.ThumbLow > 0))
	c.Result.Add("rule_of_thumb_high", optional(w.ThumbHigh.String(), w.ThumbHigh > 0))
	c.Note(w.Note)
	return *c, nil
}

// MasterRequest is a model in one alloy, wanted in another.
type MasterRequest struct {
	Mass     num.Gram
	From, To string // alloys
}

// Master is the mass of a model in another metal.
func Master(r MasterRequest) (answer.Calculation, error) {
	mass := r.Mass
	a, f := facts.AlloyNamed(r.From)
	if f != nil {
		return none, f.AtField("of")
	}
	b, f := facts.AlloyNamed(r.To)
	if f != nil {
		return none, f.AtField("metal")
	}
	x, y := num.FromFloat(a.Density, 3, num.HalfUp), num.FromFloat(b.Density, 3, num.HalfUp)
	g, f := costing.InMetal(mass, x, y)
	if f != nil {
		return none, f.AtField("model")
	}
	c := calculation("mass x density to / density from",
		sources("Where can I find the specific gravity of various materials (Stuller, 2012)", a.Source, b.Source))
	c.Input("model_g", mass.String())
	c.Input("of", a.Name)
	c.Input("of_density", x.String())
	c.Input("metal", b.Name)
	c.Input("metal_density", y.String())
	c.Result.Add("metal_g", g.String())
	return *c, nil
}

// RingRequest is a ring size of one system, or an inside diameter.
type RingRequest struct {
	System   string // US, UK, ISO, IT or JP; empty: by Diameter
	Size     string // of that system, as it is written there: "6 1/2", "N1/2"
	Diameter num.Dec
}

// Ring is a ring size in every system.
func Ring(r RingRequest) (answer.Calculation, error) {
	c := calculation("", "")
	var ring costing.RingSize
	var f *fault.Fault
	if r.System == "" {
		ring, f = costing.RingByDiameter(r.Diameter)
		c.Input("diameter_mm", r.Diameter.String())
	} else {
		ring, f = costing.RingBySize(r.System, r.Size)
		c.Input("system", strings.ToUpper(strings.TrimSpace(r.System)))
		c.Input("size", r.Size)
	}
	if f != nil {
		return none, f
	}
	c.Formula, c.Source = ring.Formula, ring.Source
	c.Result.Add("circumference_mm", ring.Circumference.Fixed(2))
	c.Result.Add("diameter_mm", ring.Diameter.Fixed(2))
	for _, s := range facts.RingSystems() {
		c.Result.Add(s.Name, optional(ring.Sizes[s.Name], ring.Sizes[s.Name] != ""))
	}
	c.Note(ring.Note)
	return *c, nil
}
