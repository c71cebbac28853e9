package lines

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/identify"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// readStock reads every lot that a plan might use, and judges what it is.
// parcel is the one that an offer is for; empty: none.
func (b *basis) readStock(ctx context.Context, tx store.ReadTx, prices desk.PriceList, r Plan, parcel string) error {
	identifier, err := bench.NewIdentifier(b.config)
	if err != nil {
		return err
	}
	if b.holds, err = desk.HoldsOn(ctx, tx, "", b.on); err != nil {
		return err
	}
	held := heldElsewhere(b.holds, r.Line)
	b.lots, b.identities = map[string]answer.StockLot{}, map[string]*bench.LotIdentity{}
	b.onOffer, b.ordered = map[string]bool{}, map[string]orderedLot{}
	if b.judge, err = fitting.ReadJudge(ctx, tx, b.identities, b.config); err != nil {
		return err
	}
	b.task = lineplan.Input{Judge: b.verdict, Out: map[string]bool{}, Locks: r.Locks}
	for _, w := range r.Without {
		b.task.Out[w.key()] = true
	}
	err = identifier.Each(ctx, tx, desk.StockFilter{}, func(s answer.StockLot, id bench.LotIdentity) error {
		b.lots[s.Code] = s
		b.identities[s.Code] = &id
		mine := held[strings.ToLower(s.Code)]
		var pieces int64
		for _, h := range mine {
			pieces += h.Pieces
		}
		st := stoneOf(s, id, pieces, prices, b.config)
		st.Away = append(st.Away, mine...)
		b.task.Stones = append(b.task.Stones, st)
		return nil
	})
	if err != nil {
		return err
	}
	if err := b.checkLots(r); err != nil {
		return err
	}
	if r.CountCutter != "" {
		if err := b.addOrdered(ctx, tx, prices, r.CountCutter); err != nil {
			return err
		}
	}
	for _, code := range r.WithOffers {
		if err := b.addOffer(ctx, tx, identifier, prices, code); err != nil {
			return err
		}
	}
	if parcel != "" {
		b.parcel, err = b.readParcel(ctx, tx, identifier, prices, parcel)
	}
	return err
}

// key is the lot, or the lot in its design, as the planner's task names it.
func (w Without) key() string {
	if w.Design == "" {
		return w.Lot
	}
	return w.Lot + " in " + w.Design
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
		if strings.EqualFold(other, book.AtCustomer) {
			why = "held for " + book.Place(h.For).Name()
		}
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

// checkLots refuses lots that the request names and the book does not have.
func (b *basis) checkLots(r Plan) error {
	var l fault.List
	codes := make([]string, 0, len(b.lots))
	for code := range b.lots {
		codes = append(codes, code)
	}
	check := func(lot, field string) {
		if !containsFold(codes, lot) {
			l.Add(fault.New(fault.NotFound, "lot-unknown", fmt.Sprintf("no lot %q in this book has stones", lot),
				cmp.Or(fault.DidYouMean(lot, codes), "list them")).AtField(field).Do("stock", "list"))
		}
	}
	for _, w := range r.Without {
		check(w.Lot, "without")
	}
	for _, lost := range r.Lost {
		check(lost, "lost")
	}
	return l.Err()
}

// stoneOf is a lot as the planner sees it, with so many of its pieces held
// for others.
func stoneOf(s answer.StockLot, id bench.LotIdentity, held int64, prices desk.PriceList,
	c config.Config) lineplan.Stone {
	st := lineplan.Stone{
		Lot: s.Code, Species: s.Species, Variety: s.Variety, Treatment: s.Facets.Treatment.Value, Shape: s.Shape,
		Length: s.Length, Width: s.Width, Depth: s.Depth, Calibrated: s.Calibrated, Estimated: s.Estimated,
		Color: s.Color, Clarity: s.Clarity,
		Owner: s.Owner, Identity: string(id.Judged.State), Fenced: s.Fence(),
	}
	for _, b := range s.Places {
		switch {
		case b.Place.Kind() == book.AtOffice:
			st.Free += b.Pieces
		case b.Pieces > 0:
			st.Away = append(st.Away, lineplan.Away{Pieces: b.Pieces, Why: "at " + string(b.Place)})
		}
	}
	st.Free = max(0, st.Free-held)
	if s.Pieces > 0 {
		each := s.Carats.Dec().Each(s.Pieces, 3, num.HalfUp)
		st.Carats = num.CaratFromDec(each, num.HalfUp)
	}
	if customer := s.Owner.Customer(); customer != "" {
		st.Fenced = "it is " + customer + "'s own, in custody"
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

// addOffer puts the lots of a parcel that is only on offer among the stones.
func (b *basis) addOffer(ctx context.Context, tx store.ReadTx, identifier *bench.Identifier, prices desk.PriceList,
	code string) error {
	before := len(b.task.Stones)
	parcel, err := b.readParcel(ctx, tx, identifier, prices, code)
	if err != nil {
		return err
	}
	if parcel.Kind != book.OfferOnly {
		return fault.New(fault.Refused, "parcel-here", "the parcel "+code+" is in the book already",
			"its stones are in every plan: leave it out").AtField("with_offer")
	}
	for i := before; i < len(b.task.Stones); i++ {
		st := &b.task.Stones[i]
		st.Note = "only on offer"
		b.onOffer[st.Lot] = true
	}
	return nil
}

// orderedLot is a lot that a cutter is to bring under an order.
type orderedLot struct {
	order string
	ours  bool          // cut from the dealer's own material: what breaks is the dealer's loss
	skill cutting.Skill // what is believed of the cutter
	each  num.Money     // what one of its stones is worth
}

// addOrdered adds what cutters are due to bring by a date: the stones of each
// order that was sent, at the size that was ordered. Nobody has tested them,
// so they are no more than stated, and they are not in the safe: a plan with
// them says when they come.
func (b *basis) addOrdered(ctx context.Context, tx store.ReadTx, prices desk.PriceList, by book.Date) error {
	orders, err := store.All[book.Order](ctx, tx, "")
	if err != nil {
		return err
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return err
	}
	records := map[string][]cutting.CutterRecord{}
	for _, o := range orders {
		if o.State != "sent" || o.Due == "" || o.Due > by {
			continue
		}
		cutter := parties.Of(o.Cutter)
		record, known := records[cutter]
		if !known {
			if record, err = desk.CutterRecord(ctx, tx, parties, orders, cutter); err != nil {
				return err
			}
			records[cutter] = record
		}
		skill := cutting.SkillOf(b.config.CutterBreakage, cutting.ExpectedYield(o), record)
		batches, err := desk.BatchesOf(ctx, tx, book.ToPaper(o.Number))
		if err != nil {
			return err
		}
		came := desk.CameByItem(batches)
		there, from := b.outstanding(o)
		for i, l := range o.Lines {
			n := max(0, l.Count-came[book.ItemName(i)])
			if from != nil {
				n = min(n, there)
				there -= n
			}
			if n > 0 {
				st := b.orderedStone(o, i, n, from, prices)
				b.task.Stones = append(b.task.Stones, st)
				b.ordered[st.Lot] = orderedLot{o.Number, from != nil, skill, st.Value}
			}
		}
	}
	return nil
}

// outstanding is how many supplied pieces of an order are still at its cutter,
// and the first lot of them; nil when nothing was supplied.
func (b *basis) outstanding(o book.Order) (pieces int64, from *answer.StockLot) {
	for _, supplied := range o.Supplied {
		s := b.lots[supplied.Lot]
		if from == nil {
			from = &s
		}
		for _, at := range s.Places {
			if at.Place == o.Place() {
				pieces += at.Pieces
			}
		}
	}
	return pieces, from
}

// orderedStone is what one line of an order will bring.
func (b *basis) orderedStone(o book.Order, i int, pieces int64, from *answer.StockLot,
	prices desk.PriceList) lineplan.Stone {
	l := o.Lines[i]
	lot := book.Lot{Code: fmt.Sprintf("%s line %d", o.Number, i+1), Owner: book.Own, Shape: l.Shape, Color: l.Color,
		Calibrated: true,
		Length:     book.Size{Min: l.Length - l.Tolerance, Max: l.Length + l.Tolerance},
		Width:      book.Size{Min: l.Width - l.Tolerance, Max: l.Width + l.Tolerance}}
	lot.Facets.Treatment = book.StatedFacet(l.Treatment)
	switch {
	case from != nil:
		lot.Species, lot.Variety, lot.Facets, lot.Color, lot.Clarity, lot.Owner = from.Species, from.Variety,
			from.Facets, cmp.Or(from.Color, l.Color), from.Clarity, from.Owner
	case len(l.Species) == 1:
		lot.Species, lot.Variety = speciesOf(l.Species[0])
	}
	s := answer.StockLot{Lot: lot, Pieces: pieces, Carats: l.Weight * num.Carat(pieces), Cost: num.Zero(b.currency)}
	if from != nil && from.Carats > 0 { // its cost comes along
		q := from.Cost.Dec().Mul(num.Int(pieces)).Each(from.Pieces, b.currency.Digits(), num.HalfUp)
		s.Cost = num.MoneyFromDec(q, b.currency, num.HalfUp)
	}
	id := bench.LotIdentity{Lot: lot}
	id.Judged.State = identify.Stated
	st := stoneOf(s, id, 0, prices, b.config)
	st.Free = pieces
	st.Note = fmt.Sprintf("to come from the cutter %s under %s, due %s", o.Cutter, o.Number, o.Due)
	b.lots[lot.Code] = s
	return st
}

// speciesOf is the species and variety that a resolved name stands for.
func speciesOf(name string) (species, variety string) {
	named, f := facts.Resolve(name)
	switch {
	case f != nil:
		return name, ""
	case named.Variety != nil:
		return named.Materials[0].Name, named.Variety.Name
	}
	return named.Materials[0].Name, ""
}
