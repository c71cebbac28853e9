package fitting

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// MatrixRow is one lot, or one stone that a line asks for, in every setting.
type MatrixRow struct {
	Lot     string       `json:"lot"` // of a line: DESIGN/POSITION
	Name    string       `json:"name"`
	Checked string       `json:"checked"`
	Piece   string       `json:"piece"`
	Wear    string       `json:"wear"`
	Planned string       `json:"planned"` // the setting that the line plans; empty for a lot of the stock
	Cells   []MatrixCell `json:"cells"`
}

// MatrixCell is one stone in one setting.
type MatrixCell struct {
	Setting string           `json:"setting"`
	Level   durability.Level `json:"level"`
	Verdict string           `json:"verdict"`
	Reason  string           `json:"reason"`
	Mend    string           `json:"mend"`
}

// Matrix is stones against settings: lots of the stock for one piece and wear,
// or the stones of a line, each for its own piece and wear.
type Matrix struct {
	Line     string      `json:"line"`
	Piece    string      `json:"piece"`
	Wear     string      `json:"wear"`
	Settings []string    `json:"settings"`
	Rows     []MatrixRow `json:"rows"`
}

// MatrixOf asks for a matrix: of the named lots, or of every lot that the
// filter selects, for one piece and wear; or of a line.
type MatrixOf struct {
	Line        string
	Lots        []string
	Filter      desk.StockFilter
	Piece, Wear string
}

// words name what the matrix is of.
func (r MatrixOf) words() string {
	switch {
	case r.Line != "":
		return "stones of the line " + r.Line
	case len(r.Lots) > 0:
		return "lots " + strings.Join(r.Lots, ", ")
	}
	return r.Filter.Words()
}

// SettingMatrix judges every stone that is asked about in every setting.
func (room *Room) SettingMatrix(ctx context.Context, r MatrixOf) (Matrix, error) {
	out := Matrix{Line: r.Line, Rows: []MatrixRow{}, Settings: []string{}}
	for _, s := range facts.Settings() {
		out.Settings = append(out.Settings, s.Name)
	}
	if r.Line != "" {
		return out, room.desk.View(ctx, func(tx store.ReadTx) error { return out.line(ctx, tx, r.Line) })
	}
	out.Piece, out.Wear = r.Piece, r.Wear
	var l fault.List
	if _, f := facts.PieceNamed(r.Piece); f != nil {
		l.Add(f.AtField("piece"))
	}
	if _, f := facts.WearNamed(r.Wear); f != nil {
		l.Add(f.AtField("wear"))
	}
	if l.Blocks() {
		return out, l
	}
	return out, room.desk.View(ctx, func(tx store.ReadTx) error {
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		b, err := bench.NewIdentifier(config)
		if err != nil {
			return err
		}
		add := func(s answer.StockLot, id bench.LotIdentity) error {
			row, f := matrixRow(s.Lot, &id, r.Piece, r.Wear)
			if f != nil {
				return f.At(fault.Where{Ref: s.Code})
			}
			out.Rows = append(out.Rows, row)
			return nil
		}
		if len(r.Lots) == 0 {
			return bench.Identities(ctx, tx, b, r.Filter, add)
		}
		for _, code := range r.Lots {
			s, err := desk.StockOf(ctx, tx, code)
			if err != nil {
				return err
			}
			index, err := bench.ReadingsOf(ctx, tx, s.Lot)
			if err != nil {
				return err
			}
			id, err := b.IdentityOf(ctx, tx, s, index)
			if err != nil {
				return err
			}
			if err := add(s, id); err != nil {
				return err
			}
		}
		return nil
	})
}

// line adds a row for every stone that a position of the line accepts, in the
// position's own piece, wear, shape, size and company.
func (m *Matrix) line(ctx context.Context, tx store.ReadTx, line string) error {
	designs, err := store.All[book.Design](ctx, tx, "")
	if err != nil {
		return err
	}
	var known []string
	for _, d := range designs {
		if !slices.Contains(known, d.Line) {
			known = append(known, d.Line)
		}
		if !strings.EqualFold(d.Line, line) {
			continue
		}
		for _, p := range d.Positions {
			if err := m.position(d, p); err != nil {
				return err
			}
		}
	}
	if !slices.ContainsFunc(known, func(have string) bool { return strings.EqualFold(have, line) }) {
		return fault.New(fault.NotFound, "line-unknown", "there is no line "+line, cmp.Or(fault.DidYouMean(line, known),
			"see the lines")).
			AtField("line").Do("line", "show")
	}
	return nil
}

func (m *Matrix) position(d book.Design, p book.Position) error {
	s, f := situationOf(d, p, neighboursOf(d, p))
	if f != nil {
		return f.At(fault.Where{Ref: d.Name + "/" + p.Name})
	}
	s.Shape, s.Treatment = p.Shape, p.Treatment
	s.Length, s.Width = p.LengthMax.Float(), p.WidthMin.Float()
	planned := s.Setting.Name
	row := MatrixRow{Lot: d.Name + "/" + p.Name, Piece: d.Piece, Wear: cmp.Or(d.Wear, "daily"), Planned: planned,
		Checked: "as the line asks for it"}
	if len(p.Species) == 0 {
		row.Name, row.Checked = "any stone", "an unknown stone: the position accepts any species"
		row.fill(s, []durability.Stone{s.Stone})
		m.Rows = append(m.Rows, row)
	}
	for _, name := range p.Species {
		named, f := facts.Resolve(name)
		if f != nil {
			return f.At(fault.Where{Ref: d.Name + "/" + p.Name})
		}
		one := row
		one.Name = name
		stones := namedStones(named, s.Stone)
		if len(stones) > 1 {
			one.Checked = fmt.Sprintf("worst of %d members of the group", len(stones))
		}
		one.fill(s, stones)
		m.Rows = append(m.Rows, one)
	}
	return nil
}

func matrixRow(lot book.Lot, id *bench.LotIdentity, piece, wear string) (MatrixRow, *fault.Fault) {
	row := MatrixRow{Lot: lot.Code, Name: lot.Name(), Checked: "as " + string(id.Judged.State),
		Piece: piece, Wear: wear}
	stones, f := stonesOf(lot, id, 0)
	if f != nil {
		return row, f
	}
	if len(stones) > 1 {
		row.Checked = fmt.Sprintf("%s: worst of %d candidates", id.Judged.State, len(stones))
	}
	var s durability.Situation
	s.Piece, s.Wear = piece, wear
	row.fill(s, stones)
	return row, nil
}

// fill judges the stones in every setting: the word is the worst one's.
func (r *MatrixRow) fill(s durability.Situation, stones []durability.Stone) {
	r.Cells = nil
	for _, setting := range facts.Settings() {
		s.Setting = setting
		c := durability.JudgeAll(s, stones)
		cell := MatrixCell{Setting: setting.Name, Level: c.Setting, Verdict: c.Setting.String()}
		for _, f := range c.Worst.Verdict.Findings {
			if f.Part == durability.PartSetting && f.Level == c.Setting {
				cell.Reason, cell.Mend = f.Reason, f.Mend
				if len(c.Each) > 1 {
					cell.Reason = "if this is " + c.Worst.Name + ": " + f.Reason
				}
				break
			}
		}
		r.Cells = append(r.Cells, cell)
	}
}

// MatrixWorkbook is the matrix as a workbook.
func (room *Room) MatrixWorkbook(ctx context.Context, m Matrix, r MatrixOf, on book.Date) (*sheet.Workbook, error) {
	var out *answer.Matrix
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		out = &answer.Matrix{Head: desk.DocumentHead(config, tx.Meta(), head, room.desk.Today(tx, on), "",
			"Stones and settings"), Scope: r.words(), Piece: cmp.Or(m.Piece, "each stone in the piece that the line "+
			"plans"), Wear: m.Wear, Settings: m.Settings, Assumed: []string{"treatment, where none is stated: the " +
			"worst usual one"}}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, row := range rowsByPaper(m.Rows) {
		out.Rows = append(out.Rows, row.document(m.Line != ""))
	}
	return out.Workbook()
}

// document is the row as documents show it; the row of a line says where the
// stone is planned.
func (r MatrixRow) document(line bool) answer.MatrixRow {
	out := answer.MatrixRow{Lot: r.Lot, Name: r.Name, Checked: r.Checked}
	if line {
		out.Checked = r.Piece + ", " + r.Wear + ", planned: " + r.Planned + "; " + r.Checked
	}
	for _, c := range r.Cells {
		out.Cells = append(out.Cells, answer.MatrixCell{Level: c.Verdict, Reason: c.Reason, Mend: c.Mend})
	}
	return out
}
