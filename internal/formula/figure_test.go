package formula

import (
	"testing"

	"lotpaper/internal/num"
)

// Figures read numbers that are given and figures before them; a sum reads its
// members as one list.
func TestValues(t *testing.T) {
	given := map[Key]num.Dec{"x/0": num.Int(3), "x/1": num.MustDec("4.5"), "cost": num.Int(2)}
	member := func(i int) Key { return At("x", i) }
	figures := []Figure{SumOf("all", 2, member), SumOf("none", 0, member),
		{Key: "earns", Expr: Of("all", "").Minus(Of("cost", ""))},
		{Key: "share", Expr: PercentOf(Of("earns", ""), Of("all", ""))},
		{Key: "of nothing", Expr: PercentOf(Of("earns", ""), Of("none", ""))}}
	got, err := Values(given, figures)
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[Key]string{"all": "7.5", "none": "0", "earns": "5.5", "share": "73.333",
		"of nothing": "0"} {
		if d, err := got[key].Dec(3, num.HalfUp); err != nil || d.String() != want {
			t.Errorf("%s = %s (%v), want %s", key, d, err, want)
		}
	}
	for name, bad := range map[string][]Figure{
		"a figure before what it reads": {{Key: "later", Expr: Of("earns", "")}, figures[0], figures[2]},
		"a sum of what is not there":    {SumOf("all", 3, member)},
	} {
		if v, err := Values(given, bad); err == nil {
			t.Errorf("%s has values: %v", name, v)
		}
	}
}
