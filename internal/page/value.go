package page

import (
	"strings"
	"time"

	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// Value is a number or date that a paper states. A PDF prints it by its kind; a
// workbook writes the same number into its cell, with the formula of its figure.
type Value struct {
	Kind   Kind
	Number num.Dec
	Places int         // decimals that are printed
	On     string      // of a date: YYYY-MM-DD
	Figure formula.Key // the figure whose value it is; empty: a number of its own
}

// Kind is what a value counts. Its unit stands in the head of the column.
type Kind uint8

// The kinds.
const (
	Count Kind = iota
	Money
	Carats
	Millimetres
	Grams
	Percent
	Date
	ShortDate // in a column of dates
)

// minus is the sign of a negative number.
const minus = "\u2212"

// words are the value as it is printed.
func (v *Value) words(d Dates) string {
	switch v.Kind {
	case Date:
		return d.Words(v.On)
	case ShortDate:
		return d.Short(v.On)
	}
	whole, part, _ := strings.Cut(v.Number.Fixed(v.Places), ".")
	digits, negative := strings.CutPrefix(whole, "-")
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	if part != "" {
		digits += "." + part
	}
	if negative && strings.Trim(digits, "0.,") != "" {
		return minus + digits
	}
	return digits
}

// Dates is the order in which a date is written.
type Dates uint8

// The orders: 13 March 2026; March 13, 2026; 2026-03-13.
const (
	DayFirst Dates = iota
	MonthFirst
	YearFirst
)

// ParseDates reads the order of a date: day, month or year, which stands first.
func ParseDates(first string) Dates {
	return map[string]Dates{"day": DayFirst, "month": MonthFirst, "year": YearFirst}[first]
}

// Words are a date, YYYY-MM-DD, in this order. No line ends inside it. What is no
// date comes back as it is.
func (d Dates) Words(on string) string {
	return dated(on, [...]string{DayFirst: "2 January 2006", MonthFirst: "January 2, 2006",
		YearFirst: time.DateOnly}[d])
}

// Short is a date as Words has it, with its month cut to three letters.
func (d Dates) Short(on string) string {
	return dated(on, [...]string{DayFirst: "2 Jan 2006", MonthFirst: "Jan 2, 2006", YearFirst: time.DateOnly}[d])
}

func dated(on, layout string) string {
	t, err := time.Parse(time.DateOnly, on)
	if err != nil {
		return on
	}
	return strings.ReplaceAll(t.Format(layout), " ", "\u00a0")
}
