package answer

import (
	"lotpaper/internal/num"
)

// CareCards are the cards that go with the pieces of a line, one per design.
type CareCards struct {
	Head
	Line  string     `json:"line"`
	Cards []CareCard `json:"cards"`
}

// CareCard is what the wearer of a piece is told.
type CareCard struct {
	Design string      `json:"design"`
	Piece  string      `json:"piece"`
	Metal  string      `json:"metal"`
	Stones []CareStone `json:"stones"`
	CareWords
}

// CareWords are the wearer's words that follow from the findings: none is
// weaker than its finding.
type CareWords struct {
	Safety   []string `json:"safety"` // what of the stones can hurt people
	Wear     []string `json:"wear"`
	Cleaning []string `json:"cleaning"`
	Storage  []string `json:"storage"`
	Light    []string `json:"light"` // light, heat and dryness
	Repair   []string `json:"repair"`
}

// CareStone is one kind of stone in the piece.
type CareStone struct {
	Pieces int64     `json:"pieces"`
	Carats num.Carat `json:"carats"` // together; 0: not stated
	StoneWords
}

const careSchema = "lotpaper/care-cards/1"

// JSON is the model's canonical form.
func (c *CareCards) JSON() ([]byte, error) { return encode(careSchema, c) }
