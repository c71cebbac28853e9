package answer

import (
	"slices"

	"lotpaper/internal/durability"
)

// SettingMatrix is stones against settings: lots of the stock for one piece
// and wear, or the stones of a line, each for its own piece and wear.
type SettingMatrix struct {
	Head
	Scope    string      `json:"scope"`
	Line     string      `json:"line"`  // empty: lots of the stock
	Piece    string      `json:"piece"` // of lots: the situation that every cell shares
	Wear     string      `json:"wear"`
	Assumed  []string    `json:"assumed"`
	Settings []string    `json:"settings"` // columns
	Rows     []MatrixRow `json:"rows"`
}

// MatrixRow is one lot, or one stone that a line asks for, in every setting.
type MatrixRow struct {
	Lot     string       `json:"lot"` // of a line: DESIGN/POSITION
	Name    string       `json:"name"`
	Checked string       `json:"checked"` // "as verified", "worst of 3 candidates: ..."
	Piece   string       `json:"piece"`
	Wear    string       `json:"wear"`
	Planned string       `json:"planned"` // the setting that the line plans; empty for a lot of the stock
	Cells   []MatrixCell `json:"cells"`
}

// MatrixCell is one verdict with the finding that decided it.
type MatrixCell struct {
	Setting string           `json:"setting"`
	Level   durability.Level `json:"level"`
	Verdict string           `json:"verdict"` // sound, care, caution, avoid
	Reason  string           `json:"reason"`
	Mend    string           `json:"mend"`
}

// byPaper are the rows, single stones that follow each other in a paper and
// come out alike in one.
func (m *SettingMatrix) byPaper() []MatrixRow {
	var out []MatrixRow
	var first, last []string
	for _, r := range m.Rows {
		n := len(out) - 1
		if n >= 0 && NextStone(last[n], r.Lot) && out[n].Name == r.Name && out[n].Checked == r.Checked &&
			slices.Equal(out[n].Cells, r.Cells) {
			last[n] = r.Lot
			out[n].Lot = RunOf(first[n], r.Lot)
			continue
		}
		out = append(out, r)
		first, last = append(first, r.Lot), append(last, r.Lot)
	}
	return out
}
