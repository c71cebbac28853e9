package cutting

import (
	"fmt"
	"math"
	"slices"

	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Angles are the angles that a cutter keeps to for a refractive index.
type Angles struct {
	RI       num.Dec `json:"ri"`
	Critical num.Dec `json:"critical_deg"` // asin(1/n), 2 decimals
	Pavilion num.Dec `json:"pavilion_deg"` // the least pavilion main: critical + 2
	Formula  string  `json:"formula"`
	Source   string  `json:"source"`
	Note     string  `json:"note"`
}

// pavilionOver is how far a pavilion main stays above the critical angle, so
// that a tilted stone does not open a window (common practice: 2 degrees).
const pavilionOver = 2

// AnglesOf is the critical angle asin(1/n) and the least pavilion angle.
func AnglesOf(ri num.Dec) (Angles, *fault.Fault) {
	n := ri.Float()
	if n < 1.3 || n > 4 {
		return Angles{}, fault.New(fault.Invalid, "ri-range", "the refractive index of a gem must lie between 1.3 "+
			"and 4, "+
			"but is "+ri.String(), "enter it as read, e.g. 1.544").AtField("ri")
	}
	critical := math.Asin(1/n) * 180 / math.Pi
	return Angles{
		RI: ri, Critical: num.FromFloat(critical, 2, num.HalfUp), Pavilion: num.FromFloat(critical+pavilionOver,
			2, num.HalfUp),
		Formula: "critical = asin(1 / RI); pavilion at least critical + 2",
		Source: "Snell's law; gemstone properties: critical angle formula (CZ Gemstones); " +
			"+ 2 degrees: common practice",
		Note: "cut the pavilion by the lowest index of a doubly refractive stone; crown mains of 30 degrees or " +
			"more and a depth of 65 to 70 % of the width are customary (Cutting requirements for gemstones, Aster Gem)",
	}, nil
}

// Advice is one line of how to lay the stone, with its source.
type Advice struct {
	What   string `json:"what"`
	Source string `json:"source"`
	Lies   Lie    `json:"-"`
}

// Lie is what the table or the base of a stone is laid by.
type Lie string

// The lies.
const (
	LieOff     Lie = "off"           // a few degrees off a cleavage
	LieUpright Lie = "perpendicular" // an axis at right angles to the table
	LieAlong   Lie = "parallel"      // an axis in the plane of the table
	LieColour  Lie = "colour"        // the best colour, seen through the table
	LieStar    Lie = "star"
	LieEye     Lie = "eye"
)

// phenomena say how the base of a cabochon lies that shows a star or a cat's eye,
// by what names the variety.
var phenomena = map[string]Advice{
	"a star": {"base at right angles to the axis that the star stands on (in corundum the optic axis), so that it " +
		"stands on top of the dome", "Polishing Ruby and Sapphire (gemstones-guide.com): the girdle of asteriated " +
		"material lies at right angles to the optic axis", LieStar},
	"a cat's eye": {"fibres or tubes parallel to the base and across the length, so that the eye runs along the " +
		"length over the top of the dome", "Cat's Eye (Antique Jewellery Information Center): the streak crosses the " +
		"middle of the dome; direction of the fibres: common practice", LieEye},
}

// Orient says how a cutter should lay the table of a material: off a cleavage,
// along the axis of the best colour, and the base by what a star or a cat's eye
// comes from. The variety may be empty.
func Orient(m *facts.Material, variety string) []Advice {
	var out []Advice
	named := false
	if v, f := facts.Resolve(variety); f == nil && variety != "" && v.Variety != nil {
		if a, ok := phenomena[v.Variety.Needs]; ok {
			out = append(out, a)
		}
	}
	for _, o := range facts.Orientations() {
		of, f := facts.Resolve(o.Species)
		if f == nil && slices.Contains(of.Materials, m) && (o.Variety == "" || o.Variety == variety) {
			out = append(out, Advice{o.Advice, o.Source, Lie(o.Table)})
			named = named || o.Plane == "cleavage"
		}
	}
	if good := m.Cleavage == "perfect" || m.Cleavage == "good" || m.Cleavage == "distinct"; good && !named {
		directions := ""
		if m.Directions > 1 {
			directions = fmt.Sprintf(" in %d directions", m.Directions)
		}
		out = append(out, Advice{
			fmt.Sprintf("%s cleavage%s: keep the table and every facet 5 to 10 degrees off it; a facet on the plane "+
				"does not polish, and the stone may split when it is set", m.Cleavage, directions),
			"Topaz faceting information (J. Graham, International Gem Society): 7 to 10 degrees for topaz; 5 to 10 " +
				"degrees common practice; cleavage: " + m.Source("cleavage"), LieOff,
		})
	}
	if (m.Pleochroism == "strong" || m.Pleochroism == "moderate") && len(out) == 0 {
		words := m.PleochroicColors
		if words != "" {
			words = " (" + words + ")"
		}
		out = append(out, Advice{m.Pleochroism + " pleochroism" + words +
			": choose the axis by the best face-up colour", "pleochroism: " + m.Source("pleochroism"), LieColour})
	}
	return out
}
