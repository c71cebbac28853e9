package lines

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Offer asks for the most to pay for a parcel, given what a line can earn with
// it. The parcel may be only on offer, or be in the book already; nothing is
// written and no stock is touched.
type Offer struct {
	LinePlan
	Parcel string
	Per    string    // carat, piece or total; empty: carat
	Ask    num.Money // the seller's price in all; zero: the newest ask that the book keeps
	Target num.Money // profit wanted of the parcel
	Terms  OfferTerms
	Runs   int      // of each simulation; 0: 10,000
	Only   []string // doubts that are counted; empty: all; see Doubts
	Whole  bool     // count the whole line's profit, not only what the parcel adds to it
}

// OfferTerms replace the book's settings; nil keeps them.
type OfferTerms struct {
	PayDays      *int64
	CashDiscount *num.Percent
	SellMonths   *num.Dec
	MoneyCost    *num.Percent
	Haircut      *num.Percent
}

// in are the terms of an offer under a configuration.
func (t OfferTerms) in(c *desk.Config) costing.Terms {
	out := costing.Terms{CashDiscount: c.CashDiscount, PayDays: c.PayDays, SellMonths: c.SellMonths,
		MoneyCost: c.MoneyCost}
	if t.PayDays != nil {
		out.PayDays = *t.PayDays
	}
	if t.CashDiscount != nil {
		out.CashDiscount = *t.CashDiscount
	}
	if t.SellMonths != nil {
		out.SellMonths = *t.SellMonths
	}
	if t.MoneyCost != nil {
		out.MoneyCost = *t.MoneyCost
	}
	if t.Haircut != nil {
		c.Haircut = *t.Haircut
	}
	return out
}

// Check reports terms that cannot be.
func (t OfferTerms) check() fault.List {
	if t.Haircut != nil && (t.Haircut.Sign() < 0 || t.Haircut.Cmp(num.Int(100)) > 0) {
		return fault.List{fault.New(fault.Invalid, "haircut-range", "a haircut lies between 0 and 100 %, but is "+
			t.Haircut.String(), "enter percent, e.g. 30").AtField("haircut")}
	}
	return nil
}

// ParcelOffer is the answer.
type ParcelOffer struct {
	costing.Offer
	Parcel   book.Parcel
	Line     string
	Lots     int
	Pieces   int64
	Carats   num.Carat
	Asked    *book.Offer // what the seller asks; nil: nothing is known
	AskIs    string      // "the ask", or "its cost in the book" of a parcel that was bought
	Asks     []book.Offer
	Terms    costing.Terms
	Haircut  num.Percent
	Whole    bool
	Alone    num.Money // what the line earns without the parcel, as planned
	Counted  []string
	Not      []string
	Notes    []string
	Config   desk.Config
	Warnings fault.List
	currency num.Currency
	planned  *Planned
}

// OfferPlan is the plan behind one price.
type OfferPlan struct {
	Designs []OfferDesign `json:"designs"`
	Lots    []OfferUse    `json:"lots"`
	Made    int64         `json:"made"`
	More    int64         `json:"more"` // than without the parcel; may be negative
	Used    int64         `json:"stones_set"`
	Left    int64         `json:"stones_left"`
	Brings  num.Money     `json:"leftovers"` // what the stones that are left bring
	Gap     float64       `json:"gap_percent"`
}

// OfferDesign is how often a design is made with and without the parcel.
type OfferDesign struct {
	Design  string `json:"design"`
	Wanted  int64  `json:"wanted"`
	Made    int64  `json:"made"`
	Without int64  `json:"without"`
}

// OfferUse is how many stones of one lot of the parcel the plan sets.
type OfferUse struct {
	Lot    string    `json:"lot"`
	Name   string    `json:"name"`
	Pieces int64     `json:"pieces"`
	Used   int64     `json:"used"`
	Each   num.Money `json:"each_brings"` // what one stone brings as a leftover
	Left   num.Money `json:"left_bring"`
	Priced bool      `json:"priced"` // the price list knows it
}

// Offer finds the highest prices that meet the aims, and what the ask earns.
func (room *Room) Offer(ctx context.Context, r Offer) (*ParcelOffer, error) {
	if l := r.Terms.check(); l.Blocks() {
		return nil, l
	}
	plan := r.LinePlan
	plan.parcel = r.Parcel
	plan.Hold = false
	work, err := room.readLine(ctx, plan)
	if err != nil {
		return nil, err
	}
	base := &work.planned
	out := &ParcelOffer{Line: r.Line, Parcel: base.offered.parcel, currency: base.currency, Whole: r.Whole,
		Counted: []string{}, Not: []string{}, Notes: []string{}}
	out.Terms = r.Terms.in(&base.Config)
	out.Haircut = base.Config.Haircut
	out.Config = base.Config
	out.planned = base
	base.offered.value(base.Config)
	out.lots(base.offered)
	in := costing.OfferInput{
		Carats: out.Carats, Pieces: out.Pieces, Per: r.per(), Terms: out.Terms, Target: r.Target,
		Currency: base.currency,
		Runs:     costing.Runs{Seed: r.Seed, First: r.Runs}, Ask: out.ask(r, base.offered),
	}
	o := &offerer{ctx: ctx, request: r, plan: plan, base: base, known: map[string]costing.Planned{}}
	if err := o.start(); err != nil {
		return nil, err
	}
	in.Plan = o.at
	if out.Offer, err = costing.OfferOf(in); err != nil {
		return nil, err
	}
	out.Counted, out.Not, out.Alone = o.counted, o.not, o.alone
	out.notes(base.offered)
	out.Warnings = distinct(append(base.Warnings, o.warnings...))
	return out, nil
}

func (r *Offer) per() string {
	if r.Per == "" {
		return "carat"
	}
	return r.Per
}

// lots adds up what is offered.
func (o *ParcelOffer) lots(of *offered) {
	o.Lots = len(of.lots)
	for i := range of.lots {
		o.Pieces += of.lots[i].Pieces
		o.Carats += of.lots[i].Carats
	}
	o.Asks = of.offers
}

// ask is the seller's price by the quoted basis, rounded half up.
func (o *ParcelOffer) ask(r Offer, of *offered) num.Money {
	total := r.Ask
	o.AskIs = "the ask"
	if total.Sign() > 0 {
		o.Asked = &book.Offer{Parcel: of.parcel.Code, Party: of.parcel.Vendor, Side: "ask", Total: total}
	}
	for i := range of.offers {
		if r.Ask.Sign() == 0 && of.offers[i].Side == "ask" {
			o.Asked, total = &of.offers[i], of.offers[i].Total
		}
	}
	if o.Asked == nil && of.parcel.Kind != book.OfferOnly {
		for i := range of.lots {
			total = total.Add(of.lots[i].Cost)
		}
		o.AskIs = "its cost in the book"
	}
	by := num.Int(1)
	switch r.per() {
	case "carat":
		by = o.Carats.Dec()
	case "piece":
		by = num.Int(o.Pieces)
	}
	q, ok := total.Dec().Div(by, o.currency.Digits(), num.HalfUp)
	if !ok {
		return num.Zero(o.currency)
	}
	return num.MoneyFromDec(q, o.currency, num.HalfUp)
}

// notes say what stands behind the figures.
func (o *ParcelOffer) notes(of *offered) {
	if o.Whole {
		o.Notes = append(o.Notes, "profit is the whole line's: what it earns from stones that are in stock already "+
			"counts too")
	} else {
		o.Notes = append(o.Notes, "profit is what the parcel adds: the line with it, less the line without it ("+
			o.Alone.Words()+"), less the parcel")
	}
	o.Notes = append(o.Notes, "the fixed cost of a design counts only when the design is made")
	left := "leftovers bring the loose price of the price list less a haircut of " + o.Haircut.String() + " %"
	if o.Haircut.Sign() == 0 {
		left += " (setting haircut: nothing is taken off)"
	}
	o.Notes = append(o.Notes, left)
	var unpriced []string
	for i := range of.lots {
		if !of.lots[i].priced {
			unpriced = append(unpriced, of.lots[i].Code)
		}
	}
	if len(unpriced) > 0 {
		o.Notes = append(o.Notes, fmt.Sprintf("no loose price is known of %s: left over they count as nothing",
			strings.Join(unpriced, ", ")))
	}
	if o.Terms.MoneyCost.Sign() == 0 {
		o.Notes = append(o.Notes, "money is taken to cost nothing (setting money_cost)")
	}
	if o.planned.Config.StoneValue == "book_cost" {
		o.Notes = append(o.Notes, "stone_value is book_cost: a dearer parcel makes each of its stones dearer to the "+
			"plan, by its share of the price")
	} else {
		o.Notes = append(o.Notes, "once the parcel is paid, its stones cost the plan what they would bring loose: "+
			"its price steers the plan only through price ceilings per carat")
	}
}

// offerer plans and prices the line at each price of the parcel.
type offerer struct {
	ctx      context.Context
	request  Offer
	plan     LinePlan
	base     *Planned
	without  *LinePrice
	minus    *costing.Model // the line without the parcel, taken off
	alone    num.Money
	known    map[string]costing.Planned
	counted  []string
	not      []string
	warnings fault.List
}

// start plans the line without the parcel, and holds still the prices of
// designs that the line leaves to the book: a dealer cannot ask more of the
// customer because the parcel was dear.
func (o *offerer) start() error {
	o.base.offered.fixed = map[string]num.Money{}
	market, err := o.line(num.Zero(o.base.currency), nil)
	if err != nil {
		return err
	}
	out := map[string]bool{}
	for i := range o.base.offered.lots {
		out[o.base.offered.lots[i].Code] = true
	}
	for i := range market.Designs {
		if d := &market.Designs[i]; d.Open {
			o.base.offered.fixed[d.Design] = d.Trade.Price
		}
	}
	if o.without, err = o.line(num.Zero(o.base.currency), out); err != nil {
		return err
	}
	o.alone = num.Zero(o.base.currency)
	for _, d := range o.without.Designs {
		if d.Made > 0 {
			o.alone = o.alone.Add(d.Earned)
		}
	}
	if o.request.Whole {
		return nil
	}
	m, faults := o.without.model(o.request.Only, false)
	if faults.Blocks() {
		return faults
	}
	o.minus = m.Model
	return nil
}

// line is the line planned and priced when the parcel costs total; out are
// lots that it does without.
func (o *offerer) line(total num.Money, out map[string]bool) (*LinePrice, error) {
	p := o.base.at(total, out)
	if err := p.solve(o.ctx, o.plan); err != nil {
		return nil, err
	}
	return priceLine(o.request.Line, p)
}

// at plans the line when the parcel costs total. Prices that give the planner
// the same task give the same plan.
func (o *offerer) at(total num.Money) (costing.Planned, error) {
	key := o.base.offered.task(total, o.base)
	if have, ok := o.known[key]; ok {
		return have, nil
	}
	line, err := o.line(total, nil)
	if err != nil {
		return costing.Planned{}, err
	}
	m, faults := line.model(o.request.Only, false)
	if faults.Blocks() {
		return costing.Planned{}, faults
	}
	if o.counted == nil {
		o.counted, o.not = m.Counted, m.Not
		o.warnings = append(o.warnings, line.Warnings...)
	}
	plan := o.planOf(line)
	if o.minus != nil {
		less(m.Model, o.minus)
	}
	// The stones that are set stand in the model at what they bring as
	// leftovers, so every stone's worth comes back here.
	p := costing.Planned{Model: m.Model, Leftovers: o.base.offered.worth(o.base.currency),
		Words: plan.words(), Data: plan}
	o.known[key] = p
	return p, nil
}

// planOf is the plan in the words of the offer.
func (o *offerer) planOf(l *LinePrice) *OfferPlan {
	plan := &OfferPlan{Designs: []OfferDesign{}, Lots: []OfferUse{}, Brings: num.Zero(l.currency), Gap: l.Plan.Gap}
	for i, d := range l.Designs {
		without := o.without.Designs[i].Made
		plan.Designs = append(plan.Designs, OfferDesign{d.Design, d.Wanted, d.Made, without})
		plan.Made += d.Made
		plan.More += d.Made - without
	}
	of := o.base.offered
	for i := range of.lots {
		s := &of.lots[i]
		u := OfferUse{Lot: s.Code, Name: s.Name(), Pieces: s.Pieces, Used: l.Plan.Used[s.Code], Priced: s.priced}
		u.Each, _ = of.leftover(s.Code, 1)
		whole, _ := of.leftover(s.Code, s.Pieces)
		used, _ := of.leftover(s.Code, u.Used)
		u.Left = whole.Sub(used)
		plan.Used += u.Used
		plan.Left += u.Pieces - u.Used
		plan.Brings = plan.Brings.Add(u.Left)
		plan.Lots = append(plan.Lots, u)
	}
	return plan
}

func (p *OfferPlan) words() string {
	more := fmt.Sprintf("%d more than without the parcel", p.More)
	if p.More < 0 {
		more = fmt.Sprintf("%d fewer than without the parcel", -p.More)
	}
	return fmt.Sprintf("%d pieces made, %s; %d of its stones set, %d left that bring %s", p.Made, more, p.Used, p.Left,
		p.Brings.Words())
}
