package cli

import (
	"strings"
	"testing"

	"lotpaper/internal/answer"
)

func TestParseAlloyPart(t *testing.T) {
	p, f := parseAlloyPart(" Xy =20@7.3")
	if f != nil || p.Metal != "Xy" || p.Parts.String() != "20" || p.Density.String() != "7.3" {
		t.Errorf("%+v, %v", p, f)
	}
	for _, bad := range []string{"", "Au", "=5", "Au=x", "Au=5@", "Au=5@heavy"} {
		if _, f := parseAlloyPart(bad); f == nil || f.Where.Field != "part" {
			t.Errorf("%q: %v", bad, f)
		}
	}
}

// A calculation is a table with its formula and source, and one document; its
// faults come at once and point at flags.
func TestCalc_Forms(t *testing.T) {
	p := newProgram(t)
	out := p.must("calc", "sg", "--air", "4.02", "--water", "3.02")
	if !strings.HasPrefix(out, "result\tvalue\nsg\t4.02\n") || !strings.Contains(out, "\nsource: ") {
		t.Errorf("text:\n%s", out)
	}
	out = p.must("calc", "fx", "--amount", "1250", "--from", "USD", "--to", "EUR", "--rate", "0.9214", "--json")
	if !strings.Contains(out, `"amount": "1151.75"`) || !strings.Contains(out, `"schema": "lotpaper/calc-fx/1"`) {
		t.Errorf("JSON:\n%s", out)
	}
	wantFault(t, p.run("calc", "wax", "--wax", "x", "--metal", "sterling", "--multiplier", "y"), 2, "where: --wax",
		"where: --multiplier")
	wantFault(t, p.run("calc", "sg", "--air", "4.02", "--water", "3.02", "--water-c", "300"), 2, "where: --water-c")
}

func TestCalculation_Order(t *testing.T) {
	var c answer.Calculation
	c.Input("b", "2")
	c.Input("none", "")
	c.Input("a", "1")
	raw, err := c.Inputs.MarshalJSON()
	if err != nil || string(raw) != `{"b":"2","a":"1"}` {
		t.Errorf("%s, %v", raw, err)
	}
}
