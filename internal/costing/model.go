package costing

import (
	"fmt"
	"slices"

	"lotpaper/internal/chance"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Model is a line with what is uncertain about it. Beliefs are shared: two
// designs that name the same belief move together in every run.
type Model struct {
	Currency num.Currency
	Designs  []ModelDesign
	Shared   num.Money // fixed cost of the line as a whole
	// Beliefs are rates by name: breakage of a kind of stone and setting, the
	// share of others in a lot, returns, sell-through, a cutter's yield.
	Beliefs map[string]chance.Beta
	// Drivers are market prices by name: a metal, a currency.
	Drivers map[string]Driver
}

// Driver is a market price that wanders: a lognormal factor of mean 1 over the
// horizon.
type Driver struct {
	Volatility float64 // per year, 0.15 is 15 %
	Months     float64 // until the price is paid
}

// ModelDesign is one design of a model. A name of a belief that is empty is
// certain: nothing breaks, comes back or stays unsold.
type ModelDesign struct {
	Name        string
	Quantity    int64
	Price       num.Money // net, one unit
	Billed      []Exposed // parts of Price that follow a driver: what is billed in another currency
	Base        num.Money // cost of one unit that is certain
	Exposed     []Exposed // cost of one unit that follows a driver
	Stones      []ModelStone
	Fixed       num.Money
	SellThrough string    // belief: share of the quantity that sells
	Salvage     num.Money // what an unsold unit brings
	Returns     string    // belief: share of the sold that comes back
	ReturnCost  num.Money // what one return costs in all
}

// Exposed is an amount that is multiplied by a driver's factor.
type Exposed struct {
	Driver string
	Amount num.Money
}

// ModelStone is the stones of one position of a unit, beyond their plain cost,
// which is in Base.
type ModelStone struct {
	Pieces   int64     // per unit
	Each     num.Money // cost of one more stone when one breaks
	Breakage string    // belief: chance that a stone breaks while it is set
	Others   string    // belief: share of the lot that is not what it is sold as
	Wrong    num.Money // what one wrong stone costs in all
	Yield    string    // belief: a cutter's weight yield
	Cut      num.Money // cost of the cutter's material per unit at the belief's mean yield; in Base
}

// OthersBelief is the belief about the share of a lot that is not what it is
// sold as, when bad of tested stones, drawn at random, were not: the one whose
// quantiles are the exact upper bounds (Clopper and Pearson, 1934), so that the
// simulation carries the same doubt as the lot's state. ok is false when
// nothing was tested, or all of it was bad.
func OthersBelief(bad, tested int) (b chance.Beta, ok bool) {
	if bad < 0 || tested <= bad {
		return chance.Beta{}, false
	}
	return chance.Beta{A: float64(bad + 1), B: float64(tested - bad)}, true
}

// Check reports names that the model does not define and rates that cannot be.
func (m *Model) Check() fault.List {
	var faults fault.List
	belief := func(design, name string) {
		if b, ok := m.Beliefs[name]; name != "" && !ok {
			faults.Add(fault.New(fault.Invalid, "belief-missing", "the rate \""+name+"\" of "+design+" is not known",
				"give an estimate or a record for it").AtRef(design))
		} else if ok && !(b.A > 0 && b.B > 0) {
			faults.Add(fault.New(fault.Invalid, "belief-range", fmt.Sprintf("the rate %q is no share: %g of %g", name,
				b.A, b.A+b.B), "give a rate above 0 and below 100 %").AtRef(name))
		}
	}
	for _, d := range m.Designs {
		if d.Quantity < 0 {
			faults.Add(fault.New(fault.Invalid, "design-negative", "the quantity of "+d.Name+" must not be negative",
				"enter a positive number").AtRef(d.Name))
		}
		belief(d.Name, d.SellThrough)
		belief(d.Name, d.Returns)
		for _, e := range slices.Concat(d.Exposed, d.Billed) {
			if _, ok := m.Drivers[e.Driver]; !ok {
				faults.Add(fault.New(fault.Invalid, "driver-missing", "no volatility is known for \""+e.Driver+"\"",
					"give its volatility per year (0 for a fixed price)").AtRef(d.Name))
			}
		}
		for _, s := range d.Stones {
			belief(d.Name, s.Breakage)
			belief(d.Name, s.Others)
			belief(d.Name, s.Yield)
		}
	}
	names := make([]string, 0, len(m.Drivers))
	for name := range m.Drivers {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if d := m.Drivers[name]; !(d.Volatility >= 0 && d.Volatility <= 3 && d.Months >= 0 && d.Months <= 120) {
			faults.Add(fault.New(fault.Invalid, "volatility-range",
				fmt.Sprintf("a volatility must lie between 0 and 3 a year over 0 to 120 months, but %s has %g over %g",
					name, d.Volatility, d.Months), "write 15 % as 0.15").AtRef(name))
		}
	}
	return faults
}
