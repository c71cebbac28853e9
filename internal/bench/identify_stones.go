package bench

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/intake"
	"lotpaper/internal/sheet"
)

// Detail says how much of a stone is answered.
type Detail struct {
	Next     bool // which test comes next
	Excluded int  // exclusions, nearest first, at most
	Brief    bool // nothing but the verdict and the shares
}

// StonesRequest asks what stones are that are in no book.
type StonesRequest struct {
	Stones []intake.Case
	Detail
	Chart bool // with the picture of n against SG
}

// IdentifyStones says what stones are that are in no book, by the default
// settings.
func IdentifyStones(_ context.Context, r StonesRequest) (answer.Cases, error) {
	out := answer.Cases{Cases: []answer.Case{}}
	b, err := withoutBook()
	if err != nil {
		return out, err
	}
	chart := &answer.IdentityChart{}
	var l fault.List
	for _, c := range r.Stones {
		v, faults := b.verdict(c)
		if l.Add(faults...); faults.Blocks() {
			continue
		}
		out.Cases = append(out.Cases, b.answer(c.Name, v, r.Detail))
		if r.Chart {
			addStone(chart, c.Name, v, max(4, 14/len(r.Stones)))
			chart.Title = c.Name
		}
	}
	if len(chart.Stones) > 0 {
		out.Chart = chart
	}
	if l.Blocks() {
		return out, l
	}
	return out, nil
}

// withoutBook is the identification set-up of the default settings.
var withoutBook = sync.OnceValues(func() (*Identifier, error) { return NewIdentifier(desk.DefaultConfig()) })

// verdict is what the readings of a stone in no book leave.
func (b *Identifier) verdict(c intake.Case) (identify.Verdict, fault.List) {
	o, faults := observations(book.Lot{Code: c.Name, Color: c.Color}, c.Readings)
	if faults.Blocks() {
		return identify.Verdict{}, faults
	}
	s := b.settings
	s.Carats = o.Weighing.Air
	return identify.Stone(b.table, &o, &s), nil
}

// answer words the verdict on a stone in no book.
func (b *Identifier) answer(name string, v identify.Verdict, d Detail) answer.Case {
	if d.Brief {
		c := answer.Case{Name: name, Verdict: string(v.Kind), Considered: v.Considered}
		for _, k := range v.Candidates {
			c.Candidates = append(c.Candidates, answer.Candidate{Species: k.Material.Name, Share: k.Share})
		}
		return c
	}
	var next identify.Advice
	if d.Next {
		next = v.Next(&b.settings)
	}
	return caseOf(name, v.AccountNearest(facts.Varieties(), d.Excluded), next)
}

// caseOf words a verdict for people and programs.
func caseOf(name string, a identify.Account, next identify.Advice) answer.Case {
	c := answer.Case{
		Name: name, Verdict: string(a.Kind), Headline: a.Headline, Considered: a.Considered,
		Candidates: []answer.Candidate{}, Excluded: []answer.Excluded{},
		Conflicts: answer.List(a.Conflicts), NotSeparated: answer.List(a.NotSeparated),
		Separates: answer.List(a.Separates), Facets: []answer.FacetFinding{},
		Next: []answer.NextTest{}, Enough: next.Enough, Inseparable: answer.List(next.Inseparable),
		Cautions: answer.List(a.Cautions),
	}
	for _, k := range a.Candidates {
		r := answer.Candidate{Species: k.Material.Name, Varieties: answer.List(k.Varieties), Share: k.Share,
			Standing: k.Standing, Tests: []answer.HeldTest{}}
		for _, t := range k.Tests {
			r.Tests = append(r.Tests, answer.HeldTest{Test: t.Test, Reading: t.Reading, Range: t.Range,
				ExcessU: finite(t.ExcessU), Source: t.Source})
		}
		c.Candidates = append(c.Candidates, r)
	}
	for _, e := range a.Excluded {
		c.Excluded = append(c.Excluded, answer.Excluded{Species: e.Material.Name, Reason: e.Reason})
	}
	for _, f := range a.Facets {
		c.Facets = append(c.Facets, answer.FacetFinding{Facet: f.Name, Established: f.Established, How: f.How})
	}
	for _, n := range next.Next {
		c.Next = append(c.Next, answer.NextTest{Test: n.Instrument, Minutes: n.Minutes, Bits: n.Bits,
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

// CaseFile is a file of stones without a fault.
type CaseFile struct {
	Cases    int
	Warnings fault.List
	file     *sheet.File
}

// OpenCases checks every row of a file of stones: all its faults come at once,
// before any stone is judged.
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

// batch is how many stones of a file are judged at a time.
const batch = 256

// Identify judges the stones of a file, by the default settings, and hands them
// to each in the order of the file, a batch at a time: a file of any size needs
// no more memory than a small one. A batch is judged on all cores; each may keep
// nothing of it. The first error ends the work.
func (f *CaseFile) Identify(ctx context.Context, d Detail, each func([]answer.Case) error) error {
	b, err := withoutBook()
	if err != nil {
		return err
	}
	waiting, judged := make([]intake.Case, 0, batch), make([]answer.Case, batch)
	flush := func() {
		if err = ctx.Err(); err != nil {
			return
		}
		var next atomic.Int64
		var wait sync.WaitGroup
		for range min(runtime.GOMAXPROCS(0), len(waiting)) {
			wait.Go(func() {
				for i := int(next.Add(1)) - 1; i < len(waiting); i = int(next.Add(1)) - 1 {
					v, _ := b.verdict(waiting[i]) // OpenCases saw its faults
					judged[i] = b.answer(waiting[i].Name, v, d)
				}
			})
		}
		wait.Wait()
		err = each(judged[:len(waiting)])
		waiting = waiting[:0]
	}
	faults := intake.EachCase(f.file, func(c intake.Case) {
		if err != nil {
			return
		}
		if waiting = append(waiting, c); len(waiting) == batch {
			flush()
		}
	})
	switch {
	case err != nil:
		return err
	case faults.Blocks(): // the file changed under our hands
		return faults
	case len(waiting) > 0:
		flush()
	}
	return err
}
