package intake

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// CaseColumns are the columns of stones to be identified without a book.
var CaseColumns = sheet.Columns{
	{Name: "case", Aliases: []string{"case_id", "id", "stone", "name"}, Note: "A name for the stone. Empty: its row.",
		Example: "1"},
	{Name: "color", Aliases: []string{"colour"}, Note: "In plain words.", Example: "violet-blue"},
	{Name: "ri_low", Note: "Lower edge. Beyond the scale: >1.79.", Example: "1.635"},
	{Name: "ri_high", Note: "Upper edge.", Example: "1.647"},
	{Name: "ri_spot", Aliases: []string{"spot"}, Note: "Spot (distant vision) reading.", Example: ""},
	{Name: "ri_u", Kind: sheet.NumberColumn, Note: "Standard uncertainty of an edge, when it is not the usual one.",
		Example: "0.001"},
	{Name: "birefringence", Aliases: []string{"dr"}, Kind: sheet.NumberColumn, Note: "As read; a lower bound.",
		Example: "0.012"},
	{Name: "birefringence_max", Words: []string{"yes", "no"}, Note: "yes when the stone was turned until it was " +
		"greatest.", Example: "no"},
	{Name: "optic", Aliases: []string{"optic_character"}, Words: Optics, Note: "What the polariscope or conoscope " +
		"showed.", Example: "biaxial+"},
	{Name: "sg", Aliases: []string{"specific gravity"}, Kind: sheet.NumberColumn,
		Note: "Specific gravity, when measured as such.", Example: "3.22"},
	{Name: "sg_u", Kind: sheet.NumberColumn, Note: "Its standard uncertainty.", Example: "0.02"},
	{Name: "weight_air_ct", Aliases: []string{"air"}, Kind: sheet.NumberColumn, Note: "Weight in air in carats.",
		Example: "4.57"},
	{Name: "weight_water_ct", Aliases: []string{"water"}, Kind: sheet.NumberColumn, Note: "Weight in water in carats.",
		Example: "3.15"},
	{Name: "water_c", Kind: sheet.NumberColumn, Note: "Temperature of the water in degrees Celsius.", Example: "21"},
	{Name: "balance_ct", Aliases: []string{"balance"}, Kind: sheet.NumberColumn, Note: "Smallest step of the balance " +
		"in carats.", Example: "0.01"},
	{Name: "lw", Aliases: []string{"lwuv"}, Note: "Long-wave fluorescence: strength and colour.", Example: "inert"},
	{Name: "sw", Aliases: []string{"swuv"}, Note: "Short-wave fluorescence: strength and colour.",
		Example: "weak orange"},
	{Name: "pleochroism", Note: "Strength and colours.", Example: "strong blue / violet"},
	{Name: "look", Note: "What the eye sees: transparent, translucent or opaque, faceted, cabochon, bead or carved, " +
		"lustre and phenomena, ; between them.", Example: "transparent; faceted"},
	{Name: "magnification", Note: "What the loupe shows, ; between the features.", Example: "gas bubbles"},
	{Name: "note", Aliases: []string{"notes"}, Note: "Anything else."},
}

// Case is one stone with its readings, which carry its name as their lot.
type Case struct {
	Row      int
	Name     string
	Color    string
	Readings []book.Reading
	Note     string
}

// EachCase reads stones for `identify --file` and hands them on one by one.
func EachCase(f *sheet.File, each func(Case)) fault.List {
	seen := map[string]int{}
	return f.Read(sheet.Table{Sheet: sheetFor(f, CaseColumns, "cases"), Kind: "cases", Columns: CaseColumns},
		func(row sheet.Row, l *fault.List) {
			c := cells{row, l}
			k := Case{Row: c.Number, Name: c.text("case"), Color: c.text("color"), Note: c.text("note")}
			if k.Name == "" {
				k.Name = num.Int(int64(c.Number)).String()
			} else {
				c.seen(seen, "case", "case", k.Name)
			}
			k.Readings = caseReadings(c, k.Name)
			each(k)
		})
}

// caseReadings turns the cells of a case into the readings that a bench sheet
// would hold.
func caseReadings(c cells, name string) []book.Reading {
	var out []book.Reading
	add := func(r book.Reading) {
		r.Lot, r.Drawn = name, "picked"
		out = append(out, r)
	}
	index := func(column string) string {
		c.edge(column, num.MustDec("1"), num.MustDec("3.5"), true)
		return c.text(column)
	}
	within := func(column, low, high string) string {
		c.edge(column, num.MustDec(low), num.MustDec(high), false)
		return c.text(column)
	}
	u := c.measure("ri_u", 0, 1)
	low, high := index("ri_low"), index("ri_high")
	if low == "" {
		low, high = high, ""
	}
	if low != "" {
		if a, bad := num.ParseDec(low); bad == nil && high != "" {
			if b, bad := num.ParseDec(high); bad == nil && a.Cmp(b) > 0 {
				c.faultf("ri_high", "reading-order", "exchange the two", "ri_low %s is more than ri_high %s", low, high)
			}
		}
		add(book.Reading{Test: "ri", Low: low, High: high, PlusMinus: u})
	}
	if s := index("ri_spot"); s != "" {
		add(book.Reading{Test: "ri-spot", Low: s, PlusMinus: u})
	}
	if b := within("birefringence", "0", "0.5"); b != "" {
		r := book.Reading{Test: "birefringence", Low: b}
		if c.yes("birefringence_max") {
			r.Result = "maximum"
		}
		add(r)
	}
	if o := c.word("optic", "", Optics); o != "" {
		add(book.Reading{Test: "optic", Result: o})
	}
	sgU := c.measure("sg_u", 0, 5)
	if g := within("sg", "0.5", "25"); g != "" {
		add(book.Reading{Test: "sg", Low: g, PlusMinus: sgU})
	}
	waterC, step := c.measure("water_c", 0, 60), c.measure("balance_ct", 0, 5)
	if c.filled("weight_air_ct") || c.filled("weight_water_ct") {
		r := book.Reading{Test: "hydrostatic", WaterC: waterC, Resolution: step, Air: read(c, "weight_air_ct",
			num.ParseCarat), Water: read(c, "weight_water_ct", num.ParseCarat)}
		c.checkTest(&r)
		add(r)
	}
	for _, test := range []string{"lw", "sw", "pleochroism"} {
		if text := c.text(test); text != "" {
			strength, color := glow(text)
			add(book.Reading{Test: test, Strength: strength, Color: color})
		}
	}
	for _, test := range []string{"look", "magnification"} {
		if text := c.text(test); text != "" {
			add(book.Reading{Test: test, Result: text})
		}
	}
	return out
}

// glow splits "strong orange-red" into its strength and its colour. Words that
// differ from the table's are read as they are meant: "faint" is weak,
// "very distinct" strong.
func glow(text string) (strength, color string) {
	words := map[string]string{"none": "none", "absent": "none", "inert": "inert", "nil": "inert", "no": "inert",
		"faint": "weak", "weak": "weak", "slight": "weak",
		"moderate": "moderate", "medium": "moderate", "distinct": "moderate", "strong": "strong", "bright": "strong",
		"intense": "strong"}
	var rest []string
	very := false
	for _, w := range strings.Fields(strings.ToLower(text)) {
		s, ok := words[strings.Trim(w, ",;:.")]
		switch {
		case ok && strength == "":
			strength = s
			if very && s == "moderate" {
				strength = "strong"
			}
		case w == "very" && strength == "":
			very = true
		default:
			rest = append(rest, w)
		}
	}
	return strength, strings.Trim(strings.Join(rest, " "), ",;:. ")
}
