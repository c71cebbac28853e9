package bench

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/identify"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// LotStates answers what the tests say of a lot that the filter selects. Most
// lots of a large book were never tested: only those with a reading or a report
// are judged.
func LotStates(ctx context.Context, tx store.ReadTx, c desk.Config,
	filter desk.StockFilter) (func(*answer.StockLot) (string, error), error) {
	readings, err := readingsFor(ctx, tx, filter)
	if err != nil {
		return nil, err
	}
	var b *Identifier
	return func(s *answer.StockLot) (string, error) {
		index, err := readings(s.Lot)
		if err != nil {
			return "", err
		}
		if len(index.of(s.Lot)) == 0 && len(index.reportsOf(s.Lot)) == 0 {
			return string(identify.Stated), nil
		}
		if b == nil {
			var err error
			if b, err = NewIdentifier(c); err != nil {
				return "", err
			}
		}
		id, err := b.IdentityOf(ctx, tx, *s, index)
		if err != nil {
			return "", fmt.Errorf("lot %s: %w", s.Code, err)
		}
		return string(id.Judged.State), nil
	}, nil
}

// IdentityReport is the workbook of lots in doubt: those whose tests do not
// settle what they are.
func (room *Room) IdentityReport(ctx context.Context, filter desk.StockFilter, on book.Date) (*sheet.Workbook, error) {
	doubt, err := room.DoubtReport(ctx, filter, on)
	if err != nil {
		return nil, err
	}
	return doubt.Workbook()
}

func (room *Room) DoubtReport(ctx context.Context, filter desk.StockFilter, on book.Date) (*answer.IdentityReport,
	error) {
	ids, err := room.Identify(ctx, "", filter)
	if err != nil {
		return nil, err
	}
	var out *answer.IdentityReport
	err = room.desk.View(ctx, func(tx store.ReadTx) error {
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		out = &answer.IdentityReport{Head: desk.DocumentHead(config, tx.Meta(), head, room.desk.Today(tx, on), "",
			"Lots in doubt"), Scope: filter.Words(), Lots: []answer.IdentityLot{}}
		return nil
	})
	if err != nil {
		return nil, err
	}
	ids = byPaper(ids)
	for i := range ids {
		if len(ids[i].Stones) == 0 || ids[i].Judged.State == identify.Verified {
			continue
		}
		out.Considered = ids[i].Stones[0].Account.Considered
		out.Lots = append(out.Lots, identityLot(&ids[i]))
	}
	return out, nil
}

// worstStone is the first stone that the tests show to be something else than
// the claim, or else the first that they leave open, or else the first.
func (id *LotIdentity) worstStone() *TestedStone {
	rank := map[string]int{"not the claim": 2, "claim among others": 1}
	worst, at := -1, 0
	for i, s := range id.Judged.Stones {
		if r := rank[s.Standing]; i < len(id.Stones) && r > worst {
			worst, at = r, i
		}
	}
	return &id.Stones[at]
}

func identityLot(id *LotIdentity) answer.IdentityLot {
	l := answer.IdentityLot{
		Lot: id.Lot.Code, Claim: id.Claim, State: string(id.Judged.State), Tested: int64(id.Judged.Tested),
		Of: int64(id.Judged.Of), Says: strings.Join(id.Judged.Reasons, "; "),
	}
	if id.Judged.Bounded {
		l.Bound = fmt.Sprintf("at most %.0f %% others at %.0f %% confidence", 100*id.Judged.UpperShare,
			100*id.Judged.Confidence)
	}
	s := id.worstStone()
	for i, c := range s.Account.Candidates {
		if i == 12 {
			break
		}
		l.Candidates = append(l.Candidates, answer.IdentityCandidate{Name: c.Material.Name,
			Share: fmt.Sprintf("%.1f %%", 100*c.Share), Notes: c.Standing})
	}
	for i, e := range s.Account.Excluded {
		if i == 8 {
			break
		}
		l.Excluded = append(l.Excluded, answer.IdentityExcluded{Name: e.Material.Name, Reason: e.Reason})
	}
	l.NotSeparated = s.Account.NotSeparated
	for _, n := range s.Next.Next {
		l.Next = append(l.Next, answer.IdentityNext{Test: n.Instrument, Splits: strings.Join(n.Splits, "; "),
			Why: n.Why})
	}
	for _, f := range []struct {
		name string
		book.Facet
	}{{"species", id.Lot.Facets.Species}, {"nature", id.Lot.Facets.Nature}, {"treatment", id.Lot.Facets.Treatment},
		{"origin", id.Lot.Facets.Origin}} {
		l.Facets = append(l.Facets, answer.NamedFacet{Name: f.name, Facet: answer.Facet{Value: f.Value,
			Basis: f.Facet.Basis}})
	}
	l.Chart = chartOf(id)
	return l
}

// chartOf is n against SG for the tested stones of a lot; nil when none was
// measured.
func chartOf(id *LotIdentity) *answer.IdentityChart {
	c := &answer.IdentityChart{}
	seen := map[string]bool{}
	for _, s := range id.Stones {
		m := s.Verdict.ChartModel(max(4, 14/len(id.Stones)))
		if !m.Cross.NKnown && !m.Cross.SGKnown {
			continue
		}
		for _, b := range m.Boxes {
			if seen[b.Name] {
				continue
			}
			seen[b.Name] = true
			c.Boxes = append(c.Boxes, answer.ChartBox{Name: b.Name, Left: !b.Excluded, SGLow: b.SG.Min,
				SGHigh: b.SG.Max, NLow: b.N.Min, NHigh: b.N.Max, Claimed: strings.EqualFold(b.Name, id.Lot.Species)})
		}
		st := answer.ChartStone{Name: cmp.Or(s.Stone, id.Lot.Code)}
		k := m.Cross.Uncertainty
		if m.Cross.NKnown {
			half := (m.Cross.N.Max - m.Cross.N.Min) / 2
			st.NLow, st.NHigh = m.Cross.NAt, m.Cross.NAt
			st.NU = half / k
		}
		if m.Cross.SGKnown {
			st.SG, st.SGU = m.Cross.SGAt, (m.Cross.SG.Max-m.Cross.SG.Min)/2/k
		}
		c.Stones = append(c.Stones, st)
	}
	if len(c.Stones) == 0 {
		return nil
	}
	return c
}

// IdentityChart is the picture of one lot.
func (room *Room) IdentityChart(ctx context.Context, lot string) (*answer.IdentityChart, string, error) {
	ids, err := room.Identify(ctx, lot, desk.StockFilter{})
	if err != nil {
		return nil, "", err
	}
	return chartOf(&ids[0]), ids[0].Lot.Code + ", claimed " + ids[0].Claim, nil
}
