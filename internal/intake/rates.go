package intake

import (
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// RateKind is one kind of rate that a rates sheet may hold.
type RateKind struct {
	Name    string
	Percent bool // its unit is %, and it may be zero
	Units   string
	What    string
}

// RateKinds are the kinds of rates, as costing asks for them.
var RateKinds = []RateKind{
	{"fx", false, "EUR/USD", "rate of exchange; name: the foreign currency; value: book units per 1, 100 or 1000 of " +
		"it (per)"},
	{"metal", false, "EUR/g fine, EUR/kg or EUR/ozt", "price of fine metal; name: gold, silver, platinum, palladium"},
	{"premium", true, "%", "what the refiner adds to the fine price; name: the metal"},
	{"loss", true, "%", "net loss of metal after refining; name: the metal"},
	{"sprue", true, "%", "by how much the cast weight exceeds the finished one; name: the metal, or all"},
	{"refining", true, "%", "what refining the scrap costs of its value; name: the metal, or all"},
	{"alloy", false, "EUR/g", "price of an alloy, when bought as such; name: the alloy"},
	{"casting", false, "EUR/g", "casting, by cast weight; name: the metal, or all"},
	{"labour", false, "EUR/h", "bench work by the hour; name: bench"},
	{"setting", false, "EUR/stone", "setting a stone; name: the setting, alone or with the stone's size behind it: " +
		"melee (length to 2.5 mm), small (to 5), medium (to 8), large"},
	{"finishing", false, "EUR/unit", "name: the piece, or unit"},
	{"plating", false, "EUR/unit", "name: the piece, or unit"},
	{"marking", false, "EUR/unit", "hallmarking and assay; name: the piece, or unit"},
	{"packing", false, "EUR/unit", "name: the piece, or unit"},
	{"findings", false, "EUR/unit", "posts, clasps, chains; name: the part"},
	{"overhead", true, "% or EUR/h", "name: conversion (% on labour and setting), cost (% on all), hour"},
	{"tax", true, "%", "name: the tax"},
	{"percent", true, "%", "any other percentage; name: what it is of"},
}

func rateKindNames() []string {
	var names []string
	for _, k := range RateKinds {
		names = append(names, k.Name)
	}
	return names
}

// RateColumns are the columns of a rates sheet.
var RateColumns = sheet.Columns{
	{Name: "kind", Required: true, Words: rateKindNames(), Note: "The kind of rate; see the list below.",
		Example: "metal"},
	{Name: "name", Required: true, Note: "What it is the rate of.", Example: "gold"},
	{Name: "value", Aliases: []string{"rate"}, Required: true, Kind: sheet.NumberColumn,
		Note: "The rate. Percent as 2.25 for 2.25 %.", Example: "61.20"},
	{Name: "per", Kind: sheet.NumberColumn, Note: "fx only: for 1 (default), 100 or 1000 foreign units.", Example: "1"},
	{Name: "unit", Required: true, Note: "What the value is in, with the book's currency.", Example: "EUR/g fine"},
	{Name: "date", Aliases: []string{"on", "day"}, Required: true, Kind: sheet.DateColumn,
		Note: "From when it holds, YYYY-MM-DD.", Example: "2026-03-31"},
	{Name: "source", Required: true, Note: "Where it comes from: an invoice, a price list, a fixing.",
		Example: "refiner's list of the day"},
	{Name: "note", Aliases: []string{"notes", "remark"}, Note: "Anything else."},
}

// Rate is one rate with its row.
type Rate struct {
	book.Rate
	Row int
}

// ReadRates reads dated rates; amounts are in the book's currency.
func ReadRates(f *sheet.File, currency num.Currency) ([]Rate, fault.List) {
	var out []Rate
	seen := map[string]int{}
	table := sheet.Table{Sheet: sheetFor(f, RateColumns, "rates"), Kind: "rates", Columns: RateColumns}
	faults := f.Read(table, func(row sheet.Row, l *fault.List) {
		c := cells{row, l}
		r := rate(c, currency)
		if r.Kind != "" && r.Name != "" && r.On != "" {
			c.seen(seen, "name", "rate", r.RecordKey())
		}
		out = append(out, Rate{r, row.Number})
	})
	if faults.Blocks() {
		return nil, faults
	}
	return out, faults
}

func rate(c cells, currency num.Currency) book.Rate {
	r := book.Rate{Per: 1, Unit: c.text("unit"), Note: c.text("note")}
	var kind RateKind
	if c.need("kind", "write one of: "+strings.Join(rateKindNames(), ", ")) {
		r.Kind = c.word("kind", "", rateKindNames())
	}
	for _, k := range RateKinds {
		if k.Name == r.Kind {
			kind = k
		}
	}
	if c.need("name", "name what it is the rate of") {
		r.Name = c.Text("name")
		switch r.Kind {
		case "fx":
			cur := read(c, "name", num.ParseCurrency)
			if r.Name = string(cur); cur == currency && cur != "" {
				c.faultf("name", "fx-same", "remove the row", "the book is in %s itself", currency)
			}
		default:
			r.Name = rateName(r.Kind, r.Name)
		}
		if r.Kind == "setting" {
			settingRate(c, r.Name)
		}
	}
	if c.need("value", "enter the rate") {
		r.Value = read(c, "value", func(s string) (num.Dec, *fault.Fault) {
			p, bad := num.ParsePercent(s)
			return p.Dec, bad
		})
		percentSign := strings.HasSuffix(c.Text("value"), "%")
		switch _, bad := num.ParsePercent(c.Text("value")); {
		case bad != nil:
		case percentSign && !kind.Percent && r.Kind != "":
			c.faultf("value", "rate-percent", "enter the amount, or choose a kind that is a percentage",
				"a rate of kind %s must not be a percentage, but is %s", r.Kind, c.Text("value"))
		case r.Value.Sign() < 0:
			c.faultf("value", "rate-negative", "enter the rate as a positive number",
				"a rate must not be negative, but is %s", c.Text("value"))
		case r.Value.IsZero() && !kind.Percent && r.Kind != "":
			c.faultf("value", "rate-not-positive", "enter the rate, or remove the row",
				"a rate of kind %s must be more than 0", r.Kind)
		}
	}
	if n, ok := c.count("per"); ok {
		r.Per = n
		if r.Kind != "fx" && n != 1 {
			c.faultf("per", "rate-per", "leave per empty, and give the value for one unit",
				"only a rate of exchange can be quoted per 100 or 1000")
		}
	}
	if r.Kind == "fx" && r.Value.Sign() > 0 {
		if _, bad := num.ParseRate(r.Value.String(), r.Per); bad != nil {
			column := "value"
			if bad.Code == "rate-per" {
				column = "per"
			}
			c.add(column, bad)
		}
	}
	rateUnit(c, &r, kind, currency)
	if c.need("date", "enter the date from which it holds, YYYY-MM-DD") {
		r.On = read(c, "date", book.ParseDate)
	}
	if c.need("source", "name the source: an invoice, a price list, a fixing") {
		r.Source = c.Text("source")
	}
	return r
}

// SizeClasses are the classes of stone length behind a setting's name.
var SizeClasses = []string{"melee", "small", "medium", "large"}

// settingRate refuses a setting fee under a name that no cost asks for.
func settingRate(c cells, name string) {
	for _, s := range settingNames() {
		rest, found := strings.CutPrefix(name, s)
		if !found || rest != "" && rest[0] != ' ' {
			continue
		}
		if class := strings.TrimSpace(rest); class == "" || slices.Contains(SizeClasses, class) {
			return
		}
	}
	mend := "name a setting, alone or with " + strings.Join(SizeClasses, ", ") + " behind it"
	if hint := fault.DidYouMean(name, settingNames()); hint != "" {
		mend = hint + " " + mend
	}
	c.faultf("name", "rate-setting", mend, "no cost asks for a setting fee called %q", name)
}

// rateName brings a rate's name to the words that costing asks by: a setting
// (with its size class behind it), a piece, an alloy by the facts' own name.
func rateName(kind, name string) string {
	name = strings.Join(strings.Fields(strings.ToLower(name)), " ")
	switch kind {
	case "setting":
		if s, bad := facts.SettingNamed(name); bad == nil {
			return s.Name
		}
		if i := strings.LastIndexByte(name, ' '); i > 0 {
			if s, bad := facts.SettingNamed(name[:i]); bad == nil {
				return s.Name + name[i:]
			}
		}
	case "finishing", "plating", "marking", "packing":
		if p, bad := facts.PieceNamed(name); bad == nil {
			return p.Name
		}
	case "alloy":
		if a, bad := facts.AlloyNamed(name); bad == nil {
			return a.Name
		}
	}
	return name
}

// rateUnit checks that the unit is a percentage where one is wanted, and names
// the book's currency where it is an amount.
func rateUnit(c cells, r *book.Rate, kind RateKind, currency num.Currency) {
	if !c.need("unit", "write the unit, such as "+kind.Units) || kind.Name == "" {
		return
	}
	isPercent := strings.HasPrefix(r.Unit, "%")
	switch {
	case isPercent && !kind.Percent, !isPercent && kind.Percent && kind.Name != "overhead":
		c.faultf("unit", "rate-unit", "write the unit as "+strings.ReplaceAll(kind.Units, "EUR", string(currency)),
			"a rate of kind %s must be in %s, but the unit says %q", kind.Name, strings.ReplaceAll(kind.Units, "EUR",
				string(currency)), r.Unit)
	case !isPercent:
		code, _, _ := strings.Cut(r.Unit, "/")
		if num.Currency(strings.ToUpper(strings.TrimSpace(code))) != currency {
			c.faultf("unit", "rate-unit", "enter the rate in the book's currency, and the unit as "+
				strings.ReplaceAll(kind.Units, "EUR", string(currency)), "amounts must be in %s, but the unit says %q",
				currency, r.Unit)
		}
	}
}
