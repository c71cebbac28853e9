package answer

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// StockLot is a lot with what it has, where.
type StockLot struct {
	book.Lot
	Places []ledger.Balance `json:"places"`
	Pieces int64            `json:"pieces"`
	Carats num.Carat        `json:"carats"`
	Cost   num.Money        `json:"cost"`
}

// At is what the lot has at a place.
func (s *StockLot) At(place book.Place) ledger.Balance {
	for _, b := range s.Places {
		if b.Place == place {
			return b
		}
	}
	return ledger.Balance{Lot: s.Code, Place: place, Cost: num.Zero(s.Cost.Currency())}
}

// treatment is what is stated of the treatment, in words.
func (s *StockLot) treatment() string { return cmp.Or(s.Facets.Treatment.Value, "not stated") }

// counted says whether the pieces were counted.
func (s *StockLot) counted() string {
	if s.Estimated {
		return "estimated"
	}
	return "counted"
}

// where names the places of the lot; with several, how many pieces lie in each.
func (s *StockLot) where() string {
	if len(s.Places) == 1 {
		return string(s.Places[0].Place)
	}
	var places []string
	for _, b := range s.Places {
		places = append(places, fmt.Sprintf("%s %d", b.Place, b.Pieces))
	}
	return strings.Join(places, ", ")
}

// LotShow is one lot: what it is, what it has, what it came from and became.
type LotShow struct {
	StockLot
	Children []string      `json:"children"`
	Readings int           `json:"readings"`
	Reports  []book.Report `json:"reports"`
	Holds    []book.Hold   `json:"holds"`
}

// Table is the lot for the screen: its fields that have a value.
func (l *LotShow) Table() *Table {
	t := &Table{Header: []string{"field", "value"}}
	row := func(name, value string) { t.Rows = append(t.Rows, []string{name, value}) }
	add := func(name, value string) {
		if value != "" {
			row(name, value)
		}
	}
	add("lot", l.Code)
	add("label", l.Label)
	add("parcel", l.Parcel)
	add("parent", l.Parent)
	add("owner", string(l.Owner))
	if !l.Owner.IsOwn() && l.Agreed.Sign() > 0 {
		add("agreed price", l.Agreed.Words())
		add("due", string(l.Due))
	}
	facet := func(name string, f book.Facet) {
		if f.Value == "" {
			row(name, "unknown")
			return
		}
		row(name, f.Value+" ("+string(f.Basis)+")")
	}
	facet("species", l.Facets.Species)
	add("variety", l.Variety)
	facet("nature", l.Facets.Nature)
	facet("treatment", l.Facets.Treatment)
	facet("origin", l.Facets.Origin)
	add("shape", l.Shape)
	add("length", l.Length.String())
	add("width", l.Width.String())
	add("depth", l.Depth.String())
	add("color", l.Color)
	add("clarity", l.Clarity)
	add("cut", l.Cut)
	add("fenced", l.Fenced)
	add("note", l.Note)
	for _, b := range l.Places {
		row("at "+string(b.Place), fmt.Sprintf("%d pieces, %s ct, cost %s", b.Pieces, b.Carats, b.Cost.Words()))
	}
	row("in all", fmt.Sprintf("%d pieces, %s ct, cost %s", l.Pieces, l.Carats, l.Cost.Words()))
	add("children", strings.Join(l.Children, ", "))
	row("readings", strconv.Itoa(l.Readings))
	for _, r := range l.Reports {
		row("report", fmt.Sprintf("%s %s of %s: %s", r.Lab, r.Number, r.On, r.Species))
	}
	for _, h := range l.Holds {
		row("held", fmt.Sprintf("%d for %s", h.Pieces, h.For))
	}
	return t
}

// LotHistory is what happened to a lot: its versions and its entries.
type LotHistory struct {
	Lot      string         `json:"lot"`
	Versions []book.Lot     `json:"versions"`
	Entries  []ledger.Entry `json:"entries"`
}

// historyRow is one posting of one entry.
type historyRow struct {
	ledger.Entry
	posting ledger.Posting
}

var historyColumns = []column[historyRow]{
	screen("entry", func(r *historyRow) sheet.Cell { return sheet.Text(r.Code) }),
	screen("date", func(r *historyRow) sheet.Cell { return sheet.Date(string(r.PostedOn)) }),
	screen("kind", func(r *historyRow) sheet.Cell { return sheet.Text(string(r.Kind)) }),
	screen("place", func(r *historyRow) sheet.Cell { return sheet.Text(string(r.posting.Place)) }),
	screen("pieces", func(r *historyRow) sheet.Cell {
		return sheet.Text(fmt.Sprintf("%+d", r.posting.Pieces)).
			Right()
	}),
	screen("carats", func(r *historyRow) sheet.Cell { return signed(r.posting.Carats > 0, r.posting.Carats.String()) }),
	screen("cost", func(r *historyRow) sheet.Cell {
		return signed(r.posting.Cost.Sign() > 0,
			r.posting.Cost.String())
	}),
	screen("reason", func(r *historyRow) sheet.Cell { return sheet.Text(r.Reason) }),
}

// Table is the lot's postings for the screen.
func (h *LotHistory) Table() *Table {
	var rows []historyRow
	for _, e := range h.Entries {
		for _, p := range e.Postings {
			if strings.EqualFold(p.Lot, h.Lot) {
				rows = append(rows, historyRow{e, p})
			}
		}
	}
	return tableOf(historyColumns, rows)
}

// Claims says what each version of the lot claims, oldest first.
func (h *LotHistory) Claims() []string {
	out := make([]string, len(h.Versions))
	for i, v := range h.Versions {
		out[i] = fmt.Sprintf("version %d: %s, treatment %s", i+1, v.Name(), cmp.Or(v.Facets.Treatment.Value,
			"not stated"))
	}
	return out
}
