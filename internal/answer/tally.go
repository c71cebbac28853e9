package answer

import (
	"fmt"

	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// tally keeps the figures of a document by key: inputs, and what follows from
// them by expressions. A workbook gives each figure a cell; the text gives its
// value. It keeps the first error of what is added.
type tally struct {
	currency num.Currency
	figures  map[formula.Key]*figure
	lists    map[formula.Key][]formula.Key // key of a list -> keys of its figures
	order    []formula.Key
	err      error
}

// figure is one number (or word) of a document.
type figure struct {
	expr  formula.Expr // none: an input
	value formula.Value
	done  bool
	busy  bool
}

func newTally(c num.Currency) *tally {
	return &tally{currency: c, figures: map[formula.Key]*figure{}, lists: map[formula.Key][]formula.Key{}}
}

// input adds a number that expressions read.
func (t *tally) input(key formula.Key, value num.Dec) {
	t.add(key, &figure{value: formula.Exact(value), done: true})
}

// formula adds a figure that follows from others.
func (t *tally) formula(key formula.Key, x formula.Expr) { t.add(key, &figure{expr: x}) }

func (t *tally) add(key formula.Key, f *figure) {
	if _, twice := t.figures[key]; (twice || key == "") && t.err == nil {
		t.err = fmt.Errorf("figure %q is there twice, or has no key", key)
	}
	t.figures[key] = f
	t.order = append(t.order, key)
}

// reckon adds figures that follow from others.
func (t *tally) reckon(figures ...formula.Figure) {
	for _, f := range figures {
		if f.List != nil {
			t.list(f.ListKey(), f.List)
		}
		t.formula(f.Key, f.Expr)
	}
}

// list names figures that sums take together. In a workbook they lie below
// each other in one column.
func (t *tally) list(key formula.Key, members []formula.Key) { t.lists[key] = members }

// get is the value of a figure, or the values of a list.
func (t *tally) get(key formula.Key) (formula.Value, error) {
	if members, ok := t.lists[key]; ok {
		values := make([]formula.Value, len(members))
		for i, m := range members {
			var err error
			if values[i], err = t.get(m); err != nil {
				return formula.Value{}, err
			}
		}
		return formula.List(values...)
	}
	f, ok := t.figures[key]
	switch {
	case !ok:
		return formula.Value{}, fmt.Errorf("figure %q is not known", key)
	case f.done:
		return f.value, nil
	case f.busy:
		return formula.Value{}, fmt.Errorf("figure %q depends on itself", key)
	}
	f.busy = true
	v, err := f.expr.Evaluate(t.get)
	if err != nil {
		return formula.Value{}, fmt.Errorf("figure %q: %w", key, err)
	}
	f.value, f.done, f.busy = v, true, false
	return v, nil
}

// money is a figure as an amount at the minor unit.
func (t *tally) money(key formula.Key) (num.Money, error) {
	d, err := t.dec(key, 12)
	if err != nil {
		return num.Money{}, err
	}
	m := num.MoneyFromDec(d, t.currency, num.HalfUp)
	if m.Dec().Cmp(d) != 0 {
		return num.Money{}, fmt.Errorf("%s is %s, which is finer than the minor unit of %s", key, d, t.currency)
	}
	return m, nil
}

// gives makes sure that a figure is the amount that the answer states.
func (t *tally) gives(key formula.Key, want num.Money) error {
	got, err := t.money(key)
	if err == nil && got.Cmp(want) != 0 {
		err = fmt.Errorf("%s is %s, but its formula gives %s", key, want, got)
	}
	return err
}

// dec is a figure rounded half up to places.
func (t *tally) dec(key formula.Key, places int) (num.Dec, error) {
	v, err := t.get(key)
	if err != nil {
		return num.Dec{}, err
	}
	d, err := v.Dec(places, num.HalfUp)
	if err != nil {
		return num.Dec{}, fmt.Errorf("figure %q: %w", key, err)
	}
	return d, nil
}
