package app

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/intake"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// CaseReport is the answer for one stone, in the words of the contract.
type CaseReport struct {
	Case         string            `json:"case"`
	Verdict      string            `json:"verdict"`
	Headline     string            `json:"headline"`
	Candidates   []CandidateReport `json:"candidates"` // best first
	Excluded     []ExcludedReport  `json:"excluded"`   // nearest first
	Conflicts    []string          `json:"conflicts"`
	NotSeparated []string          `json:"not_separated"`
	Separates    []string          `json:"separates"`
	Facets       []FacetReport     `json:"facets"`
	Considered   int               `json:"considered"`
	Next         []NextReport      `json:"next"`
	Enough       string            `json:"enough"`
	Inseparable  []string          `json:"inseparable"`
	Cautions     []string          `json:"cautions"`
}

// CandidateReport is one material that is left.
type CandidateReport struct {
	Species   string       `json:"species"`
	Varieties []string     `json:"varieties"`
	Share     float64      `json:"share"`
	Standing  string       `json:"standing"`
	Tests     []TestReport `json:"tests"`
}

// TestReport is one reading held against one material. ExcessU is null where a
// reading cannot be at all.
type TestReport struct {
	Test    string   `json:"test"`
	Reading string   `json:"reading"`
	Range   string   `json:"range"`
	ExcessU *float64 `json:"excess_u"`
	Source  string   `json:"source"`
}

// ExcludedReport is one material that a reading excludes.
type ExcludedReport struct {
	Species string `json:"species"`
	Reason  string `json:"reason"`
}

// FacetReport is one facet of a stone.
type FacetReport struct {
	Facet       string `json:"facet"`
	Established bool   `json:"established"`
	How         string `json:"how"`
}

// NextReport is one test worth making.
type NextReport struct {
	Test    string   `json:"test"`
	Minutes float64  `json:"minutes"`
	Bits    float64  `json:"bits"`
	Splits  []string `json:"splits"`
	Why     string   `json:"why"`
	Caution string   `json:"caution"`
}

// caseReport words a verdict for people and programs.
func caseReport(name string, a identify.Account, next identify.Advice) CaseReport {
	c := CaseReport{
		Case: name, Verdict: string(a.Kind), Headline: a.Headline, Considered: a.Considered, Candidates: []CandidateReport{}, Excluded: []ExcludedReport{},
		Conflicts: list(a.Conflicts), NotSeparated: list(a.NotSeparated), Separates: list(a.Separates), Facets: []FacetReport{},
		Next: []NextReport{}, Enough: next.Enough, Inseparable: list(next.Inseparable), Cautions: list(a.Cautions),
	}
	for _, k := range a.Candidates {
		r := CandidateReport{Species: k.Material.Name, Varieties: list(k.Varieties), Share: k.Share, Standing: k.Standing, Tests: []TestReport{}}
		for _, t := range k.Tests {
			r.Tests = append(r.Tests, TestReport{t.Test, t.Reading, t.Range, finite(t.ExcessU), t.Source})
		}
		c.Candidates = append(c.Candidates, r)
	}
	for _, e := range a.Excluded {
		c.Excluded = append(c.Excluded, ExcludedReport{e.Material.Name, e.Reason})
	}
	for _, f := range a.Facets {
		c.Facets = append(c.Facets, FacetReport{f.Name, f.Established, f.How})
	}
	for _, n := range next.Next {
		c.Next = append(c.Next, NextReport{n.Instrument, n.Minutes, n.Bits, list(n.Splits), n.Why, n.Caution})
	}
	return c
}

// list is never nil, so that JSON says [] and not null.
func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
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
	bench     *bench
	varieties []*facts.Variety
	words     CaseWords
}

// NewCases makes ready to judge.
func NewCases(words CaseWords) (*Cases, error) {
	b, err := newBench(defaultConfig())
	return &Cases{b, facts.Varieties(), words}, err
}

// Judge is the answer for one stone.
func (cs *Cases) Judge(c Case) (CaseReport, fault.List) {
	o, faults := observations(book.Lot{Code: c.Name, Color: c.Color}, c.Readings)
	if faults.Blocks() {
		return CaseReport{}, faults
	}
	s := cs.bench.settings
	s.Carats = o.Weighing.Air
	v := identify.Stone(cs.bench.table, &o, &s)
	if cs.words.Short {
		r := CaseReport{Case: c.Name, Verdict: string(v.Kind), Considered: v.Considered}
		for _, k := range v.Candidates {
			r.Candidates = append(r.Candidates, CandidateReport{Species: k.Material.Name, Share: k.Share})
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
func OpenCases(in Input) (*CaseFile, error) {
	file, faults := in.open()
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
func EachCase[T any](f *CaseFile, cs *Cases, work func(CaseReport) (T, error), each func(T) error) error {
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

// defaultConfig is the settings of a book that changed none.
func defaultConfig() Config {
	var c Config
	for _, s := range settings() {
		if f := s.read(&c, s.fallback); f != nil {
			panic("app: the default of " + s.key + ": " + f.Error()) // a slip in the table above
		}
	}
	return c
}

// LotReport is the answer for one lot, in the words of the contract.
type LotReport struct {
	Lot        string          `json:"lot"`
	Claim      string          `json:"claim"`
	State      string          `json:"state"`
	Tested     int             `json:"tested"`
	Of         int             `json:"of"`
	UpperBound *float64        `json:"upper_bound"` // share of others at most; null: nothing bounds it
	Confidence float64         `json:"confidence"`
	More       int             `json:"more"` // further stones, drawn at random, that would verify it
	Reasons    []string        `json:"reasons"`
	Report     *book.Report    `json:"report"`
	Strata     []StratumReport `json:"strata"` // the lot by appearance, when its parts were counted
	Stones     []StoneReport   `json:"stones"`
	// ExpectedLoss is what is expected to be not the claim, at the lot's loose
	// price, or at its cost where the price list has none: the money at risk if
	// it is sold as claimed now. Null when nothing bounds it.
	ExpectedLoss *num.Money `json:"expected_loss"`
	Minutes      float64    `json:"minutes"` // of testing More stones by index and specific gravity
}

// StoneReport is one tested stone of a lot.
type StoneReport struct {
	Stone    string `json:"stone"`
	Drawn    string `json:"drawn"`
	Standing string `json:"standing"`
	Why      string `json:"why"`
	CaseReport
}

// StratumReport is the bound within one part of a lot.
type StratumReport struct {
	Name       string `json:"name"`
	Pieces     int    `json:"pieces"`
	Tested     int    `json:"tested"`
	Others     int    `json:"others"`
	UpperCount int    `json:"upper_count"` // pieces at most that are not the claim
}

// LotReport words a lot's identity.
func (id *LotIdentity) LotReport() LotReport {
	r := LotReport{
		Lot: id.Lot.Code, Claim: id.Claim, State: string(id.Judged.State), Tested: id.Judged.Tested, Of: id.Judged.Of,
		Confidence: id.Judged.Confidence, More: id.Judged.More, Reasons: list(id.Judged.Reasons), Report: id.Report, Strata: []StratumReport{}, Stones: []StoneReport{},
	}
	for _, t := range id.Judged.Strata {
		r.Strata = append(r.Strata, StratumReport(t))
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
		r.Stones = append(r.Stones, StoneReport{t.Stone, string(t.Drawn), s.Standing, s.Why, caseReport(t.Stone, t.Account, t.Next)})
	}
	return r
}

// IdentifyLots judges one lot or all that the filter selects, and words it.
// strata, for one lot, are its pieces by appearance; nil: it is one.
func (a *App) IdentifyLots(ctx context.Context, lot string, filter StockFilter, strata map[string]int) ([]LotReport, error) {
	ids, err := a.identifyStrata(ctx, lot, filter, strata)
	if err != nil {
		return nil, err
	}
	out := []LotReport{}
	err = a.view(ctx, func(tx store.ReadTx) error {
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		b, err := newBench(config)
		if err != nil {
			return err
		}
		prices, err := loadPrices(ctx, tx, a.today(tx, ""))
		if err != nil {
			return err
		}
		for i := range ids {
			r := ids[i].LotReport()
			r.Minutes = float64(r.More) * b.minutes(identify.Refractometer, identify.Balance)
			s, err := stockOf(ctx, tx, r.Lot)
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
func (b *bench) minutes(instruments ...string) float64 {
	sum := 0.0
	for _, i := range b.settings.Kit {
		if contains(instruments, i.Name) {
			sum += i.Minutes
		}
	}
	return sum
}

// atRisk is the expected part of a lot that is not its claim, in money; nil
// when no random draw bounds it.
func atRisk(s StockLot, id *LotIdentity, prices priceList) *num.Money {
	if !id.Judged.Bounded || id.Judged.Of == 0 {
		return nil
	}
	value := s.Cost
	if p, ok := prices.find(s.Lot); ok {
		value = p.Loose.ForCarats(s.Carats, num.HalfUp)
	}
	if value.Currency() == "" {
		return nil
	}
	loss := value.Times(num.FromFloat(id.Judged.Expected/float64(id.Judged.Of), 9, num.HalfUp), num.HalfUp)
	return &loss
}
