package intake

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// table opens CSV text as a file.
func table(t testing.TB, body string) *sheet.File {
	t.Helper()
	f, faults := sheet.Open(strings.NewReader(body), int64(len(body)), "in.csv", sheet.Options{})
	if faults != nil {
		t.Fatal(faults)
	}
	return f
}

// workbook writes CSV texts as the sheets of a workbook and opens it: numbers
// and dates as such where the text is one.
func workbook(t testing.TB, sheets map[string]string, order ...string) *sheet.File {
	t.Helper()
	var b sheet.Workbook
	for _, name := range order {
		rows, err := csv.NewReader(strings.NewReader(sheets[name])).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		s := sheet.Sheet{Name: name}
		for _, h := range rows[0] {
			s.Columns = append(s.Columns, sheet.Col{Header: h})
		}
		for _, r := range rows[1:] {
			var cells []sheet.Cell
			for _, text := range r {
				if d, bad := num.ParseDec(text); bad == nil {
					cells = append(cells, sheet.Number(d, 3))
				} else {
					cells = append(cells, sheet.Date(text)) // text stays text
				}
			}
			s.Rows = append(s.Rows, cells)
		}
		b.Sheets = append(b.Sheets, s)
	}
	var out bytes.Buffer
	if err := b.Write(&out); err != nil {
		t.Fatal(err)
	}
	f, faults := sheet.Open(bytes.NewReader(out.Bytes()), int64(out.Len()), "in.xlsx", sheet.Options{})
	if faults != nil {
		t.Fatal(faults)
	}
	return f
}

// codes lists faults as code@row:column, warnings marked.
func codes(l fault.List) []string {
	var out []string
	for _, f := range l {
		s := fmt.Sprintf("%s@%d:%s", f.Code, f.Where.Row, f.Where.Column)
		if f.Where.Field != "" {
			s = f.Code + "@" + f.Where.Field
		}
		if f.Warning {
			s = "warning " + s
		}
		out = append(out, s)
	}
	return out
}

func wantCodes(t *testing.T, got fault.List, want ...string) {
	t.Helper()
	if d := cmp.Diff(want, codes(got)); d != "" {
		t.Error(d)
	}
	for _, f := range got {
		if f.Mend == "" || f.What == "" || f.Where.File == "" && f.Where.Field == "" {
			t.Errorf("fault without words, mend or place: %s", f.JSON())
		}
	}
}

// compare shows differences of nouns whose fields are exact types.
var compare = cmp.Options{
	cmp.Comparer(func(a, b num.Dec) bool { return a.Cmp(b) == 0 }),
	cmp.Comparer(func(a, b num.Money) bool { return a == b }),
	cmp.Comparer(func(a, b num.Rate) bool { return a.String() == b.String() }),
}

// Every template, filled in with its own examples, is read without a fault:
// what the notes say is what the program takes.
func TestTemplate_ExamplesAreRead(t *testing.T) {
	fill := func(cols sheet.Columns) string {
		var head, row []string
		for _, c := range cols {
			head = append(head, c.Name)
			row = append(row, c.Example)
		}
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		_ = w.WriteAll([][]string{head, row})
		return b.String()
	}
	without := func(cols sheet.Columns, names ...string) sheet.Columns {
		var out sheet.Columns
		for _, c := range cols {
			if !strings.Contains(" "+strings.Join(names, " ")+" ", " "+c.Name+" ") {
				out = append(out, c)
			}
		}
		return out
	}
	head := Head{Book: "EUR", RateOf: func(num.Currency) (num.Rate, *fault.Fault) { return num.ParseRate("0.92", 1) }}
	stones := strings.ReplaceAll(fill(StoneColumns), "1.234", "1.21")
	for _, c := range []struct {
		kind string
		read func() fault.List
	}{
		{"parcel", func() fault.List {
			_, l := ReadParcel(table(t, fill(without(ParcelColumns, "weight", "weight_unit"))), nil, head)
			return l
		}},
		{"parcel in grams", func() fault.List {
			_, l := ReadParcel(table(t, fill(without(ParcelColumns, "weight_ct"))), nil, head)
			return l
		}},
		{"stones", func() fault.List {
			_, l := ReadParcel(table(t, fill(without(ParcelColumns, "weight_ct", "price", "price_basis", "currency"))),
				table(t, strings.ReplaceAll(stones, "55.50", "")), head)
			return except(l, "price-missing")
		}},
		{"readings", func() fault.List {
			_, l := ReadReadings(table(t, fill(without(ReadingColumns, "result"))), "2026-03-31")
			return l
		}},
		{"line", func() fault.List {
			_, l := ReadLine(table(t, fill(DesignColumns)), table(t, fill(PositionColumns)), "Sea", "EUR")
			return l
		}},
		{"rates", func() fault.List { _, l := ReadRates(table(t, fill(RateColumns)), "EUR"); return l }},
		{"prices", func() fault.List { _, l := ReadPrices(table(t, fill(PriceColumns)), "EUR"); return l }},
		{"pairs", func() fault.List { _, l := ReadPairs(table(t, fill(PairColumns))); return l }},
		{"cases", func() fault.List { _, l := readCases(table(t, fill(CaseColumns))); return l }},
		{"count", func() fault.List { _, l := ReadCount(table(t, fill(CountColumns))); return l }},
	} {
		t.Run(c.kind, func(t *testing.T) { wantCodes(t, c.read()) })
	}
}

func except(l fault.List, code string) fault.List {
	var out fault.List
	for _, f := range l {
		if f.Code != code {
			out = append(out, f)
		}
	}
	return out
}

// A template has its sheets, headers and drop-downs, and is the same each time.
func TestTemplate(t *testing.T) {
	for _, kind := range TemplateKinds() {
		b, bad := Template(kind, "EUR")
		if bad != nil {
			t.Fatal(bad)
		}
		var one, two bytes.Buffer
		if err := b.Write(&one); err != nil {
			t.Fatalf("%s: %v", kind, err)
		}
		if err := b.Write(&two); err != nil || !bytes.Equal(one.Bytes(), two.Bytes()) {
			t.Errorf("%s: other bytes the second time, %v", kind, err)
		}
		f, faults := sheet.Open(bytes.NewReader(one.Bytes()), int64(one.Len()), kind+".xlsx", sheet.Options{})
		if faults != nil {
			t.Fatal(faults)
		}
		for i, s := range templates[kind] {
			if got := f.Header(f.Sheets()[i], s.columns); cmp.Diff(s.columns.Names(), got) != "" {
				t.Errorf("%s: header %v", kind, got)
			}
		}
		if got := f.Sheets()[len(f.Sheets())-1]; got != "notes" {
			t.Errorf("%s: last sheet %s", kind, got)
		}
	}
	if _, bad := Template("parcels", "EUR"); bad == nil || bad.Code != "template-unknown" ||
		!strings.Contains(bad.Mend, "parcel") {
		t.Errorf("fault %v", bad)
	}
}

// A template that is filled in is read as it is: the empty second sheet and
// the notes are no fault.
func TestTemplate_FilledIn(t *testing.T) {
	filled := func(kind string, skip ...string) *sheet.File {
		b, bad := Template(kind, "EUR")
		if bad != nil {
			t.Fatal(bad)
		}
		for i, s := range templates[kind] {
			if s.name == "stones" {
				continue
			}
			var row []sheet.Cell
			for _, c := range s.columns {
				d, bad := num.ParseDec(c.Example)
				switch {
				case strings.Contains(" "+strings.Join(skip, " ")+" ", " "+c.Name+" "):
					row = append(row, sheet.Empty())
				case bad == nil && c.Kind == sheet.NumberColumn:
					row = append(row, sheet.Number(d, 3))
				default:
					row = append(row, sheet.Date(c.Example))
				}
			}
			b.Sheets[i].Rows = append(b.Sheets[i].Rows, row)
		}
		var out bytes.Buffer
		if err := b.Write(&out); err != nil {
			t.Fatal(err)
		}
		f, faults := sheet.Open(bytes.NewReader(out.Bytes()), int64(out.Len()), kind+".xlsx", sheet.Options{})
		if faults != nil {
			t.Fatal(faults)
		}
		return f
	}
	p, faults := ReadParcel(filled("parcel", "weight_ct", "currency"), nil, Head{Book: "EUR", Currency: "EUR"})
	wantCodes(t, faults)
	if len(p.Lots) != 1 || p.Lots[0].Agreed.Words() != "657.90 EUR" {
		t.Errorf("%+v", p.Lots)
	}
	l, faults := ReadLine(filled("line"), nil, "Sea", "EUR")
	wantCodes(t, faults)
	if len(l.Designs) != 1 || len(l.Designs[0].Positions) != 1 {
		t.Errorf("%+v", l)
	}
	r, faults := ReadRates(filled("rates"), "EUR")
	wantCodes(t, faults)
	if len(r) != 1 {
		t.Errorf("%+v", r)
	}
}

// Headers, aliases and words of the definitions are sound: no name stands for
// two columns, every example of a word column is one of its words.
func TestColumns(t *testing.T) {
	for kind, sheets := range templates {
		for _, s := range sheets {
			names := map[string]string{}
			for _, c := range s.columns {
				for _, n := range append([]string{c.Name}, c.Aliases...) {
					if other, taken := names[sheet.Fold(n)]; taken {
						t.Errorf("%s: %q means %s and %s", kind, n, other, c.Name)
					}
					names[sheet.Fold(n)] = c.Name
				}
				if c.Note == "" {
					t.Errorf("%s: column %s has no note", kind, c.Name)
				}
				if len(c.Words) > 0 && c.Example != "" && !strings.Contains(" "+strings.Join(c.Words, " ")+" ",
					" "+c.Example+" ") {
					t.Errorf("%s: %s: example %q is none of its words", kind, c.Name, c.Example)
				}
			}
		}
	}
}

func read300(t testing.TB) []byte {
	t.Helper()
	body, err := os.ReadFile("../../testdata/vectors/cutting/parcel300.csv")
	if err != nil {
		t.Fatal(err)
	}
	return body
}
