package lines

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// basis is what plans and prices of a line are worked out from: all that was
// read from the book for a request, in one view, at one head, with the numbers
// that the request assumes in their places.
type basis struct {
	line       book.Line
	on         book.Date
	head       store.Head
	currency   num.Currency
	config     config.Config
	card       costing.RateCard
	assume     map[string]num.Dec
	lots       map[string]answer.StockLot
	identities map[string]*bench.LotIdentity
	judge      *fitting.Judge
	holds      []book.Hold           // of every line
	onOffer    map[string]bool       // lots that are only on offer
	ordered    map[string]orderedLot // lots that a cutter is to bring
	parcel     *wantedParcel         // that an offer is for; nil: none
	fixed      map[string]num.Money  // trade prices by design that an offer holds still
	units      map[string]costing.PieceInput
	bare       map[string]num.Money // of each design: cost of one unit without its stones
	task       lineplan.Input       // never changed: see newTask
	warnings   fault.List
}

// newTask is the planning task of the basis, to be changed at will.
func (b *basis) newTask() *lineplan.Input {
	task := b.task
	task.Stones, task.Designs = slices.Clone(b.task.Stones), slices.Clone(b.task.Designs)
	return &task
}

// read gathers a line's designs, the stock that may fill them, what it is and
// what it costs. parcel is the one that an offer is for; empty: none.
func (room *Room) read(ctx context.Context, r Plan, parcel string) (*basis, error) {
	b := &basis{assume: r.assumed()}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		b.on, b.currency = room.desk.Today(tx, r.On), tx.Meta().Currency
		var err error
		if b.head, err = tx.Head(ctx); err != nil {
			return err
		}
		if b.line, err = desk.Named[book.Line](ctx, tx, r.Line); err != nil {
			return err
		}
		if b.config, err = config.Load(ctx, tx); err != nil {
			return err
		}
		if b.card, err = desk.LoadRates(ctx, tx, b.on); err != nil {
			return err
		}
		if l := b.setAssumed(); l.Blocks() {
			return l
		}
		prices, err := desk.LoadPrices(ctx, tx, b.on)
		if err != nil {
			return err
		}
		if err := b.readStock(ctx, tx, prices, r, parcel); err != nil {
			return err
		}
		return b.readDesigns(ctx, tx, r)
	})
	return b, err
}

// readFor is what a plan was made from: its line and designs, the settings,
// rates and prices, the stones that it uses, and the orders that bring some.
func (b *basis) readFor(p *solution) *desk.Basis {
	read := desk.NewBasis(b.head)
	read.Kinds(book.KindConfig, book.KindRate, book.KindPrice)
	for _, d := range p.task.Designs {
		read.Records(b.line, d.Design)
	}
	for lot := range p.Used {
		if o, ordered := b.ordered[lot]; ordered {
			read.Records(book.Order{Number: o.order})
		} else {
			read.Lots(lot)
		}
	}
	return read
}

// verdict judges a stone in a position for the planner.
func (b *basis) verdict(s lineplan.Stone, d lineplan.Design, pos book.Position) lineplan.Verdict {
	j := b.judge.At(b.lots[s.Lot].Lot, d.Design, pos)
	if j.Err != nil {
		return lineplan.Verdict{Level: int(durability.Avoid), Reason: j.Reason()}
	}
	return lineplan.Verdict{Level: int(j.All.Setting), Reason: j.Reason(), Loss: b.judge.Loss(j, s.Value)}
}

// readDesigns reads the line's designs and what one unit costs without its
// stones.
func (b *basis) readDesigns(ctx context.Context, tx store.ReadTx, r Plan) error {
	b.units, b.bare = map[string]costing.PieceInput{}, map[string]num.Money{}
	for name := range r.Quantities {
		if !containsFold(b.line.Designs, name) {
			return fault.New(fault.NotFound, "design-unknown", fmt.Sprintf("the line %s has no design %q", b.line.Name,
				name), cmp.Or(fault.DidYouMean(name, b.line.Designs), "see the line")).AtRef(name).Do("line",
				"show", b.line.Name)
		}
	}
	var l fault.List
	for _, name := range b.line.Designs {
		d, err := desk.Named[book.Design](ctx, tx, b.line.Name+"/"+name)
		if err != nil {
			return err
		}
		for asked, n := range r.Quantities {
			if strings.EqualFold(asked, name) {
				d.Quantity = n
			}
		}
		b.assumeDesign(&d)
		for _, pos := range d.Positions {
			if err := lineplan.CheckColor(pos.Color); err != nil {
				l.Add(fault.New(fault.Invalid, "color-unread", fmt.Sprintf("the colour of %s %s cannot be read: %v",
					name, pos.Name, err), "write words such as light greenish blue, or numbers such as h200-260 t3-6 "+
					"s5-9").AtRef(name))
			}
		}
		unit := unitOf(d, len(b.task.Designs)+1).Replace(costing.ByPath(b.assume))
		node, faults := costing.PieceCost(withoutStones(unit, d), b.card)
		faults = ofDesign(faults, d.Name)
		l.Add(faults...)
		if faults.Blocks() {
			continue
		}
		b.units[d.Name], b.bare[d.Name] = unit, node.Amount
		b.task.Designs = append(b.task.Designs, lineplan.Design{Design: d, Margin: d.PriceTrade.Sub(node.Amount)})
	}
	if l.Blocks() {
		return distinct(l)
	}
	b.warnings = append(b.warnings, distinct(l)...)
	return nil
}

// distinct keeps the first of faults that say the same.
func distinct(l fault.List) fault.List {
	var out fault.List
	seen := map[string]bool{}
	for _, f := range l {
		if k := f.Code + f.What + f.Where.String(); !seen[k] {
			seen[k] = true
			out = append(out, f)
		}
	}
	return out
}

// unitOf is the costing input of one sale unit of the design of a number in its
// line, its stones still missing.
func unitOf(d book.Design, number int) costing.PieceInput {
	return costing.PieceInput{
		Design: d.Name, Number: number, Piece: d.Piece, Metal: d.Metal, Fineness: d.Fineness,
		MetalWeight: d.MetalWeight, Labour: d.Labour, Findings: d.Findings,
		Plated: slices.Contains(d.Bench, "plating"),
	}
}

// withoutStones is the unit with its setting work but stones that cost
// nothing: what the stones may then cost is the margin that is left.
func withoutStones(u costing.PieceInput, d book.Design) costing.PieceInput {
	u.Stones = nil
	for _, p := range d.Positions {
		u.Stones = append(u.Stones, costing.StoneInput{Position: p.Name, Lot: "-", Name: p.Wanted(),
			Pieces: p.Count, Setting: p.Setting, Length: cmp.Or(p.LengthMax, p.LengthMin), Basis: "planned"})
	}
	return u
}

// lotsIn lists the lots that a design's position takes, in the plan's order.
func (p *solution) lotsIn(design, position string) []string {
	var out []string
	for _, piece := range p.Pieces {
		if piece.Design != design {
			continue
		}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				if f.Position == position && !slices.Contains(out, s.Lot) {
					out = append(out, s.Lot)
				}
			}
		}
	}
	return out
}

// nameOf is what the stones of a lot are called.
func (b *basis) nameOf(lot string) string {
	if s, ok := b.lots[lot]; ok {
		return s.Name()
	}
	return lot
}

// bookCost is what n pieces of a lot carry in the book, by average; for a lot
// on memo in, its agreed price, because it must be bought to be used; for a
// lot of a parcel that an offer is for, what the pieces bring as leftovers.
func (b *basis) bookCost(lot string, n int64) num.Money {
	if left, ok := b.parcel.leftover(lot, n); ok {
		return left
	}
	s, ok := b.lots[lot]
	if !ok || s.Pieces == 0 {
		return num.Zero(b.currency)
	}
	cost := s.Cost
	if !s.Owner.IsOwn() && strings.HasPrefix(string(s.Owner), "memo-in/") {
		cost = s.Agreed
	}
	if cost.Currency() == "" {
		cost = num.Zero(b.currency)
	}
	q := cost.Dec().Mul(num.Int(n)).Each(s.Pieces, b.currency.Digits(), num.HalfUp)
	return num.MoneyFromDec(q, b.currency, num.HalfUp)
}

// containsFold reports whether list holds s, whatever the case of its letters.
func containsFold(list []string, s string) bool {
	return slices.ContainsFunc(list, func(v string) bool { return strings.EqualFold(v, s) })
}
