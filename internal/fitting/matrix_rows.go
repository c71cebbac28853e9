package fitting

import (
	"slices"

	"lotpaper/internal/bench"
)

// rowsByPaper joins matrix rows of single stones that follow each other in a
// paper and come out alike.
func rowsByPaper(rows []MatrixRow) []MatrixRow {
	var out []MatrixRow
	var first, last []string
	for _, r := range rows {
		n := len(out) - 1
		if n >= 0 && bench.NextStone(last[n], r.Lot) && out[n].Name == r.Name && out[n].Checked == r.Checked &&
			slices.Equal(out[n].Cells, r.Cells) {
			last[n] = r.Lot
			out[n].Lot = bench.RunOf(first[n], r.Lot)
			continue
		}
		out = append(out, r)
		first, last = append(first, r.Lot), append(last, r.Lot)
	}
	return out
}
