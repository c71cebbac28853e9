package identify

import "lotpaper/internal/facts"

// Level is how deep an answer goes.
type Level string

// The levels of an answer.
const (
	MaterialLevel Level = "material"
	SeriesLevel   Level = "series"
	FamilyLevel   Level = "family"
)

// Named is the answer to what a stone is: a material, a series whose members
// constants do not tell apart, or a family of series.
type Named struct {
	Name    string
	Level   Level
	Members []*facts.Material // one for a material
	Share   float64
	Nearest *facts.Material // the likeliest member
	// ToldApartBy is what tells the members of a series apart: "sheen",
	// "magnification", "laboratory" or empty.
	ToldApartBy string
}

// node is a material, series or family of the table.
type node struct {
	name    string
	level   Level
	members []*facts.Material
	rows    []int32
	stops   bool
	apart   string
}

// group puts the materials of the table into series and families.
func (t *Table) group(members []*facts.SeriesMember) {
	place := make(map[string]int32, len(t.Materials))
	for i, m := range t.Materials {
		place[m.Name] = int32(i)
		t.nodes = append(t.nodes, node{name: m.Name, level: MaterialLevel, members: t.Materials[i : i+1],
			rows: []int32{int32(i)}})
		t.rows[i].series, t.rows[i].family = -1, -1
	}
	named := map[string]int32{}
	into := func(name string, level Level) int32 {
		key := string(level) + name
		n, ok := named[key]
		if !ok {
			n = int32(len(t.nodes))
			named[key] = n
			t.nodes = append(t.nodes, node{name: name, level: level})
		}
		return n
	}
	for _, s := range members {
		for _, m := range s.Materials {
			i, ok := place[m.Name]
			if !ok || t.Materials[i] != m {
				continue
			}
			add := func(n int32) {
				t.nodes[n].members = append(t.nodes[n].members, m)
				t.nodes[n].rows = append(t.nodes[n].rows, i)
			}
			t.rows[i].series = into(s.Series, SeriesLevel)
			add(t.rows[i].series)
			t.nodes[t.rows[i].series].stops, t.nodes[t.rows[i].series].apart = s.Stops, s.ToldApartBy
			if s.Family != "" {
				t.rows[i].family = into(s.Family, FamilyLevel)
				add(t.rows[i].family)
			}
		}
	}
}

// answer is the deepest node that names a material: its series when the members
// are not told apart, else itself.
func (t *Table) answer(material int32) int32 {
	if s := t.rows[material].series; s >= 0 && t.nodes[s].stops {
		return s
	}
	return material
}

// share of a node under the shares of the materials.
func (t *Table) share(n int32, shares []float64) float64 {
	sum := 0.0
	for _, i := range t.nodes[n].rows {
		sum += shares[i]
	}
	return sum
}

// deepest is the deepest node above a material with at least that share, -1
// when not even its family has it.
func (t *Table) deepest(material int32, shares []float64, least float64) int32 {
	r := &t.rows[material]
	for _, n := range [...]int32{t.answer(material), r.series, r.family} {
		if n >= 0 && t.share(n, shares) >= least {
			return n
		}
	}
	return -1
}

// named is a node as an answer.
func (v *Verdict) named(n int32) Named {
	node := &v.table.nodes[n]
	best := node.rows[0]
	for _, i := range node.rows {
		if v.shares[i] > v.shares[best] {
			best = i
		}
	}
	return Named{Name: node.name, Level: node.level, Members: node.members, Share: v.table.share(n, v.shares),
		Nearest: v.table.Materials[best], ToldApartBy: node.apart}
}

// Leading returns the likeliest answers, materials or series, best first, at
// most n and none below the least share.
func (v *Verdict) Leading(n int, least float64) []Named {
	var out []Named
	seen := make(map[int32]bool)
	for len(out) < n {
		best, share := int32(-1), least
		for i := range v.shares {
			a := v.table.answer(int32(i))
			if seen[a] || v.shares[i] == 0 {
				continue
			}
			if s := v.table.share(a, v.shares); s >= share && (best < 0 || s > share) {
				best, share = a, s
			}
		}
		if best < 0 {
			break
		}
		seen[best] = true
		out = append(out, v.named(best))
	}
	return out
}
