package intake

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// ReturnColumns are the columns of the sheet on which a cutter's order comes
// back. The order's own columns stand before those that the cutter fills in.
// Sheets from before there were batches lack some of them.
var ReturnColumns = sheet.Columns{
	{Name: "order", Note: "The order."},
	{Name: "batch", Kind: sheet.NumberColumn, Note: "1 for what comes back first, 2 for what comes later, and so on."},
	{Name: "item", Required: true, Note: "The item of the order."},
	{Name: "lot", Note: "The lot that was sent; empty when none was."},
	{Name: "wanted", Note: "As ordered."},
	{Name: "size_mm", Note: "As ordered."},
	{Name: "sent_pieces", Kind: sheet.NumberColumn, Note: "As sent."},
	{Name: "sent_ct", Kind: sheet.NumberColumn, Note: "As sent."},
	{Name: "cut_pieces", Required: true, Kind: sheet.NumberColumn, Note: "Cut stones that come back."},
	{Name: "cut_ct", Required: true, Kind: sheet.NumberColumn, Note: "Their weight."},
	{Name: "length_mm", Note: "Of the cut stones, from the smallest to the largest: 6.95-7.05."},
	{Name: "width_mm", Note: "As length_mm."},
	{Name: "depth_mm", Note: "As length_mm."},
	{Name: "from_pieces", Kind: sheet.NumberColumn, Note: "Of the stones sent, how many these were cut from; " +
		"empty: as many as were cut."},
	{Name: "from_ct", Kind: sheet.NumberColumn, Note: "Their weight before."},
	{Name: "broken_pieces", Kind: sheet.NumberColumn, Note: "Pieces that broke."},
	{Name: "uncut_pieces_back", Kind: sheet.NumberColumn, Note: "Pieces that come back uncut."},
	{Name: "uncut_back_ct", Kind: sheet.NumberColumn, Note: "Their weight."},
	{Name: "rough_pieces_back", Kind: sheet.NumberColumn, Note: "Pieces left over that can be cut again."},
	{Name: "rough_back_ct", Kind: sheet.NumberColumn, Note: "Their weight."},
	{Name: "powder_and_chips_back_ct", Kind: sheet.NumberColumn, Note: "Weight of what else comes back."},
	{Name: "material", Note: "What the stones are, when it is not what was sent."},
	{Name: "treatment", Note: "Of stones that the cutter supplies."},
	{Name: "remarks", Aliases: []string{"remark", "note"}, Note: "Anything else."},
}

// Came is what came back of one item of an order: of one supplied lot, or of
// the cutter's own stones when no lot is named.
type Came struct {
	Item, Lot            string
	book.Weighed                      // stones as wanted
	Rejected             book.Weighed // stones that were cut and are not as wanted
	From                 book.Weighed // of the stones supplied, what these were cut from; zero: as many as were cut
	Broken               int64
	Uncut                book.Weighed
	Rough                book.Weighed // left over, to be cut again
	Chips                num.Carat
	Shape                string // empty: as ordered
	Length, Width, Depth book.Size
	Material, Treatment  string
	Remarks              string
	Sheet                ReturnRow // of a sheet
}

// ReturnRow says where on the sheet Return a line stands, and what the sheet says
// of itself: its order and batch, empty and 0 on a sheet without them.
type ReturnRow struct {
	Order string
	Batch int64
	at    map[string]fault.Where
}

// At is the place of a field of the line; false when it stands on no sheet.
func (r ReturnRow) At(field string) (fault.Where, bool) {
	column := map[string]string{"pieces": "cut_pieces", "carats": "cut_ct", "length": "length_mm", "width": "width_mm",
		"depth": "depth_mm", "from": "from_ct", "broken": "broken_pieces", "uncut": "uncut_back_ct",
		"rough": "rough_back_ct", "chips": "powder_and_chips_back_ct"}[field]
	if column == "" {
		column = field
	}
	w, ok := r.at[column]
	if !ok {
		w, ok = r.at["item"]
	}
	return w, ok
}

// ReadReturn reads the sheet Return of a cutter's order. Lines that the cutter
// left empty are left out.
func ReadReturn(f *sheet.File) ([]Came, fault.List) {
	var out []Came
	faults := f.Read(sheet.Table{Sheet: sheetFor(f, ReturnColumns, "return"), Columns: ReturnColumns},
		func(row sheet.Row, l *fault.List) {
			c := cells{row, l}
			if !c.any("cut_pieces", "cut_ct", "broken_pieces", "uncut_pieces_back", "uncut_back_ct", "rough_back_ct") {
				return
			}
			r := Came{Item: c.text("item"), Lot: c.text("lot"), Remarks: c.text("remarks"),
				Length: c.span("length_mm"), Width: c.span("width_mm"), Depth: c.span("depth_mm"),
				Material: c.text("material"), Treatment: treatment(c.text("treatment")),
				Sheet: ReturnRow{Order: c.text("order"), at: map[string]fault.Where{}}}
			r.Sheet.Batch, _ = c.count("batch")
			for _, column := range ReturnColumns {
				r.Sheet.at[column.Name] = c.Where(column.Name)
			}
			r.Pieces, r.Carats = c.both("cut_pieces", "cut_ct")
			r.Uncut.Pieces, r.Uncut.Carats = c.both("uncut_pieces_back", "uncut_back_ct")
			r.Rough.Pieces, r.Rough.Carats = c.both("rough_pieces_back", "rough_back_ct")
			r.From.Pieces, _ = c.count("from_pieces")
			r.From.Carats = c.weight("from_ct")
			r.Broken, _ = c.count("broken_pieces")
			r.Chips = c.weight("powder_and_chips_back_ct")
			checkReturn(c, &r)
			out = append(out, r)
		})
	if faults.Blocks() {
		return nil, faults
	}
	return out, faults
}

// checkReturn holds a line against what was sent: nothing gains weight.
func checkReturn(c cells, r *Came) {
	sent, sentCarats := c.both("sent_pieces", "sent_ct")
	if r.Lot == "" || sentCarats == 0 {
		return
	}
	if back := r.Carats + r.Uncut.Carats + r.Rough.Carats + r.Chips; back > sentCarats {
		c.faultf("cut_ct", "return-heavier", "weigh again; stones may have been switched",
			"%s ct come back of %s ct that were sent", back, sentCarats)
	}
	if r.Uncut.Pieces+r.Broken > sent {
		c.faultf("broken_pieces", "return-pieces", "count again", "%d pieces broke or come back uncut of %d that "+
			"were sent", r.Uncut.Pieces+r.Broken, sent)
	}
}

func (c cells) any(columns ...string) bool {
	for _, column := range columns {
		if c.Text(column) != "" || c.IsBad(column) {
			return true
		}
	}
	return false
}

// weight reads a weight in carats that is not negative.
func (c cells) weight(column string) num.Carat {
	w := read(c, column, num.ParseCarat)
	if w < 0 {
		c.faultf(column, "weight-negative", "enter the weight as a positive number, e.g. 1.20",
			"a weight must not be negative, but is %s", c.Text(column))
		return 0
	}
	return w
}

// both reads pieces and their weight: there are both or neither.
func (c cells) both(pieces, carats string) (int64, num.Carat) {
	n, counted := c.count(pieces)
	w := c.weight(carats)
	switch {
	case counted && n > 0 && w == 0 && !c.IsBad(carats) && c.Text(carats) == "":
		c.faultf(carats, "cell-missing", "weigh the pieces", "%d pieces have no weight", n)
	case n == 0 && w > 0:
		c.faultf(pieces, "pieces-zero", "count the pieces", "%s ct have no pieces", w)
	}
	return n, w
}

// span reads "7.05" or "6.95-7.05".
func (c cells) span(column string) book.Size {
	if !c.filled(column) {
		return book.Size{}
	}
	low, high, two := strings.Cut(strings.ReplaceAll(c.Text(column), "–", "-"), "-")
	if !two {
		high = low
	}
	least, bad := num.ParseMillimetre(low)
	most, bad2 := num.ParseMillimetre(high)
	switch {
	case bad != nil || bad2 != nil:
		c.faultf(column, "size-text", "write one size in mm, or the smallest and the largest: 6.95-7.05",
			"a size is wanted, but found %q", c.Text(column))
		return book.Size{}
	case least <= 0 || least > most:
		c.faultf(column, "size-order", "write the smallest first: 6.95-7.05", "a size must run from the smallest to "+
			"the "+
			"largest, but is %q", c.Text(column))
		return book.Size{}
	}
	return book.Size{Min: least, Max: most}
}
