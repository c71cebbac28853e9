package answer

import (
	"cmp"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// OrderCompared is the bids for an order, the best first.
type OrderCompared struct {
	Order    string        `json:"order"`
	Due      book.Date     `json:"due"`
	Currency num.Currency  `json:"currency"` // of the book
	Pieces   int64         `json:"pieces"`   // wanted, spares included
	Material num.Money     `json:"material"` // cost of what is supplied
	Taken    int64         `json:"taken"`    // the bid that the order was sent with; 0: none
	Bids     []BidCompared `json:"bids"`
}

// BidCompared is one bid in the book's currency, with the cutter's record.
type BidCompared struct {
	Bid      book.Bid    `json:"bid"`
	Skill    CutterSkill `json:"skill"`
	Record   string      `json:"record"`   // what the record is of; empty: there is none
	Weight   num.Carat   `json:"weight"`   // of one finished stone, expected; 0: not known
	Accepted num.Dec     `json:"accepted"` // stones that will come back as wanted
	Price    num.Money   `json:"price"`    // for them
	Freight  num.Money   `json:"freight"`
	Lost     num.Money   `json:"supplied"`  // cost of what is supplied, less what is claimed
	Total    num.Money   `json:"total"`     // of the accepted stones
	PerPiece *num.Money  `json:"per_piece"` // of an accepted stone; null: not known
	Ready    book.Date   `json:"ready"`     // by the bid's days, else by the record's; empty: not known
	Late     bool        `json:"late"`      // after the order is due
	Unknown  string      `json:"unknown"`   // why the cost is not known
}

// Rank orders bids: those whose cost is known and that are in time, those that are
// late, and those whose cost is not known.
func (b *BidCompared) Rank() int {
	switch {
	case b.PerPiece == nil:
		return 2
	case b.Late:
		return 1
	}
	return 0
}

// Cmp compares the cost of two bids, then their days.
func (b *BidCompared) Cmp(o BidCompared) int {
	if b.PerPiece != nil && o.PerPiece != nil {
		if c := b.PerPiece.Cmp(*o.PerPiece); c != 0 {
			return c
		}
	}
	return cmp.Compare(b.Bid.Days, o.Bid.Days)
}

// decision says which bid to take, and why.
func (o *OrderCompared) decision() string {
	best := o.Bids[0]
	if best.PerPiece == nil {
		return fmt.Sprintf("take none yet: the cost of an accepted stone is not known by any bid for %s", o.Order)
	}
	words := fmt.Sprintf("take bid %d of %s: %s for each accepted stone", best.Bid.Number, best.Bid.Cutter,
		best.PerPiece.Words())
	cheapest := best
	for _, b := range o.Bids[1:] {
		if b.PerPiece != nil && b.PerPiece.Cmp(*cheapest.PerPiece) < 0 {
			cheapest = b
		}
	}
	switch {
	case cheapest.Bid.Number != best.Bid.Number:
		words += fmt.Sprintf("; bid %d of %s would cost %s, but is late", cheapest.Bid.Number, cheapest.Bid.Cutter,
			cheapest.PerPiece.Words())
	case len(o.Bids) > 1 && o.Bids[1].PerPiece != nil:
		next := o.Bids[1]
		words += fmt.Sprintf(", %s less than bid %d of %s", next.PerPiece.Sub(*best.PerPiece), next.Bid.Number,
			next.Bid.Cutter)
	}
	switch {
	case best.Late:
		words += fmt.Sprintf("; every bid is late, this one is ready on %s and due on %s", best.Ready, o.Due)
	case best.Ready != "" && o.Due != "":
		words += fmt.Sprintf("; ready on %s, due on %s", best.Ready, o.Due)
	case o.Due != "":
		words += "; when it will be ready is not said"
	}
	return words
}

// Screen is the decision, the bids side by side, and what each rests on.
func (o *OrderCompared) Screen() Screen {
	var s Screen
	s.line("%s", Wrap(o.decision(), 110, "    "))
	if o.Taken > 0 {
		s.line("bid %d was taken", o.Taken)
	}
	money := func(m num.Money) sheet.Cell { return sheet.Text(m.String()).Right() }
	s.table(tableOf([]column[BidCompared]{
		screen("bid", func(b *BidCompared) sheet.Cell { return sheet.Int(b.Bid.Number) }),
		screen("cutter", func(b *BidCompared) sheet.Cell { return sheet.Text(b.Bid.Cutter) }),
		screen("asks", func(b *BidCompared) sheet.Cell {
			return sheet.Text(b.Bid.Price.Words() + " " + b.Bid.BasisWords())
		}),
		screen("accepted", func(b *BidCompared) sheet.Cell {
			return sheet.Text(b.Accepted.Round(1, num.HalfUp).Fixed(1)).Right()
		}),
		screen("price", func(b *BidCompared) sheet.Cell { return money(b.Price) }),
		screen("freight", func(b *BidCompared) sheet.Cell { return money(b.Freight) }),
		screen("supplied", func(b *BidCompared) sheet.Cell { return money(b.Lost) }),
		screen("each", func(b *BidCompared) sheet.Cell {
			if b.PerPiece == nil {
				return sheet.Text("not known").Right()
			}
			return money(*b.PerPiece)
		}),
		screen("ready", func(b *BidCompared) sheet.Cell {
			if b.Late {
				return sheet.Text(string(b.Ready) + " late")
			}
			return sheet.Text(string(b.Ready))
		}),
	}, o.Bids))
	for _, b := range o.Bids {
		words := b.Skill.sentence()
		if b.Record != "" {
			words += " (" + b.Record + ")"
		}
		if b.Skill.Breakage == nil && o.Material.Sign() > 0 {
			words += "; no breakage is counted"
		}
		if b.Unknown != "" {
			words += "; not compared: " + b.Unknown
		}
		s.line("%s", Wrap(words, 110, "    "))
	}
	return s
}
