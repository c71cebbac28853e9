package intake

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Words of the readings table.
var (
	Tests = []string{"ri", "ri-spot", "birefringence", "optic", "sg", "hydrostatic", "liquid", "lw", "sw",
		"pleochroism",
		"filter", "spectrum", "thermal", "electrical", "magnification", "look", "color"}
	Optics = []string{"isotropic", "anomalous", "aggregate", "doubly", "uniaxial", "uniaxial+", "uniaxial-",
		"biaxial", "biaxial+", "biaxial-"}
	Strengths = []string{"none", "inert", "weak", "moderate", "strong"}
	drawn     = []string{"random", "picked"}
	liquids   = []string{"sinks", "floats", "suspends"}
)

// ReadingColumns are the columns of bench readings.
var ReadingColumns = sheet.Columns{
	{Name: "lot", Required: true, Aliases: []string{"lot_no", "lot code"}, Note: "The lot's code in the book.",
		Example: "P12-3"},
	{Name: "stone", Aliases: []string{"tag"}, Note: "The stone's tag inside its lot; empty for a lot of one stone.",
		Example: "3"},
	{Name: "drawn", Words: drawn, Note: "How the stone was taken from the lot: random (blind) or picked (default). " +
		"Only random stones speak for the rest.", Example: "random"},
	{Name: "test", Required: true, Words: Tests, Note: "ri (low and high edge), ri-spot, birefringence, sg, " +
		"hydrostatic (two weights), liquid (low: its specific gravity; result: sinks, floats, suspends), optic (low: " +
		"in how many directions the stone was tried; empty: in all), lw, sw, pleochroism, filter, spectrum, thermal, " +
		"electrical, magnification, look, color.", Example: "ri"},
	{Name: "low", Aliases: []string{"value"}, Note: "The reading, or its lower edge. An edge beyond the scale: >1.79.",
		Example: "1.619"},
	{Name: "high", Note: "The upper edge.", Example: "1.627"},
	{Name: "plus_minus", Aliases: []string{"u", "uncertainty"}, Kind: sheet.NumberColumn,
		Note: "Standard uncertainty, when it is not the book's.", Example: "0.001"},
	{Name: "result", Note: "What was seen. optic: isotropic, anomalous, aggregate, doubly, uniaxial, uniaxial+, ... " +
		"; spectrum: lines in nm, ; between them; birefringence: maximum when turned until it was greatest; ri: " +
		"turned 45 for the angle; look: transparent, translucent or opaque, faceted, cabochon, bead or carved, " +
		"lustre and phenomena, ; between them.", Example: "biaxial+"},
	{Name: "strength", Words: Strengths, Note: "Of fluorescence or pleochroism.", Example: "weak"},
	{Name: "color", Aliases: []string{"colour"}, Note: "The colour seen.", Example: "orange"},
	{Name: "weight_air_ct", Aliases: []string{"air"}, Kind: sheet.NumberColumn, Note: "Weight in air, for hydrostatic.",
		Example: "4.02"},
	{Name: "weight_water_ct", Aliases: []string{"water"}, Kind: sheet.NumberColumn, Note: "Weight in water.",
		Example: "3.02"},
	{Name: "water_c", Aliases: []string{"water_temp"}, Kind: sheet.NumberColumn,
		Note: "Temperature of the water in degrees Celsius. Empty: no correction.", Example: "21"},
	{Name: "balance_ct", Aliases: []string{"resolution", "balance"}, Kind: sheet.NumberColumn,
		Note: "Smallest step of the balance in carats.", Example: "0.01"},
	{Name: "observer", Aliases: []string{"by"}, Note: "Who read it.", Example: "MK"},
	{Name: "date", Aliases: []string{"on", "day"}, Kind: sheet.DateColumn, Note: "YYYY-MM-DD. Empty: the day of the " +
		"import.", Example: "2026-03-31"},
	{Name: "note", Aliases: []string{"notes", "remark"}, Note: "Anything else.", Example: "table facet"},
}

// Reading is one reading with the place of its lot.
type Reading struct {
	book.Reading
	Where fault.Where
}

// ReadReadings reads bench readings; on is the date of rows without one. That
// the lots exist is for the book to check: the rows come with their faults, so
// that all of them can be told at once.
func ReadReadings(f *sheet.File, on book.Date) ([]Reading, fault.List) {
	var out []Reading
	table := sheet.Table{Sheet: sheetFor(f, ReadingColumns, "readings"), Kind: "readings", Columns: ReadingColumns}
	faults := f.Read(table, func(row sheet.Row, l *fault.List) {
		out = append(out, Reading{reading(cells{row, l}, on), row.Where("lot")})
	})
	return out, faults
}

func reading(c cells, on book.Date) book.Reading {
	r := book.Reading{
		Stone: c.text("stone"), Drawn: c.word("drawn", "picked", drawn),
		Low: c.text("low"), High: c.text("high"), Result: c.text("result"), Color: c.text("color"),
		Strength: c.word("strength", "", Strengths), Observer: c.text("observer"), On: on, Note: c.text("note"),
	}
	if c.need("lot", "name the lot") {
		r.Lot = c.Text("lot")
	}
	if c.filled("date") {
		r.On = read(c, "date", book.ParseDate)
	}
	if c.need("test", "name the test: "+strings.Join(Tests, ", ")) {
		r.Test = c.word("test", "", Tests)
	}
	r.PlusMinus = c.measure("plus_minus", 0, 10)
	r.WaterC = c.measure("water_c", 0, 60)
	r.Resolution = c.measure("balance_ct", 0, 5)
	r.Air, r.Water = read(c, "weight_air_ct", num.ParseCarat), read(c, "weight_water_ct", num.ParseCarat)
	c.checkTest(&r)
	return r
}

// measure reads a number from low to high and keeps its digits.
func (c cells) measure(column string, low, high int64) string {
	d := read(c, column, num.ParseDec)
	if !c.filled(column) {
		return ""
	}
	if d.Cmp(num.Int(low)) < 0 || d.Cmp(num.Int(high)) > 0 {
		c.faultf(column, "reading-range", "check the decimal point and the column",
			"%s must lie between %d and %d, but is %s", column, low, high, c.Text(column))
		return ""
	}
	return c.Text(column)
}

// bounds of readings that an instrument can give: anything else is a slip.
var bounds = map[string][2]string{
	"ri": {"1", "3.5"}, "ri-spot": {"1", "3.5"}, "birefringence": {"0", "0.5"}, "sg": {"0.5", "25"},
	"liquid": {"0.5", "8"},
}

// checkTest holds the row against what its test needs.
func (c cells) checkTest(r *book.Reading) {
	if b, ok := bounds[r.Test]; ok {
		for _, column := range []string{"low", "high"} {
			c.edge(column, num.MustDec(b[0]), num.MustDec(b[1]), r.Test == "ri" || r.Test == "ri-spot")
		}
		if r.Low == "" && r.High == "" {
			c.need("low", "enter the reading")
		} else if r.Low == "" {
			r.Low, r.High = r.High, ""
		}
		if low, bad := num.ParseDec(r.Low); bad == nil && r.High != "" {
			if high, bad := num.ParseDec(r.High); bad == nil && low.Cmp(high) > 0 {
				c.faultf("high", "reading-order", "exchange the two", "low %s is more than high %s", r.Low, r.High)
			}
		}
	}
	switch r.Test {
	case "optic":
		c.need("result", "write one of: "+strings.Join(Optics, ", "))
		r.Result = c.word("result", "", Optics)
		c.edge("low", num.Int(1), num.Int(20), false)
	case "liquid":
		c.need("result", "write sinks, floats or suspends")
		r.Result = c.word("result", "", liquids)
	case "hydrostatic":
		air := c.need("weight_air_ct", "enter the weight in air in carats")
		water := c.need("weight_water_ct", "enter the weight in water in carats")
		if air && water && (r.Air <= 0 || r.Water < 0 || r.Water >= r.Air) {
			c.faultf("weight_water_ct", "weighing-order", "check both weights; a stone that floats needs a sinker, "+
				"and cannot be entered so",
				"the weight in water must lie between 0 and the weight in air, but is %s of %s", r.Water, r.Air)
		}
	case "lw", "sw", "pleochroism":
		if r.Strength == "" && r.Color == "" && r.Result == "" {
			c.need("strength", "write one of: "+strings.Join(Strengths, ", "))
		}
	case "filter", "color":
		if r.Color == "" && r.Result == "" {
			c.need("color", "write the colour seen")
		}
	case "spectrum":
		c.need("result", "write the lines in nm, with ; between them")
		for _, part := range r.Results() {
			d, bad := num.ParseDec(part)
			if bad != nil || d.Cmp(num.Int(300)) < 0 || d.Cmp(num.Int(1100)) > 0 {
				c.faultf("result", "reading-range", "write the lines in nm with ; between them, e.g. 430;460",
					"a line must lie between 300 and 1100 nm, but is %q", part)
			}
		}
	case "thermal", "electrical", "magnification", "look":
		c.need("result", "write what was seen")
	}
}

// edge checks a number, or ">number" where the scale ends.
func (c cells) edge(column string, low, high num.Dec, over bool) {
	if !c.filled(column) {
		return
	}
	text := c.Text(column)
	if over {
		text = strings.TrimPrefix(text, ">")
	}
	d, bad := num.ParseDec(text)
	switch {
	case bad != nil:
		c.add(column, bad)
	case d.Cmp(low) < 0 || d.Cmp(high) > 0:
		c.faultf(column, "reading-range", "check the decimal point and the test",
			"%s must lie between %s and %s, but is %s", column, low, high, c.Text(column))
	}
}
