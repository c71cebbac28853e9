package answer

import (
	"io"
	"slices"

	"lotpaper/internal/durability"
	"lotpaper/internal/sheet"
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

// columns are the stone, for a line's stones where they are planned, and a
// verdict for each setting.
func (m *SettingMatrix) columns() []column[MatrixRow] {
	of := "lot"
	if m.Line != "" {
		of = "position"
	}
	out := []column[MatrixRow]{
		{of, capital(of), 13, func(r *MatrixRow) sheet.Cell { return sheet.Text(r.Lot) }},
		{"stone", "Stone", 20, func(r *MatrixRow) sheet.Cell { return sheet.Text(r.Name) }},
	}
	if m.Line != "" {
		out = append(out, []column[MatrixRow]{
			{"piece", "Piece", 12, func(r *MatrixRow) sheet.Cell { return sheet.Text(r.Piece) }},
			{"wear", "Wear", 12, func(r *MatrixRow) sheet.Cell { return sheet.Text(r.Wear) }},
			{"planned", "Planned", 12, func(r *MatrixRow) sheet.Cell { return sheet.Text(r.Planned) }},
		}...)
	}
	out = append(out, column[MatrixRow]{"checked", "Checked as", 26,
		func(r *MatrixRow) sheet.Cell { return sheet.Text(r.Checked) }})
	for i, name := range m.Settings {
		out = append(out, column[MatrixRow]{name, name, 11,
			func(r *MatrixRow) sheet.Cell { return sheet.Text(r.Cells[i].Verdict) }})
	}
	return out
}

// List is the matrix.
func (m *SettingMatrix) List() Listing { return m }

// Screen is a line for each stone.
func (m *SettingMatrix) Screen() Screen { return Screen{{Table: tableOf(m.columns(), m.Rows)}} }

// WriteCSV writes a row for each stone.
func (m *SettingMatrix) WriteCSV(w io.Writer) error { return writeCSV(w, m.columns(), each(m.Rows)) }

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
