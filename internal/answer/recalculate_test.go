package answer

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

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

// formulas counts the cells that are computed.
func formulas(f xlsxFile) (n int) {
	for _, cells := range f.cells {
		for _, c := range cells {
			if c.Formula != "" {
				n++
			}
		}
	}
	return n
}

// change is one edit of the workbook and the same change for costing.
type change struct {
	key   formula.Key // of the input
	value string
}

// changes move an input of each kind that TestLinePropose_ChangedWorkbook of
// package lines, which prices the whole line anew, does not move, and one that
// it does.
var changes = []change{
	{"metal/gold", "131.07"}, {"premium/silver", "4"}, {"casting/gold", "2.05"}, {"step", "10"},
	{formula.At("breakage", 1, 0), "12.5"}, {ofDesign(planned, 0), "9"},
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
	for i := range 2 {
		name := fmt.Sprintf("names%d", i)
		b, err := namedProposal(t, anyPieces().Example(i)).Workbook()
		if err != nil {
			t.Fatal(err)
		}
		books[name] = writeBook(t, b)
		files[name] = withoutCaches(t, books[name], nil)
	}
	results := map[string]costing.LineResult{}
	for i := range 4 {
		name := fmt.Sprintf("line%d", i)
		var line *Proposal
		line, results[name] = anyLine().Example(i)(t)
		b, err := line.Workbook()
		if err != nil {
			t.Fatal(err)
		}
		books[name] = writeBook(t, b)
		files[name] = withoutCaches(t, books[name], nil)
	}
	offer, err := sampleOffer().Workbook()
	if err != nil {
		t.Fatal(err)
	}
	books["offer"] = writeBook(t, offer)
	files["offer"] = withoutCaches(t, books["offer"], nil)
	books["ties"] = tieBook(t)
	files["ties"] = withoutCaches(t, books["ties"], nil)
	recalculated := office.Recalculate(t, files)
	compared := map[string]int{"proposal": 200, "order": 4, "valuation": 12, "offer": 12, "ties": 300,
		"invoice": 6, "credit note": 3, "statement": 3, "memo": 3, "receipt": 4}
	for name, least := range compared {
		if n := compareBooks(t, readXLSX(t, books[name]), readXLSX(t, recalculated[name])); n < least {
			t.Errorf("%s: only %d formulas were compared", name, n)
		}
	}
	for name, raw := range sampleBooks(t) { // nothing is computed in the other papers
		if n := formulas(readXLSX(t, raw)); compared[name] == 0 && n > 0 {
			t.Errorf("%s has %d formulas, and none is compared", name, n)
		}
	}
	for i := range 2 {
		name := fmt.Sprintf("names%d", i)
		if n := compareBooks(t, readXLSX(t, books[name]), readXLSX(t, recalculated[name])); n < 200 {
			t.Errorf("%s: only %d formulas were compared", name, n)
		}
	}
	for name, want := range results {
		book := readXLSX(t, recalculated[name])
		compareBooks(t, readXLSX(t, books[name]), book)
		compareLine(t, want, book, homes)
	}
	tally, err := p.figures()
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range changes {
		t.Run(string(c.key)+"="+c.value, func(t *testing.T) {
			compareChange(t, c, tally, base, readXLSX(t, recalculated[changeName(i)]), homes)
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
	made := slices.Clone(samplePlanned)
	for i := range made {
		if c.key == ofDesign(planned, i) {
			made[i] = int64(value.Float())
		}
	}
	compareLine(t, lineOf(t, pieces, trees, prices, made, sampleFixed), book, homes)
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

// lineOf is the sample line's result by costing.
func lineOf(t *testing.T, pieces []costing.PieceInput, trees []*costing.Node, prices [][]costing.Offered, made []int64,
	fixed []num.Money) costing.LineResult {
	t.Helper()
	var designs []costing.LineDesign
	for i, in := range pieces {
		designs = append(designs, costing.LineDesign{Name: in.Design, Quantity: made[i], Price: prices[i][0].Price,
			Cost: trees[i], Fixed: fixed[i]})
	}
	r, faults := costing.LineOf(designs, num.Zero("EUR"))
	if faults.Blocks() {
		t.Fatal(faults)
	}
	return r
}

// anyLine draws metal, labour, stones, numbers of pieces, fixed costs and a
// margin for the sample line: its proposal and its result by costing.
func anyLine() *rapid.Generator[func(*testing.T) (*Proposal, costing.LineResult)] {
	return rapid.Custom(func(r *rapid.T) func(*testing.T) (*Proposal, costing.LineResult) {
		pieces := samplePieces()
		made, fixed := make([]int64, len(pieces)), make([]num.Money, len(pieces))
		for i := range pieces {
			pieces[i].MetalWeight = num.Gram(rapid.Int64Range(500, 20_000).Draw(r, "metal"))
			pieces[i].Labour = num.Scaled(rapid.Int64Range(0, 5_000).Draw(r, "labour"), 1)
			for k := range pieces[i].Stones {
				pieces[i].Stones[k].Cost = num.FromMinor(rapid.Int64Range(0, 500_000).Draw(r, "stones"), "EUR")
			}
			made[i] = rapid.Int64Range(0, 40).Draw(r, "made")
			fixed[i] = num.FromMinor(rapid.Int64Range(0, 300_000).Draw(r, "fixed"), "EUR")
		}
		return func(t *testing.T) (*Proposal, costing.LineResult) {
			p := namedProposal(t, pieces)
			for i := range p.Designs {
				p.Designs[i].Planned, p.Designs[i].FixedCost = made[i], fixed[i]
			}
			trees, prices := costed(t, sampleCard(), pieces, pricing)
			return p, lineOf(t, pieces, trees, prices, made, fixed)
		}
	})
}

// compareLine compares a recalculated workbook's figures of every design, and
// of the line, with costing's result.
func compareLine(t *testing.T, want costing.LineResult, book xlsxFile, homes map[formula.Key]address) {
	t.Helper()
	compare := func(key formula.Key, value string) {
		t.Helper()
		h, ok := homes[key]
		if !ok {
			t.Errorf("%s has no cell", key)
			return
		}
		got := book.cell(t, h.sheet, sheet.Ref(h.col, h.row))
		if err := sameValue(xlsxCell{Value: value}, xlsxCell{Value: got.Value}); err != nil {
			t.Errorf("costing's %s: %v", key, err)
		}
	}
	money := func(key formula.Key, m num.Money) { t.Helper(); compare(key, m.Dec().String()) }
	for i, d := range want.Designs {
		money(ofDesign(sales, i), d.Sales)
		money(ofDesign(costs, i), d.Variable)
		money(ofDesign(contribution, i), d.Contribution)
		money(ofDesign(outcome, i), d.Profit)
		units := costing.Never
		if d.BreakEven >= 0 {
			units = fmt.Sprint(d.BreakEven)
		}
		compare(ofDesign(breakEven, i), units)
	}
	money(ofLine(sales), want.Sales)
	money(ofLine(costs), want.Variable)
	money(ofLine(contribution), want.Contribution)
	money(ofLine(fixed), want.Fixed)
	money(ofLine(outcome), want.Profit)
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
