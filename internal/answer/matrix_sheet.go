package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/sheet"
)

// levelStyles add weight to the words, which say it all by themselves.
var levelStyles = map[string]sheet.Style{"caution": sheet.Strong, "avoid": sheet.Alert}

// Workbook is the matrix as a workbook: words in the cells, and a sheet with
// the reason of every word above sound.
func (m *Matrix) Workbook() (*sheet.Workbook, error) {
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
	for _, r := range m.Rows {
		row := []cell{styled(r.Lot, sheet.Strong), text(r.Name), text(r.Checked)}
		for _, c := range r.Cells {
			row = append(row, styled(c.Level, levelStyles[c.Level]))
		}
		if len(r.Cells) != len(m.Settings) {
			return nil, fmt.Errorf("setting matrix: %s has %d verdicts for %d settings", r.Lot, len(r.Cells),
				len(m.Settings))
		}
		grid.add(row...)
	}
	for _, r := range m.alike() {
		for _, g := range r.reasons(m.Settings) {
			level := styled(g.Level, sheet.Plain)
			if levelStyles[g.Level] != sheet.Plain {
				level = styled(g.Level, sheet.Strong)
			}
			reasons.add(styled(r.Lot, sheet.Strong), text(r.Name), text(strings.Join(g.settings, ", ")), level,
				text(sentence(g.Reason)), text(sentence(g.Mend)))
		}
	}
	return assemble(m.Head, newTally(m.Currency), []*page{grid, reasons})
}

// alike are the rows, lots of one name and the same cells together.
func (m *Matrix) alike() []MatrixRow {
	at := map[string]int{}
	var out []MatrixRow
	for _, r := range m.Rows {
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
		if c.Level == "sound" {
			continue
		}
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
func (m *Matrix) situation() string {
	s := strings.Join(fields(m.Piece, m.Wear+" wear"), ", ")
	if m.Wear == "" {
		s = m.Piece
	}
	if len(m.Assumed) > 0 {
		s += "; assumed: " + strings.Join(m.Assumed, ", ")
	}
	return s
}
