package lines

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"lotpaper/internal/allocate"
	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LinePlan asks for the stones of a line.
type LinePlan struct {
	desk.Write
	Line   string
	Hold   bool // reserve what the plan uses
	Work   int  // work limit of the solver; 0: the book's setting, else its default
	Limit  time.Duration
	Seed   uint64
	Out    []string         // lots that may not be used, as "LOT" or "LOT in DESIGN"
	Locks  []lineplan.Lock  // lots that must be used
	Demand map[string]int64 // design -> other quantity than the line's
	// With adds lots that the book does not hold.
	With        []lineplan.Stone
	WithOffers  []string       // parcels that are only on offer, as if they were here
	CountCutter book.Date      // count what a cutter brings by then
	Lost        []string       // lots of which a stone broke: plan again and keep the rest
	Before      []lineplan.Use // an earlier plan: what stays where it was, and what to compare with
	Keep        *num.Dec       // what a plan must gain for each stone that it moves, book currency; nil: see keepWorth
	// Assume replaces inputs by the keys that cost trees name: a rate as
	// "metal/gold", a design's own number as "design/NAME/metal_g", or "margin",
	// "markup", "retail_markup", "tax", "price/NAME".
	Assume map[string]num.Dec
	parcel string // whose stones stand in the plan at what they bring, see Offer
}

// Planned is a plan with all that it was made from.
type Planned struct {
	Plan       *lineplan.Plan
	Designs    []lineplan.Design
	Stones     map[string]answer.StockLot
	Identities map[string]*bench.LotIdentity
	Units      map[string]costing.PieceInput // of each design without stones
	Card       costing.RateCard
	Config     desk.Config
	Warnings   fault.List
	Head       store.Head
	Changes    []lineplan.Change // against an earlier plan
	Most       *lineplan.Plan    // after a loss: the best plan that moves what it likes
	KeepWorth  num.Money         // what moving a stone had to gain
	On         book.Date
	held       []book.Hold // of every line
	fromOffer  map[string]bool
	ordered    map[string]string // lots that an order is to bring -> its number
	toCome     map[string]coming // lots that a cutter is to bring of the dealer's own material
	model      *lineplan.Model
	Judge      *fitting.Judge
	Input      *lineplan.Input
	currency   num.Currency
	assume     map[string]num.Dec
	bare       map[string]num.Money // of each design: cost of one unit without its stones
	offered    *offered             // the parcel that an offer is for
}

// lineWork is a line read from the book, ready to plan.
type lineWork struct {
	planned Planned
	line    book.Line
}

// LinePlan finds the stones for a line: it reads the book once, solves outside
// any transaction, and holds what it used only when the book has not changed.
func (room *Room) LinePlan(ctx context.Context, r LinePlan) (*Planned, error) {
	work, err := room.readLine(ctx, r)
	if err != nil {
		return nil, err
	}
	p := &work.planned
	if len(r.Lost) > 0 {
		err = p.replan(ctx, r)
	} else {
		err = p.solve(ctx, r)
	}
	if err != nil {
		return nil, err
	}
	if err := p.model.Weigh(ctx, p.Plan); err != nil {
		return nil, err
	}
	if r.Before != nil && p.Changes == nil {
		p.Changes = p.model.Compare(r.Before, p.Plan)
	}
	if r.Hold {
		if err := room.holdPlan(ctx, r, p); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// solve finds the plan of what was read.
func (p *Planned) solve(ctx context.Context, r LinePlan) error {
	model, err := lineplan.Build(p.Input)
	if err != nil {
		return lockFault(err)
	}
	if p.openPrices(model) {
		if model, err = lineplan.Build(p.Input); err != nil {
			return lockFault(err)
		}
	}
	p.model = model
	p.Plan, err = model.Solve(ctx, p.settings(r), p.currency)
	return lockFault(err)
}

// settings limit the solver.
func (p *Planned) settings(r LinePlan) allocate.Settings {
	s := allocate.Settings{Work: r.Work, WallLimit: r.Limit, Seed: r.Seed}
	if s.Work == 0 {
		s.Work = p.Config.PlanWork
	}
	return s
}

// readLine gathers a line's designs, the stock that may fill them, what it is
// and what it costs.
func (room *Room) readLine(ctx context.Context, r LinePlan) (*lineWork, error) {
	w := &lineWork{}
	p := &w.planned
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		on := room.desk.Today(tx, r.On)
		p.On = on
		var err error
		if p.Head, err = tx.Head(ctx); err != nil {
			return err
		}
		p.currency = tx.Meta().Currency
		if w.line, err = store.Get[book.Line](ctx, tx, r.Line); err != nil {
			return desk.NotFound(err, "line", r.Line)
		}
		if p.Config, err = desk.LoadConfig(ctx, tx); err != nil {
			return err
		}
		if p.Card, err = desk.LoadRates(ctx, tx, on); err != nil {
			return err
		}
		p.assume = r.Assume
		if l := p.checkAssumed(w.line); l.Blocks() {
			return l
		}
		p.Card = assumeRates(p.Card, r.Assume)
		prices, err := desk.LoadPrices(ctx, tx, on)
		if err != nil {
			return err
		}
		if err := p.stock(ctx, tx, prices, r); err != nil {
			return err
		}
		return p.designs(ctx, tx, w.line, r)
	})
	return w, err
}

// verdict judges a stone in a position for the planner.
func (p *Planned) verdict(s lineplan.Stone, d lineplan.Design, pos book.Position) lineplan.Verdict {
	lot, ok := p.Stones[s.Lot]
	if !ok { // a stone that is only on offer: what it claims is all there is
		lot.Lot = book.Lot{
			Code: s.Lot, Species: s.Species, Variety: s.Variety, Shape: s.Shape, Length: s.Length, Width: s.Width,
			Facets: book.Facets{Treatment: book.StatedFacet(s.Treatment)},
		}
	}
	j := p.Judge.At(lot.Lot, d.Design, pos)
	if j.Err != nil {
		return lineplan.Verdict{Level: int(durability.Avoid), Reason: j.Reason()}
	}
	return lineplan.Verdict{Level: int(j.All.Setting), Reason: j.Reason(), Loss: p.Judge.Loss(j, s.Value)}
}

// designs reads the line's designs and what one unit costs without its stones.
func (p *Planned) designs(ctx context.Context, tx store.ReadTx, line book.Line, r LinePlan) error {
	p.Units, p.bare = map[string]costing.PieceInput{}, map[string]num.Money{}
	for name := range r.Demand {
		if !desk.ContainsFold(line.Designs, name) {
			return fault.New(fault.NotFound, "design-unknown", fmt.Sprintf("the line %s has no design %q", line.Name,
				name), cmp.Or(fault.DidYouMean(name, line.Designs), "see the line")).AtRef(name).Do("line",
				"show", line.Name)
		}
	}
	var l fault.List
	for _, name := range line.Designs {
		d, err := store.Get[book.Design](ctx, tx, line.Name+"/"+name)
		if err != nil {
			return desk.NotFound(err, "design", name)
		}
		for asked, n := range r.Demand {
			if strings.EqualFold(asked, name) {
				d.Quantity = n
			}
		}
		p.assumeDesign(&d)
		for _, pos := range d.Positions {
			if err := lineplan.CheckColor(pos.Color); err != nil {
				l.Add(fault.New(fault.Invalid, "color-unread", fmt.Sprintf("the colour of %s %s cannot be read: %v",
					name, pos.Name, err), "write words such as light greenish blue, or numbers such as h200-260 t3-6 "+
					"s5-9").AtRef(name))
			}
		}
		unit := unitOf(d, len(p.Designs)+1).Replace(costing.ByPath(p.assume))
		node, faults := costing.PieceCost(withoutStones(unit, d), p.Card)
		faults = ofDesign(faults, d.Name)
		l.Add(faults...)
		if faults.Blocks() {
			continue
		}
		p.Units[d.Name], p.bare[d.Name] = unit, node.Amount
		p.Designs = append(p.Designs, lineplan.Design{Design: d, Margin: d.PriceTrade.Sub(node.Amount)})
	}
	if l.Blocks() {
		return distinct(l)
	}
	p.Warnings = append(p.Warnings, distinct(l)...)
	p.Input.Designs = p.Designs
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
	u := costing.PieceInput{
		Design: d.Name, Number: number, Piece: d.Piece, Metal: d.Metal, Fineness: d.Fineness,
		MetalWeight: d.MetalWeight,
		Labour:      d.Labour, Findings: d.Findings,
	}
	for _, step := range d.Bench {
		u.Plated = u.Plated || step == "plating"
	}
	return u
}

// withoutStones is the unit with its setting work but stones that cost
// nothing: what the stones may then cost is the margin that is left.
func withoutStones(u costing.PieceInput, d book.Design) costing.PieceInput {
	u.Stones = nil
	for _, p := range d.Positions {
		length := p.LengthMax
		if length == 0 {
			length = p.LengthMin
		}
		u.Stones = append(u.Stones, costing.StoneInput{Position: p.Name, Lot: "-", Name: lineplan.Wanted(p),
			Pieces: p.Count, Setting: p.Setting, Length: length, Basis: "planned"})
	}
	return u
}
