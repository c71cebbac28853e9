package answer

import (
	"lotpaper/internal/book"
)

// CutterSkill is what the book believes of a cutter.
type CutterSkill struct {
	Cutter string `json:"cutter"`
	Stones int64  `json:"stones"` // cut, of the book's own record
	Broken int64  `json:"broken"`
	// Shares; null: there is neither a record nor an estimate.
	Breakage *float64 `json:"breakage"`
	Yield    *float64 `json:"yield"`
	Words    string   `json:"words"`
}

// Orders are orders with what the book believes of their cutters.
type Orders struct {
	Orders  []book.Order  `json:"orders"`
	Cutters []CutterSkill `json:"cutters"`
}
