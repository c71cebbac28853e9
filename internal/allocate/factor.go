package allocate

import "math"

// factor is the triangular form of a simplex basis with its later changes in
// product form. Vectors are indexed by row; the basic column of a row is its
// pivot there. (Duff, Erisman and Reid, Direct Methods for Sparse Matrices,
// 1986; singletons first, threshold pivoting in the kernel that is left.)
type factor struct {
	rows  int
	row   []int32   // pivot row of each step
	diag  []float64 // pivot of each step
	upAt  []int32   // entries of each step's column of U: up[upAt[k]:upAt[k+1]]
	up    []term
	below int         // entries of L
	low   []lowColumn // columns of L that are not trivial, in order
	busy  []int32     // steps whose pivot is not 1 or whose column of U is not empty

	etas  []eta
	terms []term // of the etas
	work  []float64
}

type term struct {
	row   int32
	value float64
}

type lowColumn struct {
	row   int32
	terms []term
}

type eta struct {
	row      int32
	pivot    float64
	from, to int32
}

// column calls visit for each entry of a basis column.
type columnOf func(col int32) ([]int32, []float64)

// build factors the basis; head[row] becomes the column pivoted in the row. It
// reports false when the basis is singular.
func (f *factor) build(rows int, head []int32, column columnOf) bool {
	f.reset(rows)
	cols := append([]int32(nil), head...)
	order := peel(rows, cols, column)
	pivoted := make([]bool, rows)
	kernelAt := make([]int32, 0, len(order.kernel))
	rowCount := make([]int32, rows)
	for _, c := range cols {
		list, _ := column(c)
		for _, r := range list {
			rowCount[r]++
		}
	}
	for _, s := range order.fixed {
		f.eliminate(s.col, s.row, pivoted, rowCount, kernelAt, column)
		head[s.row] = s.col
	}
	for _, c := range order.kernel {
		r := f.eliminate(c, -1, pivoted, rowCount, kernelAt, column)
		if r < 0 {
			return false
		}
		head[r] = c
		if n := len(f.low); n > 0 && f.low[n-1].row == r {
			kernelAt = append(kernelAt, int32(n-1))
		}
	}
	for k := range f.row {
		if f.diag[k] != 1 || f.upAt[k+1] > f.upAt[k] {
			f.busy = append(f.busy, int32(k))
		}
	}
	return true
}

// reset empties the factor.
func (f *factor) reset(rows int) {
	f.rows = rows
	f.row, f.diag, f.up, f.upAt = f.row[:0], f.diag[:0], f.up[:0], append(f.upAt[:0], 0)
	f.low, f.busy, f.etas, f.terms, f.below = f.low[:0], f.busy[:0], f.etas[:0], f.terms[:0], 0
	if len(f.work) < rows {
		f.work = make([]float64, rows)
	}
}

// eliminate adds one column; row -1 lets it choose its pivot.
func (f *factor) eliminate(col, row int32, pivoted []bool, rowCount, kernelAt []int32, column columnOf) int32 {
	list, values := column(col)
	w := f.work
	touched := make([]int32, 0, 16)
	for n, r := range list {
		w[r] = values[n]
		touched = append(touched, r)
	}
	for _, at := range kernelAt {
		l := &f.low[at]
		x := w[l.row]
		if x == 0 {
			continue
		}
		for _, t := range l.terms {
			if w[t.row] == 0 {
				touched = append(touched, t.row)
			}
			w[t.row] -= float64(t.value * x)
			if w[t.row] == 0 {
				w[t.row] = 1e-300 // stays listed once
			}
		}
	}
	if row < 0 {
		largest := 0.0
		for _, r := range touched {
			if !pivoted[r] {
				largest = max(largest, math.Abs(w[r]))
			}
		}
		for _, r := range touched {
			if !pivoted[r] && math.Abs(w[r]) >= 0.1*largest && largest > 1e-9 &&
				(row < 0 || rowCount[r] < rowCount[row] || rowCount[r] == rowCount[row] && r < row) {
				row = r
			}
		}
	}
	if row < 0 || math.Abs(w[row]) < 1e-9 {
		for _, r := range touched {
			w[r] = 0
		}
		return -1
	}
	pivot := w[row]
	var below []term
	for _, r := range touched {
		x := w[r]
		w[r] = 0
		if r == row || math.Abs(x) < 1e-14 {
			continue
		}
		if pivoted[r] {
			f.up = append(f.up, term{r, x})
		} else {
			below = append(below, term{r, x / pivot})
		}
	}
	f.row, f.diag, f.upAt = append(f.row, row), append(f.diag, pivot), append(f.upAt, int32(len(f.up)))
	pivoted[row] = true
	if len(below) > 0 {
		f.low = append(f.low, lowColumn{row, below})
		f.below += len(below)
	}
	return row
}

// peeled is the order of elimination: columns whose pivot row is forced, then
// the kernel by the number of entries.
type peeled struct {
	fixed  []pivotAt
	kernel []int32
}

type pivotAt struct{ col, row int32 }

// peel takes off columns with one row left, then rows with one column left.
func peel(rows int, cols []int32, column columnOf) peeled {
	rowCols := make([][]int32, rows)
	rowLeft, colLeft := make([]int32, rows), make([]int32, len(cols))
	for n, c := range cols {
		list, _ := column(c)
		colLeft[n] = int32(len(list))
		for _, r := range list {
			rowCols[r] = append(rowCols[r], int32(n))
			rowLeft[r]++
		}
	}
	rowDone, colDone := make([]bool, rows), make([]bool, len(cols))
	var out peeled
	take := func(n, r int32) {
		rowDone[r], colDone[n] = true, true
		out.fixed = append(out.fixed, pivotAt{cols[n], r})
		for _, o := range rowCols[r] {
			colLeft[o]--
		}
		list, _ := column(cols[n])
		for _, o := range list {
			rowLeft[o]--
		}
	}
	var queue []int32
	for n := range cols {
		if colLeft[n] == 1 {
			queue = append(queue, int32(n))
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if colDone[n] || colLeft[n] != 1 {
			continue
		}
		list, _ := column(cols[n])
		for _, r := range list {
			if rowDone[r] {
				continue
			}
			take(n, r)
			for _, o := range rowCols[r] {
				if !colDone[o] && colLeft[o] == 1 {
					queue = append(queue, o)
				}
			}
			break
		}
	}
	for r := range rows {
		if !rowDone[r] && rowLeft[r] == 1 {
			queue = append(queue, int32(r))
		}
	}
	for len(queue) > 0 {
		r := queue[0]
		queue = queue[1:]
		if rowDone[r] || rowLeft[r] != 1 {
			continue
		}
		for _, n := range rowCols[r] {
			if colDone[n] {
				continue
			}
			take(n, r)
			list, _ := column(cols[n])
			for _, o := range list {
				if !rowDone[o] && rowLeft[o] == 1 {
					queue = append(queue, o)
				}
			}
			break
		}
	}
	buckets := [][]int32{}
	for n, c := range cols {
		if colDone[n] {
			continue
		}
		for len(buckets) <= int(colLeft[n]) {
			buckets = append(buckets, nil)
		}
		buckets[colLeft[n]] = append(buckets[colLeft[n]], c)
	}
	for _, b := range buckets {
		out.kernel = append(out.kernel, b...)
	}
	return out
}

// forward solves B x = v in place.
func (f *factor) forward(v []float64) {
	for n := range f.low {
		l := &f.low[n]
		if x := v[l.row]; x != 0 {
			for _, t := range l.terms {
				v[t.row] -= float64(t.value * x)
			}
		}
	}
	for n := len(f.busy) - 1; n >= 0; n-- {
		k := f.busy[n]
		r := f.row[k]
		x := v[r]
		if x == 0 {
			continue
		}
		x /= f.diag[k]
		v[r] = x
		for _, t := range f.up[f.upAt[k]:f.upAt[k+1]] {
			v[t.row] -= float64(t.value * x)
		}
	}
	for n := range f.etas {
		e := &f.etas[n]
		x := v[e.row]
		if x == 0 {
			continue
		}
		x /= e.pivot
		for _, t := range f.terms[e.from:e.to] {
			v[t.row] -= float64(t.value * x)
		}
		v[e.row] = x
	}
}

// backward solves B' y = v in place.
func (f *factor) backward(v []float64) {
	for n := len(f.etas) - 1; n >= 0; n-- {
		e := &f.etas[n]
		x := v[e.row]
		for _, t := range f.terms[e.from:e.to] {
			x -= float64(t.value * v[t.row])
		}
		v[e.row] = x / e.pivot
	}
	for _, k := range f.busy {
		r := f.row[k]
		x := v[r]
		for _, t := range f.up[f.upAt[k]:f.upAt[k+1]] {
			x -= float64(t.value * v[t.row])
		}
		v[r] = x / f.diag[k]
	}
	for n := len(f.low) - 1; n >= 0; n-- {
		l := &f.low[n]
		x := v[l.row]
		for _, t := range l.terms {
			x -= float64(t.value * v[t.row])
		}
		v[l.row] = x
	}
}

// replace changes the basic column of a row to the one whose forward solution
// is alpha.
func (f *factor) replace(row int32, alpha []float64) {
	from := int32(len(f.terms))
	for i, a := range alpha {
		if a != 0 && int32(i) != row && math.Abs(a) > 1e-14 {
			f.terms = append(f.terms, term{int32(i), a})
		}
	}
	f.etas = append(f.etas, eta{row, alpha[row], from, int32(len(f.terms))})
}
