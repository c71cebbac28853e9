package answer

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// lotSays are what a lot says of its stones, in the order in which a change is told.
var lotSays = []struct {
	field string
	words func(l *book.Lot) string
}{
	{"label", func(l *book.Lot) string { return l.Label }},
	{"owner", func(l *book.Lot) string { return string(l.Owner) }},
	{"species", func(l *book.Lot) string { return facetWords(l.Facets.Species, l.Species) }},
	{"variety", func(l *book.Lot) string { return l.Variety }},
	{"claim", func(l *book.Lot) string { return l.Claim }},
	{"nature", func(l *book.Lot) string { return facetWords(l.Facets.Nature, "") }},
	{"treatment", func(l *book.Lot) string { return facetWords(l.Facets.Treatment, "") }},
	{"origin", func(l *book.Lot) string { return facetWords(l.Facets.Origin, "") }},
	{"opinion", func(l *book.Lot) string {
		if l.Opinion == nil {
			return ""
		}
		return l.Opinion.Name()
	}},
	{"stone", func(l *book.Lot) string { return l.Stone }},
	{"tags", func(l *book.Lot) string { return strings.Join(l.Tags, ", ") }},
	{"shape", func(l *book.Lot) string { return l.Shape }},
	{"length", func(l *book.Lot) string { return l.Length.String() }},
	{"width", func(l *book.Lot) string { return l.Width.String() }},
	{"depth", func(l *book.Lot) string { return l.Depth.String() }},
	{"calibrated", func(l *book.Lot) string { return yes(l.Calibrated) }},
	{"estimated", func(l *book.Lot) string { return yes(l.Estimated) }},
	{"color", func(l *book.Lot) string { return l.Color }},
	{"clarity", func(l *book.Lot) string { return l.Clarity }},
	{"cut", func(l *book.Lot) string { return l.Cut }},
	{"ask", func(l *book.Lot) string {
		if l.Prices == nil {
			return ""
		}
		return priceWords(l.Prices.Ask, l.Prices.Basis)
	}},
	{"least", func(l *book.Lot) string {
		if l.Prices == nil {
			return ""
		}
		return priceWords(l.Prices.Least, l.Prices.Basis)
	}},
	{"agreed price", func(l *book.Lot) string {
		if l.Agreed.IsZero() {
			return ""
		}
		return l.Agreed.Words()
	}},
	{"due", func(l *book.Lot) string { return string(l.Due) }},
	{"fenced", func(l *book.Lot) string { return l.Fenced }},
	{"note", func(l *book.Lot) string { return l.Note }},
}

func yes(is bool) string {
	if is {
		return "yes"
	}
	return ""
}

// facetWords is a facet with its basis, or the name that stands without one.
func facetWords(f book.Facet, name string) string {
	switch {
	case f.Value != "":
		return f.Value + " (" + string(f.Basis) + ")"
	case name != "":
		return name
	}
	return ""
}

// priceWords is a price with what it is for; empty when it is not said.
func priceWords(p num.UnitPrice, basis book.PriceBasis) string {
	if p.IsZero() {
		return ""
	}
	return p.Words() + " " + basis.Words()
}

// LotChanges are the fields in which a lot differs from what it was.
func LotChanges(before, now book.Lot) []Change {
	out := []Change{}
	for _, f := range lotSays {
		if b, n := f.words(&before), f.words(&now); b != n {
			out = append(out, Change{f.field, b, n})
		}
	}
	return out
}

// LotAmended is a lot of which something was mended.
type LotAmended struct {
	Entry    string     `json:"entry"`
	Lot      string     `json:"lot"`
	Changes  []Change   `json:"changes"`
	Warnings fault.List `json:"warnings"`
}

// Screen says what was mended.
func (l *LotAmended) Screen() Screen {
	var s Screen
	s.line("%s: %s is amended", l.Entry, l.Lot)
	s.table(changesTable(l.Changes))
	return s
}

// Warned returns the warnings.
func (l *LotAmended) Warned() fault.List { return l.Warnings }

// LotVersion is a version of a lot after its first one: what changed, in which
// entry, why and by whom.
type LotVersion struct {
	Version int       `json:"version"`
	Entry   string    `json:"entry"`
	On      book.Date `json:"on"`
	Who     string    `json:"who"`
	Reason  string    `json:"reason"`
	Changes []Change  `json:"changes"`
}

// versionRow is one change of one version.
type versionRow struct {
	*LotVersion
	Change
}

var versionColumns = []column[versionRow]{
	screen("entry", func(r *versionRow) sheet.Cell { return sheet.Text(r.Entry) }),
	screen("date", func(r *versionRow) sheet.Cell { return sheet.Date(string(r.On)) }),
	screen("field", func(r *versionRow) sheet.Cell { return sheet.Text(r.Field) }),
	screen("before", func(r *versionRow) sheet.Cell { return sheet.Text(r.Before) }),
	screen("now", func(r *versionRow) sheet.Cell { return sheet.Text(r.Now) }),
	screen("reason", func(r *versionRow) sheet.Cell { return sheet.Text(r.Reason) }),
	screen("who", func(r *versionRow) sheet.Cell { return sheet.Text(r.Who) }),
}

// versionsTable is a table of what the versions of a lot changed.
func versionsTable(list []LotVersion) *Table {
	var rows []versionRow
	for i := range list {
		for _, c := range list[i].Changes {
			rows = append(rows, versionRow{&list[i], c})
		}
	}
	return tableOf(versionColumns, rows)
}
