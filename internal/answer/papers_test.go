package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// sampleCreditNote gives back half of the sapphires and the amethysts of the sample
// invoice, its part of their amounts, and a part of those that had one price: 411.02,
// 120.00 and 200.00 are 731.02, and their part of the tax is 168.13.
func sampleCreditNote() *Invoice {
	v := sampleInvoice()
	v.Number, v.Title, v.Of, v.Due, v.Terms = "CREDIT-2026-0001", "Credit note", "INVOICE-2026-0001", "", ""
	first, second, together := eur("411.02"), eur("120.00"), eur("200.00")
	v.Lines = v.Lines[:3]
	v.Lines[0].Pieces, v.Lines[0].Carats, v.Lines[0].Amount = 1, ct("1.172"), &first
	v.Lines[1].Pieces, v.Lines[1].Carats, v.Lines[1].Amount = 2, ct("2.067"), &second
	v.Together, v.Tax.Amount = &together, eur("168.13")
	v.Net, v.Total, v.Note = eur("731.02"), eur("899.15"), "came back unsold"
	return v
}

func sampleCountSheet() *CountSheet {
	h := sampleHead
	h.Number, h.Title = "COUNT-2026-0001", "Count of safe"
	return &CountSheet{Head: h, Place: book.Safe, Lots: []CountLot{
		{"A1", "=sapphire", "8.00 x 6.00", 2, ct("2.349")}, {"A2", "amethyst", "6.00", 3, ct("3.100")}}}
}

func sampleTransfer() *TransferNote {
	h := sampleHead
	h.Number, h.Title = "TRANSFER-2026-0001", "Transfer T1"
	return &TransferNote{Head: h, Transfer: "T1", To: "safe/PORTO", Due: "2026-04-02", Note: "by hand",
		Lots: []TransferLot{{"A1", "=sapphire", book.Safe, "oval", "8.00 x 6.00", 2, ct("2.349")},
			{"A2", "amethyst", book.Safe, "round", "6.00", 3, ct("3.100")}}}
}

func sampleOrderReceipt() *OrderReceipt {
	h := sampleHead
	h.Number, h.Title = "RECEIPT-2026-0003", "Receipt O1/2"
	size := func(low, high num.Millimetre) book.Size { return book.Size{Min: low, Max: high} }
	return &OrderReceipt{Head: h, Order: "O1", Batch: 2, Cutter: "=A Cutter", Sheet: 2, Due: "2026-05-15",
		Breakage: "borne by the dealer", Accept: "one split", Lines: []ReceiptLine{
			{Item: "A", Lot: "A1", Outcome: string(book.Accepted), Pieces: 3, Carats: ct("4.500"), FromPieces: 3,
				FromCarats: ct("9.000"), Into: "A1.1", Length: size(795, 805), Width: size(600, 600)},
			{Item: "A", Lot: "A1", Outcome: string(book.Broken), Pieces: 1, Claimed: true}},
		Charges: []ReceiptCharge{{Lot: "A1.1", Amount: eur("41.40")}, {Lot: "A1.1", Freight: true, Amount: eur("5")}},
		Out:     []book.SuppliedLot{{Lot: "A1", Pieces: 3, Carats: ct("9.000")}}}
}

func sampleWorkReceipt() *WorkReceipt {
	h := sampleHead
	h.Number, h.Title = "RECEIPT-2026-0004", "Receipt W1/1"
	return &WorkReceipt{Head: h, Ticket: "W1", Batch: 1, From: "=A Setter", Piece: "J1", Lines: []WorkReceiptLine{
		{"A1", WorkedWords[book.Placed], 1, ct("1.000"), false, ""},
		{"A2", WorkedWords[book.Broken], 1, 0, true, "at the girdle"}},
		Out: []WorkReceiptLine{{"A3", "still out", 2, ct("2.000"), false, ""}}}
}
