package desk

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// Each condition of the store is one fault with one code, at whatever moment it
// is met; a fault of the store's own words is not told beside it, and other
// errors stay what they are.
func TestMendable_OneWording(t *testing.T) {
	own := fault.New(fault.Invalid, "own", "the store's own words", "")
	for _, c := range []struct {
		condition error
		kind      fault.Kind
		code      string
		opening   bool // met at opening only
	}{
		{store.ErrNotFound, fault.NotFound, "book-missing", true},
		{store.ErrNoBook, fault.Refused, "book-not", true},
		{store.ErrExists, fault.Refused, "book-exists", true},
		{store.ErrNoFolder, fault.NotFound, "book-folder", true},
		{store.ErrLocked, fault.Locked, "book-locked", false},
		{store.ErrNewer, fault.Refused, "book-newer", false},
		{store.ErrConflict, fault.Conflict, "book-changed", false},
	} {
		met := fmt.Errorf("work: %w: %w", c.condition, own)
		check := func(when string, err error) {
			t.Helper()
			l, _ := fault.From(err)
			if len(l) != 1 || l[0].Kind != c.kind || l[0].Code != c.code || l[0].Mend == "" ||
				strings.Contains(l[0].What, own.What) {
				t.Errorf("%v, %s: %v", c.condition, when, err)
			}
		}
		check("opening", Unopened(met, "a.db"))
		if !c.opening {
			check("at work", mendable(met, thisBook))
		} else if err := mendable(met, thisBook); err != met {
			t.Errorf("%v at work: %v", c.condition, err)
		}
	}
	broken := errors.New("broken")
	if Unopened(broken, "a.db") != broken || mendable(broken, thisBook) != broken || mendable(nil, thisBook) != nil {
		t.Error("other errors do not stay what they are")
	}
}

// What the book does not have is a fault of the row that names it, in the words
// that it has elsewhere; what broke stays broken.
func TestOfRow(t *testing.T) {
	row := fault.Where{File: "count.csv", Row: 4}
	missing := notFound(store.ErrNotFound, "lot", "P9-1")
	f, err := OfRow(missing, row)
	if err != nil || f.Kind != fault.Invalid || f.What != missing.(*fault.Fault).What || f.Where != row ||
		f.Action == nil {
		t.Errorf("%+v, %v", f, err)
	}
	broken := errors.New("broken")
	for _, other := range []error{broken, nil, fault.New(fault.Locked, "book-locked", "busy", "wait")} {
		if f, err := OfRow(other, row); f != nil || err != other {
			t.Errorf("%v: %v, %v", other, f, err)
		}
	}
}
