package intake

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Words of designs and positions.
var (
	Steps      = []string{"torch", "ultrasonic", "steam", "pickle", "plating", "resize"}
	Identities = []string{"stated", "supported", "verified"}
	Matches    = []string{"none", "pair", "identical", "graduated"}
	Accepts    = []string{"sound", "care", "caution"}
)

func settingNames() []string {
	var names []string
	for _, s := range facts.Settings() {
		names = append(names, s.Name)
	}
	return names
}

func pieceNames() []string {
	var names []string
	for _, p := range facts.Pieces() {
		names = append(names, p.Name)
	}
	return names
}

func wearNames() []string {
	var names []string
	for _, w := range facts.Wears() {
		names = append(names, w.Name)
	}
	return names
}

// DesignColumns are the columns of a line's designs.
var DesignColumns = sheet.Columns{
	{Name: "design", Required: true, Aliases: []string{"name", "model"}, Note: "The design's name, unique in the line.",
		Example: "Shore ring"},
	{Name: "piece", Required: true, Note: "What is worn.", Example: "ring"},
	{Name: "metal", Required: true, Note: "gold, silver, platinum, palladium, or an alloy's name.", Example: "silver"},
	{Name: "fineness", Kind: sheet.NumberColumn, Note: "Parts per thousand. Empty: the alloy's own.", Example: "925"},
	{Name: "metal_g", Aliases: []string{"metal_weight", "weight_g"}, Required: true, Kind: sheet.NumberColumn,
		Note: "Finished metal in grams per sale unit.", Example: "4.2"},
	{Name: "quantity", Aliases: []string{"qty"}, Required: true, Kind: sheet.NumberColumn,
		Note: "How many sale units; a pair of earrings is one.", Example: "10"},
	{Name: "price_trade", Aliases: []string{"trade price", "wholesale"}, Kind: sheet.NumberColumn,
		Note: "Target price to the trade, book currency.", Example: "95"},
	{Name: "price_retail", Aliases: []string{"retail price", "retail"}, Kind: sheet.NumberColumn,
		Note: "Target price to the wearer, book currency.", Example: "210"},
	{Name: "labour_min", Aliases: []string{"labor_min", "minutes"}, Kind: sheet.NumberColumn,
		Note: "Bench work in minutes per sale unit, without setting.", Example: "25"},
	{Name: "findings", Kind: sheet.NumberColumn, Note: "Bought parts per sale unit, book currency.", Example: "0"},
	{Name: "fixed_cost", Kind: sheet.NumberColumn, Note: "Model, mould and other costs of the design as a whole.",
		Example: "180"},
	{Name: "wear", Note: "daily, occasional or evening. Empty: daily.", Example: "daily"},
	{Name: "lux", Kind: sheet.NumberColumn, Note: "Light where it is shown, lux. 0: kept in a closed box. Empty: a " +
		"lit showcase is assumed.", Example: "1500"},
	{Name: "hours_per_day", Kind: sheet.NumberColumn, Note: "Hours of that light a day.", Example: "10"},
	{Name: "bench", Note: "Steps with the stones in place, ; between them: torch, ultrasonic, steam, pickle, " +
		"plating, resize.", Example: "pickle;plating"},
	{Name: "identity", Words: Identities,
		Note: "How sure the species must be: stated (default), supported or verified.", Example: "supported"},
}

// PositionColumns are the columns of the positions of designs.
var PositionColumns = sheet.Columns{
	{Name: "design", Required: true, Note: "The design that it belongs to.", Example: "Shore ring"},
	{Name: "position", Required: true, Note: "Its name inside the design.", Example: "center"},
	{Name: "setting", Required: true, Note: "How the stone is held.", Example: "prong"},
	{Name: "shape", Required: true, Note: "The stone's shape.", Example: "oval"},
	{Name: "species", Note: "What it takes, ; between them: species, varieties, groups. Empty: any.",
		Example: "topaz;beryl"},
	{Name: "treatment", Note: "What it takes, ; between them. Empty: any.", Example: "none;heat"},
	{Name: "length_min", Aliases: []string{"length_min_mm"}, Kind: sheet.NumberColumn, Note: "Smallest length in mm.",
		Example: "8.8"},
	{Name: "length_max", Aliases: []string{"length_max_mm"}, Kind: sheet.NumberColumn, Note: "Largest length in mm.",
		Example: "9.2"},
	{Name: "width_min", Aliases: []string{"width_min_mm"}, Kind: sheet.NumberColumn, Note: "Smallest width in mm.",
		Example: "6.8"},
	{Name: "width_max", Aliases: []string{"width_max_mm"}, Kind: sheet.NumberColumn, Note: "Largest width in mm.",
		Example: "7.2"},
	{Name: "depth_min", Aliases: []string{"depth_min_mm"}, Kind: sheet.NumberColumn,
		Note: "Smallest depth in mm. Empty: any.", Example: ""},
	{Name: "depth_max", Aliases: []string{"depth_max_mm"}, Kind: sheet.NumberColumn,
		Note: "Largest depth in mm. Empty: any.", Example: "5"},
	{Name: "count", Aliases: []string{"stones", "pieces"}, Required: true, Kind: sheet.NumberColumn,
		Note: "Stones per sale unit.", Example: "1"},
	{Name: "match", Words: Matches, Note: "none (default), pair, identical or graduated.", Example: "none"},
	{Name: "tolerance_mm", Aliases: []string{"tolerance"}, Kind: sheet.NumberColumn,
		Note: "How much matched stones may differ in mm.", Example: "0.1"},
	{Name: "color", Aliases: []string{"colour"}, Note: "Colour words wanted. Empty: any.", Example: "blue"},
	{Name: "clarity", Note: "Empty: any.", Example: ""},
	{Name: "price_max", Kind: sheet.NumberColumn, Note: "The most per carat, book currency. Empty: no ceiling.",
		Example: "60"},
	{Name: "accept", Words: Accepts, Note: "The worst setting verdict that it takes: sound, care (default) or caution.",
		Example: "care"},
}

// Line is what a line's tables hold: its designs with their positions.
type Line struct {
	Designs []book.Design
}

// ReadLine reads a line. positions is nil when both tables stand in one
// workbook. name is the line's; amounts are in the book's currency.
func ReadLine(f, positions *sheet.File, name string, currency num.Currency) (Line, fault.List) {
	r := lineReader{name: name, currency: currency, byName: map[string]int{}}
	if bad := book.CheckName("a line's name", name); bad != nil {
		return Line{}, fault.List{bad.AtField("line")}
	}
	designs := sheetFor(f, DesignColumns, "designs")
	rows := map[string]int{}
	faults := f.Read(sheet.Table{Sheet: designs, Kind: "line", Columns: DesignColumns},
		func(row sheet.Row, l *fault.List) {
			r.design(cells{row, l}, rows)
		})
	from, of := positions, ""
	switch {
	case from != nil:
		of = sheetFor(from, PositionColumns, "positions")
	default:
		from = f
		var ok bool
		if of, ok = f.SheetNamed("positions"); !ok {
			mend := "add a sheet named positions, or start from an empty workbook"
			if f.IsCSV() {
				mend = "give the positions as a second file"
			}
			faults.Add(fault.New(fault.Invalid, "positions-missing", "the line has no table of positions", mend).
				At(fault.Where{File: f.Name}).Do("template", "line"))
			return Line{}, faults
		}
	}
	seen := map[string]int{}
	faults.Add(from.Read(sheet.Table{Sheet: of, Kind: "line", Columns: PositionColumns},
		func(row sheet.Row, l *fault.List) {
			r.position(cells{row, l}, seen)
		})...)
	for i, d := range r.designs {
		if len(d.Positions) == 0 && !faults.Blocks() {
			faults.Add(fault.New(fault.Invalid, "design-bare", "design "+d.Name+" has no position for a stone",
				"add its positions, or remove the design").
				At(fault.Where{File: f.Name, Sheet: designs, Row: r.rows[i]}))
		}
	}
	if faults.Blocks() {
		return Line{}, faults
	}
	return Line{r.designs}, faults
}

type lineReader struct {
	name     string
	currency num.Currency
	designs  []book.Design
	rows     []int
	byName   map[string]int // folded design -> index
}

func (r *lineReader) design(c cells, seen map[string]int) {
	d := book.Design{Line: r.name, Wear: "daily", Identity: c.word("identity", "stated", Identities)}
	if c.need("design", "name the design") {
		d.Name = c.Text("design")
		if bad := book.CheckFreeName("a design's name", d.Name); bad != nil {
			c.add("design", bad)
		}
		c.seen(seen, "design", "design", d.Name)
	}
	if c.need("piece", "name the piece: "+strings.Join(pieceNames(), ", ")) {
		if p := read(c, "piece", facts.PieceNamed); p != nil {
			d.Piece = p.Name
		}
	}
	r.metal(c, &d)
	if n, ok := c.count("quantity"); ok {
		if d.Quantity = n; n == 0 {
			c.faultf("quantity", "quantity-zero", "enter how many sale units are planned, or remove the design",
				"a design must be made at least once")
		}
	} else {
		c.need("quantity", "enter how many sale units are planned")
	}
	d.PriceTrade, d.PriceRetail = c.money("price_trade", r.currency), c.money("price_retail", r.currency)
	d.Labour, d.Findings, d.FixedCost = c.positive("labour_min"), c.money("findings", r.currency),
		c.money("fixed_cost", r.currency)
	if w := read(c, "wear", facts.WearNamed); w != nil {
		d.Wear = w.Name
	}
	d.Lux, d.HoursPerDay = c.positive("lux"), c.hours("hours_per_day")
	d.Dark = c.filled("lux") && d.Lux.Sign() == 0
	d.Bench = c.words("bench", Steps)
	if i, ok := r.byName[strings.ToLower(d.Name)]; !ok || i < 0 {
		r.byName[strings.ToLower(d.Name)] = len(r.designs)
	}
	r.designs = append(r.designs, d)
	r.rows = append(r.rows, c.Number)
}

func (c cells) hours(column string) num.Dec {
	d := c.positive(column)
	if d.Cmp(num.Int(24)) > 0 {
		c.faultf(column, "hours-day", "enter hours a day, at most 24", "hours a day must be at most 24, but %s is %s",
			column, d)
		return num.Dec{}
	}
	return d
}

var preciousMetals = []string{"gold", "silver", "platinum", "palladium"}

// metal reads metal, fineness and weight; an alloy's name gives its fineness.
func (r *lineReader) metal(c cells, d *book.Design) {
	d.Fineness = c.positive("fineness")
	if c.filled("fineness") && (d.Fineness.Sign() == 0 || d.Fineness.Cmp(num.Int(1000)) > 0) {
		c.faultf("fineness", "fineness-range", "enter parts per thousand, e.g. 925 or 585",
			"a fineness must lie between 1 and 1000 parts per thousand, but is %s", c.Text("fineness"))
	}
	if c.need("metal", "name the metal or the alloy") {
		d.Metal = strings.ToLower(c.Text("metal"))
		plain := false
		for _, m := range preciousMetals {
			plain = plain || m == d.Metal
		}
		if plain {
			if !c.filled("fineness") {
				c.faultf("fineness", "fineness-missing", "enter parts per thousand, e.g. 925, or name the alloy",
					"the fineness of %s is not given", d.Metal)
			}
		} else if a := read(c, "metal", facts.AlloyNamed); a != nil {
			d.Metal = a.Name
			own := num.Int(int64(a.Fineness))
			switch {
			case !c.filled("fineness"):
				d.Fineness = own
			case a.Fineness > 0 && d.Fineness.Cmp(own) != 0:
				c.faultf("fineness", "fineness-alloy", "correct one of them, or leave the fineness empty",
					"%s has a fineness of %s, but the row says %s", a.Name, own, d.Fineness)
			}
		}
	}
	if c.need("metal_g", "enter the finished metal in grams per sale unit") {
		if d.MetalWeight = read(c, "metal_g", num.ParseGram); d.MetalWeight < 0 {
			c.faultf("metal_g", "weight-negative", "enter the weight as a positive number",
				"a weight must not be negative, but is %s", c.Text("metal_g"))
		}
	}
}

func (r *lineReader) position(c cells, seen map[string]int) {
	p := book.Position{Match: c.word("match", "none", Matches), Accept: c.word("accept", "care", Accepts),
		Color: c.text("color"), Clarity: c.text("clarity"), Treatment: c.text("treatment"),
		AsWritten: c.text("species")}
	at := -1
	if c.need("design", "name the design that the position belongs to") {
		i, ok := r.byName[strings.ToLower(c.Text("design"))]
		if at = i; !ok {
			at = -1
			var names []string
			for _, d := range r.designs {
				names = append(names, d.Name)
			}
			mend := "name one of the designs: " + strings.Join(names, ", ")
			if hint := fault.DidYouMean(c.Text("design"), names); hint != "" {
				mend = hint
			}
			c.faultf("design", "design-unknown", mend, "the line has no design %q", c.Text("design"))
		}
	}
	if c.need("position", "name the position, such as center or side") {
		p.Name = c.Text("position")
		if bad := book.CheckFreeName("a position's name", p.Name); bad != nil {
			c.add("position", bad)
		}
		if other := r.alike(at, p.Name); other != "" {
			c.faultf("position", "position-alike", "rename one of them", "%s/%s reads like %s", c.text("design"),
				p.Name, other)
		} else {
			c.seen(seen, "position", "position", c.text("design")+"/"+p.Name)
		}
	}
	if c.need("setting", "name the setting: "+strings.Join(settingNames(), ", ")) {
		if s := read(c, "setting", facts.SettingNamed); s != nil {
			p.Setting = s.Name
		}
	}
	if c.need("shape", "name the shape, e.g. oval") {
		before := len(*c.faults)
		p.Shape = c.shape("shape")
		for _, f := range (*c.faults)[before:] {
			f.Warning = false // no stone would ever fit a position of an unknown shape
			f.What = strings.TrimSuffix(f.What, ": no weight estimate and no position will fit it")
		}
	}
	p.Species = c.species("species")
	window := func(least, most string) (num.Millimetre, num.Millimetre) {
		low, high := c.length(least), c.length(most)
		if high > 0 && low > high {
			c.faultf(most, "size-order", "exchange the two, or correct them", "%s %s is more than %s %s", least,
				low, most, high)
		}
		return low, high
	}
	p.LengthMin, p.LengthMax = window("length_min", "length_max")
	p.WidthMin, p.WidthMax = window("width_min", "width_max")
	p.DepthMin, p.DepthMax = window("depth_min", "depth_max")
	if n, ok := c.count("count"); ok {
		if p.Count = n; n == 0 {
			c.faultf("count", "count-zero", "enter the stones per sale unit, or remove the position",
				"a position must take at least one stone")
		}
	} else {
		c.need("count", "enter the stones per sale unit")
	}
	if p.Match == "pair" && p.Count > 0 && p.Count%2 != 0 {
		c.faultf("count", "count-pair", "enter an even number, or another match",
			"pairs need an even number of stones, but count is %d", p.Count)
	}
	p.Tolerance = c.length("tolerance_mm")
	p.PriceMax = read(c, "price_max", func(s string) (num.UnitPrice, *fault.Fault) {
		return num.ParseUnitPrice(s,
			r.currency)
	})
	if at >= 0 {
		r.designs[at].Positions = append(r.designs[at].Positions, p)
	}
}

// alike names the position of another design that reads as DESIGN/POSITION does:
// holds and setter's work are kept under that text.
func (r *lineReader) alike(at int, position string) string {
	if at < 0 {
		return ""
	}
	for _, s := range book.SpotName(r.designs[at].Name + "/" + position).Among(r.designs) {
		if s.Design != at && s.Position >= 0 {
			return s.Words
		}
	}
	return ""
}

// species reads a ";" list of names into the facts' names; a variety stays a
// variety.
func (c cells) species(column string) []string {
	var out []string
	for part := range strings.SplitSeq(c.text(column), ";") {
		if strings.TrimSpace(part) == "" {
			continue
		}
		n, bad := facts.Resolve(part)
		if bad != nil {
			c.add(column, bad)
			continue
		}
		c.misleads(column, n)
		species, variety := n.SpeciesVariety()
		if variety != "" {
			species = variety
		}
		out = append(out, species)
	}
	return out
}
