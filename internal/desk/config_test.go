package desk_test

import (
	"slices"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/testkit/books"
)

// What is set is shown, with what it was before; a dry run and a refused set
// change nothing.
func TestConfigSet_RoundTrip(t *testing.T) {
	a := books.New(t)
	ctx := t.Context()
	shown := func(key string) (value string, byDefault bool) {
		t.Helper()
		show, err := a.Desk.ConfigShow(ctx, desk.ConfigShow{})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range show.Settings {
			if s.Key == key {
				return s.Value, s.Default
			}
		}
		t.Fatalf("no setting %s is shown", key)
		return "", false
	}
	set := func(dry bool, values map[string]string) error {
		r := desk.ConfigSet{Write: books.Who, Values: values}
		r.DryRun = dry
		done, err := a.Desk.ConfigSet(ctx, r)
		if err == nil && (len(done.Changed) != 1 || done.Changed[0].Before != "0" || done.Changed[0].Value != "20" ||
			done.Entry != "E2") {
			t.Errorf("changed %+v", done)
		}
		return err
	}
	if err := set(true, map[string]string{"tax": "20"}); err != nil {
		t.Fatal(err)
	}
	books.Refused(t, set(false, map[string]string{"tax": "20", "haircut": "200"}), "config-value")
	if v, byDefault := shown("tax"); v != "0" || !byDefault {
		t.Errorf("tax = %s, default %v", v, byDefault)
	}
	if err := set(false, map[string]string{"tax": "20"}); err != nil {
		t.Fatal(err)
	}
	if v, byDefault := shown("tax"); v != "20" || byDefault {
		t.Errorf("tax = %s, default %v", v, byDefault)
	}
}

// A setting that cannot be read, as an older program may have left it, is shown
// with its value, and spoils no other list.
func TestConfigShow_Unreadable(t *testing.T) {
	a := books.New(t)
	writes(t, a, book.Setting{Key: "haircut", Value: "many"}, book.Setting{Key: "name", Value: "Sample Stones"})
	show, err := a.Desk.ConfigShow(t.Context(), desk.ConfigShow{})
	if err != nil || show.Dealer != "Sample Stones" || show.Head.Currency != "EUR" {
		t.Errorf("%+v, %v", show.Head, err)
	}
	if i := slices.IndexFunc(show.Settings, func(r answer.ConfigRow) bool { return r.Key == "haircut" }); i < 0 ||
		show.Settings[i].Value != "many" {
		t.Errorf("the setting is not shown as it is: %d", i)
	}
	if list, err := a.Desk.LedgerShow(t.Context(), desk.LedgerShow{}); err != nil || list.Book != show.Book {
		t.Errorf("%+v, %v", list.Head, err)
	}
}
