package answer

import (
	"fmt"

	"lotpaper/internal/num"
)

// tally keeps the figures of a document by key: inputs, and what formulas make
// of them. A workbook gives each figure a cell; the text gives its value.
type tally struct {
	currency num.Currency
	figures  map[string]*figure
	lists    map[string][]string // key of a list -> keys of its figures
	order    []string
}

// figure is one number (or word) of a document.
type figure struct {
	key     string
	formula string // empty: an input
	expr    *expr
	value   result
	done    bool
	busy    bool
}

func newTally(c num.Currency) *tally {
	return &tally{currency: c, figures: map[string]*figure{}, lists: map[string][]string{}}
}

// input adds a number that formulas read.
func (t *tally) input(key string, value num.Dec) error {
	return t.add(&figure{key: key, value: one(exact(value)), done: true})
}

// formula adds a figure that follows from others.
func (t *tally) formula(key, formula string) error {
	e, err := parse(formula)
	if err != nil {
		return fmt.Errorf("%s: %w", key, err)
	}
	return t.add(&figure{key: key, formula: formula, expr: e})
}

func (t *tally) add(f *figure) error {
	if f.key == "" || closing("{"+f.key+"}") != len(f.key) {
		return fmt.Errorf("figure key %q is empty or has a brace without its pair", f.key)
	}
	if _, twice := t.figures[f.key]; twice {
		return fmt.Errorf("figure %q is there twice", f.key)
	}
	t.figures[f.key] = f
	t.order = append(t.order, f.key)
	return nil
}

// list names figures that SUM, MIN and MAX take together. In a workbook they
// lie below each other in one column.
func (t *tally) list(key string, members []string) { t.lists[key] = members }

// get is the value of a figure, or the values of a list.
func (t *tally) get(key string) (result, error) {
	if members, ok := t.lists[key]; ok {
		var all result
		for _, m := range members {
			r, err := t.get(m)
			if err != nil {
				return result{}, err
			}
			n, err := r.number()
			if err != nil {
				return result{}, fmt.Errorf("%s in the list %s: %w", m, key, err)
			}
			all.numbers = append(all.numbers, n)
		}
		return all, nil
	}
	f, ok := t.figures[key]
	switch {
	case !ok:
		return result{}, fmt.Errorf("figure %q is not known", key)
	case f.done:
		return f.value, nil
	case f.busy:
		return result{}, fmt.Errorf("figure %q depends on itself", key)
	}
	f.busy = true
	r, err := f.expr.eval(t.get)
	if err != nil {
		return result{}, fmt.Errorf("%s = %s: %w", key, f.formula, err)
	}
	f.value, f.done, f.busy = r, true, false
	return r, nil
}

// money is a figure as an amount at the minor unit.
func (t *tally) money(key string) (num.Money, error) {
	r, err := t.get(key)
	if err != nil {
		return num.Money{}, err
	}
	n, err := r.number()
	if err != nil {
		return num.Money{}, fmt.Errorf("%s: %w", key, err)
	}
	m, ok := money(n, t.currency)
	if !ok {
		return num.Money{}, fmt.Errorf("%s is %s, which is finer than the minor unit of %s", key, n.FloatString(8), t.currency)
	}
	return m, nil
}

// dec is a figure rounded half up to places.
func (t *tally) dec(key string, places int) (num.Dec, error) {
	r, err := t.get(key)
	if err != nil {
		return num.Dec{}, err
	}
	n, err := r.number()
	if err != nil {
		return num.Dec{}, fmt.Errorf("%s: %w", key, err)
	}
	return decimal(n, places), nil
}

// change sets an input to another value and forgets what followed from it.
func (t *tally) change(key string, value num.Dec) error {
	f, ok := t.figures[key]
	if !ok || f.expr != nil {
		return fmt.Errorf("%q is no input", key)
	}
	f.value = one(exact(value))
	for _, g := range t.figures {
		if g.expr != nil {
			g.done = false
		}
	}
	return nil
}
