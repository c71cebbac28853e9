package costing

import (
	"math"
	"strings"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

func TestSensitivity_LinearSlope(t *testing.T) {
	// Profit = 3 gold - 2 labour + 10: the slope of a linear input is its coefficient.
	base := map[formula.Key]num.Dec{"gold": num.Int(100), "labour": num.Int(40), "packing": num.Int(1)}
	profit := func(with map[formula.Key]num.Dec) (num.Money, fault.List) {
		at := func(k formula.Key) num.Dec {
			if v, ok := with[k]; ok {
				return v
			}
			return base[k]
		}
		return num.MoneyFromDec(at("gold").Mul(num.Int(3)).Sub(at("labour").Mul(num.Int(2))).Add(num.Int(10)), "EUR",
			num.HalfUp), nil
	}
	moved, faults := Sensitivity([]Swing{SwingOf(Input{Key: "packing", Value: base["packing"]}),
		{Key: "labour", Name: "labour", Low: num.Int(20), Base: num.Int(40), High: num.Int(60)},
		SwingOf(Input{Key: "gold", Value: base["gold"]})}, profit)
	if faults != nil {
		t.Fatal(faults)
	}
	if moved[0].Key != "labour" || moved[0].Slope.String() != "-2" || moved[0].Span.String() != "80.00" ||
		moved[1].Key != "gold" || moved[1].Slope.String() != "3" || moved[1].AtLow.String() != "200.00" ||
		!moved[1].Assumed || moved[2].Span.Sign() != 0 {
		t.Errorf("%+v", moved)
	}
}

func handLine(t testing.TB) LineInput {
	return LineInput{Card: handCard(t), Shared: eur(t, "500.00"), Pieces: []LinePiece{
		{handRing(t), 12, eur(t, "914.95"), eur(t, "850.00")}, {handEarrings(t), 40, eur(t, "298.66"),
			eur(t, "320.00")}}}
}

// A dearer input never raises the line's profit, a higher price never lowers
// it, and what is moved and costed anew equals a line costed anew as a whole.
func TestLineInput_Sensitivity(t *testing.T) {
	l := handLine(t)
	designs, _ := l.Cost()
	line, _ := LineOf(designs, l.Shared)
	own := Swing{Key: "labour/bench", Path: "labour/bench", Name: "labour", Low: num.Int(30), Base: num.Int(42),
		High: num.Int(60), Unit: "EUR/h"}
	moved, faults := l.Sensitivity(own)
	if faults.Blocks() || len(moved) < 30 {
		t.Fatalf("%d inputs (%v)", len(moved), faults)
	}
	for i, m := range moved {
		if m.AtBase.Cmp(line.Profit) != 0 {
			t.Fatalf("%s starts from %s, the line earns %s", m.Key, m.AtBase, line.Profit)
		}
		if i > 0 && m.Span.Cmp(moved[i-1].Span) > 0 {
			t.Errorf("%s is ranked too low", m.Key)
		}
		rising := strings.HasPrefix(m.Path, "price/") || strings.HasPrefix(m.Path, "quantity/")
		if up := m.AtHigh.Cmp(m.AtLow); rising && up <= 0 || !rising && up > 0 {
			t.Errorf("%s: %s at %s, %s at %s", m.Key, m.AtLow, m.Low, m.AtHigh, m.High)
		}
		changed := l
		changed.Card = l.Card.Replace(ByPath(map[string]num.Dec{m.Path: m.High}))
		changed.Pieces = nil
		for _, p := range l.Pieces {
			p.PieceInput = p.PieceInput.Replace(ByPath(map[string]num.Dec{m.Path: m.High}))
			if m.Path == "price/"+p.Design {
				p.Price = num.MoneyFromDec(m.High, "EUR", num.HalfUp)
			}
			if m.Path == "quantity/"+p.Design {
				continue // 13.2 rings: a slope, no plan
			}
			changed.Pieces = append(changed.Pieces, p)
		}
		if len(changed.Pieces) < 2 {
			continue
		}
		again, faults := changed.Cost()
		if faults.Blocks() {
			t.Fatal(faults)
		}
		if whole, _ := LineOf(again, l.Shared); whole.Profit.Cmp(m.AtHigh) != 0 {
			t.Errorf("%s at %s: moved to %s, costed anew %s", m.Key, m.High, m.AtHigh, whole.Profit)
		}
		if m.Key == own.Key && (m.Assumed || m.High.String() != "60") {
			t.Errorf("the user's range of labour is not used: %+v", m.Swing)
		}
	}
	// Labour is linear: 12 rings of 75 min and 40 pairs of 40 min, with 18 % overhead on top: 49.17 an hour.
	for _, m := range moved {
		if want := -(12*75/60.0 + 40*40/60.0) * 1.18; m.Key == own.Key && math.Abs(m.Slope.Float()-want) > 0.02 {
			t.Errorf("labour: %s a unit of rate, want %.4f (cents are rounded a piece)", m.Slope, want)
		}
	}
}

func TestLineOf(t *testing.T) {
	node := func(s string) *Node { return &Node{Amount: eur(t, s)} }
	r, faults := LineOf([]LineDesign{
		{"good", 100, eur(t, "50.00"), node("30.00"), eur(t, "500.00")},
		{"weak", 10, eur(t, "40.00"), node("25.00"), eur(t, "300.00")},
		{"below", 5, eur(t, "10.00"), node("12.00"), eur(t, "0.00")},
	}, eur(t, "100.00"))
	// 100 x 20 - 500 = 1500; 10 x 15 - 300 = -150; 5 x -2 = -10; - 100 shared.
	if r.Profit.String() != "1240.00" || len(r.Drop) != 2 || r.Drop[0] != "weak" || r.Drop[1] != "below" {
		t.Errorf("%s, drop %v", r.Profit, r.Drop)
	}
	if r.Designs[0].BreakEven != 25 || r.Designs[1].BreakEven != 20 || r.Designs[1].Short != 10 ||
		r.Designs[2].BreakEven != -1 {
		t.Errorf("%+v", r.Designs)
	}
	if faults.Blocks() || len(faults) != 1 || faults[0].Code != "price-below-cost" {
		t.Errorf("a design sold under its cost warns: %v", faults)
	}
}
