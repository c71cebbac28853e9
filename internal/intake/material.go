package intake

import (
	"strings"

	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
)

// material is what a species and a variety cell are read as.
type material struct {
	species string // the facts' name of the species, or the name of a group
	variety string // the facts' name, or as written when it is not known
	claim   string // as written
	named   facts.Named
}

// readMaterial reads the species and the variety of a row. Either may name a
// species, variety, group or trade name; empty stays unknown. A variety that
// the tables do not know is kept as written with a warning: it cannot change
// what the species stands for.
func readMaterial(c cells, speciesColumn, varietyColumn string) material {
	m := material{claim: strings.TrimSpace(c.text(speciesColumn) + " " + c.text(varietyColumn))}
	if c.filled(speciesColumn) {
		n, f := facts.Resolve(c.Text(speciesColumn))
		if f != nil {
			c.add(speciesColumn, f)
			return m
		}
		m.named = n
		m.species, m.variety = n.SpeciesVariety()
		c.misleads(speciesColumn, n)
	}
	if !c.filled(varietyColumn) {
		return m
	}
	v, f := facts.Resolve(c.Text(varietyColumn))
	switch {
	case f != nil && m.species == "":
		c.add(varietyColumn, f)
	case f != nil:
		m.variety = c.Text(varietyColumn)
		mend := "correct the spelling if it is a known variety; else nothing is to be done"
		if _, hint, found := strings.Cut(f.Mend, "did you mean"); found {
			mend = "did you mean" + hint
		}
		c.warnf(varietyColumn, "variety-unknown", mend, "the variety %q is not known: the stone is judged as %s",
			c.Text(varietyColumn), m.species)
	case m.species != "" && !shareMaterial(m.named, v):
		c.faultf(varietyColumn, "variety-species", "correct the species or the variety",
			"%q is read as %s, which is no %s", c.Text(varietyColumn), v.ReadAs, m.species)
	default:
		species, variety := v.SpeciesVariety()
		if m.species == "" || len(v.Materials) < len(m.named.Materials) {
			m.species, m.named = species, v
		}
		c.misleads(varietyColumn, v)
		if m.variety = variety; variety == "" && v.RightName == "" {
			m.variety = c.Text(varietyColumn)
		}
		if v.Variety != nil {
			m.named = v
		}
	}
	return m
}

// misleads warns of a name that the trade may not sell the stone under.
func (c cells) misleads(column string, n facts.Named) {
	if words := n.Misleads(); words != "" {
		c.warnf(column, "name-misleads", "buy and sell it under its right name", "%s", words)
	}
}

func shareMaterial(a, b facts.Named) bool {
	for _, m := range a.Materials {
		for _, o := range b.Materials {
			if m == o {
				return true
			}
		}
	}
	return false
}

// shape reads a shape; one that the tables do not know is kept in lower case
// with a warning, since a lot may hold rough, carvings or mixed shapes.
func (c cells) shape(column string) string {
	if !c.filled(column) {
		return ""
	}
	s, f := cutting.ParseShape(c.Text(column))
	if f != nil {
		c.warnf(column, "shape-unknown", f.Mend, "%s: no weight estimate and no position will fit it", f.What)
		return strings.ToLower(c.Text(column))
	}
	return string(s)
}

// treatment reads a treatment; "not stated" and the like are unknown.
func treatment(s string) string {
	switch strings.ToLower(s) {
	case "unknown", "not stated", "not known", "?", "-", "n/a":
		return ""
	}
	return s
}
