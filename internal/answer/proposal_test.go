package answer

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lotpaper/internal/formula"
)

var (
	update = flag.Bool("update", false, "write the golden files anew")
	look   = flag.String("look", "", "folder to write every sample workbook to, to look at")
)

// golden compares got with a file under testdata/golden/documents.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "golden", "documents", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != got {
		a, b := strings.Split(string(want), "\n"), strings.Split(got, "\n")
		for i := range max(len(a), len(b)) {
			var x, y string
			if i < len(a) {
				x = a[i]
			}
			if i < len(b) {
				y = b[i]
			}
			if x != y {
				t.Fatalf("%s, line %d:\nwant %s\ngot  %s\n(run with -update after looking at it)", name, i+1, x, y)
			}
		}
	}
}

// keep writes a workbook where a person can look at it.
func keep(t *testing.T, name string, raw []byte) {
	t.Helper()
	if *look == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(*look, name+".xlsx"), raw, 0o644); err != nil {
		t.Fatal(err)
	}
}

func proposalBook(t *testing.T) []byte {
	t.Helper()
	b, err := sampleProposal(t).Workbook()
	if err != nil {
		t.Fatal(err)
	}
	return writeBook(t, b)
}

func TestProposal_Cells(t *testing.T) {
	raw := proposalBook(t)
	keep(t, "proposal", raw)
	golden(t, "proposal.txt", readXLSX(t, raw).dump())
}

func TestProposal_SameBytes(t *testing.T) {
	first, second := proposalBook(t), proposalBook(t)
	if string(first) != string(second) {
		t.Error("two renderings of one proposal differ")
	}
}

// A node whose amount is not what its formula gives is never printed.
func TestProposal_RefusesWrongAmount(t *testing.T) {
	p := sampleProposal(t)
	leaf := &p.Designs[0].Cost.Children[1].Children[0]
	leaf.Amount = leaf.Amount.Add(eur("0.01"))
	if _, err := p.Workbook(); err == nil || !strings.Contains(err.Error(), string(leaf.Key)) {
		t.Errorf("got %v, want an error that names %s", err, leaf.Key)
	}
}

func TestProposal_JSONRoundTrip(t *testing.T) {
	p := sampleProposal(t)
	if raw, err := p.JSON(); err != nil || !strings.Contains(string(raw), `"formula":"ROUND({`) {
		t.Errorf("no formula in the model: %v", err)
	}
	for i := range p.Designs { // formulas are printed, and not read back
		bare(&p.Designs[i].Cost)
		for k := range p.Designs[i].Prices {
			tier := &p.Designs[i].Prices[k]
			tier.NetOf = formula.Expr{}
			bare(&tier.Price)
			for b := range tier.Breaks {
				bare(&tier.Breaks[b].Price)
			}
		}
	}
	raw, err := p.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var back Proposal
	if err := json.Unmarshal(raw, &back); err != nil {
		t.Fatal(err)
	}
	again, err := back.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if string(raw) != string(again) {
		t.Error("the model does not survive its own JSON")
	}
	var head struct{ Schema string }
	if err := json.Unmarshal(raw, &head); err != nil || head.Schema != "lotpaper/proposal/1" {
		t.Errorf("schema is %q, %v", head.Schema, err)
	}
}

// bare takes the formulas out of a tree.
func bare(n *Node) {
	n.Formula = formula.Expr{}
	for i := range n.Children {
		bare(&n.Children[i])
	}
}

// Every caution is said once in the whole workbook.
func TestProposal_CautionsOnce(t *testing.T) {
	text := readXLSX(t, proposalBook(t)).dump()
	for _, c := range []string{cautionValue, cautionMarks, cautionBench, cautionTests} {
		if n := strings.Count(text, c); n != 1 {
			t.Errorf("said %d times: %s", n, c)
		}
	}
}

// What must not be overlooked stays on the Summary.
func TestProposal_WarningsStay(t *testing.T) {
	p := sampleProposal(t)
	text := p.Text()
	for _, want := range []string{"identity not established", "usual treatment assumed: irradiated and heated",
		"not own stock", "readings exclude beryl"} {
		if !strings.Contains(strings.ToLower(text), strings.ToLower(want)) {
			t.Errorf("the text says nothing of %q", want)
		}
	}
	b, err := p.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	var summary strings.Builder
	for _, row := range b.Sheets[0].Rows {
		for _, c := range row {
			summary.WriteString(strings.ToLower(c.String()) + "\n")
		}
	}
	for _, want := range []string{"identity not established", "usual treatment assumed: irradiated and heated",
		"not own stock", "readings exclude beryl"} {
		if !strings.Contains(summary.String(), want) {
			t.Errorf("the Summary says nothing of %q", want)
		}
	}
}
