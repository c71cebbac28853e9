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

// Clashes tells which materials of one box or drawer are scratched by another
// that lies there loose: each softer material once, against the hardest. An
// unknown hardness is a clash with everything.
func Clashes(box []*facts.Material) []Clash {
	var hardest *facts.Material
	for _, m := range box {
		if m != nil && m.Hardness.Known && (hardest == nil || m.Hardness.Max > hardest.Hardness.Max) {
			hardest = m
		}
	}
	var out []Clash
	seen := map[*facts.Material]bool{}
	for _, m := range box {
		if m == nil || seen[m] || len(box) < 2 {
			continue
		}
		seen[m] = true
		switch {
		case !m.Hardness.Known:
			out = append(out, Clash{Softer: m.Name, Words: m.Name + ": its hardness is unknown, keep it in a paper of its own"})
		case m != hardest && hardest.Hardness.Max-m.Hardness.Min >= clashFrom:
			by := hardest.Hardness.Max - m.Hardness.Min
			out = append(out, Clash{m.Name, hardest.Name, by, fmt.Sprintf("%s (%g) is scratched by %s (%g): keep it in a paper of its own", m.Name, m.Hardness.Min, hardest.Name, hardest.Hardness.Max)})
		}
	}
	slices.SortStableFunc(out, func(a, b Clash) int { return cmp.Compare(b.By, a.By) })
	return out
}
