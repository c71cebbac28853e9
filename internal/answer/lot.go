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

// InSafes is what the lot has in the safes of all offices.
func (s *StockLot) InSafes() ledger.Balance {
	out := ledger.Balance{Lot: s.Code, Place: book.Safe, Cost: num.Zero(s.Cost.Currency())}
	for _, b := range s.Places {
		if b.Place.Kind() == book.AtOffice {
			out.Pieces, out.Carats, out.Cost = out.Pieces+b.Pieces, out.Carats+b.Carats, out.Cost.Add(b.Cost)
		}
	}
	return out
}

// Post adds a posting of the lot at a real place.
func (s *StockLot) Post(p ledger.Posting) {
	s.Pieces += p.Pieces
	s.Carats += p.Carats
	s.Cost = s.Cost.Add(p.Cost)
	for i, b := range s.Places {
		if b.Place == p.Place {
			s.Places[i].Pieces += p.Pieces
			s.Places[i].Carats += p.Carats
			s.Places[i].Cost = b.Cost.Add(p.Cost)
			return
		}
	}
	s.Places = append(s.Places, ledger.Balance(p))
}

// Mean is what a stone of the lot weighs on average; 0 without any.
func (s *StockLot) Mean() num.Carat {
	if s.Pieces == 0 {
		return 0
	}
	return num.CaratFromDec(s.Carats.Dec().Over(num.Int(s.Pieces), 3, num.HalfUp), num.HalfUp)
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

// Where names the places of the lot; with several, how many pieces lie in each.
func (s *StockLot) Where() string {
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
	Children []string `json:"children"`
	Readings int      `json:"readings"`
	Void     int      `json:"void"` // readings of these that count no longer
	// TakenBack is the entry that took its purchase, or what made it, back; empty: it stands.
	TakenBack string        `json:"taken_back"`
	Reports   []book.Report `json:"reports"`
	Holds     []book.Hold   `json:"holds"`
	Out       []LotOut      `json:"out"`    // the papers that its stones lie on
	Judged    *Opinion      `json:"judged"` // the dealer's opinion beside the tests; null: none
}

// LotOut is a paper that stones of a lot lie on.
type LotOut struct {
	Paper   string     `json:"paper"` // M3
	Place   book.Place `json:"place"`
	With    string     `json:"with"` // whom they are with; empty: they are under way
	To      book.Place `json:"to"`   // of a transfer: where they go
	Due     book.Date  `json:"due"`
	Overdue int64      `json:"days_overdue"`
}

// words say with whom the stones are and since when they are overdue.
func (o *LotOut) words() string {
	words := "out on " + o.Paper
	if o.With != "" {
		words += " with " + o.With
	} else if o.To != "" {
		words += " to " + o.To.Words()
	}
	switch {
	case o.Overdue > 0:
		words += fmt.Sprintf(", %s overdue", plural(int(o.Overdue), "day", "days"))
	case o.Due != "":
		words += ", due " + string(o.Due)
	}
	return words
}

// Screen is what the lot is and where, then its fields that have a value.
func (l *LotShow) Screen() Screen {
	var s Screen
	s.line("%s", l.decision())
	s.table(l.table())
	return s
}

// decision says what the lot is, how much there is of it, where, and what of it is
// held.
func (l *LotShow) decision() string {
	called := l.Called()
	switch {
	case l.TakenBack != "":
		return l.Code + " is void: " + takenBack(l.TakenBack)
	case l.Pieces == 0 && l.Carats == 0:
		words := l.Code + ": nothing is left of " + called
		if len(l.Children) > 0 {
			words += ", which went into " + strings.Join(l.Children, ", ")
		}
		return words
	}
	words := fmt.Sprintf("%s: %d %s, %s ct", l.Code, l.Pieces, called, l.Carats)
	switch {
	case l.IsPiece():
		words = l.Code + ": " + called
	case l.Estimated:
		words = fmt.Sprintf("%s: about %d %s, %s ct", l.Code, l.Pieces, called, l.Carats)
	}
	if l.Damaged != nil {
		words += ", damaged"
	}
	switch lender, customer := l.Owner.Lender(), l.Owner.Customer(); {
	case lender != "":
		words += ", lent by " + lender
		if l.Due != "" {
			words += " until " + string(l.Due)
		}
	case customer != "":
		words += ", " + customer + "'s own"
	}
	if len(l.Places) == 1 {
		words += ", " + l.lies(l.Places[0].Place)
	} else {
		var where []string
		for _, b := range l.Places {
			where = append(where, fmt.Sprintf("%d %s", b.Pieces, l.lies(b.Place)))
		}
		words += ": " + strings.Join(where, "; ")
	}
	for _, h := range l.Holds {
		words += fmt.Sprintf("; %d held for %s", h.Pieces, heldFor(h.For))
		if h.Until != "" {
			words += " until " + string(h.Until)
		}
	}
	return words
}

// lies says where stones are as a person does.
func (l *LotShow) lies(at book.Place) string {
	for i := range l.Out {
		if l.Out[i].Place == at {
			return l.Out[i].words()
		}
	}
	switch at.Kind() {
	case book.AtOffice:
		return strings.TrimSuffix("in the safe of "+at.Name(), " of ")
	case book.AtPiece:
		return "set in " + at.Name()
	}
	return "out with " + at.Name()
}

func (l *LotShow) table() *Table {
	t := &Table{Header: []string{"field", "value"}}
	row := func(name, value string) { t.Rows = append(t.Rows, []string{name, value}) }
	add := func(name, value string) {
		if value != "" {
			row(name, value)
		}
	}
	add("lot", l.Code)
	add("void", takenBack(l.TakenBack))
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
	if o := l.Judged; o != nil {
		row("called", o.Called+" ("+strings.Join(fields(o.Reason, o.Who, string(o.On)), "; ")+")")
		row("tests", o.tests())
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
	if p := l.Prices; p != nil {
		add("asking price", priceWords(p.Ask, p.Basis))
		add("least price", priceWords(p.Least, p.Basis))
	}
	add("fenced", l.Fenced)
	add("damaged", damageWords(l.Damaged))
	if j := l.Jewel; j != nil {
		add("piece", l.Name())
		add("design", j.Design)
		add("metal", j.Metal)
		add("size", j.Size)
		add("since", string(j.Since))
	}
	add("note", l.Note)
	for _, b := range l.Places {
		row("at "+string(b.Place), fmt.Sprintf("%d pieces, %s ct, cost %s", b.Pieces, b.Carats, b.Cost.Words()))
	}
	row("in all", fmt.Sprintf("%d pieces, %s ct, cost %s", l.Pieces, l.Carats, l.Cost.Words()))
	add("children", strings.Join(l.Children, ", "))
	readings := strconv.Itoa(l.Readings)
	if l.Void > 0 {
		readings += fmt.Sprintf(" (%d void)", l.Void)
	}
	row("readings", readings)
	for _, r := range l.Reports {
		row("report", fmt.Sprintf("%s %s of %s: %s", r.Lab, r.Number, r.On, r.Species))
	}
	for _, h := range l.Holds {
		row("held", h.Words())
	}
	return t
}

// takenBack says which entry took a lot back.
func takenBack(by string) string {
	if by == "" {
		return ""
	}
	return "taken back by " + by
}

// LotHistory is what happened to a lot: its versions and its entries.
type LotHistory struct {
	Head `json:"-"`
	Lot  string `json:"lot"`
	// TakenBack is the entry that took its purchase, or what made it, back; empty: it stands.
	TakenBack string         `json:"taken_back"`
	Versions  []book.Lot     `json:"versions"`
	Changed   []LotVersion   `json:"changed"` // what the versions after the first one changed
	Entries   []ledger.Entry `json:"entries"`
	Trail     []TrailLot     `json:"trail"` // the lots that its stones were in, from the first on
}

// historyRow is one posting of one entry.
type historyRow struct {
	ledger.Entry
	posting ledger.Posting
}

func (h *LotHistory) columns() []column[historyRow] {
	return []column[historyRow]{
		{"entry", "Entry", 9, func(r *historyRow) sheet.Cell { return sheet.Text(r.Code) }},
		{"date", "Date", 13, func(r *historyRow) sheet.Cell { return sheet.Date(string(r.PostedOn)) }},
		{"kind", "Kind", 10, func(r *historyRow) sheet.Cell { return sheet.Text(string(r.Kind)) }},
		{"place", "Place", 20, func(r *historyRow) sheet.Cell { return sheet.Text(string(r.posting.Place)) }},
		screen("pieces", func(r *historyRow) sheet.Cell { return signedPieces(&r.posting) }),
		screen("carats", func(r *historyRow) sheet.Cell { return signedCarats(&r.posting) }),
		screen("cost", func(r *historyRow) sheet.Cell { return signedCost(&r.posting) }),
		onlyFiled("Pieces", 8, func(r *historyRow) sheet.Cell { return sheet.Int(r.posting.Pieces) }),
		onlyFiled("By scale (ct)", 11, func(r *historyRow) sheet.Cell { return sheet.Carats(r.posting.Carats) }),
		onlyFiled(h.unit("Cost"), 11, func(r *historyRow) sheet.Cell { return sheet.Money(r.posting.Cost) }),
		{"reason", "Reason", 40, func(r *historyRow) sheet.Cell { return sheet.Text(r.Reason) }},
		onlyFiled("Who", 14, func(r *historyRow) sheet.Cell { return sheet.Text(r.Who) }),
	}
}

// List is the lot's postings; on screen with what each version claimed.
func (h *LotHistory) List() Listing {
	out := &list[historyRow]{head: h.Head, columns: h.columns()}
	for _, e := range h.Entries {
		for _, p := range e.Postings {
			if strings.EqualFold(p.Lot, h.Lot) {
				out.rows = append(out.rows, historyRow{e, p})
			}
		}
	}
	out.screen = func() Screen {
		var s Screen
		if h.TakenBack != "" {
			s.line("%s is void: %s", h.Lot, takenBack(h.TakenBack))
		}
		s = append(s, Part{Table: tableOf(out.columns, out.rows)})
		for i, v := range h.Versions {
			s.line("version %d: %s, treatment %s", i+1, v.Called(), cmp.Or(v.Facets.Treatment.Value, "not stated"))
		}
		if len(h.Changed) > 0 {
			s.table(versionsTable(h.Changed))
		}
		h.trail(&s)
		return s
	}
	return out
}
