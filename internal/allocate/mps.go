package allocate

import (
	"bufio"
	"fmt"
	"io"
)

// WriteMPS writes the problem as a mixed-integer program in free MPS form, to
// be minimised (the optimum is minus the best value), so that other solvers
// read the very same model. Rows: I item, P position, S slot, F fixed cost.
// Columns: y pieces of a design, o whether any is made (only with a fixed cost), u fills by a reference, z uses of an
// edge, x uses of an
// entry; each numbered in the order of the keys.
func WriteMPS(w io.Writer, p Problem) error {
	if err := p.Validate(); err != nil {
		return err
	}
	out := mpsWriter{bufio.NewWriter(w), newModel(p)}
	out.rows()
	out.columns()
	out.bounds()
	return out.Flush()
}

type mpsWriter struct {
	*bufio.Writer
	m *model
}

func (w mpsWriter) line(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

// column writes one coefficient in the places of fixed MPS, which is free MPS
// too: readers guess which of the two a file is.
func (w mpsWriter) column(kind string, at int, row string, number, value int64) {
	if number >= 0 {
		row = fmt.Sprintf("%s%d", row, number)
	}
	w.line("    %-8s  %-8s  %12d", fmt.Sprintf("%s%d", kind, at), row, value)
}

func (w mpsWriter) rows() {
	w.line("NAME          lineplan")
	w.line("ROWS")
	w.line(" N  cost")
	for i := range w.m.cap {
		w.line(" L  I%d", i)
	}
	for k := range w.m.pos {
		w.line(" E  P%d", k)
	}
	for g, row := range w.m.groups {
		if row.ref >= 0 {
			w.line(" E  S%d", g)
		}
	}
	for d, row := range w.m.designs {
		if row.fixed > 0 {
			w.line(" L  F%d", d)
		}
	}
}

func (w mpsWriter) columns() {
	m := w.m
	w.line("COLUMNS")
	w.line("    MARKER                 'MARKER'                 'INTORG'")
	for d, row := range m.designs {
		w.column("y", d, "cost", -1, -row.value)
		for k := row.pos; k < row.end; k++ {
			w.column("y", d, "P", int64(k), -int64(max(1, m.pos[k].count)))
		}
		if row.fixed > 0 {
			w.column("y", d, "F", int64(d), 1)
			w.column("o", d, "cost", -1, row.fixed)
			w.column("o", d, "F", int64(d), -int64(max(1, row.most)))
		}
	}
	for r, row := range m.refs {
		w.column("u", r, "P", int64(row.pos), 1)
		for g := row.group; g < row.groupE; g++ {
			w.column("u", r, "S", int64(g), -int64(m.groups[g].need))
		}
	}
	for f, cost := range m.edgeCost {
		w.column("z", f, "cost", -1, cost)
		w.column("z", f, "P", int64(m.edgePos[f]), 1)
		if m.edgeA[f] == m.edgeB[f] {
			w.column("z", f, "I", int64(m.edgeA[f]), 2)
		} else {
			w.column("z", f, "I", int64(m.edgeA[f]), 1)
			w.column("z", f, "I", int64(m.edgeB[f]), 1)
		}
	}
	w.line("    MARKER                 'MARKER'                 'INTEND'")
	for e, cost := range m.entCost {
		group := m.groups[m.entGroup[e]]
		row, number := "S", m.entGroup[e]
		if group.ref < 0 {
			row, number = "P", group.pos
		}
		w.column("x", e, "cost", -1, cost)
		w.column("x", e, "I", int64(m.entItem[e]), 1)
		w.column("x", e, row, int64(number), 1)
	}
}

func (w mpsWriter) bounds() {
	m := w.m
	w.line("RHS")
	for i, c := range m.cap {
		w.line("    RHS       %-8s  %12d", fmt.Sprintf("I%d", i), c)
	}
	w.line("BOUNDS")
	for d, row := range m.designs {
		w.bound("y", d, int64(m.problem.Designs[row.orig].Quantity))
		if row.fixed > 0 {
			w.bound("o", d, 1)
		}
	}
	for r, row := range m.refs {
		w.bound("u", r, int64(row.most))
	}
	for f, most := range m.edgeMost {
		w.bound("z", f, int64(most))
	}
	for e := range m.entCost {
		w.bound("x", e, int64(m.cap[m.entItem[e]]))
	}
	w.line("ENDATA")
}

func (w mpsWriter) bound(kind string, at int, most int64) {
	w.line(" UP BND       %-8s  %12d", fmt.Sprintf("%s%d", kind, at), most)
}
