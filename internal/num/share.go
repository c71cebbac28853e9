package num

import (
	"math/big"
	"slices"
)

// Share splits m over the weights so that the parts add up to m exactly: each
// part is a whole number of minor units, the leftover units go to the largest
// remainders, ties by order. Weights are not negative; when all are zero the
// parts are equal. m must be a whole number of minor units, else its odd
// millionths go to the first part that gets a leftover unit.
func (m Money) Share(weights []Dec) []Money {
	unit := minorMicros(m.currency)
	units, odd := m.micros/unit, m.micros%unit
	parts := shareInt(units, weights)
	out := make([]Money, len(parts))
	for i, p := range parts {
		out[i] = Money{p * unit, m.currency}
	}
	if odd != 0 && len(out) > 0 {
		out[0].micros += odd
	}
	return out
}

// ShareCarats splits w over the weights in thousandths, as Share does.
func (c Carat) ShareCarats(weights []Dec) []Carat {
	parts := shareInt(int64(c), weights)
	out := make([]Carat, len(parts))
	for i, p := range parts {
		out[i] = Carat(p)
	}
	return out
}

// ShareInt splits a count over the weights, as Share does.
func ShareInt(total int64, weights []Dec) []int64 { return shareInt(total, weights) }

// shareInt is the largest-remainder method on whole units.
func shareInt(total int64, weights []Dec) []int64 {
	if len(weights) == 0 {
		return nil
	}
	places := 0
	sum := Dec{}
	for _, w := range weights {
		sum = sum.Add(w)
		places = max(places, w.Places())
	}
	scaled := make([]*big.Int, len(weights))
	whole := new(big.Int)
	for i, w := range weights {
		if sum.IsZero() {
			w = Int(1)
		}
		scaled[i] = w.d.Shift(int32(places)).BigInt()
		whole.Add(whole, scaled[i])
	}
	neg := total < 0
	if neg {
		total = -total
	}
	out := make([]int64, len(weights))
	rest := make([]*big.Int, len(weights))
	left := total
	for i, s := range scaled {
		q, r := new(big.Int).QuoRem(new(big.Int).Mul(big.NewInt(total), s), whole, new(big.Int))
		out[i], rest[i] = q.Int64(), r
		left -= out[i]
	}
	order := make([]int, len(weights))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return rest[b].Cmp(rest[a]) })
	for _, i := range order[:left] {
		out[i]++
	}
	if neg {
		for i := range out {
			out[i] = -out[i]
		}
	}
	return out
}
