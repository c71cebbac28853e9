package allocate

import "math"

// dual lowers the bound by subgradient steps on the prices, each price with a
// step of its own size (root mean square of its past gradients). Between full
// evaluations it works on a core: the entries and edges near to deciding a rent.
type dual struct {
	m *model
	l limits
	c *clock

	now, best prices
	bestUB    float64

	scale     prices // step of each price before the decaying factor
	square    prices // running mean of squared gradients
	grad      prices
	rent      []float64
	winner    []int32 // group that sets the rent, -1 when the item's own price does
	paired    []bool  // items with edges have rents of their own
	coreStart []int32
	core      []coreEntry
	coreEdges []coreEdge
	fullRent  []float64

	warm       float64 // share of the running means that is still their zero start
	iterations int
}

type coreEntry struct {
	cost  float64
	group int32
}

type coreEdge struct {
	cost            float64
	a, b, pos, most int32
}

func newDual(m *model, l limits, c *clock) *dual {
	d := &dual{
		m: m, l: l, c: c,
		now: newPrices(m), best: newPrices(m), bestUB: math.Inf(1),
		scale: newPrices(m), square: newPrices(m), grad: newPrices(m),
		rent: make([]float64, len(m.cap)), winner: make([]int32, len(m.cap)), paired: make([]bool, len(m.cap)),
		coreStart: make([]int32, len(m.cap)+1), fullRent: make([]float64, len(m.cap)),
	}
	for f := range m.edgeA {
		d.paired[m.edgeA[f]], d.paired[m.edgeB[f]] = true, true
	}
	return d
}

// start sets each position's price between what its stones cost on average
// and what the design can pay, and the sizes of the steps.
func (d *dual) start() {
	m := d.m
	groupMean := make([]float64, len(m.groups))
	for g, row := range m.groups {
		groupMean[g] = meanCost(m.entCost[row.ent:row.end])
	}
	typical := make([]float64, len(m.pos))
	for k := range m.pos {
		typical[k] = d.typicalFill(int32(k), groupMean)
	}
	for _, ds := range m.designs {
		if ds.most == 0 {
			for k := ds.pos; k < ds.end; k++ {
				d.idle(k)
			}
			continue
		}
		value, total := ds.each(ds.most), 0.0
		for k := ds.pos; k < ds.end; k++ {
			total += typical[k]
		}
		for k := ds.pos; k < ds.end; k++ {
			share := typical[k] / max(1, total)
			price := typical[k] + 0.6*(value-total)*share
			step := max(math.Abs(value), total)*share + 1
			d.setFill(k, price, step, groupMean)
		}
	}
	for i := range m.cap {
		sum, n := 0.0, 0.0
		for _, e := range m.itemEnt.of(int32(i)) {
			sum, n = sum+max(math.Abs(float64(m.entCost[e])), 0.3*d.now.group[m.entGroup[e]]), n+1
		}
		for _, f := range m.itemEdge.of(int32(i)) {
			sum, n = sum+max(math.Abs(float64(m.edgeCost[f])), 0.3*d.now.pos[m.edgePos[f]])/2, n+1
		}
		d.scale.item[i] = sum/max(1, n) + 1
	}
}

// idle prices a position that is never filled so that it raises no rent.
func (d *dual) idle(k int32) {
	m, row := d.m, &d.m.pos[k]
	for _, c := range m.edgeCost[row.edge:row.edgeE] {
		d.now.pos[k] = min(d.now.pos[k], float64(c))
	}
	if row.kind == Single {
		d.idleGroup(row.group)
	}
	for r := row.ref; r < row.refE; r++ {
		d.idleRef(r)
	}
}

func (d *dual) idleRef(r int32) {
	for g := d.m.refs[r].group; g < d.m.refs[r].groupE; g++ {
		d.idleGroup(g)
	}
}

func (d *dual) idleGroup(g int32) {
	row := &d.m.groups[g]
	d.now.group[g], d.scale.group[g] = 0, 0
	for _, c := range d.m.entCost[row.ent:row.end] {
		d.now.group[g] = min(d.now.group[g], float64(c))
	}
}

func meanCost(costs []int64) float64 {
	sum := 0.0
	for _, c := range costs {
		sum += float64(c)
	}
	return sum / float64(max(1, len(costs)))
}

func (d *dual) typicalFill(k int32, groupMean []float64) float64 {
	m, row := d.m, &d.m.pos[k]
	mean := 0.0
	switch row.kind {
	case Single:
		mean = float64(row.count) * groupMean[row.group]
	case Pair:
		mean = meanCost(m.edgeCost[row.edge:row.edgeE])
	case Suite:
		for r := row.ref; r < row.refE; r++ {
			for g := m.refs[r].group; g < m.refs[r].groupE; g++ {
				mean += float64(m.groups[g].need) * groupMean[g]
			}
		}
		mean /= float64(max(1, row.refE-row.ref))
	}
	return max(mean, 1)
}

func (d *dual) setFill(k int32, price, step float64, groupMean []float64) {
	m, row := d.m, &d.m.pos[k]
	if row.kind == Single {
		d.now.group[row.group] = price / float64(row.count)
		d.scale.group[row.group] = step / float64(row.count)
		return
	}
	d.now.pos[k], d.scale.pos[k] = price, step
	for r := row.ref; r < row.refE; r++ {
		ref := &m.refs[r]
		if ref.most == 0 {
			d.idleRef(r)
			continue
		}
		total := 0.0
		for g := ref.group; g < ref.groupE; g++ {
			total += float64(m.groups[g].need) * max(1, groupMean[g])
		}
		for g := ref.group; g < ref.groupE; g++ {
			share := max(1, groupMean[g]) / total
			d.now.group[g], d.scale.group[g] = price*share, step*share
		}
	}
}

// run does so many iterations with steps falling from eta by the factor e^-8,
// and leaves the least bound found and its prices in best.
func (d *dual) run(iterations int, eta float64) {
	beta := 1 - min(0.5, 20/float64(iterations))
	shrink := 1 - 8/float64(iterations)
	d.warm = 1
	clear(d.square.pos)
	clear(d.square.group)
	clear(d.square.item)
	d.rebuild(eta)
	for t := range iterations {
		if t%25 == 0 && (t >= iterations/8 || t%100 == 0) {
			if d.c.stop() {
				break
			}
			d.rebuild(eta)
		}
		d.gradient()
		d.warm *= beta
		d.move(beta, eta)
		eta *= shrink
		d.iterations++
	}
	d.rebuild(eta)
	d.polish()
}

// rebuild evaluates the bound on everything, keeps the best, and selects the
// core for steps of the given size.
func (d *dual) rebuild(eta float64) {
	m := d.m
	ub, _ := m.estimate(d.now, d.l, d.fullRent)
	d.keep(ub)
	reach := 12 * eta
	near := func(e, i int32) bool {
		g := m.entGroup[e]
		return d.now.group[g]+float64(reach*d.scale.group[g])-float64(m.entCost[e]) > d.fullRent[i]
	}
	nearEdge := func(f int) bool {
		k := m.edgePos[f]
		return m.edgeMost[f] > 0 && d.now.pos[k]+float64(reach*d.scale.pos[k])-
			float64(m.edgeCost[f]) > d.fullRent[m.edgeA[f]]+d.fullRent[m.edgeB[f]]
	}
	if d.core == nil { // the first core is about the largest: it gets just the room it needs
		entries, edges := 0, 0
		for e, i := range m.entItem {
			if near(int32(e), i) {
				entries++
			}
		}
		for f := range m.edgePos {
			if nearEdge(f) {
				edges++
			}
		}
		d.core, d.coreEdges = make([]coreEntry, 0, entries), make([]coreEdge, 0, edges)
	}
	d.core = d.core[:0]
	for i := range m.cap {
		d.coreStart[i] = int32(len(d.core))
		for _, e := range m.itemEnt.of(int32(i)) {
			if near(e, int32(i)) {
				d.core = append(d.core, coreEntry{float64(m.entCost[e]), m.entGroup[e]})
			}
		}
	}
	d.coreStart[len(m.cap)] = int32(len(d.core))
	d.coreEdges = d.coreEdges[:0]
	for f, k := range m.edgePos {
		if nearEdge(f) {
			d.coreEdges = append(d.coreEdges, coreEdge{float64(m.edgeCost[f]), m.edgeA[f], m.edgeB[f], k,
				m.edgeMost[f]})
		}
	}
	d.c.spend(2 * (len(m.entItem) + len(m.edgeA)))
}

func (d *dual) keep(ub float64) {
	if ub < d.bestUB {
		d.bestUB = ub
		d.best.copyFrom(d.now)
	}
}

// gradient sets grad to a subgradient of the bound on the core at now.
func (d *dual) gradient() {
	m, g := d.m, d.grad
	clear(g.pos)
	clear(g.group)
	for i, start := range d.coreStart[:len(m.cap)] {
		rent, winner := d.now.item[i], int32(-1)
		for _, e := range d.core[start:d.coreStart[i+1]] {
			if v := d.now.group[e.group] - e.cost; v > rent {
				rent, winner = v, e.group
			}
		}
		d.rent[i], d.winner[i] = rent, winner
		g.item[i] = float64(m.cap[i])
	}
	for n := range d.coreEdges {
		e := &d.coreEdges[n]
		if d.now.pos[e.pos]-e.cost-d.rent[e.a]-d.rent[e.b] > 0 {
			uses := float64(e.most)
			g.pos[e.pos] += uses
			g.item[e.a] -= uses
			g.item[e.b] -= uses
		}
	}
	for i, w := range d.winner {
		if w >= 0 {
			g.group[w] += g.item[i]
			g.item[i] -= float64(m.cap[i])
		}
	}
	for r := range m.refs {
		row := &m.refs[r]
		if d.l.ref[r].high == 0 {
			continue
		}
		gain := d.now.pos[row.pos]
		for k := row.group; k < row.groupE; k++ {
			gain -= float64(float64(m.groups[k].need) * d.now.group[k])
		}
		if n := d.l.ref[r].best(gain); n != 0 {
			fills := float64(n)
			g.pos[row.pos] += fills
			for k := row.group; k < row.groupE; k++ {
				g.group[k] -= fills * float64(m.groups[k].need)
			}
		}
	}
	for n := range m.designs {
		row := &m.designs[n]
		slack := float64(row.value)
		for k := row.pos; k < row.end; k++ {
			slack -= d.now.fill(m, k)
		}
		pieces := float64(d.l.piece[n].made(slack, float64(row.fixed)))
		for k := row.pos; k < row.end; k++ {
			if p := &m.pos[k]; p.kind == Single {
				g.group[p.group] -= pieces * float64(p.count)
			} else {
				g.pos[k] -= pieces
			}
		}
	}
	d.c.spend(len(d.core) + len(d.coreEdges) + len(m.cap))
}

// move takes one step against the gradient.
func (d *dual) move(beta, eta float64) {
	eta *= math.Sqrt(1 - d.warm)
	step := func(price, grad, square, scale []float64) {
		for k, g := range grad {
			s := float64(beta*square[k]) + float64(float64((1-beta)*g)*g)
			square[k] = s
			if g != 0 {
				price[k] -= float64(float64(eta*scale[k])*g) / math.Sqrt(s+1e-12)
			}
		}
	}
	step(d.now.pos, d.grad.pos, d.square.pos, d.scale.pos)
	step(d.now.group, d.grad.group, d.square.group, d.scale.group)
	for i, paired := range d.paired {
		g := d.grad.item[i]
		// The rent counts only while it is above what entries pay, except that
		// underpaid edges may lift it to there and beyond.
		if !paired || d.winner[i] >= 0 && g >= 0 {
			continue
		}
		rent := d.rent[i]
		s := float64(beta*d.square.item[i]) + float64(float64((1-beta)*g)*g)
		d.square.item[i] = s
		size := float64(eta * (d.scale.item[i] + float64(0.3*rent)))
		d.now.item[i] = max(0, rent-float64(size*g)/math.Sqrt(s+0.25))
	}
}

// polish sets every rent of a paired item to the least that leaves no edge of
// it underpaid, a few times over, as long as the bound falls.
func (d *dual) polish() {
	m := d.m
	d.now.copyFrom(d.best)
	bare := make([]float64, len(m.cap))
	for range 3 {
		noRent := prices{pos: d.now.pos, group: d.now.group, item: make([]float64, len(m.cap))}
		m.rents(noRent, bare)
		m.rents(d.now, d.fullRent)
		for i, paired := range d.paired {
			if !paired {
				continue
			}
			need := bare[i]
			for _, f := range m.itemEdge.of(int32(i)) {
				other := m.edgeA[f] + m.edgeB[f] - int32(i)
				gain := d.now.pos[m.edgePos[f]] - float64(m.edgeCost[f])
				if other == int32(i) {
					need = max(need, gain/2)
				} else {
					need = max(need, gain-d.fullRent[other])
				}
			}
			d.now.item[i], d.fullRent[i] = need, need
		}
		ub, _ := m.estimate(d.now, d.l, d.fullRent)
		d.c.spend(3 * (len(m.entItem) + len(m.edgeA)))
		d.keep(ub)
	}
	d.now.copyFrom(d.best)
}
