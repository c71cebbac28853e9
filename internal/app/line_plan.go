package app

import (
	"context"
	"fmt"
	"strings"
	"time"

	"lotpaper/internal/allocate"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LinePlan asks for the stones of a line.
type LinePlan struct {
	Write
	Line   string
	Hold   bool // reserve what the plan uses
	Work   int  // work limit of the solver; 0: the book's setting, else its default
	Limit  time.Duration
	Seed   uint64
	Out    []string         // lots that may not be used
	Demand map[string]int64 // design -> other quantity than the line's
	// With adds lots that the book does not hold: a parcel that is only on offer.
	With []lineplan.Stone
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
	Stones     map[string]StockLot
	Identities map[string]*LotIdentity
	Units      map[string]costing.PieceInput // of each design without stones
	Card       costing.RateCard
	Config     Config
	Warnings   fault.List
	Head       store.Head
	judge      *judge
	input      *lineplan.Input
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
func (a *App) LinePlan(ctx context.Context, r LinePlan) (*Planned, error) {
	work, err := a.readLine(ctx, r)
	if err != nil {
		return nil, err
	}
	p := &work.planned
	if err := p.solve(ctx, r); err != nil {
		return nil, err
	}
	if r.Hold {
		if err := a.holdPlan(ctx, r, p); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// solve finds the plan of what was read.
func (p *Planned) solve(ctx context.Context, r LinePlan) error {
	model, err := lineplan.Build(p.input)
	if err != nil {
		return err
	}
	if p.openPrices(model) {
		if model, err = lineplan.Build(p.input); err != nil {
			return err
		}
	}
	settings := allocate.Settings{Work: r.Work, WallLimit: r.Limit, Seed: r.Seed}
	if settings.Work == 0 {
		settings.Work = p.Config.PlanWork
	}
	p.Plan, err = model.Solve(ctx, settings, p.currency)
	return err
}

// readLine gathers a line's designs, the stock that may fill them, what it is
// and what it costs.
func (a *App) readLine(ctx context.Context, r LinePlan) (*lineWork, error) {
	w := &lineWork{}
	p := &w.planned
	err := a.view(ctx, func(tx store.ReadTx) error {
		on := a.today(tx, r.On)
		var err error
		if p.Head, err = tx.Head(ctx); err != nil {
			return err
		}
		p.currency = tx.Meta().Currency
		if w.line, err = store.Get[book.Line](ctx, tx, r.Line); err != nil {
			return notFound(err, "line", r.Line, "list them with: lotpaper line show")
		}
		if p.Config, err = loadConfig(ctx, tx); err != nil {
			return err
		}
		if p.Card, err = loadRates(ctx, tx, on); err != nil {
			return err
		}
		p.assume = r.Assume
		if l := p.checkAssumed(w.line); l.Blocks() {
			return l
		}
		p.Card = p.Card.Replace(r.Assume)
		prices, err := loadPrices(ctx, tx, on)
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

// stock reads every lot that a plan might use, and judges what it is.
func (p *Planned) stock(ctx context.Context, tx store.ReadTx, prices priceList, r LinePlan) error {
	b, err := newBench(p.Config)
	if err != nil {
		return err
	}
	held := map[string]int64{}
	holds, err := holdsOf(ctx, tx, "")
	if err != nil {
		return err
	}
	for _, h := range holds {
		if !strings.HasPrefix(strings.ToLower(h.For), strings.ToLower(r.Line)+"/") {
			held[strings.ToLower(h.Lot)] += h.Pieces
		}
	}
	record, err := lossesOf(ctx, tx)
	if err != nil {
		return err
	}
	p.Stones, p.Identities = map[string]StockLot{}, map[string]*LotIdentity{}
	p.judge = newJudge(p.Identities, record)
	p.input = &lineplan.Input{Judge: p.verdict, Out: map[string]bool{}}
	for _, out := range r.Out {
		p.input.Out[out] = true
	}
	err = identities(ctx, tx, b, StockFilter{}, func(s StockLot, id LotIdentity) error {
		p.Stones[s.Code] = s
		p.Identities[s.Code] = &id
		p.input.Stones = append(p.input.Stones, planStone(s, id, held[strings.ToLower(s.Code)], prices, p.Config))
		return nil
	})
	if err != nil {
		return err
	}
	p.input.Stones = append(p.input.Stones, r.With...)
	if r.parcel != "" {
		return p.offer(ctx, tx, b, prices, r.parcel)
	}
	return nil
}

// planStone is a lot as the planner sees it.
func planStone(s StockLot, id LotIdentity, held int64, prices priceList, c Config) lineplan.Stone {
	var safe ledger.Balance
	out := ""
	for _, b := range s.Places {
		if b.Place == book.Safe {
			safe = b
		} else if b.Pieces > 0 {
			out = fmt.Sprintf("%d at %s", b.Pieces, b.Place)
		}
	}
	st := lineplan.Stone{
		Lot: s.Code, Species: s.Species, Variety: s.Variety, Treatment: s.Facets.Treatment.Value, Shape: s.Shape,
		Length: s.Length, Width: s.Width, Depth: s.Depth, Calibrated: s.Calibrated, Color: s.Color, Clarity: s.Clarity,
		Owner: s.Owner, Free: max(0, safe.Pieces-held), Identity: string(id.Judged.State), Fenced: s.Fenced, Note: out,
	}
	if s.Pieces > 0 {
		each, _ := s.Carats.Dec().Div(num.Int(s.Pieces), 3, num.HalfUp)
		st.Carats = num.CaratFromDec(each, num.HalfUp)
	}
	if id.Judged.State.Fenced() && st.Fenced == "" {
		st.Fenced = "its readings: " + string(id.Judged.State)
	}
	perCarat, _ := prices.stoneValue(c.StoneValue, s)
	if !s.Owner.IsOwn() && !s.Agreed.IsZero() && s.Carats > 0 {
		q, _ := s.Agreed.Dec().Div(s.Carats.Dec(), 6, num.HalfUp)
		perCarat = num.UnitPriceFromDec(q, s.Agreed.Currency(), num.HalfUp) // it must be bought to be used
	}
	st.PerCarat = perCarat
	st.Value = perCarat.ForCarats(st.Carats, num.HalfUp)
	return st
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
	j := p.judge.at(lot.Lot, d.Design, pos)
	if j.err != nil {
		return lineplan.Verdict{Level: int(durability.Avoid), Reason: j.reason()}
	}
	return lineplan.Verdict{Level: int(j.all.Setting), Reason: j.reason(), Loss: p.judge.loss(j, s.Value)}
}

// designs reads the line's designs and what one unit costs without its stones.
func (p *Planned) designs(ctx context.Context, tx store.ReadTx, line book.Line, r LinePlan) error {
	p.Units, p.bare = map[string]costing.PieceInput{}, map[string]num.Money{}
	for name := range r.Demand {
		if !containsFold(line.Designs, name) {
			return fault.New(fault.NotFound, "design-unknown", fmt.Sprintf("the line %s has no design %q", line.Name, name), orThe(fault.DidYouMean(name, line.Designs), "see: lotpaper line show "+line.Name)).AtRef(name)
		}
	}
	var l fault.List
	for _, name := range line.Designs {
		d, err := store.Get[book.Design](ctx, tx, line.Name+"/"+name)
		if err != nil {
			return notFound(err, "design", name, "see: lotpaper line show "+line.Name)
		}
		for asked, n := range r.Demand {
			if strings.EqualFold(asked, name) {
				d.Quantity = n
			}
		}
		p.assumeDesign(&d)
		unit := unitOf(d).Replace(p.assume)
		node, faults := costing.PieceCost(withoutStones(unit, d), p.Card)
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
	p.input.Designs = p.Designs
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

func containsFold(list []string, s string) bool {
	for _, v := range list {
		if strings.EqualFold(v, s) {
			return true
		}
	}
	return false
}

// unitOf is the costing input of one sale unit, its stones still missing.
func unitOf(d book.Design) costing.PieceInput {
	u := costing.PieceInput{
		Design: d.Name, Piece: d.Piece, Metal: d.Metal, Fineness: d.Fineness, MetalWeight: d.MetalWeight,
		Labour: d.Labour, Findings: d.Findings,
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
		u.Stones = append(u.Stones, costing.StoneInput{Position: p.Name, Lot: "-", Name: lineplan.Wanted(p), Pieces: p.Count, Setting: p.Setting, Length: length, Basis: "planned"})
	}
	return u
}

// holdPlan reserves what the plan uses, and frees what an earlier plan of the
// line held and this one does not.
func (a *App) holdPlan(ctx context.Context, r LinePlan, p *Planned) error {
	wanted := map[string]book.Hold{}
	for _, piece := range p.Plan.Pieces {
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				h := book.Hold{Lot: s.Lot, For: r.Line + "/" + piece.Design + "/" + f.Position}
				if had, ok := wanted[h.RecordKey()]; ok {
					h = had
				}
				h.Pieces += s.Pieces
				wanted[h.RecordKey()] = h
			}
		}
	}
	return a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		if head != p.Head {
			return store.ErrConflict
		}
		e := s.entry(ledger.Record, "held for the line "+r.Line)
		holds, err := holdsOf(ctx, tx, "")
		if err != nil {
			return err
		}
		for _, h := range holds {
			if _, still := wanted[h.RecordKey()]; !still && strings.HasPrefix(strings.ToLower(h.For), strings.ToLower(r.Line)+"/") {
				h.Pieces = 0
				e.Records = append(e.Records, h)
			}
		}
		for _, piece := range p.Plan.Pieces { // in the order of the plan
			for _, f := range piece.Fills {
				for _, st := range f.Stones {
					key := book.Hold{Lot: st.Lot, For: r.Line + "/" + piece.Design + "/" + f.Position}.RecordKey()
					if h, ok := wanted[key]; ok {
						e.Records = append(e.Records, h)
						delete(wanted, key)
					}
				}
			}
		}
		if len(e.Records) == 0 {
			return nil
		}
		return tx.Post(ctx, &e)
	})
}
