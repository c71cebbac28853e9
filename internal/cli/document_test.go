package cli

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lotpaper/internal/answer"
)

// An issued paper is listed in every form and written again byte for byte.
func TestDocument_Forms(t *testing.T) {
	p := newBook(t)
	at := func(name string) string { return filepath.Join(p.dir, name) }
	if out := p.must("document", "list"); out != "document\tdate\ttitle\tfile\n" {
		t.Errorf("no documents:\n%s", out)
	}
	p.must("order", "draft", "--cutter", "A Cutter", "--note", "repolish", "--date", "2026-02-03")
	p.must("order", "send", "O1", "--date", "2026-02-04", "-o", at("sent.xlsx"))
	var list answer.DocumentList
	readJSON(t, p.must("document", "list", "--json"), &list)
	if len(list.Documents) != 1 || list.Documents[0].Number != "ORDER-2026-0001" ||
		list.Documents[0].On != "2026-02-04" {
		t.Fatalf("JSON: %+v", list)
	}
	if table := p.must("document", "list"); !strings.HasSuffix(table,
		"\nORDER-2026-0001\t2026-02-04\tCutter order O1\tORDER-2026-0001.xlsx\n") {
		t.Errorf("table:\n%s", table)
	}
	p.must("document", "list", "-o", at("papers.csv"))
	if rows := readCSV(t, at("papers.csv")); len(rows) != 2 || rows[0][4] != "SHA-256" ||
		rows[1][4] != list.Documents[0].SHA256 {
		t.Errorf("CSV: %q", rows)
	}

	p.must("document", "write", "ORDER-2026-0001", "-o", at("again.xlsx"))
	sent, err := os.ReadFile(at("sent.xlsx"))
	again, err2 := os.ReadFile(at("again.xlsx"))
	sum := sha256.Sum256(again)
	if err != nil || err2 != nil || string(sent) != string(again) ||
		hex.EncodeToString(sum[:]) != list.Documents[0].SHA256 {
		t.Errorf("%v, %v: the paper is another when it is written again", err, err2)
	}
	if out := p.must("document", "write", "ORDER-2026-0001", "-o", "-"); out != string(sent) {
		t.Error("- is another paper")
	}
	wantFault(t, p.run("document", "write", "ORDER-2026-0001", "-o", at("sent.xlsx")), 5, "exists already")
	wantFault(t, p.run("document", "write", "ORDER-2026-0009"), 4, "ORDER-2026-0009")
}
