package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// LedgerShow asks for entries: one, or those of a lot, or all, from after a
// sequence and at most a limit of them.
type LedgerShow struct {
	Entry string
	Lot   string
	After int64
	Limit int // 0: all
}

// LedgerShow returns entries, oldest first.
func (desk *Desk) LedgerShow(ctx context.Context, r LedgerShow) (answer.LedgerShow, error) {
	out := answer.LedgerShow{Entries: []ledger.Entry{}}
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = desk.ListHead(ctx, tx, "Ledger"); err != nil {
			return err
		}
		if r.Entry != "" {
			e, err := EntryNamed(ctx, tx, r.Entry)
			out.Entries = append(out.Entries, e)
			return err
		}
		if r.Lot != "" {
			if _, err := Named[book.Lot](ctx, tx, r.Lot); err != nil {
				return err
			}
		}
		entries, err := tx.Entries(ctx, store.EntryFilter{Lot: r.Lot, After: r.After, Limit: r.Limit})
		out.Entries = append(out.Entries, entries...)
		return err
	})
	return out, err
}

// LedgerCheck asks whether the book agrees with itself.
type LedgerCheck struct{}

// LedgerCheck compares all that is derived with what it derives from, papers and
// finished pieces with what lies on and in them, and the hash chain with the entries.
func (desk *Desk) LedgerCheck(ctx context.Context, _ LedgerCheck) (answer.LedgerCheck, error) {
	out := answer.LedgerCheck{Differences: []answer.LedgerDifference{}, Remarks: []string{}}
	err := desk.View(ctx, func(tx store.ReadTx) error {
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		out.Entries, out.Head = head.Sequence, head.Hash
		report := func(table, ref, what string) {
			out.Differences = append(out.Differences, answer.LedgerDifference{Table: table, Ref: ref, What: what})
		}
		if err := tx.Check(ctx, func(d store.Difference) { report(d.Table, d.Ref, d.What) }); err != nil {
			return err
		}
		if err := CheckPieces(ctx, tx, report); err != nil {
			return err
		}
		return CheckPapers(ctx, tx, report, func(what string) { out.Remarks = append(out.Remarks, what) })
	})
	return out, err
}

// LedgerExport asks for the journal as lines of JSON.
type LedgerExport struct{ To io.Writer }

// LedgerExport writes every sealed entry as one line of JSON: its body, the
// hash before it and its own. It streams: a book's journal is not held whole.
func (desk *Desk) LedgerExport(ctx context.Context, r LedgerExport) error {
	return desk.View(ctx, func(tx store.ReadTx) error {
		const page = 500
		for after := int64(0); ; {
			bodies, err := tx.Bodies(ctx, after, page)
			if err != nil {
				return err
			}
			for _, b := range bodies {
				line, err := json.Marshal(struct {
					Schema   string          `json:"schema"`
					Body     json.RawMessage `json:"body"`
					Previous string          `json:"previous"`
					Hash     string          `json:"hash"`
				}{"lotpaper/ledger-entry/1", b.Body, b.Previous, b.Hash})
				if err != nil {
					return fmt.Errorf("export %s: %w", b.Code, err)
				}
				if _, err := r.To.Write(append(line, '\n')); err != nil {
					return err
				}
				after = b.Sequence
			}
			if len(bodies) < page {
				return nil
			}
		}
	})
}

// Backup asks for a copy of the book.
type Backup struct{ To io.Writer }

// Backup writes a copy of the book and returns the copy's head.
func (desk *Desk) Backup(ctx context.Context, r Backup) (answer.Backup, error) {
	head, err := desk.store.Backup(ctx, r.To)
	return answer.Backup{Entries: head.Sequence, Head: head.Hash}, mendable(err, thisBook)
}
