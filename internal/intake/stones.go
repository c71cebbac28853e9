package intake

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// StoneColumns are the columns of a parcel's single stones.
var StoneColumns = sheet.Columns{
	{Name: "lot", Required: true, Aliases: []string{"lot_no", "lot code", "paper"},
		Note: "The lot of the parcel that the stone belongs to.", Example: "A-1"},
	{Name: "stone", Required: true, Aliases: []string{"tag", "stone_no", "no"},
		Note: "The stone's tag, unique inside its lot.", Example: "3"},
	{Name: "weight_ct", Required: true, Aliases: []string{"weight", "carats", "ct"}, Kind: sheet.NumberColumn,
		Note: "Weight in carats.", Example: "1.234"},
	{Name: "length_mm", Aliases: []string{"length"}, Kind: sheet.NumberColumn, Note: "Length in mm.", Example: "8.95"},
	{Name: "width_mm", Aliases: []string{"width"}, Kind: sheet.NumberColumn, Note: "Width in mm.", Example: "6.97"},
	{Name: "depth_mm", Aliases: []string{"depth", "height_mm"}, Kind: sheet.NumberColumn, Note: "Depth in mm.",
		Example: "4.61"},
	{Name: "color", Aliases: []string{"colour"}, Note: "Empty: as the lot.", Example: "blue-green"},
	{Name: "clarity", Note: "Empty: as the lot.", Example: "eye clean"},
	{Name: "price", Kind: sheet.NumberColumn, Note: "Price of this stone in the invoice's currency. Then every stone " +
		"of the lot has one.", Example: "55.50"},
}

// Stone is one stone of a lot, to become a lot of one piece. What its row does
// not say is the lot's. Agreed is its price in the book's currency, zero when
// the stones of its lot have no prices of their own.
type Stone struct {
	book.Lot
	Row    int
	Carats num.Carat
}

// stones reads the single stones into the lots they belong to. optional says
// that a sheet without rows is no fault.
func (r *parcelReader) stones(f *sheet.File, name string, optional bool) fault.List {
	byCode := map[string]*Lot{}
	var codes []string
	for i := range r.Lots {
		if c := r.Lots[i].Label; c != "" {
			byCode[strings.ToLower(c)] = &r.Lots[i]
			codes = append(codes, c)
		}
	}
	seen := map[string]int{}
	where := map[*Lot]fault.Where{}
	faults := f.Read(sheet.Table{Sheet: name, Kind: "parcel", Columns: StoneColumns},
		func(row sheet.Row, l *fault.List) {
			c := cells{row, l}
			s, lot := r.stone(c, byCode, codes, seen)
			if lot == nil {
				return
			}
			if _, ok := where[lot]; !ok {
				where[lot] = c.Where("lot")
			}
			lot.Stones = append(lot.Stones, s)
		})
	if optional && len(faults) == 1 && faults[0].Code == "rows-missing" {
		return nil
	}
	if faults.Blocks() {
		return faults
	}
	for i := range r.Lots {
		if lot := &r.Lots[i]; len(lot.Stones) > 0 {
			faults.Add(r.checkStones(lot, where[lot])...)
		}
	}
	return faults
}

func (r *parcelReader) stone(c cells, byCode map[string]*Lot, codes []string, seen map[string]int) (Stone, *Lot) {
	s := Stone{Row: c.Number}
	var lot *Lot
	if c.need("lot", "name the lot that the stone belongs to") {
		code := c.Text("lot")
		if lot = byCode[strings.ToLower(code)]; lot == nil {
			mend := "name a lot of the parcel, or add the lot to it"
			if hint := fault.DidYouMean(code, codes); hint != "" {
				mend = hint
			}
			c.faultf("lot", "lot-unknown", mend, "the parcel has no lot %q", code)
		}
	}
	if c.need("stone", "give the stone a tag, such as 1, 2, 3") {
		s.Stone = c.Text("stone")
		if bad := book.CheckCode("a stone's", s.Stone); bad != nil {
			c.add("stone", bad)
		} else {
			c.seen(seen, "stone", "stone", c.text("lot")+" "+s.Stone)
		}
	}
	if c.need("weight_ct", "enter the stone's weight in carats, e.g. 1.234") {
		s.Carats = read(c, "weight_ct", num.ParseCarat)
		if d, bad := num.ParseDec(c.Text("weight_ct")); bad == nil && d.Sign() <= 0 {
			c.faultf("weight_ct", "weight-negative", "enter the weight as a positive number, e.g. 1.20",
				"a weight must be more than 0, but is %s", c.Text("weight_ct"))
		}
	}
	if lot == nil {
		return s, nil
	}
	tag := s.Stone
	s.Lot = lot.Lot
	s.Stone, s.Code, s.Label, s.Parent = tag, "", tag, lot.Code
	s.Agreed, s.Foreign, s.Estimated = num.Money{}, nil, false
	one := func(column string, of *book.Size) {
		if m := c.length(column); m > 0 {
			*of = book.Size{Min: m, Max: m}
		}
	}
	one("length_mm", &s.Length)
	one("width_mm", &s.Width)
	one("depth_mm", &s.Depth)
	if c.filled("color") {
		s.Color = c.Text("color")
	}
	if c.filled("clarity") {
		s.Clarity = c.Text("clarity")
	}
	r.stonePrice(c, &s, lot)
	return s, lot
}

func (r *parcelReader) stonePrice(c cells, s *Stone, lot *Lot) {
	switch {
	case !c.filled("price"):
		return
	case isCustomer(lot.Owner):
		c.faultf("price", "price-customer", "leave the price empty",
			"a customer's own stones have no price in the book")
		return
	case r.Currency == "":
		if !r.noCurrency {
			c.faultf("price", "price-currency", "give the currency, or add a column named currency to the lots",
				"a price has no currency")
		}
		r.noCurrency = true
		return
	}
	amount := read(c, "price", func(t string) (num.Money, *fault.Fault) { return num.ParseMoney(t, r.Currency) })
	if amount.Sign() < 0 {
		c.faultf("price", "price-negative", "enter the price as a positive number",
			"a price must not be negative, but is %s", c.Text("price"))
		return
	}
	s.Agreed = amount // converted with the lot, when all are read
}

// checkStones holds the stones of a lot against the lot: not more pieces, not
// more weight, prices for all or none and with the lot's own sum. The weights
// may differ by 0.005 ct a stone, half a scale division of a hundredth, before
// they are a fault: what is left is the book's to weigh.
func (r *parcelReader) checkStones(lot *Lot, where fault.Where) fault.List {
	var l fault.List
	add := func(code, mend, format string, args ...any) {
		l.Add(fault.New(fault.Invalid, code, fmt.Sprintf(format, args...), mend).At(where))
	}
	var carats num.Carat
	priced := 0
	sum := num.Zero(r.Currency)
	for i := range lot.Stones {
		carats += lot.Stones[i].Carats
		if !lot.Stones[i].Agreed.IsZero() {
			priced++
			sum = sum.Add(lot.Stones[i].Agreed)
		}
	}
	n := int64(len(lot.Stones))
	slack := num.Carat(5 * n)
	switch {
	case n > lot.Pieces:
		add("stones-many", "correct the lot's pieces, or remove the extra stones",
			"lot %s has %d pieces, but %d stones are listed", lot.Label, lot.Pieces, n)
	case carats > lot.Carats+slack, n == lot.Pieces && carats < lot.Carats-slack:
		add("stones-weight", "weigh again, or correct the lot's weight", "the %d stones of lot %s weigh %s ct "+
			"together, but the lot weighs %s ct", n, lot.Label, carats, lot.Carats)
	case n < lot.Pieces && carats >= lot.Carats:
		add("stones-weight", "weigh again, or correct the lot's weight", "%d of %d stones of lot %s weigh %s ct, "+
			"which leaves nothing of %s ct for the rest", n, lot.Pieces, lot.Label, carats, lot.Carats)
	}
	if priced == 0 {
		return l
	}
	total := lot.Agreed
	if lot.Foreign != nil {
		total = lot.Foreign.Amount
	}
	switch {
	case int64(priced) != n || n != lot.Pieces:
		add("stones-priced", "give every stone of the lot its price, or none", "only %d of the %d stones of lot %s "+
			"have a price", priced, lot.Pieces, lot.Label)
	case !total.IsZero() && total != sum:
		add("stones-price", "correct the prices, or leave the lot's or the stones' price empty",
			"the stones of lot %s cost %s together, but the lot costs %s", lot.Label, sum.Words(), total.Words())
	default:
		r.priceStones(lot, sum)
	}
	return l
}

// priceStones converts the lot's total once and shares it over the stones, so
// that they add up in the book's currency too.
func (r *parcelReader) priceStones(lot *Lot, sum num.Money) {
	if lot.Agreed.IsZero() {
		r.unpriced--
	}
	foreign := r.Currency != r.head.Book
	lot.Agreed = sum
	weights := make([]num.Dec, len(lot.Stones))
	for i := range lot.Stones {
		weights[i] = lot.Stones[i].Agreed.Dec()
	}
	if foreign {
		lot.Foreign = &book.ForeignPrice{Amount: sum, Rate: r.Rate}
		lot.Agreed = sum.Convert(r.Rate, r.head.Book, num.HalfUp)
	}
	for i, part := range lot.Agreed.Share(weights) {
		if s := &lot.Stones[i]; foreign {
			s.Foreign = &book.ForeignPrice{Amount: s.Agreed, Rate: r.Rate}
			s.Agreed = part
		}
	}
}
