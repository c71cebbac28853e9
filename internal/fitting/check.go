package fitting

import (
	"cmp"
	"context"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
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
	Forbidden []string             `json:"forbidden"` // bench steps that must never touch this stone
	Guarded   []string             `json:"guarded"`   // bench steps that need caution
	Assumed   []string             `json:"assumed"`
	If        []string             `json:"if"` // other stones it may be
	Findings  []durability.Finding `json:"findings"`
	Disputed  []durability.Dispute `json:"disputed"` // where published sources contradict each other
	Spares    string               `json:"spares"`   // the usual rule on spare stones for the setting
	Losses    []durability.Rate    `json:"losses"`   // chance of breaking while it is set, and of coming back damaged
}

func pairReport(name string, c durability.Candidates, rate func(durability.LossKind, durability.Level) (durability.Rate,
	*fault.Fault)) PairReport {
	v := c.Verdict()
	r := PairReport{
		Pair: name, ReadAs: v.ReadAs, Verdict: c.Setting.String(), Level: c.Setting, Setting: c.Setting, Bench: c.Bench,
		Display:   c.Display,
		WorkOrder: answer.List(v.WorkOrder), Forbidden: answer.List(v.Forbidden), Guarded: answer.List(v.Guarded),
		Assumed: answer.List(c.Worst.Verdict.Assumed), If: []string{},
		Findings: v.Findings, Disputed: v.Disputed, Spares: v.SpareStones, Losses: []durability.Rate{},
	}
	if r.Findings == nil {
		r.Findings = []durability.Finding{}
	}
	if r.Disputed == nil {
		r.Disputed = []durability.Dispute{}
	}
	if len(c.Each) > 1 {
		r.If = c.If
	}
	for kind, level := range map[durability.LossKind]durability.Level{durability.LossSetting: v.BreakLevel,
		durability.LossReturn: v.ReturnLevel} {
		if x, f := rate(kind, level); f == nil {
			r.Losses = append(r.Losses, x)
		}
	}
	if len(r.Losses) == 2 && r.Losses[0].Kind != durability.LossSetting {
		r.Losses[0], r.Losses[1] = r.Losses[1], r.Losses[0]
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
	Girdle    string
	Neighbour []string
}

// estimated are the chances of loss before any record of a book.
func estimated(kind durability.LossKind, level durability.Level) (durability.Rate, *fault.Fault) {
	return durability.RateOf(durability.Priors(), kind, level, durability.Record{})
}

// asFlags points the faults of a situation at the flags that gave it.
func asFlags(l fault.List) fault.List {
	flags := map[string]string{
		"unknown-wear": "wear", "unknown-piece": "piece", "durability-bench": "bench", "durability-shape": "shape",
		"durability-lamp":      "lamp",
		"durability-treatment": "treatment", "durability-inclusions": "inclusions", "durability-girdle": "girdle",
		"length": "length", "width": "width", "lux": "lux", "hours_per_day": "hours-per-day",
		"days_per_year": "days-per-year", "light limit": "limit-mlxh",
	}
	var out fault.List
	for _, f := range l {
		field, _, _ := strings.Cut(f.What, " must be")
		if flag := cmp.Or(flags[f.Code], flags[field]); flag != "" {
			f = f.AtField(flag)
		}
		out.Add(f)
	}
	return out
}

// CheckSetting judges a stone that is in no book.
func CheckSetting(r SettingCheck) (PairReport, error) {
	named, s, err := r.stone()
	if err != nil {
		return PairReport{}, err
	}
	out, err := judgeNamed(cmp.Or(r.Name, r.Species), named, s)
	if bad, ok := err.(fault.List); ok {
		return out, asFlags(bad)
	}
	return out, err
}

// stone is the situation of a stone that is in no book.
func (r *SettingCheck) stone() (facts.Named, durability.Situation, error) {
	named, f := facts.Resolve(r.Species)
	if f != nil {
		return named, durability.Situation{}, f.AtField("species")
	}
	s, err := r.situation()
	return named, s, err
}

func (r *SettingCheck) situation() (durability.Situation, error) {
	var s durability.Situation
	if r.Setting != "" {
		setting, f := facts.SettingNamed(r.Setting)
		if f != nil {
			return s, f.AtField("setting")
		}
		s.Setting = setting
	}
	s.Piece, s.Wear, s.Bench, s.Display = r.Piece, r.Wear, r.Bench, r.Display
	s.Treatment, s.Shape, s.Length, s.Width, s.Inclusions, s.Girdle = r.Treatment, r.Shape, r.Length, r.Width,
		r.Inclusion, r.Girdle
	for _, n := range r.Neighbour {
		named, f := facts.Resolve(n)
		if f != nil {
			return s, f.AtField("neighbour")
		}
		s.Neighbours = append(s.Neighbours, named.Materials...)
	}
	return s, nil
}

// namedStones are the stones that a name stands for, with what s says of them.
func namedStones(named facts.Named, s durability.Stone) []durability.Stone {
	var stones []durability.Stone
	for _, m := range named.Materials {
		one := s
		one.Material, one.Variety, one.ReadAs = m, named.Variety, named.ReadAs
		if len(named.Materials) > 1 {
			one.ReadAs = m.Name
		}
		stones = append(stones, one)
	}
	return stones
}

// judgeNamed judges every material that a name stands for.
func judgeNamed(pair string, named facts.Named, s durability.Situation) (PairReport, error) {
	stones := namedStones(named, s.Stone)
	s.Stone = stones[0]
	if l := durability.Check(s); l.Blocks() {
		return PairReport{}, l
	}
	r := pairReport(pair, durability.JudgeAll(s, stones), estimated)
	r.ReadAs = named.ReadAs
	return r, nil
}

// CheckSettingFile judges the pairs of a file.
func CheckSettingFile(in desk.Input) ([]PairReport, fault.List, error) {
	f, faults := in.Open()
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
		s.Lux, s.HoursPerDay, s.Dark = p.Lux.Float(), p.HoursPerDay.Float(), p.Dark
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

// lotStones is a lot of the book in the situation that is asked about: a lot
// that is not verified stands for every candidate that is left.
func (room *Room) lotStones(ctx context.Context, tx store.ReadTx, r *SettingCheck) (answer.StockLot,
	durability.Situation, []durability.Stone, error) {
	var s durability.Situation
	lot, err := desk.StockOf(ctx, tx, r.Lot)
	if err != nil {
		return lot, s, nil, err
	}
	id, err := room.bench.IdentityIn(ctx, tx, lot)
	if err != nil {
		return lot, s, nil, err
	}
	if s, err = r.situation(); err != nil {
		return lot, s, nil, err
	}
	stones, f := stonesOf(lot.Lot, &id, 0)
	if f != nil {
		return lot, s, nil, f.At(fault.Where{Ref: lot.Code})
	}
	for i := range stones {
		stones[i].Inclusions, stones[i].Girdle, stones[i].Neighbours = s.Inclusions, s.Girdle, s.Neighbours
	}
	s.Stone = stones[0]
	if l := durability.Check(s); l.Blocks() {
		return lot, s, nil, asFlags(l)
	}
	return lot, s, stones, nil
}

// untested is what is assumed of a lot that nobody has tested.
func untested(id *bench.LotIdentity) string {
	if id.Judged.State != identify.Stated {
		return ""
	}
	return "nobody has tested the lot: taken for what the vendor stated"
}

// CheckLotSetting judges a lot of the book in a situation: a lot that is not
// verified is checked for every candidate that is left.
func (room *Room) CheckLotSetting(ctx context.Context, r SettingCheck) (PairReport, error) {
	var out PairReport
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		lot, s, stones, err := room.lotStones(ctx, tx, &r)
		if err != nil {
			return err
		}
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		record, err := LossesOf(ctx, tx)
		if err != nil {
			return err
		}
		out = pairReport(lot.Code+" "+lot.Name(), durability.JudgeAll(s, stones), NewJudge(nil, config, record).Rate)
		id, err := room.bench.IdentityIn(ctx, tx, lot)
		if words := untested(&id); err == nil && words != "" {
			out.Assumed = append(out.Assumed, words)
		}
		return err
	})
	return out, err
}
