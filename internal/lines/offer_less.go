package lines

import (
	"reflect"

	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
)

// less takes a line off another one: the same design drawn with the same luck,
// everything it earns and costs the other way round. Designs that are the same
// in both fall out.
func less(m, minus *costing.Model) {
	var plus []costing.ModelDesign
	at, same := map[string]int{}, map[int]bool{}
	for i, x := range minus.Designs {
		at[x.Name] = i
	}
	for _, d := range m.Designs {
		if i, ok := at[d.Name]; ok && reflect.DeepEqual(d, minus.Designs[i]) {
			same[i] = true
			continue
		}
		plus = append(plus, d)
	}
	for i, x := range minus.Designs {
		if same[i] {
			continue
		}
		x.Price, x.Base, x.Fixed, x.Salvage, x.ReturnCost = x.Price.Neg(), x.Base.Neg(), x.Fixed.Neg(), x.Salvage.Neg(),
			x.ReturnCost.Neg()
		x.Exposed, x.Billed = negated(x.Exposed), negated(x.Billed)
		stones := make([]costing.ModelStone, len(x.Stones))
		for j, s := range x.Stones {
			s.Each, s.Wrong, s.Cut = s.Each.Neg(), s.Wrong.Neg(), s.Cut.Neg()
			stones[j] = s
		}
		x.Stones = stones
		plus = append(plus, x)
	}
	m.Designs = plus
	if m.Beliefs == nil {
		m.Beliefs, m.Drivers = map[string]chance.Beta{}, map[string]costing.Driver{}
	}
	for name, b := range minus.Beliefs {
		m.Beliefs[name] = b
	}
	for name, d := range minus.Drivers {
		m.Drivers[name] = d
	}
}

func negated(exposed []costing.Exposed) []costing.Exposed {
	out := make([]costing.Exposed, len(exposed))
	for i, e := range exposed {
		out[i] = costing.Exposed{Driver: e.Driver, Amount: e.Amount.Neg()}
	}
	return out
}
