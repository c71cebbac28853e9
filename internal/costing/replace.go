package costing

import (
	"strings"

	"lotpaper/internal/chance"
	"lotpaper/internal/num"
)

// Replace returns the piece with some of its own inputs replaced, by the keys
// that its tree names: design/NAME/metal_g, fineness, labour_min, findings and
// returns (percent), and for the stones of POSITION and LOT their cost, count
// and breakage (percent).
// Other keys are left to RateCard.Replace.
func (in PieceInput) Replace(values map[string]num.Dec) PieceInput {
	prefix := "design/" + in.Design + "/"
	at := func(key string) (num.Dec, bool) { v, ok := values[key]; return v, ok }
	if v, ok := at(prefix + "metal_g"); ok {
		in.MetalWeight = num.GramFromDec(v, num.HalfUp)
	}
	if v, ok := at(prefix + "fineness"); ok {
		in.Fineness = v
	}
	if v, ok := at(prefix + "labour_min"); ok {
		in.Labour = v
	}
	if v, ok := at(prefix + "findings"); ok {
		in.Findings = num.MoneyFromDec(v, in.Findings.Currency(), num.HalfUp)
	}
	if v, ok := at(prefix + "returns"); ok {
		in.Returns = chance.BetaOf(v.Float()/100, in.Returns.A+in.Returns.B)
	}
	stones := make([]StoneInput, len(in.Stones))
	for i, s := range in.Stones {
		key := stoneKey(in.Design, s)
		if v, ok := at(key); ok {
			s.Cost = num.MoneyFromDec(v, s.Cost.Currency(), num.HalfUp)
		}
		if v, ok := at(key + "/count"); ok {
			s.Pieces = int64(v.Float())
		}
		if v, ok := at(key + "/breakage"); ok {
			s.Breakage = chance.BetaOf(v.Float()/100, s.Breakage.A+s.Breakage.B)
		}
		stones[i] = s
	}
	in.Stones = stones
	return in
}

// uses tells whether a tree has an input of that key.
func (n *Node) uses(key string) bool {
	found := false
	n.Walk(func(_ int, n *Node) {
		for _, in := range n.Inputs {
			found = found || in.Key == key
		}
	})
	return found
}

// Swings are the inputs of trees with the range that each may take: the
// published one of a default rate, else 10 % either way, marked as assumed.
// Counts and fineness are decisions, not uncertainties, and are left out.
func Swings(trees ...*Node) []Swing {
	seen := map[string]bool{}
	var out []Swing
	for _, t := range trees {
		t.Walk(func(_ int, n *Node) {
			for _, in := range n.Inputs {
				if seen[in.Key] || in.Key == baseKey || in.Value.Sign() <= 0 || strings.HasSuffix(in.Key, "/count") || strings.HasSuffix(in.Key, "/fineness") {
					continue
				}
				seen[in.Key] = true
				s, ok := DefaultSwing(in.Key)
				if !ok || s.Base.Cmp(in.Value) != 0 {
					s = SwingOf(in.Key, in.Name, in.Value, in.Unit)
				}
				if strings.HasPrefix(in.Key, "design/") {
					s.Name = strings.TrimPrefix(in.Key, "design/") + ": " + in.Name
				}
				out = append(out, s)
			}
		})
	}
	return out
}
