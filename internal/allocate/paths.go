package allocate

// refresh rebuilds the arcs from the groups whose stones changed.
func (f *flow) refresh() {
	m := f.m
	for g := range f.arcs {
		if !f.dirty[g] {
			continue
		}
		f.dirty[g] = false
		f.turn++
		row := f.arcs[g][:0]
		f.worst[g] = -1
		work := 8
		for _, e := range f.used[g] {
			if w := f.worst[g]; w < 0 || m.entCost[e] > m.entCost[w] || m.entCost[e] == m.entCost[w] && e < w {
				f.worst[g] = e
			}
			list := m.itemEnt.of(m.entItem[e])
			work += len(list)
			for _, in := range list {
				b := m.entGroup[in]
				if !f.active[b] || b == int32(g) {
					continue
				}
				cost := m.entCost[in] - m.entCost[e]
				switch best := &f.best[b]; {
				case f.mark[b] != f.turn:
					f.mark[b] = f.turn
					*best = arc{cost, b, e, in}
					row = append(row, arc{to: b})
				case cost < best.cost || cost == best.cost && e < best.from:
					*best = arc{cost, b, e, in}
				}
			}
		}
		for n := range row {
			row[n] = f.best[row[n].to]
		}
		f.arcs[g] = row
		f.c.spend(work)
	}
}

// enter finds the cheapest way of one more stone into every group.
func (f *flow) enter() {
	if f.inOK {
		return
	}
	f.refresh()
	f.age++
	for g := range f.in {
		f.in[g], f.inBy[g] = never, step{}
		if !f.active[g] {
			continue
		}
		if e := f.firstFree(int32(g)); e >= 0 {
			f.in[g], f.inBy[g] = f.m.entCost[e], step{kind: stepStone, entry: e}
		}
		if d := f.lone[g]; d >= 0 && !f.fixed && f.y[d] > 0 && f.m.designs[d].value < f.in[g] {
			f.in[g], f.inBy[g] = f.m.designs[d].value, step{kind: stepPiece}
		}
	}
	f.relax(f.in, f.arcs, func(a int32, from int64, row []arc) {
		for n := range row {
			if c := from + row[n].cost; c < f.in[row[n].to] {
				f.in[row[n].to], f.inBy[row[n].to] = c, step{kind: stepArc, group: a, arc: row[n]}
				f.enqueue(row[n].to)
			}
		}
	})
	f.inOK = true
}

// relax lowers the distances until no arc lowers one: scan looks at the arcs of
// a group whose distance fell. (Label correcting with a queue; Ahuja, Magnanti
// and Orlin, section 5.4.) It gives up on what can only be a negative cycle.
func (f *flow) relax(dist []int64, arcs [][]arc, scan func(g int32, from int64, row []arc)) {
	f.queue = f.queue[:0]
	for g, d := range dist {
		f.queued[g] = false
		if d < never {
			f.enqueue(int32(g))
		}
	}
	work := len(dist)
	for n := 0; n < len(f.queue) && n < 100*len(dist); n++ {
		g := f.queue[n]
		f.queued[g] = false
		work += 2 + len(arcs[g])
		scan(g, dist[g], arcs[g])
	}
	f.c.spend(work)
}

func (f *flow) enqueue(g int32) {
	if !f.queued[g] {
		f.queued[g] = true
		f.queue = append(f.queue, g)
	}
}

// reverse lists the arcs by the group they lead to, each with the group it
// comes from.
func (f *flow) reverse() {
	for g := range f.back {
		f.back[g] = f.back[g][:0]
	}
	work := len(f.back)
	for a, row := range f.arcs {
		work += len(row)
		for _, r := range row {
			to := r.to
			r.to = int32(a)
			f.back[to] = append(f.back[to], r)
		}
	}
	f.c.spend(work)
}

// leave finds the cheapest way of one stone out of every group in use.
func (f *flow) leave() {
	if f.outOK {
		return
	}
	f.refresh()
	for g := range f.out {
		f.out[g], f.outBy[g] = never, step{}
		if !f.active[g] {
			continue
		}
		if e := f.worst[g]; e >= 0 {
			f.out[g], f.outBy[g] = -f.m.entCost[e], step{kind: stepStone, entry: e}
		}
		if d := f.lone[g]; d >= 0 && !f.fixed && f.y[d] < f.m.designs[d].most && -f.m.designs[d].value < f.out[g] {
			f.out[g], f.outBy[g] = -f.m.designs[d].value, step{kind: stepPiece}
		}
	}
	f.reverse()
	f.relax(f.out, f.back, func(b int32, from int64, row []arc) {
		for _, r := range row {
			if c := from + r.cost; c < f.out[r.to] {
				a := r.to
				r.to = b
				f.out[a], f.outBy[a] = c, step{kind: stepArc, group: b, arc: r}
				f.enqueue(a)
			}
		}
	})
	f.outOK = true
}

// addStone brings one more stone into group g by the cheapest way. It changes
// nothing when it reports false.
func (f *flow) addStone(g int32) bool {
	f.enter()
	return f.in[g] < never && f.follow(g, f.inBy, -1)
}

// dropStone takes one stone out of group g by the cheapest way. It changes
// nothing when it reports false.
func (f *flow) dropStone(g int32) bool {
	f.leave()
	return f.out[g] < never && f.follow(g, f.outBy, 1)
}

// follow moves the stones along the path from group g: use is -1 on a way in,
// whose first stone was free, and 1 on a way out. The path is read before
// anything moves; one that comes back to itself is refused.
func (f *flow) follow(g int32, by []step, use int32) bool {
	path := f.path[:0]
	last := g
	for s := by[g]; ; s = by[last] {
		path = append(path, s)
		if s.kind != stepArc {
			break
		}
		if last = s.group; len(path) > len(by) {
			return false
		}
	}
	f.path = path
	for _, s := range path {
		switch s.kind {
		case stepArc:
			f.moveStone(s.arc)
		case stepStone:
			f.useEntry(s.entry, -use)
		case stepPiece:
			f.makePieces(f.lone[last], use)
		}
	}
	return true
}

// addSlots brings the stones of one more fill of reference r in.
func (f *flow) addSlots(r int32) bool {
	for g := f.m.refs[r].group; g < f.m.refs[r].groupE; g++ {
		for range f.m.groups[g].need {
			if !f.addStone(g) {
				return false
			}
		}
	}
	return true
}

func (f *flow) moveStone(a arc) {
	f.useEntry(a.from, -1)
	f.useEntry(a.in, 1)
}

// settle uses a free stone of item i where it saves money, if anywhere.
func (f *flow) settle(i int32) {
	if f.free[i] == 0 {
		return
	}
	f.leave()
	best, at := int64(0), int32(-1)
	for _, e := range f.m.itemEnt.of(i) {
		g := f.m.entGroup[e]
		if !f.active[g] || f.out[g] >= never {
			continue
		}
		if c := f.m.entCost[e] + f.out[g]; c < best {
			best, at = c, e
		}
	}
	if at < 0 {
		return
	}
	// The path was found before the stone came in, and stays the cheapest.
	g := f.m.entGroup[at]
	if f.dropStone(g) {
		f.useEntry(at, 1)
	}
}

// takeCost is what taking a stone of item i away costs: nothing when it is
// free, never when it sits in pairs.
func (f *flow) takeCost(i int32) int64 {
	if f.free[i] > 0 {
		return 0
	}
	h := f.home[i]
	if h < 0 {
		return never
	}
	if f.costAge[i] == f.age {
		return f.costOf[i]
	}
	g := f.m.entGroup[h]
	cost := int64(never)
	if f.in[g] < never {
		cost = max(0, f.in[g]-f.m.entCost[h])
	}
	f.costAge[i], f.costOf[i] = f.age, cost
	return cost
}

// cancel makes the entries the cheapest for the numbers, from any start, by
// cancelling negative cycles.
func (f *flow) cancel() {
	m := f.m
	groups := len(f.arcs)
	outside := int32(groups)
	dist := make([]int64, groups+1)
	by := make([]step, groups+1)
	for !f.c.stop() {
		f.refresh()
		clear(dist)
		clear(by)
		found := false
		for pass := 0; !found; pass++ {
			changed := false
			relax := func(to int32, cost int64, s step) {
				if cost < dist[to] {
					dist[to], by[to], changed = cost, s, true
				}
			}
			work := groups
			for g := range groups {
				if !f.active[g] {
					continue
				}
				if e := f.firstFree(int32(g)); e >= 0 {
					relax(int32(g), dist[outside]+m.entCost[e], step{kind: stepStone, group: outside, entry: e})
				}
				d := f.lone[g]
				if f.fixed {
					d = -1
				}
				if d >= 0 && f.y[d] > 0 {
					relax(int32(g), dist[outside]+m.designs[d].value, step{kind: stepPiece, group: outside, entry: d})
				}
				if e := f.worst[g]; e >= 0 {
					relax(outside, dist[g]-m.entCost[e], step{kind: stepStone, group: int32(g), entry: e})
				}
				if d >= 0 && f.y[d] < m.designs[d].most {
					relax(outside, dist[g]-m.designs[d].value, step{kind: stepPiece, group: int32(g), entry: d})
				}
				work += len(f.arcs[g])
				for n := range f.arcs[g] {
					a := &f.arcs[g][n]
					relax(a.to, dist[g]+a.cost, step{kind: stepArc, group: int32(g), arc: *a})
				}
			}
			f.c.spend(2 * work)
			if !changed {
				return
			}
			found = f.cancelCycles(by, outside)
		}
	}
}

// cancelCycles applies every cycle of the predecessors; they share no group.
func (f *flow) cancelCycles(by []step, outside int32) bool {
	seen := make([]int32, len(by))
	found := false
	for start := range by {
		at := int32(start)
		for seen[at] == 0 && by[at].kind != stepNone {
			seen[at] = int32(start) + 1
			at = by[at].group
		}
		if by[at].kind == stepNone || seen[at] != int32(start)+1 {
			continue
		}
		found = true
		for on := at; ; {
			s := by[on]
			switch {
			case s.kind == stepArc:
				f.moveStone(s.arc)
			case s.kind == stepStone && on == outside:
				f.useEntry(s.entry, -1)
			case s.kind == stepStone:
				f.useEntry(s.entry, 1)
			case on == outside:
				f.makePieces(s.entry, 1)
			default:
				f.makePieces(s.entry, -1)
			}
			if on = s.group; on == at {
				break
			}
		}
	}
	return found
}
