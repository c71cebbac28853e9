package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/chart"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// LinePlan is which stone goes into which piece of a line, what is short, and
// how close to the best the plan is.
type LinePlan struct {
	Head
	Line       string       `json:"line"`
	Value      Amount       `json:"value"` // contribution of the pieces less what mismatch counts
	Bound      Amount       `json:"bound"` // no plan is worth more
	BoundOf    string       `json:"bound_of"`
	BoundAll   Amount       `json:"bound_all_pairs"` // the bound over every pair that the tolerances allow
	GapPercent float64      `json:"gap_percent"`     // proven
	Status     string       `json:"status"`
	Mismatch   Amount       `json:"mismatch"` // what mismatch counts in the value: it steers and is no money
	Basis      string       `json:"basis"`    // what using a stone costs the plan
	Designs    []PlanDesign `json:"designs"`
	Pieces     []PlanPiece  `json:"pieces"`
	Short      []PlanShort  `json:"short"`
	Unmade     []PlanUnmade `json:"unmade"`
	Changes    []PlanChange `json:"changes"` // against an earlier plan
	Notes      []string     `json:"notes"`
	// Warnings are told beside the answer.
	Warnings fault.List `json:"-"`
}

// The plans that a bound holds for.
const (
	AllPairs       = "all pairs"
	CandidatePairs = "candidate pairs"
)

// PlanDesign is one design as planned.
type PlanDesign struct {
	Design  string `json:"design"`
	Piece   string `json:"piece"`
	Wanted  int64  `json:"wanted"`
	Planned int64  `json:"planned"`
	Before  Amount `json:"before"` // what a piece earns before its stones
}

// PlanPiece is one piece with its stones.
type PlanPiece struct {
	Design string      `json:"design"`
	Number int64       `json:"n"`
	Earns  Amount      `json:"earns"` // after its stones
	Stones []PlanStone `json:"stones"`
}

// Name is the piece as it is called: "Shore ring 2".
func (p PlanPiece) Name() string { return fmt.Sprintf("%s %d", p.Design, p.Number) }

// PlanStone is pieces of one lot in one position.
type PlanStone struct {
	Position string    `json:"position"`
	Lot      string    `json:"lot"`
	Name     string    `json:"name"`
	Shape    string    `json:"shape"`
	Size     string    `json:"size"`
	Pieces   int64     `json:"pieces"`
	Carats   num.Carat `json:"carats"`
	Cost     Amount    `json:"cost"`     // what using them costs the plan
	Mismatch string    `json:"mismatch"` // of a matched pair or suite, in plain words
	Note     string    `json:"note"`
	Outline  []Point   `json:"-"` // seen from above, for the picture
}

// PlanShort is a position that lacks stones, and what would help.
type PlanShort struct {
	Design   string        `json:"design"`
	Position string        `json:"position"`
	Missing  int64         `json:"missing"` // stones
	Why      string        `json:"why"`
	Worth    Amount        `json:"worth"`    // the most that one further stone may cost
	Together []string      `json:"together"` // positions that must be filled too before it counts
	Relaxed  []PlanWidened `json:"relaxed"`
}

// PlanWidened is one rule made wider.
type PlanWidened struct {
	Rule   string `json:"rule"`
	Admits int64  `json:"admits"` // further pieces that would fit
	AtMost Amount `json:"at_most"`
}

// PlanUnmade is pieces that are wanted and not made although stones are there.
type PlanUnmade struct {
	Design string `json:"design"`
	Pieces int64  `json:"pieces"`
	Why    string `json:"why"`
}

// PlanChange is what moved since an earlier plan.
type PlanChange struct {
	Design   string `json:"design"`
	Position string `json:"position"`
	Lot      string `json:"lot"`
	Before   int64  `json:"before"`
	After    int64  `json:"after"`
	Why      string `json:"why"`
}

// Words are the value, the bound and how the search ended, in one line.
func (p *LinePlan) Words() string {
	of, all := "", ""
	if p.BoundOf == CandidatePairs {
		of, all = " of the candidate pairs", "; with all pairs no plan is worth more than "+p.BoundAll.Words()
	}
	return fmt.Sprintf("value %s, no plan%s is worth more than %s (gap %.2f %%, %s)%s", p.Value.Words(), of,
		p.Bound.Words(), p.GapPercent, p.Status, all)
}

// Used is how many pieces of a lot the plan takes.
func (p *LinePlan) Used(lot string) int64 {
	n := int64(0)
	for _, piece := range p.Pieces {
		for _, s := range piece.Stones {
			if s.Lot == lot {
				n += s.Pieces
			}
		}
	}
	return n
}

// design returns a design of the plan by its name.
func (p *LinePlan) design(name string) PlanDesign {
	for _, d := range p.Designs {
		if d.Design == name {
			return d
		}
	}
	return PlanDesign{}
}

// remark says why pieces of a design are not made although stones are there.
func (p *LinePlan) remark(design string) string {
	for _, u := range p.Unmade {
		if u.Design == design {
			return fmt.Sprintf("%d more are wanted: %s", u.Pieces, u.Why)
		}
	}
	return ""
}

// Words are what one further stone may cost, in a sentence.
func (s PlanShort) Words() string {
	others := strings.Join(s.Together, " and ")
	switch {
	case s.Worth.Sign() <= 0 && others != "":
		return "one further stone is worth nothing before " + others + " is filled too"
	case s.Worth.Sign() <= 0:
		return "a further piece would not pay: one further stone is worth nothing"
	case others != "":
		return fmt.Sprintf("%s is short too: if its stones cost nothing, one further stone here may cost at most %s",
			others, s.Worth.Words())
	}
	return "one further stone may cost at most " + s.Worth.Words()
}

// cell is what one further stone may cost, in a column that says so.
func (s PlanShort) cell() string {
	others := strings.Join(s.Together, " and ")
	switch {
	case s.Worth.Sign() <= 0 && others != "":
		return "nothing before " + others + " is filled too"
	case s.Worth.Sign() <= 0:
		return "nothing: a further piece would not pay"
	case others != "":
		return s.Worth.String() + ", if " + others + " cost nothing"
	}
	return s.Worth.String()
}

// Words are a wider rule and what it is worth.
func (r PlanWidened) Words() string {
	more := ""
	if r.Admits > 0 {
		more = fmt.Sprintf("%d more would fit, ", r.Admits)
	}
	return fmt.Sprintf("%s: %sworth at most %s", r.Rule, more, r.AtMost.Words())
}

// Words are what moved and why.
func (c PlanChange) Words() string {
	return fmt.Sprintf("%s %s: %s, %d before, %d now: %s", c.Design, c.Position, c.Lot, c.Before, c.After, c.Why)
}

// planRow is the stones of one lot in one position of a piece.
type planRow struct {
	piece PlanPiece
	stone PlanStone
	first bool   // of its piece
	note  string // what a match is off by is told at the first stone of its position
}

var planColumns = []column[planRow]{
	screen("piece", func(r *planRow) sheet.Cell { return sheet.Text(r.piece.Name()) }),
	screen("position", func(r *planRow) sheet.Cell { return sheet.Text(r.stone.Position) }),
	screen("lot", func(r *planRow) sheet.Cell { return sheet.Text(r.stone.Lot) }),
	screen("pieces", func(r *planRow) sheet.Cell { return sheet.Int(r.stone.Pieces) }),
	screen("carats", func(r *planRow) sheet.Cell { return sheet.Carats(r.stone.Carats) }),
	screen("cost", func(r *planRow) sheet.Cell { return sheet.Text(r.stone.Cost.String()).Right() }),
	screen("earns", func(r *planRow) sheet.Cell {
		if !r.first {
			return sheet.Empty()
		}
		return sheet.Text(r.piece.Earns.String()).Right()
	}),
	screen("note", func(r *planRow) sheet.Cell { return sheet.Text(r.note) }),
}

func (p *LinePlan) rows() []planRow {
	var out []planRow
	for _, piece := range p.Pieces {
		position := ""
		for i, s := range piece.Stones {
			notes := fields(s.Note)
			if s.Position != position {
				notes = fields(s.Note, s.Mismatch)
			}
			position = s.Position
			out = append(out, planRow{piece, s, i == 0, strings.Join(notes, "; ")})
		}
	}
	return out
}

// relaxedShown is how many wider rules stand on screen for a position.
const relaxedShown = 3

// Screen is what the plan is worth, its pieces, and what is short, not made or
// moved.
func (p *LinePlan) Screen() Screen {
	var s Screen
	s.line("%s", p.Words())
	s.table(tableOf(planColumns, p.rows()))
	for _, x := range p.Short {
		s.line("short: %s", Wrap(x.Design+" "+x.Position+" "+x.Why, 96, "    "))
		s.line("    %s", Wrap(x.Words(), 92, "    "))
		for _, w := range shown(x.Relaxed, relaxedShown) {
			s.line("    with %s", w.Words())
		}
		if more := len(x.Relaxed) - relaxedShown; more > 0 {
			s.cut(false, "    ... and %d more", more)
		}
	}
	for _, u := range p.Unmade {
		s.line("not made: %s", Wrap(fmt.Sprintf("%d of %s: %s", u.Pieces, u.Design, u.Why), 96, "    "))
	}
	for _, c := range p.Changes {
		s.line("moved: %s", Wrap(c.Words(), 96, "    "))
	}
	s.remark("Stones count at %s.", Wrap(p.Basis, 96, ""))
	for _, n := range p.Notes {
		s.remark("%s", Wrap(n, 96, ""))
	}
	return s
}

// Figure is every piece with its stones to scale; pieces that look the same
// are drawn once.
func (p *LinePlan) Figure() chart.Plan {
	out := chart.Plan{Title: "Line " + p.Line + ": the stones of each piece"}
	for i := 0; i < len(p.Pieces); {
		first := p.Pieces[i]
		last := i
		for last+1 < len(p.Pieces) && p.Pieces[last+1].Design == first.Design &&
			looks(p.Pieces[last+1]) == looks(first) {
			last++
		}
		piece := chart.PlanPiece{Name: first.Name()}
		if last > i {
			piece.Name = fmt.Sprintf("%s %d to %d", first.Design, first.Number, p.Pieces[last].Number)
		}
		if d := p.design(first.Design); d.Design != "" {
			piece.Note = fmt.Sprintf("%s, %d planned of %d", d.Piece, d.Planned, d.Wanted)
		}
		for _, s := range first.Stones {
			name := strings.Join(fields(s.Name, s.face()), " ")
			if last == i {
				name = strings.Join(fields(s.Lot, s.Name, s.face()), " ")
			}
			piece.Stones = append(piece.Stones, chart.PlanStone{Outline: outline(s.Outline), Name: name,
				Count: int(s.Pieces)})
		}
		out.Pieces = append(out.Pieces, piece)
		i = last + 1
	}
	return out
}

// face is the size from above: length and width.
func (s PlanStone) face() string {
	parts := strings.Split(s.Size, " x ")
	return strings.TrimSuffix(strings.Join(parts[:min(2, len(parts))], " x "), " mm")
}

// looks names all that is drawn of a piece.
func looks(p PlanPiece) string {
	var b strings.Builder
	for _, s := range p.Stones {
		fmt.Fprintf(&b, "%s|%s|%s|%d;", s.Position, s.Name, s.Size, s.Pieces)
	}
	return b.String()
}
