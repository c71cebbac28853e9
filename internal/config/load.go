package config

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// Default is the settings of a book that changed none.
func Default() Config {
	c, err := configOf(nil)
	if err != nil {
		panic("config: a default in the table of settings: " + err.Error())
	}
	return c
}

// Load reads the book's settings over the defaults.
func Load(ctx context.Context, tx store.ReadTx) (Config, error) {
	values, err := Values(ctx, tx)
	if err != nil {
		return Config{}, err
	}
	return configOf(values)
}

// configOf reads values over the defaults.
func configOf(values map[string]string) (Config, error) {
	var c Config
	for _, s := range all() {
		if f := s.read(&c, s.In(values)); f != nil {
			return Config{}, fmt.Errorf("setting %s: %w", s.Key, f)
		}
	}
	return c, nil
}

// In is the setting's value among values, or its default.
func (s *Setting) In(values map[string]string) string {
	if v, given := values[s.Key]; given {
		return v
	}
	return s.fallback
}

// Values are the settings that the book changed, by key.
func Values(ctx context.Context, tx store.ReadTx) (map[string]string, error) {
	rows, err := store.All[book.Setting](ctx, tx, "")
	out := map[string]string{}
	for _, r := range rows {
		out[r.Key] = r.Value
	}
	return out, err
}

// Check returns the faults of values that no setting reads, and of keys
// that no setting has.
func Check(values map[string]string) fault.List {
	var l fault.List
	var known []string
	for _, s := range all() {
		known = append(known, s.Key)
		if v, given := values[s.Key]; given {
			if f := s.read(&Config{}, v); f != nil {
				l.Add(f.At(fault.Where{Ref: s.Key}))
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
