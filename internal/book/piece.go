package book

import (
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// LotKind says what a lot is; empty: stones.
type LotKind string

// PieceLot is the kind of a lot that is a finished piece: one piece without
// carats, whose cost is its metal and its making. Its stones lie at the place
// piece/CODE with a cost of their own.
const PieceLot LotKind = "piece"

// Jewel is what is known of a finished piece beside its stones.
type Jewel struct {
	Is     string   `json:"is,omitempty"`     // ring, pendant, earrings ...
	Design string   `json:"design,omitempty"` // LINE/DESIGN
	Metal  string   `json:"metal,omitempty"`
	Weight num.Gram `json:"weight,omitzero"`
	Size   string   `json:"size,omitempty"`  // of a ring
	Since  Date     `json:"since,omitempty"` // the day that it was made or bought
}

// Damage says that stones, or a piece, are damaged: they are planned no more.
type Damage struct {
	Reason string `json:"reason"`
	Who    string `json:"who,omitempty"`
	On     Date   `json:"on"`
}

// IsPiece reports whether the lot is a finished piece.
func (l Lot) IsPiece() bool { return l.Kind == PieceLot && l.Jewel != nil }

// Inside is the place where the stones of a finished piece lie.
func (l Lot) Inside() Place { return PlaceOf(AtPiece, l.Code) }

// Fence is why plans may not use the lot; empty: they may.
func (l Lot) Fence() string {
	if l.Fenced == "" && l.Damaged != nil {
		return "damaged: " + l.Damaged.Reason
	}
	return l.Fenced
}

// PieceSeries is the series of finished pieces: J7 is number 7.
const PieceSeries = string(PieceLot)

// isPieceCode reports whether a lot's code is that of a numbered piece.
func isPieceCode(code string) bool {
	return len(code) > 1 && (code[0] == 'J' || code[0] == 'j') && strings.Trim(code[1:], "0123456789") == ""
}

// CheckStones returns a fault when the lot is a finished piece, for work that only
// stones can take.
func (l Lot) CheckStones() *fault.Fault {
	if !l.IsPiece() {
		return nil
	}
	return fault.New(fault.Refused, "piece-not-stones", l.Code+" is a finished piece, not stones",
		"name the stones in it, or take them out first").AtRef(l.Code).Do("piece", "show", l.Code)
}
