package costing

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chance"
	"lotpaper/internal/fault"
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
	p := pricing{in: in, card: card, cur: card.Currency}
	p.check()
	root := sum(in.Design, "stones + metal + making", p.cur, p.stones(), p.metal(), p.making())
	if p.faults.Blocks() {
		return nil, p.faults
	}
	if o := p.overhead(root); o != nil {
		root.Parts = append(root.Parts, o)
		root.Amount = root.Amount.Add(o.Amount)
		root.Formula = "stones + metal + making + overhead"
	}
	if r := p.returns(); r != nil {
		root.Parts = append(root.Parts, r)
		root.Amount = root.Amount.Add(r.Amount)
		root.Formula += " + expected returns"
	}
	if p.faults.Blocks() {
		return nil, p.faults
	}
	root.setKeys(nodeKey(in.Design))
	root.setShares()
	return root, p.faults
}

// nodeKey is the key of a design's whole tree.
func nodeKey(design string) string { return "node/" + design }

type pricing struct {
	in     PieceInput
	card   RateCard
	cur    num.Currency
	faults fault.List
}

func (p *pricing) check() {
	in := p.in
	if in.MetalWeight > 0 {
		p.faults.Add(CheckFineness(in.Fineness))
	}
	if in.MetalWeight < 0 || in.Labour.Sign() < 0 || in.Findings.Sign() < 0 {
		p.faults.Add(fault.New(fault.Invalid, "design-negative", "metal weight, labour and findings are not negative", "enter them as positive numbers").AtRef(in.Design))
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
			p.faults.Add(fault.New(fault.Invalid, "currency-mixed", fmt.Sprintf("an amount in %s stands among amounts in %s", m.Currency(), p.cur), "convert it with a dated rate before costing: rates import, kind fx").AtRef(in.Design))
			*m = num.Zero(p.cur)
		}
	}
	if b := in.Returns; !isRate(b) {
		p.faults.Add(fault.New(fault.Invalid, "returns-range", fmt.Sprintf("a rate of returns lies between 0 and under 100 %%, but is %g of %g", b.A, b.A+b.B), "check the loss rates").AtRef(in.Design))
	}
	for _, s := range in.Stones {
		if s.Pieces <= 0 || s.Cost.Sign() < 0 {
			p.faults.Add(fault.New(fault.Invalid, "stone-count", fmt.Sprintf("a position takes at least one stone at a cost of at least 0, but %s has %d at %s", s.Position, s.Pieces, s.Cost), "check the plan of the design").AtRef(in.Design + "/" + s.Position))
		}
		if b := s.Breakage; !isRate(b) {
			p.faults.Add(fault.New(fault.Invalid, "breakage-range", fmt.Sprintf("a breakage rate lies between 0 and under 100 %%, but %s has %g of %g", s.Position, b.A, b.A+b.B), "check the loss rates").AtRef(in.Design + "/" + s.Position))
		}
	}
}

// isRate tells whether a belief is a rate from 0 to under 100 %.
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

// ExpectedReplacement is how many further stones are broken per stone that is
// set in the end, when each try breaks with chance p: p / (1 - p), because a
// replacement may break too. Six decimals.
func ExpectedReplacement(b chance.Beta) num.Dec {
	if b == (chance.Beta{}) || b.A <= 0 {
		return num.Dec{}
	}
	mean := breakage(b)
	return mean.Over(num.Int(1).Sub(mean), 6, num.HalfUp)
}

// breakage is the mean of a belief to six decimals, and at most 0.999999: where
// every try breaks no stone is ever set, which must cost, not come out as 0.
func breakage(b chance.Beta) num.Dec {
	mean, most := num.FromFloat(b.Mean(), 6, num.HalfUp), num.Scaled(999_999, 6)
	if mean.Cmp(most) > 0 {
		return most
	}
	return mean
}

func counted(pieces int64) string {
	if pieces == 1 {
		return "1 stone"
	}
	return fmt.Sprintf("%d stones", pieces)
}

// stoneKey is the key of the cost of one lot's stones in one position.
func stoneKey(design string, s StoneInput) string {
	return "design/" + design + "/" + s.Position + "/" + s.Lot
}

func (p *pricing) stones() *Node {
	n := sum("stones", "stones + expected setting loss", p.cur)
	for _, s := range p.in.Stones {
		key := stoneKey(p.in.Design, s)
		cost := &Node{Name: "cost", Amount: num.Zero(p.cur).Add(s.Cost), Formula: fmt.Sprintf("%s, %s ct, at %s", counted(s.Pieces), s.Carats, s.Basis), Live: "{" + key + "}",
			Inputs: []Input{{Key: key, Name: "stones", Value: s.Cost.Dec(), Unit: string(p.cur)}}, Source: s.Basis}
		parts := []*Node{cost}
		if again := ExpectedReplacement(s.Breakage); again.Sign() > 0 {
			p100 := breakage(s.Breakage).Mul(hundred)
			l := leaf("expected setting loss", s.Cost.Dec().Mul(again), p.cur, "stones x breakage / (1 - breakage): a broken stone is replaced, and the replacement may break too",
				"{"+key+"}*ROUND($1/100/(1-$1/100),6)", Input{Key: key + "/breakage", Name: "breakage in setting", Value: p100, Unit: "%", Source: s.BreakageSource})
			parts = append(parts, l)
		}
		line := sum(s.Position+": "+s.Name+" "+s.Lot, "cost + expected setting loss", p.cur, parts...)
		n.Parts = append(n.Parts, line)
		n.Amount = n.Amount.Add(line.Amount)
	}
	return n
}

// fine is the price of a fine gram, exactly as quoted or from the troy ounce
// (12 decimals).
func (p *pricing) fine(metal string) (num.Dec, book.Rate) {
	r := p.need(RateMetal, p.unit("g fine"), metal)
	d, f := FinePrice(r)
	p.faults.Add(f)
	return d, r
}

func (p *pricing) metal() *Node {
	in := p.in
	if in.MetalWeight <= 0 {
		return nil
	}
	price, rate := p.fine(in.Metal)
	w := Input{Key: "design/" + in.Design + "/metal_g", Name: "finished weight", Value: in.MetalWeight.Dec(), Unit: "g"}
	fn := Input{Key: "design/" + in.Design + "/fineness", Name: "fineness", Value: in.Fineness, Unit: "per mille"}
	fine := in.MetalWeight.Dec().Mul(in.Fineness).Mul(num.Scaled(1, 3)).Mul(price)
	price1 := rateInput(rate)
	live := "$1*$2/1000*" + finePriceLive(rate)
	parts := []*Node{leaf("metal in the piece", fine, p.cur, "finished weight x fineness / 1000 x fine price", live, w, fn, price1)}
	loss, hasLoss := p.optional(RateLoss, "%", in.Metal)
	if hasLoss {
		parts = append(parts, leaf("net loss", fine.Mul(loss.Value).Mul(num.Scaled(1, 2)), p.cur, "metal in the piece x net loss after refining", live+"*$4/100", w, fn, price1, rateInput(loss)))
	}
	if premium, ok := p.optional(RatePremium, "%", in.Metal); ok {
		gross := num.Int(1).Add(loss.Value.Mul(num.Scaled(1, 2)))
		words, formula, inputs := "metal in the piece x premium", live+"*$4/100", []Input{w, fn, price1, rateInput(premium)}
		if hasLoss {
			words, formula, inputs = "(metal in the piece + net loss) x premium", live+"*(1+$4/100)*$5/100", []Input{w, fn, price1, rateInput(loss), rateInput(premium)}
		}
		parts = append(parts, leaf("refiner premium", fine.Mul(gross).Mul(premium.Value).Mul(num.Scaled(1, 2)), p.cur, words, formula, inputs...))
	}
	if sprue, ok := p.find(RateSprue, in.Metal, "all"); ok && sprue.Value.Sign() > 0 {
		if refining, ok := p.find(RateRefining, in.Metal, "all"); ok {
			scrap := sprue.Value.Sub(loss.Value)
			words, formula, inputs := "metal in the piece x sprue x refining charge; the scrap itself is credited", live+"*$4/100*$5/100", []Input{w, fn, price1, rateInput(sprue), rateInput(refining)}
			if hasLoss {
				words, formula = "metal in the piece x (sprue - net loss) x refining charge; the scrap itself is credited", live+"*MAX(0,$4-$6)/100*$5/100"
				inputs = append(inputs, rateInput(loss))
			}
			if scrap.Sign() > 0 {
				parts = append(parts, leaf("refining the scrap", fine.Mul(scrap).Mul(num.Scaled(1, 2)).Mul(refining.Value).Mul(num.Scaled(1, 2)), p.cur, words, formula, inputs...))
			}
		}
	}
	return sum("metal", "finished weight x (1 + net loss) x fineness x fine price x (1 + premium)", p.cur, parts...)
}

func (p *pricing) making() *Node {
	in := p.in
	var parts []*Node
	one := num.Int(1)
	if in.MetalWeight > 0 {
		if r, ok := p.optional(RateCasting, p.unit("g"), in.Metal, "all"); ok {
			cast := in.MetalWeight.Dec()
			inputs := []Input{{Key: "design/" + in.Design + "/metal_g", Name: "finished weight", Value: cast, Unit: "g"}, rateInput(r)}
			words, formula := "finished weight x casting charge", "$1*$2"
			if sprue, ok := p.find(RateSprue, in.Metal, "all"); ok {
				cast = cast.Mul(one.Add(sprue.Value.Mul(num.Scaled(1, 2))))
				inputs = append(inputs, rateInput(sprue))
				words, formula = "finished weight x (1 + sprue) x casting charge: casters charge on cast weight", "$1*(1+$3/100)*$2"
			}
			parts = append(parts, leaf("casting", cast.Mul(r.Value), p.cur, words, formula, inputs...))
		}
	}
	for i, s := range in.Stones {
		name := "setting " + s.Position
		if n := slices.IndexFunc(in.Stones, func(o StoneInput) bool { return o.Position == s.Position }); n != i {
			name += " " + s.Lot // a further lot in the same position
		}
		r, f := p.card.SettingFee(s.Setting, s.Length)
		p.faults.Add(f)
		parts = append(parts, leaf(name, r.Value.Mul(num.Int(s.Pieces)), p.cur, "stones x setting fee", "$1*$2",
			Input{Key: stoneKey(in.Design, s) + "/count", Name: "stones", Value: num.Int(s.Pieces), Unit: "stones"}, rateInput(r)))
	}
	if in.Labour.Sign() > 0 {
		r := p.need(RateLabour, p.unit("h"), "bench")
		hours := in.Labour.Mul(r.Value).Over(num.Int(60), p.cur.Digits(), num.HalfUp)
		parts = append(parts, leaf("labour", hours, p.cur, "minutes / 60 x hourly rate", "$1*$2/60",
			Input{Key: "design/" + in.Design + "/labour_min", Name: "labour", Value: in.Labour, Unit: "min"}, rateInput(r)))
	}
	if in.Findings.Sign() > 0 {
		parts = append(parts, &Node{Name: "findings", Amount: in.Findings, Formula: "bought parts of one unit", Source: "the design's own figure", Live: "{design/" + in.Design + "/findings}",
			Inputs: []Input{{Key: "design/" + in.Design + "/findings", Name: "findings", Value: in.Findings.Dec(), Unit: string(p.cur)}}})
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
			parts = append(parts, leaf(kind, r.Value, p.cur, "one "+kind+" charge a unit", "$1", rateInput(r)))
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

// overhead is a percentage of the making cost (conversion), of the whole direct
// cost (cost), or an amount per labour hour (hour): the first that is given.
func (p *pricing) overhead(root *Node) *Node {
	pct := func(r book.Rate, of string, nodes ...*Node) *Node {
		base, keys := num.Zero(p.cur), []string{}
		for _, n := range nodes {
			base = base.Add(n.Amount)
			keys = append(keys, "{"+nodeKey(p.in.Design)+"/"+n.Name+"}")
		}
		return leaf("overhead", base.Dec().Mul(r.Value).Mul(num.Scaled(1, 2)), p.cur, "overhead rate x "+of, "("+strings.Join(keys, "+")+")*$2/100", Input{Key: baseKey, Name: of, Value: base.Dec(), Unit: string(p.cur)}, rateInput(r))
	}
	for _, name := range []string{"conversion", "cost", "hour"} {
		r, ok := p.card.Find(RateOverhead, name)
		if !ok {
			continue
		}
		p.faults.Add(checkRate(r))
		switch name {
		case "conversion":
			if m := root.Part("making"); m != nil {
				return pct(r, "making cost", m)
			}
		case "cost":
			return pct(r, "stones + metal + making", root.Parts...)
		default:
			amount := p.in.Labour.Mul(r.Value).Over(num.Int(60), p.cur.Digits(), num.HalfUp)
			return leaf("overhead", amount, p.cur, "minutes / 60 x overhead per hour", "$1*$2/60",
				Input{Key: "design/" + p.in.Design + "/labour_min", Name: "labour", Value: p.in.Labour, Unit: "min"}, rateInput(r))
		}
	}
	_, _ = p.optional(RateOverhead, "%", "conversion")
	return nil
}
