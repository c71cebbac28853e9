package answer

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Stated carats in a cell are those of num, by either rule.
func TestStated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := num.Carat(rapid.Int64Range(0, 1e9).Draw(t, "thousandths"))
		for _, rule := range []num.CaratRule{num.RuleNine, num.RuleHalfUp} {
			tally := newTally("EUR")
			tally.input("scale", c.Dec())
			tally.formula("stated", stated(of("scale"), rule))
			if got, err := tally.dec("stated", 6); err != nil || got.Cmp(c.Hundredths(rule).Dec()) != 0 {
				t.Fatalf("%s ct by %s: cell %s (%v), num %s", c, rule, got, err, c.Hundredths(rule).Dec())
			}
		}
	})
}

func TestTally_Refused(t *testing.T) {
	tally := newTally("EUR")
	tally.formula("a", of("b").Plus(formula.Int(1)))
	tally.formula("b", of("a").Plus(formula.Int(1)))
	if _, err := tally.get("a"); tally.err != nil || err == nil || !strings.Contains(err.Error(), "depends on itself") {
		t.Errorf("got %v, %v", tally.err, err)
	}
	if tally.formula("a", formula.Int(1)); tally.err == nil {
		t.Error("a key was taken twice")
	}
	if _, err := tally.get("none"); err == nil {
		t.Error("a figure that is not there has a value")
	}
}

// A price under the cost is no fault: it is said, on the Summary, on Pieces
// and in the text.
func TestProposal_PriceUnderCost(t *testing.T) {
	p := sampleProposal(t)
	p.Designs[1].Prices[0].Breaks = nil
	p.Designs[1].Prices[0].Price = Node{Key: formula.At("price", 2, 0), Label: "Trade price", Amount: eur("99.00"),
		Words: "set by hand"}
	retail := &p.Designs[1].Prices[1]
	retail.Price.Formula, retail.Price.Amount = formula.Expr{}, eur("250.00")
	b, err := p.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	f := readXLSX(t, writeBook(t, b))
	found := map[string]bool{}
	for _, name := range []string{"Summary", "Pieces"} {
		for _, c := range f.cells[name] {
			if c.Formula != "" && (c.Value == "the trade price is lower than the cost" ||
				strings.HasPrefix(c.Value, "A price is lower than its cost")) {
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
