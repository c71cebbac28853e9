package desk

import (
	"cmp"
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// ConfigShow asks for the settings.
type ConfigShow struct{}

// ConfigShow returns every setting of the book, what it is set to and what it
// does.
func (desk *Desk) ConfigShow(ctx context.Context, _ ConfigShow) (answer.ConfigShow, error) {
	var out answer.ConfigShow
	err := desk.View(ctx, func(tx store.ReadTx) error {
		values, err := config.Values(ctx, tx)
		if err != nil {
			return err
		}
		out.Currency, out.Zone = string(tx.Meta().Currency), tx.Meta().Zone
		if out.Head, err = desk.ListHead(ctx, tx, "Settings"); err != nil {
			return err
		}
		for _, s := range config.All() {
			_, given := values[s.Key]
			out.Settings = append(out.Settings, answer.ConfigRow{Key: s.Key, Value: s.In(values), Default: !given,
				Words: s.Words})
		}
		return nil
	})
	return out, err
}

// ConfigSet asks to change settings: the new values as text, by key.
type ConfigSet struct {
	Write
	Values map[string]string
}

// ConfigSet changes settings, all or none.
func (desk *Desk) ConfigSet(ctx context.Context, r ConfigSet) (answer.ConfigSet, error) {
	if l := config.Check(r.Values); l.Blocks() {
		return answer.ConfigSet{}, l
	}
	var out answer.ConfigSet
	err := desk.Update(ctx, r.Write, func(tx store.Tx, stamp Stamp) error {
		before, err := config.Values(ctx, tx)
		if err != nil {
			return err
		}
		out = answer.ConfigSet{Changed: []answer.ConfigChange{}}
		e := stamp.Entry(ledger.Record, "settings changed")
		for _, s := range config.All() {
			if v, given := r.Values[s.Key]; given {
				e.Records = append(e.Records, book.Setting{Key: s.Key, Value: v})
				out.Changed = append(out.Changed, answer.ConfigChange{Key: s.Key, Before: s.In(before), Value: v})
			}
		}
		err = tx.Post(ctx, &e)
		out.Entry = e.Code
		return err
	})
	return out, err
}

// Init asks to open a new book with settings.
type Init ConfigSet

// Init writes the first entry of a new book: its settings. Without any it
// states the rule of carats, which an entry must hold.
func (desk *Desk) Init(ctx context.Context, r Init) (answer.ConfigSet, error) {
	if len(r.Values) == 0 {
		r.Values = map[string]string{"carat_rule": "nine"}
	}
	r.Reason = cmp.Or(r.Reason, "book opened")
	return desk.ConfigSet(ctx, ConfigSet(r))
}
