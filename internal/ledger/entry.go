// Package ledger is the law of the record: entries whose pieces, carats and
// cost each add up to zero, balances that never fall below zero, reversal as
// the only correction, and how cost leaves a lot. It is pure.
package ledger

import (
	"fmt"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Kind says what an entry records.
type Kind string

// The kinds of entries. Those of the second group never move stones.
const (
	Buy     Kind = "buy"
	MemoIn  Kind = "memo-in"
	Charge  Kind = "charge"
	Sort    Kind = "sort"
	Split   Kind = "split"
	Merge   Kind = "merge"
	Adjust  Kind = "adjust"
	Issue   Kind = "issue"  // to a cutter, setter or memo
	Return  Kind = "return" // and back
	Cut     Kind = "cut"
	Break   Kind = "break"
	Lose    Kind = "lose"
	Set     Kind = "set" // into a piece
	Sell    Kind = "sell"
	Reverse Kind = "reverse"

	Record Kind = "record" // readings, reports, rates, prices, designs, holds, orders, documents, settings
)

// Posting is one balanced line of an entry: what changes for one lot at one
// place. Boundary places take the other side.
type Posting struct {
	Lot    string     `json:"lot"`
	Place  book.Place `json:"place"`
	Pieces int64      `json:"pieces"`
	Carats num.Carat  `json:"carats"`
	Cost   num.Money  `json:"cost"`
}

// Entry is one event of the book. Code and RecordedAt are given by the store.
type Entry struct {
	Sequence   int64         `json:"sequence"`
	Code       string        `json:"code"` // E345
	Kind       Kind          `json:"kind"`
	PostedOn   book.Date     `json:"posted_on"`
	RecordedAt time.Time     `json:"recorded_at"`
	Reason     string        `json:"reason"`
	Who        string        `json:"who"`
	Reverses   string        `json:"reverses,omitempty"`
	Postings   []Posting     `json:"postings"`
	Records    []book.Record `json:"-"` // the version and journal rows it writes
}

// Code is the code of the entry with sequence n.
func Code(n int64) string { return fmt.Sprintf("E%d", n) }

// Total is pieces, carats and cost together.
type Total struct {
	Pieces int64
	Carats num.Carat
	Cost   num.Money
}

// IsZero reports whether nothing is left.
func (t Total) IsZero() bool { return t.Pieces == 0 && t.Carats == 0 && t.Cost.IsZero() }

// Add returns t with p added.
func (t Total) Add(p Posting) Total {
	return Total{t.Pieces + p.Pieces, t.Carats + p.Carats, t.Cost.Add(p.Cost)}
}

// Sum adds up postings.
func Sum(postings []Posting) Total {
	var t Total
	for _, p := range postings {
		t = t.Add(p)
	}
	return t
}

// Check returns the faults of an entry by itself: it needs a kind, a date and
// a reason, each posting a lot and a place, each cost whole minor units of the
// book's currency, and the sums of pieces, carats and cost must each be zero.
func (e Entry) Check(currency num.Currency) fault.List {
	var l fault.List
	if e.Kind == "" || e.PostedOn == "" || e.Reason == "" {
		l.Add(fault.New(fault.Invalid, "entry-head", "an entry needs a kind, a date and a reason",
			"give the reason in a few words"))
	}
	for i, p := range e.Postings {
		if p.Lot == "" || p.Place == "" {
			l.Add(fault.New(fault.Invalid, "posting-place", fmt.Sprintf("posting %d names no lot or place", i+1),
				"name both"))
		}
		if !p.Cost.IsWhole() || p.Cost.Currency() != "" && p.Cost.Currency() != currency {
			l.Add(fault.New(fault.Invalid, "posting-cost",
				fmt.Sprintf("posting %d costs %s: a posted cost is whole minor units of %s", i+1, p.Cost.Words(),
					currency), "round it, or convert it at the rate of the day"))
		}
		if (p.Place == book.MadeCutting || p.Place == book.MadePiece) && (p.Carats != 0 || !p.Cost.IsZero()) {
			l.Add(fault.New(fault.Invalid, "posting-made", string(p.Place)+" must take a difference in pieces only",
				"post weight to loss/cutting, and cost to charge/KIND"))
		}
	}
	if l.Blocks() { // costs of two currencies do not add up
		return l
	}
	if t := Sum(e.Postings); !t.IsZero() {
		l.Add(fault.New(fault.Invalid, "entry-unbalanced",
			fmt.Sprintf("the entry does not balance: %+d pieces, %s ct and %s are left over", t.Pieces, t.Carats,
				t.Cost), "post the other side"))
	}
	return l
}

// Reversed returns the entry that takes e back: the same postings, negated.
func (e Entry) Reversed(on book.Date, reason, who string) Entry {
	r := Entry{Kind: Reverse, PostedOn: on, Reason: reason, Who: who, Reverses: e.Code}
	for _, p := range e.Postings {
		r.Postings = append(r.Postings, Posting{p.Lot, p.Place, -p.Pieces, -p.Carats, p.Cost.Neg()})
	}
	return r
}
