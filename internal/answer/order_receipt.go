package answer

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// OrderReceipt says what came back of an order in one batch, and what is still out.
// It holds no cost of the dealer's stones: the cutter may have it.
type OrderReceipt struct {
	Head
	Order    string             `json:"order"`
	Batch    int64              `json:"batch"`
	Cutter   string             `json:"cutter"`
	Sheet    int64              `json:"sheet"` // the batch's number on the cutter's own sheet; 0: by hand
	Due      book.Date          `json:"due"`
	Breakage string             `json:"breakage"`
	Lines    []ReceiptLine      `json:"lines"`
	Charges  []ReceiptCharge    `json:"charges"`
	Out      []book.SuppliedLot `json:"out"`
	Closed   bool               `json:"closed"`
	Why      string             `json:"why"`    // it was closed
	Accept   string             `json:"accept"` // why differences were accepted
}

// ReceiptLine is what became of a part of one lot.
type ReceiptLine struct {
	Item       string    `json:"item"`
	Lot        string    `json:"lot"` // that was sent; empty: the cutter's own
	Outcome    string    `json:"outcome"`
	Pieces     int64     `json:"pieces"`
	Carats     num.Carat `json:"carats"`
	FromPieces int64     `json:"from_pieces"` // of what was sent
	FromCarats num.Carat `json:"from_carats"`
	Into       string    `json:"into"` // the lot that it is now
	Length     book.Size `json:"length"`
	Width      book.Size `json:"width"`
	Depth      book.Size `json:"depth"`
	Claimed    bool      `json:"claimed"` // its cost is claimed from the cutter
	Note       string    `json:"note"`
}

// ReceiptCharge is what the cutter bills for one lot.
type ReceiptCharge struct {
	Lot     string    `json:"lot"`
	Bought  bool      `json:"bought"` // the price of the stones, not of cutting them
	Freight bool      `json:"freight"`
	Amount  num.Money `json:"amount"` // in the cutter's currency
}

// JSON is the model's canonical form: lotpaper/order-receipt/1.
func (r *OrderReceipt) JSON() ([]byte, error) { return encode("lotpaper/order-receipt/1", r) }

// Workbook is the receipt on one sheet.
func (r *OrderReceipt) Workbook() (*sheet.Workbook, error) {
	t := newTally(r.Currency)
	const wide = 10
	s := &page{Sheet: sheet.Sheet{Name: "Receipt", Title: r.Title, Landscape: true, Columns: []sheet.Col{{Width: 16},
		{Width: 14}, {Width: 14}, {Width: 17}, {Width: 24}, {Width: 8}, {Width: 11}, {Width: 12}, {Width: 11},
		{Width: 26}}}}
	state := "what is not named here is still out"
	switch {
	case r.Closed:
		state = "closed: " + r.Why
	case len(r.Out) == 0:
		state = "nothing is out any more"
	}
	s.pairs(wide-1, withValue(append(r.origin(), [2]string{"Order", fmt.Sprintf("%s, batch %d", r.Order, r.Batch)},
		[2]string{"Cutter", r.Cutter}, [2]string{"State", state}, [2]string{"Breakage", r.Breakage},
		[2]string{"Accepted", r.Accept})))
	s.gap()
	s.section("What came", wide)
	const numbers = 5 // the columns of numbers begin
	row := func(words ...string) {
		var cells []cell
		for i, w := range words {
			c := sheet.Text(w).As(sheet.Label)
			if i >= numbers && w != "Remarks" {
				c = c.Right()
			}
			cells = append(cells, plain(c))
		}
		s.add(cells...)
	}
	row("Item", "Lot sent", "Lot now", "Outcome", "Size (mm)", "Pieces", "Weight (ct)", "From pieces", "From (ct)",
		"Remarks")
	for _, l := range r.Lines {
		note := l.Note
		if l.Claimed {
			note = strings.Join(fields("to be made good by the cutter", note), "; ")
		}
		size := strings.Join(fields(l.Length.String(), l.Width.String(), l.Depth.String()), " x ")
		s.add(styled(cmp.Or(l.Item, "any"), sheet.Strong), text(cmp.Or(l.Lot, "supplied")), text(l.Into),
			text(outcomeWords[book.Outcome(l.Outcome)]), text(size), plain(someOf(l.Pieces)),
			plain(someCarats(l.Carats)),
			plain(someOf(l.FromPieces)), plain(someCarats(l.FromCarats)), text(note))
	}
	if len(r.Charges) > 0 {
		s.gap()
		s.section("Billed by the cutter", wide)
		row("Lot now", "For", "Currency", "", "", "Amount")
		for _, c := range r.Charges {
			what := "cutting"
			switch {
			case c.Bought:
				what = "the stones"
			case c.Freight:
				what = "freight"
			}
			s.add(styled(c.Lot, sheet.Strong), text(what), text(string(c.Amount.Currency())), cell{}, cell{},
				plain(sheet.Money(c.Amount)))
		}
	}
	if len(r.Out) > 0 {
		s.gap()
		s.section("Still out", wide)
		row("Lot", "Due", "", "", "", "Pieces", "Weight (ct)")
		for _, l := range r.Out {
			s.add(styled(l.Lot, sheet.Strong), text(string(r.Due)), cell{}, cell{}, cell{},
				whole(l.Pieces), plain(sheet.Carats(l.Carats)))
		}
	}
	s.gap()
	s.section("Basis", wide)
	s.pairs(wide-1, r.basis())
	s.notes(wide, "Counted and weighed by the dealer. From: what of the stones sent these were cut from, by the "+
		"cutter's "+
		"word or at the mean weight of the lot.")
	return assemble(r.Head, t, []*page{s})
}

// someCarats is a weight above 0.
func someCarats(w num.Carat) sheet.Cell {
	if w == 0 {
		return sheet.Empty()
	}
	return sheet.Carats(w)
}
