package stockroom

import (
	"cmp"
	"context"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OrderCompare asks which cutter's bid is best.
type OrderCompare struct {
	Number string
	On     book.Date // the day that the work would begin; empty: today
}

// OrderCompare compares the bids for an order by what one accepted stone costs:
// price, freight, and the supplied stones that a cutter's record says will be lost.
func (room *Room) OrderCompare(ctx context.Context, r OrderCompare) (answer.OrderCompared, error) {
	var out answer.OrderCompared
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		o, err := desk.Named[book.Order](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		out, err = room.compare(ctx, tx, o, room.desk.Today(tx, r.On))
		return err
	})
	return out, err
}

func (room *Room) compare(ctx context.Context, tx store.ReadTx, o book.Order, on book.Date) (answer.OrderCompared,
	error) {
	out := answer.OrderCompared{Order: o.Number, Due: o.Due, Currency: tx.Meta().Currency, Taken: o.Bid,
		Bids: []answer.BidCompared{}}
	bids, err := bidsFor(ctx, tx, o.Number)
	if err != nil {
		return out, err
	}
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return out, err
	}
	card, err := desk.LoadRates(ctx, tx, on)
	if err != nil {
		return out, err
	}
	all, err := store.All[book.Order](ctx, tx, "")
	if err != nil {
		return out, err
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return out, err
	}
	job, err := jobOf(ctx, tx, o)
	if err != nil {
		return out, err
	}
	if len(bids) == 0 {
		return out, fault.New(fault.Refused, "bid-none", "nobody has bid for order "+o.Number,
			"note what the cutters ask").AtRef(o.Number).Do("order", "bid", o.Number)
	}
	out.Pieces, out.Material = job.pieces, job.cost
	for _, b := range bids {
		record, err := desk.CutterRecord(ctx, tx, parties, all, b.Cutter)
		if err != nil {
			return out, err
		}
		part, words := cutting.RecordFor(record, job.material, job.shape)
		skill := cutting.SkillOf(cfg.CutterBreakage, cutting.ExpectedYield(job.order), part)
		x := answer.BidCompared{Bid: b, Skill: skillAnswer(b.Cutter, skill), Weight: job.each(skill)}
		if skill.Stones > 0 {
			x.Record = words
		}
		rate := num.Rate{}
		if known, ok, f := card.FX(b.Price.Currency()); ok && f == nil {
			rate = known
		}
		price, _, f := inBook(out.Currency, b.Price, rate)
		freight, _, f2 := inBook(out.Currency, b.Freight, rate)
		switch {
		case f != nil || f2 != nil:
			x.Unknown = cmp.Or(f, f2).What
		default:
			job.reckon(&x, skill, price, freight)
		}
		if days := cmp.Or(b.Days, skill.Days); days > 0 {
			x.Ready = on.AddDays(days)
			x.Late = o.Due != "" && x.Ready > o.Due
		}
		out.Bids = append(out.Bids, x)
	}
	slices.SortStableFunc(out.Bids, func(a, b answer.BidCompared) int { return cmp.Or(a.Rank()-b.Rank(), a.Cmp(b)) })
	return out, nil
}

// job is what an order asks for, and what is supplied for it.
type job struct {
	order           book.Order // with what is planned as supplied
	pieces          int64      // wanted, spares included; without lines: as many as are supplied
	weight          num.Carat  // of all of them, by their size; 0: not known
	supplied        bool
	sent            book.Weighed
	cost            num.Money // of what is supplied
	material, shape string    // of what is supplied or wanted, when it is one
}

func jobOf(ctx context.Context, tx store.ReadTx, o book.Order) (job, error) {
	if len(o.Supplied) == 0 {
		o.Supplied = o.Planned
	}
	j := job{order: o, pieces: wanted(o), cost: num.Zero(tx.Meta().Currency), supplied: len(o.Supplied) > 0}
	for i, l := range o.Lines {
		if j.weight += l.Weight * num.Carat(l.Count+l.Spare); l.Weight == 0 {
			j.weight = 0
			break
		}
		if i == 0 {
			j.shape = l.Shape
			if len(l.Species) == 1 {
				j.material = l.Species[0]
			}
		}
	}
	for i, s := range o.Supplied {
		lot, err := desk.StockOf(ctx, tx, s.Lot)
		if err != nil {
			return j, err
		}
		j.sent.Pieces += s.Pieces
		j.sent.Carats += s.Carats
		if lot.Carats > 0 {
			j.cost = j.cost.Add(lot.Cost.Share([]num.Dec{s.Carats.Dec(), max(0, lot.Carats-s.Carats).Dec()})[0])
		}
		if i == 0 {
			j.material = lot.Name()
		}
	}
	if j.pieces == 0 {
		j.pieces = j.sent.Pieces
	}
	return j, nil
}

// each is what one finished stone should weigh: by its size, else by the cutter's
// yield of what is supplied; 0 when neither is known.
func (j job) each(s cutting.Skill) num.Carat {
	if j.pieces == 0 {
		return 0
	}
	if j.weight > 0 {
		return num.CaratFromDec(j.weight.Dec().Over(num.Int(j.pieces), 3, num.HalfUp), num.HalfUp)
	}
	if s.Stones == 0 || j.sent.Carats == 0 {
		return 0
	}
	return num.CaratFromDec(j.sent.Carats.Dec().Mul(num.FromFloat(s.Yield.Mean(), 4, num.HalfUp)).
		Over(num.Int(j.pieces), 3,
			num.HalfUp), num.HalfUp)
}

// sharePlaces keeps shares of stones finer than any record tells.
const sharePlaces = 6

// reckon fills in what an accepted stone costs by a bid: of the stones that are
// supplied, the record's share breaks, is not as wanted, or never comes back; what
// the cutter supplies is replaced at the cutter's cost. A price by the piece or the
// carat is paid for what is accepted, a total for all of it.
func (j job) reckon(x *answer.BidCompared, s cutting.Skill, price, freight num.Money) {
	one := num.Int(1)
	share := one
	if j.supplied {
		broken := num.Dec{}
		if x.Skill.Breakage != nil {
			broken = num.FromFloat(*x.Skill.Breakage, sharePlaces, num.HalfUp)
		}
		rest := num.Dec{}
		if n := s.Stones + s.Lost; n > 0 {
			rest = num.Int(s.Rejected+s.Lost).Over(num.Int(n), sharePlaces, num.HalfUp)
		}
		if share = one.Sub(broken).Sub(rest); share.Sign() <= 0 {
			x.Unknown = "by the record nothing would come back as wanted"
			return
		}
		x.Lost = j.cost
		if x.Bid.Claims || j.order.Claims { // what breaks is paid for by the cutter
			x.Lost = j.cost.Sub(j.cost.Times(broken, num.HalfUp))
		}
	} else {
		x.Lost = num.Zero(j.cost.Currency())
	}
	x.Accepted = num.Int(j.pieces).Mul(share)
	switch x.Bid.Basis {
	case book.PerPiece:
		x.Price = price.Times(x.Accepted, num.HalfUp)
	case book.PerCarat:
		if x.Weight == 0 {
			x.Unknown = "what a stone will weigh is not known, so a price by the carat says nothing"
			return
		}
		x.Price = price.Times(x.Accepted.Mul(x.Weight.Dec()), num.HalfUp)
	default:
		x.Price = price
	}
	x.Freight = freight
	x.Total = x.Price.Add(freight).Add(x.Lost)
	if j.pieces == 0 {
		x.Unknown = "the order names no pieces"
		return
	}
	each := num.MoneyFromDec(x.Total.Dec().Over(x.Accepted, j.cost.Currency().Digits(), num.HalfUp), j.cost.Currency(),
		num.HalfUp)
	x.PerPiece = &each
}

// skillAnswer is what is believed of a cutter.
func skillAnswer(cutter string, s cutting.Skill) answer.CutterSkill {
	return answer.CutterSkill{Cutter: cutter, Stones: s.Stones, Broken: s.Broken, Rejected: s.Rejected, Lost: s.Lost,
		Days: s.Days, Words: s.Words, Breakage: believed(s.Breakage), Yield: believed(s.Yield),
		By: []answer.CutterWork{}}
}
