package sheet

import (
	"math"
	"strconv"
	"strings"

	"lotpaper/internal/num"
)

// Format is how a number is shown. The unit belongs in the header.
type Format uint8

// The formats. Places0 to Places6 show that many decimals with grouping.
const (
	General Format = iota
	Places0
	Places1
	Places2
	Places3
	Places4
	Places5
	Places6
	Whole    // no grouping: years, numbers of things
	Day      // 2026-03-31
	UnitCost // two to six decimals
	AsText   // for columns to fill in: what is typed stays text
)

var formatCodes = [...]string{
	General: "", Places0: "#,##0", Places1: "#,##0.0", Places2: "#,##0.00", Places3: "#,##0.000", Places4: "#,##0.0000",
	Places5: "#,##0.00000", Places6: "#,##0.000000", Whole: "0", Day: "yyyy-mm-dd", UnitCost: "#,##0.00####",
	AsText: "@",
}

// Style is the look of a cell. There are few, and they print well in grey.
type Style uint8

// The looks.
const (
	Plain   Style = iota
	Title         // large and bold, once per sheet
	Heading       // a section of a form: bold with a line below
	Header        // of a table: bold on light grey with a line below
	Label         // left part of a form line: grey
	Note          // small and italic
	Strong        // bold
	Total         // bold with a line above
	Input         // to be filled in: boxed on pale yellow, open when the sheet is protected
	Alert         // bold, boxed: what must not be overlooked
	Boxed         // thin lines around
)

type valueKind uint8

const (
	blank valueKind = iota
	textValue
	numberValue
)

// Cell is one cell to be written. Build it with Text, Number, Money ..., then
// change its look with As, Wrap, Span.
type Cell struct {
	text    string
	formula string
	number  float64
	kind    valueKind
	format  Format
	style   Style
	wrap    bool
	right   bool
	span    uint16 // further columns merged into it
}

// Empty is a cell without a value.
func Empty() Cell { return Cell{} }

// Text is a text cell, whatever it looks like: "=1+1" stays text.
func Text(s string) Cell {
	if s == "" {
		return Cell{}
	}
	return Cell{kind: textValue, text: s}
}

// Paragraph is a text cell that wraps.
func Paragraph(s string) Cell { return Text(s).Wrap() }

// Int is a whole number, such as pieces.
func Int(n int64) Cell { return Cell{kind: numberValue, number: float64(n), format: Places0} }

// Number is d shown with places decimals (0 to 6).
func Number(d num.Dec, places int) Cell {
	return Cell{kind: numberValue, number: d.Float(), format: PlacesFormat(places)}
}

// Float is a measured or statistical value shown with places decimals.
func Float(v float64, places int) Cell {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Cell{}
	}
	return Cell{kind: numberValue, number: v, format: PlacesFormat(places)}
}

// PlacesFormat is the format with places decimals, 0 to 6.
func PlacesFormat(places int) Format { return Places0 + Format(min(max(places, 0), 6)) }

// Carats is a scale reading in carats, three decimals.
func Carats(c num.Carat) Cell { return Float(c.Float(), 3) }

// Millimetres is a length in mm; zero, which is unknown, stays empty.
func Millimetres(m num.Millimetre) Cell {
	if m == 0 {
		return Cell{}
	}
	return Float(m.Float(), 2)
}

// Money is an amount shown in its currency's minor unit; the currency belongs
// in the header.
func Money(m num.Money) Cell { return Float(m.Float(), m.Currency().Digits()) }

// Percent is 12.5 for 12.5 %: the sign belongs in the header.
func Percent(p num.Percent, places int) Cell { return Number(p.Dec, places) }

// Date is a YYYY-MM-DD date; any other text stays text.
func Date(day string) Cell {
	n, ok := dateSerial(day)
	if !ok {
		return Text(day)
	}
	return Cell{kind: numberValue, number: float64(n), format: Day}
}

// Formula is a live formula (without the equals sign) that carries the value
// that we computed: value must be what a spreadsheet program would compute.
func Formula(formula string, value Cell) Cell {
	value.formula = formula
	return value
}

// As changes the look.
func (c Cell) As(s Style) Cell { c.style = s; return c }

// Show changes the number format.
func (c Cell) Show(f Format) Cell { c.format = f; return c }

// Wrap breaks long text into lines; the row is made high enough.
func (c Cell) Wrap() Cell { c.wrap = true; return c }

// Right aligns text to the right, as the header of a number column is.
func (c Cell) Right() Cell { c.right = true; return c }

// Span merges the cell with the n-1 cells to its right, so that it covers n
// columns. The caller leaves those cells out of the row's data as Empty.
func (c Cell) Span(n int) Cell { c.span = uint16(max(n-1, 0)); return c }

// IsBlank reports whether the cell has no value.
func (c Cell) IsBlank() bool { return c.kind == blank && c.formula == "" }

// String is the cell as a person reads it, for widths and for text output.
func (c Cell) String() string {
	switch {
	case c.kind == textValue:
		return c.text
	case c.kind == blank:
		return ""
	case c.format == Day:
		day, _ := serialDate(strconv.FormatFloat(c.number, 'f', -1, 64), false)
		return day
	}
	return group(c.digits())
}

// Plain is the cell as other programs read it, in CSV or on a screen: its
// decimals, without grouping.
func (c Cell) Plain() string {
	if c.kind == numberValue {
		return c.digits()
	}
	return c.text
}

// IsRight reports whether the cell stands right in its column, as numbers do.
func (c Cell) IsRight() bool { return c.right || c.kind == numberValue && c.format != Day }

// digits prints the number with its decimals and without grouping.
func (c Cell) digits() string {
	switch {
	case c.format == Day:
		return c.String()
	case c.format >= Places0 && c.format <= Places6:
		return fixedDigits(c.number, int(c.format-Places0))
	case c.format == Whole:
		return fixedDigits(c.number, 0)
	case c.format == UnitCost:
		s := strings.TrimRight(fixedDigits(c.number, 6), "0")
		for i := strings.IndexByte(s, '.'); len(s)-i-1 < 2; {
			s += "0"
		}
		return s
	}
	return digits15(c.number)
}

// fixedDigits rounds the shortest decimal form half up, as spreadsheet
// programs do when they show it: 1.005 is 1.01, not the 1.00 of its binary form.
func fixedDigits(v float64, places int) string {
	return num.FromFloat(v, places, num.HalfUp).Fixed(places)
}

func group(s string) string {
	whole, rest, dot := strings.Cut(s, ".")
	neg := strings.HasPrefix(whole, "-")
	whole = strings.TrimPrefix(whole, "-")
	var b strings.Builder
	for i, d := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(d)
	}
	out := b.String()
	if neg {
		out = "-" + out
	}
	if dot {
		out += "." + rest
	}
	return out
}
