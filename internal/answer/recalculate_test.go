package answer

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lotpaper/internal/costing"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/testkit/office"
)

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
	key   formula.Key // of the input
	value string
}

// changes move prices, rates, losses, fees, margin, tax and ladder, a metal
// weight and a number of planned pieces.
var changes = []change{
	{"metal/gold", "131.07"}, {"metal/silver", "44.25"}, {"loss/gold", "3.75"}, {"premium/silver", "4"},
	{"casting/gold", "2.05"}, {"labour/bench", "52.5"},
	{"setting/prong large", "14.25"}, {"overhead/conversion", "22.5"}, {"margin", "55"}, {"markup", "85"},
	{"step", "10"},
	{formula.At("metal_g", 1), "4.815"}, {formula.At("breakage", 1, 0), "12.5"}, {ofDesign(planned, 0), "9"},
}

// A spreadsheet program computes what this package and costing compute: every
// formula of every document, every change of an input of the proposal, and
// ties of half a minor unit. LibreOffice is the judge, with no value of ours
// left in the files.
func TestRecalculated(t *testing.T) {
	files := map[string][]byte{}
	books := sampleBooks(t)
	for name, raw := range books {
		files[name] = withoutCaches(t, raw, nil)
	}
	p := sampleProposal(t)
	p.Risk, p.Moves = nil, nil // pictures only cost time here
	b, err := p.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	books["proposal"] = writeBook(t, b)
	base := readXLSX(t, books["proposal"])
	files["proposal"] = withoutCaches(t, books["proposal"], nil)
	homes := homesOf(p)
	for i, c := range changes {
		files[changeName(i)] = changed(t, books["proposal"], base, homes[c.key], c)
	}
	for i := range 4 {
		name := fmt.Sprintf("names%d", i)
		b, err := namedProposal(t, anyPieces().Example(i)).Workbook()
		if err != nil {
			t.Fatal(err)
		}
		books[name] = writeBook(t, b)
		files[name] = withoutCaches(t, books[name], nil)
	}
	books["ties"] = tieBook(t)
	files["ties"] = withoutCaches(t, books["ties"], nil)
	results := office.Recalculate(t, files)
	for name, least := range map[string]int{"proposal": 200, "order": 4, "valuation": 12, "ties": 300} {
		if n := compareBooks(t, readXLSX(t, books[name]), readXLSX(t, results[name])); n < least {
			t.Errorf("%s: only %d formulas were compared", name, n)
		}
	}
	for i := range 4 {
		name := fmt.Sprintf("names%d", i)
		if n := compareBooks(t, readXLSX(t, books[name]), readXLSX(t, results[name])); n < 200 {
			t.Errorf("%s: only %d formulas were compared", name, n)
		}
	}
	tally, err := p.figures()
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range changes {
		t.Run(string(c.key)+"="+c.value, func(t *testing.T) {
			compareChange(t, c, tally, base, readXLSX(t, results[changeName(i)]), homes)
			if err := changeInput(tally, c.key, inputValue(p, c.key)); err != nil {
				t.Fatal(err)
			}
		})
	}
}

// changeInput sets an input to another value and forgets what followed from it.
func changeInput(t *tally, key formula.Key, value num.Dec) error {
	f, ok := t.figures[key]
	if !ok || !f.expr.IsZero() {
		return fmt.Errorf("%q is no input", key)
	}
	f.value = formula.Exact(value)
	for _, g := range t.figures {
		g.done = g.done && g.expr.IsZero()
	}
	return nil
}

func changeName(i int) string { return fmt.Sprintf("change%02d", i) }

// changed is the workbook with one input cell changed.
func changed(t *testing.T, raw []byte, f xlsxFile, at address, c change) []byte {
	t.Helper()
	ref := sheet.Ref(at.col, at.row)
	cell := regexp.MustCompile(`(<c r="` + ref + `"[^>]*>\s*<v>)[^<]*(</v>)`)
	done := false
	out := withoutCaches(t, raw, func(part string, data []byte) []byte {
		if part != fmt.Sprintf("xl/worksheets/sheet%d.xml", slices.Index(f.names, at.sheet)+1) {
			return data
		}
		done = cell.Match(data)
		return cell.ReplaceAll(data, []byte("${1}"+c.value+"${2}"))
	})
	if !done {
		t.Fatalf("the input %s was not found at %s!%s", c.key, at.sheet, ref)
	}
	return out
}

// compareChange compares every figure of the changed workbook with the tally
// and with costing itself.
func compareChange(t *testing.T, c change, tally *tally, base, book xlsxFile, homes map[formula.Key]address) {
	t.Helper()
	if err := changeInput(tally, c.key, num.MustDec(c.value)); err != nil {
		t.Fatal(err)
	}
	moved := 0
	for key, at := range homes {
		f := tally.figures[key]
		if f == nil || f.expr.IsZero() {
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
		words, isText := r.Text()
		want := xlsxCell{Value: words, Formula: got.Formula}
		if !isText {
			n, err := tally.dec(key, 12)
			if err != nil {
				t.Fatal(err)
			}
			want.Value = n.String()
		}
		if err := sameValue(want, got); err != nil {
			t.Errorf("%s: %v", key, err)
		}
	}
	if moved == 0 {
		t.Error("nothing moved")
	}
	compareCosting(t, c, book, homes)
}

// tieBook is 300 products that lie exactly half way between two cents, the
// place where binary fractions go wrong.
func tieBook(t *testing.T) []byte {
	t.Helper()
	tally := newTally("EUR")
	p := &page{Sheet: sheet.Sheet{Name: "Ties", Columns: []sheet.Col{{Header: "a"}, {Header: "b"}, {Header: "a x b"}}}}
	for i := int64(1); len(p.rows) < 300; i++ {
		x, y := num.Scaled(i*7919%2000000, 3), num.Scaled(i*104729%20000+1, 2)
		if s := x.Mul(y).Fixed(5); !strings.HasSuffix(s, "500") {
			continue
		}
		a, c, product := formula.At("a", int(i)), formula.At("b", int(i)), formula.At("a x b", int(i))
		tally.input(a, x)
		tally.input(c, y)
		tally.formula(product, of(a).Times(of(c)).Percent().Times(formula.Int(100)).Round(2))
		p.add(lives(a, 3), lives(c, 2), lives(product, 2))
	}
	book, err := assemble(sampleHead, tally, []*page{p})
	if err != nil {
		t.Fatal(err)
	}
	return writeBook(t, book)
}

// inputValue is the value that an input has in the model.
func inputValue(p *Proposal, key formula.Key) num.Dec {
	for _, in := range p.Inputs {
		if in.Key == key {
			return in.Value
		}
	}
	for i, d := range p.Designs {
		if key == ofDesign(planned, i) {
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
func compareCosting(t *testing.T, c change, book xlsxFile, homes map[formula.Key]address) {
	t.Helper()
	card, pieces, s := sampleCard(), samplePieces(), pricing
	value := num.MustDec(c.value)
	for _, r := range card.Rates {
		if formula.Key(r.Kind+"/"+r.Name) == c.key {
			r.Value = value
			card = card.With(r)
		}
	}
	for i := range pieces {
		pieces[i] = pieces[i].Replace(costing.ByKey(map[formula.Key]num.Dec{c.key: value}))
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
	at := func(key formula.Key) string {
		h := homes[key]
		return book.cell(t, h.sheet, sheet.Ref(h.col, h.row)).Value
	}
	for i, in := range pieces {
		trees[i].Walk(func(_ int, n *costing.Node) {
			if err := sameValue(xlsxCell{Value: n.Amount.Dec().String()}, xlsxCell{Value: at(n.Key)}); err != nil {
				t.Errorf("costing's %q of %s: %v", n.Name, in.Design, err)
			}
		})
		for _, o := range prices[i] {
			if err := sameValue(xlsxCell{Value: o.List.Dec().String()}, xlsxCell{Value: at(o.Key)}); err != nil {
				t.Errorf("costing's %s price of %s: %v", o.Tier, in.Design, err)
			}
		}
	}
}

// homesOf lays the proposal out and says where each figure lives.
func homesOf(p *Proposal) map[formula.Key]address {
	homes := map[formula.Key]address{}
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
