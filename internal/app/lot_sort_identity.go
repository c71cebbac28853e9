package app

import (
	"context"
	"fmt"
	"sort"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LotSortByIdentity takes the tested stones of a lot that are shown to be
// something else into lots of their own material, at the lot's average cost.
// Each stone's weight must be known from a hydrostatic reading. What is left
// keeps the claim; stones that nobody tested keep it too.
func (a *App) LotSortByIdentity(ctx context.Context, r LotSort) (Moved, error) {
	var out Moved
	if r.Place == "" {
		r.Place = book.Safe
	}
	err := a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		lot, err := stockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		id, err := a.identityIn(ctx, tx, lot)
		if err != nil {
			return err
		}
		groups, l := shownOtherwise(lot, id)
		if l.Blocks() {
			return l
		}
		if len(groups) == 0 {
			return fault.New(fault.Refused, "sort-identity-none", "no tested stone of "+lot.Code+" is shown to be anything else than claimed", "see: lotpaper identify "+lot.Code).AtRef(lot.Code)
		}
		next, err := tx.Next(ctx, book.LotSeries(lot.Code))
		if err != nil {
			return err
		}
		e := s.entry(ledger.Sort, "sorted "+lot.Code+" by identity")
		places := lot.Places
		var taken ledger.Total
		for i, g := range groups {
			here := balanceAt(places, lot.Code, r.Place)
			here.Pieces -= taken.Pieces
			if here.Pieces == g.pieces {
				g.carats = here.Carats - taken.Carats
			}
			cost, f := ledger.Take(lot.Places, r.Place, g.pieces, g.carats)
			if f != nil {
				return f
			}
			if cost.Currency() == "" {
				cost = num.Zero(tx.Meta().Currency)
			}
			made := child(lot.Lot, book.Lot{Species: g.material, Claim: lot.Name()})
			made.Code = fmt.Sprintf("%s.%d", lot.Code, next+int64(i))
			made.Species, made.Variety, made.Tags, made.Fenced = g.material, "", g.tags, ""
			made.Facets.Species = book.Facet{Value: g.material, Basis: book.Tested}
			made.Facets.Treatment, made.Facets.Nature = book.StatedFacet(""), book.StatedFacet("")
			e.Records = append(e.Records, made)
			e.Postings = append(e.Postings,
				ledger.Posting{Lot: lot.Code, Place: r.Place, Pieces: -g.pieces, Carats: -g.carats, Cost: cost.Neg()},
				ledger.Posting{Lot: made.Code, Place: r.Place, Pieces: g.pieces, Carats: g.carats, Cost: cost})
			taken.Pieces += g.pieces
			taken.Carats += g.carats
			out.Lots = append(out.Lots, made.Code)
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Postings = e.Code, e.Postings
		return nil
	})
	return out, err
}

// identityIn judges one lot inside a transaction.
func (a *App) identityIn(ctx context.Context, tx store.ReadTx, lot StockLot) (LotIdentity, error) {
	config, err := loadConfig(ctx, tx)
	if err != nil {
		return LotIdentity{}, err
	}
	b, err := newBench(config)
	if err != nil {
		return LotIdentity{}, err
	}
	index, err := loadReadings(ctx, tx)
	if err != nil {
		return LotIdentity{}, err
	}
	return b.identityOf(ctx, tx, lot, index)
}

// otherwise is the tested stones of one material that the lot does not claim.
type otherwise struct {
	material string
	tags     []string
	pieces   int64
	carats   num.Carat
}

// shownOtherwise groups the stones whose verdict is single and not the claim.
func shownOtherwise(lot StockLot, id LotIdentity) ([]otherwise, fault.List) {
	claim := map[string]bool{}
	if named, f := facts.Resolve(lot.Name()); f == nil {
		for _, m := range named.Materials {
			claim[m.Name] = true
		}
	}
	var l fault.List
	by := map[string]*otherwise{}
	for _, t := range id.Stones {
		if t.Verdict.Kind != identify.Single || claim[t.Verdict.Candidates[0].Material.Name] {
			continue
		}
		name := t.Verdict.Candidates[0].Material.Name
		if by[name] == nil {
			by[name] = &otherwise{material: name}
		}
		g := by[name]
		if t.weighed == 0 {
			l.Add(fault.New(fault.Refused, "sort-identity-weight", fmt.Sprintf("stone %s of %s is shown to be %s, but its weight is not known", t.Stone, lot.Code, name), "weigh it: lotpaper reading add "+lot.Code+" --stone "+t.Stone+" --test hydrostatic ...").AtRef(lot.Code))
		}
		g.tags = append(g.tags, t.Stone)
		g.pieces++
		g.carats += t.weighed
	}
	var out []otherwise
	for _, g := range by {
		sort.Strings(g.tags)
		out = append(out, *g)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].material < out[j].material })
	return out, l
}
