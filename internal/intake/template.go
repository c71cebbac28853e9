package intake

import (
	"slices"
	"strings"

	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// templateRows is how far down a template's formats and drop-downs reach.
const templateRows = 2000

type templateSheet struct {
	name    string
	columns sheet.Columns
}

var templates = map[string][]templateSheet{
	"parcel":   {{"parcel", ParcelColumns}, {"stones", StoneColumns}},
	"opening":  {{"opening", OpeningColumns}},
	"stones":   {{"stones", StoneColumns}},
	"readings": {{"readings", ReadingColumns}},
	"line":     {{"designs", DesignColumns}, {"positions", PositionColumns}},
	"rates":    {{"rates", RateColumns}},
	"prices":   {{"prices", PriceColumns}},
	"pairs":    {{"pairs", PairColumns}},
	"count":    {{"count", CountColumns}},
	"cases":    {{"cases", CaseColumns}},
}

// TemplateKinds lists the kinds of empty workbooks.
func TemplateKinds() []string {
	var kinds []string
	for k := range templates {
		kinds = append(kinds, k)
	}
	slices.Sort(kinds)
	return kinds
}

// Template is an empty workbook of a kind to fill in: the headers with
// drop-downs, and a sheet that explains each column with an example.
func Template(kind string, currency num.Currency) (sheet.Workbook, *fault.Fault) {
	sheets, ok := templates[strings.ToLower(kind)]
	if !ok {
		mend := "name one of: " + strings.Join(TemplateKinds(), ", ")
		if hint := fault.DidYouMean(kind, TemplateKinds()); hint != "" {
			mend = hint
		}
		return sheet.Workbook{}, fault.New(fault.Usage, "template-unknown", "no template is called \""+kind+"\"", mend)
	}
	b := sheet.Workbook{Title: "Template: " + strings.ToLower(kind)}
	notes := sheet.Sheet{Name: "notes", Title: "How to fill in: " + strings.ToLower(kind), Landscape: true,
		Notes: []string{
			"Columns may stand in any order, and columns that are not needed may be removed. Required columns are " +
				"marked.",
			"Numbers: a point before the decimals, no thousands separator, no units or currency signs. Dates: " +
				"YYYY-MM-DD. Values, not formulas; no merged cells.",
		},
		Columns: []sheet.Col{{Header: "Sheet"}, {Header: "Column"}, {Header: "Required"}, {Header: "What to fill in",
			Width: 64}, {Header: "Words", Width: 34}, {Header: "Example", Width: 18}}}
	for _, s := range sheets {
		b.Sheets = append(b.Sheets, empty(s))
		for _, c := range s.columns {
			required := ""
			if c.Required {
				required = "yes"
			}
			note := strings.ReplaceAll(c.Note, "book currency", "in "+string(currency))
			words := c.Words
			if len(words) == 0 {
				words = suggestions(c.Name)
			}
			list := strings.Join(words, ", ")
			if len(words) > 40 {
				list = "see the drop-down"
			}
			notes.Rows = append(notes.Rows, []sheet.Cell{sheet.Text(s.name), sheet.Text(c.Name).As(sheet.Strong),
				sheet.Text(required), sheet.Paragraph(note), sheet.Paragraph(list), sheet.Paragraph(c.Example)})
		}
	}
	if kind == "rates" {
		for _, k := range RateKinds {
			notes.Rows = append(notes.Rows, []sheet.Cell{sheet.Text("kinds"), sheet.Text(k.Name).As(sheet.Strong),
				sheet.Empty(), sheet.Paragraph(k.What), sheet.Text(strings.ReplaceAll(k.Units, "EUR",
					string(currency)))})
		}
	}
	b.Sheets = append(b.Sheets, notes)
	return b, nil
}

func empty(t templateSheet) sheet.Sheet {
	s := sheet.Sheet{Name: t.name, Landscape: true, Grid: true}
	for i, c := range t.columns {
		col := sheet.Col{Header: c.Name, Format: sheet.AsText}
		switch c.Kind {
		case sheet.NumberColumn:
			col.Format = sheet.General
		case sheet.DateColumn:
			col.Format = sheet.Day
		}
		s.Columns = append(s.Columns, col)
		choice := sheet.Choice{Column: i + 1, First: 2, Last: templateRows, Words: c.Words, Strict: true,
			Prompt: c.Note}
		if len(choice.Words) == 0 {
			choice.Words, choice.Strict = suggestions(c.Name), false
		}
		if len(choice.Words) > 0 {
			s.Choices = append(s.Choices, choice)
		}
	}
	return s
}

// suggestions are the words that a drop-down offers where others are taken too.
func suggestions(column string) []string {
	switch column {
	case "species":
		var names []string
		seen := map[string]bool{}
		for _, m := range facts.Materials() {
			if m.Frequency != "collector" && !seen[m.Short] {
				seen[m.Short] = true
				names = append(names, m.Short)
			}
		}
		slices.Sort(names)
		return names
	case "shape":
		var names []string
		for _, s := range cutting.Shapes() {
			names = append(names, string(s))
		}
		return names
	case "setting":
		return settingNames()
	case "piece":
		return pieceNames()
	case "wear":
		return wearNames()
	case "metal":
		names := append([]string{}, preciousMetals...)
		for _, a := range facts.Alloys() {
			if a.Fineness > 0 {
				names = append(names, a.Name)
			}
		}
		return names
	}
	return nil
}
