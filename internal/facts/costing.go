package facts

import "sync"

// CostingRate is one row of data/costing_rates.csv: a default that a book's own
// dated rate replaces. Prices of metal, labour and setting have no default:
// they are the user's.
type CostingRate struct {
	Kind   string // as in a rates sheet: "loss", "sprue"
	Name   string // the metal, or "all"
	Value  string // exact decimal
	Low    string
	High   string
	Unit   string
	On     string // YYYY-MM-DD, when it came into force; empty: undated
	When   string // what it holds for
	Basis  string // "published" or "common practice"
	Source string
}

// CostingRates returns every row of data/costing_rates.csv.
func CostingRates() []*CostingRate { return costingRates() }

var costingRates = sync.OnceValue(load("costing_rates.csv", func(r row) *CostingRate {
	if v, low, high := r.number("value"), r.number("low"), r.number("high"); low > v || v > high {
		r.fail("value", "does not lie between low and high")
	}
	return &CostingRate{
		Kind: r.must("kind"), Name: r.must("name"), Value: r.must("value"), Low: r.must("low"), High: r.must("high"),
		Unit: r.must("unit"),
		On:   r.text("on"), When: r.must("when"), Basis: word(r, "basis", "published", "common practice"),
		Source: r.must("source"),
	}
}))
