package answer

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Piece is a finished piece: its stones, metal and making, what they cost, and where
// it is. Its stones keep a cost of their own; in all they cost what the piece costs.
type Piece struct {
	Piece   string       `json:"piece"` // J7
	Is      string       `json:"is"`    // ring, pendant ...
	Design  string       `json:"design"`
	Metal   string       `json:"metal"`
	Weight  num.Gram     `json:"weight_g"`
	Size    string       `json:"size"`
	Since   book.Date    `json:"since"`
	Owner   book.Owner   `json:"owner"` // the dealer, or the customer whose own it is
	Old     bool         `json:"old"`   // stones in a piece that is no lot, as older books have them
	State   string       `json:"state"` // in stock, sold, gone
	Place   book.Place   `json:"place"` // where it lies, or whom it was sold to
	Stones  []PieceStone `json:"stones"`
	Bought  num.Money    `json:"bought"` // what it was bought for
	MetalOf num.Money    `json:"metal_cost"`
	Making  num.Money    `json:"making_cost"`
	Other   num.Money    `json:"other_cost"` // further charges, less what was written down
	InIt    num.Money    `json:"stones_cost"`
	Cost    num.Money    `json:"cost"` // of all together, while it is in stock
	Damaged *book.Damage `json:"damaged"`
	Note    string       `json:"note"`
}

// PieceStone is stones of one lot in a piece.
type PieceStone struct {
	Lot     string       `json:"lot"`
	Name    string       `json:"name"`
	Owner   book.Owner   `json:"owner"`
	Pieces  int64        `json:"pieces"`
	Carats  num.Carat    `json:"carats"`
	Cost    num.Money    `json:"cost"`
	Damaged *book.Damage `json:"damaged"`
}

// PieceWords name a finished piece: "J7, ring, gold, size 54".
func PieceWords(l book.Lot) string {
	size := ""
	if l.Jewel.Size != "" {
		size = "size " + l.Jewel.Size
	}
	return strings.Join(fields(l.Code, l.Jewel.Is, l.Jewel.Metal, size), ", ")
}

// headline is the piece in one line: what it costs and where it is.
func (p *Piece) headline() string {
	words := p.Piece
	if p.Is != "" {
		words += ", " + p.Is
	}
	words += ": "
	if customer := p.Owner.Customer(); customer != "" {
		if p.State == "gone" {
			return words + "given back to " + customer
		}
		return words + customer + "'s own, in custody at " + string(p.Place)
	}
	switch p.State {
	case "in stock":
		words += fmt.Sprintf("cost %s (stones %s", p.Cost.Words(), p.InIt)
		for _, x := range []struct {
			what string
			cost num.Money
		}{{"bought", p.Bought}, {"metal", p.MetalOf}, {"making", p.Making}, {"other", p.Other}} {
			if x.cost.Sign() != 0 {
				words += fmt.Sprintf(", %s %s", x.what, x.cost)
			}
		}
		words += ") at " + string(p.Place)
	case "sold":
		words += "sold to " + p.Place.Name()
	default:
		words += p.State
	}
	if p.Damaged != nil {
		words += "; damaged: " + p.Damaged.Reason
	}
	return words
}

// stones is how many stones lie in the piece, and what they weigh.
func (p *Piece) stones() (n int64, carats num.Carat) {
	for _, s := range p.Stones {
		n += s.Pieces
		carats += s.Carats
	}
	return n, carats
}

// Screen is what the piece costs and where it is, its particulars and its stones.
func (p *Piece) Screen() Screen {
	var s Screen
	s.line("%s", p.headline())
	var about []string
	for _, x := range [][2]string{{"design", p.Design}, {"metal", p.Metal}, {"size", p.Size},
		{"since", string(p.Since)}, {"note", p.Note}} {
		if x[1] != "" {
			about = append(about, x[0]+" "+x[1])
		}
	}
	if p.Weight > 0 {
		about = append(about, p.Weight.String()+" g")
	}
	if p.Old {
		about = append(about, "it has no lot of its own: an older book set stones into it")
	}
	if len(about) > 0 {
		s.line("%s", strings.Join(about, "; "))
	}
	if len(p.Stones) == 0 {
		s.line("no stones lie in it")
		return s
	}
	s.table(tableOf(pieceStoneColumns, p.Stones))
	return s
}

var pieceStoneColumns = []column[PieceStone]{
	screen("lot", func(s *PieceStone) sheet.Cell { return sheet.Text(s.Lot) }),
	screen("stone", func(s *PieceStone) sheet.Cell { return sheet.Text(s.Name) }),
	screen("owner", func(s *PieceStone) sheet.Cell { return sheet.Text(string(s.Owner)) }),
	screen("pieces", func(s *PieceStone) sheet.Cell { return sheet.Int(s.Pieces) }),
	screen("carats", func(s *PieceStone) sheet.Cell { return sheet.Carats(s.Carats) }),
	screen("cost", func(s *PieceStone) sheet.Cell { return sheet.Money(s.Cost) }),
	screen("damaged", func(s *PieceStone) sheet.Cell { return sheet.Text(damageWords(s.Damaged)) }),
}

// damageWords say why something is damaged; empty: it is sound.
func damageWords(d *book.Damage) string {
	if d == nil {
		return ""
	}
	return d.Reason
}

// Pieces are finished pieces.
type Pieces struct {
	Head   `json:"-"`
	Pieces []Piece   `json:"pieces"`
	Cost   num.Money `json:"cost"` // of all that are in stock
}

func (l *Pieces) columns() []column[Piece] {
	return []column[Piece]{
		{"piece", "Piece", 9, func(p *Piece) sheet.Cell { return sheet.Text(p.Piece) }},
		{"is", "Kind", 12, func(p *Piece) sheet.Cell { return sheet.Text(p.Is) }},
		onlyFiled("Design", 20, func(p *Piece) sheet.Cell { return sheet.Text(p.Design) }),
		onlyFiled("Metal", 12, func(p *Piece) sheet.Cell { return sheet.Text(p.Metal) }),
		{"since", "Since", 13, func(p *Piece) sheet.Cell { return sheet.Date(string(p.Since)) }},
		{"where", "Place", 20, func(p *Piece) sheet.Cell { return sheet.Text(string(p.Place)) }},
		{"stones", "Stones", 8, func(p *Piece) sheet.Cell { n, _ := p.stones(); return sheet.Int(n) }},
		{"carats", "By scale (ct)", 10, func(p *Piece) sheet.Cell { _, ct := p.stones(); return sheet.Carats(ct) }},
		{"stones cost", l.unit("Stones cost"), 11, func(p *Piece) sheet.Cell { return sheet.Money(p.InIt) }},
		{"own cost", l.unit("Own cost"), 11, func(p *Piece) sheet.Cell { return sheet.Money(p.Cost.Sub(p.InIt)) }},
		{"cost", l.unit("Cost"), 11, func(p *Piece) sheet.Cell { return sheet.Money(p.Cost) }},
		{"state", "State", 24, func(p *Piece) sheet.Cell { return sheet.Text(p.state()) }},
	}
}

// state is the piece's state with its damage, and that it is old.
func (p *Piece) state() string {
	old := ""
	if p.Old {
		old = "stones only"
	}
	return strings.Join(fields(cmp.Or(p.State, "gone"), old, damageWords(p.Damaged)), ", ")
}

// List is the pieces, with what they cost together.
func (l *Pieces) List() Listing {
	out := &list[Piece]{head: l.Head, columns: l.columns(), rows: l.Pieces}
	out.screen = func() Screen {
		var s Screen
		s.line("%s", l.decision())
		if len(l.Pieces) == 0 {
			return s
		}
		return append(s, Part{Table: tableOf(out.columns, out.rows)})
	}
	return out
}

// decision says how many pieces are in stock, what they cost, and how many of them
// are out.
func (l *Pieces) decision() string {
	var stock, away, custody int
	for i := range l.Pieces {
		p := &l.Pieces[i]
		switch {
		case p.Owner.Customer() != "" && p.State != "gone":
			custody++
		case p.State == "in stock":
			if stock++; p.Place.Kind() != book.AtOffice {
				away++
			}
		}
	}
	words := "no piece is in stock"
	if stock > 0 {
		words = fmt.Sprintf("in stock: %s, cost %s; ", plural(stock, "piece", "pieces"), l.Cost.Words())
		if away == 0 {
			words += "none is out"
		} else {
			words += fmt.Sprintf("%d out", away)
		}
	}
	if custody > 0 {
		words += fmt.Sprintf("; %s in custody", plural(custody, "piece of a customer", "pieces of customers"))
	}
	return words
}

// PieceMoved is what was done with a finished piece.
type PieceMoved struct {
	Moved
	Piece    Piece   `json:"piece"`
	Document *Issued `json:"document"` // the receipt for a customer's own piece; null: none
}

// Screen is the piece as it is now, and what moved.
func (p *PieceMoved) Screen() Screen {
	var s Screen
	s.line("%s", p.Piece.headline())
	s.paper(p.Document)
	return append(s, p.Moved.Screen()...)
}
