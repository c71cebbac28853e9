package desk_test

import (
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/ledger"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// Each disagreement between a finished piece and the stones in it is found: the
// book has ten stones of A of 20.00 ct that cost 100.00, two of them in J1, which
// cost 50.00. Stones in a piece that is no lot are right, as older books have them.
func TestLedgerCheck_Pieces(t *testing.T) {
	sold := book.PlaceOf(book.AtCustomer, "C")
	for _, c := range []struct {
		name     string
		postings []ledger.Posting
		records  []book.Record
		finds    string // empty: no difference
	}{
		{name: "stones in an old piece", postings: moved("A", book.Safe, "piece/R1", 1, 2000, 1000)},
		{name: "sold without its stones", postings: moved("J1", book.Safe, sold, 1, 0, 5000), finds: "J1"},
		{name: "lost without its stones", postings: moved("J1", book.Safe, book.LossCount, 1, 0, 5000), finds: "J1"},
		{name: "two of one piece", postings: moved("J1", book.MadePiece, book.Safe, 1, 0, 0), finds: "J1"},
		{name: "a piece that weighs", postings: moved("J1", book.LossWeighing, book.Safe, 0, 1000, 0), finds: "J1"},
		{name: "a piece in a piece", postings: moved("J2", book.MadePiece, "piece/J1", 1, 0, 0), records: []book.Record{
			book.Lot{Code: "J2", Kind: book.PieceLot, Owner: book.Own, Jewel: &book.Jewel{Is: "ring"}}}, finds: "J2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, s := books.Interrupted(t)
			books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n")
			if _, err := a.Stockroom.PieceAdd(t.Context(), stockroom.PieceAdd{Movement: books.Moving,
				Jewel: book.Jewel{Is: "ring"}, Metal: stockroom.Paid{Amount: books.Money("50")},
				Lots: []stockroom.Moving{{Lot: "A", Pieces: 2, Carats: 4000}}}); err != nil {
				t.Fatal(err)
			}
			planted(t, s.Store, ledger.Sell, c.postings, c.records...)
			check, err := a.Desk.LedgerCheck(t.Context(), desk.LedgerCheck{})
			if err != nil {
				t.Fatal(err)
			}
			if c.finds == "" != (len(check.Differences) == 0) || c.finds != "" && check.Differences[0].Ref != c.finds {
				t.Errorf("differences %v, want one of %q", check.Differences, c.finds)
			}
		})
	}
}
