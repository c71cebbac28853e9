package bench

import (
	"context"
	"math"
	"slices"
	"sync"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/identify"
	"lotpaper/internal/intake"
)

// IdentifyStones asks what stones are that are in no book.
type IdentifyStones struct {
	Stones   []intake.Case
	Next     bool // with the tests that come next
	Excluded int  // exclusions of each stone at most, nearest first
	Chart    bool // with the picture of n against SG
}

// IdentifyStones says what stones are that are in no book, by the default
// settings.
func (room *Room) IdentifyStones(_ context.Context, r IdentifyStones) (answer.Cases, error) {
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
		out.Cases = append(out.Cases, b.answer(c.Name, v, detail{next: r.Next, excluded: r.Excluded}))
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
var withoutBook = sync.OnceValues(func() (*Identifier, error) { return NewIdentifier(config.Default()) })

// detail says how much of a stone is answered.
type detail struct {
	next     bool
	excluded int
	brief    bool // nothing but the verdict and the shares
}

// verdict is what the readings of a stone in no book leave.
func (b *Identifier) verdict(c intake.Case) (identify.Verdict, fault.List) {
	o, faults := observations(book.Lot{Code: c.Name, Color: c.Color}, c.Readings)
	if faults.Add(caseSigns(c)...); faults.Blocks() {
		return identify.Verdict{}, faults
	}
	s := b.settings
	s.Carats = o.Weighing.Air
	return identify.Stone(b.table, &o, &s), nil
}

// caseSigns are the words of a case that no material is known for.
func caseSigns(c intake.Case) fault.List {
	var out fault.List
	for _, r := range c.Readings {
		for _, f := range unknownSigns(r) {
			out.Add(f.At(fault.Where{Field: r.Test, Header: r.Test}))
		}
	}
	return out
}

// answer words the verdict on a stone in no book.
func (b *Identifier) answer(name string, v identify.Verdict, d detail) answer.Case {
	if d.brief {
		return answer.Case{Name: name, Verdict: string(v.Kind), Considered: v.Considered, Named: namedOf(&v),
			OpenShare: v.OpenShare, AlsoPossible: alsoPossible(&v)}
	}
	var next identify.Advice
	if d.next {
		next = v.Next(&b.settings)
	}
	return caseOf(name, &v, v.AccountNearest(facts.Varieties(), d.excluded), next)
}

// caseOf words a verdict for people and programs.
func caseOf(name string, v *identify.Verdict, a identify.Account, next identify.Advice) answer.Case {
	c := answer.Case{
		Name: name, Verdict: string(a.Kind), Headline: a.Headline, Considered: a.Considered,
		Named: namedOf(v), OpenShare: v.OpenShare, AlsoPossible: alsoPossible(v),
		Candidates: []answer.Candidate{}, Excluded: []answer.Excluded{}, Quarrels: []answer.Quarrel{},
		NotSeparated: answer.List(a.NotSeparated),
		Separates:    answer.List(a.Separates), Facets: []answer.FacetFinding{},
		Next: []answer.NextTest{}, Enough: next.Enough, Barred: answer.List(next.Barred),
		Inseparable: answer.List(next.Inseparable),
		Cautions:    answer.List(a.Cautions), Ahead: append(hazardWords(v), ahead(v.Kind, next)...),
	}
	for _, q := range a.Quarrels {
		tests := []string{}
		for _, t := range q.Tests {
			tests = append(tests, t.String())
		}
		c.Quarrels = append(c.Quarrels, answer.Quarrel{Tests: tests, Without: answer.List(q.Without), Text: q.Text})
	}
	for _, k := range a.Candidates {
		r := answer.Candidate{Species: k.Material.Name, Varieties: answer.List(k.Varieties), Share: k.Share,
			Standing: k.Standing, Note: k.Material.Note, Tests: []answer.HeldTest{}}
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
		c.Next = append(c.Next, answer.NextTest{Test: n.Instrument, Minutes: n.Minutes, Chance: n.Chance, Bits: n.Bits,
			Splits: answer.List(n.Splits), Why: n.Why, Caution: n.Caution})
	}
	return c
}

// namedOf is what an established or likely stone is; nil for any other.
func namedOf(v *identify.Verdict) *answer.Named {
	if v.Named.Name == "" {
		return nil
	}
	n := answer.Named{Name: v.Named.Name, Level: string(v.Named.Level), Share: v.Named.Share}
	for _, m := range v.Named.Members {
		n.Members = append(n.Members, m.Name)
	}
	return &n
}

// What a stone can also be is named down to this share, so many at most.
const alsoFrom, alsoShown = 0.001, 4

// alsoPossible is what a stone can be beside what it is named.
func alsoPossible(v *identify.Verdict) []answer.Shared {
	out := []answer.Shared{}
	for _, n := range v.Leading(alsoShown+len(v.Named.Members), alsoFrom) {
		if len(out) < alsoShown && !slices.Contains(v.Named.Members, n.Nearest) {
			out = append(out, answer.Shared{Name: n.Name, Share: n.Share})
		}
	}
	return out
}

// ahead are the cautions of what is to be done next.
func ahead(kind identify.Kind, next identify.Advice) []string {
	var out []string
	if len(next.Next) > 0 && next.Next[0].Caution != "" {
		out = append(out, next.Next[0].Caution)
	}
	if kind != identify.Established {
		out = append(out, identify.CautionHarm)
	}
	return append(out, identify.CautionBench)
}

func finite(f float64) *float64 {
	if math.IsInf(f, 0) || math.IsNaN(f) {
		return nil
	}
	return &f
}
