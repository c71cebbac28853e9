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
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// Matrix asks for a matrix: of the named lots, or of every lot that the
// filter selects, for one piece and wear; or of a line.
type Matrix struct {
	Line        string
	Lots        []string
	Filter      desk.StockFilter
	Piece, Wear string
	On          book.Date // of the paper; empty: today
}

// words name what the matrix is of.
func (r Matrix) words() string {
	switch {
	case r.Line != "":
		return "stones of the line " + r.Line
	case len(r.Lots) > 0:
		return "lots " + strings.Join(r.Lots, ", ")
	}
	return r.Filter.Words()
}

// Matrix judges every stone that is asked about in every setting. Lots are
// judged for one piece and wear, the stones of a line each in its own.
func (room *Room) Matrix(ctx context.Context, r Matrix) (answer.SettingMatrix, error) {
	out := answer.SettingMatrix{Scope: r.words(), Line: r.Line, Rows: []answer.MatrixRow{}, Settings: []string{},
		Assumed: []string{"treatment, where none is stated: the worst usual one"}}
	for _, s := range facts.Settings() {
		out.Settings = append(out.Settings, s.Name)
	}
	if r.Line == "" {
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
	}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		cfg, err := config.Load(ctx, tx)
		if err != nil {
			return err
		}
		if out.Head, err = room.desk.Head(ctx, tx, cfg, r.On, "Stones and settings"); err != nil {
			return err
		}
		if r.Line != "" {
			out.Rows, err = lineRows(ctx, tx, r.Line)
			return err
		}
		out.Rows, err = lotRows(ctx, tx, cfg, r)
		return err
	})
	return out, err
}

// lotRows are the rows of lots of the stock.
func lotRows(ctx context.Context, tx store.ReadTx, cfg config.Config, r Matrix) ([]answer.MatrixRow, error) {
	out := []answer.MatrixRow{}
	b, err := bench.NewIdentifier(cfg)
	if err != nil {
		return nil, err
	}
	add := func(s answer.StockLot, id bench.LotIdentity) error {
		out = append(out, matrixRow(s.Lot, &id, r.Piece, r.Wear))
		return nil
	}
	if len(r.Lots) == 0 {
		err := b.Each(ctx, tx, r.Filter, add)
		return out, err
	}
	lots := make([]answer.StockLot, len(r.Lots))
	for i, code := range r.Lots {
		if lots[i], err = desk.StonesOf(ctx, tx, code); err != nil {
			return nil, err
		}
	}
	err = b.Lots(ctx, tx, lots, add)
	return out, err
}

// lineRows are a row for every stone that a position of the line accepts, in
// the position's own piece, wear, shape, size and company.
func lineRows(ctx context.Context, tx store.ReadTx, line string) ([]answer.MatrixRow, error) {
	designs, err := store.All[book.Design](ctx, tx, "")
	if err != nil {
		return nil, err
	}
	out := []answer.MatrixRow{}
	var known []string
	for _, d := range designs {
		if !slices.Contains(known, d.Line) {
			known = append(known, d.Line)
		}
		if !strings.EqualFold(d.Line, line) {
			continue
		}
		for _, p := range d.Positions {
			rows, err := positionRows(d, p)
			if err != nil {
				return nil, err
			}
			out = append(out, rows...)
		}
	}
	if !slices.ContainsFunc(known, func(have string) bool { return strings.EqualFold(have, line) }) {
		return nil, fault.New(fault.NotFound, "line-unknown", "there is no line "+line,
			cmp.Or(fault.DidYouMean(line, known), "see the lines")).AtField("line").Do("line", "show")
	}
	return out, nil
}

// positionRows are the rows of one position.
func positionRows(d book.Design, p book.Position) ([]answer.MatrixRow, error) {
	s, f := situationOf(d, p, neighboursOf(d, p))
	if f != nil {
		return nil, f.At(fault.Where{Ref: d.Name + "/" + p.Name})
	}
	s.Shape, s.Treatment = p.Shape, p.Treatment
	s.Length, s.Width = p.LengthMax.Float(), p.WidthMin.Float()
	planned := s.Setting.Name
	row := answer.MatrixRow{Lot: d.Name + "/" + p.Name, Piece: d.Piece, Wear: cmp.Or(d.Wear, "daily"), Planned: planned,
		Checked: "as the line asks for it"}
	if len(p.Species) == 0 {
		row.Name, row.Checked = "any stone", "an unknown stone: the position accepts any species"
		row.Cells = matrixCells(s, []durability.Stone{s.Stone})
		return []answer.MatrixRow{row}, nil
	}
	var out []answer.MatrixRow
	for _, name := range p.Species {
		named, f := facts.Resolve(name)
		if f != nil {
			return nil, f.At(fault.Where{Ref: d.Name + "/" + p.Name})
		}
		one := row
		one.Name = name
		stones := namedStones(named, p.Color, s.Stone)
		if len(named.Materials) > 1 {
			one.Checked = fmt.Sprintf("worst of %d members of the group", len(named.Materials))
		}
		one.Cells = matrixCells(s, stones)
		out = append(out, one)
	}
	return out, nil
}

// matrixRow is the row of one lot, judged as what it may be. A lot of which
// neither a name nor a test says anything is an unknown stone.
func matrixRow(lot book.Lot, id *bench.LotIdentity, piece, wear string) answer.MatrixRow {
	row := answer.MatrixRow{Lot: lot.Code, Name: lot.Name(), Checked: "as " + string(id.Judged.State),
		Piece: piece, Wear: wear}
	var s durability.Situation
	s.Piece, s.Wear = piece, wear
	stones, f := stonesOf(lot, id)
	if f != nil {
		row.Checked = "an unknown stone: no name that the facts know"
	}
	row.Cells = matrixCells(s, stones)
	return row
}

// matrixCells judge the stones in every setting.
func matrixCells(s durability.Situation, stones []durability.Stone) []answer.MatrixCell {
	var out []answer.MatrixCell
	if len(stones) == 0 {
		stones = []durability.Stone{s.Stone}
	}
	mends := mender(stones)
	for _, setting := range facts.Settings() {
		s.Setting = setting
		c := durability.JudgeAll(s, stones)
		cell := answer.MatrixCell{Setting: setting.Name, Level: c.Setting, Verdict: c.Setting.String()}
		if cell.Reason = decidedBy(&c); c.Setting >= durability.Caution {
			cell.Mend = mends.Words(s, durability.PartSetting)
		}
		out = append(out, cell)
	}
	return out
}
