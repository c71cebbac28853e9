package allocate

import (
	"context"
	"math/rand/v2"
	"time"
)

// Solve finds a plan for the problem and proves how good it is. A problem of
// bad shape gives an error; every limit, cancelling included, gives the best
// plan so far with its bound and the reason in Status.
func Solve(ctx context.Context, p Problem, s Settings) (Result, error) {
	if err := p.Validate(); err != nil {
		return Result{}, err
	}
	c := newClock(ctx, s, len(p.Items))
	m := newModel(p)
	so := &solver{m: m, s: s, c: c, best: newPlan(m)}
	so.search()
	r := so.result()
	if err := Check(p, r); err != nil {
		return Result{}, err
	}
	return r, nil
}

type solver struct {
	m      *model
	s      Settings
	c      *clock
	best   *plan
	prices prices
	bound  int64
	stats  Stats
}

func (s *solver) search() {
	m := s.m
	l := m.rootLimits()
	d := newDual(m, l, s.c)
	d.start()
	d.run(dualIterations(len(m.cap)), 0.3, 8)
	s.prices = d.best
	s.bound = m.bound(d.best, l, d.fullRent)
	s.stats.DualIterations = d.iterations
	rent := make([]float64, len(m.cap))
	m.rents(d.best, rent)
	t0 := time.Now()
	for _, slack := range []float64{0.02, 1} {
		b := newBuilder(newPlan(m), rent)
		b.build(slack, s.c)
		s.offer(b.p)
	}
	println("built", s.best.value, time.Since(t0).Milliseconds())
	w := newSearch(s.best, s.c, rand.New(rand.NewPCG(s.s.Seed, 1)))
	w.cancel()
	println("cancel", w.value, time.Since(t0).Milliseconds())
	w.climb(20)
	println("climb", w.value, time.Since(t0).Milliseconds())
	s.offer(&w.plan)
	w.neighbours()
	tries := 0
	for s.c.work < s.c.limit/8 && !s.c.stop() {
		tries++
		w.ruin(0)
		s.offer(&w.plan)
	}
	println("ruin", w.value, time.Since(t0).Milliseconds(), tries)
	s.stats.Moves = w.moves
	t := newTree(m, s.c, d.best, s.bound, s.best.value, s.offer)
	s.bound = min(s.bound, t.bound(s.best.value))
	println("root", s.bound, time.Since(t0).Milliseconds())
	if len(t.open) > 0 {
		t.dive(t.open[0], s.best.value)
		println("dive", s.best.value, time.Since(t0).Milliseconds())
		w = newSearch(s.best, s.c, w.rng)
		w.climb(20)
		s.offer(&w.plan)
		println("climb", s.best.value, time.Since(t0).Milliseconds())
	}
	for n := 0; !s.c.stop() && s.bound > s.best.value && !t.stuck(); n++ {
		t.expand(s.best.value)
		s.bound = t.bound(s.best.value)
		if n&(n+1) == 0 {
			println("tree", n, s.bound, s.best.value, len(t.open), time.Since(t0).Milliseconds())
		}
	}
	s.stats.Nodes = t.nodes
}

func dualIterations(items int) int {
	switch {
	case items <= 5_000:
		return 3000
	case items <= 50_000:
		return 1000
	}
	return 600
}

func (s *solver) offer(p *plan) {
	if p.value > s.best.value {
		s.best.copyFrom(p)
	}
}

func (s *solver) result() Result {
	m := s.m
	r := Result{
		Value: s.best.value, Bound: s.bound, GapPercent: gapPercent(s.best.value, s.bound),
		Pieces: s.best.pieces(), Prices: m.report(s.prices), Stats: s.stats,
	}
	switch {
	case r.Bound == r.Value:
		r.Status = Optimal
	case r.GapPercent <= s.s.Gap:
		r.Status = GapReached
	case s.c.stopped:
		r.Status = s.c.status
	default:
		r.Status = WorkLimit
	}
	r.Stats.Items, r.Stats.Entries, r.Stats.Edges, r.Stats.Groups = len(m.cap), len(m.entItem), len(m.edgeA), len(m.groups)
	r.Stats.Work = s.c.work
	r.Stats.Elapsed = time.Since(s.c.started)
	return r
}

// report turns the prices of the bound into what the caller may pay: where a
// position's own candidates limit the pieces, one more fill also earns what is
// left of the design's value.
func (m *model) report(p prices) Prices {
	out := Prices{Items: make([]int64, len(m.cap)), Designs: make([][]PositionCost, len(m.designs))}
	rent := make([]float64, len(m.cap))
	m.rents(p, rent)
	for i, a := range rent {
		out.Items[m.itemOf[i]] = int64(a)
	}
	for d := range m.designs {
		row := &m.designs[d]
		slack := float64(row.value)
		for k := row.pos; k < row.end; k++ {
			slack -= p.fill(m, k)
		}
		costs := make([]PositionCost, row.end-row.pos)
		for k := row.pos; k < row.end; k++ {
			pos := &m.pos[k]
			fill := p.fill(m, k)
			if pos.most == row.most && int(row.most) < m.problem.Designs[row.orig].Quantity {
				fill += max(0, slack)
			}
			if pos.kind == Single {
				fill /= float64(pos.count)
			}
			costs[pos.orig] = PositionCost{Fill: int64(max(0, fill)), Slots: m.slotPrices(pos, p)}
		}
		out.Designs[row.orig] = costs
	}
	return out
}

func (m *model) slotPrices(pos *posRow, p prices) [][]int64 {
	if pos.kind != Suite {
		return nil
	}
	out := make([][]int64, pos.refE-pos.ref)
	for r := pos.ref; r < pos.refE; r++ {
		ref := &m.refs[r]
		for g := ref.group; g < ref.groupE; g++ {
			out[ref.orig] = append(out[ref.orig], int64(max(0, p.group[g])))
		}
	}
	return out
}
