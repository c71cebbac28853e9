package costing

import (
	"strings"

	"lotpaper/internal/chance"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Replacing says which inputs have another value, and which.
type Replacing func(Input) (num.Dec, bool)

// ByKey replaces inputs by their keys.
func ByKey(values map[formula.Key]num.Dec) Replacing {
	return func(in Input) (num.Dec, bool) { v, ok := values[in.Key]; return v, ok }
}

// ByPath replaces inputs by their paths, as a person names them.
func ByPath(values map[string]num.Dec) Replacing {
	return func(in Input) (num.Dec, bool) { v, ok := values[in.Path]; return v, ok }
}

// Replace returns the card with the values of some rates replaced.
func (c RateCard) Replace(value Replacing) RateCard {
	for _, r := range c.Rates {
		if v, ok := value(rateInput(r)); ok {
			if now, found := c.Find(r.Kind, r.Name); found {
				now.Value = v
				c = c.With(now)
			}
		}
	}
	return c
}

// Replace returns the piece with some of its own inputs replaced.
func (in PieceInput) Replace(value Replacing) PieceInput {
	out := in
	if v, ok := value(in.metalGrams()); ok {
		out.MetalWeight = num.GramFromDec(v, num.HalfUp)
	}
	if v, ok := value(in.fineness()); ok {
		out.Fineness = v
	}
	if v, ok := value(in.labourMinutes()); ok {
		out.Labour = v
	}
	if v, ok := value(in.findings()); ok {
		out.Findings = num.MoneyFromDec(v, in.Findings.Currency(), num.HalfUp)
	}
	if v, ok := value(in.returns()); ok {
		out.Returns = chance.BetaOf(v.Float()/100, in.Returns.A+in.Returns.B)
	}
	out.Stones = make([]StoneInput, len(in.Stones))
	for i, s := range in.Stones {
		if v, ok := value(in.stones(i)); ok {
			s.Cost = num.MoneyFromDec(v, s.Cost.Currency(), num.HalfUp)
		}
		if v, ok := value(in.count(i)); ok {
			s.Pieces = int64(v.Float())
		}
		if v, ok := value(in.breakage(i)); ok {
			s.Breakage = chance.BetaOf(v.Float()/100, s.Breakage.A+s.Breakage.B)
		}
		out.Stones[i] = s
	}
	return out
}

// uses reports whether a tree has an input of that key.
func (n *Node) uses(key formula.Key) bool {
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
	seen := map[formula.Key]bool{}
	var out []Swing
	for _, t := range trees {
		t.Walk(func(_ int, n *Node) {
			for _, in := range n.Inputs {
				if seen[in.Key] || in.Kind == OfNode || in.Kind == Decided || in.Value.Sign() <= 0 {
					continue
				}
				seen[in.Key] = true
				s, ok := DefaultSwing(in.Path)
				if !ok || s.Base.Cmp(in.Value) != 0 {
					s = SwingOf(in)
				}
				if in.Kind == OfDesign {
					s.Name = strings.TrimPrefix(in.Path, "design/") + ": " + in.Name
				}
				out = append(out, s)
			}
		})
	}
	return out
}
