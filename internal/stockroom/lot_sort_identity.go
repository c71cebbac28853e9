package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LotSortByIdentity asks to divide a lot by what its stones were shown to be.
type LotSortByIdentity struct {
	Movement
	Lot   string
	Place book.Place // where the pieces lie; empty: safe
}

// LotSortByIdentity takes the tested stones of a lot that are not what it
// claims into lots of their own, at the lot's average cost: those shown to be
// one material into a lot of it, those that only exclude the claim into a lot
// whose species is not established and that no plan may use. Each stone's
// weight must be known from a hydrostatic reading. What is left keeps the
// claim; stones that nobody tested keep it too. A lot of one stone is renamed:
// nothing moves.
func (room *Room) LotSortByIdentity(ctx context.Context, r LotSortByIdentity) (answer.Moved, error) {
	var out answer.Moved
	r.Place = cmp.Or(r.Place, book.Safe)
	if f := inHand(r.Place); f != nil {
		return out, f
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StonesOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		id, err := room.bench.Judge(ctx, tx, lot)
		if err != nil {
			return err
		}
		groups, l := otherStones(lot, id)
		if l.Blocks() {
			return l
		}
		if len(groups) == 0 {
			return fault.New(fault.Refused, "sort-identity-none", "no tested stone of "+lot.Code+
				" is anything else than claimed", "see what its tests say").AtRef(lot.Code).Do("identify", "", lot.Code)
		}
		if lot.Pieces == 1 && len(groups) == 1 && groups[0].pieces == 1 {
			e := s.Entry(ledger.Record, "renamed "+lot.Code+" by identity")
			e.Records = []book.Record{groups[0].renamed(lot.Lot)}
			out, err = post(ctx, tx, &e, lot.Code)
			return err
		}
		child, err := childrenOf(ctx, tx, lot.Lot)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Sort, "sorted "+lot.Code+" by identity")
		m, err := newMover(ctx, tx, s, r.Movement, &e)
		if err != nil {
			return err
		}
		if r.Place, err = m.safeOf(ctx, r.Lot, r.Place, "place"); err != nil {
			return err
		}
		var lots []string
		for _, g := range groups {
			if here := lot.At(r.Place); here.Pieces == g.pieces {
				g.carats = here.Carats
			}
			var cost num.Money
			if lot, cost, err = m.takeOut(ctx, Moving{lot.Code, g.pieces, g.carats}, r.Place); err != nil {
				return err
			}
			made := g.lot(child(book.Lot{}), lot.Name())
			m.divideAgreed(lot, book.Weighed{Pieces: g.pieces, Carats: g.carats}, []*book.Lot{&made}, nil)
			m.record(made)
			out := ledger.Posting{Lot: lot.Code, Place: r.Place, Pieces: -g.pieces, Carats: -g.carats, Cost: cost.Neg()}
			lot.Post(out)
			e.Postings = append(e.Postings, out,
				ledger.Posting{Lot: made.Code, Place: r.Place, Pieces: g.pieces, Carats: g.carats, Cost: cost})
			lots = append(lots, made.Code)
		}
		out, err = m.post(ctx, lots...)
		return err
	})
	return out, err
}

// foreignStones are tested stones that are not what their lot claims and go
// together.
type foreignStones struct {
	material string   // shown to be this one; empty: not established
	group    string   // what the trade calls all that are left, when it has a word
	left     []string // the materials left, when not established; none: nothing fits
	tags     []string
	pieces   int64
	carats   num.Carat
}

// lot is the new lot of the stones, made from the lot that claims claim. A claim
// about one species is not evidence for another.
func (g *foreignStones) lot(made book.Lot, claim string) book.Lot {
	made.Species, made.Variety, made.Claim, made.Tags = g.material, "", claim, g.tags
	made.Facets.Species = book.Facet{Value: g.material, Basis: book.Tested}
	made.Facets.Treatment, made.Facets.Nature = book.Facet{}, book.Facet{}
	made.Fenced, made.Opinion = "", nil
	if g.material != "" {
		return made
	}
	made.Species, made.Facets.Species, made.Fenced = g.group, book.Facet{}, book.Unestablished
	made.Note = "excludes " + claim + "; left: " + strings.Join(g.left, "; ")
	if len(g.left) == 0 {
		made.Note = "excludes " + claim + "; its readings fit nothing in the table: read it again"
	}
	return made
}

// renamed is the lot of one stone as what the stone was shown to be.
func (g *foreignStones) renamed(lot book.Lot) book.Lot {
	out := g.lot(lot, lot.Name())
	out.Tags = lot.Tags
	return out
}

// A material that a stone may still be, when it is not the claim, is named from
// leftShare on; a member of an established series stands for it from memberShare
// on.
const (
	leftShare   = 0.01
	memberShare = 0.9
)

// otherStones groups the tested stones that are not the claim. A lot whose
// species is not established claims nothing: every stone of it that is shown to
// be one material leaves.
func otherStones(lot answer.StockLot, id bench.LotIdentity) ([]*foreignStones, fault.List) {
	claim := map[string]bool{}
	if named, f := facts.Resolve(lot.Name()); f == nil && lot.Fenced != book.Unestablished {
		for _, m := range named.Materials {
			claim[m.Name] = true
		}
	}
	excludes := map[string]bool{}
	for _, s := range id.Judged.Stones {
		excludes[s.Stone] = s.Standing == identify.NotClaim
	}
	var l fault.List
	by := map[string]*foreignStones{}
	for _, t := range id.Stones {
		var g foreignStones
		var left []*facts.Material
		key := ""
		for _, c := range t.Verdict.Candidates {
			if c.Share >= leftShare && !claim[c.Material.Name] {
				left = append(left, c.Material)
			}
		}
		is := t.Verdict.Named.Nearest
		switch established := t.Verdict.Kind == identify.Established; {
		case len(claim) > 0 && !excludes[t.Stone], len(claim) == 0 && !established:
			continue
		case established && t.Verdict.Share([]*facts.Material{is}) >= memberShare:
			g.material = is.Name
			key = "1 " + g.material
		default:
			g.group = tradeGroup(left)
			for _, m := range left {
				g.left = append(g.left, m.Name)
			}
			slices.Sort(g.left)
			if key = "2 " + g.group; g.group == "" {
				key = "3 " + strings.Join(g.left, ";")
			}
		}
		have := by[key]
		if have == nil {
			have = &g
			by[key] = have
		}
		for _, name := range g.left {
			if !slices.Contains(have.left, name) {
				have.left = append(have.left, name)
			}
		}
		if t.Weighed == 0 && lot.Pieces > 1 {
			l.Add(fault.New(fault.Refused, "sort-identity-weight",
				fmt.Sprintf("stone %s of %s is %s, but its weight is not known", t.Stone, lot.Code,
					cmp.Or(g.material, "not "+lot.Name())), "weigh it: a hydrostatic reading").AtRef(lot.Code))
		}
		have.tags = append(have.tags, t.Stone)
		have.pieces++
		have.carats += t.Weighed
	}
	var out []*foreignStones
	for _, key := range slices.Sorted(maps.Keys(by)) {
		slices.Sort(by[key].left)
		slices.Sort(by[key].tags)
		out = append(out, by[key])
	}
	return out, l
}

// tradeGroup is the trade's word for materials that all belong to one group
// (garnet, feldspar, glass); empty when there is none.
func tradeGroup(left []*facts.Material) string {
	if len(left) == 0 {
		return ""
	}
	named, f := facts.Resolve(left[0].Group)
	if f != nil || len(named.Materials) < 2 {
		return ""
	}
	for _, m := range left {
		if !slices.Contains(named.Materials, m) {
			return ""
		}
	}
	return left[0].Group
}
