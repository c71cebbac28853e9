package answer

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/num"
)

func evalText(t interface{ Fatalf(string, ...any) }, formula string, get func(string) (result, error)) result {
	e, err := parse(formula)
	if err != nil {
		t.Fatalf("%v", err)
	}
	r, err := e.eval(get)
	if err != nil {
		t.Fatalf("%s: %v", formula, err)
	}
	return r
}

func TestFormula_Values(t *testing.T) {
	get := func(key string) (result, error) {
		switch key {
		case "a b":
			return one(big.NewRat(7, 2)), nil
		case "list":
			return result{numbers: []*big.Rat{big.NewRat(1, 1), big.NewRat(2, 1), big.NewRat(-5, 1)}}, nil
		}
		return result{}, fmt.Errorf("no %s", key)
	}
	for formula, want := range map[string]string{
		"1+2*3": "7", "(1+2)*3": "9", "10-4-3": "3", "12/4/3": "1", "-2*-3": "6", "2-(3-4)": "3", "{a b}*2": "7",
		"ROUND(2.5,0)": "3", "ROUND(-2.5,0)": "-3", "ROUND(1.005,2)": "1.01", "ROUND(1234,-2)": "1200", "ROUNDUP(1.001,2)": "1.01", "ROUNDUP(-1.001,2)": "-1.01", "ROUNDDOWN(1.009,2)": "1",
		"SUM({list})": "-2", "MIN({list},{a b})": "-5", "MAX({list},{a b})": "3.5", "SUM({list},1,{a b})": "2.5", "ABS(-4)": "4",
		"IF({a b}>3,1,2)": "1", "IF({a b}<=3,1,2)": "2", "IF(1<>1,1,0)": "0", "IF(1=1,1/1,1/0)": "1",
	} {
		r := evalText(t, formula, get)
		n, err := r.number()
		if err != nil {
			t.Fatalf("%s: %v", formula, err)
		}
		if got := decimal(n, 6).String(); got != want {
			t.Errorf("%s = %s, want %s", formula, got, want)
		}
	}
	if r := evalText(t, `IF({a b}>9,"yes","no")`, get); !r.isText || r.text != "no" {
		t.Errorf("a text came out as %+v", r)
	}
}

func TestFormula_Refused(t *testing.T) {
	for _, f := range []string{"", "1+", "(1", "{a", `"x`, "LET(1,2)", "1 2", "ROUND(1)", "ROUND(1,2,3)", "1,2", "$A$1", "=1"} {
		if _, err := parse(f); err == nil {
			t.Errorf("%q was read", f)
		}
	}
	for _, f := range []string{"1/0", "ROUND(1,99)", `"a"+1`, "{none}"} {
		e, err := parse(f)
		if err != nil {
			t.Fatal(err)
		}
		if r, err := e.eval(func(string) (result, error) { return result{}, fmt.Errorf("unknown") }); err == nil {
			t.Errorf("%s gave %+v", f, r)
		}
	}
}

// drawFormula draws a formula over two keys.
func drawFormula(t *rapid.T, depth int) string {
	if depth == 0 {
		return rapid.SampledFrom([]string{"{x}", "{y}", "2", "0.5", "13"}).Draw(t, "leaf")
	}
	a, b := drawFormula(t, depth-1), drawFormula(t, depth-1)
	switch rapid.IntRange(0, 6).Draw(t, "kind") {
	case 0:
		return "ROUND(" + a + ",2)"
	case 1:
		return "-(" + a + ")"
	case 2:
		return "IF(" + a + ">" + b + "," + a + "," + b + ")"
	case 3:
		return "SUM(" + a + "," + b + ")"
	}
	return "(" + a + ")" + rapid.SampledFrom([]string{"+", "-", "*"}).Draw(t, "op") + "(" + b + ")"
}

// What is written into a cell means what was read: brackets are kept where
// they matter.
func TestFormula_CellsMeanTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		formula := drawFormula(t, 3)
		x, y := big.NewRat(rapid.Int64Range(-500, 500).Draw(t, "x"), 8), big.NewRat(rapid.Int64Range(-500, 500).Draw(t, "y"), 5)
		get := func(key string) (result, error) {
			if key == "x" {
				return one(x), nil
			}
			return one(y), nil
		}
		e, err := parse(formula)
		if err != nil {
			t.Fatal(err)
		}
		written, err := e.cells(func(key string) (string, error) { return "{" + key + "}", nil })
		if err != nil {
			t.Fatal(err)
		}
		a, b := evalText(t, formula, get), evalText(t, written, get)
		if a.numbers[0].Cmp(b.numbers[0]) != 0 {
			t.Fatalf("%s was written as %s: %s became %s", formula, written, a.numbers[0], b.numbers[0])
		}
	})
}

// Rounding agrees with num's, which books the money.
func TestFormula_RoundsAsNum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := num.Scaled(rapid.Int64Range(-1e12, 1e12).Draw(t, "n"), rapid.IntRange(0, 9).Draw(t, "scale"))
		places := rapid.IntRange(0, 6).Draw(t, "places")
		for name, rule := range map[string]num.Rounding{"ROUND": num.HalfUp, "ROUNDUP": num.Up, "ROUNDDOWN": num.Down} {
			r := evalText(t, fmt.Sprintf("%s({d},%d)", name, places), func(string) (result, error) { return one(exact(d)), nil })
			if want := exact(d.Round(places, rule)); r.numbers[0].Cmp(want) != 0 {
				t.Fatalf("%s(%s,%d) = %s, num gives %s", name, d, places, r.numbers[0].FloatString(9), want.FloatString(9))
			}
		}
	})
}

// Stated carats in a cell are those of num, by either rule.
func TestStatedFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := num.Carat(rapid.Int64Range(0, 1e9).Draw(t, "thousandths"))
		for _, rule := range []num.CaratRule{num.RuleNine, num.RuleHalfUp} {
			r := evalText(t, statedFormula("{c}", rule), func(string) (result, error) { return one(exact(c.Dec())), nil })
			if want := exact(c.Hundredths(rule).Dec()); r.numbers[0].Cmp(want) != 0 {
				t.Fatalf("%s ct by %s: cell %s, num %s", c, rule, r.numbers[0].FloatString(3), want.FloatString(3))
			}
		}
	})
}

// Names of designs are free: braces in pairs may stand in a key, and quotes in
// the name of a tier.
func TestTally_FreeNames(t *testing.T) {
	tally := newTally("EUR")
	b := tallyBuilder{t: tally}
	b.input("design/Tide {blue}/metal_g", num.MustDec("4"))
	b.formula("double", "{design/Tide {blue}/metal_g}*2")
	if d, err := tally.dec("double", 0); b.err != nil || err != nil || d.String() != "8" {
		t.Errorf("got %s, %v, %v", d, b.err, err)
	}
	if err := tally.input("a}b{", num.Dec{}); err == nil {
		t.Error("a key with unpaired braces was taken")
	}
	p := sampleProposal(t)
	for i := range p.Designs {
		p.Designs[i].Prices[0].Tier = `the "inner circle"`
	}
	if _, err := p.Workbook(); err != nil {
		t.Error(err)
	}
}

func TestTally_Circle(t *testing.T) {
	tally := newTally("EUR")
	b := tallyBuilder{t: tally}
	b.formula("a", "{b}+1")
	b.formula("b", "{a}+1")
	if _, err := tally.get("a"); b.err != nil || err == nil || !strings.Contains(err.Error(), "depends on itself") {
		t.Errorf("got %v, %v", b.err, err)
	}
	if err := tally.formula("a", "1"); err == nil {
		t.Error("a key was taken twice")
	}
}

// A price under the cost is no fault: it is said, on the Summary, on Pieces
// and in the text.
func TestProposal_PriceUnderCost(t *testing.T) {
	p := sampleProposal(t)
	p.Designs[1].Prices[0].Breaks = nil
	p.Designs[1].Prices[0].Price = Node{Key: "price/Drift/trade", Label: "Trade price", Amount: eur("99.00"), Words: "set by hand"}
	retail := &p.Designs[1].Prices[1]
	retail.Price.Formula, retail.Price.Amount = "", eur("250.00")
	b, err := p.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	f := readXLSX(t, writeBook(t, b))
	found := map[string]bool{}
	for _, name := range []string{"Summary", "Pieces"} {
		for _, c := range f.cells[name] {
			if c.Formula != "" && (c.Value == "the trade price is lower than the cost" || strings.HasPrefix(c.Value, "A price is lower than its cost")) {
				found[name] = true
			}
		}
	}
	if !found["Summary"] || !found["Pieces"] {
		t.Errorf("the warning stands on %v", found)
	}
	if !strings.Contains(p.Text(), "the trade price is lower than the cost") {
		t.Error("the text says nothing of it")
	}
}
