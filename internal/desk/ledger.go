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

// LedgerShow returns entries, oldest first: all, or those of one lot, or one.
func (desk *Desk) LedgerShow(ctx context.Context, lot, entry string, after int64, limit int) ([]ledger.Entry, error) {
	var out []ledger.Entry
	err := desk.View(ctx, func(tx store.ReadTx) error {
		if entry != "" {
			e, err := tx.Entry(ctx, entry)
			if err != nil {
				return NotFound(err, "entry", entry)
			}
			out = []ledger.Entry{e}
			return nil
		}
		if lot != "" {
			if _, err := LotNamed(ctx, tx, lot); err != nil {
				return err
			}
		}
		var err error
		out, err = tx.Entries(ctx, store.EntryFilter{Lot: lot, After: after, Limit: limit})
		return err
	})
	return out, err
}

// LedgerCheck compares all that is derived with what it derives from.
func (desk *Desk) LedgerCheck(ctx context.Context) (answer.LedgerCheck, error) {
	out := answer.LedgerCheck{Differences: []answer.LedgerDifference{}}
	err := desk.View(ctx, func(tx store.ReadTx) error {
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		out.Entries, out.Head = head.Sequence, head.Hash
		return tx.Check(ctx, func(d store.Difference) {
			out.Differences = append(out.Differences, answer.LedgerDifference{Table: d.Table, Ref: d.Ref, What: d.What})
		})
	})
	return out, err
}

// LedgerExport writes every sealed entry as one line of JSON: its body, the
// hash before it and its own.
func (desk *Desk) LedgerExport(ctx context.Context, w io.Writer) error {
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
				if _, err := w.Write(append(line, '\n')); err != nil {
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

// Backup writes a copy of the book and returns its head.
func (desk *Desk) Backup(ctx context.Context, w io.Writer) (store.Head, error) {
	var head store.Head
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		head, err = tx.Head(ctx)
		return err
	})
	if err != nil {
		return head, err
	}
	return head, desk.store.Backup(ctx, w)
}

// Init writes the first entry of a new book: its settings.
func (desk *Desk) Init(ctx context.Context, w Write, values map[string]string) error {
	if len(values) == 0 {
		values = map[string]string{"carat_rule": "nine"}
	}
	if w.Reason == "" {
		w.Reason = "book opened"
	}
	return desk.ConfigSet(ctx, w, values)
}

// PieceBalances are the real balances of one lot.
func PieceBalances(ctx context.Context, tx store.ReadTx, lot string) ([]ledger.Balance, error) {
	return tx.Balances(ctx, store.BalanceFilter{Lot: lot, RealOnly: true})
}

// BalanceAt picks the balance of one place; zero when there is none.
func BalanceAt(balances []ledger.Balance, lot string, place book.Place) ledger.Balance {
	for _, b := range balances {
		if b.Place == place {
			return b
		}
	}
	return ledger.Balance{Lot: lot, Place: place}
}
