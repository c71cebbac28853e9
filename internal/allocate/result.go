package allocate

import (
	"fmt"
	"time"
)

// Settings limits the search. The zero value searches for the default work,
// without a wall-time stop, until the answer is proven best.
type Settings struct {
	// Work limits the search in million steps (a step is one entry or edge
	// looked at, or as much of other work); 0 means a default that grows with the
	// problem. A first plan is made whatever the limits. The same input, Work and
	// Seed give the same answer on every machine.
	Work int
	// WallLimit stops the search after so much time; 0 means never. An answer
	// cut short by it depends on the machine and says so in its Status.
	WallLimit time.Duration
	Seed      uint64
	// Gap stops the search when the proven gap is at most so many percent; 0
	// means only when the answer is proven best.
	Gap float64
	// Progress, unless nil, is told how value and bound close. It is called from
	// the goroutine of Solve and must return soon; it cannot change the answer.
	Progress func(Progress)
}

// Progress is how far a search has come.
type Progress struct {
	Stage      Stage
	Value      int64 // of the best plan so far
	Bound      int64 // no plan is worth more
	GapPercent float64
	Work       int64 // steps done
}

// Stage is what the search is doing.
type Stage string

const (
	Pricing   Stage = "prices"   // finding the prices of the bound
	Building  Stage = "plan"     // making plans at those prices
	Programs  Stage = "programs" // linear programs and their tree
	Improving Stage = "search"   // changing the best plan
)

// Status says why the search ended.
type Status int

const (
	Optimal    Status = iota // Value equals Bound: no plan is better
	GapReached               // the wanted gap is proven
	WorkLimit                // the work is spent: best so far with its bound
	WallLimit                // the wall time is spent: best so far with its bound
	Cancelled                // the context ended: best so far with its bound
)

var statusNames = [...]string{"optimal", "gap reached", "work limit", "wall limit", "cancelled"}

func (s Status) String() string {
	if s < 0 || int(s) >= len(statusNames) {
		return fmt.Sprintf("Status(%d)", int(s))
	}
	return statusNames[s]
}

// Early reports whether a limit cut the search short.
func (s Status) Early() bool { return s >= WorkLimit }

// Result is a plan and the proof of how good it is.
type Result struct {
	Value      int64   // of Pieces, minor units
	Bound      int64   // no plan of the problem's entries, edges and references is worth more
	BoundAll   int64   // nor one with further edges than this; Bound when there are none
	GapPercent float64 // 100 (Bound - Value) / Bound
	Status     Status
	Pieces     []Piece // by design in the order of the problem
	Prices     Prices
	Stats      Stats
}

// Piece is one piece to be made.
type Piece struct {
	Design int
	Fills  []Fill // by position
}

// Fill is what one position of one piece takes.
type Fill struct {
	Reference int   // Suite: index of the reference; otherwise -1
	Items     []int // Single: Count stones; Pair: I, J of the edge; Suite: slot by slot
}

// Prices are the prices of the bound before sums of rows are among the cuts, which
// one more stone could make false: what a further stone is worth to this plan. They
// hold for one more, not for many.
type Prices struct {
	Items   []int64          // one more stone of the item would add at most this
	Designs [][]PositionCost // by design and position
}

// PositionCost is what a plan can pay to fill a position once more.
type PositionCost struct {
	// Fill is the most that the stones of one further fill may cost: for Single
	// one stone (of Count), for Pair both, for Suite all together.
	Fill  int64
	Slots [][]int64 // Suite: by reference and slot, the most for one stone
}

// Stats says how the answer came about.
type Stats struct {
	Items, Entries, Edges, Groups int
	Work                          int64 // steps done
	DualIterations                int
	Restarts                      int // searches for the prices after the first
	Moves                         int // improving moves of the search
	Nodes                         int // tree nodes solved
	Refused                       int // plans that failed their check: 0, or the solver has a mistake
	Elapsed                       time.Duration
}
