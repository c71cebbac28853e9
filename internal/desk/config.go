package desk

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// DefaultConfig is the settings of a book that changed none.
func DefaultConfig() Config {
	c, err := configOf(nil)
	if err != nil {
		panic("desk: a default in the table of settings: " + err.Error())
	}
	return c
}

// LoadConfig reads the book's settings over the defaults.
func LoadConfig(ctx context.Context, tx store.ReadTx) (Config, error) {
	values, err := settingValues(ctx, tx)
	if err != nil {
		return Config{}, err
	}
	return configOf(values)
}

// configOf reads values over the defaults.
func configOf(values map[string]string) (Config, error) {
	var c Config
	for _, s := range settings() {
		if f := s.read(&c, s.valueIn(values)); f != nil {
			return Config{}, fmt.Errorf("setting %s: %w", s.key, f)
		}
	}
	return c, nil
}

// valueIn is the setting's value among values, or its default.
func (s *setting) valueIn(values map[string]string) string {
	if v, given := values[s.key]; given {
		return v
	}
	return s.fallback
}

// settingValues are the settings that the book changed, by key.
func settingValues(ctx context.Context, tx store.ReadTx) (map[string]string, error) {
	rows, err := store.All[book.Setting](ctx, tx, "")
	out := map[string]string{}
	for _, r := range rows {
		out[r.Key] = r.Value
	}
	return out, err
}

// ConfigShow asks for the settings.
type ConfigShow struct{}

// ConfigShow returns every setting of the book, what it is set to and what it
// does.
func (desk *Desk) ConfigShow(ctx context.Context, _ ConfigShow) (answer.ConfigShow, error) {
	var out answer.ConfigShow
	err := desk.View(ctx, func(tx store.ReadTx) error {
		values, err := settingValues(ctx, tx)
		if err != nil {
			return err
		}
		out.Currency, out.Zone = string(tx.Meta().Currency), tx.Meta().Zone
		if out.Head, err = desk.ListHead(ctx, tx, "Settings"); err != nil {
			return err
		}
		for _, s := range settings() {
			_, given := values[s.key]
			out.Settings = append(out.Settings, answer.ConfigRow{Key: s.key, Value: s.valueIn(values), Default: !given,
				Words: s.words})
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
	if l := checkSettings(r.Values); l.Blocks() {
		return answer.ConfigSet{}, l
	}
	var out answer.ConfigSet
	err := desk.Update(ctx, r.Write, func(tx store.Tx, stamp Stamp) error {
		before, err := settingValues(ctx, tx)
		if err != nil {
			return err
		}
		out = answer.ConfigSet{Changed: []answer.ConfigChange{}}
		e := stamp.Entry(ledger.Record, "settings changed")
		for _, s := range settings() {
			if v, given := r.Values[s.key]; given {
				e.Records = append(e.Records, book.Setting{Key: s.key, Value: v})
				out.Changed = append(out.Changed, answer.ConfigChange{Key: s.key, Before: s.valueIn(before), Value: v})
			}
		}
		err = tx.Post(ctx, &e)
		out.Entry = e.Code
		return err
	})
	return out, err
}

// checkSettings are the faults of values that no setting reads, and of keys
// that no setting has.
func checkSettings(values map[string]string) fault.List {
	var l fault.List
	var known []string
	for _, s := range settings() {
		known = append(known, s.key)
		if v, given := values[s.key]; given {
			if f := s.read(&Config{}, v); f != nil {
				l.Add(f.At(fault.Where{Ref: s.key}))
			}
		}
	}
	for _, k := range slices.Sorted(maps.Keys(values)) {
		if !slices.Contains(known, k) {
			l.Add(fault.New(fault.NotFound, "config-unknown", fmt.Sprintf("there is no setting %q", k),
				cmp.Or(fault.DidYouMean(k, known), "list the settings")).AtRef(k).Do("config", "show"))
		}
	}
	return l
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
