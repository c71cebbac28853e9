package lineplan

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Plan is which stone goes where, how good that is, and what is short.
type Plan struct {
	Value    num.Money // contribution of the pieces less what mismatch counts
	Bound    num.Money // no plan of the pairs in the model is worth more
	BoundAll num.Money // nor one of all pairs that the tolerances allow than this
	Gap      float64   // percent, proven
	Status   string
	Mismatch num.Money // what mismatch counts in Value; it steers and is no money
	Pieces   []Piece
	Short    []Short
	Unmade   []Unmade
	Made     map[string]int64     // design -> pieces
	Used     map[string]int64     // lot -> pieces
	Worth    map[string]num.Money // lot -> what one more piece of it would add at most
	Capped   []string             // positions of which the model does not hold every pair or suite
}

// Piece is one piece of the plan.
type Piece struct {
	Design string
	Number int // 1-based within the design
	Fills  []Fill
	Earns  num.Money // margin less what its stones cost the plan
}

// Fill is what one position takes.
type Fill struct {
	Position string
	Stones   []Placed
	Mismatch string // of a matched pair or suite, in plain words
}

// Placed is pieces of one lot in a position.
type Placed struct {
	Lot    string
	Pieces int64
	Carats num.Carat
	Cost   num.Money // what using them costs the plan
	Note   string
}

// Unmade is pieces that are wanted and not made although stones are there.
type Unmade struct {
	Design string
	Pieces int64
	Why    string
}

// Uses are what the plan takes, by design, position and lot.
func (p *Plan) Uses() []Use {
	var out []Use
	at := map[Use]int{}
	for _, piece := range p.Pieces {
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				u := Use{Design: piece.Design, Position: f.Position, Lot: s.Lot}
				i, ok := at[u]
				if !ok {
					i = len(out)
					at[u] = i
					out = append(out, u)
				}
				out[i].Pieces += s.Pieces
			}
		}
	}
	return out
}

// Solve finds the plan. What further stones are worth comes from the plan's
// prices; Weigh asks more closely.
func (m *Model) Solve(ctx context.Context, s allocate.Settings, currency num.Currency) (*Plan, error) {
	a := &answer{m: m, ctx: ctx, settings: s, currency: currency}
	if err := a.solve(); err != nil {
		return nil, err
	}
	m.answer = a
	return a.plan()
}

// Weigh finds again what further stones are worth to a plan of this model, and
// what each wider rule would be: by solving small problems again, and from the
// prices of large ones.
func (m *Model) Weigh(ctx context.Context, p *Plan) error {
	a := m.answer
	a.ctx, a.weighing = ctx, true
	if most := probeWork / max(a.result.Stats.Work, 1); a.result.Status == allocate.Optimal {
		a.probes = int(min(most, mostProbes))
	}
	p.Short, p.Unmade = nil, nil
	return a.shortages(p)
}

// plan is the answer as a plan of the line.
func (a *answer) plan() (*Plan, error) {
	m := a.m
	p := &Plan{
		Value: a.money(a.value), Bound: a.money(a.bound), BoundAll: a.money(a.boundAll), Gap: gapPercent(a.value,
			a.bound), Status: a.result.Status.String(),
		Made: map[string]int64{}, Used: map[string]int64{}, Worth: map[string]num.Money{}, Capped: m.Capped(),
		Mismatch: num.Zero(a.currency),
	}
	for i, worth := range a.result.Prices.Items {
		if worth > 0 {
			p.Worth[m.input.Stones[i].Lot] = a.money(worth)
		}
	}
	earns := num.Zero(a.currency)
	byDesign := make([][]Piece, len(m.input.Designs))
	for _, piece := range a.result.Pieces {
		di := m.rows[piece.Design].di
		byDesign[di] = append(byDesign[di], a.piece(piece, p))
	}
	for _, pieces := range byDesign {
		for i := range pieces {
			pieces[i].Number = i + 1
			earns = earns.Add(pieces[i].Earns)
		}
		p.Pieces = append(p.Pieces, pieces...)
	}
	p.Mismatch = earns.Sub(a.money(a.m.fixedPaid(a.result))).Sub(p.Value)
	return p, a.shortages(p)
}

// answer is a solved model on its way back to the trade.
type answer struct {
	m        *Model
	ctx      context.Context
	settings allocate.Settings
	currency num.Currency
	result   allocate.Result
	value    int64 // without the bonus of locks and of keeping
	bound    int64
	boundAll int64
	probes   int // re-solves that may still be made
	weighing bool
}

func (a *answer) money(minor int64) num.Money { return num.FromMinor(minor, a.currency) }

func gapPercent(value, bound int64) float64 {
	if bound <= value || bound <= 0 {
		return 0
	}
	return 100 * float64(bound-value) / float64(bound)
}

// solve runs the solver; when it leaves out a piece that must take locked
// stones, once more with a bonus on such pieces that outweighs all else. The
// bonus is taken off value and bound again: the bound stays true, because
// every plan that meets all locks has the whole bonus.
func (a *answer) solve() error {
	var err error
	if a.result, err = allocate.Solve(a.ctx, a.m.Problem, a.settings); err != nil {
		return fmt.Errorf("plan: %w", err)
	}
	left := a.m.lockedLeft(a.result)
	if len(left) > 0 {
		a.m.force()
		if err = a.m.check(); err != nil {
			return err
		}
		if a.result, err = allocate.Solve(a.ctx, a.m.Problem, a.settings); err != nil {
			return fmt.Errorf("plan: %w", err)
		}
		if left = a.m.lockedLeft(a.result); len(left) > 0 {
			return a.m.lockError(left[0])
		}
	}
	a.value, a.bound, a.boundAll = a.result.Value, a.result.Bound, a.result.BoundAll
	for _, r := range a.m.rows {
		if len(r.locks) > 0 {
			a.value -= a.m.bonus
			a.bound -= a.m.bonus
			a.boundAll -= a.m.bonus
		}
	}
	a.value -= a.m.keptWorth(a.result)
	return nil
}

// fixedPaid is the fixed costs of the designs of which a piece is made.
func (m *Model) fixedPaid(r allocate.Result) int64 {
	made := map[int]bool{}
	sum := int64(0)
	for _, p := range r.Pieces {
		if !made[p.Design] {
			made[p.Design] = true
			sum += m.Problem.Designs[p.Design].Fixed
		}
	}
	return sum
}

// lockedLeft are the rows with locks of which no piece was made.
func (m *Model) lockedLeft(r allocate.Result) []int {
	made := map[int]bool{}
	for _, p := range r.Pieces {
		made[p.Design] = true
	}
	var out []int
	for i, row := range m.rows {
		if len(row.locks) > 0 && !made[i] {
			out = append(out, i)
		}
	}
	return out
}

// force puts the bonus on the rows with locks: more than all designs can earn
// and any piece can cost.
func (m *Model) force() {
	bonus := int64(1)
	for _, d := range m.Problem.Designs {
		bonus += max(d.Value, -d.Value)*int64(d.Quantity) + d.Fixed
		for _, p := range d.Positions {
			most := int64(0)
			for _, e := range p.Entries {
				most = max(most, e.Cost*int64(p.PerPiece()))
			}
			for _, e := range p.Edges {
				most = max(most, e.Cost)
			}
			for _, r := range p.References {
				sum := int64(0)
				for _, s := range r.Slots {
					dearest := int64(0)
					for _, e := range s.Entries {
						dearest = max(dearest, e.Cost)
					}
					sum += dearest * int64(s.Count)
				}
				most = max(most, sum)
			}
			bonus += most
		}
	}
	m.bonus = bonus
	for i, r := range m.rows {
		if len(r.locks) > 0 {
			m.Problem.Designs[i].Value += bonus
		}
	}
}

func (m *Model) lockError(left int) error {
	r := m.rows[left]
	var parts []string
	for i, pos := range m.Problem.Designs[left].Positions {
		if len(pos.Entries)+len(pos.Edges)+len(pos.References) == 0 {
			parts = append(parts, "nothing fills "+m.places[r.di][r.toward[i]].name)
		}
	}
	if parts == nil {
		parts = []string{"its other stones are locked or used up elsewhere"}
	}
	for pi, items := range r.locks {
		return &LockError{Lock{m.input.Stones[items[0]].Lot, book.SpotName(m.input.Designs[r.di].Name + "/" +
			m.places[r.di][pi].name)}, "no piece can be finished around it: " + strings.Join(parts, ", ")}
	}
	return nil
}

// keptWorth is the bonus of the stones that stay where they were.
func (m *Model) keptWorth(r allocate.Result) int64 {
	if len(m.keep) == 0 {
		return 0
	}
	n := int64(0)
	for _, piece := range r.Pieces {
		row := m.rows[piece.Design]
		for i, fill := range piece.Fills {
			for _, item := range fill.Items {
				if m.keep[keepKey{row.di, row.toward[i], item}] {
					n++
				}
			}
		}
	}
	return n * m.input.KeepWorth.Minor(num.HalfUp)
}

// piece is a piece of the solver as a piece of the line.
func (a *answer) piece(piece allocate.Piece, p *Plan) Piece {
	m := a.m
	r := m.rows[piece.Design]
	d := &m.input.Designs[r.di]
	p.Made[d.Name]++
	out := Piece{Design: d.Name, Earns: a.money(d.Margin.Minor(num.HalfUp))}
	items := make([][]int, len(d.Positions))
	for i, fill := range piece.Fills {
		items[r.toward[i]] = append(items[r.toward[i]], fill.Items...)
	}
	for pi, list := range items {
		pl := m.places[r.di][pi]
		f := Fill{Position: pl.name}
		if matched(pl.Position) {
			f.Mismatch = m.matchWords(pl, list)
		}
		count := map[int]int64{}
		var order []int
		for _, item := range list {
			if count[item]++; count[item] == 1 {
				order = append(order, item)
			}
			p.Used[m.input.Stones[item].Lot]++
		}
		if pl.Match != "graduated" {
			slices.SortFunc(order, func(x, y int) int {
				return cmp.Compare(m.input.Stones[x].Lot, m.input.Stones[y].Lot)
			})
		}
		for _, item := range order {
			s, n := &m.input.Stones[item], count[item]
			cost := a.money(pl.cost[item] * n)
			out.Earns = out.Earns.Sub(cost)
			f.Stones = append(f.Stones, Placed{Lot: s.Lot, Pieces: n, Carats: s.Carats * num.Carat(n), Cost: cost,
				Note: s.placedNote(pl)})
		}
		out.Fills = append(out.Fills, f)
	}
	return out
}

// placedNote is what must be said wherever the stone is planned.
func (s *Stone) placedNote(p *place) string {
	var notes []string
	if IsMelee(p.Position) && s.total() > 1 {
		words := fmt.Sprintf("melee: %s, about %s ct each", sizeWords(s), s.Carats)
		if s.Estimated {
			words += ", pieces of the lot estimated"
		}
		notes = append(notes, words)
	}
	if !s.Owner.IsOwn() {
		notes = append(notes, string(s.Owner)+": becomes a purchase when used")
	}
	if s.Treatment == "" {
		notes = append(notes, "treatment not stated")
	}
	if s.Note != "" {
		notes = append(notes, s.Note)
	}
	return strings.Join(notes, "; ")
}
