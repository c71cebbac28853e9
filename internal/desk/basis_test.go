package desk_test

import (
	"strings"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit/books"
)

const twoLots = "lot,species,shape,pieces,weight_ct,price,price_basis\nA,topaz,oval,10,20.00,100,total\n" +
	"B,topaz,oval,10,20.00,100,total\n"

// writes posts records as one entry.
func writes(t *testing.T, a *house.House, records ...book.Record) {
	t.Helper()
	err := a.Desk.Update(t.Context(), books.Who, func(tx store.Tx, s desk.Stamp) error {
		e := s.Entry(ledger.Record, "test")
		e.Records = records
		return tx.Post(t.Context(), &e)
	})
	if err != nil {
		t.Fatal(err)
	}
}

// lotOf reads a lot as the book has it.
func lotOf(t *testing.T, a *house.House, code string) book.Lot {
	t.Helper()
	return books.Stock(t, a)[code].Lot
}

func split(t *testing.T, a *house.House, lot string) {
	t.Helper()
	if _, err := a.Stockroom.LotSplit(t.Context(), stockroom.LotSplit{Movement: books.Moving, Lot: lot, Pieces: 1,
		Carats: 2000}); err != nil {
		t.Fatal(err)
	}
}

// basisOfA is what work reads that uses lot A in the design R1 of the line L.
func basisOfA(t *testing.T, a *house.House) *desk.Basis {
	t.Helper()
	var b *desk.Basis
	err := a.Desk.View(t.Context(), func(tx store.ReadTx) (err error) {
		b, err = desk.ReadBasis(t.Context(), tx)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	b.Lots("A")
	b.Kinds(book.KindConfig, book.KindRate, book.KindPrice)
	b.Records(book.Line{Name: "L"}, book.Design{Line: "L", Name: "R1"})
	return b
}

// paper is a model of no words.
type paper struct{ answer.Head }

func (paper) JSON() ([]byte, error) { return []byte(`{"schema":"test"}`), nil }

func (paper) Workbook() (*sheet.Workbook, error) {
	return &sheet.Workbook{Sheets: []sheet.Sheet{{Name: "Test"}}}, nil
}

// issue issues a paper that was read at a basis, and returns the head it prints.
func issue(t *testing.T, a *house.House, from *desk.Basis) (answer.Head, error) {
	var printed answer.Head
	err := a.Desk.Update(t.Context(), books.Who, func(tx store.Tx, s desk.Stamp) error {
		var p paper
		issued, err := desk.Issue(t.Context(), tx, s, desk.Papers{Reason: "test", From: from,
			Drafts: []desk.Draft{{Kind: "CARE", Model: &p}}})
		if err != nil {
			return err
		}
		printed = p.Head
		return tx.Post(t.Context(), &issued.Entry)
	})
	return printed, err
}

// An entry between the reading and the issue spoils a paper only when it
// touches what the paper was made from; the fault names it.
func TestIssue_ConflictByWhatWasRead(t *testing.T) {
	rate := book.Rate{Kind: "metal", Name: "gold", Value: num.Int(88), Unit: "EUR/g", On: "2026-01-02", Source: "test"}
	price := book.Price{Species: "topaz", On: "2026-01-02", Source: "test"}
	for _, c := range []struct {
		name    string
		between func(t *testing.T, a *house.House)
		names   string // the thing that the fault names; empty: no conflict
	}{
		{"nothing", func(*testing.T, *house.House) {}, ""},
		{"stones moved", func(t *testing.T, a *house.House) { split(t, a, "a") }, "lot A "},
		{"the lot's words", func(t *testing.T, a *house.House) {
			l := lotOf(t, a, "A")
			l.Color = "blue"
			writes(t, a, l)
		}, "lot A "},
		{"a reading", func(t *testing.T, a *house.House) {
			writes(t, a, book.Reading{Number: 1, Lot: "a", On: "2026-01-02"})
		}, "lot a "},
		{"a report", func(t *testing.T, a *house.House) {
			writes(t, a, book.Report{Lab: "X", Number: "1", Lot: "A"})
		}, "lot A "},
		{"a hold", func(t *testing.T, a *house.House) { writes(t, a, book.Hold{Lot: "A", For: "M/x/y", Pieces: 1}) },
			"lot A "},
		{"a rate", func(t *testing.T, a *house.House) { writes(t, a, rate) }, "rate metal/gold"},
		{"a price", func(t *testing.T, a *house.House) { writes(t, a, price) }, "price topaz"},
		{"a setting", func(t *testing.T, a *house.House) { writes(t, a, book.Setting{Key: "tax", Value: "20"}) },
			"setting tax"},
		{"the design", func(t *testing.T, a *house.House) { writes(t, a, book.Design{Line: "l", Name: "r1"}) },
			"design l/r1"},
		{"the line", func(t *testing.T, a *house.House) { writes(t, a, book.Line{Name: "L"}) }, "line L"},
		{"after many other entries", func(t *testing.T, a *house.House) {
			for n := range int64(5) {
				writes(t, a, book.Reading{Number: n + 1, Lot: "B"})
			}
			split(t, a, "A")
		}, "lot A "},

		{"another lot's stones", func(t *testing.T, a *house.House) { split(t, a, "B") }, ""},
		{"another lot's reading", func(t *testing.T, a *house.House) {
			writes(t, a, book.Reading{Number: 1, Lot: "B"})
		}, ""},
		{"another lot's report", func(t *testing.T, a *house.House) {
			writes(t, a, book.Report{Lab: "X", Number: "1", Lot: "B"})
		}, ""},
		{"another lot's hold", func(t *testing.T, a *house.House) {
			writes(t, a, book.Hold{Lot: "B", For: "L/R1/A", Pieces: 1})
		}, ""},
		{"a lot that came out of it, later", func(t *testing.T, a *house.House) {
			writes(t, a, book.Lot{Code: "C", Parent: "A", Owner: book.Own})
		}, ""},
		{"another design", func(t *testing.T, a *house.House) { writes(t, a, book.Design{Line: "L", Name: "R2"}) }, ""},
		{"another line", func(t *testing.T, a *house.House) { writes(t, a, book.Line{Name: "M"}) }, ""},
		{"another paper", func(t *testing.T, a *house.House) {
			if _, err := issue(t, a, basisOfA(t, a)); err != nil {
				t.Fatal(err)
			}
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			a := books.New(t)
			books.Buy(t, a, twoLots)
			from := basisOfA(t, a)
			c.between(t, a)
			printed, err := issue(t, a, from)
			if c.names == "" {
				if err != nil || printed.Book != from.Head.Hash {
					t.Errorf("refused: %v; printed the head %s, read at %s", err, printed.Book, from.Head.Hash)
				}
				return
			}
			l, ok := fault.From(err)
			if !ok || l[0].Code != "book-changed" || l[0].Kind != fault.Conflict ||
				!strings.HasPrefix(l[0].What, c.names) || !strings.Contains(l[0].What, "changed in entry E") {
				t.Errorf("%v", err)
			}
		})
	}
}

// A basis of another book, or of a book that a backup took the place of, fits
// nothing.
func TestBasis_AnotherBook(t *testing.T) {
	a, b := books.New(t), books.New(t)
	books.Buy(t, a, twoLots)
	later := basisOfA(t, a)
	if _, err := issue(t, b, later); err == nil {
		t.Error("a shorter book took the work of a longer one")
	}
	early := basisOfA(t, b)
	early.Head.Hash = strings.Repeat("0", 64)
	if _, err := issue(t, a, early); err == nil {
		t.Error("a book took the work of another chain")
	}
}
