package answer

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
	"lotpaper/internal/sheet"
)

// The tiers that a customer may be quoted.
const (
	TradeTier  = "trade"
	RetailTier = "retail"
)

// Quote is what a customer is offered of a line: for each design what it is made of
// and what it costs. It holds no cost, no margin, no lot and no warning of the house.
type Quote struct {
	Head
	Line  string `json:"line"`
	Party string `json:"party"`
	Addressee
	Until         book.Date    `json:"until"` // the last day that it holds; empty: not said
	PriceTier     string       `json:"price_tier"`
	PriceCurrency num.Currency `json:"price_currency"`
	Tax           QuoteTax     `json:"tax"`
	Smallest      *num.Money   `json:"smallest"` // order without tax; null: any
	Pieces        []QuotePiece `json:"pieces"`
}

// QuoteTax is the tax on the prices of a quote.
type QuoteTax struct {
	Percent num.Percent `json:"percent"`
	In      bool        `json:"in"` // the prices include it
}

// QuotePiece is one design as it is offered.
type QuotePiece struct {
	Design string       `json:"design"`
	Piece  string       `json:"piece"` // ring, pendant ...
	Metal  string       `json:"metal"` // "gold 585"
	Weight num.Gram     `json:"weight_g"`
	Stones []QuoteStone `json:"stones"` // of one piece
	Safety []string     `json:"safety"` // what of the stones can hurt people
	Steps  []QuoteStep  `json:"steps"`  // by rising quantity, the first from one piece
	Most   int64        `json:"most"`   // how many can be made

	Picture *QuotePicture `json:"picture"` // null: its stones are drawn
}

// QuotePicture is a picture of a design or of stones.
type QuotePicture struct {
	SHA256 string `json:"sha256"`
	Wide   int    `json:"wide"` // in pixels; only their relation counts
	High   int    `json:"high"`
	Data   []byte `json:"-"`
}

// QuoteStep is the price of one piece from a quantity on.
type QuoteStep struct {
	From int64     `json:"from"`
	Each num.Money `json:"each"`
}

// QuoteStone is one kind of stone in a piece. Where pieces differ, weights and
// measures are the range that holds all of them.
type QuoteStone struct {
	Pieces    int64     `json:"pieces"` // in one piece
	In        int64     `json:"in"`     // of how many of the pieces that can be made
	Name      string    `json:"name"`
	Disclosed string    `json:"disclosed"` // nature and treatment, and what they rest on
	Care      string    `json:"care"`      // that the treatment asks for
	Shape     string    `json:"shape"`
	Color     string    `json:"color"`
	Size      string    `json:"size"`
	Low       num.Carat `json:"low_ct"` // together, of the lightest piece, by scale
	High      num.Carat `json:"high_ct"`
	Weight    string    `json:"weight"` // as it is stated
}

// JSON is the model's canonical form: lotpaper/quote/1.
func (q *Quote) JSON() ([]byte, error) { return encode("lotpaper/quote/1", q) }

// Quoted is a quote that was issued, and what the house alone is told of it.
type Quoted struct {
	Quote
	Document book.Document `json:"-"`
	Warnings fault.List    `json:"-"`
}

// QuoteStoneOf words stones of a lot in a piece.
func QuoteStoneOf(lot book.Lot, pieces int64, carats num.Carat) QuoteStone {
	d := DisclosureOf(lot)
	return QuoteStone{Pieces: pieces, In: 1, Name: TradeName(lot), Disclosed: d.disclosed(lot), Care: d.Care,
		Shape: lot.Shape, Color: lot.Color, Size: SizeWords(lot), Low: carats, High: carats}
}

// isLike reports whether two stones are sold by the same words, so that one line may
// stand for both.
func (s QuoteStone) isLike(o QuoteStone) bool {
	return s.Name == o.Name && s.Disclosed == o.Disclosed && s.Care == o.Care && s.Shape == o.Shape
}

// covers widens the words of stones so that they hold of others too.
func (s *QuoteStone) covers(o QuoteStone) {
	s.Size = widerSize(s.Size, o.Size)
	if colors := strings.Split(s.Color, " or "); o.Color != "" && !slices.Contains(colors, o.Color) {
		s.Color = joined(" or ", s.Color, o.Color)
	}
}

// widerSize is the size that holds two sizes, each side on its own; empty when one
// of them is not known, or has other sides.
func widerSize(a, b string) string {
	left, right := strings.Split(a, " x "), strings.Split(b, " x ")
	if len(left) != len(right) {
		return ""
	}
	for i := range left {
		low, high, f := sideOf(left[i])
		otherLow, otherHigh, g := sideOf(right[i])
		if f != nil || g != nil {
			return ""
		}
		left[i] = book.Size{Min: min(low, otherLow), Max: max(high, otherHigh)}.String()
	}
	return strings.Join(left, " x ")
}

func sideOf(s string) (low, high num.Millimetre, f *fault.Fault) {
	from, to, ranged := strings.Cut(s, "-")
	if low, f = num.ParseMillimetre(from); f != nil || !ranged {
		return low, low, f
	}
	high, f = num.ParseMillimetre(to)
	return low, high, f
}

// QuoteStones are the kinds of stone in pieces of one design, given the stones of
// each piece.
func QuoteStones(pieces [][]QuoteStone, rule num.CaratRule) []QuoteStone {
	out := []QuoteStone{}
	for _, piece := range pieces {
		var kinds []QuoteStone // of this piece
		for _, s := range piece {
			i := slices.IndexFunc(kinds, s.isLike)
			if i < 0 {
				kinds = append(kinds, s)
				continue
			}
			k := &kinds[i]
			k.covers(s)
			k.Pieces, k.Low, k.High = k.Pieces+s.Pieces, k.Low+s.Low, k.High+s.High
		}
		for _, s := range kinds {
			i := slices.IndexFunc(out, func(o QuoteStone) bool { return o.isLike(s) && o.Pieces == s.Pieces })
			if i < 0 {
				out = append(out, s)
				continue
			}
			k := &out[i]
			k.covers(s)
			k.In, k.Low, k.High = k.In+1, min(k.Low, s.Low), max(k.High, s.High)
		}
	}
	for i := range out {
		out[i].Weight = out[i].weightWords(rule)
	}
	return out
}

// weightWords are the weight as it is stated: "0.52 to 0.55 ct together".
func (s QuoteStone) weightWords(rule num.CaratRule) string {
	low, high := s.Low.Hundredths(rule).Dec().Fixed(2), s.High.Hundredths(rule).Dec().Fixed(2)
	words := low
	if low != high {
		words += " to " + high
	}
	words += noBreak + "ct"
	if s.Pieces > 1 {
		words += " together"
	}
	return words
}

// named are the count and the name of the stones, and what is disclosed of them.
func (s QuoteStone) named(most int64) string {
	count := strconv.FormatInt(s.Pieces, 10) + noBreak
	if s.Pieces > 1 {
		count += "×" + noBreak
	}
	words := count + s.Name + ", " + s.Disclosed
	if s.In < most {
		words += fmt.Sprintf(" (in %d of the %d)", s.In, most)
	}
	return words
}

// measured are shape, colour, weight and measures of the stones.
func (s QuoteStone) measured() string {
	return joined(", ", s.Shape, s.Color, s.Weight, measureWords(s.Shape, s.Size))
}

// made are what a piece is, its metal and its weight.
func (p *QuotePiece) made() string {
	weight := ""
	if p.Weight > 0 {
		weight = "about" + noBreak + p.Weight.Dec().Fixed(1) + noBreak + "g"
	}
	return capital(joined(", ", p.Piece, p.Metal, weight))
}

// canBeMade says how many can be ordered.
func (p *QuotePiece) canBeMade() string { return fmt.Sprintf("%d can be made", p.Most) }

// range is the quantity that a step is for: "3 to 5".
func (p *QuotePiece) quantity(step int) string {
	from, to := p.Steps[step].From, p.Most
	if step+1 < len(p.Steps) {
		to = p.Steps[step+1].From - 1
	}
	if from >= to {
		return strconv.FormatInt(from, 10)
	}
	return fmt.Sprintf("%d%sto%s%d", from, noBreak, noBreak, to)
}

// picture is the picture of a piece, as papers take it; nil: it has none.
func (p *QuotePiece) picture() *paper.Picture {
	if p.Picture == nil {
		return nil
	}
	return &paper.Picture{Data: p.Picture.Data, Wide: p.Picture.Wide, High: p.Picture.High}
}

// counted is how many designs are quoted, in words.
func (q *Quote) counted() string {
	if len(q.Pieces) == 1 {
		return "one design"
	}
	return fmt.Sprintf("%d designs", len(q.Pieces))
}

// taxWords say whether the prices include a tax.
func (q *Quote) taxWords() string {
	switch taxed := q.Tax.Percent.Sign() > 0; {
	case taxed && q.Tax.In:
		return "tax of " + q.Tax.Percent.String() + noBreak + "% included"
	case taxed || q.PriceTier == TradeTier:
		return "without tax"
	}
	return ""
}

// hold says how long the prices hold, in the reader's order of dates.
func (q *Quote) hold() string {
	while := "while the stones are unsold."
	if q.Until == "" {
		return "They hold " + while
	}
	return "They hold until " + unbroken(paper.ParseDates(q.House.Dates).Words(string(q.Until))) + ", and " + while
}

// smallestWords say what the smallest order is; empty: any.
func (q *Quote) smallestWords() string {
	if q.Smallest == nil {
		return ""
	}
	return "The smallest order is " + unbroken(q.Smallest.Words()) + " without tax."
}

// quoteStones say what weights and the words of a disclosure mean.
const quoteStones = "Weights and measures are of the stones set aside for these pieces; where a range stands, each " +
	"piece lies within it. Stated means as it was told to us in writing. Tested means that we tested which stone it " +
	"is; a bench test shows no treatment and is no laboratory report."

// terms are what the quote promises, and nothing that the house has not said.
func (q *Quote) terms() [][2]string {
	prices := joined(", ", "For the quantities named, in "+string(q.PriceCurrency), q.taxWords())
	return [][2]string{{"Prices", prices + ". " + q.hold()}, {"Stones", quoteStones + " " + q.weightWords()},
		{"Delivery", q.House.Delivery}, {"Payment", q.House.Payment}, {"Returns", q.House.Returns}}
}

// quoteRow is one step of a design's price.
type quoteRow struct {
	piece *QuotePiece
	step  int
}

var quoteColumns = []column[quoteRow]{
	screen("design", func(r *quoteRow) sheet.Cell { return sheet.Text(r.piece.Design) }),
	screen("can be made", func(r *quoteRow) sheet.Cell { return sheet.Int(r.piece.Most) }),
	screen("from", func(r *quoteRow) sheet.Cell { return sheet.Int(r.piece.Steps[r.step].From) }),
	screen("each", func(r *quoteRow) sheet.Cell { return sheet.Money(r.piece.Steps[r.step].Each) }),
}

// Screen is for whom the quote is, and its prices.
func (q *Quote) Screen() Screen {
	var s Screen
	until := ""
	if q.Until != "" {
		until = "good until " + string(q.Until)
	}
	s.line("%s", joined(", ", q.Number+": "+q.counted()+" of the line "+q.Line+" for "+q.Party,
		q.PriceTier+" prices in "+string(q.PriceCurrency), strings.ReplaceAll(q.taxWords(), noBreak, " "), until))
	var rows []quoteRow
	for i := range q.Pieces {
		for step := range q.Pieces[i].Steps {
			rows = append(rows, quoteRow{&q.Pieces[i], step})
		}
	}
	s.table(tableOf(quoteColumns, rows))
	return s
}
