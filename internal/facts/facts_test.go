package facts

import (
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lotpaper/data"
	"lotpaper/internal/testkit/vectors"
)

// own are the tables that this package reads, with their least number of rows.
var own = map[string]int{
	"materials.csv": 130, "varieties.csv": 59, "aliases.csv": 200, "settings.csv": 17, "pieces.csv": 10, "wears.csv": 3,
	"alloys.csv": 31, "metals.csv": 15, "fineness_marks.csv": 25, "calibrated_sizes.csv": 150, "tolerances.csv": 13,
	"sieves.csv": 34, "water_density.csv": 71, "ring_sizes.csv": 150, "ring_systems.csv": 5, "light_doses.csv": 30,
	"bench.csv": 24, "hs_codes.csv": 29, "typical.csv": 130, "series.csv": 60, "spectra.csv": 180,
	"variety_needs.csv": 30,
}

// TestEveryTableParses reads every row of every table: a cell that does not
// parse panics with its file and row.
func TestEveryTableParses(t *testing.T) {
	counts := map[string]int{
		"materials.csv": len(Materials()), "varieties.csv": len(Varieties()), "settings.csv": len(Settings()),
		"pieces.csv": len(Pieces()), "wears.csv": len(Wears()), "alloys.csv": len(Alloys()),
		"metals.csv":         len(Metals()),
		"fineness_marks.csv": len(FinenessMarks()), "calibrated_sizes.csv": len(CalibratedSizes()),
		"tolerances.csv": len(tolerances()),
		"sieves.csv":     len(sieves()), "water_density.csv": len(waterDensities()), "ring_sizes.csv": len(ringSizes()),
		"ring_systems.csv": len(RingSystems()), "light_doses.csv": len(LightDoses()),
		"bench.csv":    len(benchProcesses()),
		"hs_codes.csv": len(hsCodes()), "aliases.csv": len(readRows("aliases.csv")),
		"typical.csv": len(readRows("typical.csv")), "series.csv": len(SeriesMembers()),
		"spectra.csv": len(readRows("spectra.csv")), "variety_needs.csv": len(readRows("variety_needs.csv")),
	}
	for file, least := range own {
		if counts[file] < least {
			t.Errorf("%s has %d rows, want at least %d", file, counts[file], least)
		}
	}
	if len(names().known) < 300 {
		t.Errorf("%d names are known, want at least 300", len(names().known))
	}
}

// address matches what a cell must not hold: an address of the web or a
// number of some index. Titles, publishers and years are wanted. In the tables
// of this package a publisher is not named by its domain either.
var (
	address = regexp.MustCompile(`(?i)https?:|www\.|\.(com|org|net|edu|gov|io)/|\.(html?|php)\b|\bid \d{6,}`)
	domain  = regexp.MustCompile(`(?i)\b[a-z0-9-]+\.(com|org|net|edu|gov|io)\b`)
)

// TestSourcesAreNamed reads every table of the folder, also those that other
// packages own: no source column is empty, none holds an address, and what
// nobody looked up says so ("unverified: TITLE") and names the book.
func TestSourcesAreNamed(t *testing.T) {
	files, err := fs.Glob(data.FS, "*.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		for _, r := range readRows(file) {
			for column := range r.cells {
				cell := r.text(column)
				if address.MatchString(cell) || own[file] > 0 && domain.MatchString(cell) {
					t.Errorf("%s:%d: %s holds an address: %q", file, r.line, column, cell)
				}
				if column != "source" && !strings.HasPrefix(column, "source_") {
					continue
				}
				for _, part := range strings.Split(cell, ";") {
					part = strings.TrimSpace(part)
					if strings.HasPrefix(part, "from memory") || part == "memory" || part == "unverified" ||
						part == "unverified:" {
						t.Errorf("%s:%d: %s: %q names no book", file, r.line, column, cell)
					}
				}
				if column == "source" && cell == "" {
					t.Errorf("%s:%d: has no source", file, r.line)
				}
			}
		}
	}
}

// TestEveryValueHasASource looks from the value to its source.
func TestEveryValueHasASource(t *testing.T) {
	for _, m := range Materials() {
		ask := func(known bool, column string) {
			if known && m.Source(column) == "" {
				t.Errorf("%s: %s has no source", m.Name, column)
			}
		}
		ask(m.RI.Known || m.Birefringence.Known || m.Dispersion.Known || m.Optic != "", "ri")
		ask(m.SG.Known, "sg")
		ask(m.LongWave != "", "long_wave")
		ask(m.ShortWave != "", "short_wave")
		ask(len(m.Spectrum) > 0, "spectrum")
		ask(m.Hardness.Known || m.Cleavage != "" || m.Toughness != "", "hardness")
		ask(m.Light != "" || m.Heat != "" || m.Acid != "" || m.Ultrasonic != "" || m.Steam != "", "light")
		ask(true, "frequency")
		ask(true, "color_shares")
	}
}

// TestConstantsHangTogether checks each material against the laws of optics
// and plain limits of gem materials.
func TestConstantsHangTogether(t *testing.T) {
	const rounding = 0.0011 // printed limits are rounded to 0.001
	inside := func(r Range, low, high float64) bool { return !r.Known || r.Min >= low && r.Max <= high }
	for _, m := range Materials() {
		bad := func(format string, args ...any) { t.Helper(); t.Errorf(m.Name+": "+format, args...) }
		if !inside(m.RI, 1.3, 3.3) || !inside(m.SG, 0.9, 8.2) || !inside(m.Hardness, 1, 10) ||
			!inside(m.Birefringence, 0, 0.45) || !inside(m.Dispersion, 0.004, 0.4) {
			bad("a constant lies outside what any gem has: n %v, SG %v, H %v", m.RI, m.SG, m.Hardness)
		}
		if !m.SG.Known || !m.Hardness.Known {
			bad("SG or hardness is unknown")
		}
		switch m.Optic {
		case Isotropic:
			if m.Alpha.Known || m.Omega.Known || m.Sign != "" {
				bad("is isotropic and has indices by direction")
			}
			if m.Birefringence.Known && m.Birefringence.Min > 0 {
				bad("is isotropic with a birefringence of at least %v", m.Birefringence.Min)
			}
		case Uniaxial:
			if m.Alpha.Known || m.Beta.Known || m.Gamma.Known {
				bad("is uniaxial and has an alpha, beta or gamma")
			}
			if m.Omega.Known != m.Epsilon.Known {
				bad("has one of omega and epsilon")
			}
			if m.Omega.Known {
				if m.Sign == "+" && (m.Epsilon.Min < m.Omega.Min || m.Epsilon.Max < m.Omega.Max) || m.Sign == "-" &&
					(m.Epsilon.Min > m.Omega.Min || m.Epsilon.Max > m.Omega.Max) {
					bad("omega %v and epsilon %v do not fit the sign %s", m.Omega, m.Epsilon, m.Sign)
				}
				if widest := max(m.Omega.Max-m.Epsilon.Min, m.Epsilon.Max-m.Omega.Min); m.Birefringence.Max > widest+
					rounding {
					bad("birefringence %v is more than the indices allow (%.4f)", m.Birefringence, widest)
				}
				if m.RI.Min != min(m.Omega.Min, m.Epsilon.Min) || m.RI.Max != max(m.Omega.Max, m.Epsilon.Max) {
					bad("n %v is not the hull of omega %v and epsilon %v", m.RI, m.Omega, m.Epsilon)
				}
			}
		case Biaxial:
			if m.Omega.Known || m.Epsilon.Known {
				bad("is biaxial and has an omega or epsilon")
			}
			if m.Alpha.Known {
				if m.Alpha.Min > m.Beta.Min || m.Beta.Min > m.Gamma.Min || m.Alpha.Max > m.Beta.Max ||
					m.Beta.Max > m.Gamma.Max {
					bad("alpha %v, beta %v, gamma %v are out of order", m.Alpha, m.Beta, m.Gamma)
				}
				if widest, least := m.Gamma.Max-m.Alpha.Min, m.Gamma.Min-m.Alpha.Max; m.Birefringence.Max > widest+
					rounding || m.Birefringence.Min < least-rounding {
					bad("birefringence %v does not fit the indices (%.4f to %.4f)", m.Birefringence, least, widest)
				}
				if m.RI.Min != m.Alpha.Min || m.RI.Max != m.Gamma.Max {
					bad("n %v is not the hull of alpha %v to gamma %v", m.RI, m.Alpha, m.Gamma)
				}
			}
		}
		if m.AnomalousDR && m.Optic != Isotropic {
			bad("anomalous double refraction belongs to isotropic materials")
		}
		if m.Cleavage == "none" && m.Directions != 0 || slices.Contains([]Cleavage{"perfect", "good"}, m.Cleavage) &&
			m.Directions == 0 {
			bad("cleavage %q in %d directions", m.Cleavage, m.Directions)
		}
		if len(m.ColorShares) == 0 {
			bad("has no colours")
		}
		for _, glow := range []string{m.LongWave, m.ShortWave} {
			checkGlow(t, m.Name, glow)
		}
	}
}

var (
	bracket = regexp.MustCompile(`\([^)]*\)`)
	aGlow   = regexp.MustCompile(`^(inert|(weak|moderate|strong|variable) [a-z-]+( [a-z]+)?)$`)
)

// checkGlow holds a fluorescence cell to its grammar: alternatives of a
// strength, a colour, and the stones it is seen in.
func checkGlow(t *testing.T, name, cell string) {
	t.Helper()
	for _, part := range strings.Split(bracket.ReplaceAllString(cell, ""), ";") {
		if part = strings.TrimSpace(part); part != "" && !aGlow.MatchString(part) {
			t.Errorf("%s: fluorescence %q is no strength and colour", name, part)
		}
	}
}

// TestPublishedReadings holds the table against readings as separate sources
// print them, rows that are marked bad excepted: each must overlap its
// material, or one of the group, within the rounding of the print.
func TestPublishedReadings(t *testing.T) {
	rows := vectors.Read(t, "facts/property_readings.csv")
	checked := 0
	for _, r := range rows {
		if r["bad"] == "row" {
			continue
		}
		name := r["species"]
		named, f := Resolve(name)
		if f != nil {
			t.Errorf("%s: %v", name, f)
			continue
		}
		for _, p := range []struct {
			column string
			of     func(*Material) Range
			least  float64 // half a unit of the last place that such sources print
		}{
			{"ri", func(m *Material) Range { return m.RI }, 0.0005},
			{"birefringence", func(m *Material) Range { return m.Birefringence }, 0.0005},
			{"sg", func(m *Material) Range { return m.SG }, 0.005},
			{"hardness", func(m *Material) Range { return m.Hardness }, 0},
		} {
			if r["bad"] == p.column {
				continue
			}
			low, high := r[p.column+"_min"], r[p.column+"_max"]
			if low == "" {
				continue
			}
			read := Span(mustFloat(t, low)-max(p.least, half(low)), mustFloat(t, high)+max(p.least, half(high)))
			if p.column == "hardness" {
				read = Span(mustFloat(t, low), mustFloat(t, high))
			}
			fits := slices.ContainsFunc(named.Materials, func(m *Material) bool {
				v := p.of(m)
				return !v.Known ||
					v.Overlaps(read)
			})
			if !fits {
				t.Errorf("%s: %s %s to %s (%s) is outside the table's %v", name, p.column, low, high, r["source"],
					p.of(named.Materials[0]))
			}
			checked++
		}
		if r["dispersion"] != "" {
			low, high, ok := strings.Cut(r["dispersion"], "-")
			if !ok {
				high = low
			}
			m := named.Materials[0]
			if read := Span(mustFloat(t, low)-half(low), mustFloat(t, high)+half(high)); m.Dispersion.Known &&
				!m.Dispersion.Overlaps(read) && !nearDispersion(m.Dispersion, read) {
				t.Errorf("%s: dispersion %s (%s) is outside the table's %v", name, r["dispersion"], r["source"],
					m.Dispersion)
			}
			checked++
		}
	}
	if checked < 250 {
		t.Errorf("only %d published values were checked", checked)
	}
}

// nearDispersion allows the scatter of printed dispersions: books copy them
// from different pairs of Fraunhofer lines, and they differ by a third.
func nearDispersion(a, b Range) bool {
	return a.Min <= b.Max*1.5 && b.Min <= a.Max*1.5
}

// half is half a unit in the last printed place of a number.
func half(s string) float64 {
	_, decimals, ok := strings.Cut(s, ".")
	if !ok {
		return 0.5
	}
	h := 0.5
	for range decimals {
		h /= 10
	}
	return h
}

func mustFloat(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestRefractiveIndicesElsewhere compares the table with a list of single
// indices that was made for another purpose (Table of refractive indices,
// polaris renderer documentation): each lies in or near the range of what is
// meant. The list rounds freely, so it may miss by 0.006; the two that miss by
// more are named with the reason.
func TestRefractiveIndicesElsewhere(t *testing.T) {
	known := map[string]string{
		"andradite": "1.820 belongs to mixed garnets; published andradite starts at 1.855 (Gemstone " +
			"properties, garnet, Rocks and Gems: 1.85)",
		"plastic, polystyrene": "1.55 is the index of no common polystyrene; handbooks print 1.59 (unverified: " +
			"Read, Gemmology)",
	}
	for _, r := range vectors.Read(t, "facts/refractive_indices.csv") {
		n, f := Resolve(r["name"])
		if f != nil {
			t.Errorf("%s: %v", r["name"], f)
			continue
		}
		index := mustFloat(t, r["index"])
		miss := math.Inf(1)
		for _, m := range n.Materials {
			miss = min(miss, m.RI.Distance(index))
		}
		if reason := known[r["name"]]; (miss > 0.006) != (reason != "") {
			t.Errorf("%s: index %v is %.4f from the table's %v (reason %q)", r["name"], index, miss,
				n.Materials[0].RI, reason)
		}
	}
}

// startsElsewhere are the minerals whose page prints a range that does not hold
// the gem range whole, and why the range is kept.
var startsElsewhere = map[string]string{
	"danburite sg":              "the page's upper end is lower by 0.01",
	"diaspore sg":               "the page's upper end is lower by 0.10",
	"diopside sg":               "the page begins higher by 0.03",
	"epidote sg":                "the page begins higher by 0.05",
	"idocrase (vesuvianite) sg": "the page begins higher by 0.03",
	"phenakite sg":              "the page's upper end is lower by 0.02",
	"pyrope ri":                 "the page leaves the pure end out",
	"sapphirine ri":             "the page begins higher by 0.003",
	"scapolite ri":              "the page's upper end is lower by 0.006",
	"spessartine sg":            "the page's upper end is lower by 0.02",
	"spinel (natural) ri":       "the page begins higher by 0.008",
}

// A mineral's range is wider than its gem range and holds it, unless it is
// listed with the reason.
func TestMineralRanges(t *testing.T) {
	known, elsewhere := 0, 0
	for _, m := range Materials() {
		for _, c := range []struct {
			column  string
			gem     Range
			mineral MineralRange
		}{{"ri", m.RI, m.MineralRI}, {"sg", m.SG, m.MineralSG}} {
			if !c.mineral.Known {
				continue
			}
			known++
			if c.mineral.Min >= c.gem.Min && c.mineral.Max <= c.gem.Max {
				t.Errorf("%s: the mineral's %s of %v is no wider than its gem range of %v", m.Name, c.column,
					c.mineral.Range, c.gem)
			}
			holds := c.mineral.Min <= c.gem.Min && c.mineral.Max >= c.gem.Max
			listed := startsElsewhere[m.Name+" "+c.column] != ""
			if holds == listed {
				t.Errorf("%s: the mineral's %s of %v, gem range %v, is listed: %v", m.Name, c.column, c.mineral.Range,
					c.gem, listed)
			}
			if listed {
				elsewhere++
			}
		}
	}
	if known < 35 || elsewhere != len(startsElsewhere) {
		t.Errorf("%d ranges, %d of %d listed ones", known, elsewhere, len(startsElsewhere))
	}
}
