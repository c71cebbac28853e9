package allocate

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// A price times a part is rounded the way that keeps the bound: math/big is the
// yardstick.
func TestExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		price := rapid.Int64Range(-1<<40, 1<<40).Draw(t, "price")
		unit := rapid.Int64Range(1, whole).Draw(t, "unit")
		part := rapid.Int64Range(-unit<<10, unit<<10).Draw(t, "part")
		want, rest := new(big.Int).DivMod(new(big.Int).Mul(big.NewInt(price), big.NewInt(part)), big.NewInt(unit),
			new(big.Int)) // rounded down, the unit being positive
		if got := exactly(price, part, unit, false); got != want.Int64() {
			t.Fatalf("%d x %d / %d down: %d, want %d", price, part, unit, got, want)
		}
		if rest.Sign() > 0 {
			want.Add(want, big.NewInt(1))
		}
		if got := exactly(price, part, unit, true); got != want.Int64() {
			t.Fatalf("%d x %d / %d up: %d, want %d", price, part, unit, got, want)
		}
	})
}
