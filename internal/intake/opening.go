package intake

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// OutOn are the papers that opening stock may be out on.
var OutOn = []string{"memo", "work", "order"}

// OpeningColumns are the columns of the stock that a dealer starts with: those of a
// parcel's lots, whom and when each lot was bought from, and who has it now.
var OpeningColumns = append(sheet.Columns{
	{Name: "vendor", Required: true, Aliases: []string{"supplier", "bought from"},
		Note: "Whom the lot was bought from, or who lends it.", Example: "A Vendor"},
	{Name: "bought", Required: true, Kind: sheet.DateColumn, Aliases: []string{"bought on", "purchase date"},
		Note: "When it was bought: its age counts from then.", Example: "2024-05-17"},
	{Name: "invoice", Aliases: []string{"invoice_no", "invoice number"}, Note: "The vendor's invoice: lots with the " +
		"same vendor, day and invoice are one parcel.", Example: "4711"},
	{Name: "out_on", Words: OutOn,
		Note: "memo, work or order, when the whole lot is out. A lot that is partly out is " +
			"listed as two. Empty: it lies in the safe.", Example: "memo"},
	{Name: "party", Aliases: []string{"out_to", "with"}, Note: "Who has what is out.", Example: "A Customer"},
	{Name: "due", Kind: sheet.DateColumn, Note: "When what is out is due back, or goods on memo in are to be settled.",
		Example: "2026-03-31"},
}, ParcelColumns...)

// Opening is one lot of the stock that a dealer starts with.
type Opening struct {
	Lot
	Vendor  string
	Bought  book.Date
	Invoice string
	OutOn   string // one of OutOn; empty: in the safe
	Party   string // who has what is out
	Due     book.Date
}

// ReadOpening reads the stock that a dealer starts with on a day. Prices are what
// the lots cost until then; they are in the book's currency unless the head or the
// file says another.
func ReadOpening(f *sheet.File, head Head, on book.Date) ([]Opening, Parcel, fault.List) {
	head.Each = nil
	table := sheet.Table{Sheet: sheetFor(f, OpeningColumns, "opening", "stock"), Kind: "opening",
		Columns: OpeningColumns}
	if head.Currency == "" && !slices.ContainsFunc(f.Header(table.Sheet, OpeningColumns), func(h string) bool {
		return strings.EqualFold(strings.TrimSpace(h), "currency")
	}) {
		head.Currency = head.Book
	}
	r := parcelReader{head: head, rows: map[string]int{}, Parcel: Parcel{Currency: head.Currency,
		Price: num.Zero(head.Book)}}
	if r.Currency != "" {
		if bad := r.setRate(); bad != nil {
			return nil, Parcel{}, fault.List{bad}
		}
	}
	var out []Opening
	faults := f.Read(table, func(row sheet.Row, l *fault.List) {
		c := cells{row, l}
		r.lot(c)
		o := opening(c, on)
		o.Lot = r.Lots[len(r.Lots)-1]
		out = append(out, o)
	})
	if faults.Blocks() {
		return nil, Parcel{}, faults
	}
	if r.unpriced > 0 {
		faults.Add(fault.New(fault.Invalid, "price-missing",
			fmt.Sprintf("%d lots of the dealer's own have no price: they enter the book at no cost", r.unpriced),
			"fill in price and price_basis, or adjust the lots later").At(r.firstUnpriced).AsWarning())
	}
	r.take()
	return out, r.Parcel, faults
}

// opening reads whom a lot was bought from, and who has it.
func opening(c cells, on book.Date) Opening {
	var o Opening
	name := func(column, what string) string {
		n := c.text(column)
		if n != "" {
			c.add(column, book.CheckName(what, n))
		}
		return n
	}
	if c.need("vendor", "name whom the lot was bought from") {
		o.Vendor = name("vendor", "a vendor")
	}
	if c.need("bought", "enter the day of the purchase, e.g. 2024-05-17") {
		o.Bought = read(c, "bought", book.ParseDate)
		if o.Bought > on {
			c.faultf("bought", "bought-later", "correct the day, or import the lot as a purchase",
				"opening stock was bought by the opening day %s, but this on %s", on, o.Bought)
		}
	}
	o.Invoice = c.text("invoice")
	o.OutOn = c.word("out_on", "", OutOn)
	o.Party = name("party", "a party")
	o.Due = read(c, "due", book.ParseDate)
	switch {
	case o.OutOn != "" && o.Party == "" && !c.IsBad("party"):
		c.faultf("party", "party-missing", "name who has it", "the lot is out on %s, but nobody is named", o.OutOn)
	case o.OutOn == "" && o.Party != "" && c.Text("out_on") == "":
		c.faultf("out_on", "out-missing", "write memo, work or order, or clear the party",
			"%s has the lot, but nothing says on which paper", o.Party)
	case o.OutOn == "order" && strings.HasPrefix(c.text("owner"), book.AtCustomer+"/"):
		c.faultf("out_on", "out-customer", "give it out as work", "a customer's own stone is not sent to be cut anew")
	}
	return o
}
