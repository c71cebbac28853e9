package allocate

import (
	"context"
	"math/rand/v2"
	"time"
)

// Solve finds a plan for the problem and proves how good it is. A problem of
// bad shape gives an error; every other one gets a plan. Every limit,
// cancelling included, gives the best plan so far with its bound and the reason
// in Status. A plan that fails its check is left aside for the best one before
// it, and counted in Stats.
func Solve(ctx context.Context, p Problem, s Settings) (Result, error) {
	if err := p.Validate(); err != nil {
		return Result{}, err
	}
	m := newModel(p)
	c := newClock(ctx, s, m)
	so := &solver{m: m, s: s, c: c, best: newPlan(m)}
	if m.fault != nil {
		return Result{}, m.fault
	}
	so.search()
	if m.further {
		all, err := m.furtherBound(so.prices, c)
		if err != nil {
			return Result{}, err
		}
		so.boundAll = all
		so.bound = min(so.bound, all)
	}
	r := so.result()
	if err := Check(p, r); err != nil {
		so.best = newPlan(m)
		so.stats.Refused++
		r = so.result()
	}
	return r, nil
}

type solver struct {
	m        *model
	s        Settings
	c        *clock
	best     *plan
	prices   prices
	bound    int64
	boundAll int64 // with further edges, when there are any
	stats    Stats
	walk     *search
	tree     *tree

	step    int64 // unless 0, every plan is worth a multiple of it
	rounded int   // the tree's node at which the next plan is made
}

// search runs the phases until the answer is good enough or a limit stops it:
// prices and their bound, plans built at those prices, the tree's root, and
// then the tree and the local search by turns.
func (s *solver) search() {
	if s.step == 0 && s.m.size() <= treeSize && !s.m.further {
		s.limitDear()
	}
	s.priceAll()
	s.tell(Building)
	s.build()
	if s.done() {
		return
	}
	s.tell(Programs)
	if gapPercent(s.best.value, s.bound) > wideGap {
		s.restart()
	}
	if size := int64(s.m.size()); size <= treeSize || s.c.limit-s.c.work >= programWork*size*size {
		s.plant()
	}
	for turn := 0; !s.done(); turn++ {
		if s.tree != nil && !s.tree.stuck() && turn%2 == 0 {
			s.tell(Programs)
			s.branch()
		} else {
			s.tell(Improving)
			s.ruin()
		}
	}
}

// proofItems is the most items for which the tree comes before more search: it
// mostly proves the best plan at once.
const proofItems = 500

// treeSize is the most items and groups for which linear programs are solved
// with the default work; beyond, a program costs all of it. Who allows so many
// steps for the square of the size gets programs there, too.
const (
	treeSize    = 14_000
	programWork = 10
)

// tell reports the progress at the beginning of a stage or a turn of it.
func (s *solver) tell(stage Stage) {
	if s.s.Progress != nil {
		s.s.Progress(Progress{stage, s.best.value, s.bound, gapPercent(s.best.value, s.bound), s.c.work})
	}
}

// done reports whether the search is over.
func (s *solver) done() bool {
	return s.bound <= s.best.value || s.bound-s.best.value < s.step || gapPercent(s.best.value, s.bound) <= s.s.Gap ||
		s.c.stop()
}

func (s *solver) priceAll() {
	s.bound, s.prices = s.descend(dualIterations(len(s.m.cap)), 1)
}

// wideGap is the gap in percent at which the prices are suspected: the search
// for them may have stopped early.
const wideGap = 1

// restart searches for the prices from the beginning, with longer and with
// shorter first steps and twice as many, and builds again at better ones.
func (s *solver) restart() {
	before := s.bound
	for _, eta := range []float64{3, 0.3} {
		if s.c.stop() {
			break
		}
		s.stats.Restarts++
		if bound, prices := s.descend(dualIterations(len(s.m.cap)), eta); bound < s.bound {
			s.bound, s.prices = bound, prices
		}
	}
	if s.bound < before && !s.done() {
		s.build()
	}
}

// descend lowers the bound by so many steps, the first of size eta, but by no
// more than a fair part of the work pays for.
func (s *solver) descend(iterations int, eta float64) (int64, prices) {
	l := s.m.rootLimits()
	each := int64(len(s.m.entItem) + len(s.m.edgeA) + len(s.m.cap) + 1)
	iterations = int(min(int64(iterations), max(leastIterations, s.c.limit*2/5/each)))
	d := newDual(s.m, l, s.c)
	d.start()
	d.run(iterations, eta)
	s.stats.DualIterations += d.iterations
	return s.m.bound(d.best, l, d.fullRent), d.best
}

// manyGroups is the number of groups beyond which a round of moves costs more
// than a better start.
const manyGroups = 4000

// build makes plans at the prices of the bound and improves them: a cautious
// one, which leaves the moves more room, and a greedy one, which is worth more
// as it stands. Of large problems only one is improved.
func (s *solver) build() {
	m := s.m
	rent := make([]float64, len(m.cap))
	m.rents(s.prices, rent)
	for n, slack := range []float64{0.02, 1} {
		if n > 0 && s.done() {
			return
		}
		c := unlimited()
		b := newBuilder(newPlan(m), rent, c)
		b.build(slack, c)
		s.c.spend(int(c.work))
		s.offer(b.p)
		if greedy := n == 1; m.size() > treeSize && greedy != (len(m.groups) > manyGroups) {
			continue
		}
		w := newSearch(b.p, s.c, rand.New(rand.NewPCG(s.s.Seed, uint64(n))))
		s.c.within(func() {
			w.cancel()
			w.climb(20)
		})
		s.stats.Moves += w.moves
		s.offer(&w.plan)
	}
}

// offer keeps a plan that is better than the best so far and passes its check.
func (s *solver) offer(p *plan) {
	switch {
	case p.value <= s.best.value:
	case p.sound():
		s.best.copyFrom(p)
	default:
		s.stats.Refused++
	}
}

// plant solves the root of the tree and dives from it.
func (s *solver) plant() {
	s.tree = newTree(s.m, s.c, s.prices, s.bound, s.best.value, s.offer)
	s.bound = min(s.bound, s.tree.bound(s.best.value))
	s.tree.settled(&s.prices)
	if s.done() || len(s.tree.open) == 0 {
		return
	}
	for range 4 {
		before := s.best.value
		for _, lift := range []float64{0, 0.4, 0.5, 0.6} {
			s.climb(roundDown(s.m, s.c, s.tree.x.shares, lift))
		}
		if len(s.m.cap) > proofItems {
			s.ruin()
		}
		if s.done() || len(s.tree.open) == 0 {
			return
		}
		s.climb(s.tree.dive(s.tree.open[0], s.best.value))
		if s.done() || float64(s.best.value-before) < 0.1*float64(s.bound-before) {
			return
		}
		s.tree.recut(s.best.value)
		s.bound = min(s.bound, s.tree.bound(s.best.value))
		if s.done() || len(s.tree.open) == 0 {
			return
		}
	}
}

// climb improves a plan by simple moves.
func (s *solver) climb(p *plan) {
	w := newSearch(p, s.c, rand.New(rand.NewPCG(s.s.Seed, 7)))
	w.climb(20)
	s.stats.Moves += w.moves
	s.offer(&w.plan)
}

// branch splits nodes for a turn, with a dive now and then.
func (s *solver) branch() {
	before := s.best.value
	for end := s.c.work + turnWork; s.c.work < end && !s.done() && !s.tree.stuck(); {
		s.tree.expand(s.best.value)
		s.bound = min(s.bound, s.tree.bound(s.best.value))
		if s.tree.nodes >= s.rounded && !s.done() {
			s.rounded = s.tree.nodes + roundEvery
			s.climb(roundDown(s.m, s.c, s.tree.x.shares, 0.5))
		}
	}
	if s.best.value > before {
		s.climb(s.best)
		s.bound = min(s.bound, s.tree.bound(s.best.value))
	}
	s.stats.Nodes = s.tree.nodes
}

const (
	turnWork   = 50_000_000
	roundEvery = 8 // nodes of the tree between two of which a plan is made
)

// ruin runs the local search for a turn.
func (s *solver) ruin() {
	if s.walk == nil {
		s.walk = newSearch(s.best, s.c, rand.New(rand.NewPCG(s.s.Seed, 11)))
	}
	w := s.walk
	if s.best.value > w.value {
		*w = *newSearch(s.best, s.c, w.rng)
	}
	moves := w.moves
	for end := s.c.work + turnWork/2; s.c.work < end && !s.c.stop(); {
		w.ruin()
		if w.value > s.best.value && gapPercent(w.value, s.bound) <= s.s.Gap {
			break
		}
	}
	s.stats.Moves += w.moves - moves
	if s.offer(&w.plan); w.value != s.best.value {
		s.walk = nil // its plan was refused
	}
	if s.tree != nil {
		s.bound = min(s.bound, s.tree.bound(s.best.value))
	}
}

// leastIterations of the price search are made even when work is short.
const leastIterations = 100

func dualIterations(items int) int {
	switch {
	case items <= 50:
		return 100
	case items <= 500:
		return 600
	case items <= 50_000:
		return 1000
	}
	return 600
}

func (s *solver) result() Result {
	m := s.m
	r := Result{
		Value: s.best.value, Bound: s.bound, BoundAll: max(s.bound, s.boundAll),
		GapPercent: gapPercent(s.best.value, s.bound),
		Pieces:     s.best.pieces(), Prices: m.report(s.prices), Stats: s.stats,
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
	r.Stats.Items, r.Stats.Entries, r.Stats.Edges, r.Stats.Groups = len(m.cap), len(m.entItem), len(m.edgeA),
		len(m.groups)
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
