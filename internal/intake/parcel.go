package intake

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// ParcelColumns are the columns of a parcel's lots.
var ParcelColumns = sheet.Columns{
	{Name: "lot", Aliases: []string{"lot_no", "lot number", "lot code", "paper", "item"},
		Note: "The code on the paper, unique in the file. Empty: the book numbers it.", Example: "A-1"},
	{Name: "owner", Note: "own (default), memo-in/PARTY for goods on memo, customer/PARTY for a customer's stones.",
		Example: "memo-in/Vendor"},
	{Name: "species", Aliases: []string{"stone type", "material", "gem", "gemstone"},
		Note: "Species, group or trade name. Empty: not known.", Example: "beryl"},
	{Name: "variety", Note: "Variety or trade colour, when it has one.", Example: "aquamarine"},
	{Name: "nature", Words: book.Natures, Note: "natural, laboratory-grown, assembled or imitation, as the vendor " +
		"states it. Empty: not stated.", Example: "natural"},
	{Name: "treatment", Aliases: []string{"treatments", "enhancement"}, Note: "As the vendor states it (none, heat, " +
		"irradiation, oil ...). Empty: not stated, and the worst usual treatment is assumed.", Example: "heat"},
	{Name: "origin", Note: "As the vendor states it.", Example: "Brazil"},
	{Name: "shape", Note: "round, oval, pear, cushion, emerald cut, oval cabochon ...", Example: "oval"},
	{Name: "pieces", Aliases: []string{"pcs", "qty", "stones"}, Kind: sheet.NumberColumn, Required: true,
		Note: "Number of stones, a whole number of at least 1.", Example: "12"},
	{Name: "pieces_basis", Words: []string{"counted", "estimated"}, Note: "counted (default) or estimated.",
		Example: "counted"},
	{Name: "weight", Aliases: []string{"total weight", "wt"}, Kind: sheet.NumberColumn,
		Note: "Weight of all the lot's stones, in the unit of weight_unit.", Example: "14.62"},
	{Name: "weight_unit", Aliases: []string{"unit"}, Words: []string{"ct", "g", "momme"},
		Note: "ct (default), g or momme.", Example: "ct"},
	{Name: "weight_ct", Aliases: []string{"carats", "ct", "cts", "carat weight"}, Kind: sheet.NumberColumn,
		Note: "Instead of weight and weight_unit: the weight in carats.", Example: "14.62"},
	{Name: "length_mm", Aliases: []string{"length"}, Kind: sheet.NumberColumn,
		Note: "Length in mm; of several stones the smallest.", Example: "8.9"},
	{Name: "length_max_mm", Aliases: []string{"length max"}, Kind: sheet.NumberColumn,
		Note: "The largest length, when the stones differ.", Example: "9.1"},
	{Name: "width_mm", Aliases: []string{"width"}, Kind: sheet.NumberColumn, Note: "Width in mm; of several stones " +
		"the smallest.", Example: "6.9"},
	{Name: "width_max_mm", Aliases: []string{"width max"}, Kind: sheet.NumberColumn,
		Note: "The largest width, when the stones differ.", Example: "7.1"},
	{Name: "depth_mm", Aliases: []string{"depth", "height_mm"}, Kind: sheet.NumberColumn, Note: "Depth in mm.",
		Example: "4.6"},
	{Name: "calibrated", Words: []string{"yes", "no"}, Note: "yes when every stone fits the same setting: such " +
		"stones may be paired without being measured singly.", Example: "yes"},
	{Name: "color", Aliases: []string{"colour"}, Note: "In plain words.", Example: "light blue-green"},
	{Name: "clarity", Note: "As graded.", Example: "eye clean"},
	{Name: "cut", Aliases: []string{"cut grade", "cutting"}, Note: "Quality or style of the cut.", Example: "good"},
	{Name: "price", Aliases: []string{"amount"}, Kind: sheet.NumberColumn, Note: "Price in the invoice's currency, " +
		"by price_basis. No currency sign.", Example: "45"},
	{Name: "price_basis", Aliases: []string{"basis", "price per"}, Words: []string{"total", "per_carat", "per_piece"},
		Note: "What the price is for: total (the whole lot), per_carat or per_piece.", Example: "per_carat"},
	{Name: "currency", Note: "ISO 4217 code of the price, the same in every row; or given once for all.",
		Example: "USD"},
	{Name: "note", Aliases: []string{"notes", "remark", "remarks", "comment"}, Note: "Anything else.",
		Example: "bought as a mixed parcel"},
}

// Head is what is known of a parcel besides its file.
type Head struct {
	Book     num.Currency // the book's currency
	Currency num.Currency // of the invoice; empty: the file's currency column says it
	Owner    book.Owner   // whose all lots are; empty: each row says it
	// RateOf gives the rate from the invoice's currency into the book's: the
	// one of the command line, or the book's newest. It is not asked for the
	// book's own currency.
	RateOf func(num.Currency) (num.Rate, *fault.Fault)
	// Each takes the lots of a large list while it is still being read, Batch
	// at a time; Parcel.Lots then stays empty. What it took must be thrown
	// away when the reading ends with faults. It is not used when single
	// stones are listed: they are only known at the end.
	Each func([]Lot)
}

// Batch is how many lots Head.Each takes at a time.
const Batch = 1000

// Parcel is what a parcel's file holds.
type Parcel struct {
	Currency num.Currency // of the invoice
	Rate     num.Rate     // book units per invoice unit
	Lots     []Lot
	Pieces   int64
	Carats   num.Carat
	Price    num.Money // of the own lots, book currency
	Count    int       // of lots
	Owned    int       // of them the dealer's own
}

// Lot is one lot of a parcel as imported. Its Code and Label are the code on
// the paper, empty when it has none; the book gives the final code. Agreed is
// the price in the book's currency.
type Lot struct {
	book.Lot
	Row    int // in the file
	Pieces int64
	Carats num.Carat
	Stones []Stone // its stones, when they are listed singly
}

// ReadParcel reads the lots of a parcel, and its single stones from stones or,
// when that is nil, from the workbook's sheet of stones. Prices become totals
// in the invoice's currency, rounded half up to its minor unit, and are then
// converted into the book's currency, once.
func ReadParcel(f, stones *sheet.File, head Head) (Parcel, fault.List) {
	r := parcelReader{head: head, rows: map[string]int{}, Parcel: Parcel{Currency: head.Currency,
		Price: num.Zero(head.Book)}}
	if r.Currency != "" {
		if bad := r.setRate(); bad != nil {
			return Parcel{}, fault.List{bad}
		}
	}
	main := sheetFor(f, ParcelColumns, "parcel", "lots")
	if _, listed := stonesSheet(f, main); listed || stones != nil {
		r.head.Each = nil
	}
	if r.head.Each == nil {
		r.Lots = make([]Lot, 0, f.Lines()) // growing it would hold a large parcel twice
	}
	faults := f.Read(sheet.Table{Sheet: main, Kind: "parcel", Columns: ParcelColumns},
		func(row sheet.Row, l *fault.List) { r.lot(cells{row, l}) })
	if stones == nil {
		if s, ok := stonesSheet(f, main); ok {
			faults.Add(r.stones(f, s, true)...)
		}
	} else {
		faults.Add(r.stones(stones, sheetFor(stones, StoneColumns, "stones"), false)...)
	}
	if faults.Blocks() {
		return Parcel{}, faults
	}
	if r.unpriced > 0 {
		faults.Add(fault.New(fault.Invalid, "price-missing",
			fmt.Sprintf("%d lots of the dealer's own have no price: they enter the book at no cost", r.unpriced),
			"fill in price and price_basis, or adjust the lots later").At(r.firstUnpriced).AsWarning())
	}
	r.take()
	if r.Currency == "" {
		r.Currency = head.Book
	}
	return r.Parcel, faults
}

// take adds up the lots that were read and hands them on when they are
// streamed.
func (r *parcelReader) take() {
	for i := range r.Lots {
		l := &r.Lots[i]
		r.Pieces += l.Pieces
		r.Carats += l.Carats
		r.Count++
		if l.Owner.IsOwn() {
			r.Owned++
			r.Price = r.Price.Add(l.Agreed)
		}
	}
	if r.head.Each != nil && len(r.Lots) > 0 {
		r.head.Each(r.Lots)
		r.Lots = nil
	}
}

type parcelReader struct {
	Parcel
	head          Head
	rows          map[string]int // folded lot code -> row
	unpriced      int
	firstUnpriced fault.Where
	checked       bool
	noCurrency    bool // told already
}

// setRate looks up the rate of the invoice's currency.
func (r *parcelReader) setRate() *fault.Fault {
	if r.Currency == r.head.Book {
		return nil
	}
	if r.head.RateOf == nil {
		return fault.New(fault.Invalid, "rate-missing", fmt.Sprintf("prices are in %s and the book is in %s, but no "+
			"rate is given", r.Currency, r.head.Book),
			fmt.Sprintf("give the rate, the %s for one %s", r.head.Book, r.Currency)).AtField("rate")
	}
	rate, bad := r.head.RateOf(r.Currency)
	r.Rate = rate
	return bad
}

func (r *parcelReader) lot(c cells) {
	if !r.checked {
		r.checked = true
		if !c.Has("weight") && !c.Has("weight_ct") {
			c.faults.Add(fault.New(fault.Invalid, "column-missing", "column weight is missing",
				"add a column named weight (with weight_unit) or weight_ct").At(c.HeaderWhere("weight")))
		}
		if c.Has("price") && !c.Has("price_basis") {
			c.faults.Add(fault.New(fault.Invalid, "column-missing", "column price_basis is missing beside price",
				"add a column price_basis that says total, per_carat or per_piece").At(c.HeaderWhere("price")))
		}
	}
	l := Lot{Row: c.Number}
	if c.filled("lot") {
		l.Label = c.Text("lot")
		if bad := book.CheckCode("a lot's", l.Label); bad != nil {
			c.add("lot", bad)
		} else {
			c.seen(r.rows, "lot", "lot", l.Label)
		}
		l.Code = l.Label
	}
	l.Owner = book.Own
	if o := read(c, "owner", book.ParseOwner); o != "" {
		l.Owner = o
	}
	if o := r.head.Owner; o != "" {
		if c.filled("owner") && l.Owner != o {
			c.faultf("owner", "owner-differs", "leave the column empty, or import these lots apart",
				"the parcel is %s's own, but the row says %s", o.Customer(), l.Owner)
		}
		l.Owner = o
	}
	m := readMaterial(c, "species", "variety")
	l.Species, l.Variety, l.Claim = m.species, m.variety, m.claim
	l.Facets = book.Facets{
		Species:   book.StatedFacet(m.species),
		Nature:    book.StatedFacet(read(c, "nature", book.ParseNature)),
		Treatment: book.StatedFacet(treatment(c.text("treatment"))),
		Origin:    book.StatedFacet(c.text("origin")),
	}
	l.Shape = c.shape("shape")
	l.Length, l.Width = c.size("length_mm", "length_max_mm"), c.size("width_mm", "width_max_mm")
	if d := c.length("depth_mm"); d > 0 {
		l.Depth = book.Size{Min: d, Max: d}
	}
	if !l.Length.IsZero() && l.Width.Min > l.Length.Max {
		c.warnf("width_mm", "width-over-length", "exchange the two if they were mixed up",
			"the width %s is more than the length %s", l.Width, l.Length)
	}
	l.Calibrated = c.yes("calibrated")
	l.Estimated = c.word("pieces_basis", "counted", []string{"counted", "estimated"}) == "estimated"
	l.Color, l.Clarity, l.Cut, l.Note = c.text("color"), c.text("clarity"), c.text("cut"), c.text("note")
	pieces, weighed := r.quantity(c, &l)
	if weighed && pieces {
		checkBulk(c, l, m)
	}
	r.price(c, &l, pieces && weighed)
	if r.head.Each != nil && len(r.Lots) == Batch {
		r.take()
	}
	r.Lots = append(r.Lots, l)
}

// quantity reads pieces and weight; a lot has both or is no lot.
func (r *parcelReader) quantity(c cells, l *Lot) (pieces, weighed bool) {
	if c.need("pieces", "enter the number of stones, e.g. 12; mark it estimated in pieces_basis when it is") {
		l.Pieces, pieces = c.count("pieces")
	}
	column := "weight"
	unit := num.UnitCarat
	if c.filled("weight_unit") {
		unit = read(c, "weight_unit", num.ParseWeightUnit)
	}
	if c.filled("weight_ct") {
		column = "weight_ct"
		if c.filled("weight") || unit != num.UnitCarat {
			c.faultf("weight_ct", "weight-twice", "fill in weight with weight_unit, or weight_ct, not both",
				"the weight is given twice or in two units")
			return pieces, false
		}
	}
	switch {
	case c.IsBad(column):
		return pieces, false
	case !c.filled(column):
		if c.Has(column) {
			c.need(column, "enter the weight of the whole lot, e.g. 14.62")
		} else {
			c.need("weight_ct", "enter the weight of the whole lot in carats, e.g. 14.62")
		}
		return pieces, false
	}
	before := len(*c.faults)
	l.Carats = read(c, column, func(s string) (num.Carat, *fault.Fault) { return num.ParseWeight(s, unit) })
	switch {
	case len(*c.faults) > before:
		return pieces, false
	case l.Carats < 0:
		c.faultf(column, "weight-negative", "enter the weight as a positive number, e.g. 1.20",
			"a weight must be more than 0, but is %s", c.Text(column))
		return pieces, false
	case pieces && l.Pieces == 0 && l.Carats > 0:
		c.faultf("pieces", "pieces-zero", "enter the number of stones; mark it estimated in pieces_basis when it is",
			"a lot that weighs %s ct has no pieces", l.Carats)
		return false, true
	case pieces && l.Pieces == 0:
		c.faultf("pieces", "lot-empty", "remove the row, or enter pieces and weight",
			"a lot without pieces and weight is no lot")
		return false, false
	case l.Carats == 0:
		c.faultf(column, "weight-zero", "enter the weight of the whole lot; the book keeps thousandths of a carat",
			"a weight must be more than 0, but is %s", c.Text(column))
		return pieces, false
	}
	return pieces, true
}

// checkBulk warns when a stone weighs more than the block that its sizes
// bound: a slip in a unit or a decimal point. 1 ct is 0.2 g.
func checkBulk(c cells, l Lot, m material) {
	if l.Length.IsZero() || l.Width.IsZero() || l.Depth.IsZero() || l.Pieces <= 0 {
		return
	}
	densest := 0.0
	for _, x := range m.named.Materials {
		if !x.SG.Known {
			return
		}
		densest = max(densest, x.SG.Max)
	}
	block := l.Length.Max.Float() * l.Width.Max.Float() * l.Depth.Max.Float() / 1000 * densest * 5
	each := l.Carats.Float() / float64(l.Pieces)
	if block > 0 && each > block*1.1 {
		column := "weight"
		if c.filled("weight_ct") {
			column = "weight_ct"
		}
		c.warnf(column, "weight-size", "check the unit, the decimal point and the number of pieces",
			"a stone of %.3f ct is heavier than a block of %s of its size (%.3f ct)", each, m.species, block)
	}
}

// price reads the price and turns it into the lot's total in book currency.
func (r *parcelReader) price(c cells, l *Lot, measured bool) {
	r.currency(c)
	basis := c.word("price_basis", "", []string{"total", "per_carat", "per_piece"})
	if !c.filled("price") {
		if l.Owner.IsOwn() && !c.IsBad("price") {
			if r.unpriced == 0 {
				r.firstUnpriced = c.Where("price")
			}
			r.unpriced++
		}
		return
	}
	if isCustomer(l.Owner) {
		c.faultf("price", "price-customer", "leave the price empty",
			"a customer's own stones have no price in the book")
		return
	}
	if r.Currency == "" {
		if !r.noCurrency {
			c.faultf("price", "price-currency", "give the currency, or add a column named currency",
				"a price has no currency")
		}
		r.noCurrency = true
		return
	}
	amount, ok := r.amount(c, l, basis, measured)
	if !ok {
		return
	}
	l.Agreed = amount
	if r.Currency != r.head.Book {
		l.Foreign = &book.ForeignPrice{Amount: amount, Rate: r.Rate}
		l.Agreed = amount.Convert(r.Rate, r.head.Book, num.HalfUp)
	}
}

// amount is the lot's price in the invoice's currency by its basis.
func (r *parcelReader) amount(c cells, l *Lot, basis string, measured bool) (num.Money, bool) {
	before := len(*c.faults)
	if basis == "total" {
		m := read(c, "price", func(s string) (num.Money, *fault.Fault) { return num.ParseMoney(s, r.Currency) })
		if m.Sign() < 0 {
			c.faultf("price", "price-negative", "enter the price as a positive number",
				"a price must not be negative, but is %s", c.Text("price"))
		}
		return m, len(*c.faults) == before
	}
	u := read(c, "price", func(s string) (num.UnitPrice, *fault.Fault) { return num.ParseUnitPrice(s, r.Currency) })
	if basis == "" && !c.filled("price_basis") {
		c.need("price_basis", "write total, per_carat or per_piece")
	}
	if len(*c.faults) > before || basis == "" || !measured {
		return num.Money{}, false
	}
	of := num.Int(l.Pieces)
	if basis == "per_carat" {
		of = l.Carats.Dec()
	}
	if u.Dec().Mul(of).Cmp(num.Int(1_000_000_000)) > 0 { // past what one amount may be
		c.faultf("price", "money-too-large", "check the price, its basis and the quantity",
			"the lot's price is far too large: %s x %s", u.Dec(), of)
		return num.Money{}, false
	}
	return u.Times(of, num.HalfUp), true
}

func isCustomer(o book.Owner) bool { return strings.HasPrefix(string(o), book.AtCustomer+"/") }

// currency takes the row's currency: one invoice has one.
func (r *parcelReader) currency(c cells) {
	cur := read(c, "currency", num.ParseCurrency)
	switch {
	case cur == "" || cur == r.Currency:
	case r.Currency == "":
		r.Currency = cur
		if bad := r.setRate(); bad != nil {
			c.faults.Add(bad)
		}
	default:
		c.faultf("currency", "currency-mixed", "import each currency as a parcel of its own",
			"a parcel must have one currency, %s, but the row says %s", r.Currency, cur)
	}
}

// stonesSheet finds the sheet of single stones beside the sheet of lots.
func stonesSheet(f *sheet.File, main string) (string, bool) {
	if s, ok := f.SheetNamed("stones", "single stones"); ok && s != main {
		return s, true
	}
	for _, s := range f.Sheets() {
		if s == main || strings.EqualFold(s, "notes") {
			continue
		}
		header := f.Header(s, StoneColumns)
		if StoneColumns.Matches(header) >= 3 && (sheet.Columns{StoneColumns[0], StoneColumns[1]}).Matches(header) == 2 {
			return s, true
		}
	}
	return "", false
}
