package bench

import (
	"context"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/identify"
	"lotpaper/internal/store"
)

// Identify asks what the tests say of one lot, or of every lot that the
// filter selects.
type Identify struct {
	Lot    string         // empty: those of the filter
	Strata map[string]int // of the one lot: its pieces by appearance, when it is not of one look
	Filter desk.StockFilter
	// Doubt leaves only lots whose tests do not settle what they are; single
	// stones of one paper that read alike stand together.
	Doubt bool
	Chart bool      // with the picture of n against SG of each lot
	On    book.Date // of the paper; empty: today
}

// Identify says what the tests make of lots of the book, and how sure that is.
func (room *Room) Identify(ctx context.Context, r Identify) (answer.Identity, error) {
	var out answer.Identity
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		out, err = room.IdentifyIn(ctx, tx, r)
		return err
	})
	return out, err
}

// IdentifyIn is Identify inside a transaction, for answers that show more than
// the identity of lots.
func (room *Room) IdentifyIn(ctx context.Context, tx store.ReadTx, r Identify) (answer.Identity, error) {
	out := answer.Identity{Scope: r.Filter.Words(), Lots: []answer.LotIdentity{}}
	title := "Identity of lots"
	if r.Doubt {
		title = "Lots in doubt"
	}
	if r.Lot != "" {
		out.Scope = "lot " + r.Lot
	}
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return out, err
	}
	if out.Head, err = room.desk.Head(ctx, tx, cfg, r.On, title); err != nil {
		return out, err
	}
	b, err := NewIdentifier(cfg)
	if err != nil {
		return out, err
	}
	prices, err := desk.LoadPrices(ctx, tx, room.desk.Today(tx, ""))
	if err != nil {
		return out, err
	}
	var ids []LotIdentity
	add := func(s answer.StockLot, id LotIdentity) error {
		id.Risk = atRisk(&s, &id, prices, cfg.LossTarget)
		ids = append(ids, id)
		return nil
	}
	if r.Lot == "" {
		err = b.Each(ctx, tx, r.Filter, add)
	} else {
		err = b.one(ctx, tx, r, add)
	}
	if err != nil {
		return out, err
	}
	if r.Doubt {
		ids = slices.DeleteFunc(byPaper(ids), func(id LotIdentity) bool {
			return len(id.Stones) == 0 || id.Judged.State == identify.Verified
		})
	}
	for i := range ids {
		out.Lots = append(out.Lots, b.lotAnswer(&ids[i], r.Chart))
	}
	return out, nil
}

// one judges the one lot that is asked about.
func (b *Identifier) one(ctx context.Context, tx store.ReadTx, r Identify, add func(answer.StockLot,
	LotIdentity) error) error {
	s, err := desk.StonesOf(ctx, tx, r.Lot)
	if err != nil {
		return err
	}
	index, err := stockReadings(ctx, tx, s)
	if err != nil {
		return err
	}
	vendor, err := newVendors(b).without(ctx, tx, s.Lot)
	if err != nil {
		return err
	}
	id, err := b.identity(s, index, vendor, r.Strata)
	if err != nil {
		return err
	}
	return add(s, id)
}

// lotAnswer words a lot's identity.
func (b *Identifier) lotAnswer(id *LotIdentity, chart bool) answer.LotIdentity {
	l := answer.LotIdentity{
		Lot: id.Lot.Code, Claim: id.Claim, State: string(id.Judged.State), Tested: id.Judged.Tested, Of: id.Judged.Of,
		Confidence: id.Judged.Confidence, More: id.Judged.More, Reasons: answer.List(id.Judged.Reasons),
		Cautions: id.cautions(),
		Facets:   facetsOf(id.Lot), Assumed: assumed(id.Lot), Report: id.Report, Strata: []answer.Stratum{},
		Stones:       []answer.TestedStone{},
		ExpectedLoss: id.Risk.expected, LossBound: id.Risk.bound, LossTarget: id.Risk.target,
		Minutes: float64(id.Judged.More) * b.minutes(identify.Refractometer, identify.Balance),
	}
	for _, t := range id.Judged.Strata {
		l.Strata = append(l.Strata, answer.Stratum(t))
	}
	if id.Judged.Bounded {
		l.UpperBound, l.UpperCount = &id.Judged.UpperShare, &id.Judged.UpperCount
		l.Chance, l.Expected = &id.Judged.Chance, &id.Judged.Expected
	}
	standing := map[string]identify.StoneStanding{}
	for _, s := range id.Judged.Stones {
		standing[s.Stone] = s
	}
	for _, t := range id.Stones {
		s := standing[t.Stone]
		l.Stones = append(l.Stones, answer.TestedStone{Stone: t.Stone, Drawn: string(t.Drawn), Standing: s.Standing,
			Why: s.Why, TooLight: b.tooLight(id.Lot, &t), Chance: s.Chance, Case: caseOf(t.Stone, &t.Verdict,
				t.Account, t.Next)})
	}
	if chart {
		l.Chart = chartOf(id)
	}
	return l
}

// facetsOf are the facets of a lot as the book holds them.
func facetsOf(l book.Lot) []answer.NamedFacet {
	var out []answer.NamedFacet
	for _, f := range []struct {
		name string
		book.Facet
	}{{"species", l.Facets.Species}, {"nature", l.Facets.Nature}, {"treatment", l.Facets.Treatment},
		{"origin", l.Facets.Origin}} {
		out = append(out, answer.NamedFacet{Name: f.name, Facet: answer.Facet{Value: f.Value, Basis: f.Basis}})
	}
	return out
}

// minutes is what the named instruments of the kit take for one stone.
func (b *Identifier) minutes(instruments ...string) float64 {
	sum := 0.0
	for _, i := range b.settings.Kit {
		if slices.Contains(instruments, i.Name) {
			sum += i.Minutes
		}
	}
	return sum
}
