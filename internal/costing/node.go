package costing

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Node is one amount of a cost tree. The amounts of its parts add up to its own
// exactly; every leaf is rounded half up to the minor unit.
type Node struct {
	Name    string      `json:"name"`
	Key     formula.Key `json:"-"`   // of the design in its line, and of the node in the tree
	Path    string      `json:"key"` // as a person reads it: "node/DESIGN/metal/net loss"
	Amount  num.Money   `json:"amount"`
	Formula string      `json:"formula"` // in words: "finished weight x fineness x price"
	// Expr is what Amount follows from: of a leaf its inputs, of other nodes their
	// parts. Live is that of a leaf as a spreadsheet reads it, paths in braces.
	Expr   formula.Expr `json:"-"`
	Live   string       `json:"live,omitempty"`
	Inputs []Input      `json:"inputs,omitempty"`
	Source string       `json:"source"`
	Share  num.Percent  `json:"share"` // of the root, one decimal; the leaves' shares add up to 100
	Parts  []*Node      `json:"parts,omitempty"`
}

// Input is one number that a leaf used.
type Input struct {
	Key    formula.Key `json:"-"`
	Path   string      `json:"key"` // as a person names it: a rate's "kind/name", "design/NAME/metal_g"
	Name   string      `json:"name"`
	Value  num.Dec     `json:"value"`
	Unit   string      `json:"unit"`
	On     book.Date   `json:"on,omitempty"`
	Source string      `json:"source,omitempty"`

	Kind     InputKind `json:"-"`
	Design   string    `json:"-"` // whose own it is
	Position string    `json:"-"` // of stones
	Lot      string    `json:"-"`
}

// InputKind says where an input comes from.
type InputKind int

// The kinds of inputs.
const (
	OfRates  InputKind = iota // a rate of the card
	OfDesign                  // the design's own, and uncertain
	Decided                   // the design's own, and a decision: a count, a fineness
	OfNode                    // the amount of another node
)

// Own reports whether the input is the design's own number.
func (in Input) Own() bool { return in.Kind == OfDesign || in.Kind == Decided }

// Words say what the input is of.
func (in Input) Words() string {
	words := in.Name
	for _, of := range []struct{ what, name string }{{"design", in.Design}, {"position", in.Position},
		{"lot", in.Lot}} {
		if of.name != "" {
			words += fmt.Sprintf(", %s %q", of.what, of.name)
		}
	}
	return words
}

func rateInput(r book.Rate) Input {
	path := r.Kind + "/" + r.Name
	return Input{Key: formula.Key(path), Path: path, Name: r.Kind + " " + r.Name, Value: r.Value, Unit: r.Unit,
		On: r.On, Source: r.Source}
}

// sum makes a node of its parts; empty parts are dropped.
func sum(name, words string, c num.Currency, parts ...*Node) *Node {
	n := &Node{Name: name, Formula: words, Amount: num.Zero(c)}
	n.add(parts...)
	return n
}

// add adds parts to a node; its amount is their sum.
func (n *Node) add(parts ...*Node) {
	n.Parts = append(n.Parts, slices.DeleteFunc(parts, func(p *Node) bool { return p == nil })...)
	if len(n.Parts) == 0 {
		return
	}
	amounts := make([]Input, len(n.Parts))
	for i, p := range n.Parts {
		amounts[i] = Input{Key: formula.At("part", i), Value: p.Amount.Dec()}
	}
	c := n.Amount.Currency()
	d, _ := valueOf(total(amounts), c.Digits(), amounts...) // every key is there
	n.Amount = num.MoneyFromDec(d, c, num.HalfUp)
}

// total adds amounts.
func total(amounts []Input) formula.Expr {
	x := formula.Of(amounts[0].Key, amounts[0].Name)
	for _, in := range amounts[1:] {
		x = x.Plus(formula.Of(in.Key, in.Name))
	}
	return x
}

// reads lets expressions read an input, called words.
func (p *pricing) reads(in Input, words string) formula.Expr {
	p.inputs[in.Key] = in
	return formula.Of(in.Key, words)
}

// leaf makes a node of an expression, rounded half up to the minor unit; note
// says more than its words do.
func (p *pricing) leaf(name string, x formula.Expr, note string) *Node {
	return p.node(name, x.Round(p.cur.Digits()), x.Words()+note)
}

// node makes a node of an expression with all that it reads.
func (p *pricing) node(name string, x formula.Expr, words string) *Node {
	n := &Node{Name: name, Formula: words, Expr: x}
	for _, k := range x.Keys() {
		in := p.inputs[k]
		n.Inputs = append(n.Inputs, in)
		n.Source = join(n.Source, in.Source)
	}
	d, err := valueOf(x, p.cur.Digits(), n.Inputs...)
	if err != nil {
		p.faults.Add(fault.New(fault.Invalid, "cost-formula", fmt.Sprintf("%s cannot be worked out: %v", name, err),
			"check the rates and the numbers of the design").AtRef(p.in.Design))
	}
	n.Amount = num.MoneyFromDec(d, p.cur, num.HalfUp)
	n.Live, _ = x.Cells(func(k formula.Key) (string, error) { return "{" + p.inputs[k].Path + "}", nil })
	return n
}

// valueOf is what an expression gives with the inputs that it reads, rounded
// half up to places decimals.
func valueOf(x formula.Expr, places int, inputs ...Input) (num.Dec, error) {
	v, err := x.Evaluate(func(k formula.Key) (formula.Value, error) {
		for _, in := range inputs {
			if in.Key == k {
				return formula.Exact(in.Value), nil
			}
		}
		return formula.Value{}, fmt.Errorf("%s is not known", k)
	})
	if err != nil {
		return num.Dec{}, err
	}
	return v.Dec(places, num.HalfUp)
}

// join adds a source to a list of sources, each once.
func join(list, source string) string {
	switch {
	case source == "" || strings.Contains(list, source):
		return list
	case list == "":
		return source
	}
	return list + "; " + source
}

// leaves returns the leaves from left to right.
func (n *Node) leaves() []*Node {
	if len(n.Parts) == 0 {
		return []*Node{n}
	}
	var out []*Node
	for _, p := range n.Parts {
		out = append(out, p.leaves()...)
	}
	return out
}

// setShares gives every node its share of the root: the leaves by largest
// remainder at a tenth of a percent, their parents the sums.
func (n *Node) setShares() {
	leaves := n.leaves()
	weights := make([]num.Dec, len(leaves))
	for i, l := range leaves {
		if weights[i] = l.Amount.Dec(); weights[i].Sign() < 0 {
			return // a credit has no share
		}
	}
	if n.Amount.IsZero() {
		return
	}
	// 100.0 % in thousandths of a carat's integer law: 1000 tenths.
	for i, tenths := range num.Carat(1000).ShareCarats(weights) {
		leaves[i].Share = num.Percent{Dec: num.Scaled(int64(tenths), 1)}
	}
	n.addShares()
}

func (n *Node) addShares() {
	if len(n.Parts) == 0 {
		return
	}
	n.Share = num.Percent{}
	for _, p := range n.Parts {
		p.addShares()
		n.Share = num.Percent{Dec: n.Share.Add(p.Share.Dec)}
	}
}

// setKeys gives every node its key by its place, and its path by names.
func (n *Node) setKeys(key formula.Key, path string) {
	n.Key, n.Path = key, path
	amounts := make([]Input, len(n.Parts))
	for i, p := range n.Parts {
		p.setKeys(formula.At(string(key), i), path+"/"+p.Name)
		amounts[i] = Input{Key: p.Key, Name: p.Name}
	}
	if len(amounts) > 0 {
		n.Expr = total(amounts)
	}
}

// Part returns the part at the path of names, nil when there is none.
func (n *Node) Part(path ...string) *Node {
	for _, name := range path {
		var next *Node
		for _, p := range n.Parts {
			if p.Name == name {
				next = p
			}
		}
		if next == nil {
			return nil
		}
		n = next
	}
	return n
}

// Walk calls f for the node and all below it, top down, with their depth.
func (n *Node) Walk(f func(depth int, n *Node)) { n.walk(0, f) }

func (n *Node) walk(depth int, f func(int, *Node)) {
	f(depth, n)
	for _, p := range n.Parts {
		p.walk(depth+1, f)
	}
}

// Rates returns every rate that the tree used, each once, in order of use.
func (n *Node) Rates() []Input {
	seen := map[formula.Key]bool{}
	var out []Input
	n.Walk(func(_ int, n *Node) {
		for _, in := range n.Inputs {
			if in.Kind == OfRates && !seen[in.Key] {
				seen[in.Key] = true
				out = append(out, in)
			}
		}
	})
	return out
}

// Check returns a fault when the parts of a node do not add up to it.
func (n *Node) Check() *fault.Fault {
	var bad *fault.Fault
	n.Walk(func(_ int, n *Node) {
		if len(n.Parts) == 0 {
			return
		}
		total := num.Zero(n.Amount.Currency())
		for _, p := range n.Parts {
			total = total.Add(p.Amount)
		}
		if total.Cmp(n.Amount) != 0 && bad == nil {
			bad = fault.New(fault.Differs, "cost-sum", fmt.Sprintf("the parts of %q add up to %s, not %s", n.Name,
				total.Words(), n.Amount.Words()), "report this: it is an error of the program")
		}
	})
	return bad
}

// Text prints the tree as a person reads it: one node a line, indented, each
// leaf followed by the numbers that it used and their dates.
func (n *Node) Text() string {
	var b strings.Builder
	n.Walk(func(depth int, n *Node) {
		indent := strings.Repeat("  ", depth)
		fmt.Fprintf(&b, "%s%s  %s  %s%%", indent, n.Name, n.Amount.Words(), n.Share.Fixed(1))
		if n.Formula != "" {
			fmt.Fprintf(&b, "  = %s", n.Formula)
		}
		b.WriteByte('\n')
		if len(n.Inputs) == 0 {
			return
		}
		used := make([]string, len(n.Inputs))
		for i, in := range n.Inputs {
			used[i] = in.Name + " " + in.Value.String()
			if in.Unit != in.Name {
				used[i] += " " + in.Unit
			}
			if in.On != "" {
				used[i] += " (" + string(in.On) + ")"
			}
		}
		fmt.Fprintf(&b, "%s    with %s\n", indent, strings.Join(used, ", "))
	})
	return b.String()
}
