package app

import (
	"context"
	"fmt"
	"io"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/documents"
	"lotpaper/internal/identify"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// words says in words what a filter selects.
func (f StockFilter) words() string {
	parts := []string{"all lots"}
	if f.Species != "" {
		parts = append(parts, "of "+f.Species)
	}
	if f.Shape != "" {
		parts = append(parts, "in "+f.Shape)
	}
	if f.Parcel != "" {
		parts = append(parts, "of parcel "+f.Parcel)
	}
	if f.Place != "" {
		parts = append(parts, "at "+string(f.Place))
	}
	if f.Owner != "" {
		parts = append(parts, "owner "+f.Owner)
	}
	return strings.Join(parts, " ")
}

// StockFile writes the stock list to w as a workbook, or as CSV. The lots are
// read page by page while they are written.
func (a *App) StockFile(ctx context.Context, w io.Writer, filter StockFilter, on book.Date, csv bool) error {
	return a.view(ctx, func(tx store.ReadTx) error {
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		on = a.today(tx, on)
		l := &documents.StockList{Head: documentHead(config, tx.Meta(), head, on, "", "Stock list"), Scope: filter.words(), Costs: true}
		states, err := lotStates(ctx, tx, config)
		if err != nil {
			return err
		}
		next, stop, failed := stockRows(ctx, tx, filter, states)
		defer stop()
		if csv {
			err = l.WriteCSV(w, next)
		} else {
			err = l.WriteXLSX(w, next)
		}
		if err == nil {
			err = failed()
		}
		return err
	})
}

// stockRows turns the walk over the stock into a pull of rows: reading goes on
// beside writing.
func stockRows(ctx context.Context, tx store.ReadTx, filter StockFilter, state func(*StockLot) (string, error)) (next func() (*documents.StockRow, bool), stop func(), failed func() error) {
	ctx, cancel := context.WithCancel(ctx)
	pages := make(chan []documents.StockRow, 4)
	var walkErr error
	start := func() {
		go func() {
			defer close(pages)
			page := make([]documents.StockRow, 0, pageLots)
			send := func() bool {
				select {
				case pages <- page:
					page = make([]documents.StockRow, 0, pageLots)
					return true
				case <-ctx.Done():
					return false
				}
			}
			walkErr = eachStock(ctx, tx, filter, func(s StockLot) error {
				row := stockRow(&s)
				var err error
				if row.Identity, err = state(&s); err != nil {
					return err
				}
				page = append(page, row)
				if len(page) == pageLots && !send() {
					return ctx.Err()
				}
				return nil
			})
			if walkErr == nil && len(page) > 0 {
				send()
			}
		}()
	}
	started := false
	var page []documents.StockRow
	at := 0
	next = func() (*documents.StockRow, bool) {
		if !started {
			started = true
			start()
		}
		for at == len(page) {
			var ok bool
			page, ok = <-pages
			at = 0
			if !ok { // and may be asked again
				return nil, false
			}
		}
		at++
		return &page[at-1], true
	}
	stop = func() {
		cancel()
		if started {
			for range pages { // let the walk end before the transaction does
			}
		}
	}
	return next, stop, func() error { return walkErr }
}

// lotStates answers what the tests say of a lot. Most lots of a large book were
// never tested: only those with a reading or a report are judged.
func lotStates(ctx context.Context, tx store.ReadTx, c Config) (func(*StockLot) (string, error), error) {
	index, err := loadReadings(ctx, tx)
	if err != nil {
		return nil, err
	}
	var b *bench
	return func(s *StockLot) (string, error) {
		if len(index.of(s.Lot)) == 0 && len(index.reports[strings.ToLower(s.Code)]) == 0 {
			return string(identify.Stated), nil
		}
		if b == nil {
			var err error
			if b, err = newBench(c); err != nil {
				return "", err
			}
		}
		id, err := b.identityOf(ctx, tx, *s, index)
		if err != nil {
			return "", fmt.Errorf("lot %s: %w", s.Code, err)
		}
		return string(id.Judged.State), nil
	}, nil
}

func stockRow(s *StockLot) documents.StockRow {
	r := documents.StockRow{
		Lot: s.Code, Parcel: s.Parcel, Label: s.Label, Name: s.Name(), Species: s.Species, Nature: s.Facets.Nature.Value, Treatment: s.Facets.Treatment.Value,
		Shape: s.Shape, Length: s.Length, Width: s.Width, Depth: s.Depth, Color: s.Color, Clarity: s.Clarity,
		Owner: string(s.Owner), Pieces: s.Pieces, Estimated: s.Estimated, Carats: s.Carats, Cost: s.Cost, Note: s.Note,
	}
	for i, b := range s.Places {
		if i > 0 {
			r.Place += ", "
		}
		r.Place += string(b.Place)
	}
	return r
}

// StockInDoubt is the stock list as a workbook with a sheet and a chart for
// each lot whose tests do not settle what it is.
func (a *App) StockInDoubt(ctx context.Context, filter StockFilter, on book.Date) (*sheet.Workbook, error) {
	doubt, err := a.doubtReport(ctx, filter, on)
	if err != nil {
		return nil, err
	}
	l := &documents.StockList{Head: doubt.Head, Scope: filter.words(), Costs: true}
	l.Title = "Stock list"
	var rows []documents.StockRow
	err = a.view(ctx, func(tx store.ReadTx) error {
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		states, err := lotStates(ctx, tx, config)
		if err != nil {
			return err
		}
		next, stop, failed := stockRows(ctx, tx, filter, states)
		defer stop()
		for r, ok := next(); ok; r, ok = next() {
			rows = append(rows, *r)
		}
		return failed()
	})
	if err != nil {
		return nil, err
	}
	return l.Workbook(rows, doubt)
}

// IdentityReport is the workbook of lots in doubt: those whose tests do not
// settle what they are.
func (a *App) IdentityReport(ctx context.Context, filter StockFilter, on book.Date) (*sheet.Workbook, error) {
	doubt, err := a.doubtReport(ctx, filter, on)
	if err != nil {
		return nil, err
	}
	return doubt.Workbook()
}

func (a *App) doubtReport(ctx context.Context, filter StockFilter, on book.Date) (*documents.IdentityReport, error) {
	ids, err := a.Identify(ctx, "", filter)
	if err != nil {
		return nil, err
	}
	var out *documents.IdentityReport
	err = a.view(ctx, func(tx store.ReadTx) error {
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		out = &documents.IdentityReport{Head: documentHead(config, tx.Meta(), head, a.today(tx, on), "", "Lots in doubt"), Scope: filter.words(), Lots: []documents.IdentityLot{}}
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

func identityLot(id *LotIdentity) documents.IdentityLot {
	l := documents.IdentityLot{
		Lot: id.Lot.Code, Claim: id.Claim, State: string(id.Judged.State), Tested: int64(id.Judged.Tested), Of: int64(id.Judged.Of), Says: strings.Join(id.Judged.Reasons, "; "),
	}
	if id.Judged.Bounded {
		l.Bound = fmt.Sprintf("at most %.0f %% others at %.0f %% confidence", 100*id.Judged.UpperShare, 100*id.Judged.Confidence)
	}
	s := id.worstStone()
	for i, c := range s.Account.Candidates {
		if i == 12 {
			break
		}
		l.Candidates = append(l.Candidates, documents.IdentityCandidate{Name: c.Material.Name, Share: fmt.Sprintf("%.1f %%", 100*c.Share), Notes: c.Standing})
	}
	for i, e := range s.Account.Excluded {
		if i == 8 {
			break
		}
		l.Excluded = append(l.Excluded, documents.IdentityExcluded{Name: e.Material.Name, Reason: e.Reason})
	}
	l.NotSeparated = s.Account.NotSeparated
	for _, n := range s.Next.Next {
		l.Next = append(l.Next, documents.IdentityNext{Test: n.Instrument, Splits: strings.Join(n.Splits, "; "), Why: n.Why})
	}
	for _, f := range []struct {
		name string
		book.Facet
	}{{"species", id.Lot.Facets.Species}, {"nature", id.Lot.Facets.Nature}, {"treatment", id.Lot.Facets.Treatment}, {"origin", id.Lot.Facets.Origin}} {
		l.Facets = append(l.Facets, documents.NamedFacet{Name: f.name, Facet: documents.Facet{Value: f.Value, Basis: f.Facet.Basis}})
	}
	l.Chart = chartOf(id)
	return l
}

// chartOf is n against SG for the tested stones of a lot; nil when none was
// measured.
func chartOf(id *LotIdentity) *documents.IdentityChart {
	c := &documents.IdentityChart{}
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
			c.Boxes = append(c.Boxes, documents.ChartBox{Name: b.Name, Left: !b.Excluded, SGLow: b.SG.Min, SGHigh: b.SG.Max, NLow: b.N.Min, NHigh: b.N.Max, Claimed: strings.EqualFold(b.Name, id.Lot.Species)})
		}
		st := documents.ChartStone{Name: orThe(s.Stone, id.Lot.Code)}
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
func (a *App) IdentityChart(ctx context.Context, lot string) (*documents.IdentityChart, string, error) {
	ids, err := a.Identify(ctx, lot, StockFilter{})
	if err != nil {
		return nil, "", err
	}
	return chartOf(&ids[0]), ids[0].Lot.Code + ", claimed " + ids[0].Claim, nil
}
