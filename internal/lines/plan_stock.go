package lines

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/identify"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
)

// stock reads every lot that a plan might use, and judges what it is.
func (p *Planned) stock(ctx context.Context, tx store.ReadTx, prices desk.PriceList, r LinePlan) error {
	b, err := bench.NewIdentifier(p.Config)
	if err != nil {
		return err
	}
	holds, err := desk.HoldsOf(ctx, tx, "")
	if err != nil {
		return err
	}
	held := heldElsewhere(holds, r.Line)
	p.held = holds
	record, err := fitting.LossesOf(ctx, tx)
	if err != nil {
		return err
	}
	p.Stones, p.Identities, p.fromOffer = map[string]answer.StockLot{}, map[string]*bench.LotIdentity{},
		map[string]bool{}
	p.toCome, p.ordered = map[string]coming{}, map[string]string{}
	p.Judge = fitting.NewJudge(p.Identities, p.Config, record)
	p.Input = &lineplan.Input{Judge: p.verdict, Out: map[string]bool{}, Locks: r.Locks}
	for _, out := range r.Out {
		p.Input.Out[out] = true
	}
	err = bench.Identities(ctx, tx, b, desk.StockFilter{}, func(s answer.StockLot, id bench.LotIdentity) error {
		p.Stones[s.Code] = s
		p.Identities[s.Code] = &id
		mine := held[strings.ToLower(s.Code)]
		var pieces int64
		for _, h := range mine {
			pieces += h.Pieces
		}
		st := planStone(s, id, pieces, prices, p.Config)
		st.Away = append(st.Away, mine...)
		p.Input.Stones = append(p.Input.Stones, st)
		return nil
	})
	if err != nil {
		return err
	}
	if err := p.knownLots(r); err != nil {
		return err
	}
	p.Input.Stones = append(p.Input.Stones, r.With...)
	if r.CountCutter != "" {
		if err := p.atCutter(ctx, tx, prices, r.CountCutter); err != nil {
			return err
		}
	}
	for _, code := range r.WithOffers {
		if err := p.withOffer(ctx, tx, b, prices, code); err != nil {
			return err
		}
	}
	if r.parcel != "" {
		return p.offer(ctx, tx, b, prices, r.parcel)
	}
	return nil
}

// heldElsewhere are the pieces that other lines hold, by folded lot.
func heldElsewhere(holds []book.Hold, line string) map[string][]lineplan.Away {
	out := map[string][]lineplan.Away{}
	at := map[string]int{}
	for _, h := range holds {
		other, _, _ := strings.Cut(h.For, "/")
		if strings.EqualFold(other, line) {
			continue
		}
		lot, why := strings.ToLower(h.Lot), "held for the line "+other
		i, ok := at[lot+"\x00"+why]
		if !ok {
			i = len(out[lot])
			at[lot+"\x00"+why] = i
			out[lot] = append(out[lot], lineplan.Away{Why: why})
		}
		out[lot][i].Pieces += h.Pieces
	}
	return out
}

// knownLots refuses lots that are named in the request and not in the book.
func (p *Planned) knownLots(r LinePlan) error {
	var l fault.List
	codes := make([]string, 0, len(p.Stones))
	for code := range p.Stones {
		codes = append(codes, code)
	}
	check := func(named, field string) {
		lot, _, _ := strings.Cut(named, " in ")
		if lot = strings.TrimSpace(lot); !desk.ContainsFold(codes, lot) {
			l.Add(fault.New(fault.NotFound, "lot-unknown", fmt.Sprintf("no lot %q in this book has stones", lot),
				cmp.Or(fault.DidYouMean(lot, codes), "list them")).AtField(field).Do("stock", "list"))
		}
	}
	for _, out := range r.Out {
		check(out, "without")
	}
	for _, lost := range r.Lost {
		check(lost, "lost")
	}
	return l.Err()
}

// planStone is a lot as the planner sees it, with so many of its pieces held
// for others.
func planStone(s answer.StockLot, id bench.LotIdentity, held int64, prices desk.PriceList,
	c desk.Config) lineplan.Stone {
	st := lineplan.Stone{
		Lot: s.Code, Species: s.Species, Variety: s.Variety, Treatment: s.Facets.Treatment.Value, Shape: s.Shape,
		Length: s.Length, Width: s.Width, Depth: s.Depth, Calibrated: s.Calibrated, Estimated: s.Estimated,
		Color: s.Color, Clarity: s.Clarity,
		Owner: s.Owner, Identity: string(id.Judged.State), Fenced: s.Fenced,
	}
	for _, b := range s.Places {
		switch {
		case b.Place == book.Safe:
			st.Free = max(0, b.Pieces-held)
		case b.Pieces > 0:
			st.Away = append(st.Away, lineplan.Away{Pieces: b.Pieces, Why: "at " + string(b.Place)})
		}
	}
	if s.Pieces > 0 {
		each := s.Carats.Dec().Each(s.Pieces, 3, num.HalfUp)
		st.Carats = num.CaratFromDec(each, num.HalfUp)
	}
	if id.Judged.State.Fenced() && st.Fenced == "" {
		st.Fenced = "its readings: " + string(id.Judged.State)
	}
	perCarat, known := prices.StoneValue(c.StoneValue, s)
	st.Basis = strings.ReplaceAll(c.StoneValue, "_", " ")
	if !known {
		st.Basis = "book cost: the price list has no row for it"
	}
	if !s.Owner.IsOwn() && !s.Agreed.IsZero() && s.Carats > 0 {
		q := s.Agreed.Dec().Over(s.Carats.Dec(), 6, num.HalfUp)
		perCarat = num.UnitPriceFromDec(q, s.Agreed.Currency(), num.HalfUp) // it must be bought to be used
		st.Basis = "agreed price"
	}
	st.PerCarat = perCarat
	st.Value = perCarat.ForCarats(st.Carats, num.HalfUp)
	return st
}

// withOffer puts the lots of a parcel that is only on offer among the stones.
func (p *Planned) withOffer(ctx context.Context, tx store.ReadTx, b *bench.Identifier, prices desk.PriceList,
	code string) error {
	before := len(p.Input.Stones)
	if err := p.offer(ctx, tx, b, prices, code); err != nil {
		return err
	}
	if kind := p.offered.parcel.Kind; kind != book.OfferOnly {
		return fault.New(fault.Refused, "parcel-here", "the parcel "+code+" is in the book already",
			"its stones are in every plan: leave it out").AtField("with_offer")
	}
	for i := before; i < len(p.Input.Stones); i++ {
		st := &p.Input.Stones[i]
		st.Note = "only on offer"
		p.fromOffer[st.Lot] = true
	}
	p.offered = nil
	return nil
}

// coming is what is believed of the cutter who is to bring a lot, and what one
// of its stones is worth.
type coming struct {
	skill cutting.Skill
	each  num.Money
}

// atCutter counts what cutters are due to bring by a date: the stones of each
// order that was sent, at the size that was ordered. Nobody has tested them,
// so they are no more than stated, and they are not in the safe: a plan with
// them says when they come.
func (p *Planned) atCutter(ctx context.Context, tx store.ReadTx, prices desk.PriceList, by book.Date) error {
	orders, err := store.All[book.Order](ctx, tx, "")
	if err != nil {
		return err
	}
	records := map[string][]cutting.CutterRecord{}
	for _, o := range orders {
		if o.State != "sent" || o.Due == "" || o.Due > by {
			continue
		}
		record, known := records[o.Cutter]
		if !known {
			if record, err = stockroom.CutterRecord(ctx, tx, orders, o.Cutter); err != nil {
				return err
			}
			records[o.Cutter] = record
		}
		skill := cutting.SkillOf(p.Config.CutterBreakage, stockroom.ExpectedYield(o), record)
		there, from := p.outstanding(o)
		for i, l := range o.Lines {
			n := l.Count
			if from != nil {
				n = min(n, there)
				there -= n
			}
			if n > 0 {
				st := p.orderedStone(o, i, n, from, prices)
				p.Input.Stones = append(p.Input.Stones, st)
				if from != nil { // what the cutter supplies is the cutter's risk
					p.toCome[st.Lot] = coming{skill, st.Value}
				}
			}
		}
	}
	return nil
}

// outstanding is how many supplied pieces of an order are still at its cutter,
// and the first lot of them; nil when nothing was supplied.
func (p *Planned) outstanding(o book.Order) (pieces int64, from *answer.StockLot) {
	for _, supplied := range o.Supplied {
		s := p.Stones[supplied.Lot]
		if from == nil {
			from = &s
		}
		for _, b := range s.Places {
			if b.Place == book.PlaceOf(book.AtCutter, o.Cutter) {
				pieces += b.Pieces
			}
		}
	}
	return pieces, from
}

// orderedStone is what one line of an order will bring.
func (p *Planned) orderedStone(o book.Order, i int, pieces int64, from *answer.StockLot,
	prices desk.PriceList) lineplan.Stone {
	l := o.Lines[i]
	lot := book.Lot{Code: fmt.Sprintf("%s line %d", o.Number, i+1), Owner: book.Own, Shape: l.Shape, Color: l.Color,
		Calibrated: true,
		Length:     book.Size{Min: l.Length - l.Tolerance, Max: l.Length + l.Tolerance}, Width: book.Size{Min: l.Width -
			l.Tolerance, Max: l.Width + l.Tolerance}}
	lot.Facets.Treatment = book.StatedFacet(l.Treatment)
	switch {
	case from != nil:
		lot.Species, lot.Variety, lot.Facets, lot.Color, lot.Clarity, lot.Owner = from.Species, from.Variety,
			from.Facets, cmp.Or(from.Color, l.Color), from.Clarity, from.Owner
	case len(l.Species) == 1:
		lot.Species, lot.Variety = speciesOf(l.Species[0])
	}
	s := answer.StockLot{Lot: lot, Pieces: pieces, Carats: l.Weight * num.Carat(pieces), Cost: num.Zero(p.currency)}
	if from != nil && from.Carats > 0 { // its cost comes along
		q := from.Cost.Dec().Mul(num.Int(pieces)).Each(from.Pieces, p.currency.Digits(), num.HalfUp)
		s.Cost = num.MoneyFromDec(q, p.currency, num.HalfUp)
	}
	id := bench.LotIdentity{Lot: lot}
	id.Judged.State = identify.Stated
	st := planStone(s, id, 0, prices, p.Config)
	st.Free = pieces
	st.Note = fmt.Sprintf("to come from the cutter %s under %s, due %s", o.Cutter, o.Number, o.Due)
	p.Stones[lot.Code] = s
	p.ordered[lot.Code] = o.Number
	return st
}
