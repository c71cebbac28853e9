// Package cutting knows the shapes of cut stones: their outlines, what a stone
// of given measures weighs, which calibrated sizes can be recut from it and at
// what loss and risk, and the angles and directions a cutter keeps to. It is
// pure: prices, risks and stones come from its callers.
package cutting

import (
	"slices"
	"strings"

	"lotpaper/internal/fault"
)

// Shape is the outline and kind of a cut stone, by its trade name.
type Shape string

// The shapes. A cabochon is a shape of its own: it weighs and is held
// differently from the faceted stone of the same outline.
const (
	Round            Shape = "round"
	Oval             Shape = "oval"
	Pear             Shape = "pear"
	Marquise         Shape = "marquise"
	EmeraldCut       Shape = "emerald cut"
	Asscher          Shape = "asscher"
	Square           Shape = "square"
	Princess         Shape = "princess"
	Radiant          Shape = "radiant"
	Cushion          Shape = "cushion"
	Baguette         Shape = "baguette"
	TaperedBaguette  Shape = "tapered baguette"
	Heart            Shape = "heart"
	Trillion         Shape = "trillion"
	RoundCabochon    Shape = "round cabochon"
	OvalCabochon     Shape = "oval cabochon"
	PearCabochon     Shape = "pear cabochon"
	MarquiseCabochon Shape = "marquise cabochon"
	CushionCabochon  Shape = "cushion cabochon"
	HeartCabochon    Shape = "heart cabochon"
	TrillionCabochon Shape = "trillion cabochon"
	Bead             Shape = "bead"
)

const cabochonSuffix = " cabochon"

// form is what the geometry needs to know of a shape.
type form struct {
	shape   Shape
	aliases []string
}

// forms lists the faceted outlines and the bead; names are common practice.
var forms = []form{
	{Round, []string{"rd", "brilliant", "round brilliant", "rbc"}},
	{Oval, []string{"ov"}},
	{Pear, []string{"drop", "teardrop", "pear drop", "ps"}},
	{Marquise, []string{"navette", "mq"}},
	{EmeraldCut, []string{"emerald", "octagon", "oct", "step cut", "emerald/octagon", "ec"}},
	{Asscher, []string{"square emerald", "square octagon", "square step", "square step cut"}},
	{Square, []string{"sq", "carre", "carré"}},
	{Princess, []string{"square/princess", "princess cut"}},
	{Radiant, []string{"radiant cut"}},
	{Cushion, []string{"cu", "antique", "cushion cut"}},
	{Baguette, []string{"rectangle", "bg", "straight baguette", "rectangular"}},
	{TaperedBaguette, []string{"tapered", "taper", "tb"}},
	{Heart, []string{"ht", "heart shape"}},
	{Trillion, []string{"trilliant", "triangle", "tr", "triangle/trilliant", "trillian"}},
	{Bead, []string{"sphere", "ball", "round bead", "pearl", "pearl (half-drilled) round"}},
}

// cabochons lists the outlines that are also cut as cabochons.
var cabochons = []Shape{RoundCabochon, OvalCabochon, PearCabochon, MarquiseCabochon, CushionCabochon, HeartCabochon,
	TrillionCabochon}

// Shapes returns every shape, faceted ones first.
func Shapes() []Shape {
	out := make([]Shape, 0, len(forms)+len(cabochons))
	for _, f := range forms {
		out = append(out, f.shape)
	}
	return append(out, cabochons...)
}

// ParseShape reads a shape's trade name in any case; "oval cab", "cabochon
// oval" and "cabochon" (an oval one) are read too.
func ParseShape(s string) (Shape, *fault.Fault) {
	words := strings.Fields(strings.ToLower(strings.ReplaceAll(s, "-", " ")))
	if len(words) == 0 {
		return "", fault.New(fault.Invalid, "shape-missing", "a shape is missing", "name the shape, e.g. oval")
	}
	cab := false
	kept := words[:0:0]
	for _, w := range words {
		switch w {
		case "cab", "cabochon", "cabs":
			cab = true
		case "faceted", "shape", "cut":
			if w == "cut" && len(kept) > 0 && (kept[len(kept)-1] == "emerald" || kept[len(kept)-1] == "step") {
				kept = append(kept, w)
			}
		default:
			kept = append(kept, w)
		}
	}
	name := strings.Join(kept, " ")
	if name == "" && cab {
		name = string(Oval)
	}
	for _, f := range forms {
		if name != string(f.shape) && !slices.Contains(f.aliases, name) {
			continue
		}
		if !cab {
			return f.shape, nil
		}
		if c := f.shape + cabochonSuffix; slices.Contains(cabochons, c) {
			return c, nil
		}
		return "", fault.New(fault.Invalid, "shape-unknown", "no cabochon is known of shape \""+string(f.shape)+"\"",
			"name one of: "+shapeList(cabochons))
	}
	mend := "name one of: " + shapeList(Shapes())
	if ask := fault.DidYouMean(name, shapeNames()); ask != "" {
		mend = ask + " Else " + mend
	}
	return "", fault.New(fault.Invalid, "shape-unknown", "the shape \""+strings.TrimSpace(s)+"\" is not known", mend)
}

func shapeNames() []string {
	var out []string
	for _, f := range forms {
		out = append(append(out, string(f.shape)), f.aliases...)
	}
	return out
}

func shapeList(shapes []Shape) string {
	names := make([]string, len(shapes))
	for i, s := range shapes {
		names[i] = string(s)
	}
	return strings.Join(names, ", ")
}

// Outline is the shape seen from above, whether faceted or cabochon.
func (s Shape) Outline() Shape { return Shape(strings.TrimSuffix(string(s), cabochonSuffix)) }

// IsCabochon reports whether s is domed rather than faceted.
func (s Shape) IsCabochon() bool { return strings.HasSuffix(string(s), cabochonSuffix) }
