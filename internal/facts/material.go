// Package facts gives typed, validated views of the tables in data/: what is
// known of gem materials, settings, metals, sizes and the bench, each value
// with its source. An empty value is unknown, never zero. The tables are
// parsed once, when first asked for.
package facts

import (
	"slices"
	"strings"
)

// Range is a closed interval of a measured property. The zero Range is unknown.
type Range struct {
	Min, Max float64
	Known    bool
}

// Span returns the known range from low to high.
func Span(low, high float64) Range { return Range{Min: low, Max: high, Known: true} }

// Distance is how far v lies outside the range: 0 inside it or when unknown.
func (r Range) Distance(v float64) float64 {
	switch {
	case !r.Known:
		return 0
	case v < r.Min:
		return r.Min - v
	case v > r.Max:
		return v - r.Max
	}
	return 0
}

// Overlaps reports whether two known ranges share a value.
func (r Range) Overlaps(o Range) bool {
	return r.Known && o.Known && r.Min <= o.Max && o.Min <= r.Max
}

// MineralRange is what a page prints of a mineral as a whole, gem material or not.
type MineralRange struct {
	Range
	Source string
}

// Optic is the optic class of a material.
type Optic string

// The optic classes. Aggregates show no figure and read as a blur or a spot.
const (
	OpticUnknown Optic = ""
	Isotropic    Optic = "isotropic"
	Uniaxial     Optic = "uniaxial"
	Biaxial      Optic = "biaxial"
	Aggregate    Optic = "aggregate"
)

// Nature is how a material comes to be: the second facet of a stone.
type Nature string

// The natures. A material that occurs naturally and is also grown is listed
// once per nature only where its constants differ; otherwise the grown form
// stands in NotSeparated of the natural one.
const (
	Natural    Nature = "natural"
	Laboratory Nature = "laboratory-grown"
	Assembled  Nature = "assembled"
	Imitation  Nature = "imitation" // glass, plastic, ceramics
	Organic    Nature = "organic"
)

// Grade words shared by several columns, from the worst to the best. The empty
// string is always "unknown".
type (
	// Cleavage is "none", "indistinct", "poor", "distinct", "good" or "perfect".
	Cleavage string
	// Toughness is "poor", "fair", "good", "excellent" or "exceptional".
	Toughness string
	// Light is how the colour stands light: "stable", "low" (decades),
	// "medium" (years), "high" (days to months).
	Light string
	// Heat is how the stone stands a torch or a hot lamp: "high" (stands it
	// with care), "moderate", "low" (sudden heat may break or fade it),
	// "never" (destroyed).
	Heat string
	// Attack is how a chemical acts on it: "none", "slow", "yes".
	Attack string
	// Bath says whether a cleaning bath is published as fit: "yes", "caution", "no".
	Bath string
	// Frequency is how often the trade meets it: "common", "occasional",
	// "collector" (common practice).
	Frequency string
)

// Material is one row of data/materials.csv: a species (or a kind of glass,
// plastic, composite) whose constants go together.
type Material struct {
	Name      string // "spodumene", "peridot (olivine, forsterite-rich)"; unique
	Short     string // the trade's short name: "peridot"; unique
	Group     string // "pyroxene", "garnet", "feldspar", "glass" ...
	Nature    Nature
	Frequency Frequency

	// Identity.
	Optic         Optic
	Sign          string  // "+", "-", "±" or empty
	AnomalousDR   bool    // may look doubly refractive though isotropic
	AlsoShows     []Optic // optic characters that sound pieces are also met with (kornerupine: uniaxial)
	RI            Range   // all refractive indices together
	Alpha         Range   // biaxial: alpha; uniaxial: empty
	Beta          Range
	Gamma         Range
	Omega         Range // uniaxial: ordinary ray
	Epsilon       Range // uniaxial: extraordinary ray
	Birefringence Range
	SG            Range
	Dispersion    Range
	MineralRI     MineralRange // of the mineral as a whole; unknown where no page prints more than the gem range
	MineralSG     MineralRange
	// Pleochroism is the strongest that the material shows: "none", "weak",
	// "moderate" or "strong". Pale stones show less. The colours are in
	// PleochroicColors.
	Pleochroism      string
	PleochroicColors string
	// LongWave and ShortWave are the fluorescences it is met with, alternatives
	// separated by ";", each a strength (inert, weak, moderate, strong,
	// variable), a colour and, in brackets, the stones it is seen in:
	// "strong orange (pink to lilac kunzite); inert (green, yellow)".
	LongWave, ShortWave string
	Spectrum            []SpectralLine // often absent in pale stones
	ColorShares         []ColorShare   // the hues it is met in, with their shares where known
	Typical             Typical        // of gem goods; its Source is empty when nothing is known

	// Durability.
	Hardness        Range // Mohs
	Cleavage        Cleavage
	Directions      int // of the best cleavage; 0 unknown or none
	Toughness       Toughness
	Light           Light
	Heat            Heat
	Acid            Attack // ordinary acids, pickle included
	Alkali          Attack
	Solvent         Attack
	Ultrasonic      Bath
	Steam           Bath
	Porous          string   // "yes", "no" or unknown
	Dries           string   // loses water in dry heat (opal, pearl, amber ...): "yes", "no" or unknown
	FluoridePickle  bool     // sulphuric or bisulphate pickle can release hydrogen fluoride
	NotSeparated    []string // synthetics, simulants, treated forms of the same constants
	UsualTreatments []string // what is usual in the trade when nothing is stated
	Note            string

	// Sources: topic ("optics", "sg", "uv", "durability", "care", "trade",
	// "color_shares") -> source in words. Source finds the topic of a column.
	Sources map[string]string
}

// ColorShare is one hue that a material is met in, with its share of the trade's goods.
type ColorShare struct {
	Hue     string
	Percent float64 // 0: not stated
}

// Hues returns the hues that the material is met in, in the order of the table.
func (m *Material) Hues() []string {
	out := make([]string, len(m.ColorShares))
	for i, c := range m.ColorShares {
		out[i] = c.Hue
	}
	return out
}

// Source returns the source of the value in column col of the material's row:
// "ri", "omega_min", "sg", "hardness", "acid", "long_wave", "frequency" ...
func (m *Material) Source(col string) string {
	col = strings.TrimSuffix(strings.TrimSuffix(col, "_min"), "_max")
	switch col {
	case "sg":
		return m.Sources["sg"]
	case "long_wave", "short_wave":
		return m.Sources["uv"]
	case "spectrum":
		return m.spectrumSource()
	case "hardness", "cleavage", "cleavage_directions", "toughness":
		return m.Sources["durability"]
	case "light", "heat", "acid", "alkali", "solvent", "ultrasonic", "steam", "fluoride_pickle":
		return m.Sources["care"]
	case "color_shares":
		return m.Sources["color_shares"]
	case "group", "nature", "frequency", "porous", "dries", "not_separated", "usual_treatments":
		return m.Sources["trade"]
	}
	return m.Sources["optics"]
}

// spectrumSource joins the sources of the lines.
func (m *Material) spectrumSource() string {
	var out []string
	for _, l := range m.Spectrum {
		if !slices.Contains(out, l.Source) {
			out = append(out, l.Source)
		}
	}
	return strings.Join(out, "; ")
}

// Variety is one row of data/varieties.csv: a trade name of one species, by
// colour, phenomenon or treatment, with what differs from the species.
type Variety struct {
	Name            string // "kunzite"
	Species         string // name of the Material: "spodumene"
	Colors          []string
	Hardness        Range     // unknown: as the species
	Toughness       Toughness // empty: as the species; so are the next ones
	Light           Light
	Heat            Heat
	Solvent         Attack // of what is usually in it, such as oil in emerald
	Ultrasonic      Bath
	Steam           Bath
	Porous          string
	Dries           string
	UsualTreatments []string
	Needs           string // what names it beside its colour: "a star"; empty: the colour does
	Care            string
	Source          string
}

// Named is the answer to a name: what it was read as. A group stands for all
// its members.
type Named struct {
	Asked     string
	ReadAs    string // "variety kunzite of spodumene", "group garnet: almandine, pyrope, ..."
	Materials []*Material
	Variety   *Variety // nil unless a variety was named
	RightName string   // what the stone must be called when the name asked for misleads ("smoky topaz": smoky quartz)
}

// Setting is one row of data/settings.csv: how a stone is held.
type Setting struct {
	Name           string // "prong"
	Aliases        []string
	GirdleExposed  int    // 0 covered .. 3 open to knocks
	CrownExposed   int    // 0..3
	PavilionOpen   bool   // a closed back keeps light and soap in
	CornersExposed bool   // points stand free
	Impact         int    // 0 low .. 3 high: knocks that reach the stone in wear
	Force          int    // 0..3: force on the stone while it is set
	SidePressure   bool   // permanent pressure on the stone (tension)
	HeatNear       bool   // the torch usually comes near the set stone (retipping)
	Minutes        Range  // labour per stone, minutes
	SpareStones    string // published rule in words
	Pieces         []string
	Domed          string // the setting that it is around a cabochon: "cabochon bezel"; empty: the same
	HeldBy         string // what holds the stone, in words
	Benchmark      string // published numbers for the work, in words
	Source         string
}
