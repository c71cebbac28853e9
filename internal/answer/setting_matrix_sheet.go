package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/durability"
	"lotpaper/internal/sheet"
)

// levelStyles add weight to the words, which say it all by themselves.
var levelStyles = map[string]sheet.Style{"caution": sheet.Strong, "avoid": sheet.Alert}

// Workbook is the matrix as a workbook: words in the cells, and a sheet with
// the reason of every word above sound.
func (m *SettingMatrix) Workbook() (*sheet.Workbook, error) {
	grid := &page{Sheet: sheet.Sheet{Name: "Matrix", Title: m.Title, Landscape: true, FreezeCol: 2, Notes: []string{
		strings.Join(fields(string(m.On), m.Scope), ", ") + ". Situation: " + m.situation() + ".",
		"The word is the setting verdict: sound, care, caution, avoid. Reasons and what mends them stand on the " +
			"sheet Reasons; the bench and the display are judged piece by piece.",
	}, Columns: []sheet.Col{{Header: "Lot", Width: 13}, {Header: "Stone", Width: 20}, {Header: "Checked as",
		Width: 26}}}}
	if m.Facts != "" {
		grid.Notes = append(grid.Notes, "Facts, version "+m.Facts+".")
	}
	for _, s := range m.Settings {
		grid.Columns = append(grid.Columns, sheet.Col{Header: s, Width: 11})
	}
	reasons := &page{Sheet: sheet.Sheet{Name: "Reasons", Title: "Reasons: what decided each word", Landscape: true,
		FreezeCol: 1, Columns: []sheet.Col{
			{Header: "Lot", Width: 26}, {Header: "Stone", Width: 20}, {Header: "Settings", Width: 32},
			{Header: "Verdict", Width: 9}, {Header: "Why", Width: 52}, {Header: "What mends it", Width: 44}}}}
	rows := m.byPaper()
	for _, r := range rows {
		row := []cell{styled(r.Lot, sheet.Strong), text(r.Name), text(m.checked(r))}
		for _, c := range r.Cells {
			row = append(row, styled(c.Verdict, levelStyles[c.Verdict]))
		}
		if len(r.Cells) != len(m.Settings) {
			return nil, fmt.Errorf("setting matrix: %s has %d verdicts for %d settings", r.Lot, len(r.Cells),
				len(m.Settings))
		}
		grid.add(row...)
	}
	for _, r := range alike(rows) {
		for _, g := range r.reasons(m.Settings) {
			level := styled(g.Verdict, sheet.Plain)
			if levelStyles[g.Verdict] != sheet.Plain {
				level = styled(g.Verdict, sheet.Strong)
			}
			reasons.add(styled(r.Lot, sheet.Strong), text(r.Name), text(strings.Join(g.settings, ", ")), level,
				text(sentence(g.Reason)), text(sentence(g.Mend)))
		}
	}
	return assemble(m.Head, newTally(m.Currency), []*page{grid, reasons})
}

// checked is what a row was judged as; the row of a line says where the stone
// is planned.
func (m *SettingMatrix) checked(r MatrixRow) string {
	if m.Line == "" {
		return r.Checked
	}
	return r.Piece + ", " + r.Wear + ", planned: " + r.Planned + "; " + r.Checked
}

// alike are the rows, lots of one name and the same cells together.
func alike(rows []MatrixRow) []MatrixRow {
	at := map[string]int{}
	var out []MatrixRow
	for _, r := range rows {
		key := fmt.Sprintf("%q %q", r.Name, r.Cells)
		if i, known := at[key]; known {
			out[i].Lot += ", " + r.Lot
			continue
		}
		at[key] = len(out)
		out = append(out, r)
	}
	return out
}

// settingsOf is one verdict and the settings that have it.
type settingsOf struct {
	MatrixCell
	settings []string
}

// reasons are the row's verdicts above sound, settings of one reason together.
func (r MatrixRow) reasons(settings []string) []settingsOf {
	at := map[MatrixCell]int{}
	var out []settingsOf
	for i, c := range r.Cells {
		if c.Level == durability.Sound {
			continue
		}
		c.Setting = "" // cells of one reason differ in nothing else
		k, known := at[c]
		if !known {
			k = len(out)
			at[c] = k
			out = append(out, settingsOf{MatrixCell: c})
		}
		out[k].settings = append(out[k].settings, settings[i])
	}
	return out
}

// situation is what every cell shares, in words.
func (m *SettingMatrix) situation() string {
	s := "each stone in the piece that the line plans"
	if m.Line == "" {
		s = strings.Join(fields(m.Piece, m.Wear+" wear"), ", ")
	}
	if len(m.Assumed) > 0 {
		s += "; assumed: " + strings.Join(m.Assumed, ", ")
	}
	return s
}
