package documents

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lotpaper/internal/chance"
	"lotpaper/internal/costing"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
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
	if string(proposalBook(t)) != string(proposalBook(t)) {
		t.Error("two renderings of one proposal differ")
	}
}

// A node whose amount is not what its formula gives is never printed.
func TestProposal_RefusesWrongAmount(t *testing.T) {
	p := sampleProposal(t)
	leaf := &p.Designs[0].Cost.Children[1].Children[0]
	leaf.Amount = leaf.Amount.Add(eur("0.01"))
	if _, err := p.Workbook(); err == nil || !strings.Contains(err.Error(), leaf.Key) {
		t.Errorf("got %v, want an error that names %s", err, leaf.Key)
	}
}

func TestProposal_JSONRoundTrip(t *testing.T) {
	p := sampleProposal(t)
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
	for _, want := range []string{"identity not established", "usual treatment assumed: irradiated and heated", "not own stock", "readings exclude beryl"} {
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
	for _, want := range []string{"identity not established", "usual treatment assumed: irradiated and heated", "not own stock", "readings exclude beryl"} {
		if !strings.Contains(summary.String(), want) {
			t.Errorf("the Summary says nothing of %q", want)
		}
	}
}

// sameValue compares a recalculated cell with ours: a rounded cell (money,
// counts) equal, an unrounded one within half a minor unit.
func sameValue(ours, theirs xlsxCell) error {
	if ours.Value == theirs.Value {
		return nil
	}
	a, errA := strconv.ParseFloat(ours.Value, 64)
	b, errB := strconv.ParseFloat(theirs.Value, 64)
	if errA != nil || errB != nil {
		return fmt.Errorf("%q became %q", ours.Value, theirs.Value)
	}
	limit := 1e-9 * math.Max(1, math.Abs(a)) // the last bits of a sum of binary cents
	if strings.Contains(ours.Formula, "*100") && !strings.Contains(ours.Formula, "ROUND") {
		limit = 0.005
	}
	if math.Abs(a-b) > limit {
		return fmt.Errorf("%s became %s (%s)", ours.Value, theirs.Value, ours.Formula)
	}
	return nil
}

func compareBooks(t *testing.T, ours, theirs xlsxFile) (formulas int) {
	t.Helper()
	for _, name := range ours.names {
		other := map[string]xlsxCell{}
		for _, c := range theirs.cells[name] {
			other[c.Ref] = c
		}
		for _, c := range ours.cells[name] {
			if c.Formula == "" {
				continue
			}
			formulas++
			if err := sameValue(c, other[c.Ref]); err != nil {
				t.Errorf("%s!%s: %v", name, c.Ref, err)
			}
		}
	}
	return formulas
}

// change is one edit of the workbook and the same change for costing.
type change struct {
	key   string // of the input
	value string
}

// changes move prices, rates, losses, fees, margin, tax and ladder, a metal
// weight and a number of planned pieces.
var changes = []change{
	{"metal/gold", "131.07"}, {"metal/silver", "44.25"}, {"loss/gold", "3.75"}, {"premium/silver", "4"}, {"casting/gold", "2.05"}, {"labour/bench", "52.5"},
	{"setting/prong large", "14.25"}, {"overhead/conversion", "22.5"}, {"margin", "55"}, {"markup", "85"}, {"tax", "7"}, {"step", "10"}, {"refining/gold", "0.5"},
	{"sprue/silver", "41"}, {"design/Tide/centre/P1-1/breakage", "12.5"}, {"design/Tide/metal_g", "4.815"}, {"design/Drift/labour_min", "47"}, {"margin", "0"}, {plannedKey("Tide"), "9"},
}

// Every change of an input in the workbook, recalculated by LibreOffice, gives
// what costing gives for the same change.
func TestProposal_Recalculated(t *testing.T) {
	p := sampleProposal(t)
	p.Risk, p.Moves = nil, nil // pictures only cost time here
	b, err := p.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	raw := writeBook(t, b)
	base := readXLSX(t, raw)
	tally, err := p.figures()
	if err != nil {
		t.Fatal(err)
	}
	homes := homesOf(t, p)
	parts := sheetParts(t, base)
	files := map[string][]byte{"base": withoutCaches(t, raw, nil)}
	for i, c := range changes {
		at := homes[c.key]
		ref := sheet.Ref(at.col, at.row)
		done := false
		files[fmt.Sprintf("change%02d", i)] = withoutCaches(t, raw, func(part string, data []byte) []byte {
			if part != parts[at.sheet] {
				return data
			}
			cell := regexp.MustCompile(`(<c r="` + ref + `"[^>]*>\s*<v>)[^<]*(</v>)`)
			done = cell.Match(data)
			return cell.ReplaceAll(data, []byte("${1}"+c.value+"${2}"))
		})
		if !done {
			t.Fatalf("the input %s was not found at %s!%s", c.key, at.sheet, ref)
		}
	}
	results := office(t, recalculate, "xlsx", files)
	if n := compareBooks(t, base, readXLSX(t, results["base"])); n < 200 {
		t.Errorf("only %d formulas were compared", n)
	}
	for i, c := range changes {
		book := readXLSX(t, results[fmt.Sprintf("change%02d", i)])
		if err := tally.change(c.key, num.MustDec(c.value)); err != nil {
			t.Fatal(err)
		}
		moved := 0
		for key, at := range homes {
			if tally.figures[key] == nil || tally.figures[key].expr == nil {
				continue
			}
			r, err := tally.get(key)
			if err != nil {
				t.Fatal(err)
			}
			got := book.cell(t, at.sheet, sheet.Ref(at.col, at.row))
			if got.Value != base.cell(t, at.sheet, sheet.Ref(at.col, at.row)).Value {
				moved++
			}
			want := xlsxCell{Value: r.text, Formula: tally.figures[key].formula}
			if !r.isText {
				n, _ := r.number()
				want.Value = decimal(n, 12).String()
			}
			if err := sameValue(want, got); err != nil {
				t.Errorf("%s = %s: %s: %v", c.key, c.value, key, err)
			}
		}
		if moved == 0 {
			t.Errorf("%s = %s moved nothing", c.key, c.value)
		}
		compareCosting(t, c, book, homes)
		old := inputValue(p, c.key)
		if err := tally.change(c.key, old); err != nil {
			t.Fatal(err)
		}
	}
}

// inputValue is the value that an input has in the model.
func inputValue(p *Proposal, key string) num.Dec {
	for _, in := range p.Inputs {
		if in.Key == key {
			return in.Value
		}
	}
	for _, d := range p.Designs {
		if key == plannedKey(d.Design) {
			return num.Int(d.Planned)
		}
		for _, in := range d.Inputs {
			if in.Key == key {
				return in.Value
			}
		}
	}
	return num.Dec{}
}

// compareCosting works the same change out with costing itself.
func compareCosting(t *testing.T, c change, book xlsxFile, homes map[string]address) {
	t.Helper()
	card, pieces, s := sampleCard(), samplePieces(), pricing
	value := num.MustDec(c.value)
	for _, r := range card.Rates {
		if r.Kind+"/"+r.Name == c.key {
			r.Value = value
			card = card.With(r)
		}
	}
	for i := range pieces {
		switch c.key {
		case "design/" + pieces[i].Design + "/metal_g":
			pieces[i].MetalWeight = num.GramFromDec(value, num.HalfUp)
		case "design/" + pieces[i].Design + "/centre/P1-1/breakage":
			pieces[i].Stones[0].Breakage = chance.BetaOf(0.125, 50)
		case "design/" + pieces[i].Design + "/labour_min":
			pieces[i].Labour = value
		}
	}
	switch c.key {
	case "margin":
		s.margin = value
	case "markup":
		s.markup = value
	case "tax":
		s.tax = value
	case "step":
		s.step = value
	}
	trees, prices := costed(t, card, pieces, s)
	at := func(key string) string {
		h := homes[key]
		return book.cell(t, h.sheet, sheet.Ref(h.col, h.row)).Value
	}
	for i, in := range pieces {
		trees[i].Walk(func(_ int, n *costing.Node) {
			if err := sameValue(xlsxCell{Value: n.Amount.Dec().String()}, xlsxCell{Value: at(n.Key)}); err != nil {
				t.Errorf("%s = %s: costing's %q of %s: %v", c.key, c.value, n.Name, in.Design, err)
			}
		})
		for _, o := range prices[i] {
			if err := sameValue(xlsxCell{Value: o.List.Dec().String()}, xlsxCell{Value: at("price/" + in.Design + "/" + o.Tier)}); err != nil {
				t.Errorf("%s = %s: costing's %s price of %s: %v", c.key, c.value, o.Tier, in.Design, err)
			}
		}
	}
}

// homesOf lays the proposal out and says where each figure lives.
func homesOf(t *testing.T, p *Proposal) map[string]address {
	t.Helper()
	homes := map[string]address{}
	for _, pg := range []*page{p.summaryPage(), p.piecesPage(), p.buildUpPage(), p.stonesPage(), p.assumptionsPage()} {
		for i, row := range pg.rows {
			for j, c := range row {
				if c.home {
					homes[c.figure] = address{pg.Name, j + 1, pg.FirstRow() + i}
				}
			}
		}
	}
	return homes
}

// sheetParts maps a sheet's name to its part of the file.
func sheetParts(t *testing.T, f xlsxFile) map[string]string {
	t.Helper()
	out := map[string]string{}
	for i, name := range f.names {
		out[name] = fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1)
	}
	return out
}
