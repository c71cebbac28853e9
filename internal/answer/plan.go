package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/chart"
	"lotpaper/internal/num"
)

// LinePlan is which stone goes into which piece of a line, and what is short.
type LinePlan struct {
	Head
	Line     string       `json:"line"`
	Plan     PlanFacts    `json:"plan"`
	Mismatch num.Money    `json:"mismatch"` // what mismatch counts in the value: it steers and is no money
	Basis    string       `json:"basis"`    // what using a stone costs the plan
	Designs  []PlanDesign `json:"designs"`
	Pieces   []PlanPiece  `json:"pieces"`
	Short    []PlanShort  `json:"short"`
	Changes  []PlanChange `json:"changes"`
	Notes    []string     `json:"notes"`
}

// PlanDesign is one design as planned.
type PlanDesign struct {
	Design  string    `json:"design"`
	Piece   string    `json:"piece"`
	Wanted  int64     `json:"wanted"`
	Planned int64     `json:"planned"`
	Before  num.Money `json:"before"` // what a piece earns before its stones
	Note    string    `json:"note"`   // why pieces are not made although stones are there
}

// PlanPiece is one piece with its stones.
type PlanPiece struct {
	Design string      `json:"design"`
	Number int64       `json:"n"`
	Before num.Money   `json:"before"`
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
	Cost     num.Money `json:"cost"`
	Match    string    `json:"match"`
	Note     string    `json:"note"`
	Outline  []Point   `json:"outline"`
}

// PlanShort is a position that lacks stones, and what would help.
type PlanShort struct {
	Shortage
	Together []string      `json:"together"` // positions that must be filled too before it counts
	Relaxed  []PlanWidened `json:"relaxed"`
}

// PlanWidened is one rule made wider.
type PlanWidened struct {
	Rule   string    `json:"rule"`
	Admits int64     `json:"admits"`
	AtMost num.Money `json:"at_most"`
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

// worth words what a further stone may cost.
func (s PlanShort) worth() string {
	switch {
	case s.Worth.Sign() <= 0 && len(s.Together) > 0:
		return "nothing before " + strings.Join(s.Together, " and ") + " is filled too"
	case s.Worth.Sign() <= 0:
		return "nothing: a further piece would not pay"
	case len(s.Together) > 0:
		return s.Worth.String() + ", if " + strings.Join(s.Together, " and ") + " cost nothing"
	}
	return s.Worth.String()
}

// Picture is every piece with its stones to scale; pieces that look the same
// are drawn once.
func (p *LinePlan) Picture() chart.Plan {
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
		for _, d := range p.Designs {
			if d.Design == first.Design {
				piece.Note = fmt.Sprintf("%s, %d planned of %d", d.Piece, d.Planned, d.Wanted)
			}
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
