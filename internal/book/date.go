// Package book holds the nouns of a dealer's record: plain structs with their
// own validation, no I/O. Each version-kept noun is a Record: it has a kind, a
// key, and a canonical JSON form that goes into the book's entries.
package book

import (
	"strings"
	"time"

	"lotpaper/internal/fault"
)

// Date is a business date, YYYY-MM-DD, without a zone. Dates compare as text.
type Date string

const dateLayout = "2006-01-02"

// ParseDate reads YYYY-MM-DD.
func ParseDate(s string) (Date, *fault.Fault) {
	t := strings.TrimSpace(s)
	d, err := time.Parse(dateLayout, t)
	if err != nil || d.Year() < 1900 || d.Year() > 2200 {
		return "", fault.New(fault.Invalid, "date-format", "a date must be written YYYY-MM-DD, but is \""+t+"\"",
			"write it like 2026-03-31")
	}
	return Date(t), nil
}

// DateOf is the date of t in its own zone.
func DateOf(t time.Time) Date { return Date(t.Format(dateLayout)) }

// Time is the date's midnight in UTC; the zero time when d is empty or no date.
func (d Date) Time() time.Time {
	t, err := time.Parse(dateLayout, string(d))
	if err != nil {
		return time.Time{}
	}
	return t
}

// Month is the date's month; empty when d is.
func (d Date) Month() Month { return Month(d[:min(len(d), len("2006-01"))]) }

// Year is the date's year; 0 when d is empty.
func (d Date) Year() int {
	if d == "" {
		return 0
	}
	return d.Time().Year()
}

// Month is a month of business dates, YYYY-MM. Months compare as text.
type Month string

// ParseMonth reads YYYY-MM.
func ParseMonth(s string) (Month, *fault.Fault) {
	t := strings.TrimSpace(s)
	if d, f := ParseDate(t + "-01"); f == nil {
		return d.Month(), nil
	}
	return "", fault.New(fault.Invalid, "month-format", "a month must be written YYYY-MM, but is \""+t+"\"",
		"write it like 2026-03")
}

// DaysSince is the number of days from an earlier date to d; negative from a later one.
func (d Date) DaysSince(earlier Date) int64 { return int64(d.Time().Sub(earlier.Time()).Hours()) / 24 }

// AddDays is the date n days later.
func (d Date) AddDays(n int64) Date { return DateOf(d.Time().AddDate(0, 0, int(n))) }
