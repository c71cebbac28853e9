package cli

import (
	"bufio"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"lotpaper/internal/answer"
)

// Entries are chosen by number, lot and limit, and stand the same in every
// form.
func TestLedger_Forms(t *testing.T) {
	p := lineBook(t)
	var all, of answer.LedgerShow
	readJSON(t, p.must("ledger", "show", "--json"), &all)
	readJSON(t, p.must("ledger", "show", "--lot", "t", "--json"), &of)
	if len(all.Entries) != 5 || len(of.Entries) != 1 || of.Entries[0].Code != "E2" {
		t.Errorf("%d entries, of the lot %+v", len(all.Entries), of)
	}
	table := p.must("ledger", "show", "--after", "1", "--limit", "1")
	if lines := strings.Split(strings.TrimSpace(table), "\n"); len(lines) != 5 ||
		lines[0] != "entry\tdate\tkind\tlot\tplace\tpieces\tcarats\tcost\treason\twho" ||
		!strings.HasPrefix(lines[2], "E2\t2026-02-02\tbuy\tT\tsafe\t+12\t+12.000\t+480.00\t\t") {
		t.Errorf("table:\n%s", table)
	}
	if one := p.must("ledger", "show", "E2"); one != table {
		t.Errorf("an entry by its code:\n%s", one)
	}
	path := filepath.Join(p.dir, "e2.csv")
	p.must("ledger", "show", "E2", "-o", path)
	rows := readCSV(t, path)
	if len(rows) != 5 || strings.Join(rows[2][:9],
		"\t") != "E2\t2026-02-02\tbuy\tT\tsafe\t12\t12.000\t480.00\tbought P1 from V" {
		t.Errorf("CSV: %q", rows)
	}
	wantFault(t, p.run("ledger", "show", "E99"), 4, "E99")
	wantFault(t, p.run("ledger", "show", "--lot", "Z"), 4, "Z")
}

// A check says what it compared; the export holds every entry.
func TestLedger_CheckAndExport(t *testing.T) {
	p := lineBook(t)
	var check answer.LedgerCheck
	readJSON(t, p.must("ledger", "check", "--json"), &check)
	if check.Entries != 5 || len(check.Head) != 64 || len(check.Differences) != 0 {
		t.Errorf("JSON: %+v", check)
	}
	if text := p.must("ledger", "check"); text != "5 entries checked, 0 differences\nhead: "+check.Head+"\n" {
		t.Errorf("text:\n%s", text)
	}
	raw, err := json.Marshal(answer.LedgerDifference{Table: "balances", Ref: "A1", What: "differs"})
	if err != nil || string(raw) != `{"table":"balances","ref":"A1","what":"differs"}` {
		t.Errorf("a difference is %s, %v", raw, err)
	}
	lines, hash := 0, ""
	for s := bufio.NewScanner(strings.NewReader(p.must("ledger", "export"))); s.Scan(); lines++ {
		var line struct{ Hash string }
		readJSON(t, s.Text(), &line)
		hash = line.Hash
	}
	if lines != 5 || hash != check.Head {
		t.Errorf("%d lines, the last with hash %q", lines, hash)
	}
}

func TestLedgerReverse_Forms(t *testing.T) {
	p := lineBook(t)
	var moved answer.Moved
	readJSON(t, p.must("ledger", "reverse", "E2", "--reason", "wrong list", "--date", "2026-02-03", "--dry-run",
		"--json"), &moved)
	if len(moved.Postings) != 4 {
		t.Errorf("JSON: %+v", moved)
	}
	table := p.must("ledger", "reverse", "E2", "--reason", "wrong list", "--date", "2026-02-03")
	if !strings.Contains(table, "\tT\tsafe\t-12\t-12.000\t-480.00\t0\t0.000\t0.00\n") {
		t.Errorf("table:\n%s", table)
	}
	if shown := p.must("ledger", "show", "--after", "5"); !strings.Contains(shown, "wrong list (reverses E2)") {
		t.Errorf("the reason of a reversal:\n%s", shown)
	}
	wantFault(t, p.run("ledger", "reverse", "E2", "--reason", "again"), 5, "E2")
}
