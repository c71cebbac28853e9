package costing

import (
	"fmt"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/fault"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
)

// StoneInput is the stones of one position of a piece that come from one lot.
type StoneInput struct {
	Position string
	Lot      string
	Name     string // "topaz, blue"
	Pieces   int64
	Carats   num.Carat
	Cost     num.Money // of all the pieces, book currency, whole minor units
	Basis    string    // what Cost is: book cost, loose price, replacement, agreed memo price, customer's own (zero)
	Setting  string
	Length   num.Millimetre // chooses the size class of the setting fee
	// Breakage is the belief about the share of such stones that break while
	// they are set; a broken stone is replaced from the lot. Zero: none.
	Breakage       chance.Beta
	BreakageSource string
}

// PieceInput is all that one sale unit takes; a pair of earrings is one unit.
type PieceInput struct {
	Design      string
	Number      int    // its place in the line
	Piece       string // ring, earrings ...
	Stones      []StoneInput
	Metal       string    // gold, silver, platinum, palladium
	Fineness    num.Dec   // parts per thousand, as marked
	MetalWeight num.Gram  // finished
	Labour      num.Dec   // minutes
	Findings    num.Money // bought parts: posts, chains, boxes' clasps
	Plated      bool      // a plating rate is then needed
	// Returns is the belief about the share of such pieces that come back
	// damaged in the first year of wear; the dearest stone is then replaced and
	// set again. Zero: none.
	Returns       chance.Beta
	ReturnsSource string
	Other         []*Node // further direct costs of one unit, e.g. a piece's laboratory report
}

// sizeClass is a class of stone length that setters price by.
type sizeClass struct {
	name string
	upTo num.Millimetre
}

// sizeClasses: setters price by size; the limits are common practice.
var sizeClasses = []sizeClass{{"melee", 250}, {"small", 500}, {"medium", 800}, {"large", 1 << 40}}

// SizeClass is the class of a stone's length in setting fees: "prong small".
func SizeClass(length num.Millimetre) string {
	for _, c := range sizeClasses {
		if length <= c.upTo {
			return c.name
		}
	}
	return ""
}

var hundred = num.Int(100)

// PieceCost is the cost of one sale unit as a tree. Faults name every rate
// that is missing or wrong; warnings name what is counted as nothing because
// no rate is given.
func PieceCost(in PieceInput, card RateCard) (*Node, fault.List) {
	p := pricing{in: in, card: card, cur: card.Currency, inputs: map[formula.Key]Input{}}
	p.check()
	root := sum(in.Design, "stones + metal + making", p.cur, p.stones(), p.metal(), p.making())
	if p.faults.Blocks() {
		return nil, p.faults
	}
	setKeys := func() { root.setKeys(nodeKey(in.Number), "node/"+in.Design) }
	setKeys()
	if o := p.overhead(root); o != nil {
		root.add(o)
		root.Formula = "stones + metal + making + overhead"
	}
	if r := p.returns(); r != nil {
		root.add(r)
		root.Formula += " + expected returns"
	}
	if p.faults.Blocks() {
		return nil, p.faults
	}
	setKeys()
	root.setShares()
	return root, p.faults
}

// nodeKey is the key of a design's whole tree.
func nodeKey(number int) formula.Key { return formula.At("node", number) }

type pricing struct {
	in     PieceInput
	card   RateCard
	cur    num.Currency
	inputs map[formula.Key]Input
	faults fault.List
}

func (p *pricing) check() {
	in := p.in
	if in.MetalWeight > 0 {
		p.faults.Add(CheckFineness(in.Fineness))
	}
	if in.MetalWeight < 0 || in.Labour.Sign() < 0 || in.Findings.Sign() < 0 {
		p.faults.Add(fault.New(fault.Invalid, "design-negative", "metal weight, labour and findings must not be "+
			"negative",
			"enter them as positive numbers").AtRef(in.Design))
	}
	// An amount in another currency is a fault and then read as nothing, so that
	// the other faults of the piece are found too.
	p.in.Stones = slices.Clone(in.Stones)
	amounts := []*num.Money{&p.in.Findings}
	for i := range p.in.Stones {
		amounts = append(amounts, &p.in.Stones[i].Cost)
	}
	for _, m := range amounts {
		if m.Currency() != "" && m.Currency() != p.cur {
			p.faults.Add(fault.New(fault.Invalid, "currency-mixed",
				fmt.Sprintf("an amount in %s stands among amounts in %s", m.Currency(), p.cur),
				"convert it with a dated rate before costing: rates import, kind fx").AtRef(in.Design))
			*m = num.Money{}
		}
		*m = num.Zero(p.cur).Add(*m)
	}
	if b := in.Returns; !isRate(b) {
		p.faults.Add(fault.New(fault.Invalid, "returns-range",
			fmt.Sprintf("a rate of returns must lie between 0 and under 100 %%, but is %g of %g", b.A, b.A+b.B),
			"check the loss rates").AtRef(in.Design))
	}
	for _, s := range in.Stones {
		if s.Pieces <= 0 || s.Cost.Sign() < 0 {
			p.faults.Add(fault.New(fault.Invalid, "stone-count",
				fmt.Sprintf("a position must take at least one stone at a cost of at least 0, but %s has %d at %s",
					s.Position, s.Pieces, s.Cost), "check the plan of the design").AtRef(in.Design + "/" + s.Position))
		}
		if b := s.Breakage; !isRate(b) {
			p.faults.Add(fault.New(fault.Invalid, "breakage-range",
				fmt.Sprintf("a breakage rate must lie between 0 and under 100 %%, but %s has %g of %g", s.Position, b.A,
					b.A+b.B), "check the loss rates").AtRef(in.Design + "/" + s.Position))
		}
	}
}

// isRate reports whether a belief is a rate from 0 to under 100 %.
func isRate(b chance.Beta) bool { return b == chance.Beta{} || b.A >= 0 && b.B > 0 }

// need is the card's rate; a missing one is kept as a fault and reads as 0.
func (p *pricing) need(kind, unit string, names ...string) book.Rate {
	r, f := p.card.Need(kind, unit, names...)
	p.faults.Add(f)
	return r
}

// optional is the card's rate, or a warning that it is counted as nothing.
func (p *pricing) optional(kind, unit string, names ...string) (book.Rate, bool) {
	r, f := p.card.Need(kind, unit, names...)
	if f != nil && f.Code == "rate-missing" {
		w := f.AsWarning()
		w.Code, w.What = "rate-left-out", fmt.Sprintf("no %s rate on %s: counted as 0", kind, p.card.day())
		p.faults.Add(w)
		return r, false
	}
	p.faults.Add(f)
	return r, f == nil
}

// find is the first of the names that the card knows.
func (p *pricing) find(kind string, names ...string) (book.Rate, bool) {
	for _, n := range names {
		if r, ok := p.card.Find(kind, n); ok {
			p.faults.Add(checkRate(r))
			return r, true
		}
	}
	return book.Rate{}, false
}

func (p *pricing) unit(of string) string { return string(p.cur) + "/" + of }

func counted(pieces int64) string {
	if pieces == 1 {
		return "1 stone"
	}
	return fmt.Sprintf("%d stones", pieces)
}

// own is one of the design's own numbers; stone is the place of the stones that
// it is of, -1 when it is of the whole piece.
func (in PieceInput) own(what string, stone int, name string, value num.Dec, unit string, kind InputKind) Input {
	out := Input{Key: formula.At(what, in.Number), Path: "design/" + in.Design + "/" + what, Name: name, Value: value,
		Unit: unit, Kind: kind, Design: in.Design}
	if stone >= 0 {
		s := in.Stones[stone]
		out.Key = formula.At(what, in.Number, stone)
		out.Position, out.Lot, out.Path = s.Position, s.Lot, "design/"+in.Design+"/"+s.Position+"/"+s.Lot
		if what != "stones" {
			out.Path += "/" + what
		}
	}
	return out
}

func (in PieceInput) metalGrams() Input {
	return in.own("metal_g", -1, "finished weight", in.MetalWeight.Dec(), "g", OfDesign)
}

func (in PieceInput) fineness() Input {
	return in.own("fineness", -1, "fineness", in.Fineness, "per mille", Decided)
}

func (in PieceInput) labourMinutes() Input {
	return in.own("labour_min", -1, "labour", in.Labour, "min", OfDesign)
}

func (in PieceInput) findings() Input {
	return in.own("findings", -1, "findings", in.Findings.Dec(), string(in.Findings.Currency()), OfDesign)
}

func (in PieceInput) returns() Input {
	x := in.own("returns", -1, "come back damaged in the first year", percentOf(in.Returns), "%", OfDesign)
	x.Source = in.ReturnsSource
	return x
}

func (in PieceInput) stones(i int) Input {
	return in.own("stones", i, "stones", in.Stones[i].Cost.Dec(), string(in.Stones[i].Cost.Currency()), OfDesign)
}

func (in PieceInput) count(i int) Input {
	return in.own("count", i, "stones", num.Int(in.Stones[i].Pieces), "stones", Decided)
}

func (in PieceInput) breakage(i int) Input {
	x := in.own("breakage", i, "breakage in setting", percentOf(in.Stones[i].Breakage), "%", OfDesign)
	if x.Value.Cmp(mostBreakage) > 0 {
		x.Value = mostBreakage
	}
	x.Source = in.Stones[i].BreakageSource
	return x
}

// Beliefs are the beliefs behind the piece's own rates, by the keys of its inputs.
func (in PieceInput) Beliefs() map[formula.Key]chance.Beta {
	out := map[formula.Key]chance.Beta{in.returns().Key: in.Returns}
	for i, s := range in.Stones {
		out[in.breakage(i).Key] = s.Breakage
	}
	return out
}

// mostBreakage is the most that is believed, in percent: where every try breaks
// no stone is ever set, which must cost, not come out as 0.
var mostBreakage = num.Scaled(99_9999, 4)

// percentOf is a belief's mean in percent, to six decimals of the share.
func percentOf(b chance.Beta) num.Dec {
	if b.A <= 0 {
		return num.Dec{}
	}
	return num.FromFloat(b.Mean(), 6, num.HalfUp).Mul(hundred)
}

func (p *pricing) stones() *Node {
	var lines []*Node
	for i, s := range p.in.Stones {
		stones := p.reads(p.in.stones(i), "stones")
		cost := p.node("cost", stones, fmt.Sprintf("%s, %s ct, at %s", counted(s.Pieces), s.Carats, s.Basis))
		cost.Source = s.Basis
		parts := []*Node{cost}
		if in := p.in.breakage(i); in.Value.Sign() > 0 {
			rate := p.reads(in, "breakage").Percent()
			parts = append(parts, p.leaf("expected setting loss", stones.Times(rate.Over(formula.Int(1).Minus(rate)).
				Round(6)),
				": a broken stone is replaced, and the replacement may break too"))
		}
		lines = append(lines, sum(s.Position+": "+s.Name+" "+s.Lot, "cost + expected setting loss", p.cur, parts...))
	}
	return sum("stones", "stones + expected setting loss", p.cur, lines...)
}

func (p *pricing) metal() *Node {
	in := p.in
	if in.MetalWeight <= 0 {
		return nil
	}
	r := p.need(RateMetal, p.unit("g fine"), in.Metal)
	price, f := finePrice(r, p.reads(rateInput(r), "fine price"))
	p.faults.Add(f)
	fine := p.reads(in.metalGrams(), "finished weight").Times(p.reads(in.fineness(), "fineness")).
		Over(formula.Int(1000)).Times(price)
	parts := []*Node{p.leaf("metal in the piece", fine, "")}
	fine = fine.Named("metal in the piece")
	rate := func(r book.Rate, words string) formula.Expr { return p.reads(rateInput(r), words) }
	gross := fine
	loss, hasLoss := p.optional(RateLoss, "%", in.Metal)
	if hasLoss {
		lost := rate(loss, "net loss after refining").Percent()
		parts = append(parts, p.leaf("net loss", fine.Times(lost), ""))
		gross = fine.Times(formula.Int(1).Plus(lost)).Named("(metal in the piece + net loss)")
	}
	if premium, ok := p.optional(RatePremium, "%", in.Metal); ok {
		parts = append(parts, p.leaf("refiner premium", gross.Times(rate(premium, "premium").Percent()), ""))
	}
	sprue, hasSprue := p.find(RateSprue, in.Metal, "all")
	refining, hasRefining := p.find(RateRefining, in.Metal, "all")
	if hasSprue && hasRefining && sprue.Value.Cmp(loss.Value) > 0 {
		scrap := rate(sprue, "sprue")
		if hasLoss {
			scrap = formula.Max(formula.Int(0), scrap.Minus(rate(loss, "net loss"))).Named("(sprue - net loss)")
		}
		parts = append(parts, p.leaf("refining the scrap", fine.Times(scrap.Percent()).
			Times(rate(refining, "refining charge").Percent()),
			"; the scrap itself is credited"))
	}
	return sum("metal", "finished weight x (1 + net loss) x fineness x fine price x (1 + premium)", p.cur, parts...)
}

func (p *pricing) making() *Node {
	in := p.in
	var parts []*Node
	if in.MetalWeight > 0 {
		if r, ok := p.optional(RateCasting, p.unit("g"), in.Metal, "all"); ok {
			cast, note := p.reads(in.metalGrams(), "finished weight"), ""
			if sprue, ok := p.find(RateSprue, in.Metal, "all"); ok {
				cast, note = cast.Times(formula.Int(1).Plus(p.reads(rateInput(sprue), "sprue").Percent())),
					": casters charge on cast weight"
			}
			parts = append(parts, p.leaf("casting", cast.Times(p.reads(rateInput(r), "casting charge")), note))
		}
	}
	for i, s := range in.Stones {
		name := "setting " + s.Position
		if n := slices.IndexFunc(in.Stones, func(o StoneInput) bool { return o.Position == s.Position }); n != i {
			name += " " + s.Lot // a further lot in the same position
		}
		r, f := p.card.SettingFee(s.Setting, s.Length)
		p.faults.Add(f)
		parts = append(parts, p.leaf(name, p.reads(in.count(i), "stones").Times(p.reads(rateInput(r), "setting fee")),
			""))
	}
	if in.Labour.Sign() > 0 {
		parts = append(parts, p.hours("labour", p.need(RateLabour, p.unit("h"), "bench"), "hourly rate"))
	}
	if in.Findings.Sign() > 0 {
		findings := p.node("findings", p.reads(in.findings(), "findings"), "bought parts of one unit")
		findings.Source = "the design's own figure"
		parts = append(parts, findings)
	}
	unit := func(kind string, needed bool) {
		var r book.Rate
		ok := true
		if needed {
			r = p.need(kind, p.unit("unit"), in.Piece, "unit")
		} else {
			r, ok = p.optional(kind, p.unit("unit"), in.Piece, "unit")
		}
		if ok {
			parts = append(parts, p.leaf(kind, p.reads(rateInput(r), "one "+kind+" charge a unit"), ""))
		}
	}
	unit(RateFinishing, false)
	if in.Plated {
		unit(RatePlating, true)
	}
	if in.MetalWeight > 0 {
		unit(RateMarking, false)
	}
	unit(RatePacking, false)
	parts = append(parts, in.Other...)
	return sum("making", "casting + setting + labour + findings + finishing + marking + packing", p.cur, parts...)
}

// hours is the labour of the piece at an hourly rate.
func (p *pricing) hours(name string, r book.Rate, words string) *Node {
	return p.leaf(name, p.reads(p.in.labourMinutes(), "minutes").Times(p.reads(rateInput(r), words)).
		Over(formula.Int(60)), "")
}

// overhead is a percentage of the making cost (conversion), of the whole direct
// cost (cost), or an amount per labour hour (hour): the first that is given.
func (p *pricing) overhead(root *Node) *Node {
	amount := func(n *Node, name string) formula.Expr {
		return p.reads(Input{Key: n.Key, Path: n.Path, Name: name, Value: n.Amount.Dec(), Unit: string(p.cur),
			Kind: OfNode}, name)
	}
	for _, name := range []string{"conversion", "cost", "hour"} {
		r, ok := p.card.Find(RateOverhead, name)
		if !ok {
			continue
		}
		p.faults.Add(checkRate(r))
		rate := func() formula.Expr { return p.reads(rateInput(r), "overhead rate").Percent() }
		switch name {
		case "conversion":
			if m := root.Part("making"); m != nil {
				return p.leaf("overhead", amount(m, "making cost").Times(rate()), "")
			}
		case "cost":
			base := amount(root.Parts[0], root.Parts[0].Name)
			for _, n := range root.Parts[1:] {
				base = base.Plus(amount(n, n.Name))
			}
			return p.leaf("overhead", base.Times(rate()), "")
		default:
			return p.hours("overhead", r, "overhead per hour")
		}
	}
	_, _ = p.optional(RateOverhead, "%", "conversion")
	return nil
}

// returns is what a piece is expected to cost in its first year of wear: the
// chance that it comes back damaged, times its dearest stone with its setting
// fee. What the customer is owed beyond that is left to the terms of sale.
func (p *pricing) returns() *Node {
	if p.in.Returns.A <= 0 || len(p.in.Stones) == 0 {
		return nil
	}
	var each []formula.Expr
	for i, s := range p.in.Stones {
		r, _ := p.card.SettingFee(s.Setting, s.Length)
		cost, count := p.in.stones(i), p.in.count(i)
		cost.Name, count.Name = s.Position+": cost", s.Position+": count"
		each = append(each, p.reads(cost, "cost").Over(p.reads(count, "count")).
			Plus(p.reads(rateInput(r), "setting fee")))
	}
	dearest := formula.Max(each...).Named("(dearest stone + its setting fee)")
	return p.leaf("expected returns", dearest.Times(p.reads(p.in.returns(), "chance of a return").Percent()), "")
}
