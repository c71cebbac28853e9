package costing

import (
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/formula"
)

// reckon evaluates a live formula as a spreadsheet would, in floats.
func reckon(t interface{ Fatalf(string, ...any) }, formula string, values map[string]float64) float64 {
	for key, v := range values {
		formula = strings.ReplaceAll(formula, "{"+key+"}", strconv.FormatFloat(v, 'f', -1, 64))
	}
	expr, err := parser.ParseExpr(formula)
	if err != nil {
		t.Fatalf("%s: %v", formula, err)
	}
	var eval func(ast.Expr) float64
	eval = func(e ast.Expr) float64 {
		switch e := e.(type) {
		case *ast.BasicLit:
			v, err := strconv.ParseFloat(e.Value, 64)
			if err != nil {
				t.Fatalf("%s: %v", formula, err)
			}
			return v
		case *ast.ParenExpr:
			return eval(e.X)
		case *ast.BinaryExpr:
			x, y := eval(e.X), eval(e.Y)
			switch e.Op {
			case token.ADD:
				return x + y
			case token.SUB:
				return x - y
			case token.MUL:
				return x * y
			case token.QUO:
				return x / y
			}
		case *ast.CallExpr:
			x := eval(e.Args[0])
			switch e.Fun.(*ast.Ident).Name {
			case "ROUND":
				scale := math.Pow(10, eval(e.Args[1]))
				return math.Round(x*scale) / scale
			case "MAX":
				for _, y := range e.Args[1:] {
					x = math.Max(x, eval(y))
				}
				return x
			}
		}
		t.Fatalf("%s: cannot be reckoned", formula)
		return 0
	}
	return eval(expr)
}

// Every leaf's live formula gives its amount, in three currencies and with any
// rates; a tie may round the other way in floats, by one minor unit.
func TestPieceCost_LiveFormulas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, card := drawPiece(t)
		tree, faults := PieceCost(in, card)
		if faults.Blocks() {
			t.Fatal(faults)
		}
		values := map[string]float64{}
		keys := map[formula.Key]bool{}
		tree.Walk(func(_ int, n *Node) {
			if keys[n.Key] || !strings.HasPrefix(n.Path, "node/D") {
				t.Fatalf("key %q is not unique", n.Key)
			}
			keys[n.Key] = true
			values[n.Path] = n.Amount.Float()
			for _, in := range n.Inputs {
				values[in.Path] = in.Value.Float()
			}
		})
		unit := math.Pow(10, -float64(card.Currency.Digits()))
		for _, l := range tree.leaves() {
			if l.Name == "stones" { // a piece without stones
				continue
			}
			got := reckon(t, l.Live, values)
			exact := math.Abs(got-l.Amount.Float()) < unit/1000
			if tie := math.Abs(got-l.Amount.Float()) < 1.001*unit; !exact && !tie {
				t.Fatalf("%s: %s gives %v, costing %s", l.Name, l.Live, got, l.Amount)
			}
		}
	})
	// The two pieces of the accountant's sheet, without any tie: exactly.
	for _, in := range []PieceInput{handRing(t), handEarrings(t)} {
		tree, _ := PieceCost(in, handCard(t))
		values := map[string]float64{}
		tree.Walk(func(_ int, n *Node) {
			values[n.Path] = n.Amount.Float()
			for _, in := range n.Inputs {
				values[in.Path] = in.Value.Float()
			}
		})
		for _, l := range tree.leaves() {
			if got := reckon(t, l.Live, values); math.Abs(got-l.Amount.Float()) > 1e-9 {
				t.Errorf("%s %s: %s gives %v, costing %s", in.Design, l.Name, l.Live, got, l.Amount)
			}
		}
	}
}
