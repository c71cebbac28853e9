package facts

import (
	"slices"
	"strings"
	"sync"

	"lotpaper/internal/fault"
)

// Resolve reads a name as a dealer writes it: a species by its full or short
// name, a variety, a group or an alias of any of these. Case and repeated
// spaces do not matter. "X (Y)" that is not known as such is read as Y X, as
// the variety Y of X, or else as X; "X / Y" as both; "synthetic X" and the like as X,
// since nature is a facet of its own; a plural as its singular. An unknown
// name is a fault of kind Invalid, code "unknown-material", with the nearest
// known names.
func Resolve(name string) (Named, *fault.Fault) {
	if strings.TrimSpace(name) == "" {
		return Named{}, fault.New(fault.Invalid, "unknown-material", "the material has no name",
			"give a species, variety, group or trade name, e.g. topaz or aquamarine")
	}
	if n, ok := lookUp(fold(name)); ok {
		n.Asked = name
		return n, nil
	}
	mend := "give a species, variety, group or trade name, e.g. topaz or aquamarine"
	if hint := fault.DidYouMean(fold(name), names().known); hint != "" {
		mend = hint
	}
	return Named{}, fault.New(fault.Invalid, "unknown-material", "no material is known as \""+
		strings.TrimSpace(name)+"\"", mend)
}

// Misleads says that a name misleads, and what the stone is to be called; it is
// empty for any other name.
func (n Named) Misleads() string {
	if n.RightName == "" {
		return ""
	}
	return "\"" + strings.TrimSpace(n.Asked) + "\" is a misleading name: call it " + n.RightName
}

// Words say how a name was read, and whether it misleads.
func (n Named) Words() string {
	if words := n.Misleads(); words != "" {
		return n.ReadAs + "; " + words
	}
	return n.ReadAs
}

// SpeciesVariety are the facts' own names of the species, or of the group, and of
// the variety that a name was read as.
func (n Named) SpeciesVariety() (species, variety string) {
	if n.Variety != nil {
		return n.Variety.Species, n.Variety.Name
	}
	if len(n.Materials) == 1 {
		return n.Materials[0].Name, ""
	}
	group, _, _ := strings.Cut(strings.TrimPrefix(n.ReadAs, "group "), ":")
	return group, ""
}

// Groups returns the names of the groups and the names of their members.
func Groups() map[string][]string {
	out := map[string][]string{}
	for _, m := range Materials() {
		out[m.Group] = append(out[m.Group], m.Name)
	}
	return out
}

// natureWords may stand before a name and say nothing about the species.
var natureWords = []string{"natural ", "synthetic ", "laboratory-grown ", "lab-grown ", "laboratory grown ",
	"lab grown ", "created ", "cultured ", "genuine ", "treated ", "heated ", "irradiated ", "dyed "}

// lookUp reads a folded name, exactly first and then by the rules of Resolve.
func lookUp(name string) (Named, bool) {
	index := names().index
	if n, ok := index[name]; ok {
		return n, true
	}
	if outer, inner, ok := strings.Cut(strings.TrimSuffix(name, ")"), "("); ok {
		whole, okWhole := lookUp(strings.TrimSpace(outer))
		outer, inner = strings.TrimSpace(outer), strings.TrimSpace(inner)
		part, okPart := index[inner]
		if joined, ok := index[inner+" "+outer]; ok {
			return joined, true // "zircon (blue)"
		}
		switch {
		case okWhole && okPart && part.Variety != nil && slices.Contains(whole.Materials, part.Materials[0]):
			return part, true
		case okWhole:
			return whole, true
		}
	}
	if first, second, ok := strings.Cut(name, "/"); ok {
		a, okA := lookUp(strings.TrimSpace(first))
		b, okB := lookUp(strings.TrimSpace(second))
		if okA && okB {
			return either(a, b), true
		}
	}
	for _, w := range natureWords {
		if rest, ok := strings.CutPrefix(name, w); ok {
			if n, ok := lookUp(rest); ok {
				n.ReadAs += "; \"" + strings.TrimSpace(w) + "\" says nothing about the species"
				return n, true
			}
		}
	}
	if singular, ok := strings.CutSuffix(name, "s"); ok {
		if n, ok := index[singular]; ok {
			return n, true
		}
	}
	return Named{}, false
}

// either joins two readings of one name.
func either(a, b Named) Named {
	if a.Variety == b.Variety && slices.Equal(a.Materials, b.Materials) {
		return a
	}
	n := Named{ReadAs: a.ReadAs + ", or " + b.ReadAs, Materials: slices.Clone(a.Materials)}
	for _, m := range b.Materials {
		if !slices.Contains(n.Materials, m) {
			n.Materials = append(n.Materials, m)
		}
	}
	return n
}

// fold brings a name to the form of the index: lower case, single spaces,
// straight apostrophes, "color" for "colour".
func fold(name string) string {
	name = strings.Join(strings.Fields(strings.ToLower(name)), " ")
	name = strings.ReplaceAll(name, "colour", "color")
	return strings.ReplaceAll(name, "’", "'")
}

type nameIndex struct {
	index map[string]Named
	known []string
}

var names = sync.OnceValue(func() *nameIndex {
	x := &nameIndex{index: map[string]Named{}}
	// Earlier entries win: an alias never hides a species or a variety.
	add := func(name string, n Named) {
		key := fold(name)
		if _, taken := x.index[key]; !taken {
			x.index[key] = n
			x.known = append(x.known, key)
		}
	}
	aliases := readRows("aliases.csv")
	// A group that carries its members' plain name ("tourmaline", "zircon")
	// is what the trade means by it, so groups go before short names.
	for _, m := range Materials() {
		add(m.Name, Named{ReadAs: readAsMaterial(m), Materials: []*Material{m}})
	}
	for _, r := range aliases {
		if word(r, "kind", "material", "variety", "group") == "group" {
			n := groupOf(r)
			n.RightName = r.text("right_name")
			add(r.must("alias"), n)
		}
	}
	for group, members := range Groups() {
		n := Named{}
		for _, name := range members {
			n.Materials = append(n.Materials, MaterialNamed(name))
		}
		add(group+" group", n.asGroup(group))
	}
	for _, m := range Materials() {
		add(m.Short, Named{ReadAs: readAsMaterial(m), Materials: []*Material{m}})
	}
	for _, v := range Varieties() {
		m := MaterialNamed(v.Species)
		if m == nil {
			panic("facts: varieties.csv: " + v.Name + ": no material " + v.Species)
		}
		add(v.Name, Named{ReadAs: "variety " + v.Name + " of " + m.Short, Materials: []*Material{m}, Variety: v})
	}
	for _, r := range aliases {
		target := fold(r.must("targets"))
		switch r.text("kind") {
		case "material", "variety":
			n, ok := x.index[target]
			if !ok {
				r.fail("targets", "nothing is named "+target)
			}
			n.RightName = r.text("right_name")
			add(r.must("alias"), n)
		}
	}
	slices.Sort(x.known)
	return x
})

func readAsMaterial(m *Material) string {
	if m.Short != m.Name {
		return m.Short
	}
	return m.Name
}

// groupOf reads the members of a group: names of materials, or "group:NAME"
// for all materials with that word in their group column.
func groupOf(r row) Named {
	n := Named{}
	for _, target := range r.list("targets") {
		if group, ok := strings.CutPrefix(target, "group:"); ok {
			found := false
			for _, m := range Materials() {
				if m.Group == group {
					n.Materials = append(n.Materials, m)
					found = true
				}
			}
			if !found {
				r.fail("targets", "no material is of group "+group)
			}
			continue
		}
		m := MaterialNamed(target)
		if m == nil {
			r.fail("targets", "no material is named "+target)
		}
		n.Materials = append(n.Materials, m)
	}
	return n.asGroup(r.text("alias"))
}

// asGroup says how a group was read.
func (n Named) asGroup(name string) Named {
	members := make([]string, len(n.Materials))
	for i, m := range n.Materials {
		members[i] = m.Short
	}
	n.ReadAs = "group " + name + ": " + strings.Join(members, "; ")
	return n
}
