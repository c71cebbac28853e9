package allocate

import (
	"cmp"
	"math"
	"slices"
)

// crash starts the simplex from a basis of the columns that come nearest to
// paying for themselves at the row prices y, as many as are independent; slacks
// fill what is left.
func (s *simplex) crash(y []float64, c *clock) bool {
	d := make([]float64, s.cols+s.rows)
	order := make([]int32, 0, len(d))
	for j := range d {
		list, values := s.column(int32(j))
		d[j] = s.cost[j]
		for n, r := range list {
			d[j] -= float64(values[n] * y[r])
		}
		d[j] = math.Abs(d[j])
		if s.high[j] > s.low[j] {
			order = append(order, int32(j))
		}
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(d[a], d[b]), cmp.Compare(a, b)) })
	for j := range s.place {
		s.place[j] = -1
	}
	for r, j := range s.f.independent(s.rows, order, s.column, c) {
		if j < 0 {
			j = int32(s.cols + r)
		}
		s.head[r], s.place[j], s.weight[r] = j, int32(r), 1
	}
	return s.refactor()
}

// independent takes columns in order as long as they are independent of those
// before, and returns the column pivoted in each row, -1 for none. A column that
// would fill the factor too much counts as dependent.
func (f *factor) independent(rows int, order []int32, column columnOf, c *clock) []int32 {
	f.reset(rows)
	e := elimination{f: f, pivoted: make([]bool, rows), lowAt: none(rows)}
	head := none(rows)
	left := rows
	for _, j := range order {
		if left == 0 {
			break
		}
		if r := e.add(column(j)); r >= 0 {
			head[r] = j
			left--
		}
	}
	c.spend(e.work + 10*len(order))
	return head
}

// elimination reduces columns by those before them, skipping what does not
// touch them.
type elimination struct {
	f       *factor
	pivoted []bool
	lowAt   []int32 // the column of L whose pivot is in the row, or -1
	queue   []int32 // columns of L that apply, in order
	touched []int32
	work    int
}

// fullest is the most entries below the pivot of a column that is taken.
const fullest = 400

// add reduces a column and returns the row it is pivoted in, or -1.
func (e *elimination) add(list []int32, values []float64) int32 {
	f, w := e.f, e.f.work
	e.touched, e.queue = e.touched[:0], e.queue[:0]
	for n, r := range list {
		e.touch(r, 0)
		w[r] = values[n]
	}
	for n := 0; n < len(e.queue); n++ {
		l := &f.low[e.queue[n]]
		x := w[l.row]
		e.work += len(l.terms)
		for _, t := range l.terms {
			if w[t.row] == 0 {
				e.touch(t.row, n+1)
			}
			if w[t.row] -= float64(t.value * x); math.Abs(w[t.row]) < 1e-12 {
				w[t.row] = 1e-300 // stays listed once
			}
		}
	}
	e.work += 4 * len(e.touched)
	row, largest := int32(-1), 1e-7
	for _, r := range e.touched {
		if !e.pivoted[r] && math.Abs(w[r]) > largest {
			largest, row = math.Abs(w[r]), r
		}
	}
	var below []term
	for _, r := range e.touched {
		if row >= 0 && r != row && !e.pivoted[r] && math.Abs(w[r]) > 1e-12 {
			below = append(below, term{r, w[r] / w[row]})
		}
	}
	for _, r := range e.touched {
		w[r] = 0
	}
	if row < 0 || len(below) > fullest {
		return -1
	}
	e.pivoted[row] = true
	if len(below) > 0 {
		e.lowAt[row] = int32(len(f.low))
		f.low = append(f.low, lowColumn{row, below})
	}
	return row
}

// touch lists a row, and the column of L that is pivoted there after those
// already applied.
func (e *elimination) touch(r int32, applied int) {
	e.touched = append(e.touched, r)
	if at := e.lowAt[r]; at >= 0 {
		if k, found := slices.BinarySearch(e.queue[applied:], at); !found {
			e.queue = slices.Insert(e.queue, applied+k, at)
		}
	}
}
