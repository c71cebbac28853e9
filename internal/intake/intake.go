// Package intake turns tables that people fill in into the nouns of the book:
// parcels, stones, readings, designs, rates, prices, counts. It finds every
// fault of a file, each with its row, column and mend, and does no I/O of its
// own: a table comes as a sheet.File, and nothing is written.
package intake

import (
	"fmt"
	"strconv"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// cells reads one row's cells into typed values and collects their faults. A
// cell that is empty, or that has a fault already, gives the zero value.
type cells struct {
	sheet.Row
	faults *fault.List
}

func (c cells) add(column string, f *fault.Fault) {
	if f != nil {
		c.faults.Add(f.At(c.Where(column)))
	}
}

func (c cells) faultf(column, code, mend, format string, args ...any) {
	c.add(column, fault.New(fault.Invalid, code, fmt.Sprintf(format, args...), mend))
}

func (c cells) warnf(column, code, mend, format string, args ...any) {
	c.add(column, fault.New(fault.Invalid, code, fmt.Sprintf(format, args...), mend).AsWarning())
}

// filled reports whether the cell has a sound text.
func (c cells) filled(column string) bool { return c.Text(column) != "" && !c.IsBad(column) }

// text is the cell's text, empty when it is faulty.
func (c cells) text(column string) string {
	if c.IsBad(column) {
		return ""
	}
	return c.Text(column)
}

// need adds a fault when the cell is empty. A missing column was already told.
func (c cells) need(column, mend string) bool {
	if c.filled(column) {
		return true
	}
	if !c.IsBad(column) && c.Has(column) {
		c.faultf(column, "cell-missing", mend, "%s is missing", column)
	}
	return false
}

// read parses a filled cell; a fault is placed and gives the zero value.
func read[T any](c cells, column string, parse func(string) (T, *fault.Fault)) T {
	var zero T
	if !c.filled(column) {
		return zero
	}
	v, f := parse(c.Text(column))
	if f != nil {
		c.add(column, f)
		return zero
	}
	return v
}

// word reads one of the words, in any case; empty gives otherwise.
func (c cells) word(column, otherwise string, words []string) string {
	if !c.filled(column) {
		return otherwise
	}
	w := strings.ToLower(c.Text(column))
	for _, known := range words {
		if w == known || foldWord(w) == foldWord(known) {
			return known
		}
	}
	mend := "write one of: " + strings.Join(words, ", ")
	if hint := fault.DidYouMean(w, words); hint != "" {
		mend = hint + " Else " + mend
	}
	c.faultf(column, "word-unknown", mend, "%s must be one of %s, but is %q", column, strings.Join(words, ", "),
		c.Text(column))
	return otherwise
}

// foldWord takes "Per carat", "per-carat" and "per_carat" for one word.
func foldWord(w string) string { return strings.NewReplacer(" ", "_", "-", "_").Replace(w) }

// words reads a ";" list of words.
func (c cells) words(column string, words []string) []string {
	var out []string
	for part := range strings.SplitSeq(c.text(column), ";") {
		w := strings.ToLower(strings.TrimSpace(part))
		if w == "" {
			continue
		}
		found := false
		for _, known := range words {
			found = found || w == known
		}
		if !found {
			mend := "write a ; list of: " + strings.Join(words, ", ")
			if hint := fault.DidYouMean(w, words); hint != "" {
				mend = hint + " Else " + mend
			}
			c.faultf(column, "word-unknown", mend, "%s knows no %q", column, w)
			continue
		}
		out = append(out, w)
	}
	return out
}

// yes reads yes or no; empty is no.
func (c cells) yes(column string) bool {
	switch strings.ToLower(c.text(column)) {
	case "", "no", "n", "false", "0":
		return false
	case "yes", "y", "true", "1", "x":
		return true
	}
	c.faultf(column, "yes-no", "write yes or no", "%s must be yes or no, but is %q", column, c.Text(column))
	return false
}

// count reads a whole number that is not negative.
func (c cells) count(column string) (n int64, ok bool) {
	if !c.filled(column) {
		return 0, false
	}
	d, f := num.ParseDec(c.Text(column))
	switch {
	case f != nil:
		c.add(column, f)
		return 0, false
	case d.Places() > 0:
		c.faultf(column, "count-fraction", "enter a whole number", "%s must be a whole number, but is %s", column,
			c.Text(column))
		return 0, false
	case d.Sign() < 0:
		c.faultf(column, column+"-negative", "enter it as a positive whole number",
			"%s must not be negative, but is %s", column, c.Text(column))
		return 0, false
	case d.Cmp(num.Int(1_000_000_000)) > 0:
		c.faultf(column, "count-large", "check the number", "%s is far too large: %s", column, c.Text(column))
		return 0, false
	}
	n, err := strconv.ParseInt(d.String(), 10, 64)
	return n, err == nil
}

// length reads a length in mm that is more than 0.
func (c cells) length(column string) num.Millimetre {
	m := read(c, column, num.ParseMillimetre)
	if c.filled(column) && m < 0 {
		c.faultf(column, "length-negative", "enter the length in mm as a positive number, e.g. 7.05",
			"a length must be more than 0, but is %s", c.Text(column))
		return 0
	}
	return m
}

// size reads a length column and its column of the largest; a missing one is
// the other.
func (c cells) size(least, most string) book.Size {
	s := book.Size{Min: c.length(least), Max: c.length(most)}
	switch {
	case s.Max == 0:
		s.Max = s.Min
	case s.Min == 0:
		s.Min = s.Max
	case s.Min > s.Max:
		c.faultf(most, "size-order", "exchange the two, or correct them", "%s %s is more than %s %s", least,
			s.Min, most, s.Max)
	}
	return s
}

// positive reads a decimal that is not negative.
func (c cells) positive(column string) num.Dec {
	d := read(c, column, num.ParseDec)
	if d.Sign() < 0 {
		c.faultf(column, "number-negative", "enter it as a positive number", "%s must not be negative, but is %s",
			column, c.Text(column))
		return num.Dec{}
	}
	return d
}

// money reads an amount in the book's currency that is not negative.
func (c cells) money(column string, currency num.Currency) num.Money {
	m := read(c, column, func(s string) (num.Money, *fault.Fault) { return num.ParseMoney(s, currency) })
	if m.Sign() < 0 {
		c.faultf(column, "money-negative", "enter the amount as a positive number",
			"%s must not be negative, but is %s", column, c.Text(column))
		return num.Money{}
	}
	return m
}

// seen notes a key and adds a fault when an earlier row has it already.
func (c cells) seen(rows map[string]int, column, what, key string) {
	folded := strings.ToLower(key)
	if first, ok := rows[folded]; ok {
		c.faultf(column, what+"-twice", "give each its own code, or join the rows", "%s %q stands in row %d already",
			what, key, first)
		return
	}
	rows[folded] = c.Number
}

// sheetFor chooses the sheet that a table is read from: by name, else the one
// whose header knows the most columns, else the first.
func sheetFor(f *sheet.File, columns sheet.Columns, names ...string) string {
	if s, ok := f.SheetNamed(names...); ok {
		return s
	}
	best, most := "", 0
	for i, s := range f.Sheets() {
		if n := columns.Matches(f.Header(s, columns)); n > most || i == 0 {
			best, most = s, n
		}
	}
	return best
}
