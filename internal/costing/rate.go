// Package costing says what a piece costs, what it must sell for, what a line
// earns and what it may pay for its stones. Costs are exact at the minor unit
// of the currency and kept as trees that a person can read from the top down;
// what is uncertain is simulated with seeded streams. It is pure: rates,
// stones and plans come from its callers.
package costing

import (
	"fmt"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// The kinds of rates that a piece cost asks for, as written in the rates sheet.
const (
	RateMetal     = "metal"     // name: gold, silver ...; unit CUR/g fine or CUR/ozt
	RatePremium   = "premium"   // name: the metal; % on the fine price that the refiner adds
	RateLoss      = "loss"      // name: the metal; % net loss after refining
	RateSprue     = "sprue"     // name: the metal; % that the cast weight exceeds the finished one
	RateRefining  = "refining"  // name: the metal; % of the scrap's value that refining it back costs
	RateCasting   = "casting"   // name: the metal; CUR/g of cast weight
	RateLabour    = "labour"    // name: bench; CUR/h
	RateSetting   = "setting"   // name: the setting, or the setting and a size class; CUR/stone
	RateFinishing = "finishing" // name: the piece or unit; CUR/unit, as are the next three
	RatePlating   = "plating"
	RateMarking   = "marking"
	RatePacking   = "packing"
	RateOverhead  = "overhead" // name: conversion, cost or hour
	RateFX        = "fx"       // name: the foreign currency
	RateTax       = "tax"      // name: the tax; %
)

// RateCard is the rates of a book on one day. Of two rates of one name the
// later one that is not after On counts.
type RateCard struct {
	Currency num.Currency
	On       book.Date
	Rates    []book.Rate
}

// With returns the card with r in front of every other rate of its name.
func (c RateCard) With(r book.Rate) RateCard {
	r.On = c.On
	rates := []book.Rate{r}
	for _, o := range c.Rates {
		if o.Kind != r.Kind || o.Name != r.Name {
			rates = append(rates, o)
		}
	}
	c.Rates = rates
	return c
}

// Find returns the rate of that kind and name that holds on the card's day.
func (c RateCard) Find(kind, name string) (book.Rate, bool) {
	var best book.Rate
	found := false
	for _, r := range c.Rates {
		if r.Kind == kind && r.Name == name && (c.On == "" || r.On <= c.On) && (!found || r.On > best.On) {
			best, found = r, true
		}
	}
	return best, found
}

// Need is Find over the names in turn, with a fault that names the missing rate.
func (c RateCard) Need(kind, unit string, names ...string) (book.Rate, *fault.Fault) {
	for _, n := range names {
		if r, ok := c.Find(kind, n); ok {
			return r, checkRate(r)
		}
	}
	return book.Rate{}, fault.New(fault.Invalid, "rate-missing",
		fmt.Sprintf("no rate is known on %s: kind \"%s\", name \"%s\", in %s", c.day(), kind, names[0], unit),
		fmt.Sprintf("add a row to the rates sheet: kind %s, name %s, value, unit %s, date not after %s, source", kind,
			names[0], unit, c.day())).AtRef(kind + "/" + names[0])
}

// SettingFee is what setting one stone of a length costs: the fee of its size
// class, else of the setting.
func (c RateCard) SettingFee(setting string, length num.Millimetre) (book.Rate, *fault.Fault) {
	return c.Need(RateSetting, string(c.Currency)+"/stone", setting+" "+SizeClass(length), setting)
}

// FX returns the card's rate for a foreign currency.
func (c RateCard) FX(currency num.Currency) (rate num.Rate, known bool, f *fault.Fault) {
	r, known := c.Find(RateFX, string(currency))
	if !known {
		return rate, false, nil
	}
	rate, f = num.ParseRate(r.Value.String(), max(r.Per, 1))
	return rate, f == nil, f
}

func (c RateCard) day() string {
	if c.On == "" {
		return "any day"
	}
	return string(c.On)
}

// zeroAllowed are the kinds that may honestly be zero: nothing is added.
var zeroAllowed = map[string]bool{RatePremium: true, RateLoss: true, RateSprue: true, RateRefining: true,
	RateOverhead: true, RateTax: true}

func checkRate(r book.Rate) *fault.Fault {
	ref := r.Kind + "/" + r.Name
	switch sign := r.Value.Sign(); {
	case sign < 0:
		return fault.New(fault.Invalid, "rate-negative", "a rate must not be negative, but "+ref+" is "+
			r.Value.String(),
			"enter the rate as a positive number").AtRef(ref)
	case sign == 0 && !zeroAllowed[r.Kind]:
		return fault.New(fault.Invalid, "rate-zero", "a rate must be more than 0, but "+ref+" is 0",
			"enter the rate, or remove the row").AtRef(ref)
	case r.Unit == "%" && r.Value.Cmp(num.Int(1000)) > 0:
		return fault.New(fault.Invalid, "rate-large", "a percentage of "+r.Value.String()+" for "+ref+
			" is far too large", "enter percent, e.g. 2.25 for 2.25 %").AtRef(ref)
	case (r.Kind == RateLoss || r.Kind == RateRefining) && r.Value.Cmp(num.Int(100)) >= 0:
		return fault.New(fault.Invalid, "rate-large", "a loss is under 100 %, but "+ref+" is "+r.Value.String(),
			"enter percent, e.g. 2.25 for 2.25 %").AtRef(ref)
	}
	return nil
}

// gramsPerTroyOunce: 1 ozt = 31.1034768 g (troy weight definitions).
var gramsPerTroyOunce = num.MustDec("31.1034768")

// Names returns the kinds and names of the card's rates, sorted, each once.
func (c RateCard) Names() []string {
	seen := map[string]bool{}
	var out []string
	for _, r := range c.Rates {
		if k := r.Kind + "/" + r.Name; !seen[k] {
			seen[k] = true
			out = append(out, k)
		}
	}
	slices.Sort(out)
	return out
}
