package durability

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"sync"

	"lotpaper/data"
	"lotpaper/internal/chance"
	"lotpaper/internal/csvtable"
	"lotpaper/internal/fault"
)

// LossKind is a moment at which stones are lost.
type LossKind string

// The kinds of loss: breaking while being set, and coming back damaged within
// the first year of wear.
const (
	LossSetting LossKind = "setting"
	LossReturn  LossKind = "return"
)

var lossKinds = [...]LossKind{LossSetting, LossReturn}

// lossOf is the kind of loss that a rule of the setting part speaks of: what
// presses on the stone breaks it on the bench, what wears on it brings it back.
// Findings of the other parts can be avoided by following the work order.
func lossOf(r rule) LossKind {
	if r.part != PartSetting {
		return ""
	}
	for _, c := range r.when {
		if c.of == force || c.of == sidePressure {
			return LossSetting
		}
	}
	return LossReturn
}

// Record is what the dealer's own book has seen at one level: n stones set (or
// sold), of which Lost broke (or came back).
type Record struct{ N, Lost int }

// Rate is a chance of loss: a belief, and what it rests on.
type Rate struct {
	Kind   LossKind    `json:"kind"`
	Level  Level       `json:"level"`
	Belief chance.Beta `json:"-"`
	Mean   float64     `json:"mean"`
	Low    float64     `json:"low"`  // 90 % interval
	High   float64     `json:"high"` //
	Words  string      `json:"words"`
	Source string      `json:"source"`
}

// Said is the rate with its interval and what it rests on, in words.
func (r Rate) Said() string {
	return fmt.Sprintf("%.1f %% (90 %% interval %.1f to %.1f), %s", 100*r.Mean, 100*r.Low, 100*r.High, r.Words)
}

// Prior is one row of data/loss_rates.csv: a rate that is believed as much as
// if Stones stones had been watched.
type Prior struct {
	Kind   LossKind
	Level  Level
	Mean   float64
	Stones float64
	Source string
}

// Priors are the loss rates before anything is known of the dealer's own work.
// The table is the default of an editable setting.
func Priors() []Prior { return slices.Clone(priors()) }

var priors = sync.OnceValue(func() []Prior {
	out, err := readPriors()
	if err != nil {
		panic("durability: " + err.Error())
	}
	return out
})

func readPriors() ([]Prior, error) {
	const file = "loss_rates.csv"
	rows, err := csvtable.Read(data.FS, file)
	if err != nil {
		return nil, err
	}
	var out []Prior
	for i, row := range rows {
		level, known := LevelNamed(row["level"])
		mean, err1 := strconv.ParseFloat(row["rate_percent"], 64)
		stones, err2 := strconv.ParseFloat(row["stones"], 64)
		p := Prior{LossKind(row["kind"]), level, mean / 100, stones, row["source"]}
		if !known || err1 != nil || err2 != nil || !slices.Contains(lossKinds[:], p.Kind) || p.Source == "" {
			return nil, fmt.Errorf("%s: row %d cannot be read", file, i+csvtable.FirstLine)
		}
		if f := p.Check(); f != nil {
			return nil, fmt.Errorf("%s: row %d: %w", file, i+csvtable.FirstLine, f)
		}
		out = append(out, p)
	}
	return out, nil
}

// Check returns the fault of a prior that cannot be a belief.
func (p Prior) Check() *fault.Fault {
	if !(p.Mean > 0 && p.Mean < 1) {
		return fault.New(fault.Invalid, "loss-rate", fmt.Sprintf("a loss rate must lie between 0 and 100 %%, but is "+
			"%g %%",
			p.Mean*100), "give a rate above 0 and below 100, e.g. 0.5")
	}
	if !(p.Stones > 0) || math.IsInf(p.Stones, 1) {
		return fault.New(fault.Invalid, "loss-weight",
			fmt.Sprintf("the weight of an estimate must be a number of stones "+
				"above 0, but is %g", p.Stones), "give the weight of the estimate in stones, e.g. 50")
	}
	return nil
}

// RateOf updates the prior of a kind and level by the book's own record. The
// words always say what is estimate and what is record.
func RateOf(list []Prior, kind LossKind, level Level, own Record) (Rate, *fault.Fault) {
	at := slices.IndexFunc(list, func(p Prior) bool { return p.Kind == kind && p.Level == level })
	if at < 0 {
		return Rate{}, fault.New(fault.NotFound, "loss-prior", fmt.Sprintf("no loss rate for %s at level %s", kind,
			level), "add the row to the loss rates")
	}
	p := list[at]
	if f := p.Check(); f != nil {
		return Rate{}, f
	}
	if own.N < 0 || own.Lost < 0 || own.Lost > own.N {
		return Rate{}, fault.New(fault.Invalid, "loss-record", fmt.Sprintf("%d of %d stones lost cannot be", own.Lost,
			own.N), "check the entries of the setter and the returns")
	}
	b := chance.BetaOf(p.Mean, p.Stones).Update(float64(own.Lost), float64(own.N))
	r := Rate{Kind: kind, Level: level, Belief: b, Mean: b.Mean(), Source: p.Source}
	r.Low, r.High = b.Interval(0.9)
	switch {
	case own.N == 0:
		r.Words = fmt.Sprintf("estimate (%g %%), no record yet", p.Mean*100)
	case float64(own.N) < p.Stones:
		r.Words = fmt.Sprintf("estimate (%g %%) with a record of %d: %d lost", p.Mean*100, own.N, own.Lost)
	default:
		r.Words = fmt.Sprintf("record of %d: %d lost; started from an estimate (%g %%)", own.N, own.Lost, p.Mean*100)
	}
	return r, nil
}

// Enough is the smallest number of spare stones with which `needed` stones are
// set whole with at least the given chance, when each stone breaks with the
// believed rate: P(at most s of needed+s break) >= sure, the rate itself being
// uncertain (beta-binomial). It also returns that chance. More spares than
// stones needed tenfold are never asked for: ok is false then.
func Enough(rate chance.Beta, needed int, sure float64) (spares int, p float64, ok bool) {
	if needed < 0 || !(sure > 0 && sure < 1) || !(rate.A > 0 && rate.B > 0) {
		return 0, 0, false
	}
	if needed == 0 {
		return 0, 1, true
	}
	for s := 0; s <= 10*needed+10; s++ {
		// The last stone set is whole and s broke before it: summed term by
		// term, the chance that exactly s break before `needed` are whole.
		p += math.Exp(lgamma(float64(needed+s)) - lgamma(float64(needed)) - lgamma(float64(s+1)) +
			lbeta(rate.A+float64(s), rate.B+float64(needed)) - lbeta(rate.A, rate.B))
		if p >= sure-1e-12 { // a chance that is met exactly counts as met
			return s, min(p, 1), true
		}
	}
	return 0, p, false
}

func lgamma(x float64) float64   { v, _ := math.Lgamma(x); return v }
func lbeta(a, b float64) float64 { return lgamma(a) + lgamma(b) - lgamma(a+b) }
