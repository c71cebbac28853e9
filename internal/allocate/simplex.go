package allocate

import (
	"math"
	"slices"
)

// simplex minimises cost'x subject to rows and bounds by the bounded dual
// simplex method with steepest-edge weights and the long-step ratio test
// (Koberstein, The Dual Simplex Method, 2005). Every column has two finite
// bounds, so each basis is dual feasible with the nonbasic columns at the
// right ones, and new bounds only need more steps. What it finds is used as
// prices and as advice, never as proof: see bound.
type simplex struct {
	rows, cols int
	start      []int32 // by column
	index      []int32
	value      []float64
	rowStart   []int32 // by row
	rowCol     []int32
	rowValue   []float64

	cost      []float64 // columns, then one slack a row
	low, high []float64
	right     []float64

	head   []int32 // basic column by row
	place  []int32 // row of a basic column, -1
	x      []float64
	dj     []float64
	weight []float64 // by row
	f      factor

	rho, alphaQ, tau, flip []float64
	alphaR                 []float64 // by column
	hit                    []int32   // columns with alphaR
	ratio, passed          []candidate
	unit                   [1]int32
	one                    [1]float64
	byCol                  []float64 // scratch: weight by column
	iterations, refactors  int
	ray                    bool // rho holds a proof of infeasibility
	raySign                float64
	shaken                 bool
}

type candidate struct {
	col   int32
	ratio float64
	size  float64
}

type lpStatus int

const (
	lpOptimal lpStatus = iota
	lpInfeasible
	lpCut  // the objective passed the cutoff
	lpStop // iterations, or numbers went wrong
)

// newSimplex takes columns in compressed form; rows get slacks by slackHigh:
// row + slack = right, 0 <= slack <= slackHigh.
func newSimplex(rows int, start, index []int32, value, cost, low, high, right, slackHigh []float64) *simplex {
	cols := len(start) - 1
	s := &simplex{rows: rows, cols: cols, start: start, index: index, value: value, right: right, one: [1]float64{1}}
	s.rowStart = make([]int32, rows+1)
	for _, r := range index {
		s.rowStart[r+1]++
	}
	for r := range rows {
		s.rowStart[r+1] += s.rowStart[r]
	}
	s.rowCol, s.rowValue = make([]int32, len(index)), make([]float64, len(index))
	next := slices.Clone(s.rowStart)
	for c := range cols {
		for k := start[c]; k < start[c+1]; k++ {
			r := index[k]
			s.rowCol[next[r]], s.rowValue[next[r]] = int32(c), value[k]
			next[r]++
		}
	}
	all := cols + rows
	s.cost, s.low, s.high = make([]float64, all), make([]float64, all), make([]float64, all)
	copy(s.cost, cost)
	copy(s.low, low)
	copy(s.high, high)
	copy(s.high[cols:], slackHigh)
	s.head, s.place = make([]int32, rows), make([]int32, all)
	s.x, s.dj, s.weight = make([]float64, all), make([]float64, all), make([]float64, rows)
	s.rho, s.alphaQ, s.tau, s.flip = make([]float64, rows), make([]float64, rows), make([]float64, rows),
		make([]float64, rows)
	s.alphaR, s.byCol = make([]float64, all), make([]float64, all)
	s.slackBasis()
	return s
}

func (s *simplex) slackBasis() {
	for c := range s.place {
		s.place[c] = -1
	}
	for r := range s.rows {
		s.head[r] = int32(s.cols + r)
		s.place[s.cols+r] = int32(r)
		s.weight[r] = 1
	}
	s.refactor()
}

func (s *simplex) column(c int32) ([]int32, []float64) {
	if int(c) >= s.cols {
		s.unit[0] = c - int32(s.cols)
		return s.unit[:], s.one[:]
	}
	return s.index[s.start[c]:s.start[c+1]], s.value[s.start[c]:s.start[c+1]]
}

// refactor builds the factor anew, and from it reduced costs and values.
func (s *simplex) refactor() bool {
	s.refactors++
	for r, c := range s.head {
		s.byCol[c] = s.weight[r]
	}
	if !s.f.build(s.rows, s.head, s.column) {
		return false
	}
	for r, c := range s.head {
		s.place[c] = int32(r)
		s.weight[r] = s.byCol[c]
	}
	s.price()
	s.values()
	return true
}

// price sets the reduced costs, and puts nonbasic columns at the bound that
// keeps the basis dual feasible.
func (s *simplex) price() {
	y := s.duals()
	for c := range s.dj {
		if s.place[c] >= 0 {
			s.dj[c] = 0
			continue
		}
		list, values := s.column(int32(c))
		d := s.cost[c]
		for n, r := range list {
			d -= float64(values[n] * y[r])
		}
		s.dj[c] = d
	}
}

func (s *simplex) duals() []float64 {
	y := make([]float64, s.rows)
	for r, c := range s.head {
		y[r] = s.cost[c]
	}
	s.f.backward(y)
	return y
}

// values puts nonbasic columns at their bounds and solves for the basic ones.
func (s *simplex) values() {
	v := s.flip
	copy(v, s.right)
	for c := range s.x {
		if s.place[c] >= 0 {
			continue
		}
		if s.dj[c] > dualTol || s.dj[c] >= -dualTol && s.x[c] < s.high[c] {
			s.x[c] = s.low[c]
		} else {
			s.x[c] = s.high[c]
		}
		if x := s.x[c]; x != 0 {
			list, values := s.column(int32(c))
			for n, r := range list {
				v[r] -= float64(values[n] * x)
			}
		}
	}
	s.f.forward(v)
	for r, c := range s.head {
		s.x[c] = v[r]
	}
	clear(v)
}

// setBounds changes the bounds of a column.
func (s *simplex) setBounds(c int32, low, high float64) { s.low[c], s.high[c] = low, high }

// objective of the present basic solution, a lower bound while it is dual
// feasible.
func (s *simplex) objective() float64 {
	sum := 0.0
	for c, x := range s.x[:s.cols] {
		sum += float64(x * s.cost[c])
	}
	return sum
}

const (
	feasTol  = 1e-7
	dualTol  = 1e-6 // a column stays at its bound when it costs or gains no more
	pivotTol = 1e-7
)

// solve runs to optimality, infeasibility, cutoff or so many iterations. When
// the objective stands still it goes on with costs a little perturbed.
func (s *simplex) solve(cutoff float64, limit int, c *clock) lpStatus {
	s.ray = false
	s.values()
	return s.run(cutoff, limit, true, c)
}

const refactorWork = 120 // steps a row, by measurement

const patience = 150 // iterations without progress before costs are perturbed

func (s *simplex) run(cutoff float64, limit int, shake bool, c *clock) lpStatus {
	bad, still, best := 0, 0, math.Inf(-1)
	for n := 0; n < limit; n++ {
		if n%32 == 31 {
			c.spend(refactorWork * s.refactors * s.rows)
			s.refactors = 0
			if c.stop() {
				return lpStop
			}
			now := s.objective()
			if now > cutoff {
				return lpCut
			}
			if still += 32; now > best+1e-9*math.Abs(best) || math.IsInf(best, 0) {
				still, best = 0, now
			}
			if still > patience && shake && !s.shaken {
				s.shake()
			}
		}
		if len(s.f.etas) >= 100 && !s.refactor() {
			return lpStop
		}
		r := s.leaving()
		if r < 0 && len(s.f.etas) > 0 {
			if !s.refactor() {
				return lpStop
			}
			r = s.leaving()
		}
		if r < 0 {
			return lpOptimal
		}
		switch s.step(r, c) {
		case lpInfeasible:
			return lpInfeasible
		case lpStop:
			if bad++; bad > 20 || !s.refactor() {
				return lpStop
			}
		}
		s.iterations++
	}
	return lpStop
}

// shake perturbs the costs of the columns by up to a millionth, each by an
// amount of its own.
func (s *simplex) shake() {
	s.shaken = true
	mix := uint64(1)
	for c := range s.cost[:s.cols] {
		mix = mix*6364136223846793005 + 1442695040888963407
		part := 0.5 + float64(mix>>40)/(1<<25)
		s.cost[c] += float64(part * 3e-6 * (math.Abs(s.cost[c]) + 100))
	}
	s.price()
	s.values()
}

// leaving picks the row whose basic column is outside its bounds by most, in
// the norm of the weights.
func (s *simplex) leaving() int32 {
	best, row := 0.0, int32(-1)
	for r, c := range s.head {
		x, off := s.x[c], 0.0
		if x < s.low[c]-feasTol {
			off = s.low[c] - x
		} else if x > s.high[c]+feasTol {
			off = x - s.high[c]
		} else {
			continue
		}
		if v := off * off / s.weight[r]; v > best {
			best, row = v, int32(r)
		}
	}
	return row
}

func (s *simplex) step(r int32, c *clock) lpStatus {
	p := s.head[r]
	goal := s.low[p]
	sign := -1.0
	if s.x[p] > s.high[p] {
		goal, sign = s.high[p], 1
	}
	clear(s.rho)
	s.rho[r] = 1
	s.f.backward(s.rho)
	s.pivotRow(c)
	q := s.entering(sign, math.Abs(s.x[p]-goal))
	if q < 0 {
		s.ray, s.raySign = true, sign
		return lpInfeasible
	}
	clear(s.alphaQ)
	list, values := s.column(q)
	for n, i := range list {
		s.alphaQ[i] = values[n]
	}
	s.f.forward(s.alphaQ)
	pivot := s.alphaQ[r]
	if math.Abs(pivot) < pivotTol || math.Abs(pivot-s.alphaR[q]) > 1e-6*(1+math.Abs(pivot)) {
		return lpStop
	}
	theta := s.dj[q] / s.alphaR[q]
	for _, j := range s.hit {
		s.dj[j] -= float64(theta * s.alphaR[j])
	}
	s.dj[q], s.dj[p] = 0, -theta
	move := (s.x[p] - goal) / pivot
	s.updateWeights(r, pivot)
	for i, a := range s.alphaQ {
		if a != 0 {
			s.x[s.head[i]] -= float64(move * a)
		}
	}
	s.x[q] += move
	s.x[p] = goal
	s.f.replace(r, s.alphaQ)
	s.head[r], s.place[q], s.place[p] = q, r, -1
	c.spend(10*s.rows + 4*(len(s.f.up)+s.f.below+len(s.f.terms)))
	return lpOptimal
}

// pivotRow sets alphaR = rho' A on the nonbasic columns.
func (s *simplex) pivotRow(c *clock) {
	for _, j := range s.hit {
		s.alphaR[j] = 0
	}
	s.hit = s.hit[:0]
	work := 0
	add := func(j int32, v float64) {
		if s.place[j] >= 0 {
			return
		}
		if s.alphaR[j] == 0 {
			s.hit = append(s.hit, j)
		}
		if s.alphaR[j] += v; s.alphaR[j] == 0 {
			s.alphaR[j] = 1e-300
		}
	}
	for i, x := range s.rho {
		if math.Abs(x) < 1e-12 {
			continue
		}
		from, to := s.rowStart[i], s.rowStart[i+1]
		for k := from; k < to; k++ {
			add(s.rowCol[k], float64(x*s.rowValue[k]))
		}
		add(int32(s.cols+i), x)
		work += int(to - from)
	}
	c.spend(work + len(s.hit))
}

func (s *simplex) updateWeights(r int32, pivot float64) {
	copy(s.tau, s.rho)
	s.f.forward(s.tau)
	w := s.weight[r]
	for i, a := range s.alphaQ {
		if a == 0 || int32(i) == r {
			continue
		}
		k := a / pivot
		s.weight[i] = max(s.weight[i]-float64(2*k*s.tau[i])+float64(k*k*w), 1e-4)
	}
	s.weight[r] = max(w/(pivot*pivot), 1e-4)
}
