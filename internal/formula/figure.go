package formula

import (
	"fmt"

	"lotpaper/internal/num"
)

// Figure is a number of a calculation under its key, with the expression that
// it follows from.
type Figure struct {
	Key  Key
	Expr Expr
	List []Key // of a sum: the figures that Expr reads as one list, by ListKey
}

// ListKey is the key by which a sum reads what it adds.
func (f Figure) ListKey() Key { return "list of " + f.Key }

// SumOf is the figure that adds n figures.
func SumOf(key Key, n int, member func(int) Key) Figure {
	f := Figure{Key: key, List: make([]Key, n)}
	for i := range f.List {
		f.List[i] = member(i)
	}
	f.Expr = Sum(Of(f.ListKey(), ""))
	return f
}

// PercentOf is a part in percent of a whole, 0 where there is none.
func PercentOf(part, whole Expr) Expr {
	zero := Int(0)
	return If(whole.Equals(zero), zero, part.Over(whole).Times(Int(100)))
}

// Values computes figures in their order: each reads numbers that are given,
// and figures before it.
func Values(given map[Key]num.Dec, figures []Figure) (map[Key]Value, error) {
	out := make(map[Key]Value, len(given)+len(figures))
	for k, d := range given {
		out[k] = Exact(d)
	}
	get := func(k Key) (Value, error) {
		v, ok := out[k]
		if !ok {
			return Value{}, fmt.Errorf("%s is not known", k)
		}
		return v, nil
	}
	for _, f := range figures {
		if f.List != nil {
			members := make([]Value, len(f.List))
			for i, k := range f.List {
				var err error
				if members[i], err = get(k); err != nil {
					return nil, err
				}
			}
			list, err := List(members...)
			if err != nil {
				return nil, err
			}
			out[f.ListKey()] = list
		}
		v, err := f.Expr.Evaluate(get)
		if err != nil {
			return nil, err
		}
		out[f.Key] = v
	}
	return out, nil
}
