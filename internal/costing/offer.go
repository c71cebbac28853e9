package costing

import (
	"fmt"
	"math"
	"slices"

	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Planned is the line as it is best made when the parcel costs a given total.
type Planned struct {
	// Model is the line without the parcel's price: its stones stand in it at
	// nothing, or at what they would bring as leftovers, never at their cost. A
	// plan that stays the same from one price to the next should keep its
	// pointer: it is then simulated once.
	Model *Model
	// Leftovers is what the stones that the plan does not use bring.
	Leftovers num.Money
	// Words names the plan behind the price; Data is the caller's own plan.
	Words string
	Data  any
}

// OfferInput asks for the most to pay for a parcel.
type OfferInput struct {
	Carats num.Carat
	Pieces int64
	Per    string // carat, piece or total: what the price is quoted by
	Terms  Terms
	Target num.Money // profit wanted
	Runs   Runs      // Within and Most are not used: every price sees the same runs
	// Plan makes the best line when the parcel costs total. It is asked again
	// at every price, because a dearer stone may not be worth setting.
	Plan func(total num.Money) (Planned, error)
	Ask  num.Money // the seller's price by Per; zero: none
	// Currency of every amount.
	Currency num.Currency
}

// Evaluation is what the line earns at one price of the parcel.
type Evaluation struct {
	Price     num.Money `json:"price"` // by Per
	Total     num.Money `json:"total"`
	Cost      num.Money `json:"cost"` // total by the terms
	Leftovers num.Money `json:"leftovers"`
	Outcome   Outcome   `json:"outcome"` // profit after the parcel
	Reached   Figure    `json:"chance_of_target"`
	Words     string    `json:"plan"`
	Data      any       `json:"-"`
}

// Limit is the highest price that meets one aim, with the next minor unit that
// misses it.
type Limit struct {
	Aim      string      `json:"aim"`
	Found    bool        `json:"found"` // false: not even as a gift, or at any price tried
	Reason   string      `json:"reason,omitempty"`
	PerCarat num.Dec     `json:"per_carat"` // of the total, 2 decimals down
	PerPiece num.Dec     `json:"per_piece"`
	Met      *Evaluation `json:"met"`
	Missed   *Evaluation `json:"missed"` // one minor unit more, with the same random numbers
}

// Offer is the answer: the limits, the ask, and the table to negotiate by.
type Offer struct {
	Per    string       `json:"per"`
	Limits []Limit      `json:"limits"` // zero expected profit; target at 50 %; target at 90 %
	Ask    *Evaluation  `json:"ask"`
	Table  []Evaluation `json:"table"` // by rising price
	Terms  string       `json:"terms"`
	Target num.Money    `json:"target"`
	Tried  int          `json:"prices_tried"`
}

// aim is a condition on an evaluation that fails as the price rises: it is met
// while spare, in units of the currency, is not negative.
type aim struct {
	words string
	spare func(*Evaluation) float64
}

func (a aim) met(v *Evaluation) bool { return a.spare(v) >= -1e-9 }

// OfferOf finds the highest price of zero expected profit, and those at which
// the target is reached with a chance of at least 50 and 90 %, on the minor
// unit of the quoted price. The search narrows a bracket whose lower end met
// the aim and whose upper end missed it until they are neighbours, so the
// answer holds even where re-planning makes the profit jump.
func OfferOf(in OfferInput) (Offer, error) {
	e := &evaluator{in: in, seen: map[int64]*Evaluation{}, simulated: map[*Model]Outcome{}}
	if err := in.check(); err != nil {
		return Offer{}, err
	}
	target := in.Target
	if target.Currency() == "" {
		target = num.Zero(in.Currency)
	}
	e.in.Target = target
	// The target is reached with a chance of q when the profit that a share q of
	// the runs reaches is at least the target.
	reached := func(q float64) func(*Evaluation) float64 {
		return func(v *Evaluation) float64 { return v.Outcome.reachedBy(q) - target.Float() }
	}
	aims := []aim{
		{"zero expected profit", func(v *Evaluation) float64 { return v.Outcome.Mean.Value }},
		{"profit of at least " + target.Words() + " with a chance of 50 %", reached(0.5)},
		{"profit of at least " + target.Words() + " with a chance of 90 %", reached(0.9)},
	}
	o := Offer{Per: in.Per, Terms: in.Terms.Words(), Target: target}
	for _, a := range aims {
		l, err := e.limit(a)
		if err != nil {
			return Offer{}, err
		}
		o.Limits = append(o.Limits, l)
	}
	if in.Ask.Sign() > 0 {
		v, err := e.at(in.Ask.Minor(num.HalfUp))
		if err != nil {
			return Offer{}, err
		}
		o.Ask = v
	}
	if err := e.table(&o); err != nil {
		return Offer{}, err
	}
	o.Tried = len(e.seen)
	return o, nil
}

func (in OfferInput) check() error {
	faults := in.Terms.Check()
	switch in.Per {
	case "carat":
		if in.Carats <= 0 {
			faults.Add(fault.New(fault.Invalid, "weight-missing", "a price per carat needs the parcel's weight",
				"give the carats of the parcel, or quote by piece or total"))
		}
	case "piece":
		if in.Pieces <= 0 {
			faults.Add(fault.New(fault.Invalid, "pieces-missing", "a price per piece needs the parcel's pieces",
				"give the pieces of the parcel, or quote by carat or total"))
		}
	case "total":
	default:
		faults.Add(fault.New(fault.Usage, "offer-per", "a parcel must be quoted by carat, piece or total, but is "+
			"quoted by \""+
			in.Per+"\"", "write carat, piece or total").AtField("per"))
	}
	return faults.Err()
}

// evaluator remembers the prices that were tried.
type evaluator struct {
	in        OfferInput
	seen      map[int64]*Evaluation
	simulated map[*Model]Outcome
}

// The keys of a parcel's quantities.
const (
	CaratsKey formula.Key = "carats"
	PiecesKey formula.Key = "pieces"
)

// TotalOf is a parcel's price, quoted by carat, by piece or in all, as an
// expression of the parcel's quantities, rounded half up to digits.
func TotalOf(price formula.Expr, per string, digits int) formula.Expr {
	switch per {
	case "carat":
		price = price.Times(formula.Of(CaratsKey, "carats"))
	case "piece":
		price = price.Times(formula.Of(PiecesKey, "pieces"))
	}
	return price.Round(digits)
}

// total is the parcel's price at n minor units by the quoted basis.
func (e *evaluator) total(n int64) num.Money {
	c := e.in.Currency
	d, _ := valueOf(TotalOf(formula.Of("price", "price"), e.in.Per, c.Digits()), c.Digits(),
		Input{Key: "price", Value: num.FromMinor(n, c).Dec()}, // every key is there
		Input{Key: CaratsKey, Value: e.in.Carats.Dec()}, Input{Key: PiecesKey, Value: num.Int(e.in.Pieces)})
	return num.MoneyFromDec(d, c, num.HalfUp)
}

func (e *evaluator) at(n int64) (*Evaluation, error) {
	if v := e.seen[n]; v != nil {
		return v, nil
	}
	total := e.total(n)
	plan, err := e.in.Plan(total)
	if err != nil {
		return nil, fmt.Errorf("plan at %s: %w", total.Words(), err)
	}
	runs := e.in.Runs
	runs.Within = num.Money{}
	out, known := e.simulated[plan.Model]
	if !known {
		var faults fault.List
		if out, faults = Simulate(plan.Model, runs); faults.Blocks() {
			return nil, faults
		}
		e.simulated[plan.Model] = out
	}
	cost := e.in.Terms.Cost(total)
	v := &Evaluation{Price: num.FromMinor(n, e.in.Currency), Total: total, Cost: cost,
		Leftovers: num.Zero(e.in.Currency).Add(plan.Leftovers), Words: plan.Words, Data: plan.Data}
	v.Outcome = out.Shift(v.Leftovers.Sub(cost))
	v.Reached = v.Outcome.ChanceOf(e.in.Target)
	e.seen[n] = v
	return v, nil
}

// mostMinor bounds the search: no parcel costs more minor units than this.
const mostMinor = 1 << 46

func (e *evaluator) limit(a aim) (Limit, error) {
	l := Limit{Aim: a.words}
	low, err := e.at(0)
	if err != nil {
		return l, err
	}
	if !a.met(low) {
		l.Reason, l.Missed = "the line misses it even if the parcel is a gift", low
		return l, nil
	}
	good, bad := e.known(a, e.guess(low))
	for {
		v, err := e.at(bad)
		if err != nil {
			return l, err
		}
		if !a.met(v) {
			break
		}
		good = bad
		if bad *= 2; bad > mostMinor || e.total(bad).Minor(num.HalfUp) > mostMinor {
			l.Reason = "no price was found that misses it: check the plan"
			return l, nil
		}
	}
	if good, bad, err = e.narrow(a, good, bad); err != nil {
		return l, err
	}
	l.Found, l.Met, l.Missed = true, e.seen[good], e.seen[bad]
	if e.in.Carats > 0 {
		l.PerCarat = l.Met.Total.Dec().Over(e.in.Carats.Dec(), 2, num.Floor)
	}
	if e.in.Pieces > 0 {
		l.PerPiece = l.Met.Total.Dec().Each(e.in.Pieces, 2, num.Floor)
	}
	return l, nil
}

// known is the tightest bracket among the prices already tried for other aims:
// the highest that met this one below the lowest that missed it, or 0 and first.
func (e *evaluator) known(a aim, first int64) (good, bad int64) {
	bad = -1
	for n, v := range e.seen {
		if !a.met(v) && (bad < 0 || n < bad) {
			bad = n
		}
	}
	if bad < 0 {
		return 0, first
	}
	for n := range e.seen { // below the first miss all met it
		if n < bad && n > good {
			good = n
		}
	}
	return good, bad
}

// narrow closes the bracket of a price that met the aim and one that missed it
// until they are neighbours. Profit is nearly a straight line in the price
// while the plan stays, so each round tries where the line crosses zero and a
// price close beside it, and the middle when that did not halve the bracket.
func (e *evaluator) narrow(a aim, good, bad int64) (int64, int64, error) {
	try := func(n int64) error {
		if n <= good || n >= bad {
			return nil
		}
		v, err := e.at(n)
		if err != nil {
			return err
		}
		if a.met(v) {
			good = n
		} else {
			bad = n
		}
		return nil
	}
	for step := int64(1); bad-good > 1; step *= 4 {
		width := bad - good
		over, under := a.spare(e.seen[good]), a.spare(e.seen[bad])
		cross := good + int64(float64(width)*over/(over-under))
		cross = min(max(cross, good+1), bad-1)
		if err := try(cross); err != nil {
			return 0, 0, err
		}
		beside := cross - step
		if good == cross {
			beside = cross + step
		}
		if err := try(beside); err != nil {
			return 0, 0, err
		}
		if bad-good > width/2 {
			if err := try(good + (bad-good)/2); err != nil {
				return 0, 0, err
			}
		}
	}
	return good, bad, nil
}

// guess is a first price above which the line should lose: what it earns for
// nothing, by the quoted basis.
func (e *evaluator) guess(free *Evaluation) int64 {
	earned := math.Max(1, free.Outcome.P90.Value)
	units := earned / math.Max(e.total(1).Float(), 1e-9)
	if e.in.Per == "carat" { // a minor unit a carat may round to nothing in all
		units = earned / (e.in.Carats.Float() * num.FromMinor(1, e.in.Currency).Float())
	}
	return int64(math.Min(math.Max(2, math.Ceil(units)), mostMinor/2))
}

// table fills the prices to negotiate by: from nothing to a tenth over the
// highest limit or the ask, the limits and the ask among them.
func (e *evaluator) table(o *Offer) error {
	top := o.topMinor()
	prices := []int64{}
	for i := range 7 {
		prices = append(prices, nice(top*int64(i)/5))
	}
	for _, l := range o.Limits {
		if l.Found {
			prices = append(prices, l.Met.Price.Minor(num.HalfUp))
		}
	}
	if o.Ask != nil {
		prices = append(prices, o.Ask.Price.Minor(num.HalfUp))
	}
	slices.Sort(prices)
	for _, p := range slices.Compact(prices) {
		v, err := e.at(p)
		if err != nil {
			return err
		}
		o.Table = append(o.Table, *v)
	}
	return nil
}

func (o *Offer) topMinor() int64 {
	top := int64(0)
	for _, l := range o.Limits {
		if l.Found {
			top = max(top, l.Met.Price.Minor(num.HalfUp))
		}
	}
	if o.Ask != nil {
		top = max(top, o.Ask.Price.Minor(num.HalfUp))
	}
	return top
}

// nice rounds a price of minor units to two digits, as people quote.
func nice(n int64) int64 {
	step := int64(1)
	for n/step >= 100 {
		step *= 10
	}
	return n / step * step
}
