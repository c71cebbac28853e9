package costing

import (
	"fmt"
	"strconv"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Node is one amount of a cost tree. The amounts of its parts add up to its own
// exactly; every leaf is rounded half up to the minor unit.
type Node struct {
	Name    string    `json:"name"`
	Key     string    `json:"key"` // unique in the tree: "node/DESIGN/metal/net loss"
	Amount  num.Money `json:"amount"`
	Formula string    `json:"formula"` // in words: "finished weight x fineness x price"
	// Live is Formula as a spreadsheet reckons it, over the keys of inputs and
	// nodes in braces; empty for a node of parts, which is their sum.
	Live   string      `json:"live,omitempty"`
	Inputs []Input     `json:"inputs,omitempty"`
	Source string      `json:"source"`
	Share  num.Percent `json:"share"` // of the root, one decimal; the leaves' shares add up to 100
	Parts  []*Node     `json:"parts,omitempty"`
}

// Input is one number that a leaf used. Key names the cell of the Assumptions
// sheet that holds it: a rate's "kind/name", or a design's own value.
type Input struct {
	Key    string    `json:"key"`
	Name   string    `json:"name"`
	Value  num.Dec   `json:"value"`
	Unit   string    `json:"unit"`
	On     book.Date `json:"on,omitempty"`
	Source string    `json:"source,omitempty"`
}

// baseKey is the key of an overhead's base, which is a node and no assumption.
const baseKey = "base"

func rateInput(r book.Rate) Input {
	return Input{Key: r.Kind + "/" + r.Name, Name: r.Kind + " " + r.Name, Value: r.Value, Unit: r.Unit, On: r.On, Source: r.Source}
}

// sum makes a node of its parts; empty parts are dropped.
func sum(name, formula string, c num.Currency, parts ...*Node) *Node {
	n := &Node{Name: name, Formula: formula, Amount: num.Zero(c)}
	for _, p := range parts {
		if p == nil {
			continue
		}
		n.Parts = append(n.Parts, p)
		n.Amount = n.Amount.Add(p.Amount)
	}
	return n
}

// leaf makes a node of one exact amount, rounded half up to the minor unit.
// Live is the amount before that rounding; "$1" stands for its first input.
func leaf(name string, amount num.Dec, c num.Currency, formula, live string, inputs ...Input) *Node {
	n := &Node{Name: name, Amount: num.MoneyFromDec(amount, c, num.HalfUp), Formula: formula, Inputs: inputs}
	for i := len(inputs); i > 0; i-- {
		live = strings.ReplaceAll(live, "$"+strconv.Itoa(i), "{"+inputs[i-1].Key+"}")
	}
	n.Live = "ROUND(" + live + "," + strconv.Itoa(c.Digits()) + ")"
	for _, in := range inputs {
		n.Source = join(n.Source, in.Source)
	}
	return n
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

// setKeys names every node by its path.
func (n *Node) setKeys(key string) {
	n.Key = key
	for _, p := range n.Parts {
		p.setKeys(key + "/" + p.Name)
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
	seen := map[string]bool{}
	var out []Input
	n.Walk(func(_ int, n *Node) {
		for _, in := range n.Inputs {
			if in.Key != baseKey && !strings.HasPrefix(in.Key, "design/") && !seen[in.Key] {
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
			bad = fault.New(fault.Differs, "cost-sum", fmt.Sprintf("the parts of %q add up to %s, not %s", n.Name, total.Words(), n.Amount.Words()), "report this: it is an error of the program")
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
