package facts

import (
	"strconv"
	"strings"
	"sync"
)

// Typical is one row of data/typical.csv: what the gem goods of a material
// usually measure and look like, inside the ranges that it is met in at all.
type Typical struct {
	RI           Range   // the usual low and high edge of a facet; unknown when the row has none
	Spot         float64 // what an aggregate usually reads as a spot, where its edges lie far apart; 0: not stated
	RISpread     float64 // one standard deviation of the goods around it; 0: not stated
	SG           float64 // 0: not stated
	SGSpread     float64
	Transparency Transparency
	Source       string
}

// Transparency is how most pieces of a material let light through.
type Transparency string

// The words of data/typical.csv.
const (
	TransparencyUnknown Transparency = ""
	MostlyTransparent   Transparency = "T"
	OftenTransparent    Transparency = "t" // transparent to translucent
	Translucent         Transparency = "L"
	Opaque              Transparency = "O"
)

var transparencies = []Transparency{TransparencyUnknown, MostlyTransparent, OftenTransparent, Translucent, Opaque}

// SpectralLine is one row of data/spectra.csv: an absorption that helps.
type SpectralLine struct {
	NM       float64
	Kind     string   // "line", "band" or "cut-off"
	Strength string   // "strong", "medium" or "weak"
	Stones   []string // hues of the stones that show it; empty: any
	Source   string
}

// SeriesMember is one row of data/series.csv: a material, or all of a group, as
// a member of a series that constants cannot tell apart or part only by
// convention.
type SeriesMember struct {
	Series      string
	Family      string // of several series; empty: none
	Materials   []*Material
	Stops       bool   // the series is the answer: its members are not told apart
	ToldApartBy string // "sheen", "magnification", "laboratory" or empty
	Source      string
}

// SeriesMembers returns every row of data/series.csv, in the order of the file.
func SeriesMembers() []*SeriesMember { return seriesMembers() }

var seriesMembers = sync.OnceValue(load("series.csv", func(r row) *SeriesMember {
	s := &SeriesMember{Series: r.must("series"), Family: r.text("family"), Stops: r.yes("stops"),
		ToldApartBy: word(r, "told_apart_by", "", "sheen", "magnification", "laboratory"), Source: r.must("source")}
	name := r.must("member")
	if group, ok := strings.CutPrefix(name, "group "); ok {
		for _, m := range Materials() {
			if m.Group == group {
				s.Materials = append(s.Materials, m)
			}
		}
	} else if m := MaterialNamed(name); m != nil {
		s.Materials = append(s.Materials, m)
	}
	if len(s.Materials) == 0 {
		r.fail("member", "no material is "+strconv.Quote(name))
	}
	return s
}))

// addTypical fills in what data/typical.csv and data/spectra.csv say of the
// materials.
func (t *materialTable) addTypical() {
	find := func(r row, column string) *Material {
		m := t.byName[r.must(column)]
		if m == nil {
			r.fail(column, "no material is named "+r.text(column))
		}
		return m
	}
	for _, r := range readRows("typical.csv") {
		m := find(r, "name")
		if m.Typical.Source != "" {
			r.fail("name", m.Name+" is there twice")
		}
		p := &m.Typical
		p.Transparency = word(r, "transparency", transparencies...)
		p.Source = r.must("source")
		low, okLow := r.optional("ri_typical_low")
		high, okHigh := r.optional("ri_typical_high")
		if okLow != okHigh || low > high {
			r.fail("ri_typical_low", "has one end only, or is upside down")
		}
		if okLow {
			p.RI = Span(low, high)
		}
		p.Spot, _ = r.optional("spot_typical")
		p.RISpread, _ = r.optional("ri_spread")
		p.SG, _ = r.optional("sg_typical")
		p.SGSpread, _ = r.optional("sg_spread")
	}
	for _, r := range readRows("spectra.csv") {
		m := find(r, "material")
		l := SpectralLine{NM: r.number("nm"), Kind: word(r, "kind", "line", "band", "cut-off"),
			Strength: word(r, "strength", "strong", "medium", "weak"), Stones: hueList(r, "stones"),
			Source: r.must("source")}
		m.Spectrum = append(m.Spectrum, l)
	}
}
