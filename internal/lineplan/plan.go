package lineplan

import (
	"context"
	"fmt"
	"sort"
	"strings"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// Plan is which stone goes where, how good that is, and what is short.
type Plan struct {
	Value  num.Money
	Bound  num.Money
	Gap    float64 // percent, proven
	Status string
	Pieces []Piece
	Short  []Short
	Made   map[string]int64     // design -> pieces
	Used   map[string]int64     // lot -> pieces
	Worth  map[string]num.Money // lot -> what one more piece of it would add at most
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

// Short is a position that the plan cannot fill as often as wanted.
type Short struct {
	Design   string
	Position string
	Missing  int64 // stones
	Why      string
	Worth    num.Money // the most that one further stone may cost
}

// Solve finds the plan.
func (m *Model) Solve(ctx context.Context, s allocate.Settings, currency num.Currency) (*Plan, error) {
	r, err := allocate.Solve(ctx, m.Problem, s)
	if err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	p := &Plan{
		Value: num.FromMinor(r.Value, currency), Bound: num.FromMinor(r.Bound, currency), Gap: r.GapPercent,
		Status: r.Status.String(), Made: map[string]int64{}, Used: map[string]int64{}, Worth: map[string]num.Money{},
	}
	for i, worth := range r.Prices.Items {
		if worth > 0 {
			p.Worth[m.input.Stones[i].Lot] = num.FromMinor(worth, currency)
		}
	}
	for _, piece := range r.Pieces {
		p.Pieces = append(p.Pieces, m.piece(piece, p, currency))
	}
	m.shorts(r, p, currency)
	return p, nil
}

func (m *Model) piece(piece allocate.Piece, p *Plan, currency num.Currency) Piece {
	d := m.input.Designs[piece.Design]
	p.Made[d.Name]++
	out := Piece{Design: d.Name, Number: int(p.Made[d.Name]), Earns: d.Margin}
	for pi, fill := range piece.Fills {
		pos := m.Problem.Designs[piece.Design].Positions[pi]
		f := Fill{Position: pos.Key}
		count := map[int]int64{}
		var order []int
		for _, item := range fill.Items {
			if count[item] == 0 {
				order = append(order, item)
			}
			count[item]++
			p.Used[m.input.Stones[item].Lot]++
		}
		sort.Ints(order)
		var stones []*Stone
		for _, item := range order {
			s := &m.input.Stones[item]
			cost := num.FromMinor(m.costIn(d, d.Positions[pi], s).Minor(num.HalfUp)*count[item], currency)
			out.Earns = out.Earns.Sub(cost)
			f.Stones = append(f.Stones, Placed{Lot: s.Lot, Pieces: count[item], Carats: s.Carats * num.Carat(count[item]), Cost: cost, Note: s.placedNote()})
			stones = append(stones, s)
		}
		if pos.Kind != allocate.Single {
			f.Mismatch = matchWords(stones)
		}
		out.Fills = append(out.Fills, f)
	}
	return out
}

func (m *Model) costIn(d Design, p book.Position, s *Stone) num.Money {
	return s.Value.Add(m.input.Judge(*s, d, p).Loss)
}

func (s *Stone) placedNote() string {
	var notes []string
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

// matchWords says how far apart matched stones are.
func matchWords(stones []*Stone) string {
	if len(stones) < 2 {
		return "from one calibrated lot"
	}
	span := func(get func(*Stone) book.Size) num.Millimetre {
		low, high := get(stones[0]).Min, get(stones[0]).Max
		for _, s := range stones[1:] {
			low, high = min(low, get(s).Min), max(high, get(s).Max)
		}
		return high - low
	}
	var apart float64
	for i, a := range stones {
		for _, b := range stones[i+1:] {
			apart = max(apart, ParseColor(a.Color).Apart(ParseColor(b.Color)))
		}
	}
	words := fmt.Sprintf("length within %s mm, width within %s mm", span(func(s *Stone) book.Size { return s.Length }), span(func(s *Stone) book.Size { return s.Width }))
	if apart == 0 {
		return words + ", colour words alike"
	}
	return words + fmt.Sprintf(", colour %.1f steps apart", apart)
}

// shorts lists the positions of designs that are made less often than wanted
// and have too few stones for what is missing.
func (m *Model) shorts(r allocate.Result, p *Plan, currency num.Currency) {
	for di, d := range m.input.Designs {
		missing := d.Quantity - p.Made[d.Name]
		if missing <= 0 {
			continue
		}
		for pi, pos := range d.Positions {
			free := m.freeFor(di, pi, p)
			need := missing * pos.Count
			if pos.Match == "none" || pos.Match == "" {
				need -= min(need, free)
			} else if free >= need && m.matched(di, pi) {
				need = 0
			}
			if need == 0 {
				continue
			}
			s := Short{Design: d.Name, Position: m.Problem.Designs[di].Positions[pi].Key, Missing: need, Worth: num.Zero(currency)}
			s.Why = m.why(di, pi, pos, need)
			fill := r.Prices.Designs[di][pi].Fill
			if m.Problem.Designs[di].Positions[pi].Kind != allocate.Single && pos.Count > 0 {
				fill /= pos.Count
			}
			if fill > 0 {
				s.Worth = num.FromMinor(fill, currency)
			}
			p.Short = append(p.Short, s)
		}
	}
}

// freeFor counts the pieces that fit a position and that the plan left over.
func (m *Model) freeFor(di, pi int, p *Plan) int64 {
	var free int64
	pos := m.Problem.Designs[di].Positions[pi]
	seen := map[int]bool{}
	count := func(item int) {
		if !seen[item] {
			seen[item] = true
			s := m.input.Stones[item]
			free += s.Free - p.Used[s.Lot]
		}
	}
	for _, e := range pos.Entries {
		count(e.Item)
	}
	for _, e := range pos.Edges {
		count(e.I)
		count(e.J)
	}
	for _, ref := range pos.References {
		for _, slot := range ref.Slots {
			for _, e := range slot.Entries {
				count(e.Item)
			}
		}
	}
	return free
}

// matched tells whether a matched position has any way of being filled.
func (m *Model) matched(di, pi int) bool {
	pos := m.Problem.Designs[di].Positions[pi]
	return len(pos.Edges) > 0 || len(pos.References) > 0
}

// why words a shortage: how many fit by kind and size, and what took the rest.
func (m *Model) why(di, pi int, pos book.Position, missing int64) string {
	t := m.tally[[2]int{di, pi}]
	var fit int64
	for stage, n := range t.pieces {
		if stage == Fits || stage > BySize {
			fit += n
		}
	}
	parts := []string{fmt.Sprintf("wants %s: %d fit by kind, shape and size", Wanted(pos), fit)}
	stages := make([]int, 0, len(t.pieces))
	for stage := range t.pieces {
		stages = append(stages, int(stage))
	}
	sort.Ints(stages)
	for _, st := range stages {
		stage := Stage(st)
		n := t.pieces[stage]
		switch {
		case stage == ByVerdict:
			parts = append(parts, fmt.Sprintf("%d are worse than %s in a %s setting (%s)", n, acceptWord(pos.Accept), pos.Setting, most(t.avoided)))
		case stage == ByFence || stage == ByIdentity:
			parts = append(parts, fmt.Sprintf("%d %s (%s)", n, stageWords[stage], most(t.fenced)))
		case stageWords[stage] != "":
			parts = append(parts, fmt.Sprintf("%d %s", n, stageWords[stage]))
		}
	}
	if pos.Match != "" && pos.Match != "none" && t.pieces[Fits] > 0 {
		parts = append(parts, fmt.Sprintf("%d could be used but no further %s matches", t.pieces[Fits], matchNoun(pos.Match)))
	} else if t.pieces[Fits] > 0 {
		parts = append(parts, fmt.Sprintf("%d can be used", t.pieces[Fits]))
	}
	return strings.Join(parts, ", ") + fmt.Sprintf("; %d short", missing)
}

func matchNoun(match string) string {
	if match == "pair" {
		return "pair"
	}
	return "suite"
}

func acceptWord(accept string) string {
	if accept == "" {
		return "care"
	}
	return accept
}

// most is the reason that takes the most pieces.
func most(reasons map[string]int64) string {
	best, n := "", int64(-1)
	for reason, k := range reasons {
		if k > n || k == n && reason < best {
			best, n = reason, k
		}
	}
	return best
}

// Wanted words what a position asks for: "6.00 x 4.00 mm oval topaz".
func Wanted(p book.Position) string {
	var b strings.Builder
	window := func(low, high num.Millimetre) string {
		switch {
		case low == 0 && high == 0:
			return ""
		case low == high || high == 0:
			return low.String()
		case low == 0:
			return "up to " + high.String()
		}
		return low.String() + "-" + high.String()
	}
	if l := window(p.LengthMin, p.LengthMax); l != "" {
		b.WriteString(l)
		if w := window(p.WidthMin, p.WidthMax); w != "" {
			b.WriteString(" x " + w)
		}
		b.WriteString(" mm ")
	}
	if p.Color != "" {
		b.WriteString(p.Color + " ")
	}
	b.WriteString(strings.TrimSpace(p.Shape + " "))
	if p.AsWritten != "" {
		b.WriteString(" " + p.AsWritten)
	} else if len(p.Species) > 0 {
		b.WriteString(" " + strings.Join(p.Species, " or "))
	} else {
		b.WriteString(" stones")
	}
	return strings.TrimSpace(b.String())
}
