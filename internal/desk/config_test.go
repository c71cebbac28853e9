package desk_test

import (
	"testing"

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
