package bench

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/intake"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// caseReport words a verdict for people and programs.
func caseReport(name string, a identify.Account, next identify.Advice) answer.CaseReport {
	c := answer.CaseReport{
		Case: name, Verdict: string(a.Kind), Headline: a.Headline, Considered: a.Considered,
		Candidates: []answer.CandidateReport{}, Excluded: []answer.ExcludedReport{},
		Conflicts: answer.List(a.Conflicts), NotSeparated: answer.List(a.NotSeparated),
		Separates: answer.List(a.Separates), Facets: []answer.FacetReport{},
		Next: []answer.NextReport{}, Enough: next.Enough, Inseparable: answer.List(next.Inseparable),
		Cautions: answer.List(a.Cautions),
	}
	for _, k := range a.Candidates {
		r := answer.CandidateReport{Species: k.Material.Name, Varieties: answer.List(k.Varieties), Share: k.Share,
			Standing: k.Standing, Tests: []answer.TestReport{}}
		for _, t := range k.Tests {
			r.Tests = append(r.Tests, answer.TestReport{Test: t.Test, Reading: t.Reading, Range: t.Range,
				ExcessU: finite(t.ExcessU), Source: t.Source})
		}
		c.Candidates = append(c.Candidates, r)
	}
	for _, e := range a.Excluded {
		c.Excluded = append(c.Excluded, answer.ExcludedReport{Species: e.Material.Name, Reason: e.Reason})
	}
	for _, f := range a.Facets {
		c.Facets = append(c.Facets, answer.FacetReport{Facet: f.Name, Established: f.Established, How: f.How})
	}
	for _, n := range next.Next {
		c.Next = append(c.Next, answer.NextReport{Test: n.Instrument, Minutes: n.Minutes, Bits: n.Bits,
			Splits: answer.List(n.Splits), Why: n.Why, Caution: n.Caution})
	}
	return c
}

func finite(f float64) *float64 {
	if math.IsInf(f, 0) || math.IsNaN(f) {
		return nil
	}
	return &f
}

// Case is one stone with its readings and no book.
type Case struct {
	Name     string
	Color    string
	Readings []book.Reading
}

// CaseWords says how much is told of each stone.
type CaseWords struct {
	Next     bool // which test comes next
	Excluded int  // exclusions, nearest first, at most
	Short    bool // nothing but the verdict and the shares
}

// Cases judges stones that are in no book, with the default settings.
type Cases struct {
	bench     *Identifier
	varieties []*facts.Variety
	words     CaseWords
}

// NewCases makes ready to judge.
func NewCases(words CaseWords) (*Cases, error) {
	b, err := NewIdentifier(desk.DefaultConfig())
	return &Cases{b, facts.Varieties(), words}, err
}

// Judge is the answer for one stone.
func (cs *Cases) Judge(c Case) (answer.CaseReport, fault.List) {
	o, faults := observations(book.Lot{Code: c.Name, Color: c.Color}, c.Readings)
	if faults.Blocks() {
		return answer.CaseReport{}, faults
	}
	s := cs.bench.settings
	s.Carats = o.Weighing.Air
	v := identify.Stone(cs.bench.table, &o, &s)
	if cs.words.Short {
		r := answer.CaseReport{Case: c.Name, Verdict: string(v.Kind), Considered: v.Considered}
		for _, k := range v.Candidates {
			r.Candidates = append(r.Candidates, answer.CandidateReport{Species: k.Material.Name, Share: k.Share})
		}
		return r, nil
	}
	var next identify.Advice
	if cs.words.Next {
		next = v.Next(&s)
	}
	return caseReport(c.Name, v.AccountNearest(cs.varieties, cs.words.Excluded), next), nil
}

// CaseFile is a file of stones without a fault.
type CaseFile struct {
	Cases    int
	Warnings fault.List
	file     *sheet.File
}

// OpenCases checks every row of a file: all its faults come at once, before
// any stone is judged.
func OpenCases(in desk.Input) (*CaseFile, error) {
	file, faults := in.Open()
	if faults.Blocks() {
		return nil, faults
	}
	out := &CaseFile{file: file}
	var slips fault.List
	faults = intake.EachCase(file, func(r intake.Case) {
		out.Cases++
		_, l := observations(book.Lot{Code: r.Name, Color: r.Color}, r.Readings)
		for _, f := range l {
			slips.Add(f.At(fault.Where{File: in.Name, Row: r.Row}))
		}
	})
	if faults.Blocks() {
		return nil, faults
	}
	if slips.Blocks() {
		return nil, slips
	}
	out.Warnings = faults
	return out, nil
}

// EachCase judges the stones of a file and makes of each what work does, a few
// hundred at a time on all cores; each then takes them in their order. A large
// file needs no more memory than a small one.
func EachCase[T any](f *CaseFile, cs *Cases, work func(answer.CaseReport) (T, error), each func(T) error) error {
	const most = 256
	var err error
	batch := make([]Case, 0, most)
	done, errs := make([]T, most), make([]error, most)
	flush := func() {
		var next atomic.Int64
		var wait sync.WaitGroup
		for range min(runtime.GOMAXPROCS(0), len(batch)) {
			wait.Go(func() {
				for i := int(next.Add(1)) - 1; i < len(batch); i = int(next.Add(1)) - 1 {
					report, _ := cs.Judge(batch[i]) // OpenCases saw its faults
					done[i], errs[i] = work(report)
				}
			})
		}
		wait.Wait()
		for i := range batch {
			if err == nil {
				err = errs[i]
			}
			if err == nil {
				err = each(done[i])
			}
		}
		batch = batch[:0]
	}
	faults := intake.EachCase(f.file, func(r intake.Case) {
		if err != nil {
			return
		}
		if batch = append(batch, Case{r.Name, r.Color, r.Readings}); len(batch) == most {
			flush()
		}
	})
	if faults.Blocks() { // the file changed under our hands
		return faults
	}
	flush()
	return err
}

// LotReport words a lot's identity.
func (id *LotIdentity) LotReport() answer.LotReport {
	r := answer.LotReport{
		Lot: id.Lot.Code, Claim: id.Claim, State: string(id.Judged.State), Tested: id.Judged.Tested, Of: id.Judged.Of,
		Confidence: id.Judged.Confidence, More: id.Judged.More, Reasons: answer.List(id.Judged.Reasons),
		Report: id.Report, Strata: []answer.StratumReport{}, Stones: []answer.StoneReport{},
	}
	for _, t := range id.Judged.Strata {
		r.Strata = append(r.Strata, answer.StratumReport(t))
	}
	if id.Judged.Bounded {
		r.UpperBound = &id.Judged.UpperShare
	}
	standing := map[string]identify.StoneStanding{}
	for _, s := range id.Judged.Stones {
		standing[s.Stone] = s
	}
	for _, t := range id.Stones {
		s := standing[t.Stone]
		r.Stones = append(r.Stones, answer.StoneReport{Stone: t.Stone, Drawn: string(t.Drawn), Standing: s.Standing,
			Why: s.Why, CaseReport: caseReport(t.Stone, t.Account, t.Next)})
	}
	return r
}

// IdentifyLots judges one lot or all that the filter selects, and words it.
// strata, for one lot, are its pieces by appearance; nil: it is one.
func (room *Room) IdentifyLots(ctx context.Context, lot string, filter desk.StockFilter,
	strata map[string]int) ([]answer.LotReport, error) {
	ids, err := room.identifyStrata(ctx, lot, filter, strata)
	if err != nil {
		return nil, err
	}
	out := []answer.LotReport{}
	err = room.desk.View(ctx, func(tx store.ReadTx) error {
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		b, err := NewIdentifier(config)
		if err != nil {
			return err
		}
		prices, err := desk.LoadPrices(ctx, tx, room.desk.Today(tx, ""))
		if err != nil {
			return err
		}
		for i := range ids {
			r := ids[i].LotReport()
			r.Minutes = float64(r.More) * b.minutes(identify.Refractometer, identify.Balance)
			s, err := desk.StockOf(ctx, tx, r.Lot)
			if err != nil {
				return err
			}
			r.ExpectedLoss = atRisk(s, &ids[i], prices)
			out = append(out, r)
		}
		return nil
	})
	return out, err
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

// atRisk is the expected part of a lot that is not its claim, in money; nil
// when no random draw bounds it.
func atRisk(s answer.StockLot, id *LotIdentity, prices desk.PriceList) *num.Money {
	if !id.Judged.Bounded || id.Judged.Of == 0 {
		return nil
	}
	value := s.Cost
	if p, ok := prices.Find(s.Lot); ok {
		value = p.Loose.ForCarats(s.Carats, num.HalfUp)
	}
	if value.Currency() == "" {
		return nil
	}
	loss := value.Times(num.FromFloat(id.Judged.Expected/float64(id.Judged.Of), 9, num.HalfUp), num.HalfUp)
	return &loss
}
