package facts

import (
	"slices"
	"strings"
	"testing"
)

// The floors of TestCellsAreSourced, for common materials where it says no
// more: raise them when cells gain a source,
// never lower them.
const (
	leastSourced  = 496 // cells that any published page decides
	leastStrictly = 336 // indices, gravities, hardness and cleavage that a strict source decides
	leastOthers   = 465 // cells of materials that are not common, which any published page decides
	leastWorded   = 255 // words on optics, glow, toughness, light, heat, chemicals and cleaning that a page agrees with
)

// leastNamed are the floors of TestJudgementsAreSourced: raise them when a page
// is found, never lower them.
var leastNamed = map[string]int{
	"typical index": 58, "typical gravity": 62, "typical spot": 1, "series": 38, "signs": 78, "spectral lines": 153,
	"colour shares": 0,
}

// strictKinds are the kinds of source that may decide index, gravity, hardness
// and cleavage. Encyclopedias are the only other kind; shops and blogs have no
// row.
var strictKinds = []string{"institute", "journal", "university", "museum", "survey", "handbook", "manufacturer"}

// printedColumns are the number columns of materials.csv that
// material_sources.csv may speak of, each with the greatest difference at which
// a printed value still decides the table's.
var printedColumns = map[string]float64{
	"ri": 0.002, "alpha": 0.002, "beta": 0.002, "gamma": 0.002, "omega": 0.002, "epsilon": 0.002,
	"birefringence": 0.0006, "sg": 0.011, "dispersion": 0.0006, "hardness": 0,
}

// wordColumns are the columns of materials.csv whose words a page may bear out.
var wordColumns = []string{"optic", "sign", "pleochroism", "long_wave", "short_wave", "toughness", "light", "heat",
	"acid", "alkali", "solvent", "ultrasonic", "steam"}

// pagesByCell returns the rows of material_sources.csv by material and column.
func pagesByCell() map[string][]row {
	pages := map[string][]row{}
	for _, r := range readRows("material_sources.csv") {
		key := r.must("material") + "|" + r.must("column")
		pages[key] = append(pages[key], r)
	}
	return pages
}

// TestMaterialSources reads every row of data/material_sources.csv: what a page
// prints of one column of one material.
func TestMaterialSources(t *testing.T) {
	for key, pages := range pagesByCell() {
		name, column, _ := strings.Cut(key, "|")
		if MaterialNamed(name) == nil {
			t.Errorf("material_sources.csv: no material is named %s", name)
		}
		_, isNumber := printedColumns[column]
		if !isNumber && column != "cleavage" && !slices.Contains(wordColumns, column) {
			t.Errorf("material_sources.csv: %s: no page is asked about %s", name, column)
		}
		seen := map[string]bool{}
		for _, r := range pages {
			word(r, "kind", append(slices.Clone(strictKinds), "encyclopedia")...)
			if r.span("printed").Known != isNumber {
				t.Errorf("material_sources.csv:%d: a number and only a number has a range", r.line)
			}
			if year := r.integer("year"); year != 0 && (year < 1850 || year > 2026) {
				t.Errorf("material_sources.csv:%d: the year is %d", r.line, year)
			}
			page := r.must("printed") + "|" + r.must("title") + "|" + r.must("publisher")
			if seen[page] {
				t.Errorf("material_sources.csv:%d: the page is there twice", r.line)
			}
			seen[page] = true
		}
	}
}

// isOuterIndex reports whether the cell is the least or the greatest index of
// its material by its optic class, so that a page that prints the range of all
// indices prints it too.
func isOuterIndex(m row, cell string) bool {
	switch {
	case m.text("optic") == string(Uniaxial) && m.text("sign") == "-":
		return cell == "epsilon_min" || cell == "omega_max"
	case m.text("optic") == string(Uniaxial) && m.text("sign") == "+":
		return cell == "omega_min" || cell == "epsilon_max"
	}
	return cell == "alpha_min" || cell == "gamma_max"
}

// tally counts the cells of materials and the words that a page stands behind.
type tally struct {
	cells, sourced        int
	strictCells, strictly int // indices, gravities, hardness and cleavage
	words, worded         int
	open                  []string
}

func (c *tally) cell(name string, strict bool, deciding []row) {
	c.cells++
	if len(deciding) > 0 {
		c.sourced++
	} else {
		c.open = append(c.open, name)
	}
	if !strict {
		return
	}
	c.strictCells++
	if slices.ContainsFunc(deciding, func(r row) bool { return slices.Contains(strictKinds, r.text("kind")) }) {
		c.strictly++
	}
}

// material counts the cells of one row of materials.csv.
func (c *tally) material(t *testing.T, m row, pages map[string][]row) {
	name := m.must("name")
	for column, tolerance := range printedColumns {
		if column == "birefringence" && m.text("optic") == string(Isotropic) {
			continue // 0 by its optic class
		}
		for _, end := range []string{"_min", "_max"} {
			value := m.text(column + end)
			if value == "" {
				continue
			}
			about := pages[name+"|"+column]
			if isOuterIndex(m, column+end) {
				about = slices.Concat(about, pages[name+"|ri"])
			}
			var deciding []row
			for _, r := range about {
				cell := r.text("printed" + end)
				away := mustFloat(t, cell) - mustFloat(t, value)
				if max(away, -away) <= min(max(half(cell), half(value)), tolerance)+1e-9 {
					deciding = append(deciding, r)
				}
			}
			c.cell(name+" "+column+end+" "+value, column != "birefringence" && column != "dispersion", deciding)
		}
	}
	if m.text("cleavage") != "" {
		c.cell(name+" cleavage", true, pages[name+"|cleavage"])
	}
	for _, column := range wordColumns {
		if m.text(column) == "" {
			continue
		}
		c.words++
		if len(pages[name+"|"+column]) > 0 {
			c.worded++
		}
	}
}

// TestCellsAreSourced counts the number cells and cleavages that a published
// page decides: it prints the same end of the range, to within half a unit of
// the last place of either. It also counts the words that a page bears out. The
// counts may only rise.
func TestCellsAreSourced(t *testing.T) {
	pages := pagesByCell()
	var common, others tally
	for _, m := range readRows("materials.csv") {
		if m.text("frequency") == "common" {
			common.material(t, m, pages)
		} else {
			others.material(t, m, pages)
		}
	}
	slices.Sort(common.open)
	t.Logf("%d of %d cells are decided by a page, %d of %d strictly, %d of %d words are borne out; open: %s",
		common.sourced, common.cells, common.strictly, common.strictCells, common.worded, common.words,
		strings.Join(common.open, "; "))
	t.Logf("of the other materials: %d of %d, %d of %d strictly", others.sourced, others.cells, others.strictly,
		others.strictCells)
	if common.sourced < leastSourced || common.strictly < leastStrictly || common.worded < leastWorded {
		t.Errorf("%d cells are decided by a page, %d strictly, %d words are borne out, but they were %d, %d and %d",
			common.sourced, common.strictly, common.worded, leastSourced, leastStrictly, leastWorded)
	}
	if others.sourced < leastOthers {
		t.Errorf("%d cells of other materials are decided by a page, but they were %d", others.sourced, leastOthers)
	}
}

// TestJudgementsAreSourced counts what a page stands behind of the tables that
// began as judgement: typical values, shares of hues, members of series, lines, signs. A source names
// what its page tells ("index: ...", "series: ..."); the rest stays unverified.
// The counts may only rise.
func TestJudgementsAreSourced(t *testing.T) {
	named, all := map[string]int{}, map[string]int{}
	tells := func(r row, column string, what ...string) bool {
		for _, part := range r.list(column) {
			about, page, ok := strings.Cut(part, ": ")
			if ok && page != "" && slices.Contains(what, about) {
				return true
			}
		}
		return false
	}
	count := func(what string, known, told bool) {
		if known {
			all[what]++
			if told {
				named[what]++
			}
		} else if told {
			t.Errorf("a page tells a %s that the table has not", what)
		}
	}
	for _, r := range readRows("typical.csv") {
		count("typical index", r.text("ri_typical_low") != "", tells(r, "source", "index", "index and gravity"))
		count("typical gravity", r.text("sg_typical") != "", tells(r, "source", "gravity", "index and gravity"))
		count("typical spot", r.text("spot_typical") != "", tells(r, "source", "spot"))
	}
	for _, r := range readRows("materials.csv") {
		count("colour shares", strings.Contains(r.text("color_shares"), " "), tells(r, "source_color_shares", "shares"))
	}
	for _, r := range readRows("series.csv") {
		count("series", true, tells(r, "source", "series"))
	}
	for _, r := range readRows("spectra.csv") {
		count("spectral lines", true, tells(r, "source", "line"))
	}
	for _, r := range readRows("signs.csv") {
		count("signs", true, tells(r, "source", "sign"))
	}
	for what, least := range leastNamed {
		t.Logf("%s: %d of %d have a page", what, named[what], all[what])
		if named[what] < least {
			t.Errorf("%s: %d have a page, but they were %d", what, named[what], least)
		}
	}
}
