// Package config is what a book is set to: the dealer's own rules of testing,
// planning, pricing and belief, each with a default. It decides nothing.
package config

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/cutting"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
)

// Config is the book's settings, typed.
type Config struct {
	Name              string         // of the dealer, printed on documents
	CaratRule         num.CaratRule  // how documents state carats
	WeighingTolerance num.Carat      // difference that a sort may post to loss/weighing
	StoneValue        string         // loose_price, replacement or book_cost: what using a stone costs a plan
	Haircut           num.Percent    // off the loose price for leftovers and write-downs
	IdentityK         float64        // coverage factor of exclusion
	IdentityPriors    bool           // weigh candidates by trade frequency
	IdentityBound     float64        // upper bound on the share of others that "verified" asks
	IdentityLevel     float64        // confidence of that bound
	TestAll           num.Dec        // cost of a stone above which a sample is not enough; 0: it always is
	LossTarget        num.Dec        // expected loss that testing a lot should bring it to; 0: none is set
	Trade             identify.Trade // what is believed of a claim before any test
	// instruments on the bench -> minutes of one test, 0: the usual; empty: the usual kit
	Kit            map[string]float64
	Balance        string             // resolution of the balance, ct
	Measure        num.Millimetre     // that two measures of one stone may differ by
	Offices        []string           // where there are several; the first is where things come
	PlanWork       int                // work limit of the planner; 0: its default
	CutterBreakage cutting.Prior      // share of the stones given to a cutter that breaks, before there is a record
	Losses         []durability.Prior // what is believed of losses before the book's own record counts
	Accounts       map[string]string  // the bookkeeper's names of accounts that are not called as usual
	FutureDates    bool               // a business date may lie after today
	House          book.House
	Pricing
	Risk
}

// Pricing is how the book makes prices.
type Pricing struct {
	PriceBy      costing.Basis   // of trade prices that the line does not set: margin on price or markup on cost
	Margin       num.Percent     // wanted margin on the trade price
	Markup       num.Percent     // wanted markup on cost
	RetailMarkup num.Percent     // of retail on the trade price; HasRetail reports whether it is set
	HasRetail    bool            //
	MemoMarkup   num.Percent     // of a piece left on memo, on the trade price; 0: no memo price
	Step, Below  num.Dec         // price ladder in units of the list's currency; step 0: none
	Up           bool            // to the next point of the ladder; else to the nearest
	Tax          num.Percent     // on retail prices and on sales
	TaxIn        bool            // prices include it
	MarginScheme bool            // sales may be taxed on what they earn
	Breaks       []costing.Break // of the trade price
	Lists        []num.Currency  // further trade price lists
	SetDiscount  num.Percent     // off the prices of pieces that are sold together
}

// Risk is what the book believes of the world outside it.
type Risk struct {
	VolatilityMetal float64     // per year, as a share
	VolatilityFX    float64     // per year, as a share
	Months          float64     // until what is planned is paid and sold
	SellThrough     num.Percent // of the planned pieces; 100: all of them, for certain
	Abroad          []Abroad    // part of the sales that is billed in other currencies
	SellTrials      float64     // pieces that this belief is worth
	SellMonths      num.Dec     // mean months from buying a parcel to the money of its line
	MoneyCost       num.Percent // interest a year
	PayDays         int64       // days until a parcel is paid
	CashDiscount    num.Percent // off a parcel's price when it is paid at once
}

// Abroad is the part of the sales that is billed in one other currency.
type Abroad struct {
	Currency num.Currency
	Percent  num.Percent
}

// Setting is one key: its default, what it does in words, and what reads and
// checks a value. A new setting is one line of bookSettings, a field of Config
// and a line in config_test.go.
type Setting struct {
	Key, fallback, Words string
	read                 reader
}

// reader reads the text of a setting into the settings, or says what is wrong
// with it.
type reader func(c *Config, value string) *fault.Fault

// All returns every setting.
func All() []Setting { return all() }

// all makes the settings once, when they are asked for: those of losses come
// from the facts, which a start of the program does not read.
var all = sync.OnceValue(func() []Setting { return slices.Concat(bookSettings, headSettings, lossSettings()) })

var bookSettings = []Setting{
	{"name", "", "the dealer's name as documents print it", dealer},
	{"carat_rule", "nine", "how documents state carats: nine or half-up", caratRule},
	{"future_dates", "no", "accept business dates after today: yes or no",
		word([]string{"yes", "no"}, func(c *Config, v string) { c.FutureDates = v == "yes" })},
	{"weighing_tolerance", "0.050", "carats that sorted weights may differ from the paper's", weighingTolerance},
	{"stone_value", "loose_price", "what using a stone costs a plan: loose_price, replacement or book_cost",
		word([]string{"loose_price", "replacement", "book_cost"}, func(c *Config, v string) { c.StoneValue = v })},
	{"haircut", "0", "percent off the loose price for leftovers",
		percent(0, 100, func(c *Config, p num.Percent) { c.Haircut = p })},
	{"identity_k", "3", "coverage factor beyond which a reading excludes",
		number(1, 6, func(c *Config, f float64) { c.IdentityK = f })},
	{"identity_priors", "yes", "weigh candidates by how often the trade meets them: yes or no",
		word([]string{"yes", "no"}, func(c *Config, v string) { c.IdentityPriors = v == "yes" })},
	{"identity_bound", "5", "percent of others that a verified lot may hold at most",
		number(0.01, 50, func(c *Config, f float64) { c.IdentityBound = f / 100 })},
	{"identity_level", "95", "confidence of that bound, percent",
		number(50, 99.9, func(c *Config, f float64) { c.IdentityLevel = f / 100 })},
	{"identity_test_all", "0", "cost of one stone, in the book's currency, above which every stone of its lot is " +
		"tested; 0: a sample is enough", amount(func(c *Config, d num.Dec) { c.TestAll = d })},
	{"identity_loss", "0", "expected loss of a lot, in the book's currency, that testing should bring it under; 0: " +
		"none is " +
		"asked for", amount(func(c *Config, d num.Dec) { c.LossTarget = d })},
	{"identity_vendors", "known",
		"how far a claim is believed before any test: known (88 % of the lots are what they " +
			"claim) or new (60 %)", word([]string{"known", "new"}, func(c *Config, v string) {
			if c.Trade = (identify.Trade{}); v == "new" {
				c.Trade = identify.NewVendor
			}
		})},
	{"kit", "", "instruments on the bench, NAME or NAME:MINUTES of one test, with ; between; empty: the usual kit",
		kit},
	{"balance", "0.01", "resolution of the balance in carats", balance},
	{"measure_tolerance", "0.05", "millimetres that two measures of one stone may differ by", measureTolerance},
	{"offices", "", "safes in several places, with ; between, e.g. LISBON; PORTO: the first is where things come; " +
		"empty: one safe", offices},
	{"plan_work", "0", "work limit of the planner; 0: its own default",
		number(0, 1e6, func(c *Config, f float64) { c.PlanWork = int(f) })},
	{"cutter_breakage", "", "percent of the stones given to a cutter that break, and the weight of that estimate " +
		"in stones (RATE:STONES); empty: only the cutter's own record counts", cutterBreakage},
	{"price_by", "margin", "what makes a trade price that the line does not set: margin (of the price) or markup (on " +
		"the cost)", word([]string{string(costing.Margin), string(costing.Markup)},
		func(c *Config, v string) { c.PriceBy = costing.Basis(v) })},
	{"margin", "50", "wanted margin on the trade price, percent of price",
		percent(0, 99.99, func(c *Config, p num.Percent) { c.Margin = p })},
	{"markup", "100", "wanted markup, percent of cost; used when price_by is markup",
		percent(0, 10000, func(c *Config, p num.Percent) { c.Markup = p })},
	{"retail_markup", "", "percent on the trade price that makes a retail price the line does not set; empty: none " +
		"is made", retailMarkup},
	{"memo_markup", "0", "percent that a piece left on memo costs more than one sold outright; 0: no memo price",
		percent(0, 1000, func(c *Config, p num.Percent) { c.MemoMarkup = p })},
	{"price_step", "0", "price ladder of prices that are worked out: multiples of this, in units of the currency; 0: " +
		"no ladder", amount(func(c *Config, d num.Dec) { c.Step = d })},
	{"price_below", "0", "how far below each step the ladder's points lie: step 5, below 0.05 gives 19.95, 24.95",
		amount(func(c *Config, d num.Dec) { c.Below = d })},
	{"price_up", "yes", "go up to the next point of the ladder (yes) or to the nearest (no)",
		word([]string{"yes", "no"}, func(c *Config, v string) { c.Up = v == "yes" })},
	{"price_breaks", "", "trade discounts by quantity, FROM:PERCENT with ; between, e.g. 10:5; 50:8", priceBreaks},
	{"price_currencies", "", "further trade price lists, with ; between, e.g. USD; JPY; each needs a dated rate of " +
		"kind fx", priceCurrencies},
	{"set_discount", "0", "percent off the prices of pieces that are sold together as a set",
		percent(0, 99.99, func(c *Config, p num.Percent) { c.SetDiscount = p })},
	{"tax", "0", "sales tax on retail prices and on sales, percent of the net price",
		percent(0, 100, func(c *Config, p num.Percent) { c.Tax = p })},
	{"tax_in", "yes", "retail prices and prices of sales include the tax (yes), or it comes on top (no)",
		word([]string{"yes", "no"}, func(c *Config, v string) { c.TaxIn = v == "yes" })},
	{"tax_margin_scheme", "no",
		"sales may be taxed on what they earn (yes or no); loose precious stones are left out " +
			"of such schemes in many places", word([]string{"yes", "no"},
			func(c *Config, v string) { c.MarginScheme = v == "yes" })},
	{"accounts", "", "the bookkeeper's accounts, KEY=ACCOUNT with ; between; keys: " + strings.Join(AccountKeys, ", "),
		accounts},
	{"volatility_metal", "15", "how far metal prices wander, percent a year (estimate: set what you believe)",
		number(0, 300, func(c *Config, f float64) { c.VolatilityMetal = f / 100 })},
	{"volatility_fx", "8", "how far exchange rates wander, percent a year (estimate: set what you believe)",
		number(0, 300, func(c *Config, f float64) { c.VolatilityFX = f / 100 })},
	{"sales_abroad", "", "percent of the sales that is billed in other currencies, CURRENCY:PERCENT with ; between, " +
		"e.g. USD:40; JPY:10", salesAbroad},
	{"horizon_months", "6", "months until what is planned is paid for and sold (estimate: set your own)",
		number(0, 120, func(c *Config, f float64) { c.Months = f })},
	{"sell_through", "100", "percent of the planned pieces that sell within the horizon; 100: every one, for certain",
		percent(0.01, 100, func(c *Config, p num.Percent) { c.SellThrough = p })},
	{"sell_trials", "20", "how many pieces the sell-through is believed on: more, and it wanders less",
		number(1, 1e6, func(c *Config, f float64) { c.SellTrials = f })},
	{"sell_months", "6", "mean months from paying a parcel to the money of its line (estimate: set your own)",
		percent(0, 120, func(c *Config, p num.Percent) { c.SellMonths = p.Dec })},
	{"money_cost", "0", "what money costs, percent a year; an offer counts it until the line is sold",
		percent(0, 100, func(c *Config, p num.Percent) { c.MoneyCost = p })},
	{"pay_days", "0", "days until a parcel is paid",
		number(0, 3650, func(c *Config, f float64) { c.PayDays = int64(f) })},
	{"cash_discount", "0", "percent off a parcel's price when it is paid at once",
		percent(0, 99.99, func(c *Config, p num.Percent) { c.CashDiscount = p })},
}

// dealer reads the dealer's name.
func dealer(c *Config, v string) *fault.Fault {
	c.Name = v
	return nil
}

// caratRule reads how documents state carats.
func caratRule(c *Config, v string) (f *fault.Fault) {
	c.CaratRule, f = num.ParseCaratRule(v)
	return f
}

// weighingTolerance reads carats that must not be negative.
func weighingTolerance(c *Config, v string) (f *fault.Fault) {
	c.WeighingTolerance, f = num.ParseCarat(v)
	if f == nil && c.WeighingTolerance < 0 {
		f = fault.New(fault.Invalid, "config-value", "the tolerance must not be negative, but is "+v,
			"give carats, e.g. 0.05")
	}
	return f
}

// measureTolerance reads millimetres that must not be negative.
func measureTolerance(c *Config, v string) (f *fault.Fault) {
	c.Measure, f = num.ParseMillimetre(v)
	if f == nil && c.Measure < 0 {
		f = fault.New(fault.Invalid, "config-value", "the tolerance must not be negative, but is "+v,
			"give millimetres, e.g. 0.05")
	}
	return f
}

// Weighing is the resolution of the balance, at least a thousandth of a carat.
func (c Config) Weighing() num.Carat {
	d, f := num.ParseDec(c.Balance)
	if f != nil {
		return 1
	}
	return max(1, num.CaratFromDec(d, num.HalfUp))
}

// balance reads a resolution and keeps it as it was written.
func balance(c *Config, v string) *fault.Fault {
	return number(0.0001, 1, func(c *Config, _ float64) { c.Balance = v })(c, v)
}

// retailMarkup reads a markup, or nothing: then no retail price is made.
func retailMarkup(c *Config, v string) *fault.Fault {
	c.HasRetail = v != ""
	if !c.HasRetail {
		return nil
	}
	return percent(0, 10000, func(c *Config, p num.Percent) { c.RetailMarkup = p })(c, v)
}

// amount reads an amount that must not be negative.
func amount(set func(*Config, num.Dec)) reader {
	return func(c *Config, v string) *fault.Fault {
		d, f := num.ParseDec(v)
		if f == nil && d.Sign() < 0 {
			f = fault.New(fault.Invalid, "config-value", "the amount must not be negative, but is "+v,
				"give an amount of at least 0")
		}
		if f == nil {
			set(c, d)
		}
		return f
	}
}

// priceBreaks reads "10:5; 50:8".
func priceBreaks(c *Config, v string) *fault.Fault {
	c.Breaks = nil
	for _, part := range fields(v) {
		from, off, found := strings.Cut(part, ":")
		n, err := strconv.ParseInt(strings.TrimSpace(from), 10, 64)
		p, bad := num.ParsePercent(off)
		if !found || err != nil || bad != nil || n < 2 || p.Sign() <= 0 || p.Cmp(num.Int(100)) >= 0 ||
			len(c.Breaks) > 0 && n <= c.Breaks[len(c.Breaks)-1].From {
			return fault.New(fault.Invalid, "config-value",
				fmt.Sprintf("a price break is a quantity and a discount, by rising quantity, but is %q", part),
				"write them like 10:5; 50:8 for 5 % from 10 and 8 % from 50 pieces")
		}
		c.Breaks = append(c.Breaks, costing.Break{From: n, Percent: p})
	}
	return nil
}

// salesAbroad reads "USD:40; JPY:10".
func salesAbroad(c *Config, v string) *fault.Fault {
	c.Abroad = nil
	total := num.Dec{}
	for _, part := range fields(v) {
		code, share, found := strings.Cut(part, ":")
		currency, bad := num.ParseCurrency(strings.TrimSpace(code))
		p, wrong := num.ParsePercent(strings.TrimSpace(share))
		total = total.Add(p.Dec)
		twice := slices.ContainsFunc(c.Abroad, func(a Abroad) bool { return a.Currency == currency })
		if !found || bad != nil || wrong != nil || twice || p.Sign() <= 0 || total.Cmp(num.Int(100)) > 0 {
			return fault.New(fault.Invalid, "config-value",
				fmt.Sprintf("sales abroad are a currency and a percent of the sales, at most 100 in all, but there "+
					"is %q", part), "write them like USD:40; JPY:10, each currency once")
		}
		c.Abroad = append(c.Abroad, Abroad{currency, p})
	}
	return nil
}

// priceCurrencies reads "USD; JPY".
func priceCurrencies(c *Config, v string) *fault.Fault {
	c.Lists = nil
	for _, code := range fields(v) {
		list, f := num.ParseCurrency(code)
		if f != nil {
			return f
		}
		c.Lists = append(c.Lists, list)
	}
	return nil
}

// offices reads the names of offices: each once, and as a place can have it.
func offices(c *Config, v string) *fault.Fault {
	c.Offices = nil
	for _, name := range fields(v) {
		if f := book.CheckName("an office", name); f != nil {
			return f
		}
		if slices.ContainsFunc(c.Offices, func(o string) bool { return strings.EqualFold(o, name) }) {
			return fault.New(fault.Invalid, "office-twice", "the office "+name+" is named twice", "name each once")
		}
		c.Offices = append(c.Offices, name)
	}
	return nil
}

// Home is where things come when nothing else is said: the safe, or that of the
// first office.
func (c Config) Home() book.Place {
	if len(c.Offices) == 0 {
		return book.Safe
	}
	return book.PlaceOf(book.AtOffice, c.Offices[0])
}

// Safes are the safes of the book: one, or one for each office.
func (c Config) Safes() []book.Place {
	if len(c.Offices) == 0 {
		return []book.Place{book.Safe}
	}
	out := make([]book.Place, len(c.Offices))
	for i, name := range c.Offices {
		out[i] = book.PlaceOf(book.AtOffice, name)
	}
	return out
}

// kit reads the instruments on the bench. A name that is not known would be an
// instrument that no advice ever asks for.
func kit(c *Config, v string) *fault.Fault {
	c.Kit = map[string]float64{}
	for _, part := range fields(v) {
		name, minutes, timed := strings.Cut(part, ":")
		name = strings.ToLower(strings.TrimSpace(name))
		if !slices.Contains(identify.Instruments, name) {
			return fault.New(fault.Invalid, "instrument-unknown", fmt.Sprintf("%q is no instrument of the bench kit",
				name), cmp.Or(fault.DidYouMean(name, identify.Instruments), "use some of "+
				strings.Join(identify.Instruments, ", ")))
		}
		c.Kit[name] = 0
		if timed {
			m, err := strconv.ParseFloat(strings.TrimSpace(minutes), 64)
			if err != nil || !(m > 0 && m <= 1000) {
				return fault.New(fault.Invalid, "minutes-unreadable",
					fmt.Sprintf("the minutes of a test must be more than 0, but are %q", strings.TrimSpace(minutes)),
					"write e.g. refractometer:2")
			}
			c.Kit[name] = m
		}
	}
	return nil
}

// word reads one of the known words.
func word(known []string, set func(*Config, string)) reader {
	return func(c *Config, v string) *fault.Fault {
		for _, k := range known {
			if v == k {
				set(c, v)
				return nil
			}
		}
		return fault.New(fault.Invalid, "config-value", fmt.Sprintf("the value must be one of %s, but is %q",
			strings.Join(known, ", "), v), "write one of these words")
	}
}

// percent reads a number from low to high.
func percent(low, high float64, set func(*Config, num.Percent)) reader {
	return func(c *Config, v string) *fault.Fault {
		p, f := num.ParsePercent(v)
		if f != nil {
			return f
		}
		if p.Float() < low || p.Float() > high {
			return fault.New(fault.Invalid, "config-value", fmt.Sprintf("the value must lie between %g and %g, but is "+
				"%s", low, high, v), "give a number in that range")
		}
		set(c, p)
		return nil
	}
}

// number reads a number from low to high, for what is only measured or believed.
func number(low, high float64, set func(*Config, float64)) reader {
	return percent(low, high, func(c *Config, p num.Percent) { set(c, p.Float()) })
}
