package book

import (
	"fmt"
	"strings"

	"lotpaper/internal/num"
)

// Sent is a part of one lot that left the safe on a paper.
type Sent struct {
	Lot    string    `json:"lot"`
	Pieces int64     `json:"pieces"`
	Carats num.Carat `json:"carats"`
	From   Place     `json:"from,omitempty"` // where it lay; empty: safe
	// Price is what a customer who keeps it pays; nil: none was named.
	Price *AskedPrice `json:"price,omitempty"`
}

// Weighed is what was sent, without the lot's name.
func (s Sent) Weighed() Weighed { return Weighed{s.Pieces, s.Carats} }

// AskedPrice is what a customer who keeps stones of a lot pays, by its basis: for
// each carat, for each piece, or for all that went out.
type AskedPrice struct {
	Amount num.UnitPrice `json:"amount"`
	Basis  LineBasis     `json:"basis"`
}

// Of is the price of a part of what it was named for, at the minor unit. The
// price of all is shared by carats, by pieces where nothing was weighed.
func (p AskedPrice) Of(part, whole Weighed) num.Money {
	switch p.Basis {
	case LinePerPiece:
		return p.Amount.ForPieces(part.Pieces, num.HalfUp)
	case LinePerCarat:
		return p.Amount.ForCarats(part.Carats, num.HalfUp)
	}
	share, all := part.Carats.Dec(), whole.Carats.Dec()
	if all.IsZero() {
		share, all = num.Int(part.Pieces), num.Int(whole.Pieces)
	}
	c := p.Amount.Currency()
	return num.MoneyFromDec(p.Amount.Dec().Mul(share).Over(all, c.Digits(), num.HalfUp), c, num.HalfUp)
}

// Taken is the price of a part that leaves what is held of a lot: what is left
// keeps its own price, so that the parts of a price for all add up to it.
func (p AskedPrice) Taken(part, held, whole Weighed) num.Money {
	if p.Basis == LinePerPiece || p.Basis == LinePerCarat {
		return p.Of(part, whole)
	}
	rest := Weighed{held.Pieces - part.Pieces, held.Carats - part.Carats}
	return p.Of(held, whole).Sub(p.Of(rest, whole))
}

// Words is the price with its basis: "120.00 USD per carat".
func (p AskedPrice) Words() string {
	switch p.Basis {
	case LinePerPiece:
		return p.Amount.Words() + " per piece"
	case LinePerCarat:
		return p.Amount.Words() + " per carat"
	}
	return p.Amount.Words() + " for all"
}

// Weighed is pieces and what they weigh together.
type Weighed struct {
	Pieces int64     `json:"pieces"`
	Carats num.Carat `json:"carats"`
}

// Ticket is a work ticket: stones out with a setter, a goldsmith or a
// laboratory. Tickets are numbered from the counter of works.
type Ticket struct {
	Number string `json:"number"` // W9
	Party  string `json:"party"`
	On     Date   `json:"on"`
	Due    Date   `json:"due,omitempty"`
	At     Place  `json:"at"`
	Sent   []Sent `json:"sent"`

	Work     WorkKind     `json:"work,omitempty"`   // empty: to be set
	Into     string       `json:"into,omitempty"`   // the piece that they are set into
	Design   string       `json:"design,omitempty"` // LINE/DESIGN that they are set for
	Spots    []TicketSpot `json:"spots,omitempty"`  // which position of the design each lot is for
	Setting  string       `json:"setting,omitempty"`
	Breakage string       `json:"breakage,omitempty"` // who bears it
	Document string       `json:"document,omitempty"` // the ticket as it was issued
	Note     string       `json:"note,omitempty"`     // what is to be done, in words
}

// WorkKind is what a work ticket asks for.
type WorkKind string

// The kinds of work.
const (
	WorkSet        WorkKind = "set"        // stones into a piece that there is, or that the setter has
	WorkMake       WorkKind = "make"       // a piece is made, and the stones are set into it
	WorkRepair     WorkKind = "repair"     // a piece is mended, resized or polished
	WorkLaboratory WorkKind = "laboratory" // a report is asked for
)

// WorkKinds lists the kinds of work.
var WorkKinds = []string{string(WorkSet), string(WorkMake), string(WorkRepair), string(WorkLaboratory)}

// TicketSpot says which position of a ticket's design a lot is for.
type TicketSpot struct {
	Lot      string `json:"lot"`
	Position string `json:"position"`
}

// SpotOf is the position that a lot is for, as LINE/DESIGN/POSITION names it; the
// zero spot: the ticket does not say.
func (t Ticket) SpotOf(lot string) LineSpot {
	line, design, _ := strings.Cut(t.Design, "/")
	for _, s := range t.Spots {
		if strings.EqualFold(s.Lot, lot) && design != "" {
			return LineSpot{line, SpotName(design + "/" + s.Position)}
		}
	}
	return LineSpot{}
}

// RecordKind says that tickets are kept as versions.
func (Ticket) RecordKind() Kind { return KindTicket }

// RecordKey is the ticket's number.
func (t Ticket) RecordKey() string { return t.Number }

// Refs are who has the stones, their lots, the piece, and the issued document.
func (t Ticket) Refs() []Ref {
	return withSent(named(ToParty(t.Party), ToPiece(t.Into), ToPaper(t.Document)), t.Sent)
}

// Transfer is stones on their way from one office to another.
type Transfer struct {
	Number string `json:"number"` // T1
	To     Place  `json:"to"`     // the safe of the office that they go to
	On     Date   `json:"on"`
	Due    Date   `json:"due,omitempty"`
	At     Place  `json:"at"`
	Sent   []Sent `json:"sent"` // with the safe that each lot left
	Note   string `json:"note,omitempty"`
}

// RecordKind says that transfers are kept as versions.
func (Transfer) RecordKind() Kind { return KindTransfer }

// RecordKey is the transfer's number.
func (t Transfer) RecordKey() string { return t.Number }

// Refs are the lots that left.
func (t Transfer) Refs() []Ref { return withSent(nil, t.Sent) }

// Outcome says what became of stones that were on a paper.
type Outcome string

// The outcomes.
const (
	Accepted Outcome = "accepted" // back, as wanted
	Rejected Outcome = "rejected" // back, worked on and not as wanted
	Unworked Outcome = "unworked" // back as they went
	Placed   Outcome = "set"      // set into a piece
	Sold     Outcome = "sold"     // kept by the party, and invoiced
	Broken   Outcome = "broken"
	Missing  Outcome = "missing"  // written off when the paper is closed
	Acquired Outcome = "acquired" // from its lender, and still out under a code of its own
	Chips    Outcome = "chips"    // powder and chips: weight without stones
	Rough    Outcome = "rough"    // what is left of cut rough, to be cut again
	Bought   Outcome = "bought"   // supplied by the party, and bought
)

// Batch is what came back on a paper in one go, counted and weighed. It is
// written once.
type Batch struct {
	Paper  string      `json:"paper"` // M3
	Number int64       `json:"number"`
	Party  string      `json:"party"`
	On     Date        `json:"on"`
	Lines  []BatchLine `json:"lines"`
	Accept string      `json:"accept,omitempty"` // why differences were accepted
	Sheet  int64       `json:"sheet,omitempty"`  // the number on the party's own sheet, when it came with one
	Closes bool        `json:"closes,omitempty"` // the paper was closed with it
	Note   string      `json:"note,omitempty"`
}

// BatchLine is what became of a part of one lot.
type BatchLine struct {
	Lot     string  `json:"lot,omitempty"` // empty: bought from the party
	Outcome Outcome `json:"outcome"`
	Weighed         // as it was counted and weighed
	Off     Weighed `json:"off"`            // what it takes off the paper
	Into    string  `json:"into,omitempty"` // the lot that was made of it
	Item    string  `json:"item,omitempty"` // of the order that it is for
	To      Place   `json:"to,omitempty"`   // where it is now; empty: nowhere
	Length  Size    `json:"length,omitzero"`
	Width   Size    `json:"width,omitzero"`
	Depth   Size    `json:"depth,omitzero"`
	Claim   bool    `json:"claim,omitempty"` // its cost is claimed from the party
	Note    string  `json:"note,omitempty"`

	// NRV is what rough left over would bring, which it took out of the cost first.
	NRV *num.Money `json:"nrv,omitempty"`
}

// BatchKey is the key of a paper's batch: M3/1.
func BatchKey(paper string, n int64) string { return fmt.Sprintf("%s/%d", paper, n) }

// RecordKind says that batches are written once.
func (Batch) RecordKind() Kind { return KindBatch }

// RecordKey is the paper's number and the batch's.
func (b Batch) RecordKey() string { return BatchKey(b.Paper, b.Number) }

// Refs are the paper, the party, and the lots that came back or were made.
func (b Batch) Refs() []Ref {
	refs := named(ToPaper(b.Paper), ToParty(b.Party))
	for _, l := range b.Lines {
		refs = append(refs, named(ToLot(l.Lot), ToLot(l.Into))...)
		if l.To.Kind() == AtPiece {
			refs = append(refs, ToPiece(l.To.Name()))
		}
	}
	return refs
}

// withSent adds the lots that left on a paper.
func withSent(refs []Ref, sent []Sent) []Ref {
	for _, s := range sent {
		refs = append(refs, ToLot(s.Lot))
	}
	return refs
}

// PaperPlace is where the stones of a paper lie.
func PaperPlace(number string) Place { return PlaceOf(AtPaper, number) }
