package cli

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lotpaper/internal/answer"
)

func TestSettingPairs(t *testing.T) {
	got, err := settingPairs([]string{"carat_rule=half-up", " name = A = B "})
	want := map[string]string{"carat_rule": "half-up", "name": "A = B"}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%q, %v, want %q", got, err, want)
	}
	if _, err := settingPairs([]string{"carat_rule"}); faultCode(err) != "config-pair" {
		t.Errorf("without a value: %v", err)
	}
}

// A setting is set by its name, shown in every form, and its fault points at
// it.
func TestConfig_Forms(t *testing.T) {
	p := newBook(t)
	dry := p.must("config", "set", "carat_rule=half-up", "haircut=12", "--dry-run")
	set := p.must("config", "set", "carat_rule=half-up", "haircut=12")
	if dry != set || !strings.Contains(set, "\tcarat_rule\tnine\thalf-up\n") {
		t.Errorf("dry run:\n%s\nrun:\n%s", dry, set)
	}
	var done answer.ConfigSet
	readJSON(t, p.must("config", "set", "haircut=15", "--json"), &done)
	if len(done.Changed) != 1 || done.Changed[0] != (answer.ConfigChange{Key: "haircut", Before: "12", Value: "15"}) {
		t.Errorf("JSON of a change: %+v", done)
	}
	var show answer.ConfigShow
	readJSON(t, p.must("config", "show", "--json"), &show)
	if show.Currency != "EUR" || len(show.Settings) < 10 {
		t.Errorf("JSON: %+v", show)
	}
	for _, row := range show.Settings {
		if row.Key == "haircut" && (row.Value != "15" || row.Default) {
			t.Errorf("haircut: %+v", row)
		}
	}
	table := p.must("config", "show")
	for _, want := range []string{"setting\tvalue\tdefault\twhat it does\ncurrency\tEUR\t\t", "\nhaircut\t15\t\t"} {
		if !strings.Contains(table, want) {
			t.Errorf("the table does not say %q:\n%s", want, table)
		}
	}
	file := filepath.Join(p.dir, "settings.csv")
	p.must("config", "show", "-o", file)
	if rows := readCSV(t, file); len(rows) != strings.Count(table, "\n") || rows[1][0] != "currency" {
		t.Errorf("%d rows in the file: %q", len(rows), rows[:2])
	}
	wantFault(t, p.run("config", "set", "haircutt=1"), 4, "did you mean haircut")
	wantFault(t, p.run("config", "set", "haircut"), 2, "KEY=VALUE")
}
