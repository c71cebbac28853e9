package answer

import (
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// PaperStone is stones of one lot as the paper of a party names them.
type PaperStone struct {
	Lot       string    `json:"lot"`
	Name      string    `json:"name"`
	Treatment string    `json:"treatment"`
	Disclosed string    `json:"disclosed"` // nature and treatment, and what they rest on
	Care      string    `json:"care"`      // that the treatment asks for
	Shape     string    `json:"shape"`
	Size      string    `json:"size"`
	Color     string    `json:"color"`
	Pieces    int64     `json:"pieces"`
	Carats    num.Carat `json:"carats"` // by scale
	Weight    string    `json:"weight"` // as it is stated
}

// PaperStoneOf words goods for a party. What is not natural says so.
func PaperStoneOf(g Goods, w book.Weighed, rule num.CaratRule) PaperStone {
	return PaperStone{Lot: g.Lot.Code, Name: TradeName(g.Lot), Treatment: g.treatment(), Disclosed: g.disclosed(rule),
		Care: g.care(), Shape: g.Lot.Shape, Size: SizeWords(g.Lot), Color: g.Lot.Color, Pieces: w.Pieces,
		Carats: w.Carats, Weight: w.Carats.Stated(rule)}
}

// treatment is what is said of it in a column of its own; a piece has none, its
// stones do.
func (g Goods) treatment() string {
	if g.Lot.IsPiece() {
		return ""
	}
	return Facet(g.Lot.Facets.Treatment).Words()
}

// MemoNote is what goes with stones on approval, for the party: no cost, no
// vendor, no lender, no other customer.
type MemoNote struct {
	Head
	Memo  string `json:"memo"` // M3
	Party string `json:"party"`
	Addressee
	Due           book.Date      `json:"due"`
	Terms         string         `json:"terms"`
	Note          string         `json:"note"`
	PriceCurrency num.Currency   `json:"price_currency"`
	Lines         []MemoNoteLine `json:"lines"`
}

// MemoNoteLine is stones of one lot, and what they cost the party.
type MemoNoteLine struct {
	PaperStone
	Price *book.AskedPrice `json:"price"` // null: to be agreed
	Value *num.Money       `json:"value"`
}

// JSON is the model's canonical form: lotpaper/memo-note/1.
func (n *MemoNote) JSON() ([]byte, error) { return encode("lotpaper/memo-note/1", n) }

// memoNoteTerms are what every memo note says; the memo's own terms come first.
const memoNoteTerms = "The stones remain the property of the sender until they are paid. Please check count and " +
	"weight when they arrive, and return what is not kept by the due date, with this note."

// Workbook is the note as one sheet.
func (n *MemoNote) Workbook() (*sheet.Workbook, error) {
	priced := 0
	for _, l := range n.Lines {
		if l.Value != nil {
			priced++
		}
	}
	s := &page{Sheet: sheet.Sheet{Name: "Memo", Title: n.Title, Landscape: true, Columns: []sheet.Col{
		{Header: "Lot", Width: 12}, {Header: "Stone", Width: 24}, {Header: "Treatment", Width: 21},
		{Header: "Shape", Width: 12}, {Header: "Size (mm)", Width: 19}, {Header: "Color", Width: 12},
		{Header: "Pieces", Width: 8}, {Header: "Weight (ct)", Width: 9}, {Header: "By scale (ct)", Width: 9},
		{Header: "Price (" + string(n.PriceCurrency) + ")", Width: 15},
		{Header: "Value (" + string(n.PriceCurrency) + ")", Width: 12}}}}
	s.Notes = about(n.Head, n.line("To "+n.Party), dueWords(n.Due), n.Terms, n.Note)
	t := newTally(n.PriceCurrency)
	at := func(what string, i int) formula.Key { return formula.At(what, i) }
	for i, l := range n.Lines {
		t.input(at("pieces", i), num.Int(l.Pieces))
		t.input(at("stated", i), l.Carats.Hundredths(n.Carats).Dec())
		t.input(at("scale", i), l.Carats.Dec())
		price, value := text("to be agreed"), plain(sheet.Empty())
		if l.Price != nil {
			price = text(strings.Replace(l.Price.Words(), " "+string(n.PriceCurrency), "", 1))
			t.input(at("value", i), l.Value.Dec())
			value = lives(at("value", i), n.PriceCurrency.Digits())
		}
		s.add(styled(l.Lot, sheet.Strong), text(l.Name), text(l.Treatment), text(l.Shape), text(l.Size), text(l.Color),
			lives(at("pieces", i), 0), lives(at("stated", i), 2), lives(at("scale", i), 3),
			plain(price.Cell.Right()), value)
	}
	for _, what := range []string{"pieces", "scale"} {
		t.sum(formula.Key(what), len(n.Lines), func(i int) formula.Key { return at(what, i) })
	}
	value := plain(sheet.Empty())
	switch {
	case priced == len(n.Lines) && priced > 0:
		t.sum("value", priced, func(i int) formula.Key { return at("value", i) })
		value = lives("value", n.PriceCurrency.Digits())
	case priced > 0:
		value = text("see the lines")
	}
	s.total(6, lives("pieces", 0), plain(sheet.Empty()), lives("scale", 3), plain(sheet.Empty()), value)
	s.gap()
	s.notes(len(s.Columns), memoNoteTerms, n.caratWords()+" A price per carat is of the scale reading.")
	return assemble(n.Head, t, []*page{s})
}

// about are the lines below a paper's title: its number and day, from whom, and
// what else is said.
func about(h Head, lines ...string) []string {
	first := strings.Join(fields(h.Number, string(h.On)), ", ")
	if h.Dealer != "" {
		first += ". From " + h.Dealer
	}
	out := []string{first + "."}
	for _, l := range lines {
		if l != "" {
			out = append(out, sentence(l))
		}
	}
	return out
}

func dueWords(due book.Date) string {
	if due == "" {
		return ""
	}
	return "Due " + string(due)
}
