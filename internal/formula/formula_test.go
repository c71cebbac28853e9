package formula

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/num"
)

var (
	a, b = Of("a", "weight"), Of("b", "price")
	list = Of("list", "costs")
)

// known are the numbers that the tests read.
func known(k Key) (Value, error) {
	switch k {
	case "a":
		return Exact(num.MustDec("3.5")), nil
	case "b":
		return Exact(num.MustDec("-2")), nil
	case "list":
		return List(Exact(num.Int(1)), Exact(num.Int(2)), Exact(num.Int(-5)))
	}
	return Value{}, fmt.Errorf("no %s", k)
}

func names(k Key) (string, error) { return string(k), nil }

// One expression gives its value, its words and its cells.
func TestExpr(t *testing.T) {
	one, two := Int(1), Int(2)
	half := Number(num.MustDec("2.5"))
	for _, c := range []struct {
		x                   Expr
		value, words, cells string
	}{
		{one.Plus(two.Times(Int(3))), "7", "1 + 2 x 3", "1+2*3"},
		{one.Plus(two).Times(Int(3)), "9", "(1 + 2) x 3", "(1+2)*3"},
		{Int(10).Minus(Int(4)).Minus(Int(3)), "3", "10 - 4 - 3", "10-4-3"},
		{two.Minus(Int(3).Minus(Int(4))), "3", "2 - (3 - 4)", "2-(3-4)"},
		{Int(12).Over(Int(4).Over(Int(3))), "9", "12 / (4 / 3)", "12/(4/3)"},
		{a.Times(b).Over(two), "-3.5", "weight x price / 2", "a*b/2"},
		{a.Times(b.Over(two)), "-3.5", "weight x price / 2", "a*b/2"},
		{a.Minus(Int(-2)), "5.5", "weight - (-2)", "a-(-2)"},
		{a.Times(one.Plus(b.Percent())), "3.43", "weight x (1 + price)", "a*(1+b/100)"},
		{a.Over(b.Percent()), "-175", "weight / price", "a/(b/100)"},
		{a.Times(b).Named("metal in the piece").Times(two), "-14", "metal in the piece x 2", "a*b*2"},
		{two.Over(a.Plus(b).Named("both")), "1.333333", "2 / both", "2/(a+b)"},
		{half.Round(0), "3", "2.5", "ROUND(2.5,0)"},
		{Int(0).Minus(half).Round(0), "-3", "0 - 2.5", "ROUND(0-2.5,0)"},
		{Number(num.MustDec("1.005")).Round(2), "1.01", "1.005", "ROUND(1.005,2)"},
		{Number(num.MustDec("-1.001")).RoundUp(2), "-1.01", "-1.001", "ROUNDUP(-1.001,2)"},
		{Number(num.MustDec("1.009")).RoundDown(2), "1", "1.009", "ROUNDDOWN(1.009,2)"},
		{two.Times(a.Plus(b).Round(1)), "3", "2 x (weight + price)", "2*ROUND(a+b,1)"},
		{Sum(list, one, a), "2.5", "the sum of costs and 1 and weight", "SUM(list,1,a)"},
		{Min(list, a), "-5", "the smallest of costs and weight", "MIN(list,a)"},
		{Max(list, a), "3.5", "the largest of costs and weight", "MAX(list,a)"},
		{If(a.More(Int(3)), one, two), "1", "1 if weight > 3, else 2", "IF(a>3,1,2)"},
		{If(a.Less(b), one, two), "2", "1 if weight < price, else 2", "IF(a<b,1,2)"},
		{If(one.Equals(one), one, one.Over(Int(0))), "1", "1 if 1 = 1, else 1 / 0", "IF(1=1,1,1/0)"},
	} {
		cells, err := c.x.Cells(names)
		if err != nil || cells != c.cells || c.x.Words() != c.words {
			t.Errorf("cells %s, %v, want %s; words %s, want %s", cells, err, c.cells, c.x.Words(), c.words)
		}
		v, err := c.x.Evaluate(known)
		if err != nil {
			t.Errorf("%s: %v", cells, err)
			continue
		}
		if d, err := v.Dec(6, num.HalfUp); err != nil || d.String() != c.value {
			t.Errorf("%s = %s, %v, want %s", cells, d, err, c.value)
		}
	}
}

// A text keeps its quotes in a cell, and is a value of its own.
func TestText(t *testing.T) {
	x := If(a.More(Int(9)), Text("yes"), Text(`the "inner circle" of {$1}`))
	if v, err := x.Evaluate(known); err != nil {
		t.Error(err)
	} else if s, ok := v.Text(); !ok || s != `the "inner circle" of {$1}` {
		t.Errorf("got %q, %v", s, ok)
	}
	if s, _ := x.Cells(names); s != `IF(a>9,"yes","the ""inner circle"" of {$1}")` {
		t.Errorf("cells %s", s)
	}
	raw, err := json.Marshal([]Expr{x, {}})
	var back []*string
	if err != nil || json.Unmarshal(raw, &back) != nil ||
		*back[0] != `IF({a}>9,"yes","the ""inner circle"" of {$1}")` || back[1] != nil {
		t.Errorf("printed as %s, %v", raw, err)
	}
}

func TestEvaluate_Refused(t *testing.T) {
	for name, x := range map[string]Expr{
		"division by 0": a.Over(a.Minus(a)), "a text plus 1": Text("a").Plus(Int(1)),
		"a list plus 1": list.Plus(Int(1)), "an unknown key": Of("none", ""),
		"the least of nothing": Min(), "the sum of a text": Sum(Text("a")), "a test of a text": If(Text("a"), a, b),
		"no expression": {},
	} {
		if v, err := x.Evaluate(known); err == nil {
			t.Errorf("%s gives %+v", name, v)
		}
	}
	if _, err := a.Plus(Of("none", "")).Cells(func(k Key) (string, error) {
		_, err := known(k)
		return "A1",
			err
	}); err == nil {
		t.Error("a key without a cell was printed")
	}
}

func TestKeys(t *testing.T) {
	if got := At("stone", 3, 1); got != "stone/3/1" {
		t.Errorf("key %s", got)
	}
	if got := b.Times(a).Plus(Max(a, list)).Keys(); fmt.Sprint(got) != "[b a list]" {
		t.Errorf("keys %v", got)
	}
}

// Rounding agrees with num's, which books the money.
func TestRound_AsNum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := num.Scaled(rapid.Int64Range(-1e12, 1e12).Draw(t, "n"), rapid.IntRange(0, 9).Draw(t, "scale"))
		places := rapid.IntRange(0, 6).Draw(t, "places")
		x := Number(d)
		for rule, rounded := range map[num.Rounding]Expr{num.HalfUp: x.Round(places), num.Up: x.RoundUp(places),
			num.Down: x.RoundDown(places)} {
			v, err := rounded.Evaluate(known)
			if err != nil {
				t.Fatal(err)
			}
			if got, _ := v.Dec(12, num.HalfUp); got.Cmp(d.Round(places, rule)) != 0 {
				t.Fatalf("%s to %d places gives %s, num %s", d, places, got, d.Round(places, rule))
			}
		}
	})
}

// draw draws an expression of a and b.
func draw(t *rapid.T, depth int) Expr {
	if depth == 0 {
		return rapid.SampledFrom([]Expr{a, b, Int(2), Number(num.MustDec("0.5")), Int(-13)}).Draw(t, "leaf")
	}
	x, y := draw(t, depth-1), draw(t, depth-1)
	return rapid.SampledFrom([]Expr{
		x.Plus(y), x.Minus(y), x.Times(y), x.Over(y), x.Percent(), x.Round(2), x.Named("x"), Sum(x, y), Max(x, y),
		Min(x, y), If(x.More(y), x, y),
	}).Draw(t, "expression")
}

// The cells mean what the expression means: brackets stand where they matter.
// Go's own parser reads the cells.
func TestCells_MeanTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := draw(t, 3)
		cells, err := x.Cells(names)
		if err != nil {
			t.Fatal(err)
		}
		v, err := x.Evaluate(known)
		if err != nil {
			return // a division by 0
		}
		tree, err := parser.ParseExpr(cells)
		if err != nil {
			t.Fatalf("%s: %v", cells, err)
		}
		if got, want := reckon(t, tree), v.numbers[0]; got.Cmp(want) != 0 {
			t.Fatalf("%s is %s, the expression %s", cells, got, want)
		}
	})
}

func reckon(t *rapid.T, e ast.Expr) *big.Rat {
	v := new(big.Rat)
	switch e := e.(type) {
	case *ast.Ident:
		value, _ := known(Key(e.Name))
		return value.numbers[0]
	case *ast.BasicLit:
		v.SetString(e.Value)
	case *ast.ParenExpr:
		return reckon(t, e.X)
	case *ast.UnaryExpr:
		return v.Neg(reckon(t, e.X))
	case *ast.BinaryExpr:
		x, y := reckon(t, e.X), reckon(t, e.Y)
		switch e.Op {
		case token.ADD:
			v.Add(x, y)
		case token.SUB:
			v.Sub(x, y)
		case token.MUL:
			v.Mul(x, y)
		case token.QUO:
			v.Quo(x, y)
		case token.GTR:
			v.SetInt64(int64(max(0, x.Cmp(y))))
		}
	case *ast.CallExpr:
		x, y := reckon(t, e.Args[0]), reckon(t, e.Args[1])
		switch name := e.Fun.(*ast.Ident).Name; {
		case name == "ROUND":
			places, _ := strconv.Atoi(e.Args[1].(*ast.BasicLit).Value)
			return num.FromRat(x, places, num.HalfUp).Rat()
		case name == "SUM":
			v.Add(x, y)
		case name == "IF" && x.Sign() == 0:
			return reckon(t, e.Args[2])
		case name == "IF", name == "MAX" && y.Cmp(x) > 0, name == "MIN" && y.Cmp(x) < 0:
			return y
		default:
			return x
		}
	default:
		t.Fatalf("%T", e)
	}
	return v
}
