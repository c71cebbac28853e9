package bench

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"lotpaper/internal/book"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/testkit"
)

// What speaks of one lot, found by index, is what the whole book says of it:
// also of stones that were sorted or split out of a tested lot, and of what they
// left behind.
func TestLotReadings_AsTheWholeBookSays(t *testing.T) {
	s, err := sqlite.Open(t.Context(), testkit.FrozenBook(t, testkit.EveryKind), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	err = s.View(t.Context(), func(tx store.ReadTx) error {
		whole, err := bookReadings(t.Context(), tx)
		if err != nil {
			return err
		}
		lots, readings, reports := 0, 0, 0
		err = store.Each(t.Context(), tx, store.RowFilter{}, func(l book.Lot) error {
			one, err := lotReadings(t.Context(), tx, l)
			if err != nil {
				return err
			}
			if d := cmp.Diff(whole.of(l), one.of(l)); d != "" {
				t.Errorf("readings of %s: whole book and index differ:\n%s", l.Code, d)
			}
			if d := cmp.Diff(whole.reportsOf(l), one.reportsOf(l), cmpopts.EquateEmpty()); d != "" {
				t.Errorf("reports of %s: whole book and index differ:\n%s", l.Code, d)
			}
			lots, readings, reports = lots+1, readings+len(one.of(l)), reports+len(one.reportsOf(l))
			return nil
		})
		if lots == 0 || readings == 0 || reports == 0 {
			t.Errorf("%d lots, %d readings, %d reports to compare", lots, readings, reports)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}
