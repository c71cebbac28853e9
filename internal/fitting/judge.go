package fitting

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
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

// stonesOf are the stones that a lot may be, for the durability engine, each
// with its chance; the claim comes first unless the tests speak against it. A
// verified lot, and one of which only the name is known, is its claim.
func stonesOf(lot book.Lot, id *bench.LotIdentity) ([]durability.Stone, *fault.Fault) {
	named, f := facts.Resolve(lot.Name())
	if f != nil && (id == nil || len(id.Stones) == 0) {
		return nil, f
	}
	if id != nil && id.Judged.State != identify.Verified {
		if list := id.MayBe(); len(list) > 0 {
			return mayBe(lot, named, list), nil
		}
	}
	var list []identify.Possible
	for _, m := range named.Materials {
		list = append(list, identify.Possible{Material: m, Claim: true})
	}
	return mayBe(lot, named, list), f
}

// mayBe are the stones of a list for the durability engine, as far as the lot
// tells of them. named is what the lot is called.
func mayBe(lot book.Lot, named facts.Named, list []identify.Possible) []durability.Stone {
	base := durability.Stone{
		Treatment: lot.Facets.Treatment.Value, Nature: lot.Facets.Nature.Value, Shape: lot.Shape,
		Length: lot.Length.Max.Float(), Width: lot.Width.Min.Float(),
	}
	var out []durability.Stone
	for _, p := range list {
		s := base
		s.Material, s.Chance, s.Taken = p.Material, p.Chance, p.Taken
		switch {
		case p.Material == nil:
			s.ReadAs = "something that the facts have not"
			out = append(out, s)
			continue
		case p.Claim && len(named.Materials) == 1:
			s.ReadAs = named.ReadAs
		default:
			s.ReadAs = p.Material.Name
		}
		if p.Claim && named.Variety != nil {
			s.Variety = named.Variety
			out = append(out, s)
			continue
		}
		out = append(out, byColour(s, lot.Color)...)
	}
	return out
}

// byColour splits a species without its variety into the varieties that its
// colour makes likely, all alike: those that the colour stands first for, or
// else those that are met in it. What is named by more than its colour, a star
// or a coating, is none of them.
func byColour(s durability.Stone, color string) []durability.Stone {
	var first, met []*facts.Variety
	for _, v := range facts.Varieties() {
		if v.Species != s.Material.Name || len(v.Colors) == 0 || v.Needs != "" {
			continue
		}
		switch {
		case identify.SameHue(v.Colors[0], color):
			first = append(first, v)
		case slices.ContainsFunc(v.Colors, func(c string) bool { return identify.SameHue(c, color) }):
			met = append(met, v)
		}
	}
	if len(first) == 0 {
		first = met
	}
	if len(first) == 0 {
		return []durability.Stone{s}
	}
	out := make([]durability.Stone, len(first))
	for i, v := range first {
		out[i] = s
		out[i].Variety, out[i].ReadAs = v, v.Name+" ("+s.Material.Name+")"
		out[i].Chance, out[i].Taken = s.Chance/float64(len(first)), s.Taken/float64(len(first))
	}
	return out
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

	stones  []durability.Stone  // all that the lot may be
	verdict *durability.Verdict // nil: nobody has asked
}

// Verdict is the whole verdict, with what mends it.
func (j *Judgement) Verdict() durability.Verdict {
	if j.verdict == nil {
		v := j.All.Verdict()
		mender(j.stones).Mend(j.Situation, &v)
		j.verdict = &v
	}
	return *j.verdict
}

// Judge judges lots in the positions of designs, and remembers what it judged:
// lots of one kind meet the same positions.
type Judge struct {
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
	return &Judge{priors: c.Losses, Known: map[string]*Judgement{},
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
// colour and look, its shape, its size in the tenths that the rules read, and the
// lot itself when its tests say more.
func (j *Judge) kindOf(lot book.Lot) string {
	var b strings.Builder
	length, width := lot.Length.Max.Float(), lot.Width.Min.Float()
	long, short := max(length, width), min(length, width)
	slender := 0.0
	if short > 0 {
		slender = long / short
	}
	fmt.Fprintf(&b, "%s\x00%s\x00%s\x00%s\x00%.0f\x00%.0f\x00%s\x00%s\x00%s", lot.Name(),
		lot.Facets.Treatment.Value, lot.Facets.Nature.Value, lot.Shape, math.Round(10*long), math.Round(10*slender),
		lot.Color, lot.Clarity, lot.Cut)
	id := j.ids[lot.Code]
	switch {
	case id == nil:
		b.WriteString("\x00named")
	case id.Judged.State == identify.Verified:
		b.WriteString("\x00verified")
	case len(id.Stones) > 0:
		b.WriteString("\x00" + lot.Code)
	default: // by how the vendor's other lots turned out
		fmt.Fprintf(&b, "\x00%.6f", id.Judged.Expected/float64(max(1, id.Judged.Of)))
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
	if stones, out.Err = stonesOf(lot, j.ids[lot.Code]); out.Err != nil {
		return out
	}
	if out.Situation, out.Err = situationOf(d, p, neighboursOf(d, p)); out.Err != nil {
		return out
	}
	neighbours := out.Situation.Neighbours
	for i := range stones {
		stones[i].Neighbours = neighbours
	}
	out.Situation.Stone, out.stones = stones[0], stones
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
	return cmp.Or(decidedBy(&j.All), j.All.Setting.String())
}

// decidedBy is the reason of the finding that decided the headline.
func decidedBy(c *durability.Candidates) string {
	for _, f := range c.Verdict().Findings {
		if f.Part == durability.PartSetting && f.Level == c.Setting {
			return f.Reason
		}
	}
	return ""
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
	r, f := j.Rate(durability.LossSetting, x.All.BreakLevel)
	if f != nil {
		return num.Zero(value.Currency())
	}
	return value.Times(num.FromFloat(r.Mean/(1-r.Mean), 6, num.HalfUp), num.HalfUp)
}
