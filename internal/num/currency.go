package num

import (
	"strconv"
	"strings"
	"sync"

	"lotpaper/data"
	"lotpaper/internal/csvtable"
	"lotpaper/internal/fault"
)

// Currency is an ISO 4217 code, such as "EUR". Withdrawn codes stay readable.
type Currency string

// currencies reads data/currencies.csv: code -> number of minor-unit digits.
// Codes without a minor unit (metals, testing) are left out.
var currencies = sync.OnceValue(func() map[Currency]int {
	rows, err := csvtable.Read(data.FS, "currencies.csv")
	if err != nil {
		panic("data/" + err.Error()) // embedded: a build fault
	}
	m := make(map[Currency]int, len(rows))
	for _, r := range rows {
		if n, err := strconv.Atoi(r["minor_unit"]); err == nil {
			m[Currency(r["code"])] = n
		}
	}
	return m
})

// ParseCurrency reads an ISO 4217 code in any case.
func ParseCurrency(s string) (Currency, *fault.Fault) {
	c := Currency(strings.ToUpper(strings.TrimSpace(s)))
	if c == "" {
		return "", fault.New(fault.Invalid, "currency-missing", "a currency is missing",
			"name the ISO 4217 code, e.g. EUR")
	}
	if _, ok := currencies()[c]; !ok {
		return "", fault.New(fault.Invalid, "currency-unknown", quote(s)+" is no ISO 4217 currency code with a minor "+
			"unit", "write a code such as EUR, USD or JPY")
	}
	return c, nil
}

// Digits is the number of decimals of the minor unit: EUR 2, JPY 0, KWD 3.
// An unknown code has 2.
func (c Currency) Digits() int {
	if n, ok := currencies()[c]; ok {
		return n
	}
	return 2
}
