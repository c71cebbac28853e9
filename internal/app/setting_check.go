package app

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/store"
)

// PairReport is the answer for one stone in one situation, in the words of the
// contract. Level is the setting verdict: 0 sound, 1 care, 2 caution, 3 avoid.
type PairReport struct {
	Pair      string               `json:"pair"`
	ReadAs    string               `json:"read_as"`
	Verdict   string               `json:"verdict"`
	Level     durability.Level     `json:"level"`
	Setting   durability.Level     `json:"setting"`
	Bench     durability.Level     `json:"bench"`
	Display   durability.Level     `json:"display"`
	WorkOrder []string             `json:"work_order"`
	Forbidden []string             `json:"forbidden"`
	Assumed   []string             `json:"assumed"`
	If        []string             `json:"if"` // other stones it may be
	Findings  []durability.Finding `json:"findings"`
}

func pairReport(name string, c durability.Candidates) PairReport {
	v := c.Worst.Verdict
	r := PairReport{
		Pair: name, ReadAs: v.ReadAs, Verdict: c.Setting.String(), Level: c.Setting, Setting: c.Setting, Bench: c.Bench, Display: c.Display,
		WorkOrder: list(v.WorkOrder), Forbidden: list(v.Forbidden), Assumed: list(v.Assumed), If: []string{}, Findings: v.Findings,
	}
	if r.Findings == nil {
		r.Findings = []durability.Finding{}
	}
	if len(c.Each) > 1 {
		r.If = c.If
	}
	return r
}

// SettingCheck asks about one stone in one situation, without a book or for a
// lot of the book.
type SettingCheck struct {
	Name      string // of the pair
	Lot       string // of the book; else Species
	Species   string // species, variety, group or alias
	Treatment string
	Shape     string
	Length    float64
	Width     float64
	Setting   string
	Piece     string
	Wear      string
	Bench     []string
	Display   durability.Display
	Inclusion string
	Neighbour []string
}

// CheckSetting judges a stone that is in no book.
func CheckSetting(r SettingCheck) (PairReport, error) {
	named, f := facts.Resolve(r.Species)
	if f != nil {
		return PairReport{}, f.AtFlag("species")
	}
	s, err := r.situation()
	if err != nil {
		return PairReport{}, err
	}
	report, err := judgeNamed(orThe(r.Name, r.Species), named, s)
	return report, situationFlag(err)
}

// situationFlag points the faults of a situation's words at the flags that
// they were given by.
func situationFlag(err error) error {
	l, ok := fault.From(err)
	if !ok {
		return err
	}
	out := make(fault.List, len(l))
	for i, f := range l {
		_, word, _ := strings.Cut(f.Code, "-") // unknown-wear, durability-bench ...
		if f.Where == (fault.Where{}) && slices.Contains([]string{"wear", "piece", "bench", "shape", "lamp", "treatment", "inclusions"}, word) {
			f = f.AtFlag(word)
		}
		out[i] = f
	}
	return out
}

func (r *SettingCheck) situation() (durability.Situation, error) {
	var s durability.Situation
	setting, f := facts.SettingNamed(r.Setting)
	if f != nil {
		return s, f.AtFlag("setting")
	}
	s.Setting, s.Piece, s.Wear, s.Bench, s.Display = setting, r.Piece, r.Wear, r.Bench, r.Display
	s.Treatment, s.Shape, s.Length, s.Width, s.Inclusions = r.Treatment, r.Shape, r.Length, r.Width, r.Inclusion
	for _, n := range r.Neighbour {
		named, f := facts.Resolve(n)
		if f != nil {
			return s, f.AtFlag("neighbour")
		}
		s.Neighbours = append(s.Neighbours, named.Materials...)
	}
	return s, nil
}

// judgeNamed judges every material that a name stands for.
func judgeNamed(pair string, named facts.Named, s durability.Situation) (PairReport, error) {
	var stones []durability.Stone
	for _, m := range named.Materials {
		one := s.Stone
		one.Material, one.Variety, one.ReadAs = m, named.Variety, named.ReadAs
		if len(named.Materials) > 1 {
			one.ReadAs = m.Name
		}
		stones = append(stones, one)
	}
	s.Stone = stones[0]
	if l := durability.Check(s); l.Blocks() {
		return PairReport{}, l
	}
	r := pairReport(pair, durability.JudgeAll(s, stones))
	r.ReadAs = named.ReadAs
	return r, nil
}

// CheckSettingFile judges the pairs of a file.
func CheckSettingFile(in Input) ([]PairReport, fault.List, error) {
	f, faults := in.open()
	if faults.Blocks() {
		return nil, nil, faults
	}
	pairs, faults := intake.ReadPairs(f)
	if faults.Blocks() {
		return nil, nil, faults
	}
	out := []PairReport{}
	var l fault.List
	for _, p := range pairs {
		var s durability.Situation
		s.Setting, s.Piece, s.Wear, s.Bench = p.Setting, p.Piece, p.Wear, p.Bench
		s.Lux, s.HoursPerDay = p.Lux.Float(), p.HoursPerDay.Float()
		s.Treatment, s.Shape, s.Length, s.Width = p.Treatment, p.Shape, p.Length.Float(), p.Width.Float()
		r, err := judgeNamed(p.Name, p.Named, s)
		if bad, ok := fault.From(err); ok {
			for _, f := range bad {
				l.Add(f.At(fault.Where{File: in.Name, Row: p.Row}))
			}
			continue
		}
		out = append(out, r)
	}
	if l.Blocks() {
		return nil, nil, l
	}
	return out, faults, nil
}

// CheckLotSetting judges a lot of the book in a situation: a lot that is not
// verified is checked for every candidate that is left.
func (a *App) CheckLotSetting(ctx context.Context, r SettingCheck) (PairReport, error) {
	var out PairReport
	err := a.view(ctx, func(tx store.ReadTx) error {
		lot, err := stockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		id, err := a.identityIn(ctx, tx, lot)
		if err != nil {
			return err
		}
		s, err := r.situation()
		if err != nil {
			return err
		}
		stones, f := stonesOf(lot.Lot, &id, 0)
		if f != nil {
			return f.AtRef(lot.Code)
		}
		for i := range stones {
			stones[i].Inclusions, stones[i].Neighbours = s.Inclusions, s.Neighbours
		}
		s.Stone = stones[0]
		if l := durability.Check(s); l.Blocks() {
			return l
		}
		out = pairReport(lot.Code+" "+lot.Name(), durability.JudgeAll(s, stones))
		return nil
	})
	return out, err
}

// MatrixRow is one lot in every setting.
type MatrixRow struct {
	Lot     string       `json:"lot"`
	Name    string       `json:"name"`
	Checked string       `json:"checked"`
	Cells   []MatrixCell `json:"cells"`
}

// MatrixCell is one lot in one setting.
type MatrixCell struct {
	Setting string           `json:"setting"`
	Level   durability.Level `json:"level"`
	Verdict string           `json:"verdict"`
	Reason  string           `json:"reason"`
	Mend    string           `json:"mend"`
}

// Matrix is stones against settings, for one piece and wear.
type Matrix struct {
	Piece    string      `json:"piece"`
	Wear     string      `json:"wear"`
	Settings []string    `json:"settings"`
	Rows     []MatrixRow `json:"rows"`
}

// SettingMatrix judges every lot that the filter selects in every setting that
// suits the piece.
func (a *App) SettingMatrix(ctx context.Context, filter StockFilter, piece, wear string) (Matrix, error) {
	out := Matrix{Piece: piece, Wear: wear, Rows: []MatrixRow{}, Settings: []string{}}
	if _, f := facts.PieceNamed(piece); f != nil {
		return out, f.AtFlag("piece")
	}
	if _, f := facts.WearNamed(wear); f != nil {
		return out, f.AtFlag("wear")
	}
	for _, s := range facts.Settings() {
		out.Settings = append(out.Settings, s.Name)
	}
	err := a.view(ctx, func(tx store.ReadTx) error {
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		b, err := newBench(config)
		if err != nil {
			return err
		}
		return identities(ctx, tx, b, filter, func(s StockLot, id LotIdentity) error {
			row, f := matrixRow(s.Lot, &id, piece, wear)
			if f != nil {
				return f.AtRef(s.Code)
			}
			out.Rows = append(out.Rows, row)
			return nil
		})
	})
	return out, err
}

func matrixRow(lot book.Lot, id *LotIdentity, piece, wear string) (MatrixRow, *fault.Fault) {
	row := MatrixRow{Lot: lot.Code, Name: lot.Name(), Checked: "as " + string(id.Judged.State)}
	stones, f := stonesOf(lot, id, likely)
	if f != nil {
		return row, f
	}
	if len(stones) > 1 {
		row.Checked = fmt.Sprintf("%s: worst of %d candidates", id.Judged.State, len(stones))
	}
	for _, setting := range facts.Settings() {
		s := durability.Situation{Stone: stones[0]}
		s.Setting, s.Piece, s.Wear = setting, piece, wear
		c := durability.JudgeAll(s, stones)
		cell := MatrixCell{Setting: setting.Name, Level: c.Setting, Verdict: c.Setting.String()}
		for _, f := range c.Worst.Verdict.Findings {
			if f.Part == durability.PartSetting && f.Level == c.Setting {
				cell.Reason, cell.Mend = f.Reason, f.Mend
				break
			}
		}
		row.Cells = append(row.Cells, cell)
	}
	return row, nil
}

// SettingAdvise says where a lot may go, best first, and what would lift each
// part that comes out at avoid.
func (a *App) SettingAdvise(ctx context.Context, r SettingCheck) (durability.Advice, error) {
	var out durability.Advice
	err := a.view(ctx, func(tx store.ReadTx) error {
		lot, err := stockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		id, err := a.identityIn(ctx, tx, lot)
		if err != nil {
			return err
		}
		stones, f := stonesOf(lot.Lot, &id, likely)
		if f != nil {
			return f.AtRef(lot.Code)
		}
		s, err := r.situation()
		if err != nil {
			return err
		}
		s.Stone = stones[0]
		worst := durability.JudgeAll(s, stones)
		for i, c := range worst.Each {
			if c.Name == worst.Worst.Name {
				s.Stone = stones[i]
			}
		}
		var pieces []string
		for _, p := range facts.Pieces() {
			pieces = append(pieces, p.Name)
		}
		out = durability.Advise(s, facts.Settings(), pieces, nil)
		return nil
	})
	return out, err
}
