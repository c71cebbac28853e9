package app

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// LedgerShow returns entries, oldest first: all, or those of one lot, or one.
func (a *App) LedgerShow(ctx context.Context, lot, entry string, after int64, limit int) ([]ledger.Entry, error) {
	var out []ledger.Entry
	err := a.view(ctx, func(tx store.ReadTx) error {
		if entry != "" {
			e, err := tx.Entry(ctx, entry)
			if err != nil {
				return notFound(err, "entry", entry, "list them with: lotpaper ledger show")
			}
			out = []ledger.Entry{e}
			return nil
		}
		if lot != "" {
			if _, err := lotNamed(ctx, tx, lot); err != nil {
				return err
			}
		}
		var err error
		out, err = tx.Entries(ctx, store.EntryFilter{Lot: lot, After: after, Limit: limit})
		return err
	})
	return out, err
}

// LedgerCheck is the result of a check of the whole book.
type LedgerCheck struct {
	Entries     int64              `json:"entries"`
	Head        string             `json:"head"`
	Differences []store.Difference `json:"differences"`
}

// LedgerCheck compares all that is derived with what it derives from.
func (a *App) LedgerCheck(ctx context.Context) (LedgerCheck, error) {
	out := LedgerCheck{Differences: []store.Difference{}}
	err := a.view(ctx, func(tx store.ReadTx) error {
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		out.Entries, out.Head = head.Sequence, head.Hash
		return tx.Check(ctx, func(d store.Difference) { out.Differences = append(out.Differences, d) })
	})
	return out, err
}

// LedgerExport writes every sealed entry as one line of JSON: its body, the
// hash before it and its own.
func (a *App) LedgerExport(ctx context.Context, w io.Writer) error {
	return a.view(ctx, func(tx store.ReadTx) error {
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

// LedgerReverse takes one entry back by its negated postings; see undone for
// what else it writes.
func (a *App) LedgerReverse(ctx context.Context, w Write, code string) (ledger.Entry, error) {
	var out ledger.Entry
	if w.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a reversal needs a reason", "say why with --reason").AtFlag("reason")
	}
	err := a.update(ctx, w, func(tx store.Tx, s stamp) error {
		e, err := tx.Entry(ctx, code)
		if err != nil {
			return notFound(err, "entry", code, "list them with: lotpaper ledger show")
		}
		if len(e.Postings) == 0 {
			return fault.New(fault.Refused, "reverse-nothing", code+" moved nothing, so there is nothing to reverse", "write the corrected reading, rate or setting: the newest counts").AtRef(code)
		}
		out = e.Reversed(s.on, s.reason, s.who)
		if out.Records, err = undone(ctx, tx, e); err != nil {
			return err
		}
		return tx.Post(ctx, &out)
	})
	return out, err
}

// Backup writes a copy of the book to a new file and returns its head.
func (a *App) Backup(ctx context.Context, path string) (store.Head, error) {
	var head store.Head
	err := a.view(ctx, func(tx store.ReadTx) (err error) {
		head, err = tx.Head(ctx)
		return err
	})
	if err != nil {
		return head, err
	}
	return head, a.store.Backup(ctx, path)
}

// Init writes the first entry of a new book: its settings.
func (a *App) Init(ctx context.Context, w Write, values map[string]string) error {
	if len(values) == 0 {
		values = map[string]string{"carat_rule": "nine"}
	}
	if w.Reason == "" {
		w.Reason = "book opened"
	}
	return a.ConfigSet(ctx, w, values)
}

// pieceBalances are the real balances of one lot.
func pieceBalances(ctx context.Context, tx store.ReadTx, lot string) ([]ledger.Balance, error) {
	return tx.Balances(ctx, store.BalanceFilter{Lot: lot, RealOnly: true})
}

// balanceAt picks the balance of one place; zero when there is none.
func balanceAt(balances []ledger.Balance, lot string, place book.Place) ledger.Balance {
	for _, b := range balances {
		if b.Place == place {
			return b
		}
	}
	return ledger.Balance{Lot: lot, Place: place}
}
