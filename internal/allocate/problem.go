package allocate

import (
	"cmp"
	"errors"
	"fmt"
	"iter"
	"slices"
)

// Problem is what may go where, and what that earns. Indices in entries and
// edges point into Items.
type Problem struct {
	Items   []Item
	Designs []Design
}

// Item is a stone, or a lot of interchangeable stones.
type Item struct {
	Key      string // unique; the solver orders items by it
	Capacity int    // how many pieces of it there are, >= 0
}

// Design is a model of which up to Quantity pieces may be made.
type Design struct {
	Key       string // unique; the solver orders designs by it
	Value     int64  // what one piece earns before its stones, minor units; may be negative
	Quantity  int    // the most pieces, >= 0
	Positions []Position
	// Fixed is what making any of the design costs once, whatever the number of
	// pieces, minor units, >= 0.
	Fixed int64
}

// Kind says how a position is filled.
type Kind int

const (
	Single Kind = iota // Count stones, each by an entry of its own
	Pair               // two stones of one edge
	Suite              // the stones of one reference, slot by slot
)

func (k Kind) String() string {
	switch k {
	case Single:
		return "single"
	case Pair:
		return "pair"
	case Suite:
		return "suite"
	}
	return fmt.Sprintf("Kind(%d)", int(k))
}

// Position is a place in a design. Only the fields of its kind may be set.
type Position struct {
	Key        string // unique within the design; the solver orders positions by it
	Kind       Kind
	Count      int         // Single: stones a piece; 0 means 1
	Entries    []Entry     // Single: at most one entry an item
	Edges      []Edge      // Pair: at most one edge for the same two items
	References []Reference // Suite
	// Pair: further edges that may be used but that the search leaves aside,
	// because they are many. Result.BoundAll holds for them, too. The sequence is
	// run through several times and must always be the same.
	Further iter.Seq[Edge]
}

// Entry lets an item into a single position or a suite slot.
type Entry struct {
	Item int
	Cost int64 // of one stone of the item used here, penalties included
}

// Edge lets two stones fill a pair position together. I and J may be the same
// item when its capacity is at least 2.
type Edge struct {
	I, J int
	Cost int64 // of both stones and their mismatch
}

// Reference is one way of filling a suite: every slot from its own candidates.
type Reference struct {
	Key   string // unique within the position
	Slots []Slot
}

// Slot takes Count stones of its entries, at most one entry an item.
type Slot struct {
	Count   int // >= 1
	Entries []Entry
}

// Limits that keep every sum of the bound inside int64 with room for fractions
// of a minor unit.
const (
	maxAmount = 1 << 40 // one value or cost
	maxCount  = 1 << 24 // one capacity, quantity or count
	maxTotal  = 1 << 50 // all designs' |value| x quantity
)

// ErrProblem is wrapped by every fault that Validate finds.
var ErrProblem = errors.New("allocate: bad problem")

// Validate reports every fault of shape (at most 20 of them), or nil.
func (p Problem) Validate() error {
	v := validator{problem: p}
	v.items()
	v.designs()
	return errors.Join(v.faults...)
}

type validator struct {
	problem Problem
	faults  []error
	list    []int32 // the list that an item was last seen in
	lists   int32
	ends    [][2]int // of one position's pairs
}

func (v *validator) fault(format string, args ...any) {
	if len(v.faults) < 20 {
		v.faults = append(v.faults, fmt.Errorf("%w: "+format, append([]any{ErrProblem}, args...)...))
	}
}

func (v *validator) items() {
	seen := make(map[string]int, len(v.problem.Items))
	for i, it := range v.problem.Items {
		if j, ok := seen[it.Key]; ok {
			v.fault("items %d and %d have the same key %q", j, i, it.Key)
		}
		seen[it.Key] = i
		if it.Capacity < 0 || it.Capacity > maxCount {
			v.fault("item %q: capacity %d is outside 0 to %d", it.Key, it.Capacity, maxCount)
		}
	}
}

func (v *validator) designs() {
	seen := make(map[string]int, len(v.problem.Designs))
	total := int64(0)
	for d, ds := range v.problem.Designs {
		if j, ok := seen[ds.Key]; ok {
			v.fault("designs %d and %d have the same key %q", j, d, ds.Key)
		}
		seen[ds.Key] = d
		if ds.Quantity < 0 || ds.Quantity > maxCount {
			v.fault("design %q: quantity %d is outside 0 to %d", ds.Key, ds.Quantity, maxCount)
			continue
		}
		if !amountOK(ds.Value) {
			v.fault("design %q: value %d is too large", ds.Key, ds.Value)
			continue
		}
		if total += max(ds.Value, -ds.Value) * int64(ds.Quantity) / 2; total > maxTotal/2 {
			v.fault("design %q: the values of all designs add up to too much", ds.Key)
			total = 0
		}
		if ds.Fixed < 0 || !amountOK(ds.Fixed) {
			v.fault("design %q: fixed cost %d is outside 0 to %d", ds.Key, ds.Fixed, int64(maxAmount))
			continue
		}
		if total += ds.Fixed / 2; total > maxTotal/2 {
			v.fault("design %q: the fixed costs of all designs add up to too much", ds.Key)
			total = 0
		}
		v.positions(ds)
	}
}

func (v *validator) positions(ds Design) {
	seen := make(map[string]bool, len(ds.Positions))
	for _, pos := range ds.Positions {
		where := fmt.Sprintf("design %q position %q", ds.Key, pos.Key)
		if seen[pos.Key] {
			v.fault("%s: the key occurs twice", where)
		}
		seen[pos.Key] = true
		switch {
		case pos.Kind < Single || pos.Kind > Suite:
			v.fault("%s: no such kind: %d", where, pos.Kind)
		case pos.Kind != Single && (len(pos.Entries) > 0 || pos.Count != 0),
			pos.Kind != Pair && (len(pos.Edges) > 0 || pos.Further != nil),
			pos.Kind != Suite && len(pos.References) > 0:
			v.fault("%s: a %s position has fields of another kind", where, pos.Kind)
		case pos.Kind == Single:
			if pos.Count < 0 || pos.Count > maxCount {
				v.fault("%s: count %d is outside 0 to %d", where, pos.Count, maxCount)
			}
			v.entries(where, pos.Entries)
		case pos.Kind == Pair:
			v.edges(where, pos.Edges)
		default:
			v.references(where, pos.References)
		}
	}
}

func (v *validator) entries(where string, entries []Entry) {
	if v.list == nil {
		v.list = make([]int32, len(v.problem.Items))
	}
	v.lists++
	for _, e := range entries {
		if !v.item(where, e.Item) {
			continue
		}
		if v.list[e.Item] == v.lists {
			v.fault("%s: item %q occurs twice", where, v.problem.Items[e.Item].Key)
		}
		v.list[e.Item] = v.lists
		if !amountOK(e.Cost) {
			v.fault("%s: item %q: cost %d is too large", where, v.problem.Items[e.Item].Key, e.Cost)
		}
	}
}

func (v *validator) edges(where string, edges []Edge) {
	v.ends = v.ends[:0]
	for _, e := range edges {
		if !v.item(where, e.I) || !v.item(where, e.J) {
			continue
		}
		v.ends = append(v.ends, [2]int{min(e.I, e.J), max(e.I, e.J)})
		if !amountOK(e.Cost) {
			v.fault("%s: the pair %q, %q: cost %d is too large", where, v.problem.Items[e.I].Key,
				v.problem.Items[e.J].Key, e.Cost)
		}
	}
	slices.SortFunc(v.ends, func(a, b [2]int) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	for n, ends := range v.ends {
		if n > 0 && ends == v.ends[n-1] {
			v.fault("%s: the pair %q, %q occurs twice", where, v.problem.Items[ends[0]].Key,
				v.problem.Items[ends[1]].Key)
		}
	}
}

func (v *validator) references(where string, refs []Reference) {
	seen := make(map[string]bool, len(refs))
	for _, r := range refs {
		if seen[r.Key] {
			v.fault("%s: reference %q occurs twice", where, r.Key)
		}
		seen[r.Key] = true
		if len(r.Slots) == 0 {
			v.fault("%s: reference %q has no slots", where, r.Key)
		}
		for t, s := range r.Slots {
			at := fmt.Sprintf("%s reference %q slot %d", where, r.Key, t)
			if s.Count < 1 || s.Count > maxCount {
				v.fault("%s: count %d is outside 1 to %d", at, s.Count, maxCount)
			}
			v.entries(at, s.Entries)
		}
	}
}

func (v *validator) item(where string, i int) bool {
	if i < 0 || i >= len(v.problem.Items) {
		v.fault("%s: no item has index %d", where, i)
		return false
	}
	return true
}

func amountOK(a int64) bool { return a >= -maxAmount && a <= maxAmount }

// PerPiece returns how many stones of a single position one piece takes.
func (p Position) PerPiece() int { return max(1, p.Count) }
