// Package formula holds expressions of numbers, keys and operations. One
// expression is evaluated in exact fractions, printed as words for a person,
// and printed as the cells of a spreadsheet, which computes the same.
package formula

import (
	"encoding/json"
	"fmt"
	"math/big"
	"strconv"
	"strings"

	"lotpaper/internal/num"
)

// Key names a number that expressions read, or a list of numbers. It is made
// of fixed words and of the places of things: of a design in its line, of a
// stone in its piece. Keys are compared and never read; a name that a person
// gave to a design, a position or a stone never stands in one.
type Key string

// At returns the key of a thing at its places: At("stone", 3, 1) is
// "stone/3/1".
func At(what string, places ...int) Key {
	for _, p := range places {
		what += "/" + strconv.Itoa(p)
	}
	return Key(what)
}

// Expr is an expression. The zero Expr is none.
type Expr struct {
	op     string // of the operations below, or a function's name in spreadsheets
	number num.Dec
	text   string // of a text; what a key or a named part is called
	key    Key
	places int // of a rounding
	args   []Expr
}

// The operations that are no function of a spreadsheet.
const (
	opNumber  = "number"
	opText    = "text"
	opKey     = "key"
	opNamed   = "named"
	opPercent = "%"
)

// roundings are the functions of spreadsheets that round as a rule of num does.
var roundings = map[string]num.Rounding{"ROUND": num.HalfUp, "ROUNDUP": num.Up, "ROUNDDOWN": num.Down}

// Of is the number, or the list, that a key names; it is called words.
func Of(k Key, words string) Expr { return Expr{op: opKey, key: k, text: words} }

// Number is a number.
func Number(d num.Dec) Expr { return Expr{op: opNumber, number: d} }

// Int is a whole number.
func Int(n int64) Expr { return Number(num.Int(n)) }

// Text is a text.
func Text(s string) Expr { return Expr{op: opText, text: s} }

// Plus is a + b.
func (a Expr) Plus(b Expr) Expr { return apply("+", a, b) }

// Minus is a - b.
func (a Expr) Minus(b Expr) Expr { return apply("-", a, b) }

// Times is a x b.
func (a Expr) Times(b Expr) Expr { return apply("*", a, b) }

// Over is a / b.
func (a Expr) Over(b Expr) Expr { return apply("/", a, b) }

// Less is 1 when a < b, else 0.
func (a Expr) Less(b Expr) Expr { return apply("<", a, b) }

// More is 1 when a > b, else 0.
func (a Expr) More(b Expr) Expr { return apply(">", a, b) }

// Equals is 1 when a = b, else 0.
func (a Expr) Equals(b Expr) Expr { return apply("=", a, b) }

// Percent is a / 100; its words are those of a.
func (a Expr) Percent() Expr { return apply(opPercent, a) }

// Named is a, called words.
func (a Expr) Named(words string) Expr {
	a = apply(opNamed, a)
	a.text = words
	return a
}

// Round rounds to places decimals, a tie away from zero (num.HalfUp).
func (a Expr) Round(places int) Expr { return round("ROUND", a, places) }

// RoundUp rounds to places decimals away from zero (num.Up).
func (a Expr) RoundUp(places int) Expr { return round("ROUNDUP", a, places) }

// RoundDown rounds to places decimals towards zero (num.Down).
func (a Expr) RoundDown(places int) Expr { return round("ROUNDDOWN", a, places) }

// Sum adds its arguments and what their lists hold.
func Sum(args ...Expr) Expr { return apply("SUM", args...) }

// Min is the smallest of its arguments and of what their lists hold.
func Min(args ...Expr) Expr { return apply("MIN", args...) }

// Max is the largest of its arguments and of what their lists hold.
func Max(args ...Expr) Expr { return apply("MAX", args...) }

// If is yes when test is not 0, else no; the other one is not evaluated.
func If(test, yes, no Expr) Expr { return apply("IF", test, yes, no) }

func apply(op string, args ...Expr) Expr { return Expr{op: op, args: args} }

func round(op string, a Expr, places int) Expr { return Expr{op: op, args: []Expr{a}, places: places} }

// IsZero reports whether there is no expression.
func (a Expr) IsZero() bool { return a.op == "" }

// Keys returns the keys that the expression reads, each once, from the left.
func (a Expr) Keys() []Key {
	var out []Key
	seen := map[Key]bool{}
	var walk func(Expr)
	walk = func(x Expr) {
		if x.op == opKey && !seen[x.key] {
			seen[x.key] = true
			out = append(out, x.key)
		}
		for _, arg := range x.args {
			walk(arg)
		}
	}
	walk(a)
	return out
}

// rank is how tightly an operation binds; functions and values never need
// brackets.
func (a Expr) rank() int {
	switch a.op {
	case "<", ">", "=":
		return 1
	case "+", "-":
		return 2
	case "*", "/", opPercent:
		return 3
	case opNumber:
		if a.number.Sign() < 0 {
			return 2
		}
	}
	return 4
}

// operand puts an argument in brackets where the operation needs them: i is
// its place, rank its own.
func (a Expr) operand(i, rank int, s string) string {
	if own := a.rank(); own < 4 && (rank < own || rank == own && i > 0 && (a.op == "-" || a.op == "/")) {
		return "(" + s + ")"
	}
	return s
}

// Cells prints the expression as a spreadsheet reads it, each key as the cell
// or the range that ref gives.
func (a Expr) Cells(ref func(Key) (string, error)) (string, error) {
	switch a.op {
	case opNumber:
		return a.number.String(), nil
	case opText:
		return `"` + strings.ReplaceAll(a.text, `"`, `""`) + `"`, nil
	case opKey:
		return ref(a.key)
	}
	args := make([]string, len(a.args))
	for i, x := range a.args {
		s, err := x.Cells(ref)
		if err != nil {
			return "", err
		}
		for x.op == opNamed {
			x = x.args[0]
		}
		args[i] = a.operand(i, x.rank(), s)
	}
	switch {
	case a.op == opNamed:
		return args[0], nil
	case a.op == opPercent:
		return args[0] + "/100", nil
	case a.rank() < 4:
		return args[0] + a.op + args[1], nil
	}
	if _, ok := roundings[a.op]; ok {
		args = append(args, strconv.Itoa(a.places))
	}
	return a.op + "(" + strings.Join(args, ",") + ")", nil
}

// Words prints the expression as a person reads it. A rounding is not said.
func (a Expr) Words() string {
	switch a.op {
	case opNumber:
		return a.number.String()
	case opText, opKey, opNamed:
		return a.text
	}
	args := make([]string, len(a.args))
	for i, x := range a.args {
		for x.op == opPercent || len(x.args) == 1 && x.rounds() {
			x = x.args[0]
		}
		args[i] = a.operand(i, x.rank(), x.Words())
	}
	switch a.op {
	case "MAX":
		return "the largest of " + strings.Join(args, " and ")
	case "MIN":
		return "the smallest of " + strings.Join(args, " and ")
	case "SUM":
		return "the sum of " + strings.Join(args, " and ")
	case "IF":
		return args[1] + " if " + args[0] + ", else " + args[2]
	case "*":
		return args[0] + " x " + args[1]
	}
	if len(args) == 2 {
		return args[0] + " " + a.op + " " + args[1]
	}
	return args[0]
}

func (a Expr) rounds() bool { _, ok := roundings[a.op]; return ok }

// MarshalJSON prints the expression as a text of cells, each key in braces; no
// expression is null.
func (a Expr) MarshalJSON() ([]byte, error) {
	if a.IsZero() {
		return []byte("null"), nil
	}
	s, err := a.Cells(func(k Key) (string, error) { return "{" + string(k) + "}", nil })
	if err != nil {
		return nil, err
	}
	return json.Marshal(s)
}

// Value is what an expression gives: one number, the numbers of a list, or a
// text.
type Value struct {
	numbers []*big.Rat
	text    string
	isText  bool
}

// Exact is a number as a value.
func Exact(d num.Dec) Value { return Value{numbers: []*big.Rat{d.Rat()}} }

// List is the numbers of several values as one value.
func List(values ...Value) (Value, error) {
	var all Value
	for _, v := range values {
		if v.isText {
			return Value{}, fmt.Errorf("a number is wanted, not the text %q", v.text)
		}
		all.numbers = append(all.numbers, v.numbers...)
	}
	return all, nil
}

// Text returns the text that a value is, if it is one.
func (v Value) Text() (s string, ok bool) { return v.text, v.isText }

// Dec returns the one number that a value is, rounded to places decimals.
func (v Value) Dec(places int, r num.Rounding) (num.Dec, error) {
	n, err := v.number()
	if err != nil {
		return num.Dec{}, err
	}
	return num.FromRat(n, places, r), nil
}

func (v Value) number() (*big.Rat, error) {
	if v.isText || len(v.numbers) != 1 {
		return nil, fmt.Errorf("one number is wanted")
	}
	return v.numbers[0], nil
}

// Evaluate computes the expression in exact fractions. It fails on a division
// by 0, on a text where a number is wanted, and when get does.
func (a Expr) Evaluate(get func(Key) (Value, error)) (Value, error) {
	switch a.op {
	case opNumber:
		return Exact(a.number), nil
	case opText:
		return Value{text: a.text, isText: true}, nil
	case opKey:
		return get(a.key)
	case "IF":
		v, err := a.args[0].Evaluate(get)
		if err != nil {
			return Value{}, err
		}
		test, err := v.number()
		if err != nil {
			return Value{}, err
		}
		if test.Sign() != 0 {
			return a.args[1].Evaluate(get)
		}
		return a.args[2].Evaluate(get)
	case "SUM", "MIN", "MAX":
		values := make([]Value, len(a.args))
		for i, x := range a.args {
			var err error
			if values[i], err = x.Evaluate(get); err != nil {
				return Value{}, err
			}
		}
		all, err := List(values...)
		if err != nil {
			return Value{}, err
		}
		return over(a.op, all.numbers)
	}
	n := make([]*big.Rat, len(a.args))
	for i, x := range a.args {
		v, err := x.Evaluate(get)
		if err != nil {
			return Value{}, err
		}
		if n[i], err = v.number(); err != nil {
			return Value{}, err
		}
	}
	return a.compute(n)
}

// compute is one operation on its arguments.
func (a Expr) compute(n []*big.Rat) (Value, error) {
	v := new(big.Rat)
	truth := func(ok bool) {
		if ok {
			v.SetInt64(1)
		}
	}
	switch a.op {
	case opNamed:
		v = n[0]
	case opPercent:
		v.Quo(n[0], big.NewRat(100, 1))
	case "+":
		v.Add(n[0], n[1])
	case "-":
		v.Sub(n[0], n[1])
	case "*":
		v.Mul(n[0], n[1])
	case "/":
		if n[1].Sign() == 0 {
			return Value{}, fmt.Errorf("division by 0")
		}
		v.Quo(n[0], n[1])
	case "<":
		truth(n[0].Cmp(n[1]) < 0)
	case ">":
		truth(n[0].Cmp(n[1]) > 0)
	case "=":
		truth(n[0].Cmp(n[1]) == 0)
	default:
		rule, ok := roundings[a.op]
		if !ok {
			return Value{}, fmt.Errorf("there is no expression")
		}
		v = num.FromRat(n[0], a.places, rule).Rat()
	}
	return Value{numbers: []*big.Rat{v}}, nil
}

// over is a function of the numbers of lists; the sum of none is 0.
func over(op string, n []*big.Rat) (Value, error) {
	if op == "SUM" {
		n = append([]*big.Rat{new(big.Rat)}, n...)
	}
	if len(n) == 0 {
		return Value{}, fmt.Errorf("%s of nothing", op)
	}
	v := n[0]
	for _, x := range n[1:] {
		switch c := x.Cmp(v); {
		case op == "SUM":
			v = new(big.Rat).Add(v, x)
		case op == "MIN" && c < 0, op == "MAX" && c > 0:
			v = x
		}
	}
	return Value{numbers: []*big.Rat{v}}, nil
}
