package bench

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lotpaper/data"
	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// TestedStone is one stone with its readings and what they leave.
type TestedStone struct {
	Stone   string
	Drawn   identify.Drawn
	Carats  float64
	Verdict identify.Verdict
	Account identify.Account
	Next    identify.Advice
	Weighed num.Carat // in air; 0: not weighed
}

// LotIdentity is what the tests say of a lot.
type LotIdentity struct {
	Lot    book.Lot
	Claim  string // what the lot is held to be, as read
	Pieces int64
	Judged identify.LotVerdict
	Stones []TestedStone
	Report *book.Report // the newest laboratory report, for a lot of one
	Risk   risk         // the money at risk if it is sold as claimed now, when it is asked for
	by     *Identifier  // what judged it
}

// Identifier is the identification set-up of one book.
type Identifier struct {
	table    *identify.Table
	settings identify.Settings
	lot      identify.LotSettings
	testAll  num.Dec // cost of a stone above which a sample is not enough; 0: it always is
}

// NewIdentifier compiles the table and the book's settings.
func NewIdentifier(c config.Config) (*Identifier, error) {
	table, err := signedTable()
	if err != nil {
		return nil, err
	}
	b := &Identifier{table: table, testAll: c.TestAll}
	b.settings = identify.Settings{K: c.IdentityK, PriorsOff: !c.IdentityPriors}
	b.lot = identify.LotSettings{Confidence: c.IdentityLevel, MaxShare: c.IdentityBound, Trade: c.Trade}
	if v, err := strconv.ParseFloat(c.Balance, 64); err == nil {
		b.settings.Balance = v
	}
	known, err := identify.ReadKit(data.FS, "next_tests.csv")
	if err != nil {
		return nil, err
	}
	for _, i := range known {
		minutes, here := c.Kit[i.Name]
		if len(c.Kit) > 0 && !here || len(c.Kit) == 0 && !i.Usual {
			continue
		}
		if minutes > 0 {
			i.Minutes = minutes
		}
		b.settings.Kit = append(b.settings.Kit, i)
	}
	return b, nil
}

// signedTable is every material with the signs that the filter, the probes and
// the microscope show.
func signedTable() (*identify.Table, error) {
	signs, err := identify.ReadSigns(data.FS, "signs.csv")
	if err != nil {
		return nil, err
	}
	return identify.Compile(facts.Materials()).WithSigns(signs)
}

// labReport is a report as the engine reads it.
func labReport(r book.Report) identify.LabReport {
	return identify.LabReport{
		Lab: r.Lab, Number: r.Number, Date: string(r.On), Carats: r.Weight.Float(), LengthMM: r.Length.Float(),
		WidthMM: r.Width.Float(), DepthMM: r.Depth.Float(),
		Species: r.Species, Nature: r.Nature, Treatment: r.Treatment, Origin: r.Origin, Note: r.Note,
	}
}

// measuredOf is a one-piece lot as it was weighed and gauged.
func measuredOf(lot book.Lot, carats num.Carat) identify.Measured {
	return identify.Measured{Carats: carats.Float(), LengthMM: lot.Length.Max.Float(), WidthMM: lot.Width.Max.Float(),
		DepthMM: lot.Depth.Max.Float()}
}

// labOf is the newest report that matches the stone in hand, and the species
// that it names; nil when there is none, or the stone was recut since.
func labOf(lot book.Lot, carats num.Carat, reports []book.Report) (*identify.LabReport, *facts.Material) {
	if len(reports) == 0 {
		return nil, nil
	}
	lab := labReport(reports[len(reports)-1])
	if ok, _ := lab.Matches(measuredOf(lot, carats)); !ok {
		return nil, nil
	}
	return &lab, facts.MaterialNamed(lab.Species)
}

// identity judges one lot from its readings and reports, and by how the vendor's
// other lots turned out. strata, when given, are the pieces of the lot by
// appearance: the color that a tested stone's readings name.
func (b *Identifier) identity(s answer.StockLot, index *readingIndex, vendor identify.Record,
	strata map[string]int) (LotIdentity, error) {
	lot, pieces, carats := s.Lot, s.Pieces, s.Carats
	reports := index.reportsOf(lot)
	out := LotIdentity{Lot: lot, Pieces: pieces, Claim: lot.Name(), by: b}
	var l fault.List
	order, byStone := stonesIn(index.of(lot))
	judge := identify.Lot{Pieces: max(int(pieces), len(order)), Strata: strata}
	if named, f := facts.Resolve(lot.Name()); f == nil {
		judge.Claim = named.Materials
	}
	varieties := facts.Varieties()
	lab, labSpecies := labOf(lot, carats, reports)
	if lab != nil && len(order) == 0 && pieces == 1 {
		order = []string{lot.Stone} // a report alone: nothing was read on the bench
	}
	for _, stone := range order {
		o, faults := lookedAt(lot, byStone[stone])
		l.Add(faults...)
		if faults.Blocks() {
			continue
		}
		s := b.settings
		s.Carats = o.Weighing.Air
		if s.Carats == 0 && pieces > 0 {
			s.Carats = carats.Float() / float64(pieces)
		}
		t := TestedStone{Stone: stone, Drawn: drawnOf(byStone[stone]), Carats: s.Carats}
		for _, r := range byStone[stone] {
			if r.Air > 0 {
				t.Weighed = r.Air
			}
		}
		t.Verdict = identify.Stone(b.table, &o, &s)
		t.Account = t.Verdict.Account(varieties)
		if pieces == 1 && lab != nil {
			t.Account.Facets = t.Verdict.Facets(lab, measuredOf(lot, carats))
		}
		t.Next = t.Verdict.Next(&s)
		out.Stones = append(out.Stones, t)
		tested := identify.TestedStone{Stone: stone, Verdict: t.Verdict, Drawn: t.Drawn}
		if pieces == 1 {
			tested.Lab = labSpecies
		}
		if strata != nil {
			tested.Stratum = strings.ToLower(o.Colour)
		}
		judge.Tested = append(judge.Tested, tested)
	}
	if l.Blocks() {
		return out, l
	}
	if len(reports) > 0 {
		out.Report = &reports[len(reports)-1]
	}
	if why := noClaim(s, len(judge.Claim)); why != "" {
		out.Judged = identify.LotVerdict{State: identify.Stated, Tested: len(out.Stones), Of: int(pieces),
			Reasons: []string{why}}
		return out, nil
	}
	settings := b.lotSettings(s)
	settings.Vendor = vendor
	verdict, faults := identify.JudgeLot(judge, settings)
	if faults.Blocks() {
		for i, f := range faults {
			faults[i] = f.At(fault.Where{Ref: lot.Code})
		}
		return out, faults
	}
	if left := judge.Pieces - int(pieces); left > 0 {
		verdict.Reasons = append(verdict.Reasons, fmt.Sprintf("%d stones were tested and %d left since: the book "+
			"does not say which, so all %[1]d are judged; declare the readings of those that left void",
			judge.Pieces, left))
	}
	out.Judged = verdict
	return out, nil
}

// stonesIn groups readings by the stones that they name, in order.
func stonesIn(readings []book.Reading) (order []string, byStone map[string][]book.Reading) {
	byStone = map[string][]book.Reading{}
	for _, r := range readings {
		if _, seen := byStone[r.Stone]; !seen {
			order = append(order, r.Stone)
		}
		byStone[r.Stone] = append(byStone[r.Stone], r)
	}
	slices.Sort(order)
	return order, byStone
}

// lookedAt is what the readings of a stone say, with the look that its lot was
// bought with when none was read.
func lookedAt(lot book.Lot, readings []book.Reading) (identify.Observations, fault.List) {
	o, faults := observations(lot, readings)
	if o.Look.Transparency == "" && eyeClean(lot) {
		o.Look.Transparency = identify.Transparencies[0]
	}
	return o, faults
}

// drawnOf is how the stone of some readings was taken from its lot.
func drawnOf(readings []book.Reading) identify.Drawn {
	for _, r := range readings {
		if r.Drawn == string(identify.Random) {
			return identify.Random
		}
	}
	return identify.Picked
}

// eyeClean reports whether a lot was bought as faceted and eye clean: such stones
// are transparent, and nobody has to say so.
func eyeClean(l book.Lot) bool {
	shape, f := cutting.ParseShape(l.Shape)
	return f == nil && !shape.IsCabochon() && shape != cutting.Bead &&
		strings.EqualFold(strings.ReplaceAll(strings.TrimSpace(l.Clarity), "-", " "), "eye clean")
}

// noClaim is why a lot has no claim to judge, of so many materials; empty when
// it has.
func noClaim(s answer.StockLot, materials int) string {
	switch {
	case s.Fenced == book.Unestablished:
		return book.Unestablished + ": sort it by identity when further readings leave one material, or ask a " +
			"laboratory"
	case s.Pieces < 1:
		return "nothing is left of it"
	case materials == 0:
		return "it claims no species that the facts know"
	}
	return ""
}

// lotSettings say when this lot counts as verified: a lot of costly stones when
// each was tested.
func (b *Identifier) lotSettings(s answer.StockLot) identify.LotSettings {
	l := b.lot
	if b.testAll.Sign() <= 0 || s.Pieces < 1 || s.Cost.Currency() == "" {
		return l
	}
	if s.Cost.Dec().Cmp(b.testAll.Mul(num.Int(s.Pieces))) > 0 {
		l.All = fmt.Sprintf("a stone of it costs more than %s %s", b.testAll, s.Cost.Currency())
	}
	return l
}

// Each judges every lot that the filter selects.
func (b *Identifier) Each(ctx context.Context, tx store.ReadTx, filter desk.StockFilter,
	f func(answer.StockLot, LotIdentity) error) error {
	read, err := readSelected(ctx, tx, filter)
	if err != nil {
		return err
	}
	v := newVendors(b)
	return filter.Each(ctx, tx, func(s answer.StockLot) error {
		return b.judge(ctx, tx, s, read, v, f)
	})
}

// Lots judges lots in the order given.
func (b *Identifier) Lots(ctx context.Context, tx store.ReadTx, lots []answer.StockLot,
	f func(answer.StockLot, LotIdentity) error) error {
	read, v := readEach(ctx, tx), newVendors(b)
	for _, s := range lots {
		if err := b.judge(ctx, tx, s, read, v, f); err != nil {
			return err
		}
	}
	return nil
}

// judge hands f a lot with what its readings and reports say.
func (b *Identifier) judge(ctx context.Context, tx store.ReadTx, s answer.StockLot, read readLot, v *vendors,
	f func(answer.StockLot, LotIdentity) error) error {
	index, err := read(s)
	if err != nil {
		return err
	}
	vendor, err := v.without(ctx, tx, s.Lot)
	if err != nil {
		return err
	}
	id, err := b.identity(s, index, vendor, nil)
	if err != nil {
		return fmt.Errorf("lot %s: %w", s.Code, err)
	}
	return f(s, id)
}

// likely is the share from which a candidate is called likely on a lot paper.
const likely = 0.05

// Judge judges one lot inside a transaction, for the other rooms.
func (room *Room) Judge(ctx context.Context, tx store.ReadTx, lot answer.StockLot) (id LotIdentity, err error) {
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return id, err
	}
	b, err := NewIdentifier(cfg)
	if err != nil {
		return id, err
	}
	return id, b.Lots(ctx, tx, []answer.StockLot{lot}, func(_ answer.StockLot, judged LotIdentity) error {
		id = judged
		return nil
	})
}

// States returns a function that says what the tests make of a lot that the
// filter selects. Most lots of a large book were never tested: only those with a
// reading or a report are judged.
func (room *Room) States(ctx context.Context, tx store.ReadTx, c config.Config,
	filter desk.StockFilter) (func(*answer.StockLot) (string, error), error) {
	read, err := readSelected(ctx, tx, filter)
	if err != nil {
		return nil, err
	}
	var b *Identifier
	var v *vendors
	return func(s *answer.StockLot) (string, error) {
		index, err := read(*s)
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
			v = newVendors(b)
		}
		vendor, err := v.without(ctx, tx, s.Lot)
		if err != nil {
			return "", err
		}
		id, err := b.identity(*s, index, vendor, nil)
		if err != nil {
			return "", fmt.Errorf("lot %s: %w", s.Code, err)
		}
		return string(id.Judged.State), nil
	}, nil
}
