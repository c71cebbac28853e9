package durability

import (
	"cmp"
	"fmt"
	"slices"

	"lotpaper/internal/facts"
)

// Clash is a stone that must not lie loose beside a harder one.
type Clash struct {
	Softer string  `json:"softer"`
	Harder string  `json:"harder"`
	By     float64 `json:"by"` // Mohs, from the least of the softer to the most of the harder
	Words  string  `json:"words"`
}

// half a step on the scale is within the spread of one species.
const clashFrom = 0.5

// BoxStone is one paper in a box: every material that it may hold.
type BoxStone struct {
	Name  string
	MayBe []*facts.Material
}

// Clashes tells which papers of one box or drawer hold a stone that is
// scratched by another that lies there loose: each once, against the hardest
// of the others. An unknown hardness is a clash with everything.
func Clashes(box []BoxStone) []Clash {
	var out []Clash
	for i, x := range box {
		soft := softest(x.MayBe)
		if len(box) < 2 {
			break
		}
		if soft == nil {
			out = append(out, Clash{Softer: x.Name, Words: x.Name + ": its hardness is unknown, keep it in a paper " +
				"of its own"})
			continue
		}
		worst := Clash{Softer: x.Name}
		for k, y := range box {
			if k == i {
				continue
			}
			for _, m := range y.MayBe {
				if m == nil || m == soft || !m.Hardness.Known {
					continue // a stone of its own kind, or one that has its own line
				}
				if by := m.Hardness.Max - soft.Hardness.Min; by > worst.By {
					worst.Harder, worst.By = y.Name, by
					worst.Words = fmt.Sprintf("%s (%g) is scratched by %s (%g): keep it in a paper of its own", x.Name,
						soft.Hardness.Min, y.Name, m.Hardness.Max)
				}
			}
		}
		if worst.By >= clashFrom {
			out = append(out, worst)
		}
	}
	slices.SortStableFunc(out, func(a, b Clash) int { return cmp.Compare(b.By, a.By) })
	return out
}

// softest is the material of least hardness; nil when one of them is unknown.
func softest(list []*facts.Material) *facts.Material {
	var out *facts.Material
	for _, m := range list {
		if m == nil || !m.Hardness.Known {
			return nil
		}
		if out == nil || m.Hardness.Min < out.Hardness.Min {
			out = m
		}
	}
	return out
}
