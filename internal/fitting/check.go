package fitting

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/intake"
)

// Check asks for the verdict on a stone in a situation, or on the pairs
// of a file.
type Check struct {
	Stone
	Situation
	Pairs *desk.Input // in place of the stone: a file of stones in settings, none of a book
}

// rates is the believed chance of a kind of loss at a level.
type rates func(durability.LossKind, durability.Level) (durability.Rate, *fault.Fault)

// estimated are the chances of loss before any record of a book.
func estimated(kind durability.LossKind, level durability.Level) (durability.Rate, *fault.Fault) {
	return durability.RateOf(durability.Priors(), kind, level, durability.Record{})
}

// Check judges a stone in a setting, piece and wear. A lot is judged as what it
// may be: see durability.Weigh.
func (room *Room) Check(ctx context.Context, r Check) (answer.SettingCheck, error) {
	if r.Pairs != nil {
		return checkPairs(*r.Pairs)
	}
	out := answer.SettingCheck{Warnings: fault.List{}}
	err := room.about(ctx, r.Stone, r.Situation, func(a asked) error {
		believed := rates(estimated)
		if a.tx != nil {
			cfg, err := config.Load(ctx, a.tx)
			if err != nil {
				return err
			}
			judge, err := ReadJudge(ctx, a.tx, nil, cfg)
			if err != nil {
				return err
			}
			believed = judge.Rate
		}
		out.Pairs = []answer.SettingPair{a.pair(believed)}
		return nil
	})
	return out, err
}

// checkPairs judges the pairs of a file.
func checkPairs(in desk.Input) (answer.SettingCheck, error) {
	out := answer.SettingCheck{Pairs: []answer.SettingPair{}}
	f, faults := in.Open()
	if faults.Blocks() {
		return out, faults
	}
	pairs, faults := intake.ReadPairs(f)
	if faults.Blocks() {
		return out, faults
	}
	out.Warnings = faults
	var l fault.List
	for _, p := range pairs {
		var s durability.Situation
		s.Setting, s.Piece, s.Wear, s.Bench = p.Setting, p.Piece, p.Wear, p.Bench
		s.Lux, s.HoursPerDay, s.Dark = p.Lux.Float(), p.HoursPerDay.Float(), p.Dark
		s.Treatment, s.Shape, s.Length, s.Width = p.Treatment, p.Shape, p.Length.Float(), p.Width.Float()
		a, bad := material(p.Name, p.Named, p.Color, s)
		for _, f := range bad {
			l.Add(f.At(fault.Where{File: in.Name, Row: p.Row}))
		}
		if !bad.Blocks() {
			out.Pairs = append(out.Pairs, a.pair(estimated))
		}
	}
	if l.Blocks() {
		return out, l
	}
	return out, nil
}

// pair is the verdict on a stone, with the chances of loss that believed gives.
func (a *asked) pair(believed rates) answer.SettingPair {
	c := durability.JudgeAll(a.situation, a.stones)
	v := c.Verdict()
	mender(a.stones).Mend(a.situation, &v)
	p := answer.SettingPair{
		Pair: a.name, ReadAs: v.ReadAs, Verdict: c.Setting.String(), Level: c.Setting, Setting: c.Setting,
		SettingWear: c.ReturnLevel, SettingWork: c.BreakLevel, Bench: c.Bench, Showcase: c.Display,
		Others: others(&c), Hazards: hazards(a.stones), WorkOrder: answer.List(v.WorkOrder),
		Forbidden: answer.List(v.Forbidden),
		Guarded:   answer.List(v.Guarded), Assumed: answer.List(c.Each[0].Verdict.Assumed), If: []string{},
		Findings: v.Findings, Disputed: v.Disputed, Spares: v.SpareStones, Losses: []durability.Rate{},
	}
	if a.situation.Display != (durability.Display{}) {
		p.Display = &c.Display
	}
	if a.readAs != "" {
		p.ReadAs = a.readAs
	}
	if p.Findings == nil {
		p.Findings = []durability.Finding{}
	}
	if p.Disputed == nil {
		p.Disputed = []durability.Dispute{}
	}
	if len(c.Each) > 1 {
		p.If = c.If
	}
	if a.identity != nil && a.identity.Judged.State == identify.Stated {
		p.Assumed = append(p.Assumed, answer.Untested)
	}
	for _, x := range []struct {
		kind  durability.LossKind
		level durability.Level
	}{{durability.LossSetting, v.BreakLevel}, {durability.LossReturn, v.ReturnLevel}} {
		if rate, f := believed(x.kind, x.level); f == nil {
			p.Losses = append(p.Losses, rate)
		}
	}
	return p
}

// jewels are the pieces that a mend offers in place of another.
var jewels = []string{"ring", "bracelet", "pendant", "brooch", "earrings", "necklace"}

// mender finds what mends the verdicts on stones, in any setting that the facts
// know.
func mender(stones []durability.Stone) *durability.Mender {
	return durability.NewMender(stones, facts.Settings(), jewels)
}

// others are what the stone may also be and would come out worse as, each with
// the test that tells it from what it is taken for.
func others(c *durability.Candidates) []answer.OtherStone {
	out := []answer.OtherStone{}
	for _, o := range c.Others {
		x := answer.OtherStone{Species: o.Name, Level: o.Level, Reason: o.Reason,
			Settles: identify.Settles(c.Each[0].Stone.Material, o.Material), Words: o.Words()}
		if o.Chance > 0 {
			x.Chance = &o.Chance
		}
		out = append(out, x)
	}
	if r := c.Rarer; r.Stones > 0 {
		out = append(out, answer.OtherStone{Species: fmt.Sprintf("one of %d rarer stones", r.Stones), Chance: &r.Chance,
			Level: r.Level, Reason: "most of them would come out so", Settles: "testing the lot", Words: r.Words()})
	}
	return out
}
