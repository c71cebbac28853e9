package desk_test

import (
	"context"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit/books"
)

// planted is an entry that the store lets pass and that no room would post.
func planted(t *testing.T, s store.Store, kind ledger.Kind, postings []ledger.Posting, records ...book.Record) {
	t.Helper()
	err := s.Update(t.Context(), func(tx store.Tx) error {
		return tx.Post(t.Context(), &ledger.Entry{Kind: kind, PostedOn: "2026-03-02", Reason: "planted", Who: "x",
			Postings: postings, Records: records})
	})
	if err != nil {
		t.Fatal(err)
	}
}

func moved(lot string, from, to book.Place, pieces int64, carats num.Carat, cents int64) []ledger.Posting {
	return ledger.Move(lot, from, to, pieces, carats, num.FromMinor(cents, "EUR"))
}

// Each disagreement between papers and balances is found, and nothing else: the
// book has ten stones of A of 20.00 ct that cost 100.00, two of them out on memo
// M1, and an order O1 with two more.
func TestLedgerCheck_Papers(t *testing.T) {
	sold := book.PlaceOf(book.AtCustomer, "C")
	off := func(paper string, pieces int64, carats num.Carat) book.Batch {
		return book.Batch{Paper: paper, Number: 1, Party: "K", On: "2026-03-02", Lines: []book.BatchLine{{Lot: "A",
			Outcome: book.Accepted, Off: book.Weighed{Pieces: pieces, Carats: carats}}}}
	}
	for _, c := range []struct {
		name   string
		plant  func(t *testing.T, a *house.House, s store.Store)
		finds  string // empty: no difference
		remark string
	}{
		{name: "nothing planted", plant: func(*testing.T, *house.House, store.Store) {}},
		{name: "stones on a paper that the book has not", finds: "paper/M9", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/M9", 1, 2000, 1000))
		}},
		{name: "a stone left a memo without a batch", finds: "M1", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			planted(t, s, ledger.Return, moved("A", "paper/M1", book.Safe, 1, 2000, 1000))
		}},
		{name: "all left a memo without a batch", finds: "M1", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			planted(t, s, ledger.Sell, moved("A", "paper/M1", sold, 2, 4000, 2000))
		}},
		{name: "a batch that moved nothing", finds: "M1", plant: func(t *testing.T, _ *house.House, s store.Store) {
			planted(t, s, ledger.Record, nil, off("M1", 1, 2000))
		}},
		{name: "a batch that took off another weight", finds: "M1", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			planted(t, s, ledger.Return, moved("A", "paper/M1", book.Safe, 1, 2000, 1000), off("M1", 1, 1990))
		}},
		{name: "a batch of a paper that the book has not", finds: "M7/1", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			planted(t, s, ledger.Record, nil, off("M7", 1, 2000))
		}},
		{name: "a batch of another party", finds: "M1/1", plant: func(t *testing.T, _ *house.House, s store.Store) {
			b := off("M1", 1, 2000)
			b.Party = "Z"
			planted(t, s, ledger.Return, moved("A", "paper/M1", book.Safe, 1, 2000, 1000), b)
		}},
		{name: "another lot on a memo", finds: "M1", plant: func(t *testing.T, _ *house.House, s store.Store) {
			planted(t, s, ledger.Issue, moved("B", book.Safe, "paper/M1", 1, 1000, 500))
		}},
		{name: "more stones on an order than were sent", finds: "O1", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/O1", 1, 2000, 1000))
		}},
		{name: "stones on an order that was not sent", finds: "O2", plant: func(t *testing.T, a *house.House,
			s store.Store) {
			_, err := a.Stockroom.OrderDraft(t.Context(), stockroom.OrderDraft{Write: books.Who, Cutter: "K",
				Items: []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 700, Width: 500, Count: 1}}})
			if err != nil {
				t.Fatal(err)
			}
			o := book.Order{Number: "O2", Cutter: "K", State: "draft", On: "2026-03-02", At: "paper/O2"}
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/O2", 1, 2000, 1000), o)
		}},
		{name: "stones on a memo that is void", finds: "M1", plant: func(t *testing.T, a *house.House, s store.Store) {
			for _, entry := range []string{"E5", "E4"} {
				_, err := a.Stockroom.LedgerReverse(t.Context(), stockroom.LedgerReverse{Write: books.Who,
					Entry: entry})
				if err != nil {
					t.Fatal(err)
				}
			}
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/M1", 2, 4000, 2000))
		}},
		{name: "a memo that says more than went out", finds: "M3", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			m := book.Memo{Number: "M3", Party: "K", On: "2026-03-02", At: "paper/M3", Sent: []book.Sent{{Lot: "A",
				Pieces: 2, Carats: 4000}}}
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/M3", 1, 2000, 1000), m)
		}},
		{name: "a transfer under way", plant: func(t *testing.T, _ *house.House, s store.Store) {
			x := book.Transfer{Number: "T1", To: "safe/PORTO", On: "2026-03-02", At: "paper/T1",
				Sent: []book.Sent{{Lot: "A", Pieces: 2, Carats: 4000}}}
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/T1", 2, 4000, 2000), x)
		}},
		{name: "a transfer that says more than left", finds: "T1", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			x := book.Transfer{Number: "T1", To: "safe/PORTO", On: "2026-03-02", At: "paper/T1",
				Sent: []book.Sent{{Lot: "A", Pieces: 2, Carats: 4000}}}
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/T1", 1, 2000, 1000), x)
		}},
		{name: "a stone that arrived without a batch", finds: "T1", plant: func(t *testing.T, _ *house.House,
			s store.Store) {
			x := book.Transfer{Number: "T1", To: "safe/PORTO", On: "2026-03-02", At: "paper/T1",
				Sent: []book.Sent{{Lot: "A", Pieces: 2, Carats: 4000}}}
			planted(t, s, ledger.Issue, moved("A", book.Safe, "paper/T1", 2, 4000, 2000), x)
			planted(t, s, ledger.Return, moved("A", "paper/T1", "safe/PORTO", 1, 2000, 1000))
		}},
		{name: "stones of old memos that none names", remark: "memo/K has 1 pieces of A", plant: func(t *testing.T,
			_ *house.House, s store.Store) {
			planted(t, s, ledger.Issue, moved("A", book.Safe, "memo/K", 1, 2000, 1000))
		}},
		{name: "stones of an old memo", plant: func(t *testing.T, _ *house.House, s store.Store) {
			m := book.Memo{Number: "M3", Party: "K", State: "out", On: "2026-03-02", Lots: []book.SuppliedLot{{Lot: "A",
				Pieces: 1, Carats: 2000}}}
			planted(t, s, ledger.Issue, moved("A", book.Safe, "memo/K", 1, 2000, 1000), m)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, s := books.Interrupted(t)
			books.Buy(t, a, "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n"+
				"B,topaz,oval,10,10.00,50,total\n")
			ctx := t.Context()
			o, err := a.Stockroom.OrderDraft(ctx, stockroom.OrderDraft{Write: books.Who, Cutter: "K",
				Items: []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 700, Width: 500, Count: 2}}})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := a.Stockroom.MemoOut(ctx, stockroom.MemoOut{Movement: books.Moving, Party: "K",
				Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 2, Carats: 4000})}); err != nil {
				t.Fatal(err)
			}
			if _, err := a.Stockroom.OrderSend(ctx, stockroom.OrderSend{Movement: books.Moving,
				Number: o.Orders[0].Number, Lots: []stockroom.Supplying{{Moving: stockroom.Moving{Lot: "A", Pieces: 2,
					Carats: 4000}}}}); err != nil {
				t.Fatal(err)
			}
			c.plant(t, a, s.Store)
			check, err := a.Desk.LedgerCheck(context.Background(), desk.LedgerCheck{})
			if err != nil {
				t.Fatal(err)
			}
			if c.finds == "" != (len(check.Differences) == 0) || c.finds != "" && check.Differences[0].Ref != c.finds {
				t.Errorf("differences %v, want one of %q", check.Differences, c.finds)
			}
			if all := strings.Join(check.Remarks, "\n"); c.remark == "" != (all == "") ||
				!strings.Contains(all, c.remark) {
				t.Errorf("remarks %q, want %q", all, c.remark)
			}
		})
	}
}
