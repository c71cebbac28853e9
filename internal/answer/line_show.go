package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// Lines are lines with their designs.
type Lines struct {
	Head  `json:"-"`
	Lines []LineShow `json:"lines"`
}

// LineShow is a line with its designs.
type LineShow struct {
	book.Line
	Designs []book.Design `json:"designs"`
}

// positionRow is one position of one design of one line.
type positionRow struct {
	line     string
	design   *book.Design
	position *book.Position
}

func (l *Lines) columns() []column[positionRow] {
	return []column[positionRow]{
		{"line", "Line", 12, func(r *positionRow) sheet.Cell { return sheet.Text(r.line) }},
		{"design", "Design", 20, func(r *positionRow) sheet.Cell { return sheet.Text(r.design.Name) }},
		{"piece", "Piece", 12, func(r *positionRow) sheet.Cell { return sheet.Text(r.design.Piece) }},
		{"metal", "Metal", 12, func(r *positionRow) sheet.Cell {
			return sheet.Text(r.design.Metal + " " + r.design.Fineness.String())
		}},
		onlyFiled("Metal (g)", 9, func(r *positionRow) sheet.Cell {
			return sheet.Number(r.design.MetalWeight.Dec(), 2)
		}),
		{"quantity", "Quantity", 9, func(r *positionRow) sheet.Cell { return sheet.Int(r.design.Quantity) }},
		{"trade", l.unit("Trade price"), 12, func(r *positionRow) sheet.Cell {
			return sheet.Money(r.design.PriceTrade)
		}},
		onlyFiled("Wear", 11, func(r *positionRow) sheet.Cell { return sheet.Text(r.design.Wear) }),
		{"position", "Position", 12, func(r *positionRow) sheet.Cell { return sheet.Text(r.position.Name) }},
		{"setting", "Setting", 12, func(r *positionRow) sheet.Cell { return sheet.Text(r.position.Setting) }},
		{"wants", "Wants", 44, func(r *positionRow) sheet.Cell { return sheet.Text(r.position.Wanted()) }},
		{"count", "Count", 8, func(r *positionRow) sheet.Cell { return sheet.Int(r.position.Count) }},
		{"match", "Match", 11, func(r *positionRow) sheet.Cell { return sheet.Text(r.position.Match) }},
		{"accept", "Accept", 10, func(r *positionRow) sheet.Cell { return sheet.Text(r.position.Accept) }},
	}
}

// List is the lines, a row for each position of their designs.
func (l *Lines) List() Listing {
	out := &list[positionRow]{head: l.Head, columns: l.columns()}
	for _, line := range l.Lines {
		for i := range line.Designs {
			d := &line.Designs[i]
			for j := range d.Positions {
				out.rows = append(out.rows, positionRow{line.Name, d, &d.Positions[j]})
			}
		}
	}
	return out
}
