package storetest

import (
	"context"
	"errors"
	"strings"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

func testLaw(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(buy(lot("P1", "A-1"), 10, 10000, cents(5000)))
	post := func(p ...ledger.Posting) ledger.Entry {
		return ledger.Entry{Kind: ledger.Adjust, Postings: p}
	}
	f.refused(ledger.Entry{Kind: ledger.Record}, "entry-empty")
	f.refused(post(ledger.Posting{Lot: "A-1", Place: book.Safe, Pieces: 1}), "entry-unbalanced")
	f.refused(post(ledger.Move("X-9", acme, book.Safe, 1, 100, cents(1))...), "lot-unknown", "lot-unknown")
	f.refused(post(ledger.Move("A-1", "shelf", book.Safe, 1, 100, cents(1))...), "place-unknown")
	f.refused(post(ledger.Move("A-1", book.Safe, book.LossCount, 11, 100, cents(1))...), "balance-below-zero")
	f.refused(post(ledger.Move("A-1", book.Safe, book.LossCount, 1, 10001, cents(1))...), "balance-below-zero")
	f.refused(post(ledger.Move("A-1", book.Safe, book.LossCount, 1, 100, cents(5001))...), "balance-below-zero")
	f.refused(post(ledger.Move("A-1", book.Safe, book.LossCount, 10, 9999, cents(5000))...), "balance-without-pieces")
	f.refused(post(ledger.Move("A-1", book.Safe, book.LossCount, 10, 10000, cents(4999))...), "balance-without-pieces")
	f.refused(post(ledger.Move("A-1", book.Safe, book.LossCount, 1, 100, num.Micros(5, euro))...), "posting-cost",
		"posting-cost")
	f.refused(post(ledger.Move("A-1", book.MadeCutting, book.Safe, 0, 100, cents(0))...), "posting-made")
	f.refused(ledger.Entry{Kind: ledger.Adjust, Reverses: "E1", Postings: ledger.Move("A-1", book.Safe, book.LossCount,
		1, 100, cents(1))}, "entry-head")
	// The law holds after the whole entry, not after each posting.
	f.mustPost(post(append(ledger.Move("A-1", book.Safe, "memo/Ruiz", 12, 10000, cents(5000)), ledger.Move("A-1", acme,
		book.Safe, 2, 0, cents(0))...)...))
	if got := f.balance("A-1", "memo/Ruiz"); got.Pieces != 12 {
		t.Errorf("memo = %+v", got)
	}
	// A refused entry leaves the transaction usable.
	err := f.store.Update(t.Context(), func(tx store.Tx) error {
		bad := post(ledger.Posting{Lot: "A-1", Place: book.Safe, Pieces: 1})
		bad.PostedOn, bad.Reason = day, "bad"
		if _, ok := fault.From(tx.Post(t.Context(), &bad)); !ok {
			t.Error("bad entry taken")
		}
		good := buy(lot("P1", "A-2"), 1, 100, cents(1))
		return tx.Post(t.Context(), &good)
	})
	if err != nil {
		t.Errorf("after a refusal: %v", err)
	}
	f.checkSeal()
	f.mustCheck()
}

func testCodes(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(buy(lot("P1", "Red-1"), 2, 2000, cents(100)))
	f.refused(buy(lot("P2", "Red-1"), 1, 1000, cents(100)), "lot-exists")
	f.refused(buy(lot("P2", "RED-1"), 1, 1000, cents(100)), "lot-case", "lot-exists")
	f.refused(buy(lot("P1", "Red-1"), 1, 1000, cents(100)), "lot-exists") // the same parcel once more
	// A split into a code that its parcel has already.
	split := ledger.Entry{Kind: ledger.Split, Records: []book.Record{lot("P1", "Red-1")}}
	f.mustPost(buy(lot("P1", "Red-2"), 2, 2000, cents(100)))
	split.Postings = append(ledger.Move("Red-2", book.Safe, acme, 1, 1000, cents(50)), ledger.Move("Red-1", acme,
		book.Safe, 1, 1000, cents(50))...)
	f.refused(split, "lot-exists")
	// A new version of a lot is no new lot: a memo lot that is bought.
	bought := lot("P1", "Red-1")
	bought.Note = "bought after all"
	f.mustPost(ledger.Entry{Kind: ledger.Buy, Records: []book.Record{bought}, Postings: ledger.Move("Red-1", acme,
		book.Safe, 0, 0, cents(20))})
	// A lot that was only offered keeps its code too.
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{lot("P3", "Offered")}})
	f.refused(ledger.Entry{Kind: ledger.Record, Records: []book.Record{lot("P4", "Offered")}}, "lot-exists")
	f.mustPost(buy(lot("P3", "Offered"), 1, 1000, cents(100)))
	// Once an import is taken back whole, its codes are free for the next.
	wrong := f.mustPost(buy(lot("P5", "Blue"), 1, 1000, cents(100)))
	f.refused(buy(lot("P6", "Blue"), 1, 1100, cents(100)), "lot-exists")
	f.mustPost(wrong.Reversed(day, "wrong file", "Ada"))
	f.mustPost(buy(lot("P6", "Blue"), 1, 1100, cents(100)))
	if got := f.balance("Blue", book.Safe); got.Carats != 1100 {
		t.Errorf("Blue = %+v", got)
	}
	f.mustCheck()
}

func testDates(t *testing.T, e Engine) {
	f := newFixture(t, e)
	f.mustPost(buy(lot("P1", "A-1"), 10, 10000, cents(5000)))
	x := move(ledger.Issue, "A-1", book.Safe, "setter/Ito", 1, 1000, cents(500))
	x.PostedOn = later
	f.mustPost(x)
	x.PostedOn = day
	f.refused(x, "entry-too-early")
	x.PostedOn = later
	f.mustPost(x)
	f.mustPost(buy(lot("P1", "A-2"), 1, 1000, cents(100))) // another lot has its own order
	f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{lot("P1", "A-1")}})

	// A reversal may be dated as the entry that it reverses, not before it. Then
	// the lot is as free as before: a wrong date is mended so.
	on := func(day book.Date, x ledger.Entry) ledger.Entry {
		x.PostedOn = day
		return x
	}
	f.mustPost(buy(lot("P2", "B-1"), 10, 10000, cents(5000)))
	wrong := f.mustPost(on("2026-02-20", move(ledger.Issue, "B-1", book.Safe, "setter/Ito", 1, 1000, cents(500))))
	f.refused(wrong.Reversed("2026-02-19", "wrong day", ""), "entry-too-early")
	f.mustPost(wrong.Reversed("2026-02-20", "wrong day", ""))
	issued := f.mustPost(on("2026-02-10", move(ledger.Issue, "B-1", book.Safe, "cutter/Okoro", 4, 4000, cents(2000))))
	// A sale that stood from the 15th to the end of March needs what was issued.
	sold := f.mustPost(on("2026-02-15", move(ledger.Sell, "B-1", "cutter/Okoro", "customer/Lind", 1, 1000, cents(500))))
	f.mustPost(sold.Reversed("2026-03-31", "the month is closed", ""))
	f.refused(issued.Reversed("2026-02-10", "wrong cutter", ""), "entry-too-early")
	f.refused(issued.Reversed("2026-03-30", "wrong cutter", ""), "entry-too-early")
	f.refused(on("2026-03-30", move(ledger.Issue, "B-1", book.Safe, "setter/Ito", 1, 1000, cents(500))),
		"entry-too-early")
	f.mustPost(issued.Reversed("2026-03-31", "wrong cutter", ""))
	for day, pieces := range map[book.Date]int64{"2026-02-09": 10, "2026-02-10": 6, "2026-03-30": 6, "2026-03-31": 10} {
		f.view(func(ctx context.Context, tx store.ReadTx) {
			b, err := tx.Balances(ctx, store.BalanceFilter{Lot: "B-1", Place: book.Safe, On: day})
			if err != nil || len(b) != 1 || b[0].Pieces != pieces {
				t.Errorf("in the safe on %s: %+v, %v", day, b, err)
			}
		})
	}
	f.mustCheck()
}

func testReversal(t *testing.T, e Engine) {
	f := newFixture(t, e)
	reverse := func(x ledger.Entry) ledger.Entry { return x.Reversed(day, "mistake", "Ada") }
	bought := f.mustPost(buy(lot("P1", "A-1"), 10, 10000, cents(5000)))
	issued := f.mustPost(move(ledger.Issue, "A-1", book.Safe, "cutter/Okoro", 4, 4000, cents(2000)))
	sold := f.mustPost(move(ledger.Sell, "A-1", "cutter/Okoro", "customer/Lind", 1, 1000, cents(500)))

	f.refused(reverse(bought), "entry-built-on")
	f.refused(reverse(issued), "entry-built-on")
	_, err := f.post(reverse(bought))
	for _, name := range []string{"E2 (issue)"} {
		if err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("the refusal does not name %s: %v", name, err)
		}
	}
	f.mustPost(reverse(sold))
	f.refused(reverse(sold), "entry-reversed")
	f.mustPost(reverse(issued))
	undo := f.mustPost(reverse(bought))
	f.refused(reverse(undo), "reverse-a-reversal")
	if got := f.balance("A-1", book.Safe); !got.IsZero() {
		t.Errorf("left in the safe: %+v", got)
	}
	f.refused(ledger.Entry{Kind: ledger.Reverse, Reverses: "E99", Postings: undo.Postings}, "entry-unknown")
	noted := f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{book.Setting{Key: "a", Value: "b"}}})
	f.refused(ledger.Entry{Kind: ledger.Reverse, Reverses: noted.Code, Records: []book.Record{book.Setting{Key: "a"}}},
		"reverse-nothing")
	paid := f.mustPost(ledger.Entry{Kind: ledger.Record, Records: []book.Record{book.Payment{Number: "PAY1"}}})
	f.mustPost(ledger.Entry{Kind: ledger.Reverse, Reverses: paid.Code, Records: []book.Record{
		book.Payment{Number: "PAY1"}}})
	again := f.mustPost(buy(lot("P1", "A-2"), 10, 10000, cents(5000)))
	half := reverse(again)
	half.Postings = ledger.Move("A-2", book.Safe, acme, 5, 5000, cents(2500))
	f.refused(half, "reversal-differs")
	// The sale derives its cost from a charge that changed the lot's average.
	f.mustPost(move(ledger.Issue, "A-2", book.Safe, "cutter/Okoro", 5, 5000, cents(2500)))
	charged := f.mustPost(ledger.Entry{Kind: ledger.Charge, Postings: ledger.Move("A-2", "charge/freight", book.Safe, 0,
		0, cents(100))})
	f.mustPost(move(ledger.Sell, "A-2", "cutter/Okoro", "customer/Lind", 1, 1000, cents(510)))
	f.refused(reverse(charged), "entry-built-on")
	f.view(func(ctx context.Context, tx store.ReadTx) {
		x, err := tx.Entry(ctx, undo.Code)
		if err != nil || x.Reverses != bought.Code || x.Kind != ledger.Reverse {
			t.Errorf("reversal = %+v, %v", x, err)
		}
	})
	f.mustCheck()

	// Work based on another state of the book is a conflict for the caller.
	base := store.Head{Sequence: 1}
	err = f.store.Update(t.Context(), func(tx store.Tx) error {
		if h, err := tx.Head(t.Context()); err != nil || h != base {
			return errors.Join(err, store.ErrConflict)
		}
		return nil
	})
	if !errors.Is(err, store.ErrConflict) {
		t.Errorf("update on another state: %v", err)
	}
}
