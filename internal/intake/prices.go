package intake

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// PriceColumns are the columns of the dealer's own price list.
var PriceColumns = sheet.Columns{
	{Name: "species", Required: true, Aliases: []string{"stone type", "material", "gem"},
		Note: "Species, group or trade name.", Example: "topaz"},
	{Name: "variety", Note: "Variety, when the price is for it alone.", Example: "imperial topaz"},
	{Name: "shape", Note: "Empty: any shape.", Example: "oval"},
	{Name: "length_min", Aliases: []string{"length_min_mm", "size_min"}, Kind: sheet.NumberColumn,
		Note: "Smallest length in mm. Empty: no limit.", Example: "8"},
	{Name: "length_max", Aliases: []string{"length_max_mm", "size_max"}, Kind: sheet.NumberColumn,
		Note: "Largest length in mm. Empty: no limit.", Example: "9.99"},
	{Name: "grade", Aliases: []string{"quality"}, Note: "Your grade word, as written in the lot's clarity or cut. " +
		"Empty: any.", Example: "eye clean"},
	{Name: "loose", Aliases: []string{"loose_price", "price", "per_carat"}, Required: true, Kind: sheet.NumberColumn,
		Note: "What such a stone would bring loose, per carat, in the book's currency.", Example: "35"},
	{Name: "replacement", Aliases: []string{"replacement_price", "cost_to_replace"}, Kind: sheet.NumberColumn,
		Note: "What it would cost to replace, per carat. Empty: not known.", Example: "48"},
	{Name: "date", Aliases: []string{"on", "day"}, Required: true, Kind: sheet.DateColumn,
		Note: "From when it holds, YYYY-MM-DD.", Example: "2026-03-31"},
	{Name: "source", Required: true, Note: "Where it comes from: own sales, a vendor's list.",
		Example: "own sales of the last year"},
}

// Price is one row of a price list with its row.
type Price struct {
	book.Price
	Row int
}

// ReadPrices reads a price list in the book's currency.
func ReadPrices(f *sheet.File, currency num.Currency) ([]Price, fault.List) {
	var out []Price
	seen := map[string]int{}
	table := sheet.Table{Sheet: sheetFor(f, PriceColumns, "prices", "price list"), Kind: "prices",
		Columns: PriceColumns}
	faults := f.Read(table, func(row sheet.Row, l *fault.List) {
		c := cells{row, l}
		before := len(*l)
		p := price(c, currency)
		if !(*l)[before:].Blocks() {
			c.seen(seen, "species", "price", p.RecordKey())
		}
		out = append(out, Price{p, row.Number})
	})
	if faults.Blocks() {
		return nil, faults
	}
	return out, faults
}

func price(c cells, currency num.Currency) book.Price {
	p := book.Price{Shape: c.shape("shape"), Grade: c.text("grade"), LengthMin: c.length("length_min"),
		LengthMax: c.length("length_max")}
	c.need("species", "name the species, group or trade name")
	m := readMaterial(c, "species", "variety")
	p.Species, p.Variety = m.species, m.variety
	if p.LengthMax > 0 && p.LengthMin > p.LengthMax {
		c.faultf("length_max", "size-order", "exchange the two, or correct them",
			"length_min %s is more than length_max %s", p.LengthMin, p.LengthMax)
	}
	unit := func(s string) (num.UnitPrice, *fault.Fault) { return num.ParseUnitPrice(s, currency) }
	if c.need("loose", "enter the price per carat") {
		if p.Loose = read(c, "loose", unit); p.Loose.IsZero() {
			if d, bad := num.ParseDec(c.Text("loose")); bad == nil && d.IsZero() {
				c.faultf("loose", "price-zero", "enter the price per carat, or remove the row",
					"a price must be more than 0")
			}
		}
	}
	p.Replacement = read(c, "replacement", unit)
	if c.need("date", "enter the date from which it holds, YYYY-MM-DD") {
		p.On = read(c, "date", book.ParseDate)
	}
	if c.need("source", "name the source: own sales, a vendor's list") {
		p.Source = c.Text("source")
	}
	return p
}
