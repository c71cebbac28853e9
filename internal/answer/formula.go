package answer

import (
	"fmt"
	"math/big"
	"strings"
	"unicode"

	"lotpaper/internal/num"
)

// The formula language is the part of spreadsheet formulas that every program
// computes alike: numbers, "texts", + - * /, comparison, brackets, ROUND,
// ROUNDUP, ROUNDDOWN, MIN, MAX, SUM, IF, ABS, and {key} for another figure or a
// list of figures. The document computes it in exact fractions; the workbook
// carries it with cells in place of the keys. ROUND is half away from zero.

// expr is a parsed formula.
type expr struct {
	op    string // number, text, key, neg, + - * / < > <= >= = <>, or a function's name
	value *big.Rat
	text  string
	args  []*expr
}

// functions and the least and most of their arguments.
var functions = map[string][2]int{
	"ROUND": {2, 2}, "ROUNDUP": {2, 2}, "ROUNDDOWN": {2, 2}, "MIN": {1, 255}, "MAX": {1, 255}, "SUM": {1, 255}, "IF": {3, 3}, "ABS": {1, 1},
}

type parser struct {
	in  string
	pos int
}

// parse reads a formula.
func parse(in string) (*expr, error) {
	p := &parser{in: in}
	e, err := p.compare()
	if err != nil {
		return nil, fmt.Errorf("formula %q: %w", in, err)
	}
	if p.skip(); p.pos < len(p.in) {
		return nil, fmt.Errorf("formula %q: %q is not understood", in, p.in[p.pos:])
	}
	return e, nil
}

func (p *parser) skip() {
	for p.pos < len(p.in) && p.in[p.pos] == ' ' {
		p.pos++
	}
}

// take consumes the first of the tokens that comes next.
func (p *parser) take(tokens ...string) string {
	p.skip()
	for _, t := range tokens {
		if strings.HasPrefix(p.in[p.pos:], t) {
			p.pos += len(t)
			return t
		}
	}
	return ""
}

// binary reads operands joined by operators of one rank, from the left.
func (p *parser) binary(next func() (*expr, error), ops ...string) (*expr, error) {
	left, err := next()
	for err == nil {
		op := p.take(ops...)
		if op == "" {
			return left, nil
		}
		var right *expr
		if right, err = next(); err == nil {
			left = &expr{op: op, args: []*expr{left, right}}
		}
	}
	return nil, err
}

func (p *parser) compare() (*expr, error) {
	return p.binary(p.sum, "<=", ">=", "<>", "<", ">", "=")
}

func (p *parser) sum() (*expr, error) { return p.binary(p.product, "+", "-") }

func (p *parser) product() (*expr, error) { return p.binary(p.unary, "*", "/") }

func (p *parser) unary() (*expr, error) {
	if p.take("-") == "" {
		return p.primary()
	}
	e, err := p.unary()
	return &expr{op: "neg", args: []*expr{e}}, err
}

func (p *parser) primary() (*expr, error) {
	p.skip()
	rest := p.in[p.pos:]
	switch {
	case rest == "":
		return nil, fmt.Errorf("it ends too early")
	case rest[0] == '{', rest[0] == '"':
		i, op := closing(rest), "key"
		if rest[0] == '"' {
			i, op = strings.IndexByte(rest[1:], '"'), "text"
		}
		if i < 0 {
			return nil, fmt.Errorf("%q is not closed", rest)
		}
		p.pos += i + 2
		return &expr{op: op, text: rest[1 : i+1]}, nil
	case p.take("(") != "":
		e, err := p.compare()
		if err == nil && p.take(")") == "" {
			err = fmt.Errorf("a bracket is not closed")
		}
		return e, err
	case rest[0] >= '0' && rest[0] <= '9':
		i := strings.IndexFunc(rest, func(r rune) bool { return r != '.' && !unicode.IsDigit(r) })
		if i < 0 {
			i = len(rest)
		}
		v, ok := new(big.Rat).SetString(rest[:i])
		if !ok {
			return nil, fmt.Errorf("%q is no number", rest[:i])
		}
		p.pos += i
		return &expr{op: "number", value: v, text: rest[:i]}, nil
	}
	return p.call(rest)
}

// closing is the length of the key in braces that s starts with: a key may hold
// pairs of braces itself, since names of designs are free.
func closing(s string) int {
	depth := 0
	for i, c := range s {
		switch c {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return i - 1
			}
		}
	}
	return -1
}

func (p *parser) call(rest string) (*expr, error) {
	i := strings.IndexByte(rest, '(')
	if i < 0 {
		i = 0
	}
	arity, known := functions[rest[:i]]
	if !known {
		return nil, fmt.Errorf("%q is not understood", rest)
	}
	e := &expr{op: rest[:i]}
	p.pos += i + 1
	for {
		arg, err := p.compare()
		if err != nil {
			return nil, err
		}
		e.args = append(e.args, arg)
		switch p.take(",", ")") {
		case ",":
			continue
		case ")":
			if n := len(e.args); n < arity[0] || n > arity[1] {
				return nil, fmt.Errorf("%s has %d arguments", e.op, n)
			}
			return e, nil
		}
		return nil, fmt.Errorf("%s is not closed", e.op)
	}
}

// cells writes the formula for a spreadsheet, each key as the cell or the range
// that ref gives.
func (e *expr) cells(ref func(key string) (string, error)) (string, error) {
	switch e.op {
	case "number":
		return e.text, nil
	case "text":
		return `"` + e.text + `"`, nil
	case "key":
		return ref(e.text)
	}
	args := make([]string, len(e.args))
	for i, a := range e.args {
		s, err := a.cells(ref)
		if err != nil {
			return "", err
		}
		if _, call := functions[e.op]; !call && len(a.args) > 0 && rank(a.op) <= rank(e.op) && (rank(a.op) < rank(e.op) || i > 0) {
			s = "(" + s + ")"
		}
		args[i] = s
	}
	switch {
	case e.op == "neg":
		return "-" + args[0], nil
	case len(args) == 2 && functions[e.op] == [2]int{}:
		return args[0] + e.op + args[1], nil
	}
	return e.op + "(" + strings.Join(args, ",") + ")", nil
}

// rank is how tightly an operator binds; functions and values never need
// brackets.
func rank(op string) int {
	switch op {
	case "<", ">", "<=", ">=", "=", "<>":
		return 1
	case "+", "-":
		return 2
	case "*", "/":
		return 3
	case "neg":
		return 4
	}
	return 5
}

// result is what a formula gives: numbers (one, or a list's), or a text.
type result struct {
	numbers []*big.Rat
	text    string
	isText  bool
}

func one(r *big.Rat) result { return result{numbers: []*big.Rat{r}} }

// number is the result as one number.
func (r result) number() (*big.Rat, error) {
	if r.isText || len(r.numbers) != 1 {
		return nil, fmt.Errorf("one number is wanted")
	}
	return r.numbers[0], nil
}

// eval computes the formula in exact fractions.
func (e *expr) eval(get func(key string) (result, error)) (result, error) {
	switch e.op {
	case "number":
		return one(e.value), nil
	case "text":
		return result{text: e.text, isText: true}, nil
	case "key":
		return get(e.text)
	case "IF":
		return e.evalIf(get)
	}
	var numbers []*big.Rat
	for _, a := range e.args {
		r, err := a.eval(get)
		if err != nil {
			return result{}, err
		}
		if e.op == "SUM" || e.op == "MIN" || e.op == "MAX" {
			if r.isText {
				return result{}, fmt.Errorf("%s of a text", e.op)
			}
			numbers = append(numbers, r.numbers...)
			continue
		}
		n, err := r.number()
		if err != nil {
			return result{}, fmt.Errorf("%s: %w", e.op, err)
		}
		numbers = append(numbers, n)
	}
	v, err := apply(e.op, numbers)
	return one(v), err
}

func (e *expr) evalIf(get func(string) (result, error)) (result, error) {
	r, err := e.args[0].eval(get)
	if err != nil {
		return result{}, err
	}
	test, err := r.number()
	if err != nil {
		return result{}, fmt.Errorf("IF: %w", err)
	}
	if test.Sign() != 0 {
		return e.args[1].eval(get)
	}
	return e.args[2].eval(get)
}

// apply computes one operator or function.
func apply(op string, n []*big.Rat) (*big.Rat, error) {
	v := new(big.Rat)
	truth := func(ok bool) (*big.Rat, error) {
		if ok {
			v.SetInt64(1)
		}
		return v, nil
	}
	switch op {
	case "neg":
		return v.Neg(n[0]), nil
	case "ABS":
		return v.Abs(n[0]), nil
	case "+":
		return v.Add(n[0], n[1]), nil
	case "-":
		return v.Sub(n[0], n[1]), nil
	case "*":
		return v.Mul(n[0], n[1]), nil
	case "/":
		if n[1].Sign() == 0 {
			return nil, fmt.Errorf("division by 0")
		}
		return v.Quo(n[0], n[1]), nil
	case "<":
		return truth(n[0].Cmp(n[1]) < 0)
	case ">":
		return truth(n[0].Cmp(n[1]) > 0)
	case "<=":
		return truth(n[0].Cmp(n[1]) <= 0)
	case ">=":
		return truth(n[0].Cmp(n[1]) >= 0)
	case "=":
		return truth(n[0].Cmp(n[1]) == 0)
	case "<>":
		return truth(n[0].Cmp(n[1]) != 0)
	case "ROUND":
		return roundTo(n[0], n[1], num.HalfUp)
	case "ROUNDUP":
		return roundTo(n[0], n[1], num.Up)
	case "ROUNDDOWN":
		return roundTo(n[0], n[1], num.Down)
	case "SUM":
		for _, x := range n {
			v.Add(v, x)
		}
		return v, nil
	}
	if len(n) == 0 {
		return nil, fmt.Errorf("%s of nothing", op)
	}
	v = n[0]
	for _, x := range n[1:] { // MIN and MAX
		if c := x.Cmp(v); op == "MIN" && c < 0 || op == "MAX" && c > 0 {
			v = x
		}
	}
	return v, nil
}

// roundTo rounds once from the exact fraction, by a rule that num names.
func roundTo(x, places *big.Rat, rule num.Rounding) (*big.Rat, error) {
	if !places.IsInt() || places.Num().CmpAbs(big.NewInt(15)) > 0 {
		return nil, fmt.Errorf("rounding to %s places", places.RatString())
	}
	p := int(places.Num().Int64())
	scale := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(p, -p))), nil))
	if p < 0 {
		scale.Inv(scale)
	}
	scaled := new(big.Rat).Mul(x, scale)
	whole, rest := new(big.Int).QuoRem(scaled.Num(), scaled.Denom(), new(big.Int))
	half := new(big.Int).Lsh(new(big.Int).Abs(rest), 1).Cmp(scaled.Denom())
	if rest.Sign() != 0 && (rule == num.Up || rule == num.HalfUp && half >= 0) {
		whole.Add(whole, big.NewInt(int64(rest.Sign())))
	}
	return new(big.Rat).Quo(new(big.Rat).SetInt(whole), scale), nil
}

// exact is a decimal as a fraction.
func exact(d num.Dec) *big.Rat {
	r, ok := new(big.Rat).SetString(d.String())
	if !ok { // a decimal's own text always reads
		return new(big.Rat)
	}
	return r
}

// decimal is a fraction as a decimal, rounded half up to places.
func decimal(r *big.Rat, places int) num.Dec {
	n, _ := roundTo(r, new(big.Rat).SetInt64(int64(places)), num.HalfUp)
	d, f := num.ParseDec(n.FloatString(max(places, 0)))
	if f != nil { // more digits than any amount has
		return num.Dec{}
	}
	return d
}

// money is a fraction as an amount; ok is false when it is finer than the
// minor unit of c.
func money(r *big.Rat, c num.Currency) (m num.Money, ok bool) {
	d := decimal(r, c.Digits())
	return num.MoneyFromDec(d, c, num.HalfUp), exact(d).Cmp(r) == 0
}
