package facts

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// The words that the columns of data/materials.csv and data/varieties.csv may
// hold, from the worst grade to the best where there is an order.
var (
	optics      = []Optic{OpticUnknown, Isotropic, Uniaxial, Biaxial, Aggregate}
	natures     = []Nature{Natural, Laboratory, Assembled, Imitation, Organic}
	cleavages   = []Cleavage{"", "perfect", "good", "distinct", "poor", "indistinct", "none"}
	toughnesses = []Toughness{"", "poor", "fair", "good", "excellent", "exceptional"}
	lights      = []Light{"", "high", "medium", "low", "stable"}
	heats       = []Heat{"", "never", "low", "moderate", "high"}
	attacks     = []Attack{"", "yes", "slow", "none"}
	baths       = []Bath{"", "no", "caution", "yes"}
	frequencies = []Frequency{"common", "occasional", "collector"}
	yesOrNo     = []string{"", "no", "yes"}
	hues        = []string{"colourless", "white", "grey", "black", "brown", "red", "pink", "orange", "yellow", "green",
		"blue", "violet", "purple"}
)

// Materials returns every row of data/materials.csv, sorted by name. Callers
// share the rows and must not change them.
func Materials() []*Material { return materials().rows }

// MaterialNamed returns the material of exactly that name, or nil.
func MaterialNamed(name string) *Material { return materials().byName[name] }

type materialTable struct {
	rows   []*Material
	byName map[string]*Material
}

var materials = sync.OnceValue(func() *materialTable {
	rows := load("materials.csv", parseMaterial)()
	slices.SortFunc(rows, func(a, b *Material) int { return strings.Compare(a.Name, b.Name) })
	t := &materialTable{rows: rows, byName: make(map[string]*Material, len(rows))}
	for _, m := range rows {
		if t.byName[m.Name] != nil {
			panic("facts: materials.csv: " + m.Name + " is there twice")
		}
		t.byName[m.Name] = m
	}
	t.addTypical()
	return t
})

func parseMaterial(r row) *Material {
	m := &Material{
		Name:             r.must("name"),
		Short:            r.must("short"),
		Group:            r.must("group"),
		Nature:           word(r, "nature", natures...),
		Frequency:        word(r, "frequency", frequencies...),
		Optic:            word(r, "optic", optics...),
		Sign:             word(r, "sign", "", "+", "-", "±"),
		AnomalousDR:      r.yes("anomalous_dr"),
		RI:               r.span("ri"),
		Alpha:            r.span("alpha"),
		Beta:             r.span("beta"),
		Gamma:            r.span("gamma"),
		Omega:            r.span("omega"),
		Epsilon:          r.span("epsilon"),
		Birefringence:    r.span("birefringence"),
		SG:               r.span("sg"),
		Dispersion:       r.span("dispersion"),
		MineralRI:        mineralRange(r, "mineral_ri"),
		MineralSG:        mineralRange(r, "mineral_sg"),
		Pleochroism:      word(r, "pleochroism", "", "none", "weak", "moderate", "strong"),
		PleochroicColors: r.text("pleochroic_colors"),
		LongWave:         r.text("long_wave"),
		ShortWave:        r.text("short_wave"),
		ColorShares:      colorShares(r, "color_shares"),
		Hardness:         r.span("hardness"),
		Cleavage:         word(r, "cleavage", cleavages...),
		Directions:       r.integer("cleavage_directions"),
		Toughness:        word(r, "toughness", toughnesses...),
		Light:            word(r, "light", lights...),
		Heat:             word(r, "heat", heats...),
		Acid:             word(r, "acid", attacks...),
		Alkali:           word(r, "alkali", attacks...),
		Solvent:          word(r, "solvent", attacks...),
		Ultrasonic:       word(r, "ultrasonic", baths...),
		Steam:            word(r, "steam", baths...),
		Porous:           word(r, "porous", yesOrNo...),
		Dries:            word(r, "dries", yesOrNo...),
		FluoridePickle:   r.yes("fluoride_pickle"),
		NotSeparated:     r.list("not_separated"),
		UsualTreatments:  treatmentList(r, "usual_treatments"),
		Note:             r.text("note"),
		Sources:          make(map[string]string, len(sourceTopics)),
	}
	for _, o := range r.list("also_shows") {
		if !slices.Contains(optics, Optic(o)) {
			r.fail("also_shows", strconv.Quote(o)+" is no optic class")
		}
		m.AlsoShows = append(m.AlsoShows, Optic(o))
	}
	for _, topic := range sourceTopics {
		if s := r.text("source_" + topic); s != "" {
			m.Sources[topic] = s
		}
	}
	return m
}

// mineralRange reads a range that must name the page that prints it.
func mineralRange(r row, column string) MineralRange {
	m := MineralRange{Range: r.span(column), Source: r.text(column + "_source")}
	if m.Known != (m.Source != "") {
		r.fail(column+"_source", "a range and its page go together")
	}
	return m
}

// sourceTopics are the source columns of data/materials.csv.
var sourceTopics = []string{"optics", "sg", "uv", "durability", "care", "trade", "color_shares"}

// colorShares reads the hues that a material is met in, each with its share in
// percent where one is known: "green 50;blue 30;black". When every hue has a
// share, they must add to 100 but for rounding.
func colorShares(r row, column string) []ColorShare {
	var out []ColorShare
	sum, unstated := 0.0, 0
	for _, part := range r.list(column) {
		hue, share, stated := strings.Cut(part, " ")
		c := ColorShare{Hue: hue}
		if !slices.Contains(hues, hue) {
			r.fail(column, strconv.Quote(hue)+" is no plain hue word")
		}
		if slices.ContainsFunc(out, func(x ColorShare) bool { return x.Hue == hue }) {
			r.fail(column, hue+" is there twice")
		}
		if stated {
			percent, err := strconv.ParseFloat(share, 64)
			if err != nil || !(percent > 0 && percent <= 100) {
				r.fail(column, strconv.Quote(part)+" is no hue with its share in percent")
			}
			c.Percent = percent
		} else {
			unstated++
		}
		sum += c.Percent
		out = append(out, c)
	}
	const rounding = 1e-9
	switch {
	case sum > 100+rounding:
		r.fail(column, fmt.Sprintf("the shares add to %.6g %%, which is over 100", sum))
	case unstated > 0 && sum > 100-rounding:
		r.fail(column, "the stated shares leave nothing for the other hues")
	case len(out) > 0 && unstated == 0 && sum < 99:
		r.fail(column, fmt.Sprintf("the shares of all hues add to %.6g %%, which is under 99", sum))
	}
	return out
}

// hueList reads a list of plain hue words.
func hueList(r row, column string) []string {
	list := r.list(column)
	for _, h := range list {
		if !slices.Contains(hues, h) {
			r.fail(column, strconv.Quote(h)+" is no plain hue word")
		}
	}
	return list
}

// treatmentList reads a list of treatments; "none" says that none is usual.
func treatmentList(r row, column string) []string {
	list := r.list(column)
	if len(list) == 1 && list[0] == "none" {
		return nil
	}
	return list
}

// Varieties returns every row of data/varieties.csv, in the order of the
// file. Callers share the rows and must not change them.
func Varieties() []*Variety { return varieties() }

var varieties = sync.OnceValue(func() []*Variety {
	rows := load("varieties.csv", parseVariety)()
	for _, r := range readRows("variety_needs.csv") {
		at := slices.IndexFunc(rows, func(v *Variety) bool { return v.Name == r.must("variety") })
		if at < 0 {
			r.fail("variety", "no variety has this name")
		}
		rows[at].Needs = r.must("needs")
	}
	return rows
})

func parseVariety(r row) *Variety {
	return &Variety{
		Name:            r.must("name"),
		Species:         r.must("species"),
		Colors:          hueList(r, "colors"),
		Hardness:        r.span("hardness"),
		Toughness:       word(r, "toughness", toughnesses...),
		Light:           word(r, "light", lights...),
		Heat:            word(r, "heat", heats...),
		Solvent:         word(r, "solvent", attacks...),
		Ultrasonic:      word(r, "ultrasonic", baths...),
		Steam:           word(r, "steam", baths...),
		Porous:          word(r, "porous", yesOrNo...),
		Dries:           word(r, "dries", yesOrNo...),
		UsualTreatments: treatmentList(r, "usual_treatments"),
		Care:            r.text("care"),
		Source:          r.must("source"),
	}
}
