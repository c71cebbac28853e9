package lineplan

import (
	"fmt"
	"io"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Model is a problem of the solver with the way back.
type Model struct {
	Problem allocate.Problem
	input   *Input
	limits  pairLimits
	shades  []shade         // by stone
	out     map[string]bool // Input.Out, folded
	index   map[string]int  // folded lot -> stone
	places  [][]*place      // by design and position
	rows    []row           // by design of the problem
	keep    map[keepKey]bool
	bonus   int64 // added to every row that has locks, to force it
	answer  *answer
}

// row is what a design of the problem stands for: a design of the line, or
// one piece of it that must take locked stones.
type row struct {
	di     int
	locks  map[int][]int // position -> stones that it must take
	toward []int         // position of the problem -> position of the design
}

type keepKey struct {
	di, pi, item int
}

// Build makes the problem. Only one-piece lots and lots marked calibrated may
// fill matched positions. A lock that cannot be met is a *LockError.
func Build(in *Input) (*Model, error) { return build(in, standard) }

func build(in *Input, limits pairLimits) (*Model, error) {
	m := &Model{input: in, limits: limits, out: map[string]bool{}, index: map[string]int{}, keep: map[keepKey]bool{}}
	for out := range in.Out {
		m.out[fold(out)] = true
	}
	for i := range in.Stones {
		s := &in.Stones[i]
		m.shades = append(m.shades, readShade(s.Color))
		m.index[fold(s.Lot)] = i
		m.Problem.Items = append(m.Problem.Items, allocate.Item{Key: s.Lot, Capacity: int(max(0, s.Free))})
	}
	for di, d := range in.Designs {
		var places []*place
		for pi, p := range d.Positions {
			pl := newPlace(in, di, pi, p)
			m.fill(pl, true)
			places = append(places, pl)
		}
		m.places = append(m.places, places)
	}
	m.keeps()
	if err := m.lay(); err != nil {
		return nil, err
	}
	return m, m.check()
}

func (m *Model) check() error {
	if err := m.Problem.Validate(); err != nil {
		return fmt.Errorf("plan: %w", err)
	}
	return nil
}

// keeps resolves Input.Keep.
func (m *Model) keeps() {
	for _, u := range m.input.Keep {
		item, ok := m.index[fold(u.Lot)]
		if !ok {
			continue
		}
		for di, d := range m.input.Designs {
			for pi, p := range d.Positions {
				if fold(d.Name) == fold(u.Design) && fold(book.PositionName(p, pi)) == fold(u.Position) {
					m.keep[keepKey{di, pi, item}] = true
				}
			}
		}
	}
}

// lay makes the designs of the problem: each design of the line in its order,
// less its pieces with locks, then one for each such piece.
func (m *Model) lay() error {
	locked, err := m.locks()
	if err != nil {
		return err
	}
	for di, d := range m.input.Designs {
		m.design(d.Name, di, d.Quantity-int64(len(locked[di])), nil)
		if last := &m.Problem.Designs[di]; len(locked[di]) == 0 && !d.Fixed.IsZero() {
			last.Fixed = d.Fixed.Minor(num.HalfUp)
		}
	}
	for di, d := range m.input.Designs {
		for n, locks := range locked[di] {
			m.design(fmt.Sprintf("%s, locked %d", d.Name, n+1), di, 1, locks)
		}
	}
	return nil
}

// design adds a design of the problem.
func (m *Model) design(key string, di int, quantity int64, locks map[int][]int) {
	d := &m.input.Designs[di]
	out := allocate.Design{Key: key, Value: d.Margin.Minor(num.HalfUp), Quantity: int(max(0, quantity))}
	r := row{di: di, locks: locks}
	for pi, p := range m.places[di] {
		for _, pos := range m.positions(p, locks[pi]) {
			out.Positions = append(out.Positions, pos)
			r.toward = append(r.toward, pi)
		}
	}
	m.Problem.Designs = append(m.Problem.Designs, out)
	m.rows = append(m.rows, r)
}

// kept is a cost less what keeping the stone where it was is worth.
func (m *Model) kept(p *place, item int, cost int64) int64 {
	if m.keep[keepKey{p.di, p.pi, item}] {
		return cost - m.input.KeepWorth.Minor(num.HalfUp)
	}
	return cost
}

// positions are the problem's positions for a place: one, or more where pairs
// repeat or locked stones have places of their own.
func (m *Model) positions(p *place, locked []int) []allocate.Position {
	switch {
	case p.Match == "pair" && p.Count%2 == 0 && p.Count <= 2*pairsMost:
		return m.pairPositions(p, locked)
	case matched(p.Position):
		pos := allocate.Position{Key: p.name, Kind: allocate.Suite, References: m.suites(p)}
		for i := range pos.References {
			for t := range pos.References[i].Slots {
				m.keepEntries(p, pos.References[i].Slots[t].Entries)
			}
		}
		for _, item := range locked {
			pos.References = withStone(pos.References, item, m.input.Stones[item].Lot)
		}
		return []allocate.Position{pos}
	}
	var out []allocate.Position
	for n, item := range locked {
		entries := []allocate.Entry{{Item: item, Cost: p.cost[item]}}
		m.keepEntries(p, entries)
		out = append(out, allocate.Position{Key: fmt.Sprintf("%s, locked %d", p.name, n+1), Count: 1, Entries: entries})
	}
	if rest := int(p.Count) - len(locked); rest > 0 {
		pos := allocate.Position{Key: p.name, Kind: allocate.Single, Count: rest}
		for _, c := range p.fits {
			pos.Entries = append(pos.Entries, allocate.Entry{Item: c.item, Cost: c.cost})
		}
		m.keepEntries(p, pos.Entries)
		out = append(out, pos)
	}
	return out
}

func (m *Model) keepEntries(p *place, entries []allocate.Entry) {
	if len(m.keep) == 0 {
		return
	}
	for i, e := range entries {
		entries[i].Cost = m.kept(p, e.Item, e.Cost)
	}
}

// pairsMost is how many pairs of one position are chosen one by one; more are
// one suite.
const pairsMost = 4

// pairPositions are the pairs of a place, with the locked stones in the first
// of them.
func (m *Model) pairPositions(p *place, locked []int) []allocate.Position {
	edges, further := m.pairs(p)
	kept := func(e allocate.Edge) allocate.Edge {
		if len(m.keep) > 0 {
			e.Cost = m.kept(p, e.J, m.kept(p, e.I, e.Cost))
		}
		return e
	}
	for i, e := range edges {
		edges[i] = kept(e)
	}
	var out []allocate.Position
	for n := range p.Count / 2 {
		key := p.name
		if p.Count > 2 {
			key = fmt.Sprintf("%s, pair %d", p.name, n+1)
		}
		must := locked[:min(2, len(locked))]
		locked = locked[len(must):]
		pos := allocate.Position{Key: key, Kind: allocate.Pair, Edges: edges}
		if len(must) > 0 {
			pos.Edges = nil
			for _, e := range edges {
				if takes(e, must) {
					pos.Edges = append(pos.Edges, e)
				}
			}
		}
		if further != nil {
			pos.Further = func(yield func(allocate.Edge) bool) {
				for e := range further {
					if takes(e, must) && !yield(kept(e)) {
						return
					}
				}
			}
		}
		out = append(out, pos)
	}
	return out
}

// takes reports whether an edge joins the stones that a pair must take: none,
// one or both.
func takes(e allocate.Edge, must []int) bool {
	switch len(must) {
	case 0:
		return true
	case 1:
		return e.I == must[0] || e.J == must[0]
	}
	return e.I == must[0] && e.J == must[1] || e.I == must[1] && e.J == must[0]
}

// withStone keeps the ways of filling a suite that take a stone, and splits the
// slot that it goes into.
func withStone(refs []allocate.Reference, item int, lot string) []allocate.Reference {
	var out []allocate.Reference
	for _, r := range refs {
		for t, s := range r.Slots {
			for _, e := range s.Entries {
				if e.Item != item || s.Count < 1 {
					continue
				}
				with := allocate.Reference{Key: fmt.Sprintf("%s, with %s in step %d", r.Key, lot, t+1)}
				for u, other := range r.Slots {
					if u != t {
						with.Slots = append(with.Slots, other)
						continue
					}
					with.Slots = append(with.Slots, allocate.Slot{Count: 1, Entries: []allocate.Entry{e}})
					if s.Count > 1 {
						with.Slots = append(with.Slots, allocate.Slot{Count: s.Count - 1, Entries: s.Entries})
					}
				}
				out = append(out, with)
			}
		}
	}
	return out
}

// MPS writes the model in free MPS form, so that other solvers read the very
// same one. It is to be minimised: the best plan is minus its optimum.
func (m *Model) MPS(w io.Writer) error { return allocate.WriteMPS(w, m.Problem) }

// Capped lists the positions of which the model does not hold every pair or
// suite that the tolerances allow: the bound is for what it holds.
func (m *Model) Capped() []string {
	var out []string
	for _, places := range m.places {
		for _, p := range places {
			if p.capped {
				out = append(out, p.design.Name+" "+p.name)
			}
		}
	}
	return out
}

// place finds a position by its design and name.
func (m *Model) place(design, position string) *place {
	for _, places := range m.places {
		for _, p := range places {
			if fold(p.design.Name) == fold(design) && fold(p.name) == fold(position) {
				return p
			}
		}
	}
	return nil
}
