package stockroom

import (
	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
)

// receiptModel is the receipt of a batch. It goes to the cutter too, so it holds no
// cost of the dealer's stones.
func (room *Room) receiptModel(c *receipt, b book.Batch, left []ledger.Balance) *answer.OrderReceipt {
	out := &answer.OrderReceipt{Order: b.Paper, Batch: b.Number, Cutter: b.Party, Sheet: b.Sheet, Due: c.order.Due,
		Breakage: c.order.Breakage, Lines: []answer.ReceiptLine{}, Out: answer.Still(left), Closed: b.Closes,
		Accept: b.Accept, Why: c.order.Ended, Charges: []answer.ReceiptCharge{}}
	for _, l := range b.Lines {
		out.Lines = append(out.Lines, answer.ReceiptLine{Item: l.Item, Lot: l.Lot, Outcome: string(l.Outcome),
			Pieces: l.Pieces, Carats: l.Carats, FromPieces: l.Off.Pieces, FromCarats: l.Off.Carats, Into: l.Into,
			Length: l.Length, Width: l.Width, Depth: l.Depth, Claimed: l.Claim, Note: l.Note})
	}
	for _, x := range c.charges {
		amount := x.Amount
		if x.Foreign != nil {
			amount = x.Foreign.Amount
		}
		out.Charges = append(out.Charges, answer.ReceiptCharge{Lot: x.Lot, Freight: x.Kind == freightCharge,
			Amount: amount})
	}
	if p := c.parcel; p != nil {
		for _, r := range c.entry.Records {
			if lot, ok := r.(book.Lot); ok && lot.Parcel == p.Code {
				amount := lot.Agreed
				if lot.Foreign != nil {
					amount = lot.Foreign.Amount
				}
				out.Charges = append(out.Charges, answer.ReceiptCharge{Lot: lot.Code, Bought: true, Amount: amount})
			}
		}
	}
	return out
}
