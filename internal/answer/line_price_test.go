package answer

import (
	"encoding/json"
	"strings"
	"testing"

	"lotpaper/internal/costing"
	"lotpaper/internal/num"
)

// A design that no quantity brings to break-even says never, and names no
// sales.
func TestDesignPrice_JSON(t *testing.T) {
	eur := func(cents int64) Amount { return Amount{num.FromMinor(cents, "EUR")} }
	sales := eur(99000)
	for _, c := range []struct {
		design DesignPrice
		want   []string
	}{
		{DesignPrice{Design: "Ring", Trade: eur(19000), BreakEven: 6, BreakEvenSales: &sales},
			[]string{`"trade_price":"190.00"`, `"break_even_units":"6"`, `"break_even_sales":"990.00"`}},
		{DesignPrice{Design: "Drop", BreakEven: -1},
			[]string{`"retail_price_net":"0.00"`, `"break_even_units":"never"`, `"break_even_sales":null`}},
	} {
		raw, err := json.Marshal(c.design)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range c.want {
			if !strings.Contains(string(raw), want) {
				t.Errorf("%s: %s is not in %s", c.design.Design, want, raw)
			}
		}
	}
}

func TestLinePrice_Design(t *testing.T) {
	p := LinePrice{Designs: []DesignPrice{{Design: "Ring", Open: true}, {Design: "Drop", Open: true, Note: "bare"}}}
	if d := p.Design("DROP"); d == nil || d.remark() != "priced by the book; bare" {
		t.Errorf("a design is found in any case: %+v", d)
	}
	if d := p.Design("ring"); d == nil || d.remark() != "priced by the book" {
		t.Errorf("a remark without a note: %+v", d)
	}
	if d := p.Design("Stud"); d != nil {
		t.Errorf("a design that is not there: %+v", d)
	}
}

// The pictures of a risk hold what its figures say, and at most twelve bars.
func TestLineRisk_Figures(t *testing.T) {
	r := LineRisk{Head: Head{Currency: "EUR"}, Line: "Sea", Earned: Amount{num.FromMinor(5000, "EUR")},
		Outcome: costing.Outcome{Runs: 100, P10: costing.Figure{Value: 10.5}, P50: costing.Figure{Value: 50},
			P90: costing.Figure{Value: 90}, Bins: []costing.Bin{{Low: 0, High: 50, Count: 40}, {Low: 50, High: 100,
				Count: 60}}}}
	for range 20 {
		r.Moves = append(r.Moves, RiskMove{Input: "gold", Unit: "EUR/g", Low: num.Int(70), High: num.Int(110),
			AtLow: Amount{num.FromMinor(9000, "EUR")}, AtHigh: Amount{num.FromMinor(1000, "EUR")}, Assumed: true})
	}
	h := r.Histogram()
	if h.Title != "Profit of the line Sea in 100 runs" || h.P10 != 10.5 || len(h.Bars) != 2 || h.Bars[1].Count != 60 {
		t.Errorf("histogram: %+v", h)
	}
	tornado := r.Tornado()
	if len(tornado.Bars) != tornadoBars || tornado.Base != 50 || tornado.Bars[0].Input != "gold, EUR/g" ||
		tornado.Bars[0].AtLow != 90 || tornado.Bars[0].High != "110" {
		t.Errorf("tornado: %+v", tornado)
	}
	if got := r.Moves[0].whose(); got != "10 % either way" {
		t.Errorf("a range of ours: %s", got)
	}
}
