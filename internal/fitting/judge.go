package fitting

import (
	"context"
	"fmt"
	"math"
	"strings"

	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// stonesOf are the stones that a lot may be, for the durability engine: its
// claim first, then every candidate that is left in a tested stone with at
// least the given share. A verified or laboratory-reported lot is its claim.
func stonesOf(lot book.Lot, id *bench.LotIdentity, least float64) ([]durability.Stone, *fault.Fault) {
	named, f := facts.Resolve(lot.Name())
	if f != nil {
		return nil, f
	}
	base := durability.Stone{
		Treatment: lot.Facets.Treatment.Value, Nature: lot.Facets.Nature.Value, Shape: lot.Shape,
		Length: lot.Length.Max.Float(), Width: lot.Width.Min.Float(), ReadAs: named.ReadAs,
	}
	var out []durability.Stone
	seen := map[string]bool{}
	for _, m := range named.Materials {
		s := base
		s.Material, s.Variety = m, named.Variety
		if len(named.Materials) > 1 {
			s.ReadAs = m.Name
		}
		seen[m.Name] = true
		out = append(out, s)
	}
	if id == nil || id.Judged.State == identify.Verified {
		return out, nil
	}
	for _, t := range id.Stones {
		for _, c := range t.Verdict.Candidates {
			if c.Share < least || seen[c.Material.Name] {
				continue
			}
			seen[c.Material.Name] = true
			s := base
			s.Material, s.Variety, s.ReadAs = c.Material, nil, c.Material.Name
			out = append(out, s)
		}
	}
	return out, nil
}

// situationOf is a design's position as the durability engine reads it,
// without the stone. neighbours are the other stones of the piece.
func situationOf(d book.Design, p book.Position, neighbours []*facts.Material) (durability.Situation, *fault.Fault) {
	setting, f := facts.SettingNamed(p.Setting)
	if f != nil {
		return durability.Situation{}, f
	}
	var s durability.Situation
	s.Setting, s.Piece, s.Wear = setting, d.Piece, d.Wear
	s.Lux, s.HoursPerDay, s.Dark = d.Lux.Float(), d.HoursPerDay.Float(), d.Dark
	s.Bench = d.Bench
	s.Neighbours = neighbours
	return s, nil
}

// Judgement is the answer for a lot in a position.
type Judgement struct {
	Situation durability.Situation
	All       durability.Candidates
	Err       *fault.Fault
}

// Judge judges lots in the positions of designs, and remembers what it judged:
// lots of one kind meet the same positions.
type Judge struct {
	least  float64 // share from which a candidate of an open lot counts
	priors []durability.Prior
	record lossRecord
	Known  map[string]*Judgement
	rates  map[rateKey]durability.Rate
	ids    map[string]*bench.LotIdentity
}

type rateKey struct {
	kind  durability.LossKind
	level durability.Level
}

// NewJudge returns a judge of lots that knows, by code, what their tests say.
// Its chances of loss are the estimates of the settings.
func NewJudge(ids map[string]*bench.LotIdentity, c config.Config) *Judge {
	return &Judge{least: c.PlanShare, priors: c.Losses, Known: map[string]*Judgement{},
		rates: map[rateKey]durability.Rate{}, ids: ids}
}

// ReadJudge returns a judge whose chances of loss follow the book's own record.
func ReadJudge(ctx context.Context, tx store.ReadTx, ids map[string]*bench.LotIdentity,
	c config.Config) (*Judge, error) {
	j := NewJudge(ids, c)
	var err error
	j.record, err = lossesOf(ctx, tx)
	return j, err
}

// kindOf names all that a verdict reads of a lot: its claim, treatment, nature,
// shape, its size in the tenths that the rules read, and what its tests leave.
func (j *Judge) kindOf(lot book.Lot) string {
	var b strings.Builder
	length, width := lot.Length.Max.Float(), lot.Width.Min.Float()
	long, short := max(length, width), min(length, width)
	slender := 0.0
	if short > 0 {
		slender = long / short
	}
	fmt.Fprintf(&b, "%s\x00%s\x00%s\x00%s\x00%.0f\x00%.0f", lot.Name(), lot.Facets.Treatment.Value,
		lot.Facets.Nature.Value, lot.Shape, math.Round(10*long), math.Round(10*slender))
	if id := j.ids[lot.Code]; id != nil && id.Judged.State != identify.Verified {
		for _, t := range id.Stones {
			for _, c := range t.Verdict.Candidates {
				if c.Share >= j.least {
					b.WriteByte(0)
					b.WriteString(c.Material.Name)
				}
			}
		}
	}
	return b.String()
}

// placeKind names all that a verdict reads of a design's position.
func placeKind(d book.Design, p book.Position) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\x00%s\x00%s\x00%v%s\x00%s\x00%s", p.Setting, d.Piece, d.Wear, d.Dark, d.Lux, d.HoursPerDay,
		strings.Join(d.Bench, ";"))
	for _, n := range neighboursOf(d, p) {
		b.WriteByte(0)
		b.WriteString(n.Name)
	}
	return b.String()
}

// At judges a lot in a position of a design.
func (j *Judge) At(lot book.Lot, d book.Design, p book.Position) *Judgement {
	key := j.kindOf(lot) + "\x01" + placeKind(d, p)
	if have, ok := j.Known[key]; ok {
		return have
	}
	out := &Judgement{}
	j.Known[key] = out
	var stones []durability.Stone
	if stones, out.Err = stonesOf(lot, j.ids[lot.Code], j.least); out.Err != nil {
		return out
	}
	if out.Situation, out.Err = situationOf(d, p, neighboursOf(d, p)); out.Err != nil {
		return out
	}
	neighbours := out.Situation.Neighbours
	for i := range stones {
		stones[i].Neighbours = neighbours
	}
	out.Situation.Stone = stones[0]
	out.All = durability.JudgeAll(out.Situation, stones)
	return out
}

// neighboursOf are the materials that a design asks for in its other
// positions: a hard neighbour scratches a softer one. A position that accepts
// several species counts with the hardest of them.
func neighboursOf(d book.Design, p book.Position) []*facts.Material {
	var out []*facts.Material
	for _, other := range d.Positions {
		if other.Name == p.Name {
			continue
		}
		var hardest *facts.Material
		for _, name := range other.Species {
			named, f := facts.Resolve(name)
			if f != nil {
				continue
			}
			for _, m := range named.Materials {
				if hardest == nil || m.Hardness.Known && m.Hardness.Max > hardest.Hardness.Max {
					hardest = m
				}
			}
		}
		if hardest != nil {
			out = append(out, hardest)
		}
	}
	return out
}

// Reason is the worst finding of the setting part, in words.
func (j *Judgement) Reason() string {
	if j.Err != nil {
		return j.Err.What
	}
	v := j.All.Worst.Verdict
	for _, f := range v.Findings {
		if f.Part == durability.PartSetting && f.Level == v.Setting {
			if len(j.All.Each) > 1 && j.All.Worst.Name != j.All.Each[0].Name {
				return "if this is " + j.All.Worst.Name + ": " + f.Reason
			}
			return f.Reason
		}
	}
	return v.Setting.String()
}

// Rate is the believed chance of loss of a kind at a level.
func (j *Judge) Rate(kind durability.LossKind, level durability.Level) (durability.Rate, *fault.Fault) {
	key := rateKey{kind, level}
	if have, ok := j.rates[key]; ok {
		return have, nil
	}
	r, f := durability.RateOf(j.priors, kind, level, j.record[kind][level])
	if f == nil {
		j.rates[key] = r
	}
	return r, f
}

// Loss is what setting one stone here is expected to cost beyond the stone:
// the chance that it breaks, times what it is worth.
func (j *Judge) Loss(x *Judgement, value num.Money) num.Money {
	r, f := j.Rate(durability.LossSetting, x.All.Verdict().BreakLevel)
	if f != nil {
		return num.Zero(value.Currency())
	}
	return value.Times(num.FromFloat(r.Mean/(1-r.Mean), 6, num.HalfUp), num.HalfUp)
}
